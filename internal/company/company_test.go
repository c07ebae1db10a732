package company

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// parsed reads both files strictly.
func parsed(t testing.TB, job, firm string) (*yaml.Node, *yaml.Node, *source.File) {
	t.Helper()
	list := &diag.List{}
	j := (&strict.YAML{File: source.New("job.yaml", []byte(job)), List: list}).Root()
	file := source.New("../company.yaml", []byte(firm))
	f := Read(&strict.YAML{File: file, List: list})
	if list.Len() > 0 || j == nil || f == nil {
		t.Fatalf("%v", list.Sorted())
	}
	return j, f, file
}

// print writes nodes on one line, with company's values in angle brackets.
func print(l *Laid, n *yaml.Node) string {
	theirs := func(s string) string {
		if l.From[n] != nil {
			return "<" + s + ">"
		}
		return s
	}
	switch n.Kind {
	case yaml.MappingNode:
		var parts []string
		for i := 0; i+1 < len(n.Content); i += 2 {
			parts = append(parts, n.Content[i].Value+": "+print(l, n.Content[i+1]))
		}
		return "{" + strings.Join(parts, ", ") + "}"
	case yaml.SequenceNode:
		var parts []string
		for _, item := range n.Content {
			parts = append(parts, print(l, item))
		}
		return theirs("[" + strings.Join(parts, ", ") + "]")
	}
	return theirs(n.Value)
}

