package certify_test

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestNeverMeasured: the sheet of a link without readings says nothing that
// could be taken for a measurement, and a lone sentence has no head over it.
func TestNeverMeasured(t *testing.T) {
	for language, c := range map[string]struct{ want, never []string }{
		"en": {[]string{"How it is to be measured", "Measurement", "What to do"},
			[]string{"How it was measured", "Retest", "witness", "finding", "Likely causes and what to do", "Advice, not a finding."}},
		"es": {[]string{"Cómo debe medirse", "Medición", "Qué hacer"},
			[]string{"Cómo se midió", "Nueva medición", "testigo", "qué", "Causas probables y qué hacer", "Es una recomendación, no un hallazgo."}},
	} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Witness = ""
		id := f.Links[0].ID
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link == id })
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link(id)
		d, err := set.Nonconformance(l)
		if err != nil {
			t.Fatal(err)
		}
		texts := drawn(t, set.Paper(), d).Texts()
		for _, want := range c.want {
			if !slices.Contains(texts, want) {
				t.Errorf("%s: %q is missing", language, want)
			}
		}
		for _, never := range c.never {
			if slices.Contains(texts, never) {
				t.Errorf("%s: says %q", language, never)
			}
		}
	}
}

// TestPlacesToWriteAreNamed: a blank table that goes on over the page says again
// what belongs in its columns, and keeps both ways of a wavelength together.
func TestPlacesToWriteAreNamed(t *testing.T) {
	f := harsh()
	f.Job.Documents.Paper = "letter"
	set := newSet(t, f, options())
	l, _ := set.Judgement.Link(f.Links[6].ID)
	d, err := set.Nonconformance(l)
	if err != nil {
		t.Fatal(err)
	}
	r, pages := drawn(t, set.Paper(), d), map[string]int{}
	for n := range r.PageNumber() {
		text := "\n" + strings.Join(r.Lines(n+1), "\n") + "\n"
		for _, m := range regexp.MustCompile(`(\d{4} nm), [AB] to [AB]\n`).FindAllStringSubmatch(text, -1) {
			if !strings.Contains(text, "measured, dB") {
				t.Errorf("page %d: nothing says what to write beside %q", n+1, m[1])
			}
			if at, ok := pages[m[1]]; ok && at != n {
				t.Errorf("page %d begins within %s", n+1, m[1])
			}
			pages[m[1]] = n
		}
	}
	if len(pages) != 6 || slices.Max(slices.Collect(maps.Values(pages))) == slices.Min(slices.Collect(maps.Values(pages))) {
		t.Errorf("the table is not over two pages: %v", pages)
	}
}

