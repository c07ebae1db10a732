package certify_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/pdf/archival"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/summary"
)

// figuresOf are the alternative texts of a paper.
func figuresOf(t *testing.T, set *certify.Set, d *certify.Document) (alts []string) {
	t.Helper()
	for _, e := range drawn(t, set.Paper(), d).Elements {
		if e.Role == page.Figure {
			alts = append(alts, e.Alt)
		}
	}
	return alts
}

// span is the least and the most of some losses, as they are printed.
func span(losses []float64, places int) (least, most string) {
	print := func(v float64) string { return strings.ReplaceAll(strconv.FormatFloat(v, 'f', places, 64), "-", "−") }
	return print(slices.Min(losses)), print(slices.Max(losses))
}

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

// TestSummaryPlotsAreSaid does the same for the plots of the summary.
func TestSummaryPlotsAreSaid(t *testing.T) {
	set := newSet(t, library(), options())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(figuresOf(t, set, d), "\n")
	fibre := map[string]string{}
	for _, l := range set.Facts.Links {
		fibre[l.ID] = l.Fibre
	}
	losses := map[string][]float64{}
	for _, r := range set.Facts.Readings {
		if r.Quantity == record.InsertionLoss {
			v, _ := strconv.ParseFloat(r.Value.String(), 64)
			key := fmt.Sprintf("%s at %d nm", fibre[r.Link], r.WavelengthNM)
			losses[key] = append(losses[key], v)
		}
	}
	for key, values := range losses {
		least, most := span(values, 2)
		if want := fmt.Sprintf("%s: %d losses, between %s and %s dB", key, len(values), least, most); !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}

	smallest, largest, at, n := math.Inf(1), math.Inf(-1), "", 0
	ports := map[string]map[string]judge.Verdict{} // of places, by the names of ends
	end := regexp.MustCompile(`^(.*) port (\d+)`)
	for _, l := range set.Judgement.Results() {
		if f := l.WorstFinding(); f != nil && f.Margin != nil {
			v, _ := strconv.ParseFloat(f.Margin.String(), 64)
			if n++; v < smallest {
				smallest, at = v, l.Link.ID
			}
			largest = max(largest, v)
		}
		for _, where := range []string{l.Link.From, l.Link.To} {
			m := end.FindStringSubmatch(where)
			if ports[m[1]] == nil {
				ports[m[1]] = map[string]judge.Verdict{}
			}
			ports[m[1]][m[2]] = max(ports[m[1]][m[2]], l.Verdict)
		}
	}
	least, most := span([]float64{smallest, largest}, 2)
	if want := fmt.Sprintf("The smallest margins of %d links, in order: from %s dB of %s to %s dB.", n, least, at, most); !strings.Contains(all, want) {
		t.Errorf("no %q in\n%s", want, all)
	}
	for place, ports := range ports {
		pass := 0
		for _, v := range ports {
			if v == judge.Pass {
				pass++
			}
		}
		want := fmt.Sprintf("%s: %d ports of this job; pass: %d.", place, len(ports), pass)
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
		for port, v := range ports {
			word := map[judge.Verdict]string{judge.Fail: ": fails.", judge.Marginal: ": marginal.", judge.Incomplete: ": never measured."}[v]
			if word != "" && !regexp.MustCompile(regexp.QuoteMeta(place)+`[^\n]* `+port+`\b[^.]*`+word).MatchString(all) {
				t.Errorf("%s, port %s: %q is not said in\n%s", place, port, word, all)
			}
		}
	}
}

// TestComparisonIsSaid: the plot of a retest says of each loss what was certified
// and what was measured again, and the sheet is read as it is seen.
func TestComparisonIsSaid(t *testing.T) {
	c := certifiedLink(t, newSet(t, library(), options()))
	result := retest.Compare(c, risen(c, "0.20"))
	o := options()
	set, problems := certify.NewComparison(c, result, record.Documents{Paper: "A4", Language: "en"}, certify.WarrantyClaim{}, o.Writer, o.Options)
	good(t, problems)
	d, err := set.Comparison(result, certify.Attachment{Name: "certificate.pdf"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	all, n := strings.Join(figuresOf(t, set, d), "\n"), 0
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
	parts, err := archival.Read(paper(t, press, set, d))
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
