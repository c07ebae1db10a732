package certify_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode"

	"pgregory.net/rapid"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/seal"
	"spanseal/internal/specimen"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// TestFileName: examples of what links are called.
func TestFileName(t *testing.T) {
	// The digits are those of sha256sum.
	for name, c := range map[string]struct{ link, want string }{
		"plain":           {"A-12", "A-12"},
		"points":          {"1A.AD02-45.17", "1A.AD02-45.17"},
		"slash":           {"R1/12", "R1_12-5f63447a"},
		"parent":          {"..", "5ec1f7e7"},
		"climbing":        {"../../etc/passwd", "_.._etc_passwd-3754d6cb"},
		"space":           {"A 12", "A_12-777a0d20"},
		"accent":          {"Küche 3", "Kuche_3-bcbde80a"},
		"device":          {"con", "con-1143da2b"},
		"device with end": {"LPT1.x", "LPT1_x-16538fa4"},
		"trailing point":  {"A.", "A-e5365717"},
		"empty":           {"", "e3b0c442"},
	} {
		t.Run(name, func(t *testing.T) {
			if got := form.FileName(c.link); got != c.want {
				t.Errorf("FileName(%q) = %q, want %q", c.link, got, c.want)
			}
		})
	}
}

// TestFileNamesAreSafe: any link name makes a name that every system takes,
// and different links never share one.
func TestFileNamesAreSafe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.String().Draw(t, "b")
		name := form.FileName(a)
		if len(name) == 0 || len(name) > 73 || strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".") {
			t.Fatalf("%q", name)
		}
		for _, r := range name {
			if r >= 0x80 || !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_.", r) {
				t.Fatalf("%q holds %q", name, r)
			}
		}
		if a != b && name == form.FileName(b) {
			t.Fatalf("%q and %q are both %q", a, b, name)
		}
	})
}

// TestCaseDoesNotTellFilesApart: on systems that fold case, every paper still
// has its own file.
func TestCaseDoesNotTellFilesApart(t *testing.T) {
	f := library()
	f.Links[1].ID = "a-01" // beside A-01
	set := newSet(t, f, options())
	seen := map[string]bool{}
	for i := range set.Judgement.Links {
		path := strings.ToLower(set.PathOf(set.Judgement.Result(i)))
		if seen[path] {
			t.Errorf("%s is used twice", path)
		}
		seen[path] = true
	}
}

// TestRecordIsSealed: the claim binds the very bytes of the attached record,
// and says what the record says.
func TestRecordIsSealed(t *testing.T) {
	var mu sync.Mutex
	claims := map[string]seal.Claim{}
	o := options()
	o.Sign = func(c seal.Claim) (string, error) {
		mu.Lock()
		defer mu.Unlock()
		claims[c.Certificate] = c
		return "SS1.TOKEN", nil
	}
	set := newSet(t, library(), o)
	for _, d := range papers(t, set) {
		var bound []byte
		names := map[string]string{}
		for _, a := range d.Attachments {
			data := content(t, a)
			names[a.Name] = string(data)
			if a.Name == "record.json" || a.Name == "results.json" {
				bound = data
			}
		}
		if bound == nil {
			if d.Path != "labels.pdf" && d.Path != "statement.pdf" {
				t.Errorf("%s carries no record", d.Path)
			}
			continue
		}
		if names["token.txt"] != "SS1.TOKEN\n" || d.Token != "SS1.TOKEN" {
			t.Errorf("%s: token.txt is %q", d.Path, names["token.txt"])
		}
		var r struct{ Certificate string }
		number := set.Facts.Job.Number
		if err := json.Unmarshal(bound, &r); err != nil {
			t.Fatal(err)
		}
		if r.Certificate != "" {
			number = r.Certificate
		}
		c, ok := claims[number]
		if !ok {
			t.Fatalf("%s: no claim for %q", d.Path, number)
		}
		if sum := sha256.Sum256(bound); !bytes.Equal(c.Record[:], sum[:16]) {
			t.Errorf("%s: the claim binds other bytes", d.Path)
		}
	}
	if c := claims["BL-2026-031"]; c.Verdict != "does not conform" || c.Link != "" || c.Measured != "2026-11-18" || c.Issued != "2026-11-25" {
		t.Errorf("the summary's claim is %+v", c)
	}
	c := claims["BL-2026-031/A-12"]
	if c.Verdict != "pass" || len(c.Readings) != 4 || c.Readings[1].Direction != "B-A" || c.Readings[1].Loss.String() != "1.03" || c.Margin.String() != "1.1948" {
		t.Errorf("the claim of A-12 is %+v", c)
	}
}

