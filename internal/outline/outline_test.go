package outline

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/intake"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/outside"
	"spanseal/internal/series"
	"spanseal/templates"
)

// samples lays the exports of an archive out and reads them in its order.
func samples(t *testing.T, files []txtar.File) (list []Sample) {
	t.Helper()
	dir := t.TempDir()
	testjobs.LayOut(t, dir, files)
	for _, f := range files {
		name, _, _ := strings.Cut(f.Name, "!")
		raw, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, Sample{name, raw})
	}
	return list
}

func printed(d *Draft) string {
	var b strings.Builder
	b.Write(d.Links())
	for i, p := range d.Points() {
		fmt.Fprintf(&b, "%d %s: %s\n", i+1, p.File, p.Text)
	}
	return b.String()
}

// TestDrafts holds the drafts of testdata/intake/outline, and that whatever is drafted of
// a schedule reads as the links that the exports name.
func TestDrafts(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(testjobs.Root, "outline", "*.txtar"))
	if err != nil || len(names) < 12 {
		t.Fatalf("%d archives (%v)", len(names), err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			files, check := golden.Archive(t, name, "draft")
			given := samples(t, files)
			d, list := New(given)
			got := testjobs.Problems(list)
			if d != nil {
				got = printed(d)
			}
			check(got)
			if d == nil {
				return
			}
			if n := len(d.Points()); n > mostPoints {
				t.Errorf("%d points, want at most %d", n, mostPoints)
			}
			readsBack(t, d)
			asWritten(t, d)
		})
	}
}

