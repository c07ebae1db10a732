package intake

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/record"
	"spanseal/templates"
)

// newJob writes what a new job holds.
func newJob(t *testing.T) (dir string, edit func(name string, pairs ...string)) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "job")
	files, err := fs.Sub(templates.Files, "job")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, files); err != nil {
		t.Fatal(err)
	}
	return dir, func(name string, pairs ...string) {
		t.Helper()
		path := filepath.Join(dir, name)
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for i := 0; i < len(pairs); i += 2 {
			if !strings.Contains(string(data), pairs[i]) {
				t.Fatalf("%s does not hold %q", name, pairs[i])
			}
		}
		if err := os.WriteFile(path, []byte(strings.NewReplacer(pairs...).Replace(string(data))), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestTemplateUnfilled holds that a new job says what is to be filled in, and
// nothing that would frighten.
func TestTemplateUnfilled(t *testing.T) {
	dir, _ := newJob(t)
	_, list := Read(dir, Options{})
	codes := map[string]int{}
	for _, p := range list.Sorted() {
		codes[p.Code]++
		if p.Want == "" && p.Fix == "" {
			t.Errorf("%v says no way out", &p)
		}
	}
	if len(codes) != 2 || codes["missing-value"] < 5 || codes["no-links"] != 1 {
		t.Errorf("a new job has other problems than empty values and no links:\n%s", printProblems(list))
	}
}

// TestTemplateFilled holds that the template, filled in as its remarks say,
// reads without any problem, and the remarks' own examples too.
func TestTemplateFilled(t *testing.T) {
	dir, edit := newJob(t)
	edit("job.yaml",
		"number:  ", "number: 2026-031  ", "title:  ", "title: Reading rooms refit  ",
		"site: {name: , address: }", "site: {name: Bellweather Library, address: Port Ansel}",
		"customer: {name: }", "customer: {name: Port Ansel Council, order: PO-7781}",
		"contractor: {name: , address: }", "contractor: {name: Tidewater Fibre Works, licence: C7-20881}",
		"time_zone:  ", "time_zone: Europe/Dublin  ", "{id: t1, name: }", "{id: t1, name: M. Okafor}",
		"serial: , calibrated: , due: ", "serial: 0042, calibrated: 2026-03-03, due: 2027-03-03",
		// The remarks, put to use.
		"\n# invoice", "\n  invoice", "\n# completed", "\n  completed", "\n# deadline", "\n  deadline", "\n# warranty", "\n  warranty",
		"\n# stage", "\n  stage", "\n# witness", "\n  witness", "\n# cables:\n#  ", "\ncables:\n  ",
		"\n# decision", "\n  decision", "\n# guard", "\n  guard", "\n# uncertainty", "\n  uncertainty", "\n# marginal", "\n  marginal",
		"\n# termination", "\n  termination", "\n# questions", "\n  questions", "\n#   calibration", "\n    calibration",
		"\n# retest_change", "\n  retest_change", "\n# aliases", "\naliases",
		"\n# pay:\n#   currency: EUR\n#   retainage_percent: 10\n#   items:\n#     - {line: \"1.1\"", "\npay:\n    currency: EUR\n    retainage_percent: 10\n    items:\n      - {line: \"1.1\"",
		"\n#     - {line: \"1.2\"", "\n      - {line: \"1.2\"",
	)
	edit("links.csv", "end_b\n", "end_b\nA-11,C1,11,R1 port 11,C1 port 11,OS2,312,2,0,spliced-on LC/UPC,factory LC\n")
	edit("terminations.csv", "finished\n", "finished\nA-11,A,spliced-on connector,0.03,1,26-0417,pass,t1,2026-11-16 14:10\n")
	readme, err := os.ReadFile(filepath.Join(dir, "readings", "README.txt"))
	if err != nil {
		t.Fatal(err)
	}
	_, example, ok := strings.Cut(string(readme), "Example:\n\n")
	example, _, ends := strings.Cut(example, "\n\n")
	if !ok || !ends {
		t.Fatal("readings/README.txt gives no example")
	}
	if err := os.WriteFile(filepath.Join(dir, "readings", "day1.csv"), []byte(strings.TrimSpace(example)), 0o644); err != nil {
		t.Fatal(err)
	}
	facts, list := Read(dir, Options{})
	if list.Len() != 1 || list.Sorted()[0].Code != "never-matched" {
		t.Errorf("want only the note that no file uses the alias:\n%s", printProblems(list))
	}
	if len(facts.Readings) != 1 || len(facts.Terminations) != 1 || facts.Job.Instruments[0].Serial != "0042" || facts.Job.Policy.Decision != "guarded" || len(facts.Job.Pay.Items) != 2 {
		t.Errorf("%d readings, %d terminations, %+v", len(facts.Readings), len(facts.Terminations), facts.Job.Instruments)
	}

	// The remarks' examples of mappings.
	data, err := os.ReadFile(filepath.Join(dir, "job.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	_, examples, ok := strings.Cut(string(data), "\n# readings:\n")
	if !ok {
		t.Fatal("job.yaml gives no example of readings")
	}
	examples, _, _ = strings.Cut(examples, "\n#\n")
	edit("job.yaml", "\n# readings:\n"+examples, "\nreadings:\n"+strings.ReplaceAll("\n"+examples, "\n#", "\n"))
	if err := os.Remove(filepath.Join(dir, "readings", "day1.csv")); err != nil {
		t.Fatal(err)
	}
	if _, list := Read(dir, Options{}); list.Errors() > 0 || list.Len() != 3 {
		t.Errorf("want only notes that no file is there yet:\n%s", printProblems(list))
	}
}

// TestDemonstration holds that the demonstration job reads without problems.
func TestDemonstration(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	files, err := fs.Sub(templates.Files, "demo")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, files); err != nil {
		t.Fatal(err)
	}
	facts, list := Read(dir, Options{})
	if list.Len() > 0 {
		t.Error(printProblems(list))
	}
	checkAccounts(t, facts)
	if len(facts.Links) == 0 || len(facts.Readings) == 0 || len(facts.Originals) < 4 {
		t.Errorf("read %d links, %d readings, %d originals", len(facts.Links), len(facts.Readings), len(facts.Originals))
	}
}

// TestEveryFibreOfLimits holds that a schedule can name every fibre for which a
// limit set has a figure, and that it keeps the set's own name for it.
func TestEveryFibreOfLimits(t *testing.T) {
	selector := regexp.MustCompile(`fibre: (?:\[([^\]]+)\]|([^\s,}]+))`)
	names, err := fs.Glob(templates.Files, "limits/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	fibres := map[string]bool{}
	for _, name := range names {
		data, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range selector.FindAllStringSubmatch(string(data), -1) {
			for _, fibre := range strings.Split(m[1]+m[2], ",") {
				fibres[strings.TrimSpace(fibre)] = true
			}
		}
	}
	if len(fibres) < 11 || !fibres["62.5/160"] {
		t.Fatalf("found only %v", fibres)
	}
	for fibre := range fibres {
		dir := t.TempDir()
		layOut(t, dir, []txtar.File{{Name: "links.csv~", Data: []byte("OS2,312 => " + fibre + ",312")}})
		facts, list := Read(dir, Options{})
		want := record.Multimode
		if strings.HasPrefix(fibre, "OS") {
			want = record.Singlemode
		}
		if l := facts.Links[0]; list.Errors() > 0 || l.Fibre != fibre || l.Mode != want {
			t.Errorf("%s is read as %q, %s\n%s", fibre, l.Fibre, l.Mode, printProblems(list))
		}
	}
}
