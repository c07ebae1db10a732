package comparison_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/comparison"
	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/testset"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// TestComparisonSheet draws every outcome, with short and with long texts, on
// both papers and in every language: nothing collides or leaves the paper, and
// the words are there.
func TestComparisonSheet(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	long := strings.Repeat("The carrier moved the panel and pulled another cable through the same duct. ", 6)
	for _, facts := range []struct {
		name  string
		make  func() *record.Facts
		claim comparison.WarrantyClaim
	}{
		{"plain", testset.Library, comparison.WarrantyClaim{Number: "W-7", Token: "SS1.TOKEN", Discovered: record.NewDate(2031, 1, 28), Reported: record.NewDate(2031, 1, 30)}},
		{"harsh", testset.Harsh, comparison.WarrantyClaim{Number: strings.Repeat("W-", 45), Discovered: record.NewDate(2031, 1, 28), Reported: record.NewDate(2031, 1, 30), Others: long, Cleaning: long}},
	} {
		for _, language := range []string{"de", "en", "es"} {
			for _, paper := range []page.PaperSize{page.A4, page.Letter} {
				t.Run(facts.name+" "+language+" "+paper.Name, func(t *testing.T) {
					c := testset.Certified(t, testset.New(t, facts.make(), testset.NewSettings()))
					sheet := *c // the same, had its losses been too high
					sheet.Verdict, sheet.Readings = judge.Fail, testset.Risen(c, "3.00").Readings
					for i := range sheet.Readings {
						sheet.Readings[i].Time, sheet.Readings[i].Origin = c.Readings[i].Time, c.Readings[i].Origin
					}
					other := testset.Risen(c, "0.50")
					other.Reference, other.TestCords = record.ThreeCord, record.ReferenceCords
					uncertain := testset.Risen(c, "0.05")
					uncertain.Instruments, uncertain.Uncertainty = nil, nil
					for i := range uncertain.Readings {
						uncertain.Readings[i].Time, uncertain.Readings[i].Instrument = time.Time{}, ""
					}
					for _, test := range []struct {
						c    *retest.Certified
						now  retest.Side
						want retest.Outcome
						word string // in English
					}{
						{c, testset.Risen(c, "0.02"), retest.NoChange, "NO CHANGE SHOWN"}, {c, testset.Risen(c, "0.60"), retest.Changed, "CHANGED"}, {c, testset.Risen(c, "3.00"), retest.OverLimit, "OVER THE LIMIT"},
						{c, uncertain, retest.Undecided, "NOT DECIDED"}, {c, other, retest.NotCompared, "NOT COMPARED"},
						{c, c.Side(), retest.NotCompared, "the same reading as on record"},
						{&sheet, testset.Risen(c, "0.05"), retest.Changed, "Comparison with a nonconformance sheet"}, {&sheet, testset.Risen(c, "2.95"), retest.OverLimit, "certifies nothing"},
					} {
						result := retest.Compare(test.c, test.now)
						if result.Outcome != test.want {
							t.Fatalf("outcome %s, want %s", result.Outcome, test.want)
						}
						o := testset.NewSettings()
						o.Issued = time.Date(2031, 2, 5, 12, 0, 0, 0, time.UTC)
						set, problems := comparison.New(test.c, result, record.Documents{Paper: paper.Name, Language: language}, facts.claim, o.Writer, o.Options)
						testset.Good(t, problems)
						d, err := set.Sheet(result, page.Attachment{}, nil)
						if err != nil {
							t.Fatal(err)
						}
						r := testset.Drawn(t, paper, d)
						for _, fault := range append(append(r.Overlaps(), r.Outside(paper.Sheet())...), r.Faint(4.5)...) {
							t.Errorf("%s: %s", test.want, fault)
						}
						var all []string
						for _, m := range r.Marks {
							if m.Kind == page.TextMark {
								all = append(all, m.Text)
							}
						}
						pages, first := 0, ""
						for _, m := range r.Marks {
							if pages = max(pages, m.Page); m.Kind == page.TextMark && m.Page == 1 {
								first += m.Text
							}
						}
						if facts.name == "plain" && pages != 1 {
							t.Errorf("%s: %d pages, want one", test.want, pages)
						}
						if symbol := slices.ContainsFunc(r.Marks, func(m page.Mark) bool { return m.Kind == page.ModulesMark }); symbol != (facts.claim.Token != "") {
							t.Errorf("%s: a symbol stands there: %v", test.want, symbol)
						}
						if !strings.Contains(first, strings.ReplaceAll(facts.claim.Number, " ", "")) {
							t.Errorf("%s: page one does not name the claim", test.want)
						}
						text := strings.ReplaceAll(strings.Join(all, " "), "\u00A0", " ")
						runes := set.Runes()
						for _, r := range text {
							if _, ok := slices.BinarySearch(runes, r); !ok {
								t.Errorf("%s: %q is drawn and not announced", test.want, r)
							}
						}
						if test.c == &sheet && strings.Contains(strings.ReplaceAll(text, "not certified", ""), "certified") {
							t.Errorf("%s: the sheet calls certified what was not:\n%s", test.want, text)
						}
						for _, said := range []string{facts.claim.Number, facts.claim.Others, facts.claim.Cleaning} {
							if together := strings.NewReplacer(" ", ""); !strings.Contains(together.Replace(text), together.Replace(said)) {
								t.Errorf("%s: the sheet leaves out of the claim %q", test.want, said)
							}
						}
						// Every statement is there in the paper's language, and none in another.
						statements := slices.Concat(result.Conclusion, result.Advice, result.Questions)
						for _, row := range result.Rows {
							if !row.NotCompared.IsZero() {
								statements = append(statements, row.NotCompared)
							}
						}
						for _, other := range []string{"de", "en", "es"} {
							words := wording.Load(templates.Files, nil, other, new(diag.List))
							for _, said := range words.States(statements) {
								if there := strings.Contains(text, strings.ReplaceAll(said, "\u00A0", " ")); there != (other == language) {
									t.Errorf("%s: of the language %s it says %v: %q", test.want, other, there, said)
								}
							}
						}
						if language != "en" {
							continue
						}
						for _, want := range []string{test.word, "claim number", "work or damage by others", "cleaning done before the retest"} {
							if !strings.Contains(text, want) {
								t.Errorf("%s: the sheet does not say %q", test.want, want)
							}
						}
					}
				})
			}
		}
	}
}

