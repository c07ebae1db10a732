package layout

import (
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/page"
)

// TestWraps: whatever was broken before, and wherever it is kept, the lines are
// those of the text in its own style and width.
func TestWraps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := &Flow{Sheet: page.NewRecorder(page.A4), Press: &Compositor{}}
		styles := []page.Style{{Face: page.Regular, Size: 8}, {Face: page.Bold, Size: 8}, {Face: page.Regular, Size: 12}}
		texts := rapid.SliceOfN(rapid.StringOfN(rapid.RuneFrom([]rune("abcdefgh ñ")), 0, 60, -1), 1, 3).Draw(t, "texts")
		for range rapid.IntRange(2, 40).Draw(t, "n") {
			style, text := rapid.SampledFrom(styles).Draw(t, "style"), rapid.SampledFrom(texts).Draw(t, "text")
			width := rapid.SampledFrom([]float64{20, 40, 80}).Draw(t, "width")
			if got, want := f.Wrap(style, width, text), f.breakLines(style, width, text); !slices.Equal(got, want) {
				t.Fatalf("%q in %v, %v mm: %q, want %q", text, style, width, got, want)
			}
		}
	})
}

// TestWrapsOfMany: texts that share a place do not share their lines.
func TestWrapsOfMany(t *testing.T) {
	f := &Flow{Sheet: page.NewRecorder(page.A4), Press: &Compositor{}}
	for i := range 4 * len(f.Press.wraps) {
		text := strconv.Itoa(i)
		if got := f.Wrap(page.Style{Size: 8}, 40, text); !slices.Equal(got, []string{text}) {
			t.Fatalf("%s becomes %q", text, got)
		}
	}
}
