package ledger

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/written"
)

// A schedule may have any number of columns, of which so many are carried under
// headings of its own, and of a cell and a heading so many characters: package archive reads
// a link of results.json up to 1 MB.
const (
	maxFurther        = 100
	maxFurtherText    = 1000
	maxFurtherHeading = 100
)

// furtherColumn is one that we do not know.
type furtherColumn struct {
	index   int
	heading string
}

// carry notes a further column. Two under one heading are told apart by a number.
func (l *Ledger) carry(index int, heading string) {
	heading = written.First(written.OneLine(strings.TrimPrefix(heading, "\ufeff")), maxFurtherHeading)
	for n, given := 2, heading; l.carries(heading); n++ {
		heading = fmt.Sprintf("%s (%d)", given, n)
	}
	l.further = append(l.further, furtherColumn{index, heading})
}

func (l *Ledger) carries(heading string) bool {
	for _, c := range l.further {
		if c.heading == heading {
			return true
		}
	}
	return false
}

// Receivers reads what receivers call the link and where it lies, and the columns
// that we do not know.
func (l *Ledger) Receivers() *record.Names {
	n := record.Names{
		Label: l.Text("label"), Drawing: l.Text("drawing"), Asset: l.Text("asset"), Room: l.Text("room"), Closure: l.Text("closure"), Tray: l.Text("tray"),
		Colour: l.Text("colour"), Latitude: l.degrees("latitude", 90), Longitude: l.degrees("longitude", 180),
	}
	if given, without := "latitude", "longitude"; l.Text("latitude") != "" != (l.Text("longitude") != "") {
		if l.Text(given) == "" {
			given, without = without, given
		}
		l.Fault(given, "half-a-place", fmt.Sprintf("this row has a %s but no %s", given, without), "want both, or neither", "")
	}
	if i, ok := l.columns["notes"]; ok {
		n.Notes = l.carried("notes", i)
	}
	for _, c := range l.further {
		if text := l.carried(c.heading, c.index); text != "" {
			n.Further = append(n.Further, record.GivenName{Key: c.heading, Text: text})
		}
	}
	if given, further := n.Given(); len(given)+len(further) == 0 {
		return nil
	}
	return &n
}

// carried is a cell that stops nothing: its lines are joined, and what is too long is cut.
func (l *Ledger) carried(heading string, column int) string {
	text := written.OneLine(l.row.At(column))
	if cut := written.First(text, maxFurtherText); cut != text {
		l.add(column, diag.Problem{Severity: diag.Note, Code: "text-cut", Message: fmt.Sprintf("the text under %q is carried up to %d characters", heading, maxFurtherText)})
		text = cut
	}
	return l.texts.Keep(text)
}

// degrees reads a latitude or longitude (ISO 6709): decimals, south and west negative.
// Coordinates are copied from elsewhere, so their decimal mark need not be the
// file's; no thousands mark fits below 180.
func (l *Ledger) degrees(column string, most int) *quantity.Decimal {
	text := l.Text(column)
	if text == "" {
		return nil
	}
	mark := '.'
	if strings.Contains(text, ",") {
		mark = ','
	}
	v, err := quantity.ParseMark(text, mark)
	switch {
	case err != nil:
		l.Fault(column, "not-a-number", fmt.Sprintf("%q is not a %s", text, column), "want degrees as a decimal such as 53.3498; south and west are negative", "")
	case quantity.Int(most).Less(v.Abs()):
		l.Fault(column, "out-of-range", fmt.Sprintf("a %s of %s cannot be", column, text), fmt.Sprintf("want %d to %d", -most, most), "correct the cell, or check whether latitude and longitude are swapped")
	default:
		return &v
	}
	return nil
}
