package archive

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

var signer = func() *seal.Signer {
	s, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), 30)
	if err != nil {
		panic(err)
	}
	return s
}()

// set is a revision to be written into a test's archive, by the types that
// write the real ones.
type set struct {
	path     string
	issued   string
	previous string // hash of the manifest before
	results  form.Results
}

// job is a set of one job with its links, all pass.
func job(path, number string, revision int, issued string, links ...form.ResultLink) set {
	return set{path: path, issued: issued, results: form.Results{
		Format: form.ResultsFormat, Job: number, Title: "Reading rooms refit", Revision: revision,
		About: form.About{
			Site: record.Party{Name: "Bellweather Library"}, Customer: record.Party{Name: "Port Ansel Council", Order: "PO-7781"},
			Contractor:  record.Party{Name: "Tidewater Fibre Works"},
			Instruments: []record.Instrument{{ID: "PM-9", Kind: "power meter", Serial: "22803"}, {ID: "LS-4", Kind: "light source", Serial: "40117"}},
			People:      []record.Person{{ID: "mo", Name: "M. Okafor"}, {ID: "sv", Name: "S. Varga"}},
		},
		Links: links,
	}}
}

func link(name string, v judge.Verdict, uses ...form.MeasuredWith) form.ResultLink {
	l := form.ResultLink{Link: name, Verdict: v, File: "nonconformance/" + form.FileName(name) + ".pdf", Uses: uses}
	if v.Certifiable() {
		l.File = "certificates/" + form.FileName(name) + ".pdf"
	}
	return l
}

func use9(day, person string) form.MeasuredWith {
	d, err := record.ParseDate(day)
	if err != nil {
		panic(err)
	}
	return form.MeasuredWith{Instrument: "PM-9", Source: "LS-4", Person: person, Day: d}
}

// write puts a set into an archive and returns its manifest's hash.
func (s set) write(t testing.TB, dir string) string {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s.issued)
	if err != nil {
		t.Fatal(err)
	}
	var files []seal.ManifestFile
	for i := range s.results.Links {
		l := &s.results.Links[i]
		if l.Verdict.Certifiable() && l.Certificate == "" {
			l.Certificate = s.results.Job + "/" + l.Link
		}
		files = append(files, seal.NewManifestFile(l.File, []byte(l.Link)))
	}
	s.results.Issued = record.DateOf(at)
	data, err := json.Marshal(s.results)
	if err != nil {
		t.Fatal(err)
	}
	files = append(files, seal.NewManifestFile("results.json", data))
	m := seal.Manifest{Job: s.results.Job, Revision: s.results.Revision, Issued: s.issued, Previous: s.previous, Files: files}
	if s.previous != "" {
		m.Reason = "A-07 was made again"
	}
	manifest, signature, err := m.Sign(signer, at)
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{"manifest.json": manifest, "manifest.p7s": signature, "results.json": data} {
		put(t, filepath.Join(dir, filepath.FromSlash(s.path), name), content)
	}
	return seal.NewManifestFile("", manifest).SHA256
}

func put(t testing.TB, file string, content []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, content, 0o644); err != nil {
		t.Fatal(err)
	}
}

