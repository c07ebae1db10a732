package form

import (
	"slices"
	"strings"

	"spanseal/internal/colour"
	"spanseal/internal/polarity"
	"spanseal/internal/record"
)

// derivedColumn is a column of the tables for programs that only some jobs have. It
// follows behind the names that receivers use.
type derivedColumn struct {
	heading string
	cell    func(*record.Link) string
}

// derived are the columns of what the job lets us work out about a link.
func (w *Writer) derived() (all []derivedColumn) {
	if colours := w.Facts.Job.Colours; colours != nil {
		coded := func(heading string, cell func(record.Coded) string) {
			all = append(all, derivedColumn{heading, func(l *record.Link) string {
				code, _ := colour.Of(colours, l)
				return cell(code)
			}})
		}
		coded("fibre_number", func(c record.Coded) string { return number(c.Fibre) })
		coded("fibre_colour", func(c record.Coded) string { return c.Colour.String() })
		coded("tube_number", func(c record.Coded) string { return number(c.Tube) })
		coded("tube_colour", func(c record.Coded) string { return c.Hue.String() })
	}
	if slices.ContainsFunc(w.Facts.Links, func(l record.Link) bool { return len(l.Splitters) > 0 || l.Leg != "" }) {
		all = append(all, derivedColumn{"splitters", func(l *record.Link) string {
			var list []string
			for _, ratio := range l.Splitters {
				list = append(list, "1:"+number(ratio))
			}
			return strings.Join(list, " ")
		}}, derivedColumn{"splitter_leg", func(l *record.Link) string { return l.Leg }})
	}
	if len(w.Facts.Job.Trunks) > 0 {
		array := func(heading string, cell func(*record.Array) string) {
			all = append(all, derivedColumn{heading, func(l *record.Link) string {
				if l.Array == nil {
					return ""
				}
				return cell(l.Array)
			}})
		}
		array("trunk", func(a *record.Array) string { return a.Trunk })
		array("position", func(a *record.Array) string { return number(a.Position) })
		array("far_position", func(a *record.Array) string { return number(a.FarPosition) })
		array("far_position_wanted", func(a *record.Array) string {
			t, _ := w.Facts.Job.Trunk(a.Trunk)
			return number(polarity.Far(&t, a.Position))
		})
	}
	return all
}
