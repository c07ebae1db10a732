package propose

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// keyed is a row beside the table that names a field and its value, such as
// "Operator: mo".
type keyed struct {
	field   field.Field
	pattern string // as a mapping writes it
	value   string
	text    string // of the row
}

var (
	// totals begin rows that sum a table up or end it.
	totals = regexp.MustCompile(`(?i)^(?:(?:sub)?total|sum|summe|mean|average|avg|mittelwert|durchschnitt|moyenne|media|promedio|minimum|maximum|min|max|count|anzahl|nombre|end of|ende|fin de|printed|gedruckt|page|seite)(?:$|[^\pL])`)
	keyEnd = regexp.MustCompile(`\s*[:=]\s*`)
)

// around looks at what stands above, between and below the rows of the table:
// names and values that hold for the rows below them, and sums.
func (p *proposer) around(t table.Table) {
	var above, below []keyed
	var sums []string
	p.beside = map[int]bool{}
	var references []string
	_, named := t.(table.SelfNamed)
	for r := range t.Rows() {
		k, is := keyedRow(r)
		switch {
		case r.Number < p.m.HeaderLine && referencePattern(r) != "":
			if pattern := strconv.Quote(referencePattern(r)); !slices.Contains(references, pattern) {
				references = append(references, pattern)
			}
		case is && (r.Number < p.m.HeaderLine || r.Beside):
			above = append(above, k)
		case named || r.Beside:
		case r.Number < p.m.HeaderLine+p.m.HeaderRows:
		case is && slices.ContainsFunc(above, func(a keyed) bool { return a.pattern == k.pattern }):
			below = append(below, k)
			p.beside[r.Number] = true
		default:
			text := r.Joined()
			if word := totals.FindString(text); word != "" {
				p.beside[r.Number] = true
				if word = strict.Quote(strings.TrimRight(word, " :=") + "*"); !slices.Contains(sums, word) {
					sums = append(sums, word)
				}
			}
		}
	}
	var preamble []string
	blocks := 0
	for _, k := range above {
		if _, twice := p.keyed[k.field]; twice || slices.ContainsFunc(p.columns, func(c proposed) bool { return c.Field == k.field && c.Wavelength == 0 }) {
			continue
		}
		if p.keyed == nil {
			p.keyed = map[field.Field]keyed{}
		}
		p.keyed[k.field] = k
		if slices.ContainsFunc(below, func(b keyed) bool { return b.pattern == k.pattern }) {
			if blocks++; blocks == 1 {
				p.setConstant("block", strconv.Quote(k.pattern))
				p.saw("blocks, below rows such as %q", k.text)
				continue
			}
			p.need("which of the rows such as %q begins a block: the draft takes the first", k.text)
		}
		preamble = append(preamble, strconv.Quote(k.pattern))
		p.saw("the %s %q above the heading", k.field, k.value)
	}
	if len(references) > 0 {
		p.references = true
		p.saw("reference powers above the table, by wavelength")
		preamble = append(preamble, references...)
	}
	if len(preamble) > 0 {
		p.setConstant("preamble", "["+strings.Join(preamble, ", ")+"]")
	}
	if len(sums) > 0 && len(sums) <= 8 {
		p.setConstant("ignore_rows", "["+strings.Join(sums, ", ")+"]")
		p.need("whether rows that begin with %s contain no reading, as the draft says under ignore_rows", strings.Join(sums, ", "))
	}
}

// keyedRow reads a row of one cell, "Operator: mo", or of two, "Operator" and
// "mo".
func keyedRow(r *table.Row) (k keyed, ok bool) {
	var texts []string
	for i := range r.Cells {
		if text := r.Cells[i].Text; text != "" {
			texts = append(texts, text)
		}
	}
	name, before, value := "", "", ""
	switch len(texts) {
	case 1:
		at := keyEnd.FindStringIndex(texts[0])
		if at == nil {
			return k, false
		}
		name, before, value = texts[0][:at[0]], texts[0][:at[1]], texts[0][at[1]:]
	case 2:
		name, before, value = strings.TrimRight(texts[0], " :="), texts[0]+" ", texts[1]
	default:
		return k, false
	}
	s := field.SenseOf(name)
	if s.Field == field.Strand {
		if _, number := quantity.Whole(value); !number {
			s.Field = field.Link // as for columns: strands have numbers, links have names
		}
	}
	switch s.Field {
	case field.Link, field.Wavelength, field.Direction, field.Instrument, field.Source, field.Person, field.Date, field.Time, field.ReferenceDate, field.ReferenceTime:
	default:
		return k, false
	}
	if value == "" || len(before) > 60 || strings.ContainsAny(before, "{}*") || strings.ContainsFunc(before, source.IsControl) {
		return k, false
	}
	k = keyed{s.Field, fmt.Sprintf("%s{%s}", before, field.InUnit{Field: s.Field, Unit: s.Field.Unit()}.Name()), strings.Clone(value), r.Joined()}
	p, err := mapping.NewPattern(k.pattern)
	if err != nil {
		return k, false
	}
	_, ok = p.Match(r.Joined())
	return k, ok
}
