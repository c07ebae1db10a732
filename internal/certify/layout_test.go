package certify_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/specimen"
)

// TestNothingCollides: no two texts, symbols or pictures lie on one another and
// nothing leaves the paper, in every document and on both papers.
func TestNothingCollides(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	for name, facts := range map[string]func() *record.Facts{
		"plain": library, "harsh": harsh, "flags": harsh,
		"spanish": func() *record.Facts {
			f := harsh()
			f.Job.Documents.Language = "es"
			return f
		},
		"german": func() *record.Facts {
			f := harsh()
			f.Job.Documents.Language = "de"
			return f
		},
		"specimen":           func() *record.Facts { return specimen.Facts(library(), options().Issued) },
		"specimen with logo": func() *record.Facts { return specimen.Facts(library(), options().Issued) }} {
		for _, paper := range []page.PaperSize{page.A4, page.Letter} {
			t.Run(name+" "+paper.Name, func(t *testing.T) {
				f := facts()
				f.Job.Documents.Paper = paper.Name
				o := options()
				o.Specimen = strings.HasPrefix(name, "specimen")
				if name == "specimen with logo" {
					o.Overrides = fstest.MapFS{"documents/style.yaml": {Data: []byte("logo: logo.png\n")}, "logo.png": {Data: picture(300, 300)}}
				}
				if name == "flags" {
					o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte("form: flag\n")}}
				}
				set := newSet(t, f, o)
				for _, d := range differing(t, set) {
					r := drawn(t, paper, d)
					if d.Path != "labels.pdf" {
						for _, m := range r.Marks {
							// The verdict block is as high as the rail is wide.
							if in, out := 42.0, 48.0; m.Kind == page.TextMark && m.Box.X < in && (m.Box.X+m.Box.W > in || m.Box.Y < in && m.Box.Y+m.Box.H > in-3) ||
								m.Kind == page.TextMark && m.Box.X >= in && (m.Box.X < out-0.01 || m.Box.X+m.Box.W > paper.Width-16.8+0.01) {
								t.Errorf("%s: page %d: %v leaves its column", d.Path, m.Page, m)
							}
						}
					}
					if d.Path == "labels.pdf" {
						insideLabels(t, r)
					}
					for _, over := range r.Marks {
						if over.Kind != page.PictureMark {
							continue
						}
						for _, band := range r.Marks {
							if band.Kind == page.FrameMark && band.Page == over.Page && band.Box.W > 100 && band.Box.Overlaps(over.Box) {
								t.Errorf("%s: page %d: %v lies on the band of a specimen", d.Path, over.Page, over)
							}
						}
					}
					for _, line := range r.Marks { // the line of a limit cuts no number
						if line.Kind != page.LineMark || line.Box.W <= 0.69 || line.Box.W >= 0.71 {
							continue
						}
						for _, text := range r.Marks {
							if text.Kind == page.TextMark && line.Page == text.Page && line.Box.Overlaps(text.Box) {
								t.Errorf("%s: page %d: %v is cut by a limit", d.Path, text.Page, text)
							}
						}
					}
					for _, fault := range append(r.Overlaps(), r.Outside(paper.Sheet())...) {
						t.Errorf("%s: %s", d.Path, fault)
					}
					for _, fault := range r.Faint(4.5) { // WCAG 2.2, 1.4.3, contrast (minimum)
						t.Errorf("%s: %s", d.Path, fault)
					}
				}
			})
		}
	}
}

// insideLabels: every text, and every symbol with the white around it, lies
// inside one label.
func insideLabels(t *testing.T, r *page.Recorder) {
	t.Helper()
	for _, m := range r.Marks {
		if m.Kind != page.TextMark && m.Kind != page.ModulesMark {
			continue
		}
		if !slices.ContainsFunc(r.Marks, func(label page.Mark) bool {
			return label.Kind == page.FrameMark && label.Page == m.Page && label.Box.W > 60 && label.Box.Contains(m.Room())
		}) && slices.ContainsFunc(r.Marks, func(label page.Mark) bool { // how to print the sheet stands above all of them
			return label.Kind == page.FrameMark && label.Page == m.Page && label.Box.W > 60 && label.Box.Y < m.Box.Y+m.Box.H
		}) {
			t.Errorf("page %d: %v leaves its label", m.Page, m)
		}
	}
}

