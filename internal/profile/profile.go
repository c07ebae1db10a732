// Package profile sums up what stands in a column of a table: of which type most cells
// are, the least and the greatest of them, how many differ, and the texts that are
// not of the type. It shows at a glance that a column was taken for the wrong thing.
//
// What a text is, a number or a time, is for the caller to say. What is kept of a
// column is bounded: see [Counter].
package profile

import (
	"slices"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/written"
)

// Column is the profile of one column, over all rows of a table.
type Column struct {
	Number int // from one
	Name   string
	Fields []string // what it was read as; none where it was not
	Values int      // cells that hold something
	Empty  int      // cells of rows that hold something elsewhere
	Type   string   // "number", "time", "text" or "": empty
	// Least and Greatest of those that are of the type.
	Least, Greatest string
	Distinct        int
	AtLeast         bool     // there are more than Distinct
	Others          []string // the first few texts that are not of the type
	OtherCount      int
}

// Constant reports that the same stands in every row.
func (c *Column) Constant() bool {
	return c.Distinct == 1 && c.Values > 1 && c.Empty == 0 && !c.AtLeast
}

const (
	maxDistinct = 1000 // different values of a column that are counted
	maxOthers   = 3
)

// Counter is a column while it is read. It keeps at most a thousand different texts;
// the zero Counter is ready.
type Counter struct {
	values, empty    int
	numbers, times   int
	least, greatest  [3]string // as texts, numbers and times
	low, high        quantity.Decimal
	early, late      written.Clock
	distinct         map[string]bool
	full             bool
	notNumber, other []string // texts that are no numbers; neither numbers nor times
}

// Take counts one cell. Number and clock read a text, or say why it is none.
func (p *Counter) Take(text string, number func(string) (quantity.Decimal, error), clock func(string) (written.Clock, error)) {
	if text == "" {
		p.empty++
		return
	}
	p.values++
	if !p.distinct[text] {
		if len(p.distinct) < maxDistinct {
			text = strings.Clone(text) // the row that it is of is not kept
			if p.distinct == nil {
				p.distinct = map[string]bool{}
			}
			p.distinct[text] = true
		} else {
			p.full = true
		}
	}
	p.span(0, text, p.values == 1, text < p.least[0], text > p.greatest[0])
	if v, err := number(text); err == nil {
		p.numbers++
		less, more := v.Less(p.low), p.high.Less(v)
		if p.numbers == 1 || less {
			p.low = v
		}
		if p.numbers == 1 || more {
			p.high = v
		}
		p.span(1, text, p.numbers == 1, less, more)
		return
	}
	p.notNumber = another(p.notNumber, text)
	w, err := clock(text)
	if err != nil {
		p.other = another(p.other, text)
		return
	}
	p.times++
	first := p.times == 1
	less, more := w.Before(p.early), p.late.Before(w)
	if first || less {
		p.early = w
	}
	if first || more {
		p.late = w
	}
	p.span(2, text, first, less, more)
}

func (p *Counter) span(kind int, text string, first, less, more bool) {
	if first || less {
		p.least[kind] = strings.Clone(text)
	}
	if first || more {
		p.greatest[kind] = strings.Clone(text)
	}
}

// another keeps the first few different texts.
func another(list []string, text string) []string {
	if len(list) == maxOthers || slices.Contains(list, text) {
		return list
	}
	return append(list, strings.Clone(text))
}

// Column sums the column up: its number, from one, its name, and what it was read as. A column is of the type that most of its cells are.
func (p *Counter) Column(number int, name string, fields []string) Column {
	c := Column{Number: number, Name: name, Fields: fields, Values: p.values, Empty: p.empty, Distinct: len(p.distinct), AtLeast: p.full}
	kind := 0
	switch {
	case p.values == 0:
		return c
	case 2*p.numbers >= p.values:
		kind, c.Type, c.Others, c.OtherCount = 1, "number", p.notNumber, p.values-p.numbers
	case 2*p.times >= p.values:
		kind, c.Type, c.Others, c.OtherCount = 2, "time", p.other, p.values-p.times
	default:
		c.Type = "text"
	}
	c.Least, c.Greatest = p.least[kind], p.greatest[kind]
	return c
}
