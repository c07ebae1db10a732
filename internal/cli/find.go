package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/archive"
	"spanseal/internal/diag"
	"spanseal/internal/report"
)

// shownHits is how many links the text form prints unless told otherwise: a
// screen or two. The forms for programs print all.
const shownHits = 60

func (a *app) find() *cobra.Command {
	var how format
	var o archive.Options
	var limit int
	var keys strings.Builder
	for _, k := range archive.Keys {
		fmt.Fprintf(&keys, "  %-11s %s\n", k.Name, k.Of)
	}
	c := &cobra.Command{
		Use:   "find ARCHIVE [TERM ...]",
		Short: "find a link in many jobs, or everything measured with a given instrument",
		Long: `Looks through every issued revision below the folder ARCHIVE and prints the
links that match all terms, the newest issue first. A term is a word, which matches
part of any text, or key:value:

` + keys.String() + `
The heading of any other column of the schedule is a key too: "rack unit:12". Case is
ignored, * matches any characters, and a date is a day, a month, a year, or two of
them with .. between. Terms about how a link was measured must all match the same
reading: serial:22803 with two days finds every certificate with a reading of that
instrument between them.

An index is kept in the file .spanseal-index in ARCHIVE, which may be deleted. Each
manifest is checked against its signature and results; the exit code is 5 if one does
not match or a listed document is missing. To check that a document is genuine, use
` + "`spanseal verify`" + `.`,
		Example: `  spanseal find /srv/jobs A-12
  spanseal find /srv/jobs link:A-12 site:library revision:current
  spanseal find /srv/jobs serial:22803 measured:2026-11-16..2026-11-18 --format csv > recall.csv`,
		Args:              takes(1, -1, "the folder of the archive, and terms"),
		ValidArgsFunction: completeTerm,
		RunE: func(c *cobra.Command, args []string) error {
			q, err := archive.ParseQuery(args[1:])
			if err != nil {
				return misuse("see `spanseal find --help`", "%v", err)
			}
			if limit < 0 {
				return misuse("0 prints all", "--limit must be 0 or more, not %d", limit)
			}
			const where = "name the folder that holds the jobs"
			line := a.progress("revisions read")
			o.Progress = line.Report
			arch, err := archive.Open(c.Context(), args[0], o)
			line.Clear()
			switch {
			case errors.Is(err, fs.ErrNotExist):
				return refuse(where, "there is no folder %s", diag.Safe(args[0]))
			case err != nil && !isFolder(args[0]):
				return refuse(where, "%s is a file", diag.Safe(args[0]))
			case err != nil:
				return &failure{ExitTool, fmt.Sprintf("%s cannot be searched: %s", diag.Safe(args[0]), diag.Safe(err.Error())),
					"allow reading everything below it, or search a copy"}
			}
			if err := arch.Unknown(q); err != nil {
				return misuse("see `spanseal find --help`", "%v", err)
			}
			if len(arch.Revisions) == 0 && len(arch.Doubts()) == 0 {
				a.note("no issued revision found below %s; %s", diag.Safe(args[0]), where)
			}
			if arch.Kept != nil {
				fmt.Fprintf(a.err, "note: the index could not be kept, so the next search reads all again: %v\n", arch.Kept)
			}
			for _, d := range arch.Doubts() {
				fmt.Fprintf(a.err, "%s: %s %s\n", diag.Safe(path.Join(filepath.ToSlash(arch.Dir), d.Path)), a.onErr.Bad("error:"), diag.Safe(d.Text))
				a.status = ExitWrong
			}
			hits := arch.Find(q)
			if !c.Flags().Changed("limit") && how == "text" {
				limit = shownHits
			}
			more := 0
			if limit > 0 && len(hits) > limit {
				hits, more = hits[:limit], len(hits)-limit
			}
			found := report.NewFound(arch, hits, more)
			if found.Missing() {
				a.status = ExitWrong
			}
			switch how {
			case "csv":
				return a.print.FoundCSV(found)
			case "json":
				return a.print.FoundJSON(found)
			}
			a.print.Found(found)
			if len(hits) == 0 && len(arch.Revisions) > 0 {
				return a.nothingFits(arch, args[1:])
			}
			return nil
		},
	}
	how.flag(c, "text", "csv", "json")
	c.Flags().IntVar(&limit, "limit", 0, fmt.Sprintf("print at most this many links; 0 prints all (default: %d as text, else all)", shownHits))
	c.Flags().StringVar(&o.Index, "index", "", "the file of the index (default: .spanseal-index in ARCHIVE)")
	c.Flags().BoolVar(&o.NoIndex, "no-index", false, "read everything and keep nothing")
	return c
}

// completeTerm offers a folder, then the keys of terms.
func completeTerm(c *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return completeFolder(c, args, typed)
	}
	var keys []string
	for _, k := range archive.Keys {
		keys = append(keys, k.Name+":\t"+k.Of)
	}
	return keys, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// nothingFits says of several terms how many links fit each, so that the one that is
// wrong shows.
func (a *app) nothingFits(arch *archive.Archive, terms []string) error {
	if len(terms) < 2 {
		return nil
	}
	for _, term := range terms {
		q, err := archive.ParseQuery([]string{term})
		if err != nil {
			return err
		}
		fits := "nothing fits"
		switch n := len(arch.Find(q)); n {
		case 0:
		case 1:
			fits = "1 link fits"
		default:
			fits = fmt.Sprintf("%d links fit", n)
		}
		fmt.Fprintf(a.out, "  %s %s alone\n", fits, diag.Safe(term))
	}
	return nil
}
