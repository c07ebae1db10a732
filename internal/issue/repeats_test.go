//go:build unix

package issue

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
)

func newSigner(t *testing.T, name string) *seal.Signer {
	t.Helper()
	signer, err := seal.NewSigner(name, "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	return signer
}

// TestRepeats: a revision repeats the one before only if inputs, results, signer and
// papers all are the same.
func TestRepeats(t *testing.T) {
	signer, other := newSigner(t, "R. Lindqvist"), newSigner(t, "S. Varga")
	fresh := sets(t, 1, label.Encode)
	for _, c := range []struct {
		name   string
		change func(r *Request, m *seal.Manifest)
		want   bool
	}{
		{"the same", func(*Request, *seal.Manifest) {}, true},
		{"something changed", func(r *Request, _ *seal.Manifest) {
			r.Set.Changes = []statement.Statement{statement.New("change.partial", statement.Amount{N: 1, Of: "link"})}
		}, false},
		{"nobody knows what changed", func(r *Request, _ *seal.Manifest) { r.Set.Changes = nil }, false},
		{"another signer", func(r *Request, _ *seal.Manifest) { r.Signer = other }, false},
		{"with a bundle", func(r *Request, _ *seal.Manifest) { r.Bundle = true }, false},
		{"without one", func(_ *Request, m *seal.Manifest) {
			m.Files = slices.Insert(m.Files, 0, seal.ManifestFile{Path: "bundle-1-of-2.pdf"})
		}, false},
		{"with one as before", func(r *Request, m *seal.Manifest) {
			r.Bundle, m.Files = true, slices.Insert(m.Files, 0, seal.ManifestFile{Path: "bundle.pdf"})
		}, true},
		{"an original more", func(r *Request, m *seal.Manifest) { m.Files = m.Files[1:] }, false},
		{"an original less", func(r *Request, m *seal.Manifest) {
			m.Files = append(m.Files, seal.NewManifestFile("evidence/photos/a.jpg", nil))
		}, false},
		{"an original of another name", func(r *Request, m *seal.Manifest) { m.Files[0].Path = "evidence/another" }, false},
		{"an original of another hash", func(r *Request, m *seal.Manifest) { m.Files[0].SHA256 = strings.Repeat("0", 64) }, false},
		{"an original of another size", func(r *Request, m *seal.Manifest) { m.Files[0].Size++ }, false},
		{"a trace more", func(r *Request, m *seal.Manifest) { m.Files = m.Files[:len(m.Files)-2] }, false},
		{"a trace less", func(r *Request, m *seal.Manifest) {
			m.Files = append(m.Files, seal.NewManifestFile("originals/b.sor", nil))
		}, false},
		{"a trace of another hash", func(r *Request, m *seal.Manifest) { m.Files[len(m.Files)-2].SHA256 = strings.Repeat("0", 64) }, false},
	} {
		r := &Request{Set: fresh(signer), Signer: signer}
		facts := *r.Set.Facts
		facts.Kept = []record.KeptFile{{Name: "a.sor", SHA256: strings.Repeat("ab", 32), Size: 3}}
		r.Set.Facts, r.Set.Changes = &facts, []statement.Statement{statement.New("change.none")}
		m := &seal.Manifest{Signer: signer.KeyID()}
		for _, o := range facts.Originals {
			m.Files = append(m.Files, seal.NewManifestFile("evidence/"+o.Name, o.Data))
		}
		m.Files = append(m.Files, seal.ManifestFile{Path: "originals/a.sor", SHA256: strings.Repeat("ab", 32), Size: 3}, seal.NewManifestFile("summary.pdf", nil))
		if c.change(r, m); r.repeats(m) != c.want {
			t.Errorf("%s: want %t", c.name, c.want)
		}
	}
}

// TestInputs: shards are of one revision only if all that their papers hang on is the
// same.
func TestInputs(t *testing.T) {
	signer, other := newSigner(t, "R. Lindqvist"), newSigner(t, "S. Varga")
	fresh := sets(t, 1, label.Encode)
	digest := func(change func(r *Request, p *past)) string {
		r, p := &Request{Set: fresh(signer), Signer: signer}, &past{next: 1}
		facts := *r.Set.Facts
		facts.Originals = slices.Clone(facts.Originals)
		r.Set.Facts = &facts
		change(r, p)
		sum, err := r.inputs(p)
		if err != nil || len(sum) != 64 {
			t.Errorf("%q, %v", sum, err)
		}
		return sum
	}
	same := digest(func(*Request, *past) {})
	if again := digest(func(*Request, *past) {}); again != same {
		t.Errorf("%s, and then %s", same, again)
	}
	for name, change := range map[string]func(r *Request, p *past){
		"signer":           func(r *Request, _ *past) { r.Signer = other },
		"date":             func(r *Request, _ *past) { r.Set.Issued = issued.Add(time.Second) },
		"reason":           func(r *Request, _ *past) { r.Set.Reason = "a letter" },
		"links to follow":  func(r *Request, _ *past) { r.Set.Later = 1 },
		"revision before":  func(_ *Request, p *past) { p.manifest = "ab" },
		"results":          func(r *Request, _ *past) { r.Set.Facts.Job.Title = "another" },
		"original":         func(r *Request, _ *past) { r.Set.Facts.Originals[0].SHA256 = "ab" },
		"original's name":  func(r *Request, _ *past) { r.Set.Facts.Originals[0].Name = "another" },
		"originals, fewer": func(r *Request, _ *past) { r.Set.Facts.Originals = r.Set.Facts.Originals[1:] },
	} {
		if digest(change) == same {
			t.Errorf("another %s, and the same digest", name)
		}
	}
}

// TestCompare: the set learns the verdicts of the revision before, and what was billed by
// it if job.yaml does not say by which.
func TestCompare(t *testing.T) {
	signer := newSigner(t, "R. Lindqvist")
	fresh, dir := sets(t, 1, label.Encode), t.TempDir()
	name := filepath.Join(dir, "r1", resultsName)
	results := `{"format":"spanseal-results/2","pay_items":[],"links":[{"link":"a","verdict":"pass"},{"link":"b","verdict":"marginal"},{"link":"c","verdict":"fail"},{"link":"d","verdict":"incomplete"}]}`
	if err := errors.Join(os.Mkdir(filepath.Dir(name), 0o755), os.WriteFile(name, []byte(results), 0o644)); err != nil {
		t.Fatal(err)
	}
	m := &seal.Manifest{Revision: 1, Files: []seal.ManifestFile{seal.NewManifestFile(resultsName, []byte(results))}}
	zero, one, two := 0, 1, 2
	for _, c := range []struct {
		name            string
		billed          *int
		compared, after int // the revision that was billed last, 0 for none: by what is compared, and by what job.yaml says
		says            string
	}{{"unsaid", nil, 1, 1, ""}, {"none", &zero, 0, 0, ""}, {"the first", &one, 0, 1, ""}, {"the second", &two, 0, 0, "pay.billed names r2, and 1 were issued"}} {
		d := &faulty{disk: local{}}
		r := &Request{Folder: dir, Set: fresh(signer), on: d}
		facts := *r.Set.Facts
		facts.Job.Pay.Billed = c.billed
		r.Set.Facts = &facts
		earlier := func() int {
			if r.Set.Earlier == nil {
				return 0
			}
			return r.Set.Earlier.Revision
		}
		nothingOpen(t, func() {
			if err := compare(name, 1, r.Set); err != nil || earlier() != c.compared || len(r.Set.Changes) == 0 {
				t.Errorf("%s: r%d was billed, %v, %v", c.name, earlier(), r.Set.Changes, err)
			}
		})
		for link, want := range map[string]judge.Verdict{"a": judge.Pass, "b": judge.Marginal, "c": judge.Fail, "d": judge.Incomplete} {
			if got, ok := r.Set.Before[link]; !ok || got != want || len(r.Set.Before) != 4 {
				t.Errorf("%s was %v, want %v (%v)", link, got, want, r.Set.Before)
			}
		}
		nothingOpen(t, func() {
			if err := r.billed(&past{manifests: []*seal.Manifest{m}}); (err == nil) != (c.says == "") || err != nil && err.Error() != c.says || earlier() != c.after || d.open != 0 {
				t.Errorf("%s: r%d was billed, %v; %d stay open", c.name, earlier(), err, d.open)
			}
		})
	}
	nothingOpen(t, func() {
		if e, err := Stated(dir, 1); err != nil || e == nil || e.Revision != 1 {
			t.Errorf("%+v, %v", e, err)
		}
	})
	if err := os.WriteFile(name, []byte("no JSON"), 0o644); err != nil {
		t.Fatal(err)
	}
	m.Files[0] = seal.NewManifestFile(resultsName, []byte("no JSON"))
	r := &Request{Folder: dir, Set: fresh(signer)}
	facts := *r.Set.Facts
	facts.Job.Pay.Billed = &one
	r.Set.Facts = &facts
	for what, err := range map[string]error{
		"billed":   r.billed(&past{manifests: []*seal.Manifest{m}}),
		"compared": compare(name, 1, fresh(signer)),
		"stated":   func() error { _, err := Stated(dir, 1); return err }(),
	} {
		if err == nil || !strings.HasPrefix(err.Error(), name+": ") {
			t.Errorf("%s: %v", what, err)
		}
	}
	nothingOpen(t, func() {
		if _, _, err := readResults(name); err == nil {
			t.Error("it is read")
		}
	})
}

// TestChangesOfAManifest: statements are read, and texts as earlier programs wrote them.
func TestChangesOfAManifest(t *testing.T) {
	set := sets(t, 1, label.Encode)(newSigner(t, "R. Lindqvist"))
	written, err := said(set, []statement.Statement{statement.New("change.none"), statement.New("change.partial", statement.Amount{N: 2, Of: "link"})})
	if err != nil || len(written) != 2 {
		t.Fatalf("%s, %v", written, err)
	}
	got, err := read(append(written, []byte(`"a text"`)))
	if err != nil || len(got) != 3 || got[0].Code != "change.none" || got[1].Code != "change.partial" || !strings.Contains(got[1].Text, "2 links") || got[2].Text != "a text" {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := read(append(written, []byte(`7`))); err == nil {
		t.Error("a number is a change")
	}
	if noChange(nil) || noChange(got[1:]) || !noChange(got) {
		t.Error("what is no change")
	}
}

// TestWorkbookFits: results that no sheet holds get no workbook.
func TestWorkbookFits(t *testing.T) {
	set := sets(t, 1, label.Encode)(newSigner(t, "R. Lindqvist"))
	r := &Request{Set: set}
	if n := len(r.results(nil)); n != 3 {
		t.Errorf("%d documents of the results", n)
	}
	set.Judgement = judge.Settled(judge.LinkResult{Findings: make([]judge.Finding, 1<<20)}) // and the row of headings
	if n := len(r.results(nil)); n != 2 {
		t.Errorf("%d documents of results that no sheet holds", n)
	}
}

// TestReadingsOfARevision: what differs from a file of readings is said by its first row
// if the revision has it as it was issued, and the file is named if not.
func TestReadingsOfARevision(t *testing.T) {
	const was = "link,loss\nA-01,0.31\nA-02,0.40\n"
	const name = "evidence/readings/day1.csv"
	for _, c := range []struct {
		name, there, now string // "" for gone
		row              int
		what             string // or the error, after its place
	}{
		{"the same", was, was, 0, ""},
		{"a row", was, "link,loss\nA-01,0.30\nA-02,0.40\n", 2, "r4 used other rows of this file: row 2 differs"},
		{"no text", was, "\x00", 0, "r4 used other rows of this file: its bytes differ"},
		{"gone", was, "", 0, "r4 used this file, but it is gone"},
		{"the revision's is another", strings.ToUpper(was), "x", 0, "it is not as it was issued"},
		{"the revision's is longer", was + "x", "x", 0, "it has more than 30 bytes"},
		{"the revision's is shorter", was[1:], "x", 0, "it is not as it was issued"},
		{"the revision's is gone", "", "x", 0, "no such file or directory"},
	} {
		dir := t.TempDir()
		at := filepath.Join(dir, "r4", filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			t.Fatal(err)
		}
		if c.there != "" {
			if err := os.WriteFile(at, []byte(c.there), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		m := &seal.Manifest{Revision: 4, Files: []seal.ManifestFile{seal.NewManifestFile(name, []byte(was))}}
		facts := &record.Facts{}
		if c.now != "" {
			facts.Originals = []record.Original{{Name: "readings/day1.csv", Data: []byte(c.now), SHA256: seal.NewManifestFile("", []byte(c.now)).SHA256}}
		}
		f, err := plain.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		changes, declared, err := compareReadings(f, dir, m, facts)
		f.Close()
		var damaged *DamagedError
		switch {
		case errors.As(err, &damaged):
			if damaged.Path != at || damaged.Err.Error() != c.what || changes != nil {
				t.Errorf("%s: %v", c.name, err)
			}
		case err != nil || declared != nil || len(changes) != min(len(c.what), 1):
			t.Errorf("%s: %v, %v, %v", c.name, changes, declared, err)
		case c.what != "":
			want := ReadingsChange{Name: "readings/day1.csv", Revision: 4, Folder: "evidence/", Was: m.Files[0].SHA256, Gone: c.now == "", Row: c.row, What: c.what}
			if changes[0] != want {
				t.Errorf("%s: %+v, want %+v", c.name, changes[0], want)
			}
		}
	}
}

// TestDeclaredIsHandedOn: the set is told what job.yaml declares of readings that differ,
// and nothing else passes.
func TestDeclaredIsHandedOn(t *testing.T) {
	set, dir := sets(t, 1, label.Encode)(newSigner(t, "R. Lindqvist")), t.TempDir()
	facts := *set.Facts
	was := strings.Repeat("ab", 32)
	facts.Job.Declared = []record.Declared{{File: "readings/gone.csv", Was: was[:8], Because: "a typing error"}}
	set.Facts = &facts
	d := &faulty{disk: local{}}
	r := &Request{Folder: dir, Set: set, on: d}
	m := &seal.Manifest{Revision: 1, Files: []seal.ManifestFile{{Path: "evidence/readings/gone.csv", SHA256: was}}}
	if err := r.unchanged(&past{latest: m}); err != nil || len(set.Declared) != 1 || set.Declared[0].Because != "a typing error" || d.open != 0 {
		t.Errorf("%+v, %v", set.Declared, err)
	}
	m.Files = append(m.Files, seal.ManifestFile{Path: "originals/gone.sor", SHA256: was})
	var changed *ChangedReadingsError
	if err := r.unchanged(&past{latest: m}); !errors.As(err, &changed) || len(changed.Changes) != 1 || changed.Changes[0].Name != "gone.sor" {
		t.Errorf("%v", err)
	}
}
