package certify

import (
	"slices"
	"strings"

	"spanseal/internal/inspection"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// inspections is what was seen of the end faces, by which criterion; a face that
// nobody inspected has a row that says so.
func (sh *sheet) inspections(f *layout.Flow) {
	all := sh.l.Inspections
	if len(all) == 0 {
		return
	}
	w := sh.words
	f.Section(w.Say("inspections.title"), 3, w.Say("inspections.remark"))
	columns := []layout.Column{{Name: w.Say("inspections.end")}, {Name: w.Say("inspections.criterion"), Wrap: true}, {Name: w.Say("inspections.cleaning")},
		{Name: w.Say("inspections.result")}, {Name: w.Say("inspections.by"), Wrap: true}, {Name: w.Say("inspections.when")}}
	var rows [][]layout.Cell
	for _, end := range []string{"A", "B"} {
		seen := false
		for k := range all {
			if i := &all[k]; i.End == end {
				seen = true
				row := layout.Cells(f.Body, end, inspection.Criterion(i), sh.cleaning(i), w.EndFace(i.Result), sh.Person(i.Person), sh.looked(i))
				if i.Result == record.EndFaceFail {
					row[3].Style = f.Strong
				}
				rows = append(rows, row)
			}
		}
		if !seen && slices.Contains(sh.l.Link.Faces(), end) {
			rows = append(rows, layout.Cells(f.Body, end, w.Say("inspections.none"), "", "", "", ""))
		}
	}
	f.Table(columns, rows)
}

func (sh *sheet) cleaning(i *record.Inspection) string {
	if i.Cleaning == "" {
		return ""
	}
	return sh.words.Term("inspections.cleaned", string(i.Cleaning))
}

// looked is when a face was inspected.
func (sh *sheet) looked(i *record.Inspection) string {
	at := sh.Local(i.Time)
	if at.IsZero() {
		return ""
	}
	return strings.TrimSpace(sh.words.Day(record.DateOf(at)) + " " + wording.Clock(at))
}

// inspected says under a picture what the inspection that it was taken at found, or
// "" where no inspection names it.
func (sh *sheet) inspected(p record.Photo) string {
	for k := range sh.l.Inspections {
		if i := &sh.l.Inspections[k]; i.Photo.File == p.Origin.File {
			face := sh.words.Say("photos.face", "outcome", sh.words.EndFace(i.Result))
			return wording.UpperFirst(wording.Comma(face, inspection.Criterion(i), sh.cleaning(i), sh.Person(i.Person), sh.looked(i)))
		}
	}
	return ""
}
