package intake

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/record"
)

const corpus = testjobs.Root

// The jobs of the corpus are laid out as those of other packages' tests.
var (
	archive       = testjobs.Archive
	layOut        = testjobs.LayOut
	printProblems = testjobs.Problems
	corpusTexts   = testjobs.Texts
	workbook      = testjobs.Workbook
)

func checkAccounts(t interface{ Errorf(string, ...any) }, facts *record.Facts) {
	testjobs.CheckAccounts(t, facts)
}

// TestCorpus reads every job of the corpus: those of ok/ give the facts, those
// of err/ the whole text of the problems, and at least one error.
func TestCorpus(t *testing.T) {
	for _, kind := range []struct {
		dir, expectation string
		least            int
		print            func(*record.Facts, *diag.List) string
	}{
		{"ok", "facts", 40, printFacts},
		{"err", "problems", 80, func(_ *record.Facts, l *diag.List) string { return printProblems(l) }},
	} {
		names, err := filepath.Glob(filepath.Join(corpus, kind.dir, "*.txtar"))
		if err != nil || len(names) < kind.least {
			t.Errorf("%s holds %d jobs, want at least %d (%v)", kind.dir, len(names), kind.least, err)
		}
		for _, name := range names {
			t.Run(kind.dir+"/"+strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
				files, check := golden.Archive(t, name, kind.expectation)
				dir := t.TempDir()
				layOut(t, dir, files)
				facts, list := Read(dir, Options{})
				if (list.Errors() > 0) != (kind.dir == "err") {
					t.Errorf("%d errors:\n%s", list.Errors(), printProblems(list))
				}
				checkAccounts(t, facts)
				check(kind.print(facts, list))
			})
		}
	}
}

// printFacts prints what the corpus compares: readings, accounts with what was
// concluded, and notes and questions.
func printFacts(f *record.Facts, l *diag.List) string {
	var b strings.Builder
	for _, r := range f.Readings {
		fmt.Fprintf(&b, "%s %s %s %s %s", r.Link, r.Quantity, r.Subject(), r.Value, r.Fate)
		if r.Received != nil {
			fmt.Fprintf(&b, " (%s %s)", r.Reference, r.Received)
		}
		for _, s := range []struct{ name, text string }{
			{"event", r.Event}, {"alias", r.Alias}, {"with", r.Instrument}, {"source", r.Source}, {"by", r.Person}, {"note", r.Note}, {"shown", r.Shown},
			{"at", printTime(r.Time)}, {"reference at", printTime(r.ReferenceTime)},
		} {
			if s.text != "" {
				fmt.Fprintf(&b, ", %s %s", s.name, s.text)
			}
		}
		if m := r.Method; m != nil {
			fmt.Fprintf(&b, ", made %s", m.Key())
		}
		where := fmt.Sprintf("%d:%d", r.Origin.Row, r.Origin.Column)
		if r.Origin.Cell != "" {
			where = r.Origin.Cell
		}
		fmt.Fprintf(&b, " [%s %s]\n", filepath.Base(r.Origin.File), where)
	}
	for _, a := range f.Job.Answers {
		fmt.Fprintf(&b, "answer to %s, about %q, by %s on %s: %s\n", a.Question, a.Links, a.Who, a.Day, a.Text)
	}
	for _, a := range f.Accounts {
		fmt.Fprintf(&b, "%s: %d rows, %d used, %d superseded, %d refused, %d blank\n", a.File, a.Rows, a.Used, a.Superseded, a.Refused, a.Blank)
		for _, c := range a.Concluded {
			fmt.Fprintf(&b, "  %s\n", c)
		}
	}
	b.WriteString(printProblems(l))
	return b.String()
}

func printTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}