// TestLabelTellsAll: however long the names, a label says link, verdict, day and
// number in whole; a date is never broken.
func TestLabelTellsAll(t *testing.T) {
	for name, override := range map[string]string{"plain": "form: plain\n", "flag": "form: flag\n"} {
		for _, facts := range []*record.Facts{library(), harsh()} {
			o := options()
			o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(override)}}
			set := newSet(t, facts, o)
			d, err := set.Labels()
			if err != nil {
				t.Fatal(err)
			}
			r := drawn(t, set.Paper(), d)
			said := strings.Join(r.Texts(), "")
			for _, l := range set.Judgement.Results() {
				if l.Verdict.Certifiable() && (!strings.Contains(said, l.Link.ID) || !strings.Contains(said, set.CertificateNumber(l.Link.ID))) {
					t.Errorf("%s: %s or its number is not whole", name, l.Link.ID)
				}
			}
			verdicts, days := 0, 0
			for _, text := range r.Texts() {
				if strings.HasPrefix(text, "PASS") || strings.HasPrefix(text, "MARGINAL") {
					verdicts++
				}
				if strings.HasSuffix(text, "18 Nov 2026") {
					days++
				}
			}
			if n := set.Judgement.Counts.Certified; verdicts != n || days != n {
				t.Errorf("%s: %d verdicts and %d days on %d labels", name, verdicts, days, n)
			}
		}
	}
}

// TestLabelSheet: each sheet says which printer it needs, and a symbol is as large
// as its label allows unless somebody wants it smaller: a module one dot wider
// would not fit.
func TestLabelSheet(t *testing.T) {
	const height, dot = 34, 25.4 / 300 // mm, of documents/labels.yaml on A4
	set := newSet(t, library(), options())
	d, err := set.Labels()
	if err != nil {
		t.Fatal(err)
	}
	r := drawn(t, set.Paper(), d)
	pages, said := 0, 0
	for _, m := range r.Marks {
		pages = max(pages, m.Page)
		switch m.Kind {
		case page.TextMark:
			if m.Text == "Print at actual size, with 300 dpi or more." {
				said++
			}
		case page.ModulesMark:
			modules := math.Round(m.Room().H / (m.Quiet / 4)) // four of white on each side (ISO/IEC 18004, 5.3.8)
			if room := m.Room().H; room > height || room+modules*dot <= height {
				t.Errorf("a symbol of %.0f modules takes %.2f mm of %d with its white", modules, room, height)
			}
		}
	}
	if said != pages || pages == 0 {
		t.Errorf("%d pages say %d times how to print them", pages, said)
	}
}

// TestLabelTooSmall: a label too small for its symbol is refused by name, with
// what it needs; it is never printed too fine to read.
func TestLabelTooSmall(t *testing.T) {
	o := options()
	o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte("A4: {rows: 8, height: 24, pitch_y: 34}\n")}}
	set := newSet(t, library(), o)
	if _, err := set.Labels(); err != nil {
		t.Errorf("a usual token on 24 mm: %v", err)
	}
	o.Sign = func(c seal.Claim) (string, error) { return tokenOf(c, 900) }
	d, err := newSet(t, library(), o).Labels()
	var small *certify.LabelError
	if !errors.As(err, &small) || d != nil || small.Have != 24 || small.Need < 24 || small.Link != "A-01" {
		t.Errorf("a token of 900 characters on 24 mm: %v", err)
	}
}

// TestThreeSets: a link judged by three sets, of which two allow the same, has one page: no
// name of a set is broken, and what two allow is worked out once.
func TestThreeSets(t *testing.T) {
	for _, language := range []string{"en", "es"} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Policy.Limits = []string{"tia-568.3-e", "iso-11801-1-2017", "mil-std-2042-6b"}
		f.Terminations = nil
		for i := range f.Links {
			f.Links[i].EndA.SplicedOn, f.Links[i].EndB.SplicedOn = false, false
		}
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Quantity != record.InsertionLoss })
		set := setByBook(t, f)
		l := set.Judgement.Result(0)
		d, err := set.Certificate(l)
		if err != nil {
			t.Fatal(err)
		}
		r := drawn(t, set.Paper(), d)
		texts := r.Texts()
		if n := strings.Count(strings.Join(texts, "\n"), "ANSI/TIA-568.3-E, ISO/IEC 11801-1\n"); r.PageNumber() != 1 || n != 6 {
			t.Errorf("%s: %d pages, and both sets are named in %d rows:\n%s", language, r.PageNumber(), n, strings.Join(texts, "\n"))
		}
		workings := 0
		for _, text := range texts {
			if strings.Contains(text, " 2 × ") || strings.Contains(text, " × 2 ") {
				workings++
			}
		}
		if workings != 2 {
			t.Errorf("%s: %d workings", language, workings)
		}
	}
}

