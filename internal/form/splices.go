package form

import (
	"iter"

	"spanseal/internal/record"
	"spanseal/internal/splices"
)

// spliceColumns are those of the sheet of splices: one line for each wavelength at which
// a splice was measured, or one.
var spliceColumns = []string{"link", "splice", "closure", "tray", "shut", "kind", "person", "finished", "estimate_db", "attempts", "wavelength_nm",
	"a_b_db", "b_a_db", "average_db", "limit_db", "margin_db", "verdict", "out_of_specification"}

func (w *Writer) spliceRows() iter.Seq[[]any] {
	return func(yield func([]any) bool) {
		if !yield(texts(spliceColumns)) {
			return
		}
		loss := func(r *record.Reading) any {
			switch {
			case r == nil:
				return ""
			case r.Shown != "":
				return r.Shown
			}
			return r.Value
		}
		for _, r := range w.Judgement.Results() {
			for _, one := range splices.Of(r) {
				row := []any{one.Link.ID, one.Name, "", "", "", "", "", "", "", one.Attempts, 0, "", "", "", "", "", "", ""}
				if t := one.Made; t != nil {
					row[2], row[3], row[4], row[5], row[6], row[7] = t.Closure, t.Tray, w.Local(t.Shut), t.Kind, t.Person, w.Local(t.Finished)
					row[8] = t.Estimate
				}
				if len(one.At) == 0 && !yield(row) {
					return
				}
				for _, l := range one.At {
					row := append([]any(nil), row...)
					row[10], row[11], row[12], row[13] = l.WavelengthNM, loss(l.AB), loss(l.BA), l.Average
					if l.AB == nil && l.Unstated != nil {
						row[11] = loss(l.Unstated)
					}
					if f := l.Judged; f != nil {
						row[14], row[15], row[16] = f.Limit, f.Margin, f.Verdict.String()
					}
					if l.Listed {
						row[17] = "listed"
					}
					if !yield(row) {
						return
					}
				}
			}
		}
	}
}