// TestSameFactsSameBytes: nothing of the clock, of map order or of goroutines
// gets into what is attached.
func TestSameFactsSameBytes(t *testing.T) {
	first := papers(t, newSet(t, harsh(), options()))
	for i, d := range papers(t, newSet(t, harsh(), options())) {
		for k, a := range d.Attachments {
			if !bytes.Equal(content(t, a), content(t, first[i].Attachments[k])) {
				t.Errorf("%s: %s differs", d.Path, a.Name)
			}
		}
	}
}

// TestSpecimenIsNeverSigned: no token, no symbol, no mark to sign.
func TestSpecimenIsNeverSigned(t *testing.T) {
	o := options()
	o.Specimen = true
	o.Sign = func(seal.Claim) (string, error) { t.Error("a specimen was signed"); return "", nil }
	set := newSet(t, specimen.Facts(library(), o.Issued), o)
	for _, d := range papers(t, set) {
		r := drawn(t, set.Paper(), d)
		if d.Token != "" || d.Signature != nil {
			t.Errorf("%s has a token or a place for a signature", d.Path)
		}
		for page := 1; page <= r.PageNumber(); page++ {
			if !strings.Contains(strings.Join(r.Lines(page), "\n"), "SPECIMEN") {
				t.Errorf("%s page %d is not marked", d.Path, page)
			}
		}
	}
}

// TestSourceRows: the lines of the original, verbatim, with what tells it.
func TestSourceRows(t *testing.T) {
	f := library()
	raw := bytes.Replace(f.Originals[0].Data, []byte("A-12,"), []byte("A-12,caf\xe9,"), 1) // Latin-1
	f.Originals[0].Data = raw
	set := newSet(t, f, options())
	l, _ := set.Judgement.Link("A-12")
	d, err := set.Certificate(l)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(d.Attachments, func(a page.Attachment) bool { return a.Name == "source-rows.txt" })
	text := string(d.Attachments[i].Data)
	for _, want := range []string{"readings/day2-roomR.csv\nSHA-256 " + f.Originals[0].SHA256, "\n13: A-12,caf\\xE9,2026-11-18 11:24,0.94,1.03,0.88,0.96\n", "links.csv\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
}

// TestResults: numbers stay numbers, texts that a spreadsheet would run are
// neutralised, superseded readings are listed, and both files agree.
func TestResults(t *testing.T) {
	f := library()
	for _, id := range []string{"=1+1", "+A", "-B", "@C"} {
		f.Links = append(f.Links, record.Link{ID: id, Fibre: "OS2", Mode: record.Singlemode, Length: dec("10"), MatedPairs: 2})
	}
	old := f.Readings[0]
	old.Fate, old.Value = record.Superseded, dec("2.99")
	f.Readings = append(f.Readings, old)
	set := newSet(t, f, options())
	table, err := set.ResultsCSV()
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	links, superseded, negative := map[string]string{}, 0, 0
	for _, row := range rows[1:] {
		links[row[column["link"]]] = row[column["link_verdict"]]
		if row[column["fate"]] == "superseded" && row[column["measured"]] == "2.99" {
			superseded++
		}
		if strings.HasPrefix(row[column["margin"]], "-") {
			negative++
		}
		for i, cell := range row {
			if cell != "" && strings.ContainsAny(cell[:1], "=+-@") && !slices.Contains([]string{"measured", "limit", "margin"}, rows[0][i]) {
				t.Errorf("a spreadsheet would run %q in column %s", cell, rows[0][i])
			}
		}
	}
	for _, id := range []string{"'=1+1", "'+A", "'-B", "'@C", "A-12"} {
		if links[id] == "" {
			t.Errorf("%s is not in the table", id)
		}
	}
	if superseded != 1 || negative == 0 {
		t.Errorf("%d superseded rows, %d negative margins", superseded, negative)
	}
	data, err := set.ResultsJSON()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSuffix(string(data), "\n"), "\n") {
		finding, opens := strings.HasPrefix(line, `        {"kind": "`), strings.Count(line, `{"kind": "`)
		if whole := strings.HasSuffix(strings.TrimSuffix(line, ","), "}"); opens > 1 || opens == 1 && !(finding && whole) && !strings.HasPrefix(line, `    {"kind": "`) {
			t.Errorf("not one finding on a line: %s", line)
		}
	}
	var results struct {
		Format string
		Links  []struct {
			Link, Verdict, File string
			Findings            []struct{ Kind judge.FindingKind }
		}
	}
	if err := json.Unmarshal(data, &results); err != nil {
		t.Fatal(err)
	}
	if results.Format != form.ResultsFormat || len(results.Links) != len(f.Links) {
		t.Errorf("format %q, %d links", results.Format, len(results.Links))
	}
	n := 0
	for _, l := range results.Links {
		n += len(l.Findings)
	}
	if n+superseded != len(rows)-1 {
		t.Errorf("%d findings in JSON, %d rows in CSV", n, len(rows)-1)
	}
}