// TestOnePageDemo: every paper of the demonstration, on both papers and in every
// language, has one page, and another for what it was not meant to hold:
// pictures, or the forms of a nonconformance sheet; the place to sign is never
// on a page of leftovers.
func TestOnePageDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	facts, judged := demonstration(t)
	for set := range editions(t, facts, judged) {
		language, paper := set.Language(), set.Paper()
		for _, l := range judged.Results() {
			photos := slices.ContainsFunc(facts.Photos, func(p record.Photo) bool { return p.Link == l.Link.ID })
			if !l.Verdict.Certifiable() {
				d, err := set.Nonconformance(l)
				if err != nil {
					t.Fatal(err)
				}
				if r := drawn(t, paper, d); r.PageNumber() > 2 {
					t.Errorf("%s on %s in %s: %d pages", d.Path, paper.Name, language, r.PageNumber())
				}
				continue
			}
			d, err := set.Certificate(l)
			if err != nil {
				t.Fatal(err)
			}
			want := 1
			if photos {
				want = 2
			}
			r := drawn(t, paper, d)
			if r.PageNumber() != want || d.Signature == nil || d.Signature.Page != 1 {
				t.Errorf("%s on %s in %s: %d pages, want %d; signed at %v", d.Path, paper.Name, language, r.PageNumber(), want, d.Signature)
			}
			for _, text := range r.Texts() {
				if lone.MatchString(text) {
					t.Errorf("%s on %s in %s: %q stands alone on a line", d.Path, paper.Name, language, text)
				}
			}
		}
	}
}

// TestReflectanceOnOneLine: on every paper of the demonstration the reflectances
// of both ends, their limit and the margin stand on one line.
func TestReflectanceOnOneLine(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	begun := regexp.MustCompile(`Refle(ctance at|ctancia a|xionsgrad bei) \d+ nm  `)
	whole := regexp.MustCompile(` nm  (end|extremo|Ende) A −[\d.,]+ dB, (end|extremo|Ende) B −[\d.,]+ dB  .*−\d+ dB.*  (margin|margen|Reserve) [\d.,]+ dB$`)
	facts, judged := demonstration(t)
	for set := range editions(t, facts, judged) {
		language, paper := set.Language(), set.Paper()
		rows := 0
		for _, d := range papers(t, set) {
			r := drawn(t, paper, d)
			for n := range r.PageNumber() {
				for _, line := range r.Lines(n + 1) {
					if !begun.MatchString(line) {
						continue
					}
					if rows++; !whole.MatchString(line) {
						t.Errorf("%s on %s: %q", d.Path, paper.Name, line)
					}
				}
			}
		}
		if rows < 20 {
			t.Errorf("%s on %s: %d rows of reflectances", language, paper.Name, rows)
		}
	}
}