func TestLay(t *testing.T) {
	for _, c := range []struct{ name, job, firm, want string }{
		{"the job says nothing", "company: c.yaml", "judge: {reference: one-cord}", "{judge: {reference: <one-cord>}, company: c.yaml}"},
		{"the job's own wins", "judge: {reference: two-cord}", "judge: {reference: one-cord}", "{judge: {reference: two-cord}}"},
		{"groups member by member", "judge: {reference: two-cord}", "judge: {test_cords: standard, require: {directions: both}}", "{judge: {test_cords: <standard>, require: {directions: <both>}, reference: two-cord}}"},
		{"groups in groups", "judge: {require: {directions: either}}", "judge: {require: {reflectance: required, directions: both}}", "{judge: {require: {reflectance: <required>, directions: either}}}"},
		{"a key without a value says nothing", "job: {time_zone: }", "job: {time_zone: Europe/Dublin}", "{job: {time_zone: <Europe/Dublin>}}"},
		{"a group of blanks says nothing", "job: {contractor: {name: , address: }}", "job: {contractor: {name: Tidewater}}", "{job: {contractor: {name: <Tidewater>}}}"},
		{"lists are taken whole", "judge: {limits: [a]}", "judge: {limits: [b, c]}", "{judge: {limits: [a]}}"},
		{"an empty list is said", "readings: []", "readings: [{files: readings/a.csv}]", "{readings: []}"},
		{"a list that the job lacks", "job: {}", "readings: [{files: readings/a.csv}]", "{readings: <[{files: <readings/a.csv>}]>, job: {}}"},
		{"another contractor has not our licence", "job: {contractor: {name: Slipway}}", "job: {contractor: {name: Tidewater, licence: C7}}", "{job: {contractor: {name: Slipway}}}"},
		{"a warranty is one promise", "job: {warranty: {months: 12}}", "job: {warranty: {months: 240, report_within_days: 30}}", "{job: {warranty: {months: 12}}}"},
		{"colours are one table", "colours: ansi-tia-598", "colours: {title: Ours, sequence: [red]}", "{colours: ansi-tia-598}"},
		{"people are added", "people: [{id: t1, name: A}]", "people: [{id: mo, name: B}]", "{people: [{id: t1, name: A}, {id: <mo>, name: <B>}]}"},
		{"the job's entry of an id wins, whole", "people: [{id: mo, name: A}]", "people: [{id: mo, name: B, qualification: FT-1}, {id: rl, name: C}]", "{people: [{id: mo, name: A}, {id: <rl>, name: <C>}]}"},
		{"an id alone asks for the company's entry", "instruments: [{id: FS-1}]", "instruments: [{id: PM-9, kind: meter}, {id: FS-1, kind: splicer}]", "{instruments: [{id: <FS-1>, kind: <splicer>}, {id: <PM-9>, kind: <meter>}]}"},
		{"an id alone that the company lacks", "instruments: [{id: FS-2}]", "instruments: [{id: FS-1, kind: splicer}]", "{instruments: [{id: FS-2}, {id: <FS-1>, kind: <splicer>}]}"},
		{"a group of blanks that stays the job's", "job: {number: , title: }", "job: {time_zone: Europe/Dublin}", "{job: {time_zone: <Europe/Dublin>, number: , title: }}"},
		{"a part without a value", "judge:", "judge: {reference: one-cord}", "{judge: {reference: <one-cord>}}"},
		{"people of another kind", "people: M. Okafor", "people: [{id: mo}]", "{people: M. Okafor}"},
		{"questions by code", "judge: {questions: {bend: {weight: note}}}", "judge: {questions: {bend: {weight: fatal, threshold: 1}, pace: {weight: off}}}", "{judge: {questions: {pace: {weight: <off>}, bend: {threshold: <1>, weight: note}}}}"},
		{"pay is laid by itself", "job: {}", "pay: {currency: EUR}", "{job: {}}"},
		{"a number keeps its digits", "judge: {}", "judge: {marginal_db: 0.10}", "{judge: {marginal_db: <0.10>}}"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := Lay(parsed(t, c.job, c.firm))
			if got := print(l, l.Top); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

func TestOverPay(t *testing.T) {
	const firm = "pay: {currency: EUR, retainage_percent: 10, items: [{title: Link, unit: link, rate: 9}]}"
	for _, c := range []struct{ name, pay, want string }{
		{"the job says nothing", "", "{currency: <EUR>, retainage_percent: <10>, items: <[{title: <Link>, unit: <link>, rate: <9>}]>}"},
		{"what was billed", "billed: r1", "{currency: <EUR>, retainage_percent: <10>, items: <[{title: <Link>, unit: <link>, rate: <9>}]>, billed: r1}"},
		{"items of its own", "items: [{title: Strand, unit: strand}]", "{currency: <EUR>, retainage_percent: <10>, items: [{title: Strand, unit: strand}]}"},
		{"the same currency", "currency: EUR", "{retainage_percent: <10>, items: <[{title: <Link>, unit: <link>, rate: <9>}]>, currency: EUR}"},
		{"rates are not taken under another currency", "currency: USD", "{retainage_percent: <10>, currency: USD}"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := Lay(parsed(t, "job: {}", firm))
			var pay *yaml.Node
			if c.pay != "" {
				pay, _, _ = parsed(t, c.pay, "{}")
			}
			if got := print(l, l.OverPay(pay)); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
	if l := Lay(parsed(t, "job: {}", "judge: {}")); l.OverPay(nil) != nil {
		t.Error("pay of a company that says nothing of it")
	}
}

// TestTaken: what was taken is written without remarks, prices and the place of the
// key, and is a company file that gives the same again.
func TestTaken(t *testing.T) {
	const job = "company: company.yaml\njob: {number: 1}\njudge: {reference: two-cord}\ninstruments: [{id: FS-1}]\n"
	const firm = `# of the house
job:
  time_zone: Europe/Dublin # by the river
people:
  - {id: mo, name: M. Okafor}   # on leave
  - {id: rl, name: R. Lindqvist}
instruments: [{id: FS-1, kind: splicer, serial: 0042}, {id: PM-9, kind: meter}]
judge:
  # agreed in spring
  reference: one-cord
  marginal_db: 0.10
sign: {key: keys/signer.p12, as: rl}
pay: {currency: EUR, items: [{title: Link, unit: link, rate: 77.31}]}
`
	const want = `# What this job took from company.yaml: all that job.yaml does not say itself, but for pay items
# and the place of the key. Named company.yaml beside job.yaml, it gives the job the same again.
people:
  - {id: rl, name: R. Lindqvist}
sign: {as: rl}
job: {time_zone: Europe/Dublin}
judge: {marginal_db: 0.10}
instruments:
  - {id: FS-1, kind: splicer, serial: 0042}
`
	keep := func(_, id string) bool { return id == "rl" }
	l := Lay(parsed(t, job, firm))
	got := l.Taken("company.yaml", keep)
	if string(got.YAML) != want {
		t.Errorf("got\n%s", got.YAML)
	}
	if keys := strings.Join(got.Keys, ", "); keys != "1 of 2 people, sign.key, sign.as, job.time_zone, judge.marginal_db, 1 of 2 instruments, pay" {
		t.Errorf("took %s", keys)
	}
	if !slices.Equal(got.Idle, [][2]string{{"people", "mo"}, {"instruments", "PM-9"}}) {
		t.Errorf("idle: %v", got.Idle)
	}
	again := Lay(parsed(t, job, string(got.YAML))).Taken("company.yaml", keep)
	if string(again.YAML) != want {
		t.Errorf("taken again\n%s", again.YAML)
	}
	nothing := Lay(parsed(t, job, "pay: {items: []}")).Taken("company.yaml", keep)
	if !strings.HasSuffix(string(nothing.YAML), "again.\n{}\n") {
		t.Errorf("of nothing\n%s", nothing.YAML)
	}
}

// TestOwn: each key that is a job's own is refused at its place, and not taken.
func TestOwn(t *testing.T) {
	for _, own := range Own {
		t.Run(own, func(t *testing.T) {
			keys := strings.Split(own, ".")
			text := ""
			for i, key := range keys {
				text += strings.Repeat("  ", i) + key + ":\n"
			}
			list := &diag.List{}
			file := source.New("../company.yaml", []byte(text+strings.Repeat("  ", len(keys))+"x\n"))
			top := Read(&strict.YAML{File: file, List: list})
			p := list.Sorted()
			if len(p) != 1 || p[0].Code != "job-only" || p[0].Place.Line != len(keys) || p[0].Place.File != "../company.yaml" || !strings.Contains(p[0].Message, `"`+keys[len(keys)-1]+`"`) {
				t.Errorf("%v", p)
			}
			for _, key := range keys[:len(keys)-1] {
				top = top.Content[find(top, key)+1]
			}
			if find(top, keys[len(keys)-1]) >= 0 {
				t.Error("it is taken")
			}
		})
	}
}

func TestFind(t *testing.T) {
	root := t.TempDir()
	job := filepath.Join(root, "office", "2026", "job")
	put := func(name, text string) {
		t.Helper()
		name = filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("office/2026/job/own.yaml", "the job's")
	put("office/own.yaml", "the office's")
	put("office/company.yaml", "the office's")
	put("office/house/company.yaml", "the house's")
	put("office/2026/large.yaml", strings.Repeat("#", largest+1))
	put("elsewhere/away.yaml", "somebody else's")
	for name, to := range map[string]string{"office/2026/link.yaml": "../own.yaml", "office/2026/elsewhere": "../../elsewhere", "office/2026/job/dangling.yaml": "nowhere"} {
		if err := os.Symlink(to, filepath.Join(root, name)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(root, "office", "folder.yaml"), 0o755); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, file, at, dir, code string }{
		{name: "in the job folder", file: "own.yaml", at: "own.yaml", dir: "office/2026/job"},
		{name: "two folders above", file: "company.yaml", at: "../../company.yaml", dir: "office"},
		{name: "below one above", file: "house/company.yaml", at: "../../house/company.yaml", dir: "office/house"},
		{name: "nowhere", file: "no-such-company-file.yaml", code: "no-company-file"},
		{name: "a link above", file: "link.yaml", code: "symbolic-link"},
		{name: "behind a link", file: "elsewhere/away.yaml", code: "symbolic-link"},
		{name: "a link that leads nowhere", file: "dangling.yaml", code: "symbolic-link"},
		{name: "a folder", file: "folder.yaml", code: "not-a-file"},
		{name: "too large", file: "large.yaml", code: "cannot-read"},
		{name: "outside", file: "../company.yaml", code: "company-outside"},
		{name: "absolute", file: "/etc/hostname", code: "company-outside"},
		{name: "by way of a folder", file: "job/../own.yaml", code: "company-outside"},
		{name: "a backslash", file: `..\company.yaml`, code: "company-outside"},
		{name: "empty", file: "", code: "company-outside"},
		{name: "the folder itself", file: ".", code: "company-outside"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, problem := Find(job, c.file)
			if c.code != "" {
				if problem == nil || problem.Code != c.code || problem.Fix == "" || f != nil {
					t.Errorf("%v, %+v", f, problem)
				}
				return
			}
			if problem != nil || f.Name != c.at || f.Dir != filepath.Join(root, filepath.FromSlash(c.dir)) {
				t.Fatalf("%+v, %+v", f, problem)
			}
		})
	}
	put("office/2026/job/job.yaml", "company: company.yaml\njob: {}\n")
	if f := Of(job); f == nil || f.Name != "../../company.yaml" {
		t.Errorf("%v", f)
	}
	for _, text := range []string{"job: {}\n", "company: none-such.yaml\n", "company: [\n"} {
		if put("office/2026/job/job.yaml", text); Of(job) != nil {
			t.Errorf("%q names a company file", text)
		}
	}
	// A relative name of the job folder gives folders as a person would write them.
	t.Chdir(filepath.Join(root, "office", "2026"))
	for job, dir := range map[string]string{"job": "..", "job/": "..", ".": ".."} {
		if f, problem := Find(job, "company.yaml"); problem != nil || f.Dir != dir {
			t.Errorf("%s: %+v, %v", job, f, problem)
		}
	}
}

func TestFiles(t *testing.T) {
	job, firm := t.TempDir(), t.TempDir()
	put := func(dir, name string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(filepath.Base(dir)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put(job, "limits/both.yaml")
	put(job, "limits/ours.yaml")
	put(firm, "limits/both.yaml")
	put(firm, "limits/theirs.yaml")
	put(firm, "wording/en.yaml")
	if err := os.Symlink("both.yaml", filepath.Join(firm, "limits", "link.yaml")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("both.yaml", filepath.Join(job, "limits", "broken.yaml")); err != nil {
		t.Fatal(err)
	}
	put(firm, "limits/broken.yaml")
	files, err := OpenFiles(job, firm)
	if err != nil {
		t.Fatal(err)
	}
	defer files.Close()
	for name, want := range map[string]string{"limits/both.yaml": job, "limits/ours.yaml": job, "limits/theirs.yaml": firm, "wording/en.yaml": firm,
		"limits/link.yaml": "", "limits/broken.yaml": "", "../x": "", "limits/none.yaml": ""} {
		data, err := files.ReadUpTo(name, 1000)
		if (err == nil) != (want != "") || want != "" && string(data) != filepath.Base(want) {
			t.Errorf("%s: %q, %v", name, data, err)
		}
	}
	entries, err := files.ReadDir("limits")
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if err != nil || strings.Join(names, " ") != "both.yaml broken.yaml link.yaml ours.yaml theirs.yaml" {
		t.Errorf("%v, %v", names, err)
	}
	alone, err := OpenFiles(job, "")
	if err != nil {
		t.Fatal(err)
	}
	defer alone.Close()
	if _, err := alone.ReadFile("limits/theirs.yaml"); err == nil {
		t.Error("a file is read beside no company file")
	}
}

// FuzzLay: whatever two files say, no node is lost that the job said, and what was
// taken is a company file that gives the same again.
func FuzzLay(f *testing.F) {
	f.Add("job: {number: 1}\npeople: [{id: a}]\n", "people: [{id: a, name: A}, {id: b}]\nsign: {key: k, as: b}\n")
	f.Add("judge: {limits: [x]}\n", "judge: {limits: [y], require: {directions: both}}\npay: {currency: EUR}\n")
	f.Add("people: {id: a}\n", "people: [a, {id: [b]}, {}]\njob: [1]\n")
	f.Add("{a: , b: {c: }}\n", "{a: 1, a: 2, b: {c: |\n  x\n }}\n")
	f.Fuzz(func(t *testing.T, job, firm string) {
		list := &diag.List{}
		j := (&strict.YAML{File: source.New("job.yaml", []byte(job)), List: list}).Root()
		file := source.New("../company.yaml", []byte(firm))
		c := Read(&strict.YAML{File: file, List: list})
		if j == nil || c == nil {
			return
		}
		l := Lay(j, c, file)
		l.OverPay(nil)
		keep := func(_, id string) bool { return len(id)%2 == 1 }
		taken := l.Taken("company.yaml", keep)
		list = &diag.List{}
		file = source.New("company.yaml", taken.YAML)
		c = Read(&strict.YAML{File: file, List: list})
		if c == nil {
			t.Fatalf("%v\n%s", list.Sorted(), taken.YAML)
		}
		if again := Lay(j, c, file).Taken("company.yaml", keep); string(again.YAML) != string(taken.YAML) {
			t.Errorf("first\n%s\nagain\n%s", taken.YAML, again.YAML)
		}
	})
}
