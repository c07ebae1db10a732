package ledger

import (
	"fmt"
	"slices"

	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/written"
)

// Length reads the length. Several columns of it have to agree as far as they
// were rounded; the first is taken, unless another says a digit more.
func (l *Ledger) Length(link *record.Link) {
	var columns []field.InUnit
	for _, u := range field.Units[field.Length] {
		fu := field.InUnit{Field: field.Length, Unit: u}
		if _, ok := l.columns[fu.Name()]; ok {
			columns = append(columns, fu)
		}
	}
	given := slices.DeleteFunc(slices.Clone(columns), func(fu field.InUnit) bool { return l.Text(fu.Name()) == "" })
	if len(given) == 0 {
		l.Must(columns[0].Name(), "a length such as 312")
		return
	}
	var taken field.InUnit
	var step quantity.Decimal // by which the length that was taken is told
	for i, fu := range given {
		v, m, ok := l.metres(fu)
		if !ok {
			return
		}
		s, _ := quantity.Metres(v.Step(), fu.Unit)
		if i > 0 && step.Add(s).Half().Less(m.Sub(link.Length).Abs()) {
			l.Fault(fu.Name(), "which-length", fmt.Sprintf("link %q is %s %s long here, and %s in column %s", link.ID, v, fu.Unit, link.LengthText, taken.Name()),
				"want the same length", "correct one of the two, or keep one column of lengths")
		}
		if i == 0 || s.Mul(quantity.Int(10)).Less(step) {
			taken, step, link.Length, link.LengthText = fu, s, m, v.String()+" "+string(fu.Unit)
		}
	}
}

// metres reads a length that is given; ok is false after a problem.
func (l *Ledger) metres(fu field.InUnit) (v, m quantity.Decimal, ok bool) {
	column, before := fu.Name(), l.faults
	if v, ok = l.Number(column); !ok {
		return v, m, false
	}
	m, _ = quantity.Metres(v, fu.Unit)
	text := l.Text(column)
	switch _, doubtful := written.MarkIn(text); {
	case doubtful && l.delimiter() != ',':
		l.Fault(column, "which-decimal", fmt.Sprintf("%q could be a fraction or thousands", text), "write 1234 for thousands, 1,2340 for a fraction", "")
	case m.Sign() < 0 || field.Bounds[field.MaxLength].Less(m):
		l.Fault(column, "out-of-range", fmt.Sprintf("a length of %s %s cannot be", text, fu.Unit), fmt.Sprintf("want 0 to %d m", field.MaxLength), "correct the cell, or the unit in the heading")
	}
	return v, m, l.faults == before
}

// Fibre reads the kind of fibre and so the mode.
func (l *Ledger) Fibre(link *record.Link) {
	text := l.Must("fibre", "a kind of fibre such as OS2 or OM4")
	if text == "" {
		return
	}
	name, mode, message := written.Fibre(text)
	if link.Fibre, link.Mode = name, mode; message != "" {
		l.Fault("fibre", "unknown-fibre", message, "want OS1, OS1a, OS2, OM1 to OM5, 62.5/160, 50/400, FDDI, or a recommendation such as G.652.D or G.657.A1", "")
	}
}

// End reads what an end of a link is, such as "spliced-on LC/UPC" or "factory
// LC"; "none" is an end without a connector.
func (l *Ledger) End(column string) record.End {
	text := l.Must(column, `such as "spliced-on LC/UPC", "factory LC" or none`)
	e, message, want := written.End(text)
	if message != "" {
		l.Fault(column, "unknown-end", message, want, "")
	}
	return e
}