// TestWavelengthOnOnePage: a table of readings goes on over the page between two
// wavelengths, never within one, and its name never stands alone at the foot.
func TestWavelengthOnOnePage(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	reading := regexp.MustCompile(`(?:^|  )(\d{3,4})  (?:A to B|A a B|B to A|B a A|mean|media)  \d`)
	title := regexp.MustCompile(`(?:^|  )(?:Readings|Lecturas)  .*k = 2`)
	demo, judgedDemo := demonstration(t)
	long := harsh()
	later := 0 // tables that go on over the page
	for name, one := range map[string]struct {
		facts  *record.Facts
		judged *judge.Judgement
	}{"demonstration": {demo, judgedDemo}, "harsh": {long, judged(t, long)}} {
		for set := range editions(t, one.facts, one.judged) {
			language, paper := set.Language(), set.Paper()
			for _, d := range differing(t, set) {
				if !strings.Contains(d.Path, "/") {
					continue
				}
				r, on := drawn(t, paper, d), map[string]int{}
				for n := range r.PageNumber() {
					titled, rows := false, 0
					for _, line := range r.Lines(n + 1) {
						titled = titled || title.MatchString(line)
						m := reading.FindStringSubmatch(line)
						if m == nil {
							continue
						}
						rows++
						if first, ok := on[m[1]]; ok && first != n {
							t.Errorf("%s: %s on %s in %s: page %d begins within %s nm", name, d.Path, paper.Name, language, n+1, m[1])
						}
						on[m[1]] = n
					}
					if titled && rows == 0 {
						t.Errorf("%s: %s on %s in %s: the name of the readings stands alone on page %d", name, d.Path, paper.Name, language, n+1)
					}
					if !titled && rows > 0 {
						later++
					}
				}
			}
		}
	}
	if later < 2 {
		t.Errorf("%d tables go on over the page, want some to try it on", later)
	}
}

// lone is a reflectance that was parted from its end.
var lone = regexp.MustCompile(`^−\d+[.,]\d dB$`)

// TestOnePage: a link with two wavelengths in both directions takes one page,
// with reflectances and a dozen applications, on both papers, in all languages.
func TestOnePage(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	for _, language := range []string{"de", "en", "es"} {
		for _, paper := range []page.PaperSize{page.A4, page.Letter} {
			f := library()
			f.Job.Documents.Paper, f.Job.Documents.Language = paper.Name, language
			for _, r := range slices.Clone(f.Readings) {
				if r.WavelengthNM == 1310 {
					r.Quantity, r.Value = record.Reflectance, dec("-51.5")
					f.Readings = append(f.Readings, r)
				}
			}
			set := newSet(t, f, options())
			for _, l := range set.Judgement.Results() {
				if !l.Verdict.Certifiable() {
					continue
				}
				for n := range 12 {
					l.Carries = append(l.Carries, judge.Carries{ID: fmt.Sprint(n), Title: fmt.Sprintf("%d00GBASE-LR%d", n, n), Within: true})
				}
				d, err := set.Certificate(l)
				if err != nil {
					t.Fatal(err)
				}
				want := 1
				if l.Link.ID == "A-12" { // its three pictures stand on another
					want = 2
				}
				if r := drawn(t, paper, d); r.PageNumber() != want {
					t.Errorf("%s on %s in %s: %d pages, want %d", d.Path, paper.Name, language, r.PageNumber(), want)
				}
				if d.Signature == nil || d.Signature.Page != 1 {
					t.Errorf("%s: the place to sign is %v", d.Path, d.Signature)
				}
			}
		}
	}
}

// TestOrderChangesNothing: how roomy a paper is set is first tried as the paper
// before it was. Whichever that was, the paper is the same.
func TestOrderChangesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	f := estate(40)
	for i := range f.Links { // of all heights
		f.Links[i].From += strings.Repeat(", far behind the third door", 5*i%23)
	}
	set := newSet(t, f, options())
	marks := map[string][]page.Mark{}
	grids := map[string]bool{}
	all := papers(t, set)
	for turn := range 3 {
		if slices.Reverse(all); turn == 2 {
			rand.New(rand.NewPCG(1, 2)).Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		}
		for _, d := range all {
			r := drawn(t, set.Paper(), d)
			if first, ok := marks[d.Path]; ok && !reflect.DeepEqual(first, r.Marks) {
				t.Errorf("turn %d: %s is drawn another way", turn, d.Path)
			}
			marks[d.Path] = r.Marks
			if d.Signature != nil { // its place is two lines of the grid high
				grids[fmt.Sprintf("%.3f", d.Signature.Box.H)] = true
			}
		}
	}
	if len(grids) < 3 {
		t.Errorf("the papers are too much alike: %v", grids)
	}
}

