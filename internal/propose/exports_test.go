package propose

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/record"
)

// TestExports drafts an entry for each export of exports/, invented in the forms
// in which instruments write them, and reads it by that draft: as printed, or
// after what was asked was answered. An export that is read otherwise than its
// list of readings says, and nothing is asked, is read wrongly in silence: there
// must be none.
func TestExports(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(testjobs.Root, "exports", "*.txtar"))
	if err != nil || len(names) < 70 {
		t.Fatalf("%d exports, want at least 70 (%v)", len(names), err)
	}
	exact := 0
	var asked []string
	for _, name := range names {
		short := strings.TrimSuffix(filepath.Base(name), ".txtar")
		t.Run(short, func(t *testing.T) {
			e := openSpecimen(t, name)
			draft, list := Propose(e.sample, e.raw)
			if draft == nil {
				t.Fatalf("no draft\n%s", testjobs.Problems(list))
			}
			got, list := e.read(t, draft, "")
			diff := cmp.Diff(e.want, got)
			if diff == "" && list.Errors() == 0 {
				exact++
				return
			}
			asked = append(asked, short)
			needed := slices.DeleteFunc(slices.Clone(draft.Needed), aboutEvidence)
			if len(needed) == 0 && list.Errors() == 0 {
				t.Fatalf("WRONG IN SILENCE (-want +got)\n%s\n%s", diff, draft.YAML())
			}
			if e.answers == "" {
				t.Fatalf("not exact, and there are no answers (-want +got)\n%s\n%s%s", diff, draft.YAML(), testjobs.Problems(list))
			}
			got, list = e.read(t, draft, e.answers)
			if diff := cmp.Diff(e.want, got); diff != "" || list.Errors() > 0 {
				t.Fatalf("after the answers (-want +got)\n%s\n%s%s", diff, draft.YAML(), testjobs.Problems(list))
			}
		})
	}
	t.Logf("%d exports: %d exact by the draft as printed; after what is asked: %s", len(names), exact, strings.Join(asked, ", "))
	if exact < 50 {
		t.Errorf("%d exports are exact by the draft as printed, want at least 50", exact)
	}
}

// aboutEvidence reports what the evidence needs and no reading does.
func aboutEvidence(s string) bool {
	return strings.HasPrefix(s, "when it was measured") || strings.HasPrefix(s, "with which instrument") || strings.HasPrefix(s, "who measured")
}

// specimen is one sample with the readings that it holds.
type specimen struct {
	sample, links, answers string
	raw                    []byte
	want                   []string
}

func openSpecimen(t testing.TB, name string) *specimen {
	t.Helper()
	a := testjobs.Archive(t, name)
	e := &specimen{}
	dir := t.TempDir()
	testjobs.LayOut(t, dir, a.Files[:1])
	e.sample, _, _ = strings.Cut(a.Files[0].Name, "!")
	var err error
	if e.raw, err = os.ReadFile(filepath.Join(dir, e.sample)); err != nil {
		t.Fatal(err)
	}
	links := map[string]bool{}
	for _, f := range a.Files[1:] {
		switch f.Name {
		case "want":
			for line := range strings.Lines(string(f.Data)) {
				words := strings.Fields(line)
				words[4] = plainNumber(words[4])
				e.want = append(e.want, strings.Join(words, " "))
				links[words[0]] = true
			}
		case "links":
			e.links = string(f.Data)
		case "answers":
			e.answers = string(f.Data)
		default:
			t.Fatalf("what is %s?", f.Name)
		}
	}
	slices.Sort(e.want)
	if e.links == "" {
		e.links = "link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n"
		for _, l := range slices.Sorted(maps.Keys(links)) {
			e.links += l + ",R1,C1,OS2,312,2,0,spliced-on LC/UPC,spliced-on LC/UPC\n"
		}
	}
	return e
}

// plainNumber is a number without zeros at its end.
func plainNumber(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// read reads the sample in a job by the draft. A line of answers adds a key to
// the entry (+), takes one out (-), replaces a text of it (~), or adds to the
// job.
func (e *specimen) read(t testing.TB, draft *Proposal, answers string) ([]string, *diag.List) {
	t.Helper()
	entry, job := draft.YAML(), ""
	for line := range strings.Lines(answers) {
		switch what, rest, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " "); what {
		case "+":
			entry += "    " + rest + "\n"
		case "-":
			var kept []string
			for l := range strings.Lines(entry) {
				if !strings.HasPrefix(strings.TrimSpace(l), rest+":") {
					kept = append(kept, l)
				}
			}
			entry = strings.Join(kept, "")
		case "~":
			old, put, _ := strings.Cut(rest, " => ")
			if !strings.Contains(entry, old) {
				t.Fatalf("the draft does not hold %q", old)
			}
			entry = strings.Replace(entry, old, put, 1)
		case "job":
			job += rest + "\n"
		default:
			t.Fatalf("what is %q?", line)
		}
	}
	dir := t.TempDir()
	testjobs.LayOut(t, dir, []txtar.File{
		{Name: "links.csv", Data: []byte(e.links)}, {Name: "job.yaml+", Data: []byte(job + entry)}, {Name: e.sample + "!raw", Data: e.raw},
	})
	facts, list := intake.Read(dir, intake.Options{})
	testjobs.CheckAccounts(t, facts)
	return readingLines(facts), list
}

// readingLines prints readings as the exports list them.
func readingLines(facts *record.Facts) (lines []string) {
	for _, r := range facts.Readings {
		parts := []string{r.Link, fmt.Sprint(r.WavelengthNM), string(r.Direction), string(r.Quantity), plainNumber(r.Value.String())}
		if !r.Time.IsZero() {
			parts = append(parts, r.Time.Format("2006-01-02T15:04"))
		}
		lines = append(lines, strings.Join(parts, " "))
	}
	slices.Sort(lines)
	return lines
}
