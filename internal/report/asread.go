package report

import (
	"fmt"
	"io"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/profile"
	"spanseal/internal/record"
	"spanseal/internal/terminal"
)

const (
	widestCell = 28 // characters of a cell that are shown
	mostCells  = 16 // cells of a row
)

// AsRead prints the first rows of a table beside what was read from them, and a
// line about each column.
func AsRead(w io.Writer, s terminal.Style, as *intake.AsRead) {
	name := diag.Safe(as.File)
	if as.Sheet != "" {
		name += ", sheet " + diag.Safe(as.Sheet)
	}
	fmt.Fprintf(w, "%s\n", s.Strong("as read from "+name))
	wide := 0
	for _, row := range as.Rows {
		wide = max(wide, len(row.Place))
	}
	for _, row := range as.Rows {
		fmt.Fprintf(w, "  %s  %s\n", terminal.Pad(row.Place, wide), s.Dim(cells(row.Cells)))
		lead := strings.Repeat(" ", wide+4)
		switch {
		case row.Fate == record.Refused:
			fmt.Fprintf(w, "%s= refused\n", lead)
		case len(row.Readings) == 0:
			fmt.Fprintf(w, "%s= no reading\n", lead)
		}
		for i := range row.Readings {
			r := &row.Readings[i]
			fmt.Fprintf(w, "%s= %s  %s\n", lead, diag.Safe(readingLine(&r.Reading)), s.Dim(fmt.Sprintf("(%s: %s)", diag.Safe(r.Cell), cellText(r.Text))))
		}
	}
	if as.More > 0 {
		fmt.Fprintf(w, "  and %s more\n", diag.Plural(as.More, "row"))
	}
	columnsAsRead(w, s, as.Columns)
}

// readingLine prints one reading: link, wavelength, way, value, when, with what.
func readingLine(r *record.Reading) string {
	parts := []string{r.Link}
	if r.WavelengthNM > 0 {
		parts = append(parts, fmt.Sprintf("%d nm", r.WavelengthNM))
	}
	parts = append(parts, string(r.Direction))
	value := fmt.Sprintf("%s %s %s", quantityWords[r.Quantity], r.Value, r.Quantity.Unit())
	if r.Reference != nil && r.Received != nil {
		value += fmt.Sprintf(" from %s and %s dBm", r.Reference, r.Received)
	}
	if r.Event != "" {
		parts = append(parts, "event "+r.Event)
	}
	parts = append(parts, value)
	if !r.Time.IsZero() {
		parts = append(parts, record.Moment(r.Time))
	}
	parts = append(parts, strings.Join(nonEmpty(r.Instrument, r.Source), " and "))
	return strings.Join(nonEmpty(parts...), "  ")
}

func cells(texts []string) string {
	var shown []string
	for i, t := range texts {
		if i == mostCells {
			shown = append(shown, "...")
			break
		}
		shown = append(shown, cellText(t))
	}
	return strings.Join(shown, " | ")
}

// cellText is a cell in one short line.
func cellText(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if r := []rune(text); len(r) > widestCell {
		text = string(r[:widestCell-3]) + "..."
	}
	return diag.Safe(text)
}

// columnsAsRead prints the profile of each column.
func columnsAsRead(w io.Writer, s terminal.Style, columns []profile.Column) {
	names, fields := 0, 0
	for i := range columns {
		names = max(names, diag.DisplayWidth(cellText(columns[i].Name)))
		fields = max(fields, diag.DisplayWidth(fieldsOf(&columns[i])))
	}
	for i := range columns {
		c := &columns[i]
		line := fmt.Sprintf("  column %*d  %s  %s  %s", len(fmt.Sprint(len(columns))), c.Number, terminal.Pad(cellText(c.Name), names), terminal.Pad(fieldsOf(c), fields), holds(c))
		if len(c.Fields) == 0 {
			line = s.Dim(line)
		}
		fmt.Fprintln(w, line)
	}
}

func fieldsOf(c *profile.Column) string {
	if len(c.Fields) == 0 {
		return "not read"
	}
	return strings.Join(c.Fields, ", ")
}

// holds says what stands in a column.
func holds(c *profile.Column) string {
	if c.Type == "" {
		return "empty"
	}
	var parts []string
	switch {
	case c.Constant():
		parts = append(parts, fmt.Sprintf("%s: %s in every row", c.Type, cellText(c.Least)))
	case c.Least == c.Greatest:
		parts = append(parts, fmt.Sprintf("%s: %s", c.Type, cellText(c.Least)))
	default:
		more := ""
		if c.AtLeast {
			more = "more than "
		}
		parts = append(parts, fmt.Sprintf("%s: %s to %s, %s%d different", c.Type, cellText(c.Least), cellText(c.Greatest), more, c.Distinct))
	}
	if c.OtherCount > 0 {
		var texts []string
		for _, t := range c.Others {
			texts = append(texts, fmt.Sprintf("%q", cellText(t)))
		}
		parts = append(parts, fmt.Sprintf("%d of %d not a %s, such as %s", c.OtherCount, c.Values, c.Type, strings.Join(texts, ", ")))
	}
	if c.Empty > 0 {
		parts = append(parts, fmt.Sprintf("%d empty", c.Empty))
	}
	return strings.Join(parts, "; ")
}
