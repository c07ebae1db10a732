package cli

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/asset"
	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/issue"
	"spanseal/internal/load"
	"spanseal/internal/terminal"
)

func (a *app) export() *cobra.Command {
	var how format
	var out, by string
	c := &cobra.Command{
		Use:   "export JOB",
		Short: "the results for other systems: tables, maps, registers of assets",
		Long: `Judges the job and writes every reading, limit, margin and verdict as CSV (UTF-8,
comma, decimal point) or as a workbook whose cells are numbers, dates and texts.
JSON is what ` + "`spanseal issue`" + ` writes as results.json; its schema is printed by
` + "`spanseal schema results`" + `. The exit code is 4 if a link is neither pass nor marginal.

assets is CSV with one line per link, by the owner's id in the column asset of the
schedule. geojson has the links with coordinates as points (RFC 7946). cobie is a
workbook with the sheets Document and Attribute, for rows of Component named by the
owner's ids; it lists the documents of the latest revision. Links without an id or
without coordinates are left out and named.`,
		Example: `  spanseal export harbour-library > results.csv
  spanseal export harbour-library --format xlsx --out results.xlsx
  spanseal export harbour-library --format cobie --by office@tidewater.example --out handover.xlsx`,
		Args:              takes(1, 1, "a job folder"),
		ValidArgsFunction: completeFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			j, err := a.readJob(args[0])
			if err != nil {
				return err
			}
			if err := keeps(j, out); err != nil {
				return err
			}
			if by != "" && (how != "cobie" || !strings.Contains(by, "@")) {
				return misuse("give --by an address such as office@tidewater.example, with --format cobie", "--by %s: not an e-mail address, or not for %s", diag.Safe(by), how)
			}
			set, err := a.set(j, form.Writer{}, certify.Options{})
			if err != nil {
				return err
			}
			if _, screen := terminal.File(a.sys.Stdout); screen && out == "" && (how == "xlsx" || how == "cobie") {
				return misuse("name a file with --out", "a workbook cannot be written to the terminal")
			}
			write := set.ResultsCSV
			switch {
			case how == "xlsx":
				write = set.Workbook
			case slices.Contains(asset.Formats, string(how)):
				write = func() ([]byte, error) { return a.assets(j, set, string(how), by) }
			}
			data, err := write()
			if err != nil {
				return err
			}
			a.statusOf(j.Judged)
			if out == "" {
				_, err := a.out.Write(data)
				return err
			}
			if err := os.WriteFile(out, data, 0o644); err != nil {
				return unwritable(out, err)
			}
			return nil
		},
	}
	how.flag(c, append([]string{"csv", "xlsx"}, asset.Formats...)...)
	c.Flags().StringVar(&by, "by", "", "e-mail address of the person who hands over, for cobie")
	c.Flags().StringVar(&out, "out", "", "the file to write (default: standard output)")
	return c
}

// assets exports to a system of assets, and says what is left out.
func (a *app) assets(j *load.JudgedJob, set *certify.PaperSet, how, by string) ([]byte, error) {
	e := asset.Export{Writer: set.Writer, Issued: filepath.Join(j.Dir, "issued"), By: by}
	next, err := issue.Next(e.Issued)
	if err != nil {
		return nil, notIssued(err)
	}
	e.Latest = next - 1
	set.Revision = max(e.Latest, 1) // papers may be named by it
	data, problems, err := e.Make(how)
	return data, errors.Join(err, a.report(problems))
}

// keeps refuses to write results over what the job is read from, or over what
// was issued.
func keeps(j *load.JudgedJob, out string) error {
	if out == "" {
		return nil
	}
	for _, part := range []string{"job.yaml", "links.csv", "terminations.csv", "inspections.csv", "originals.csv", "readings", "photos", "issued", "links.xlsx", "links.xlsm", "links.tsv", "links.txt"} {
		if part = filepath.Join(j.Dir, part); within(part, out) {
			return misuse("name another file", "--out: %s is part of the job and is not overwritten", diag.Safe(part))
		}
	}
	return hasPlace(out)
}