func open(t testing.TB, dir string, o Options) *Archive {
	t.Helper()
	a, err := Open(t.Context(), dir, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// found lists what a query finds, one short text a hit.
func found(t testing.TB, a *Archive, query ...string) []string {
	t.Helper()
	q, err := ParseQuery(query)
	if err != nil {
		t.Fatal(err)
	}
	list := []string{}
	for _, h := range a.Find(q) {
		text := fmt.Sprintf("%s r%d %s %s", h.Revision.Job, h.Revision.Number, h.Name, h.Verdict)
		if h.Revision.Superseded > 0 {
			text += fmt.Sprintf(", superseded by r%d", h.Revision.Superseded)
		}
		list = append(list, text)
	}
	return list
}

// harbour is an archive of three jobs; one of them was corrected.
func harbour(t testing.TB) string {
	dir := t.TempDir()
	first := job("2026/library/issued/r1", "BL-2026-031", 1, "2026-11-25T16:00:00Z",
		link("A-12", judge.Pass, use9("2026-11-18", "mo")),
		link("A-120", judge.Pass, use9("2026-11-20", "sv")),
		link("A-07", judge.Fail, use9("2026-11-18", "mo")),
		link("B-03", judge.Incomplete))
	second := job("2026/library/issued/r2", "BL-2026-031", 2, "2026-12-01T09:00:00Z",
		link("A-12", judge.Pass, use9("2026-11-18", "mo")),
		link("A-120", judge.Pass, use9("2026-11-20", "sv")),
		link("A-07", judge.Marginal, use9("2026-11-18", "mo"), use9("2026-11-28", "mo")),
		link("B-03", judge.Pass, use9("2026-11-28", "sv")))
	second.previous = first.write(t, dir)
	second.write(t, dir)
	put(t, filepath.Join(dir, "2026/library/job.yaml"), []byte("job: {}\n"))
	// Not a revision: below a job's folder only issued is looked into.
	put(t, filepath.Join(dir, "2026/library/readings/manifest.json"), []byte("{}"))

	quay := job("2027/quay", "QY-2027-004", 1, "2027-02-03T12:00:00+01:00",
		form.ResultLink{Link: "Kai 1/2", Verdict: judge.Pass, File: "certificates/Kai_1_2-3f2b1c00.pdf",
			Uses: []form.MeasuredWith{{Instrument: "PM-77", Person: "x", Day: record.NewDate(2027, time.February, 1)}}})
	quay.results.Title, quay.results.About.Site.Name, quay.results.About.Customer.Name = "Quay", "Ölhafen", "Hafenamt"
	quay.write(t, dir)
	return dir
}

func TestFind(t *testing.T) {
	dir := harbour(t)
	const (
		a12r1  = "BL-2026-031 r1 A-12 pass, superseded by r2"
		a12r2  = "BL-2026-031 r2 A-12 pass"
		a120r1 = "BL-2026-031 r1 A-120 pass, superseded by r2"
		a120r2 = "BL-2026-031 r2 A-120 pass"
		a07r1  = "BL-2026-031 r1 A-07 fail, superseded by r2"
		a07r2  = "BL-2026-031 r2 A-07 marginal"
		b03r1  = "BL-2026-031 r1 B-03 incomplete, superseded by r2"
		b03r2  = "BL-2026-031 r2 B-03 pass"
		kai    = "QY-2027-004 r1 Kai 1/2 pass"
	)
	for _, test := range []struct {
		name, query string
		want        []string
	}{
		{"nothing asked finds all, newest first", "", []string{kai, a12r2, a120r2, a07r2, b03r2, a12r1, a120r1, a07r1, b03r1}},
		{"a link is meant as a whole", "link:a-12", []string{a12r2, a12r1}},
		{"a star is any run", "link:A-12*", []string{a12r2, a120r2, a12r1, a120r1}},
		{"a word is any part", "a-12", []string{a12r2, a120r2, a12r1, a120r1}},
		{"every term must fit", "a-12 link:*0", []string{a120r2, a120r1}},
		{"a number", "number:BL-2026-031/A-12", []string{a12r2, a12r1}},
		{"a number as a word", "031/b-03", []string{b03r2}},
		{"only what is current", "revision:current job:BL-2026-031 verdict:pass,marginal", []string{a12r2, a120r2, a07r2, b03r2}},
		{"a revision", "revision:r1 verdict:fail,incomplete", []string{a07r1, b03r1}},
		{"capitals beyond ASCII", "ölHAFEN", []string{kai}},
		{"customer in part", "customer:council link:B-03", []string{b03r2, b03r1}},
		{"an order", "order:po-7781 link:B-03 revision:2", []string{b03r2}},
		{"a meter's serial", "serial:22803 link:A-07", []string{a07r2, a07r1}},
		{"a light source's serial", "serial:40117 link:A-07", []string{a07r2, a07r1}},
		{"a recall: an instrument between two days", "serial:22803 measured:2026-11-18..2026-11-19", []string{a12r2, a07r2, a12r1, a07r1}},
		{"a recall: an open end", "serial:22803 measured:2026-11-28..", []string{a07r2, b03r2}},
		{"one reading must fit all: day and person", "technician:mo measured:2026-11-20..2026-11-30", []string{a07r2}},
		{"a technician's name", "technician:varga", []string{a120r2, b03r2, a120r1}},
		{"a month", "measured:2027-02", []string{kai}},
		{"a year of issue", "issued:2027", []string{kai}},
		{"up to a day of issue", "issued:..2026-11-25", []string{a12r1, a120r1, a07r1, b03r1}},
		{"an instrument that the job does not list", "instrument:pm-77", []string{kai}},
		{"a serial as a word", "22803 b-03", []string{b03r2}},
		{"a folder as a word", "2027/quay", []string{kai}},
		{"never measured is not measured on any day", "link:B-03 measured:..2030", []string{b03r2}},
		{"the key", "key:" + strings.ReplaceAll(signer.KeyID().String(), " ", "") + " link:kai*", []string{kai}},
		{"who signed", "signer:lindqvist link:kai*", []string{kai}},
		{"nothing", "serial:2280", []string{}},
	} {
		t.Run(test.name, func(t *testing.T) {
			for _, state := range []string{"read", "from the index"} {
				if diff := cmp.Diff(test.want, found(t, open(t, dir, Options{}), strings.Fields(test.query)...)); diff != "" {
					t.Errorf("%s: %s", state, diff)
				}
			}
		})
	}
}

func TestHit(t *testing.T) {
	a := open(t, harbour(t), Options{})
	q, err := ParseQuery([]string{"link:A-07", "revision:2"})
	if err != nil {
		t.Fatal(err)
	}
	h := a.Find(q)
	if len(h) != 1 {
		t.Fatalf("%d hits, want 1", len(h))
	}
	if diff := cmp.Diff(LinkPaper{"A-07", "marginal", "BL-2026-031/A-07", "certificates/A-07.pdf", nil}, h[0].LinkPaper); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	meter := record.Instrument{ID: "PM-9", Kind: "power meter", Serial: "22803"}
	source := record.Instrument{ID: "LS-4", Kind: "light source", Serial: "40117"}
	okafor := record.Person{ID: "mo", Name: "M. Okafor"}
	want := []Use{{meter, source, okafor, record.NewDate(2026, 11, 18)}, {meter, source, okafor, record.NewDate(2026, 11, 28)}}
	if diff := cmp.Diff(want, h[0].Uses()); diff != "" {
		t.Error(diff)
	}
	if got, want := h[0].Revision.Reason, "A-07 was made again"; got != want {
		t.Errorf("reason %q, want %q", got, want)
	}
	q, _ = ParseQuery([]string{"link:kai*"})
	if got, want := a.Find(q)[0].LinkPaper, (LinkPaper{"Kai 1/2", "pass", "QY-2027-004/Kai 1/2", "certificates/Kai_1_2-3f2b1c00.pdf", nil}); !cmp.Equal(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func TestQueryFaults(t *testing.T) {
	for _, test := range []struct{ query, want string }{
		{"link:", "nothing after the colon"},
		{"verdict:good", `"good" is not a verdict`},
		{"revision:abc", `"abc" is not a revision`},
		{"revision:r", `"r" is not a revision`},
		{"measured:18.11.2026", "is not a date"},
		{"measured:..", "is not a date"},
		{"issued:2026-12-01..2026-11-01", "ends before it begins"},
	} {
		if _, err := ParseQuery([]string{test.query}); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, want %q", test.query, err, test.want)
		}
	}
}

func TestDoubts(t *testing.T) {
	const place = "2026/library/issued/r1/"
	edit := func(name, old, new string) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			file := filepath.Join(dir, place, name)
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Contains(data, []byte(old)) {
				t.Fatalf("%s does not hold %q", name, old)
			}
			put(t, file, bytes.Replace(data, []byte(old), []byte(new), 1))
		}
	}
	remove := func(name string) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			if err := os.Remove(filepath.Join(dir, place, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, test := range []struct {
		name   string
		damage func(*testing.T, string)
		want   string // in a doubt
		links  int    // of r1 that are still found
	}{
		{"results edited", edit("results.json", `"verdict":"fail"`, `"verdict":"pass"`), "results.json is not the file that the manifest lists", 4},
		{"results with another number", edit("results.json", `"certificate":"BL-2026-031/A-12"`, `"certificate":"BL-2026-031/A-13"`), "1 links of results.json have another number", 4},
		{"results missing", remove("results.json"), "results.json cannot be read", 4},
		{"results not JSON", edit("results.json", `{`, `[`), "results.json is not JSON", 4},
		{"results of a later form", edit("results.json", form.ResultsFormat, "spanseal-results/3"), `results.json is of the form "spanseal-results/3"`, 4},
		{"manifest edited", edit("manifest.json", "2026-11-25", "2026-11-24"), "the manifest is not as it was signed", 4},
		{"manifest rewritten", edit("manifest.json", "{", "{ "), "manifest.json is not one", 0},
		{"signature missing", remove("manifest.p7s"), "manifest.p7s cannot be read", 4},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := harbour(t)
			open(t, dir, Options{}) // what the index knows must not hide it
			test.damage(t, dir)
			for _, state := range []string{"read", "from the index"} {
				a := open(t, dir, Options{})
				var texts []string
				for _, d := range a.Doubts() {
					texts = append(texts, d.Path+": "+d.Text)
				}
				if !strings.Contains(strings.Join(texts, "\n"), strings.TrimSuffix(place, "/")+": "+test.want) {
					t.Errorf("%s: doubts are %q, want %q", state, texts, test.want)
				}
				n := 0
				q, _ := ParseQuery(nil)
				for _, h := range a.Find(q) {
					if h.Revision.Path+"/" == place {
						n++
					}
				}
				if n != test.links {
					t.Errorf("%s: %d links found, want %d", state, n, test.links)
				}
			}
		})
	}
}

// TestSuccession: copies of a job in several places know what follows them.
func TestSuccession(t *testing.T) {
	dir := t.TempDir()
	write := func(path string, n int, previous string) string {
		s := job(path, "J", n, fmt.Sprintf("2026-11-%02dT00:00:00Z", n), link("L", judge.Pass))
		s.previous = previous
		return s.write(t, dir)
	}
	h1 := write("a/r1", 1, "")
	h2 := write("a/r2", 2, h1)
	write("a/r3", 3, h2)
	write("handed-over/r1", 1, "") // a copy: the same bytes, so the same hash
	write("other/r1", 1, "")
	s := job("elsewhere/r1", "K", 1, "2026-11-01T00:00:00Z", link("L", judge.Pass))
	s.write(t, dir)
	got := map[string]int{}
	for _, r := range open(t, dir, Options{}).Revisions {
		got[r.Path] = r.Superseded
	}
	want := map[string]int{"a/r1": 3, "a/r2": 3, "a/r3": 0, "handed-over/r1": 3, "other/r1": 3, "elsewhere/r1": 0}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestIndexIsOnlyACache(t *testing.T) {
	dir := harbour(t)
	index := filepath.Join(dir, IndexName)
	all := found(t, open(t, dir, Options{NoIndex: true}))
	if _, err := os.Stat(index); !os.IsNotExist(err) {
		t.Fatalf("an index was written without being wanted: %v", err)
	}
	reads := func(why string, want int) {
		t.Helper()
		a := open(t, dir, Options{})
		if a.Read != want || a.Kept != nil {
			t.Errorf("%s: %d revisions were read, want %d; %v", why, a.Read, want, a.Kept)
		}
		if diff := cmp.Diff(all, found(t, a)); diff != "" {
			t.Errorf("%s: %s", why, diff)
		}
	}
	reads("no index", 3)
	reads("all known", 0)
	for _, damage := range []struct {
		why  string
		data func([]byte) []byte
	}{
		{"cut short", func(b []byte) []byte { return b[:len(b)/2] }},
		{"a bit flipped", func(b []byte) []byte { b[len(b)/2] ^= 1; return b }},
		{"another form", func(b []byte) []byte { return bytes.Replace(b, []byte("index 3"), []byte("index 4"), 1) }},
		{"empty", func([]byte) []byte { return nil }},
	} {
		data, err := os.ReadFile(index)
		if err != nil {
			t.Fatal(err)
		}
		put(t, index, damage.data(data))
		reads(damage.why, 3)
		reads(damage.why+", then fixed", 0)
	}
	later := time.Now().Add(time.Hour)
	if err := os.Chtimes(filepath.Join(dir, "2027/quay/manifest.json"), later, later); err != nil {
		t.Fatal(err)
	}
	reads("a manifest was touched", 1)
	reads("and is known again", 0)
	if err := os.RemoveAll(filepath.Join(dir, "2027")); err != nil {
		t.Fatal(err)
	}
	all = all[1:]
	reads("a job is gone", 0)
	left, err := filepath.Glob(filepath.Join(dir, IndexName+"-*"))
	if err != nil || left != nil {
		t.Errorf("drafts of the index lie about: %v, %v", left, err)
	}
}

func TestIndexThatCannotBeKept(t *testing.T) {
	dir := harbour(t)
	a := open(t, dir, Options{Index: filepath.Join(dir, "nowhere", "index")})
	if a.Kept == nil || len(a.Revisions) != 3 {
		t.Errorf("%d revisions, kept: %v; want 3 and an error", len(a.Revisions), a.Kept)
	}
}

func TestArchiveThatIsNotThere(t *testing.T) {
	if _, err := Open(t.Context(), filepath.Join(t.TempDir(), "nowhere"), Options{}); !os.IsNotExist(err) {
		t.Errorf("got %v", err)
	}
}
