package table

import (
	"slices"
	"strings"

	"spanseal/internal/quantity"
)

// Shown is what a workbook shows a number as. It tells a draft and a person what the cell
// is; no reading is bound by it.
type Shown byte

const (
	AsNumber Shown = iota
	AsDay          // a date
	AsHour         // an hour of some day
	AsMoment       // both
)

// ShownAs is what a sheet shows the number in a cell as; AsNumber for texts, and outside of
// sheets.
func ShownAs(t Table, c Cell) Shown {
	s := SheetIn(t)
	if s == nil || !c.number {
		return AsNumber
	}
	if formats := s.book.formats(); int(c.style) < len(formats) {
		return formats[c.style]
	}
	return AsNumber
}

// formats are what each style of a cell shows (18.8.10). A workbook whose styles cannot be
// read shows numbers: its cells are what they are.
func (b *Workbook) formats() []Shown {
	if b.shown != nil || b.styles == "" {
		return b.shown
	}
	b.shown = []Shown{}
	var styles struct {
		Formats []struct {
			ID   string `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			Format string `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if b.decode(b.styles, &styles) != nil {
		return b.shown
	}
	own := map[string]Shown{}
	for _, f := range styles.Formats {
		own[f.ID] = shownBy(f.Code)
	}
	for _, c := range styles.Cells {
		shown, given := own[c.Format]
		if id, ok := quantity.Whole(c.Format); !given && ok {
			shown = builtIn(id)
		}
		b.shown = append(b.shown, shown)
	}
	return b.shown
}

// builtIn is what the formats show that a workbook need not list (18.8.30).
func builtIn(id int) Shown {
	switch {
	case id >= 14 && id <= 17:
		return AsDay
	case id >= 18 && id <= 21, id >= 45 && id <= 47:
		return AsHour
	case id == 22:
		return AsMoment
	}
	return AsNumber
}

// shownBy reads the code of a format (18.8.31), of which the first section counts: y and d
// are of a day, h and s of an hour, and m is a month unless it stands beside an hour.
func shownBy(code string) Shown {
	var letters []byte
	for i := 0; i < len(code) && code[i] != ';'; i++ {
		switch c := code[i]; c {
		case '\\', '_', '*': // the next one is shown as it is, or fills
			i++
		case '"':
			if end := strings.IndexByte(code[i+1:], '"'); end >= 0 {
				i += end + 1
			}
		case '[': // a colour, a language, or hours beyond a day
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				return AsNumber
			}
			if inside := strings.ToLower(code[i+1 : i+end]); strings.Trim(inside, "h") == "" || strings.Trim(inside, "s") == "" {
				letters = append(letters, 'h')
			}
			i += end
		default:
			letters = append(letters, c|0x20)
		}
	}
	if strings.Contains(string(letters), "general") {
		return AsNumber
	}
	has := func(any string) bool {
		return slices.ContainsFunc(letters, func(c byte) bool { return strings.IndexByte(any, c) >= 0 })
	}
	day, hour := has("yd"), has("hs")
	switch {
	case day && hour:
		return AsMoment
	case hour:
		return AsHour
	case day || has("m"):
		return AsDay
	}
	return AsNumber
}
