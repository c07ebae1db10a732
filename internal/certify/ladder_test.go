package certify_test

import (
	"slices"
	"testing"

	"spanseal/internal/page"
)

// TestMarkAtLimit: a mark on the limit line is drawn over it, with white around.
func TestMarkAtLimit(t *testing.T) {
	f := library()
	f.Readings[0].Value, f.Readings[1].Value = dec("2.21"), dec("2.23") // at most 2.22
	set := newSet(t, f, options())
	met := 0
	for _, d := range papers(t, set) {
		if d.Path == "summary.pdf" || d.Path == "labels.pdf" {
			continue
		}
		marks := drawn(t, set.Paper(), d).Marks
		for i, mark := range marks {
			if mark.Kind != page.PolygonMark || mark.Ink == 0xFFFFFF {
				continue
			}
			for n, line := range marks {
				if line.Kind != page.LineMark || line.Page != mark.Page || line.Box.W < 0.69 || line.Box.W > 0.71 || !line.Box.Overlaps(mark.Box) {
					continue
				}
				met++
				halo := slices.ContainsFunc(marks[:i], func(m page.Mark) bool {
					return m.Kind == page.LineMark && m.Ink == 0xFFFFFF && m.Page == mark.Page && m.Box.Overlaps(mark.Box) && m.Box.Y < mark.Box.Y
				})
				if n > i || !halo {
					t.Errorf("%s: %v merges with the limit at %v", d.Path, mark, line)
				}
			}
		}
	}
	if met == 0 {
		t.Error("no mark stands on a limit line")
	}
}
