package certify_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/comparison"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/pdf/archival"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/testset"
)

// TestLadderIsSaid works out from the readings of each link what the sentence of
// its plot has to say.
func TestLadderIsSaid(t *testing.T) {
	set := newSet(t, library(), options())
	said := regexp.MustCompile(`At (\d+) nm the (\d+) readings lie between (\S+) and (\S+) dB, and (\S+) dB is allowed\.`)
	checked := 0
	for i, l := range set.Judgement.Results() {
		make := set.Certificate
		if !l.Verdict.Certifiable() {
			make = set.Nonconformance
		}
		d, err := make(set.Judgement.Result(i))
		if err != nil {
			t.Fatal(err)
		}
		alts := figuresOf(t, set, d)
		at := slices.IndexFunc(alts, said.MatchString)
		if at < 0 {
			if len(l.Readings) > 0 {
				t.Errorf("%s: no figure says its readings: %q", l.Link.ID, alts)
			}
			continue
		}
		fails := 0
		for _, f := range l.Findings {
			if f.Kind == judge.KindLimit && f.Quantity == record.InsertionLoss && f.Verdict == judge.Fail {
				fails++
			}
		}
		for _, m := range said.FindAllStringSubmatch(alts[at], -1) {
			var losses []float64
			for _, r := range set.Facts.Readings {
				if nm := strconv.Itoa(r.WavelengthNM); r.Link == l.Link.ID && nm == m[1] && r.Quantity == record.InsertionLoss {
					v, _ := strconv.ParseFloat(r.Value.String(), 64)
					losses = append(losses, v)
				}
			}
			places := len(m[3]) - strings.IndexByte(m[3], '.') - 1
			least, most := span(losses, places)
			if m[2] != strconv.Itoa(len(losses)) || m[3] != least || m[4] != most {
				t.Errorf("%s: %q, the readings are %v", l.Link.ID, m[0], losses)
			}
			checked++
		}
		want := "No reading fails."
		if fails == 1 {
			want = "One reading fails."
		} else if fails > 1 {
			want = fmt.Sprintf("%d readings fail.", fails)
		}
		if !strings.HasSuffix(alts[at], want) {
			t.Errorf("%s: %q, want %q", l.Link.ID, alts[at], want)
		}
	}
	if checked < 40 {
		t.Errorf("%d sentences checked", checked)
	}
}

// TestComparisonIsSaid: the plot of a retest says of each loss what was certified
// and what was measured again, and the sheet is read as it is seen.
func TestComparisonIsSaid(t *testing.T) {
	c := testset.Certified(t, newSet(t, library(), options()))
	result := retest.Compare(c, testset.Risen(c, "0.20"))
	o := options()
	set, problems := comparison.New(c, result, record.Documents{Paper: "A4", Language: "en"}, comparison.WarrantyClaim{}, o.Writer, o.Options)
	good(t, problems)
	d, err := set.Sheet(result, page.Attachment{Name: "certificate.pdf"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	all, n := strings.Join(figuresOf(t, set.PaperSet, d), "\n"), 0
	for _, r := range c.Readings {
		if r.Quantity != record.InsertionLoss {
			continue
		}
		way := map[record.Direction]string{record.AB: "A to B", record.BA: "B to A"}[r.Direction]
		want := fmt.Sprintf("%d nm, %s: %s dB then, %s dB now.", r.WavelengthNM, way, r.Value.Fixed(3), r.Value.Add(dec("0.20")).Fixed(3))
		if n++; !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
	if n == 0 {
		t.Error("no loss is compared")
	}
	press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
	if err != nil {
		t.Fatal(err)
	}
	parts, err := archival.Read(paper(t, press, set.PaperSet, d))
	if err != nil {
		t.Fatal(err)
	}
	r := drawn(t, set.Paper(), d)
	texts, _ := seen(t, r)
	if diff := cmp.Diff(texts, heard(parts)); diff != "" {
		t.Errorf("what is seen and what is heard differ (- seen, + heard):\n%s", diff)
	}
	inReadingOrder(t, d.Path, r)
	figuresSpeak(t, d.Path, r)
}
