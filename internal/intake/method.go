package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/method"
	"spanseal/internal/record"
	"spanseal/internal/table"
)

// method settles how the reading of a group was made: what its row says, then its
// file, its link, the job.
func (a *assembler) method(row *table.Row, g *mapping.ReadingSlots, index int32) *record.Method {
	text := func(f field.Field) (own, fixed string) {
		if g[f].Column >= 0 {
			own = a.name(row, &g[f])
		}
		return own, g[f].Fixed
	}
	own, file := method.Settle(text, func(f field.Field, text, want string) {
		p := diag.Problem{Code: "method-not-read", Message: fmt.Sprintf("%q is not understood as %s", text, f.Noun()), Want: want}
		if a.maps(f) {
			p.Fix = "correct the mapping, or " + leaveOut
			a.fault(row, g[f].Column, p)
		} else if !a.methodAsked[f] { // a heading may be meant otherwise
			a.methodAsked[f] = true
			p.Severity, p.Place = diag.Question, a.t.Place(row, g[f].Column)
			p.Fix = "such cells are ignored, because the column is not mapped; map it under columns if it holds this"
			a.r.list.Add(p)
		}
	})
	link := a.r.link(index)
	if stage := own.Over(file.Method).Stage; stage != "" && stage == a.r.facts.Job.StageFor(link) {
		own.Stage, file.Stage = "", "" // that which the paper is of
	}
	return a.r.ways.Of(&a.r.facts.Job.Policy, link.Terms, own, file)
}

// maps reports whether the mapping itself names a column for the field.
func (a *assembler) maps(f field.Field) bool {
	if _, ok := a.m.Columns[f]; ok {
		return true
	}
	for _, e := range a.m.Each {
		if _, ok := e.Columns[f]; ok {
			return true
		}
	}
	return false
}

// hasOwn reports whether a row gives a field in a column of its own.
func (a *assembler) hasOwn(row *table.Row, f field.Field) bool {
	for i := range a.groups {
		if s := &a.groups[i][f]; s.Column >= 0 && a.text(row, s) != "" {
			return true
		}
	}
	return false
}

// fileMethod is how the readings of the file were made, for what no row says.
func (a *assembler) fileMethod() record.Method {
	var s method.Said
	for f, c := range a.m.Constants {
		if f.OfMethod() {
			s.Take(f, c.Text)
		}
	}
	return s.Over(a.r.facts.Job.Policy.Method())
}

// capturedMethod holds what a pattern found of a field against what the mapping says:
// both are of the whole file.
func (a *assembler) capturedMethod(f field.Field, text string) {
	a.captured++
	for g := range a.groups { // a column beside it is narrower
		a.groups[g][f].Fixed = strings.Clone(text)
	}
	var found, said method.Said
	want := found.Take(f, text)
	c, given := a.m.Constants[f]
	switch {
	case want != "":
		a.r.list.Add(diag.Problem{Code: "method-not-read", Place: diag.Place{File: a.file.Name}, Message: fmt.Sprintf("%q is not understood as %s", text, f.Noun()), Want: want, Fix: "correct the pattern of the mapping"})
	case given && said.Take(f, c.Text) == "" && found.Key() != said.Key():
		a.r.list.Add(diag.Problem{Code: "method-contradicts", Place: c.Place, Message: fmt.Sprintf("the mapping says %s: %s, and the file itself %q", f, c.Text, text),
			Fix: "keep the correct one"})
	}
}
