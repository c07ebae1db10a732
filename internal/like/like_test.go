package like

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
)

// lay writes files into a folder.
func lay(t testing.TB, dir string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		name = filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func read(t testing.TB, files map[string]string, drafted bool) *Copy {
	t.Helper()
	dir := t.TempDir()
	lay(t, dir, files)
	c, list := Read(dir, drafted)
	if c == nil {
		t.Fatalf("%v", list.Sorted())
	}
	return c
}

func (c *Copy) file(name string) string {
	for _, f := range c.Files {
		if f.Name == name {
			return string(f.Data)
		}
	}
	return ""
}

const older = `# How we write jobs
company: company.yaml

# The work of spring
job:
  number: OLD-1
  title: OLD
  site: {name: OLD, address: OLD}
  customer: {name: OLD, order: OLD}   # OLD
  # ours
  contractor: {name: Tidewater Fibre Works, licence: C7}
  time_zone: Europe/Dublin
  completed: 2026-01-01 # OLD
  witness: OLD
  warranty: {months: 240, registration: OLD, registered: 2026-01-02}

people:            # who
  - {id: mo, name: M. Okafor}
cables:
  - {id: OLD}

judge:
  limits: [house.yaml, tia-568.3-e]   # the house's
  optional:         # OLD remarks stay only where they stand alone
    - {quantity: splice_loss, by: OLD, reason: OLD}
    - {set: house, by: OLD, reason: OLD}
  # decision: guarded
  reference: one-cord

answers:
  - {question: bend, text: OLD, who: mo, day: 2026-01-01}
pay:
  currency: EUR
  billed: r4
  items: [{title: Link, unit: link, rate: 9.50}]
readings:
  - files: "readings/*.csv"
    mapping: pm.yaml
    link: OLD
    person: mo
    reference_dbm: -4.02
  - files: "readings/OLD.csv"
    date: "{Date}"
sign: {key: keys/signer.p12, as: mo}
`

const newer = `# How we write jobs
company: company.yaml

# The work of spring
job:
  number:
  title:
  site: {name: , address: }
  customer: {name: , address: , order: }
  completed:
  witness:
  # ours
  contractor: {name: Tidewater Fibre Works, licence: C7}
  time_zone: Europe/Dublin
  warranty: {months: 240}

people:            # who
  - {id: mo, name: M. Okafor}
judge:
  limits: [house.yaml, tia-568.3-e]   # the house's
  # decision: guarded
  reference: one-cord

pay:
  currency: EUR
  items: [{title: Link, unit: link, rate: 9.50}]
readings:
  - files: "readings/*.csv"
    mapping: pm.yaml
    person: mo
  - files: "readings/OLD.csv"
    date: "{Date}"
sign: {key: keys/signer.p12, as: mo}
`

func TestJob(t *testing.T) {
	for _, c := range []struct{ name, old, want string }{
		{"every part", older, newer},
		{"line ends of Windows", strings.ReplaceAll(older, "\n", "\r\n"), newer},
		{"a group between braces", "job: {number: OLD, title: OLD, time_zone: Europe/Dublin}\njudge: {limits: [a], optional: [{quantity: reflectance, by: OLD, reason: OLD}]}\n",
			"job:\n  number:\n  title:\n  site: {name: , address: }\n  customer: {name: , address: }\n  time_zone: Europe/Dublin\n\njudge: {limits: [a]}\n"},
		{"all between braces", "{job: {number: OLD}, people: [{id: mo, name: M}], cables: [{id: OLD}]}\n",
			"job:\n  number:\n  title:\n  site: {name: , address: }\n  customer: {name: , address: }\n\npeople: [{id: mo, name: M}]\n"},
		{"only what is not agreed again", "judge:\n  optional: [{quantity: reflectance, by: OLD, reason: OLD}]\nsign: {as: mo}\n", "sign: {as: mo}\n"},
		{"a list over several lines", "judge:\n  reference: one-cord\n  optional: [\n    {quantity: reflectance, by: OLD, reason: OLD}\n  ]\n  test_cords: standard\n", "judge:\n  reference: one-cord\n  test_cords: standard\n"},
		{"a text over several lines", "judge:\n  optional:\n    - by: mo\n      set: a\n      reason: |\n        OLD\n        OLD\n  reference: one-cord\n", "judge:\n  reference: one-cord\n"},
		{"the first key of an entry", "readings:\n  - link: OLD\n    files: \"readings/*.csv\"\n", "readings:\n  - files: \"readings/*.csv\"\n"},
		{"no work", "people: []\n", "people: []\n"},
		{"the last member", "pay:\n  items: []\n  billed: r4\n# more\nsign: {}\n", "pay:\n  items: []\n# more\nsign: {}\n"},
		{"remarks of what was answered go with it", "sign: {as: mo}\n\n# OLD: asked twice\nanswers: []\n", "sign: {as: mo}\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := read(t, map[string]string{"job.yaml": c.old}, false).file("job.yaml")
			if diff := cmp.Diff(strings.TrimSpace(c.want), strings.TrimSpace(strings.ReplaceAll(got, "\n\n\n", "\n\n"))); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// TestDrafted: the older entries are remarks.
func TestDrafted(t *testing.T) {
	c := read(t, map[string]string{"job.yaml": older + "schedule: {file: plan.xlsx}\n", "plan.xlsx": "PK"}, true)
	got := c.file("job.yaml")
	if !strings.Contains(got, "# The older job had:\n# readings:\n#   - files: \"readings/*.csv\"\n#     mapping: pm.yaml\n") || !strings.Contains(got, "# schedule: {file: plan.xlsx}\n") || strings.Contains(got, "\nreadings:") {
		t.Error(got)
	}
	if strings.Contains(got, "readings/OLD.csv\n") {
		t.Error(got)
	}
	dir := t.TempDir()
	lay(t, dir, map[string]string{"links.csv": "link\n"})
	if err := c.Write(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "links.csv")); err != nil {
		t.Error("the drafted schedule is removed")
	}
}

// TestFiles: which files are copied, which emptied, and which are not.
func TestFiles(t *testing.T) {
	old := map[string]string{
		"job.yaml": older, "company.yaml": "people: []\n", "house.yaml": "id: house\n", "pm.yaml": "delimiter: tab\n", "unused.yaml": "OLD: 1\n", "confirmed.yaml": "c: 1\n",
		"links.csv": "\"link\",from,to\nOLD,OLD,OLD\n", "terminations.csv": "# kept by hand\nlink;end\nOLD;A\n", "inspections.csv": "OLD,end\nOLD,A\n",
		"pay.yaml":             "currency: EUR\nbilled: r4\nperiod: {from: 2026-01-01, to: 2026-01-31}\nreleases: [{day: 2026-02-01, percent: 50, reason: OLD}]\nitems: [{title: Link, unit: link, rate: 9.50}]\n",
		"documents/style.yaml": "logo: house.png\ntypefaces: {regular: fonts/plain.ttf, bold: ../away.ttf}\n", "house.png": "png", "fonts/plain.ttf": "ttf", "wording/en.yaml": "{}\n",
		"keys/signer.p12": "OLD", "signer.p12": "OLD", "readings/OLD.csv": "OLD", "photos/OLD.jpg": "OLD", "issued/r1/summary.pdf": "OLD",
	}
	c := read(t, old, false)
	var names []string
	for _, f := range c.Files {
		names = append(names, f.Name)
		if f.Name != "job.yaml" && strings.Contains(string(f.Data), "OLD") {
			t.Errorf("%s: %s", f.Name, f.Data)
		}
	}
	slices.Sort(names)
	if got := strings.Join(names, " "); got != "company.yaml confirmed.yaml documents/style.yaml fonts/plain.ttf house.png house.yaml job.yaml links.csv pay.yaml pm.yaml terminations.csv wording/en.yaml" {
		t.Error(got)
	}
	if got := c.file("links.csv") + c.file("terminations.csv") + c.file("pay.yaml"); got != "\"link\",from,to\n# kept by hand\nlink;end\ncurrency: EUR\nitems: [{title: Link, unit: link, rate: 9.50}]\n" {
		t.Error(got)
	}
	want := []diag.Unsaid{
		{File: "job.yaml", Text: "job: number, title, site, customer, completed, witness, warranty: its registration"},
		{File: "job.yaml", Text: "cables: those of this job"},
		{File: "job.yaml", Text: "judge: optional: who agrees this time that splice_loss, house need not be measured"},
		{File: "job.yaml", Text: "readings: files: the names of this job's files, instead of readings/OLD.csv"},
		{File: "job.yaml", Text: "readings: link, reference_dbm, which the older job said of its own files"},
		{File: "job.yaml", Text: "readings: whether this is true of the new files too: person: mo"},
		{File: "links.csv", Text: "every link that must be certified"},
		{File: "keys/signer.p12", Text: "the key is not copied: put it there, or state in job.yaml under sign where it is"},
		{File: "readings/", Text: "what the instruments exported"},
	}
	if diff := cmp.Diff(want, c.Points); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestSchedules(t *testing.T) {
	for _, c := range []struct {
		name  string
		files map[string]string
		at    string
		want  string
		gone  bool // the blank links.csv
	}{
		{"its own heading", map[string]string{"job.yaml": "schedule: {file: plan.txt, columns: {link: Strang}}\n", "plan.txt": "OLD plan\r\nNr;Strang\r\n1;OLD\r\n"}, "plan.txt", "OLD plan\r\nNr;Strang\r\n", true},
		{"a workbook", map[string]string{"job.yaml": "schedule: {file: plan.xlsx}\n", "plan.xlsx": "PK"}, "plan.xlsx", "", true},
		{"a workbook by its name", map[string]string{"job.yaml": "judge: {}\n", "links.xlsx": "PK"}, "links.xlsx", "", true},
		{"no heading", map[string]string{"job.yaml": "judge: {}\n", "links.csv": "OLD,OLD\n"}, "links.csv", "", false},
		{"UTF-16", map[string]string{"job.yaml": "judge: {}\n", "links.csv": "l\x00i\x00n\x00k\x00\n\x00"}, "links.csv", "", false},
		{"no schedule", map[string]string{"job.yaml": "judge: {}\n"}, "links.csv", "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := read(t, c.files, false)
			if got.file(c.at) != c.want {
				t.Errorf("%q", got.file(c.at))
			}
			dir := t.TempDir()
			lay(t, dir, map[string]string{"links.csv": "blank"})
			if err := got.Write(dir); err != nil {
				t.Fatal(err)
			}
			if _, err := os.Stat(filepath.Join(dir, "links.csv")); (err != nil) != c.gone {
				t.Errorf("links.csv: %v", err)
			}
			if !slices.ContainsFunc(got.Points, func(p diag.Unsaid) bool { return p.File == c.at }) {
				t.Errorf("%v", got.Points)
			}
		})
	}
}

func TestRefused(t *testing.T) {
	linked := t.TempDir()
	if err := os.Symlink("elsewhere.yaml", filepath.Join(linked, "job.yaml")); err != nil {
		t.Fatal(err)
	}
	lay(t, linked, map[string]string{"elsewhere.yaml": "job: {}\n"})
	broken, list, empty := t.TempDir(), t.TempDir(), t.TempDir()
	lay(t, broken, map[string]string{"job.yaml": "job: [\n"})
	lay(t, list, map[string]string{"job.yaml": "- a\n"})
	for name, c := range map[string]struct{ dir, code string }{
		"nowhere": {filepath.Join(empty, "none"), "no-job-folder"}, "no job.yaml": {empty, "cannot-read"}, "a link": {linked, "cannot-read"},
		"not YAML": {broken, "yaml-syntax"}, "a list": {list, "wrong-type"},
	} {
		c2, problems := Read(c.dir, false)
		if c2 != nil || problems.Count(diag.Error) != 1 || problems.Sorted()[0].Code != c.code {
			t.Errorf("%s: %v", name, problems.Sorted())
		}
	}
}

// FuzzRead: whatever an older job says, the new job.yaml is YAML, or there is none of
// it left; and what was agreed and answered in it is not there.
func FuzzRead(f *testing.F) {
	f.Add(older, false)
	f.Add("{job: {number: OLD}, readings: [{link: OLD, files: x}]}", true)
	f.Add("judge:\n  optional: [\n  ]\n  a: |\n   x\n\n  b: c\n", false)
	f.Add("\"job\":\n- a\npay: {billed: r1}\n? [a]\n: b\n", false)
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, job string, drafted bool) {
		if err := os.WriteFile(filepath.Join(dir, "job.yaml"), []byte(job), 0o644); err != nil {
			t.Fatal(err)
		}
		c, _ := Read(dir, drafted)
		if c == nil {
			return
		}
		next := t.TempDir()
		if err := os.WriteFile(filepath.Join(next, "job.yaml"), []byte(c.file("job.yaml")), 0o644); err != nil {
			t.Fatal(err)
		}
		again, problems := Read(next, drafted)
		if again == nil {
			if p := problems.Sorted(); p[0].Code == "empty-file" {
				return
			}
			t.Fatalf("%v\n%s", problems.Sorted(), c.file("job.yaml"))
		}
		for _, gone := range emptied {
			if at(again.top, gone) != nil {
				t.Errorf("%s is there", gone)
			}
		}
		if at(again.top, "judge", "optional") != nil || at(again.top, "pay", "billed") != nil {
			t.Errorf("%s", c.file("job.yaml"))
		}
	})
}
