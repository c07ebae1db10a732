package summary

import (
	"spanseal/internal/inspection"
	"spanseal/internal/layout"
)

// faces counts the end faces that were inspected, by criterion.
func (o *overview) faces(f *layout.Flow) {
	c := inspection.Counted(o.Facts)
	if c == nil {
		return
	}
	w := o.words
	var rows [][]layout.Cell
	for _, of := range c.Criteria {
		rows = append(rows, layout.Cells(f.Body, of.Criterion, w.Whole(of.Inspected), w.Whole(of.Passed), w.Whole(of.Inspected-of.Passed)))
	}
	if none := c.Faces - c.Inspected; none > 0 {
		rows = append(rows, layout.Cells(f.Body, w.Say("faces.none"), w.Whole(none), "–", "–"))
	}
	f.Tabled(w.Say("faces.title"), []layout.Column{{Name: w.Say("faces.criterion"), Wrap: true}, {Name: w.Say("faces.faces"), Right: true}, {Name: w.Say("faces.passed"), Right: true},
		{Name: w.Say("faces.failed"), Right: true}}, rows, w.Say("faces.remark", "inspected", w.Whole(c.Inspected), "all", w.Whole(c.Faces)))
}
