package asset

import (
	"fmt"

	"spanseal/internal/diag"
	"spanseal/internal/record"
)

// left tells which links are left out for what they lack; with no other the export has
// nothing in it, and is refused.
func (e *Export) left(problems *diag.List, of func(*record.Link) bool, code, lack, fix string) {
	var out []string
	var first record.Origin
	for i := range e.Facts.Links {
		if l := &e.Facts.Links[i]; !of(l) {
			if out == nil {
				first = l.Origin
			}
			out = append(out, l.ID)
		}
	}
	have := "have"
	if len(out) == 1 {
		have = "has"
	}
	p := diag.Problem{Severity: diag.Note, Code: code, Place: placeOf(first), Fix: fix,
		Message: fmt.Sprintf("left out: %s; %d of %s %s no %s", diag.Few(out, 5), len(out), diag.Plural(len(e.Facts.Links), "link"), have, lack)}
	switch len(out) {
	case 0:
		return
	case len(e.Facts.Links):
		p.Severity, p.Message = diag.Error, "the schedule has no "+lack+", so there is nothing to export"
	}
	problems.Add(p)
}

func placeOf(o record.Origin) diag.Place { return diag.Place{File: o.File, Line: o.Row, Cell: o.Cell} }

// keyed tells which links lack an id of the owner's register, and refuses two with one.
func (e *Export) keyed() *diag.List {
	problems := &diag.List{}
	fix := "give each link its id in the owner's register in the column asset"
	e.left(problems, registered, "no-asset", "asset id", fix)
	held := map[string]string{}
	for i := range e.Facts.Links {
		l := &e.Facts.Links[i]
		id := assetOf(l)
		if id == "" {
			continue
		}
		if other, twice := held[id]; twice {
			problems.Add(diag.Problem{Code: "asset-twice", Place: placeOf(l.Origin), Message: fmt.Sprintf("the asset id %q of link %s is also used by link %s", id, l.ID, other),
				Fix: "give each link an id of its own; if several links are one asset, export csv, which has the id in a column"})
			continue
		}
		held[id] = l.ID
	}
	return problems
}

// placed tells which links have no coordinates.
func (e *Export) placed() *diag.List {
	problems := &diag.List{}
	e.left(problems, placed, "no-coordinates", "coordinates", "give latitude and longitude in the schedule, in degrees of WGS 84")
	return problems
}