// TestRowsSubtract: whatever was measured, and however fine the limit, on every
// row of a table measured and margin make up the limit in the digits printed.
func TestRowsSubtract(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	triple := regexp.MustCompile(`(?:A to B|B to A|mean|A–B|B–A)  (−?\d+\.\d+)(?: dB)?  (−?\d+\.\d+)(?: dB)?\*?  (−?\d+\.\d+)(?: dB)?(?:  |$)`)
	rapid.Check(t, func(t *rapid.T) {
		f := library()
		f.Links = f.Links[6:8]
		for i := range f.Links {
			l := &f.Links[i]
			l.Length = dec(rapid.StringMatching(`[1-9][0-9]{0,3}(\.[0-9])?`).Draw(t, "length"))
			l.Splices = rapid.IntRange(0, 3).Draw(t, "splices")
		}
		places := rapid.IntRange(1, 4).Draw(t, "places")
		for i := range f.Readings {
			f.Readings[i].Value = dec(rapid.StringMatching(fmt.Sprintf(`[0-4]\.[0-9]{%d}`, places)).Draw(t, "loss"))
		}
		set := newSet(t, f, options())
		rows := 0
		for _, d := range papers(t, set) {
			r := page.NewRecorder(set.Paper())
			if err := d.Draw(r); err != nil {
				t.Fatal(err)
			}
			for n := range r.PageNumber() {
				for _, line := range r.Lines(n + 1) {
					m := triple.FindStringSubmatch(line)
					if m == nil || d.Path == "statement.pdf" {
						continue
					}
					rows++
					var v [3]quantity.Decimal
					for i := range v {
						v[i] = dec(strings.Replace(m[i+1], "−", "-", 1))
					}
					if !v[1].Sub(v[0]).Abs().Equal(v[2].Abs()) {
						t.Errorf("%s: %q: %s − %s is not %s", d.Path, line, m[2], m[1], m[3])
					}
				}
			}
		}
		if rows < 8 {
			t.Errorf("%d rows were found", rows)
		}
	})
}

// TestPaperInOutline: the outline names a paper once, by its link and its kind,
// in the language of the set: in a bundle it is all there is to find a link by. Its
// sections stand below.
func TestPaperInOutline(t *testing.T) {
	for language, want := range map[string][2]string{"en": {" · certificate", " · nonconformance"}, "es": {" · certificado", " · no conformidad"}} {
		facts := library()
		facts.Job.Documents.Language = language
		set := newSet(t, facts, options())
		for i := range set.Judgement.Links {
			l, make, kind := set.Judgement.Result(i), set.Certificate, want[0]
			if !l.Verdict.Certifiable() {
				make, kind = set.Nonconformance, want[1]
			}
			d, err := make(l)
			if err != nil {
				t.Fatal(err)
			}
			r := drawn(t, page.A4, d)
			if len(r.Outlines) < 4 || slices.ContainsFunc(r.Outlines[1:], func(o page.Outline) bool { return o.Level != 1 }) || r.Outlines[0].Title != l.Link.ID+kind || r.Outlines[0].Level != 0 {
				t.Errorf("%s: %v", l.Link.ID, r.Outlines)
			}
		}
	}
}

// TestLimitAtItsLine: on the ladder, of a link that fails too, what is allowed
// stands beside its line.
func TestLimitAtItsLine(t *testing.T) {
	set := newSet(t, library(), options())
	for _, id := range []string{"A-07", "A-12", "A-19"} {
		l, _ := set.Judgement.Link(id)
		d, err := set.Nonconformance(l)
		if l.Verdict.Certifiable() {
			d, err = set.Certificate(l)
		}
		if err != nil {
			t.Fatal(err)
		}
		r, found := drawn(t, set.Paper(), d), 0
		for i, m := range r.Marks {
			if m.Text != "allowed" || i == 0 || !strings.HasSuffix(strings.TrimSuffix(r.Marks[i-1].Text, "*"), " dB") {
				continue
			}
			found++
			if !slices.ContainsFunc(r.Marks, func(line page.Mark) bool {
				return line.Kind == page.LineMark && line.Box.W > 0.6 && line.Box.W < 0.8 && m.Box.Y > line.Box.Y && m.Box.Y < line.Box.Y+line.Box.H && m.At.X-line.Box.X < 18
			}) {
				t.Errorf("%s: no limit line at %v", id, m)
			}
		}
		if found != 2 {
			t.Errorf("%s: %d limits on the ladder", id, found)
		}
	}
}

