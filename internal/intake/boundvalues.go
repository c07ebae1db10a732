package intake

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// boundOf reads a bound such as "<0.05": which way it goes, and its number.
func (a *assembler) boundOf(text string, mark rune, unit quantity.Unit) (more bool, v quantity.Decimal, ok bool) {
	m := written.BoundText.FindStringSubmatch(text)
	if m == nil {
		return false, v, false
	}
	v, err := a.number(m[2], mark, unit)
	return strings.ContainsAny(m[1], ">≥"), v, err == nil
}

// lossLike are the fields whose number grows with the loss; of received power it
// falls.
func lossLike(f field.Field) bool {
	return f == field.Loss || f == field.LossPerKm || f == field.SpliceLoss
}

// beyond reads a cell that says that the instrument could measure no more: as
// the number that it gives, or else as the most that a loss can be here. Such a
// reading counts, and fails.
func (a *assembler) beyond(row *table.Row, f field.Field, s *mapping.Slot, text string, mark rune) (v quantity.Decimal, ok bool) {
	if !slices.Contains(a.m.OverRange, text) || !lossLike(f) && f != field.Received {
		return v, false
	}
	a.m.Use("over_range", text)
	more, v, has := a.boundOf(text, mark, s.Unit)
	switch {
	case has && more == (f != field.Received):
	case f == field.Received:
		v = field.Bounds[field.MinPower]
	default:
		v = field.Bounds[field.MaxLoss]
	}
	a.over = a.over || f == field.Received
	a.bound(row, f, s, text, "over-range", fmt.Sprintf("%q is beyond the range of the instrument, as over_range says; it is counted as %s %s, and no certificate can rest on it", text, v, f.Unit()),
		"find the fault of the link and measure it again; a later reading counts instead")
	return v, true
}

// worst reads a bound of which the worst case is known: a loss of less than
// 0.05 dB is at most that.
func (a *assembler) worst(row *table.Row, f field.Field, s *mapping.Slot, text string, mark rune) (v quantity.Decimal, ok bool) {
	more, v, ok := a.boundOf(text, mark, s.Unit)
	if !ok {
		return v, false
	}
	least := false // the bound is the least that can be
	switch f {
	case field.Received, field.ReturnLoss, field.OpticalReturnLoss:
		least = true
	case field.Reflectance:
		least = a.m.ReflectanceIs == "positive"
	case field.Loss:
		least = a.m.LossIs == "negative"
	case field.LossPerKm, field.SpliceLoss:
	default:
		return v, false
	}
	if more != least {
		return v, false
	}
	a.bound(row, f, s, text, "bound", fmt.Sprintf("%q is a bound; %s %s is counted, the worst that it can be", text, v, f.Unit()), "")
	return v, true
}

// shownOf is what stands for the number of a reading from field f: the cell's
// text, or, if the number was worked out from the cell's, the same bound on that.
func (a *assembler) shownOf(f field.Field, value quantity.Decimal) string {
	text := a.shown[f]
	derived := f == field.Received || f == field.LossPerKm || f == field.Loss && a.m.LossIs == "negative" || f == field.Reflectance && a.m.ReflectanceIs == "positive"
	if !derived || !strings.ContainsAny(text, "<>≤≥") {
		return text
	}
	if strings.ContainsAny(text, ">≥") == (f == field.LossPerKm) { // the others turn it round
		return ">" + value.String()
	}
	return "<" + value.String()
}

// bound keeps what the cell showed, and asks.
func (a *assembler) bound(row *table.Row, f field.Field, s *mapping.Slot, text, code, message, fix string) {
	a.bounded, a.shown[f] = true, text
	p := diag.Problem{Severity: diag.Question, Code: code, Place: diag.Place{File: a.file.Name}, Message: message, Fix: fix}
	if !a.r.list.Full(p.Severity, code, a.file.Name) {
		p.Place = a.t.Place(row, s.Column)
	}
	a.r.list.Add(p)
}
