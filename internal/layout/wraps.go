package layout

import (
	"hash/maphash"
	"slices"
	"sync/atomic"

	"spanseal/internal/page"
)

// wraps remembers how texts break into lines, for all workers: the papers of a
// job repeat most of what they say. Each text has one place, found by its hash,
// which the next text of that place takes over, so that a large job needs no
// more memory than a small one. The lines hold for one set of typefaces, that of
// the press, and every sheet of a set is drawn with it.
type wraps [1 << 9]atomic.Pointer[wrapped]

type wrapped struct {
	style page.Style
	width float64
	text  string
	lines []string
}

var wrapSeed = maphash.MakeSeed()

// Lines returns the lines of a text, broken by the function unless they are
// known.
func (m *wraps) lines(s page.Style, width float64, text string, wrap func() []string) []string {
	place := &m[maphash.String(wrapSeed, text)%uint64(len(m))]
	if w := place.Load(); w != nil && w.text == text && w.style == s && w.width == width {
		return w.lines
	}
	w := &wrapped{s, width, text, slices.Clip(wrap())}
	place.Store(w)
	return w.lines
}
