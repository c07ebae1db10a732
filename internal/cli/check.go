package cli

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/intake"
	"spanseal/internal/issue"
	"spanseal/internal/judge"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/report"
)

// formats are what --format accepts.
type format string

func (f *format) flag(c *cobra.Command, formats ...string) {
	c.Flags().StringVar((*string)(f), "format", formats[0], "how to print: "+strings.Join(formats, ", "))
	c.PreRunE = func(*cobra.Command, []string) error {
		for _, known := range formats {
			if string(*f) == known {
				return nil
			}
		}
		return misuse("choose one of "+strings.Join(formats, ", "), "there is no format %q", string(*f))
	}
}

// checkFlags are those of check.
type checkFlags struct {
	how                          format
	verbose, all, answers, watch bool
	rows                         int
}

func (a *app) check() *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:   "check JOB",
		Short: "judge everything and print what is wrong and what is missing",
		Long: `Reads the whole job folder, judges every link, and prints problems, the verdict,
the open links, the questions, and what became of every row. Links with the same
reasons are grouped, and links that pass are counted; --all prints each. Nothing is
written. The exit code is 3 if the input is refused, and 4 if a link is neither pass
nor marginal.

With --watch it runs until it is interrupted, and checks again whenever a file of
the job has changed: leave it running while the instrument exports to the folder.

With --answers it prints, instead, a block for job.yaml with an entry for each
question that has no answer yet. Every document prints an answer beside its
question. An answer changes no number and no verdict: an incomplete link stays
incomplete until it is measured, or until the job supplies what settles it.`,
		Example: `  spanseal check harbour-library
  spanseal check harbour-library --all           every link, those that pass too
  spanseal check harbour-library -v              every problem, and what was told from the bytes
  spanseal check harbour-library --rows 5        and the first rows of each file beside what was read from them
  spanseal check harbour-library --watch         again whenever a file lands
  spanseal check harbour-library --answers       a draft of answers, to be pasted into job.yaml
  spanseal check harbour-library --format csv > results.csv`,
		Args:              takes(1, 1, "a job folder"),
		ValidArgsFunction: completeFolder,
		RunE: func(c *cobra.Command, args []string) error {
			switch {
			case f.rows < 0:
				return misuse("give a number of rows, such as --rows 5", "--rows must be 0 or more")
			case f.rows > 0 && f.how != "text":
				return misuse("leave out --rows or --format", "--rows prints text only")
			case f.answers && (f.how != "text" || f.rows > 0):
				return misuse("leave out --rows or --format", "--answers prints a block for job.yaml only")
			case f.watch && (f.how != "text" || f.answers):
				return misuse("leave out --format and --answers", "--watch prints text only")
			case f.watch:
				return a.watch(c.Context(), args[0], f)
			}
			return a.checkOnce(args[0], f)
		},
	}
	f.how.flag(c, "text", "json", "csv")
	c.Flags().BoolVarP(&f.verbose, "verbose", "v", false, "print every row with the same fault, limits of the whole job that are met, and what was concluded from the bytes of each file")
	c.Flags().BoolVar(&f.all, "all", false, "print every link by itself, including those that pass")
	c.Flags().BoolVar(&f.answers, "answers", false, "print a draft of answers to the questions that have none, for job.yaml")
	c.Flags().BoolVar(&f.watch, "watch", false, "check again whenever a file of the job has changed, until interrupted")
	c.Flags().IntVar(&f.rows, "rows", 0, "show the first rows of each file as read, and what each column holds")
	return c
}

// checkOnce reads, judges and prints a job.
func (a *app) checkOnce(dir string, f checkFlags) error {
	var show intake.Options
	if f.rows > 0 {
		show.Show, show.AsRead = f.rows, func(as intake.AsRead) {
			report.AsRead(a.out, a.onOut, &as)
			fmt.Fprintln(a.out)
		}
	}
	j, err := a.loadJobShowing(dir, show)
	if err != nil {
		return err
	}
	set := j.Rehearse()
	j.Problems.Join(authorityFaults(j.Facts))
	if ahead := j.ReadAfter(a.sys.Now()); ahead.Errors() > 0 {
		j.Problems.Join(ahead)
		j.Judged = nil
	}
	if changed := j.Evidence(filepath.Join(j.Dir, "issued")); changed.Errors() > 0 {
		j.Problems.Join(changed)
		j.Judged = nil
	}
	if f.how == "json" {
		return a.checkJSON(j)
	}
	tell := a.report
	if f.verbose {
		tell = a.reportAll
	}
	if err := tell(j.Problems); err != nil {
		return err
	}
	if f.how == "text" && !f.answers {
		a.careless(j)
	}
	switch {
	case f.answers:
		a.print.DraftAnswers(j, record.DateOf(a.sys.Now().In(j.Facts.Job.Location)))
	case f.how == "csv":
		table, err := set.ResultsCSV()
		if err != nil {
			return err
		}
		a.out.Write(table)
	default:
		a.print.Check(j, report.Detail{All: f.all, Verbose: f.verbose})
	}
	a.statusOf(j.Judged)
	return nil
}

// careless says before anything is issued what issue says of the input: what
// others can take, read or see.
func (a *app) careless(j *load.JudgedJob) {
	a.noteUnencrypted(j.Facts.Job.Sign.TimestampURL)
	a.noteReadable("key file", j.Key())
	if n, err := issue.Next(filepath.Join(j.Dir, "issued")); err == nil && n == 1 && paysInJob(j) {
		a.discloses(j)
	}
}

// statusOf sets the exit code of a judged job.
func (a *app) statusOf(judged *judge.Judgement) {
	if !judged.Conforms() {
		a.status = ExitOpen
	}
}

// companyFile is the company file in check's JSON.
type companyFile struct {
	File string   `json:"file"` // relative to the job folder
	Took []string `json:"took"`
}

// checkJSON prints the form for programs, with the problems inside, and says
// in the exit code what the text form says.
func (a *app) checkJSON(j *load.JudgedJob) error {
	out := struct {
		Format    string           `json:"format"`
		Job       string           `json:"job"`
		Conforms  bool             `json:"conforms"`
		Company   *companyFile     `json:"company,omitempty"`
		Problems  json.RawMessage  `json:"problems"`
		Accounts  []record.Account `json:"accounts"`
		Judgement *judge.Judgement `json:"judgement"` // null where the input was refused
	}{Format: "spanseal-check/2", Judgement: j.Judged}
	if j.Facts != nil {
		out.Job, out.Accounts = j.Facts.Job.Number, j.Facts.Accounts
		if c := j.Facts.Company; c != nil {
			out.Company = &companyFile{c.File, c.Took}
		}
	}
	if j.Judged != nil {
		out.Conforms = j.Judged.Conforms()
	}
	problems, err := j.Problems.JSON()
	if err != nil {
		return err
	}
	out.Problems = problems
	e := json.NewEncoder(a.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(out); err != nil {
		return err
	}
	if j.Judged == nil {
		a.status = ExitRefused
	} else {
		a.statusOf(j.Judged)
	}
	return nil
}
