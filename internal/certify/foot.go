package certify

import (
	"slices"

	"spanseal/internal/page"
)

// signatures are three places to sign: the contractor's is the digital one.
func (sh *sheet) signatures(f *flow) { sh.Set.signatures(f) }

func (s *Set) signatures(f *flow) {
	const gutter = 6.0
	width := (f.w - 2*gutter) / 3
	f.space(0.5)
	f.need(3.5 * f.grid)
	top := f.y
	f.lines(2)
	contractor := s.words.Say("sign.contractor")
	if !s.Specimen && s.Signer.Name != "" {
		f.mark = &Mark{Page: f.PageNumber(), Box: page.Box{X: f.x, Y: top, W: width, H: 2 * f.grid}}
		f.put(f.x, f.y-0.9*f.grid, f.shrink(f.strong, 6, width, s.Signer.Name), s.Signer.Name)
		digital := s.words.Say("sign.digital", "key", s.Signer.KeyID)
		f.put(f.x, f.y-0.25*f.grid, f.shrink(f.small, 4.5, width, digital), digital)
	}
	for i, caption := range []string{contractor, s.words.Say("sign.engineer"), s.words.Say("sign.owner")} {
		x := f.x + float64(i)*(width+gutter)
		f.Line(x, f.y, x+width, f.y, 0.3, f.ink)
		if s.Specimen { // nobody signs it by hand either
			word := page.Style{Face: page.Medium, Size: f.style.heading.Size, Ink: f.rust}
			f.put(x, f.y-0.4*f.grid, word, s.words.Say("specimen.word"))
		}
		f.put(x, f.y+0.8*f.grid, f.shrink(f.small, 4.5, width, caption), caption)
	}
	f.lines(1.5)
}

// smallPrint says where the original lies and what the paper does not prove.
func (sh *sheet) smallPrint(f *flow) {
	w := sh.words
	type file struct {
		name, sum string
		rows      []string
	}
	var from []*file
	for r := range everyReading(sh.l) {
		i := slices.IndexFunc(from, func(o *file) bool { return o.name == r.Origin.File })
		if i < 0 {
			from = append(from, &file{name: r.Origin.File, sum: r.Origin.SHA256})
			i = len(from) - 1
		}
		row := r.Origin.Cell
		if row == "" {
			row = w.Whole(r.Origin.Row)
		}
		if !slices.Contains(from[i].rows, row) {
			from[i].rows = append(from[i].rows, row)
		}
	}
	var origins []string
	for _, o := range from {
		origins = append(origins, w.Count("small.rows", len(o.rows), "file", o.name, "rows", w.List(o.rows), "sha", abbreviate(o.sum)))
	}
	live := w.Say("small.live")
	if !sh.l.Verdict.Certifiable() { // somebody will work on this link again
		live += " " + w.Say("small.rework")
	}
	text := w.Say("small.records") + " " + live + " " + w.Say("small.codes")
	if len(origins) > 0 && !sh.Specimen {
		text = w.Say("small.transcribed", "origins", w.List(origins)) + " " + text
	}
	if sources := sh.otherSources(); sources != "" {
		text = sources + " " + text
	}
	if unjudged := sh.unjudged(); unjudged != "" && len(sh.l.Readings) > 0 {
		text = unjudged + " " + text
	}
	sh.Set.small(f, text)
}

// small sets small print.
func (s *Set) small(f *flow, text string) {
	const leading = 0.66
	lines := f.wrap(f.style.small, f.w, text)
	f.need(leading * f.grid * float64(min(len(lines), 8)))
	f.paragraph(f.style.small, leading, text)
}