// content is what is attached.
func content(t *testing.T, a page.Attachment) []byte {
	if a.Write == nil {
		return a.Data
	}
	var b bytes.Buffer
	if err := a.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestMarginIsNeverAlone: beside a margin stand what was measured and what is
// allowed, in the head of a paper too.
func TestMarginIsNeverAlone(t *testing.T) {
	for _, language := range []string{"de", "en", "es"} {
		f := library()
		f.Job.Documents.Language = language
		marginIsNeverAlone(t, newSet(t, f, options()))
	}
}

func marginIsNeverAlone(t *testing.T, set *certify.PaperSet) {
	t.Helper()
	both := regexp.MustCompile(`^\d+[.,]\d+ dB (of|de|von) (at least |al menos |mindestens )?\d+[.,]\d+( allowed| admitidos| zulässigen)?$`)
	for _, l := range set.Judgement.Results() {
		if !l.Measured {
			continue
		}
		d := paperOf(t, set, l)
		marks := drawn(t, set.Paper(), d).Marks
		inHead := func(m page.Mark) bool { return m.Page == 1 && m.Box.X < 42 && m.Box.Y < 42 }
		k := slices.IndexFunc(marks, func(m page.Mark) bool { return m.Kind == page.TextMark && inHead(m) && both.MatchString(m.Text) })
		if k < 0 {
			t.Errorf("%s: the head says neither reading nor limit", d.Path)
			continue
		}
		for _, m := range marks {
			if m.Kind == page.FrameMark && inHead(m) && !m.Box.Contains(marks[k].Box) {
				t.Errorf("%s: %v leaves the frame of the verdict", d.Path, marks[k])
			}
		}
	}
}

// TestRecordCites: whoever resolves what a record cites finds every finding of
// the judgement, whole, and nothing that is written twice.
func TestRecordCites(t *testing.T) {
	set := newSet(t, library(), options())
	for _, l := range set.Judgement.Results() {
		data, err := json.Marshal(set.Record(l))
		if err != nil {
			t.Fatal(err)
		}
		read, err := retest.ParseRecord(data)
		if err != nil {
			t.Fatal(err)
		}
		var places struct {
			Findings                    []struct{ Readings []int }
			Readings, Superseded, Cited []record.Reading
		}
		if err := json.Unmarshal(data, &places); err != nil {
			t.Fatal(err)
		}
		all := slices.Concat(places.Readings, places.Superseded, places.Cited)
		for k, f := range places.Findings {
			for _, n := range f.Readings {
				read.Findings[k].Readings = append(read.Findings[k].Readings, all[n-1])
			}
		}
		told := make([]*judge.Finding, len(l.Findings))
		for k := range l.Findings {
			told[k] = form.ToldFinding(&l.Findings[k], english())
		}
		want, _ := json.Marshal(told)
		if got, _ := json.Marshal(read.Findings); !bytes.Equal(want, got) {
			t.Errorf("%s: findings\n%s\nbecome\n%s", l.Link.ID, want, got)
		}
		var doc struct{ Workings, Readings, Superseded, Cited []json.RawMessage }
		if err := json.Unmarshal(data, &doc); err != nil {
			t.Fatal(err)
		}
		if len(doc.Cited) > 0 {
			t.Errorf("%s: %d readings are neither used nor superseded", l.Link.ID, len(doc.Cited))
		}
		for _, list := range [][]json.RawMessage{doc.Workings, slices.Concat(doc.Readings, doc.Superseded)} {
			seen := map[string]bool{}
			for _, one := range list {
				if seen[string(one)] {
					t.Errorf("%s: twice: %s", l.Link.ID, one)
				}
				seen[string(one)] = true
			}
		}
	}
}

var english = sync.OnceValue(func() *wording.Wording { return wording.Load(templates.Files, nil, "en", new(diag.List)) })
