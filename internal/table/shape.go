package table

import (
	"fmt"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// Shape is what is known of how a text file lays its rows out; the zero shape is
// delimited text whose delimiter is told from the bytes.
type Shape struct {
	Delimiter  byte     // 0: told from the bytes
	FixedWidth []int    // the characters at which columns begin, from one
	Report     []string // the keys that begin a record of a report
	Filled     []string // and keys whose values hold for several records
	List       string   // the path of a JSON file's list; "" the only one
	// Knows recognises the heading of a column, and least is how many columns a row
	// must have at least: they help to tell the delimiter.
	Knows func(heading string) bool
	Least int
}

// OpenText makes a table of a text file, and says how it came to it.
func OpenText(f *source.File, s Shape) (Table, string, *diag.Problem) {
	switch {
	case len(s.FixedWidth) > 0:
		return NewFixedWidth(f, s.FixedWidth), fmt.Sprintf("%s, by the characters at which they begin", diag.Plural(len(s.FixedWidth), "column")), nil
	case len(s.Report) > 0:
		t, how, problem := OpenReport(f, s.Report, s.Filled)
		if problem != nil { // a nil *report would be no nil table
			return nil, "", problem
		}
		return t, how, nil
	case IsJSON(f.Name):
		t, how, problem := OpenJSON(f, s.List)
		if problem != nil {
			return nil, "", problem
		}
		return t, how, nil
	}
	t, how, problem := OpenDelimited(f, s)
	if problem != nil {
		return nil, "", problem
	}
	return t, how, nil
}

// HeadingSearch is how many rows at the start may hold the heading.
const HeadingSearch = 200
