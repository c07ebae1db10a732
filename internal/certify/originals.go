package certify

import (
	"strings"

	"spanseal/internal/layout"
	"spanseal/internal/wording"
)

// mostOriginals is how many files of instruments a paper lists; the record has all.
const mostOriginals = 8

// originals lists the files that instruments wrote of the link, as they lie in the set.
func (sh *sheet) originals(f *layout.Flow) {
	files := sh.l.InstrumentFiles
	if len(files) == 0 {
		return
	}
	w := sh.words
	f.Section(w.Say("originals.title"), float64(min(len(files), 4))+1, w.Say("originals.remark"))
	shown := files
	if len(files) > mostOriginals {
		shown = files[:mostOriginals-1]
	}
	var rows [][]layout.Cell
	for _, one := range shown {
		var of []string
		if one.WavelengthNM > 0 {
			of = append(of, wording.Nanometres(one.WavelengthNM)+" nm")
		}
		if one.Direction != "" {
			of = append(of, w.Term("arrow", string(one.Direction)))
		}
		if one.Stage != "" {
			of = append(of, w.Term("stage", string(one.Stage)))
		}
		rows = append(rows, layout.Cells(f.Body, one.File, wording.FirstOf(strings.Join(of, " "), w.Say("originals.all")), w.Whole(int(one.Size)), one.SHA256[:min(16, len(one.SHA256))]))
	}
	f.Table([]layout.Column{{Name: w.Say("originals.file"), Wrap: true}, {Name: w.Say("originals.of")}, {Name: w.Say("originals.size"), Right: true},
		{Name: w.Say("originals.sum")}}, rows)
	if more := len(files) - len(shown); more > 0 {
		f.Paragraph(f.Caption, 0.75, w.Count("originals.more", more))
	}
}