// TestNoPromises: a nonconformance sheet promises neither warranty nor what the
// link would carry.
func TestNoPromises(t *testing.T) {
	set := newSet(t, library(), options())
	for _, l := range set.Judgement.Results() {
		l.Carries = []judge.Carries{{ID: "x", Title: "10GBASE-LR", Within: true}}
		make, want := set.Nonconformance, false
		if l.Verdict.Certifiable() {
			make, want = set.Certificate, true
		}
		d, err := make(l)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Join(drawn(t, set.Paper(), d).Texts(), "\n")
		for _, promise := range []string{"10GBASE-LR", "warranty"} {
			if strings.Contains(text, promise) != want {
				t.Errorf("%s: says %q: %v, want %v", d.Path, promise, !want, want)
			}
		}
	}
}

// TestOnlyPassIsCertified: there is no way to print a certificate for a link
// that is not pass or marginal.
func TestOnlyPassIsCertified(t *testing.T) {
	set := newSet(t, library(), options())
	for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
		l := set.Judgement.Result(0)
		l.Verdict = v
		if _, err := set.Certificate(l); (err == nil) != v.Certifiable() {
			t.Errorf("certificate of a link that is %v: error %v", v, err)
		}
		if _, err := set.Nonconformance(l); (err == nil) == v.Certifiable() {
			t.Errorf("nonconformance sheet of a link that is %v: error %v", v, err)
		}
	}
}

// TestRunesCoverAll: the characters handed to the fonts are all that is drawn.
func TestRunesCoverAll(t *testing.T) {
	set := newSet(t, harsh(), options())
	have := map[rune]bool{}
	for _, r := range set.Runes() {
		have[r] = true
	}
	for _, d := range papers(t, set) {
		for _, text := range drawn(t, page.A4, d).Texts() {
			for _, r := range text {
				if !have[r] {
					t.Fatalf("%s: %q of %q is not among the runes", d.Path, r, text)
				}
			}
		}
	}
}

// TestWorkingWithItsSource: how a limit came about and where its figures stand
// are on one page.
func TestWorkingWithItsSource(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	facts, judged := demonstration(t)
	for set := range editions(t, facts, judged) {
		language, paper := set.Language(), set.Paper()
		for _, l := range judged.Results() {
			d := paperOf(t, set, l)
			sum, source := 0, 0
			for _, m := range drawn(t, paper, d).Marks {
				if strings.HasPrefix(m.Text, "Allowed") || strings.HasPrefix(m.Text, "Admitido") || strings.HasPrefix(m.Text, "Zulässig") {
					sum = m.Page
				}
				if m.Style.Face == page.Italic && strings.HasPrefix(m.Text, "ANSI/TIA-568.3-E (2022), ") {
					source = m.Page
				}
			}
			if sum != source || sum == 0 && l.Measured {
				t.Errorf("%s on %s in %s: the working on page %d, its source on %d", d.Path, paper.Name, language, sum, source)
			}
		}
	}
}

// TestReadAcross: what is allowed stands on the line of its figure, marked or
// not, and a sentence in a table without names stands near what it is about.
func TestReadAcross(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	facts, judged := demonstration(t)
	for set := range editions(t, facts, judged) {
		language, paper := set.Language(), set.Paper()
		figures, sentences := 0, 0
		for _, d := range papers(t, set) {
			if !strings.Contains(d.Path, "/") {
				continue
			}
			marks := drawn(t, paper, d).Marks
			for i, m := range marks[1:] {
				before := marks[i]
				switch {
				case (m.Text == "allowed" || m.Text == "admitidos" || m.Text == "zulässig") && strings.HasSuffix(strings.TrimSuffix(before.Text, "*"), " dB"):
					if figures++; m.At.Y != before.At.Y {
						t.Errorf("%s on %s in %s: %v is not beside %v", d.Path, paper.Name, language, m, before)
					}
				case before.Text == "open" || before.Text == "pendiente" || before.Text == "offen":
					if sentences++; m.Box.X-before.Box.X-before.Box.W > 8.1 {
						t.Errorf("%s on %s in %s: %v is far from %v", d.Path, paper.Name, language, m, before)
					}
				}
			}
		}
		if figures < 50 || sentences < 2 {
			t.Errorf("on %s in %s: %d figures, %d sentences", paper.Name, language, figures, sentences)
		}
	}
}
