package summary_test

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
)

// TestPlotsAreSaid works out from the readings what the sentences of the plots have to
// say.
func TestPlotsAreSaid(t *testing.T) {
	set := testset.New(t, testset.Library(), testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(testset.Figures(t, set, d), "\n")
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
		least, most := testset.Span(values, 2)
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
	least, most := testset.Span([]float64{smallest, largest}, 2)
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

// TestManyPasses: of many links that all pass, the summary says so in place of a
// map without places, and its margins are drawn as a distribution.
func TestManyPasses(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	f := testset.Estate(1200)
	passes := map[string]bool{}
	for _, l := range testset.Judged(t, f).Results() {
		passes[l.Link.ID] = l.Verdict == judge.Pass
	}
	f.Links = slices.DeleteFunc(f.Links, func(l record.Link) bool { return !passes[l.ID] })
	f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return !passes[r.Link] })
	f.Terminations = slices.DeleteFunc(f.Terminations, func(one record.Termination) bool { return !passes[one.Link] })
	set := testset.New(t, f, testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, set.Paper(), d)
	if text := strings.Join(r.Texts(), "\n"); !strings.Contains(text, "places is drawn: every port is a plain pass.") || strings.Contains(text, " drawn: those") || strings.Contains(text, "P pass") {
		t.Errorf("the map of nothing but passes: %.1500q", r.Texts())
	}
	// Each bar of the distribution is as high as it has links.
	var margins []float64
	for _, l := range set.Judgement.Results() {
		if one := l.WorstFinding(); one != nil && one.Margin != nil {
			v, _ := strconv.ParseFloat(one.Margin.String(), 64)
			margins = append(margins, v)
		}
	}
	bars := slices.DeleteFunc(r.Marks, func(m page.Mark) bool {
		return m.Kind != page.FillMark || m.Ink != 0x173E54 || m.Page != r.Marks[0].Page || m.Box.Y < 42 || m.Box.W < 1.5
	})
	if len(bars) < 10 || len(bars) > 60 {
		t.Fatalf("%d bars for %d links", len(bars), len(margins))
	}
	highest, sum := 0.0, 0.0
	for _, b := range bars {
		highest, sum = max(highest, b.Box.H), sum+b.Box.H
	}
	if each := float64(len(margins)) / sum; highest*each > float64(len(margins)) || highest*each < float64(len(margins))/float64(len(bars)) {
		t.Errorf("the highest of the bars stands for %.0f links of %d", highest*each, len(margins))
	}
}

// TestLossesWithoutLimit: a loss at a wavelength for which no set has a limit is drawn
// and said as well, without a limit.
func TestLossesWithoutLimit(t *testing.T) {
	f := testset.Library()
	first := f.Links[0].ID
	var more []record.Reading
	for _, r := range f.Readings {
		if r.Link == first && r.Quantity == record.InsertionLoss && r.WavelengthNM == 1550 {
			r.WavelengthNM = 1625
			more = append(more, r)
		}
	}
	if len(more) != 2 {
		t.Fatalf("%d losses at 1550 nm", len(more))
	}
	f.Readings = append(f.Readings, more...)
	set := testset.New(t, f, testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(testset.Figures(t, set, d), "\n")
	if want := f.Links[0].Fibre + " at 1625 nm: 2 losses, between "; !strings.Contains(all, want) {
		t.Errorf("no %q in\n%s", want, all)
	}
	if texts := testset.Drawn(t, set.Paper(), d).Texts(); !slices.Contains(texts, f.Links[0].Fibre+" 1625 nm") {
		t.Errorf("the plot has no row for 1625 nm: %q", texts[:40])
	}
}
