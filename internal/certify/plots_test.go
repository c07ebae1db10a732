package certify_test

import (
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/summary"
)

// TestManyPasses: of many links that all pass, the summary says so in place of a
// map without places, and its bars leave no slits.
func TestManyPasses(t *testing.T) {
	f := estate(1200)
	passes := map[string]bool{}
	for _, l := range judged(t, f).Results() {
		passes[l.Link.ID] = l.Verdict == judge.Pass
	}
	f.Links = slices.DeleteFunc(f.Links, func(l record.Link) bool { return !passes[l.ID] })
	f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return !passes[r.Link] })
	f.Terminations = slices.DeleteFunc(f.Terminations, func(one record.Termination) bool { return !passes[one.Link] })
	set := newSet(t, f, options())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := drawn(t, set.Paper(), d)
	if text := strings.Join(r.Texts(), "\n"); !strings.Contains(text, "places is drawn: every port is a plain pass.") || strings.Contains(text, " drawn: those") || strings.Contains(text, "P pass") {
		t.Errorf("the map of nothing but passes: %.1500q", r.Texts())
	}
	bars := slices.DeleteFunc(r.Marks, func(m page.Mark) bool { return m.Kind != page.FillMark || m.Ink != 0x173E54 || m.Box.W > 1.5 })
	if len(bars) < 200 {
		t.Fatalf("%d bars", len(bars))
	}
	for i, next := range bars[1:] {
		if one := bars[i].Box; next.Box.X > one.X+one.W-0.01 {
			t.Fatalf("a slit between %v and %v", bars[i], next)
		}
	}
}