// readsBack fills the drafted schedule in and reads it with the job's own reader.
func readsBack(t *testing.T, d *Draft) {
	t.Helper()
	if len(d.rows) == 0 {
		return
	}
	dir := t.TempDir()
	all, err := csv.NewReader(bytes.NewReader(d.Links())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows bytes.Buffer
	w := csv.NewWriter(&rows)
	for i, cells := range all {
		for k, with := range []string{3: "R1", 4: "C1", 5: "OS2", 6: "100", 7: "2", 8: "0", 9: "none", 10: "none"} {
			if i > 0 && cells[k] == "" {
				cells[k] = with
			}
		}
		if err := w.Write(cells); err != nil {
			t.Fatal(err)
		}
	}
	w.Flush()
	var job []txtar.File
	if d.seen.meant {
		job = append(job, txtar.File{Name: "job.yaml+", Data: []byte("\nschedule: {series: false}\n")})
	}
	testjobs.LayOut(t, dir, append(job, txtar.File{Name: "links.csv", Data: rows.Bytes()}))
	facts, list := intake.Read(dir, intake.Options{})
	if list.Errors() > 0 {
		t.Fatalf("the drafted schedule cannot be read\n%s", testjobs.Problems(list))
	}
	var got, want []string
	for _, l := range facts.Links {
		got = append(got, l.ID)
	}
	for _, r := range d.rows {
		for _, l := range r.links {
			want = append(want, l.id)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("links (-drafted +read)\n%s", diff)
	}
	if len(want) != len(d.survey.Facts.Links) {
		t.Errorf("%d links of %d are drafted", len(want), len(d.survey.Facts.Links))
	}
}

// asWritten reads the folder as it is drafted: what is wrong with it is that cells and values
// are empty, or what the draft asks.
func asWritten(t *testing.T, d *Draft) {
	t.Helper()
	blank, err := templates.Files.ReadFile("job/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	files := map[string][]byte{"job.yaml": d.Job(blank), "links.csv": d.Links()}
	for _, s := range d.Samples {
		files[s.File()] = s.Raw
	}
	for name, data := range files {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	_, list := intake.Read(dir, intake.Options{})
	for _, p := range list.Sorted() {
		switch p.Code {
		case "missing-value", "missing-cell", "no-links", "no-time-zone", "which-date", "missing-column", "unknown-direction", "not-a-number": // empty, or asked
		default:
			if p.Severity == diag.Error {
				t.Errorf("the drafted folder: %s [%s]", p.Message, p.Code)
			}
		}
	}
}

// TestLinesAreThere: the lines that a draft replaces are those of the job that is written.
func TestLinesAreThere(t *testing.T) {
	blank, err := templates.Files.ReadFile("job/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range append([]string{personLine, meterLine, sourceLine, signLine}, agreed...) {
		if !bytes.Contains(blank, []byte("\n"+line)) {
			t.Errorf("job.yaml has no line that begins with %q", line)
		}
	}
	links, err := templates.Files.ReadFile("job/links.csv")
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.TrimSpace(string(links)); got != strings.Join(heading, ",") {
		t.Errorf("links.csv is headed %s", got)
	}
}

// offices are workbooks that LibreOffice wrote: days and hours are cells of their own in two
// of them, and moments in one; two have headings that do not say so.
var offices = []struct{ name, links, needs string }{
	{"panel", "M2-1..M2-6,M2,1..6,R1/01..R1/06,C4/01..C4/06,,61,,,,", ""},
	{"moments", "K7-01..K7-03,K7,1..3,,,,,,,,", `whether "Logged" is when the reading was taken, as the draft says`},
	{"days-and-hours", "K7-01..K7-03,K7,1..3,,,,,,,,", `whether "Clock" is the hour of that day, as the draft says`},
}

func checkOffices(t *testing.T, dir string) {
	t.Helper()
	for _, o := range offices {
		file := filepath.Join(dir, o.name+".xlsx")
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		d, list := New([]Sample{{file, raw}})
		if d == nil {
			t.Fatal(testjobs.Problems(list))
		}
		if diff := cmp.Diff(strings.Join(heading, ",")+"\n"+o.links+"\n", string(d.Links())); diff != "" {
			t.Errorf("%s (-want +got)\n%s", o.name, diff)
		}
		p := d.Proposals[0]
		for _, r := range p.AsRead[0].Rows[0].Readings {
			if got := r.Time.Format("2006-01-02 15:04:05"); got != "2026-11-05 08:03:37" {
				t.Errorf("%s: the first time is %s", o.name, got)
			}
		}
		if cells := strings.Join(p.AsRead[0].Rows[0].Cells, " "); !strings.Contains(cells, "2026-11-05 08:03:37") {
			t.Errorf("%s: times are shown as %s", o.name, cells)
		}
		if o.needs != "" && !slices.Contains(p.Needed, o.needs) {
			t.Errorf("%s does not ask %s", o.name, o.needs)
		}
	}
}

// TestOfficeWorkbooks drafts from what LibreOffice 7.4 made of the .fods of office/.
func TestOfficeWorkbooks(t *testing.T) { checkOffices(t, filepath.Join(testjobs.Root, "office")) }

// TestOfficeWorkbooksAnew has the installed LibreOffice write them again.
func TestOfficeWorkbooksAnew(t *testing.T) {
	office := outside.Program(t, "soffice")
	dir := t.TempDir()
	args := []string{"-env:UserInstallation=file://" + filepath.ToSlash(filepath.Join(dir, "profile")), "--headless", "--convert-to", "xlsx", "--outdir", dir}
	for _, o := range offices {
		args = append(args, filepath.Join(testjobs.Root, "office", o.name+".fods"))
	}
	if out, err := exec.Command(office, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	checkOffices(t, dir)
}

// FuzzNew holds that a draft of any export is a schedule that CSV readers take, with every
// link once, and a list that is short.
func FuzzNew(f *testing.F) {
	for _, text := range testjobs.Texts(f) {
		f.Add(text)
	}
	f.Add([]byte("Fibre,Wavelength,Direction,Loss (dB),From\nK1-01..K1-03,1310,A-B,0.3,R1..R2\nK1-0,850,A-B,0.4,R\nK1-00,850,A-B,0.4,\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		d, list := New([]Sample{{"export.csv", raw}})
		if d == nil {
			if list.Errors() == 0 {
				t.Error("no draft and no reason")
			}
			return
		}
		if n := len(d.Points()); n > mostPoints {
			t.Errorf("%d points", n)
		}
		all, err := csv.NewReader(bytes.NewReader(d.Links())).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		names := map[string]bool{}
		for _, cells := range all[1:] {
			one := series.One(cells[0])
			if series.Meant(cells[0]) && !d.seen.meant {
				var why string
				if one, why, _ = series.Parse(cells[0], false); why != "" {
					t.Fatal(why)
				}
			}
			for i := range one.Len() {
				if names[one.At(i)] {
					t.Fatalf("%q twice\n%s", one.At(i), d.Links())
				}
				names[one.At(i)] = true
			}
		}
		for _, l := range d.survey.Facts.Links {
			if !names[l.ID] {
				t.Errorf("%q is not drafted\n%s", l.ID, d.Links())
			}
		}
		if len(names) != len(d.survey.Facts.Links) {
			t.Errorf("%d names of %d links", len(names), len(d.survey.Facts.Links))
		}
	})
}