// TestFormAsksForWhatIsOpen: the blank table has a line for a reflectance that is missing
// or too high, and for a splice that lost too much, beside the losses.
func TestFormAsksForWhatIsOpen(t *testing.T) {
	reflectance := func(f *record.Facts, l *record.Link, value string) {
		r := f.Readings[slices.IndexFunc(f.Readings, func(r record.Reading) bool { return r.Link == l.ID })]
		r.Quantity, r.Value, r.Direction = record.Reflectance, quantity.Must(value), record.AB
		f.Readings = append(f.Readings, r)
	}
	for _, c := range []struct {
		name   string
		change func(f *record.Facts, l *record.Link)
		want   []string
	}{
		{"both ends missing", func(f *record.Facts, l *record.Link) { f.Job.Policy.Require.Reflectance = "required" }, []string{"Reflectance, end A", "Reflectance, end B"}},
		{"one end missing", func(f *record.Facts, l *record.Link) {
			f.Job.Policy.Require.Reflectance = "required"
			reflectance(f, l, "-48")
		}, []string{"Reflectance, end B"}},
		{"one too high", func(f *record.Facts, l *record.Link) { reflectance(f, l, "-20") }, []string{"Reflectance, 1310 nm, end A"}},
		{"a splice over its limit", func(f *record.Facts, l *record.Link) {
			l.Splices = 1
			for _, way := range []record.Direction{record.AB, record.BA} {
				reflectance(f, l, "0.9")
				r := &f.Readings[len(f.Readings)-1]
				r.Quantity, r.Direction, r.Event = record.SpliceLoss, way, "S1"
			}
		}, []string{"Splice loss, 1310 nm, S1"}},
	} {
		f := library()
		l := &f.Links[0]
		c.change(f, l)
		set := newSet(t, f, options())
		result, _ := set.Judgement.Link(l.ID)
		if result.Verdict.Certifiable() {
			t.Fatalf("%s: certified", c.name)
		}
		d, err := set.Nonconformance(result)
		if err != nil {
			t.Fatal(err)
		}
		texts := drawn(t, set.Paper(), d).Texts()
		from := slices.Index(texts, "initials")
		for i, text := range []string{"1310 nm, A to B", "1310 nm, B to A"} {
			if texts[from+1+i] != text {
				t.Fatalf("%s: %q", c.name, texts[from:])
			}
		}
		var got []string
		for _, text := range texts[from:] {
			if strings.HasPrefix(text, "Reflectance") && strings.Contains(text, ", end") || strings.HasPrefix(text, "Splice loss") && strings.HasSuffix(text, ", S1") {
				got = append(got, text)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestAdviceAsItIs: causes are named only on a sheet of a link that fails, what settles
// a question stands apart from them, and one piece of advice is not called one of several.
func TestAdviceAsItIs(t *testing.T) {
	const several, one = "Advice, not a finding: the measurement does not say which of these it is.", "Advice, not a finding."
	const causes, question, questions = "Likely causes and what to do", "How to settle the open question", "How to settle the open questions"
	const clean, calibrated, more = "Clean and inspect the connections", "Show the calibration certificate", "Measure reflectance or return loss"
	wanting := func(f *record.Facts) {
		f.Job.Policy.Require.Reflectance = "required"
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Quantity == record.Reflectance })
	}
	for _, c := range []struct {
		name, id string
		change   func(*record.Facts)
		want     []string
	}{
		{"fails", "A-07", nil, []string{causes, clean, several}},
		{"asks", "B-09", nil, []string{question, calibrated, one}},
		{"asks twice", "B-09", wanting, []string{questions, more, calibrated, one}},
		{"fails and asks", "A-07", wanting, []string{causes, clean, several, questions, more, one}},
	} {
		facts, judged := demonstration(t)
		facts.Job.Documents.Language = "en"
		facts.Readings = nil
		for _, l := range judged.Results() {
			facts.Readings = append(facts.Readings, l.Readings...)
		}
		if c.change != nil {
			c.change(facts)
		}
		set := setByBook(t, facts)
		l, _ := set.Judgement.Link(c.id)
		d, err := set.Nonconformance(l)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, text := range drawn(t, set.Paper(), d).Texts() {
			for _, known := range []string{causes, questions, question, several, one, clean, calibrated, more, "What to do"} {
				if strings.HasPrefix(text, known) {
					got = append(got, known)
					break
				}
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestWhoseLimit: where the limits of two sets are missed, the list of what is
// wrong says of each row whose limit it is; otherwise it says nothing of sets.
func TestWhoseLimit(t *testing.T) {
	for name, f := range map[string]*record.Facts{"one set": library(), "two sets": harsh()} {
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link(f.Links[6].ID)
		d, err := set.Nonconformance(l)
		if err != nil {
			t.Fatal(err)
		}
		rows := map[string]int{}
		texts := drawn(t, set.Paper(), d).Texts()
		for i, text := range texts[1:] {
			if texts[i] == "fails" {
				rows[text]++
				if strings.Contains(text, "(") != (name == "two sets") {
					t.Errorf("%s: %q", name, text)
				}
			}
		}
		for text, n := range rows {
			if n > 1 {
				t.Errorf("%s: %d rows say %q", name, n, text)
			}
		}
		if len(rows) < 3 {
			t.Errorf("%s: %v", name, rows)
		}
	}
}