// TestClaimThatCannotBeSet: a text of the claim is checked like any other.
func TestClaimThatCannotBeSet(t *testing.T) {
	c := testset.Certified(t, testset.New(t, testset.Library(), testset.NewSettings()))
	_, problems := comparison.New(c, retest.Compare(c, c.Side()), record.Documents{Paper: "A4", Language: "en"}, comparison.WarrantyClaim{Others: "水"}, testset.NewSettings().Writer, testset.NewSettings().Options)
	if problems.Errors() != 1 {
		t.Errorf("%d errors, want one about a missing glyph", problems.Errors())
	}
}

// TestComparisonAsMeasured: a reflectance that was read with one decimal is
// printed with one, what belongs together stays in one line, and no word is
// broken while another column can give.
func TestComparisonAsMeasured(t *testing.T) {
	for _, language := range []string{"en", "es"} {
		f := testset.Library()
		r := f.Readings[0]
		for _, way := range []record.Direction{record.AB, record.BA} {
			r.Quantity, r.Value, r.Direction = record.Reflectance, quantity.Must("-50.5"), way
			f.Readings = append(f.Readings, r)
		}
		c := testset.Certified(t, testset.New(t, f, testset.NewSettings()))
		result := retest.Compare(c, testset.Risen(c, "0.10"))
		o := testset.NewSettings()
		o.Overrides = fstest.MapFS{"wording/es.yaml": {Data: []byte("comparison: {then: entonces}\n")}} // wider, so that other columns wrap
		set, problems := comparison.New(c, result, record.Documents{Paper: "A4", Language: language}, comparison.WarrantyClaim{}, o.Writer, o.Options)
		testset.Good(t, problems)
		d, err := set.Sheet(result, page.Attachment{Name: "certificate.pdf"}, nil)
		if err != nil {
			t.Fatal(err)
		}
		texts := testset.Drawn(t, page.A4, d).Texts()
		for _, want := range map[string][]string{"en": {"reflectance", "−50.5", "due 3 Mar 2027"}, "es": {"reflectancia", "−50,5", "vence 3 mar 2027"}}[language] {
			if !slices.Contains(texts, want) {
				t.Errorf("%s: the sheet does not say %q", language, want)
			}
		}
		for _, text := range texts {
			if strings.HasSuffix(text, "PM-9") || strings.HasSuffix(text, "LS-4") || strings.Contains(text, "50.50") || strings.Contains(text, "50,50") {
				t.Errorf("%s: %q", language, text)
			}
		}
	}
}
