package intake

import (
	"fmt"
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// sheetChoice is what a job says of the sheets of a workbook.
type sheetChoice struct {
	says    func(sheet string) bool // whether it names a sheet; nil if it names none
	named   string                  // what it names, and where
	several bool                    // it may name several
	wrong   string                  // the way out if no sheet has such a name,
	which   string                  // and if one is to be named
}

// chooseSheets returns the sheets that are named, or the only one that holds
// anything, or none after adding a problem.
func (r *reader) chooseSheets(f *source.File, c sheetChoice) (*table.Workbook, []table.BookSheet) {
	b, err := table.OpenBook(f)
	if err != nil {
		r.list.Add(table.BrokenBook(f, err))
		return nil, nil
	}
	fail := func(p diag.Problem) (*table.Workbook, []table.BookSheet) {
		p.Place = diag.Place{File: f.Name}
		r.list.Add(p)
		return nil, nil
	}
	var chosen []table.BookSheet
	if c.says == nil {
		chosen = table.FilledSheets(f, b)
	} else {
		chosen = slices.DeleteFunc(slices.Clone(b.Sheets), func(s table.BookSheet) bool { return !c.says(s.Name) })
		if len(chosen) == 0 {
			return fail(diag.Problem{Code: "no-such-sheet", Message: "no sheet is named " + c.named, Want: "it has " + table.NamesOfSheets(b.Sheets), Fix: c.wrong})
		}
	}
	switch {
	case len(chosen) == 0:
		return fail(diag.Problem{Code: "empty-file", Message: "every sheet of the workbook is empty"})
	case len(chosen) == 1 || c.says != nil && c.several:
		return b, chosen
	}
	return fail(diag.Problem{Code: "which-sheet", Message: fmt.Sprintf("%s hold something: %s", diag.Plural(len(chosen), "sheet"), table.NamesOfSheets(chosen)), Fix: c.which})
}

// readWorkbook reads the sheets that the mapping names, or the only one that
// holds anything.
func (r *reader) readWorkbook(f *source.File, m *mapping.Mapping, account *record.Account) {
	c := sheetChoice{
		several: true, wrong: "correct sheet in the file's readings entry",
		which: `name one under sheet in the file's readings entry, or set sheet: "*" for all of them`,
	}
	if m.Sheet != nil {
		c.named = m.Sheet.Text + ", as the mapping says"
		c.says = func(sheet string) bool { _, ok := m.Sheet.Match(sheet); return ok }
	}
	b, chosen := r.chooseSheets(f, c)
	if m.Sheet == nil && len(chosen) == 1 {
		account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q: all others are empty", chosen[0].Name))
	}
	for _, s := range chosen {
		if len(chosen) > 1 {
			account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q", s.Name))
		}
		t := table.NewSheet(f, b, s)
		before := len(r.facts.Readings)
		r.assembleTurned(t, m, f, account)
		if len(r.facts.Readings) > before {
			r.askHidden(t)
		}
	}
}

// askHidden asks about what gave readings of a sheet and nobody sees who opens it.
func (r *reader) askHidden(t *table.Worksheet) {
	ask := func(code string, at, column int, message, fix string) {
		r.list.Add(diag.Problem{Severity: diag.Question, Code: code, Place: diag.Place{File: t.File.Name, Cell: table.CellIn(t.Name, at, column-1)}, Message: message, Fix: fix})
	}
	if t.Hidden {
		ask("hidden-sheet", 1, 1, "this sheet is hidden, and read all the same",
			"show it and look at it; name another under sheet in the file's readings entry if it is not to be read")
	}
	if len(t.HiddenRows) > 0 {
		ask("hidden-rows", t.HiddenRows[0], 1, fmt.Sprintf("rows of this sheet are hidden, by a filter or by hand, and read all the same: %s from here on", diag.Plural(len(t.HiddenRows), "row")),
			"show all rows and look at them; leave out under ignore_rows what is not to be read")
	}
	away := slices.DeleteFunc(t.Read, func(column int) bool {
		return !slices.ContainsFunc(t.HiddenColumns, func(span [2]int) bool { return span[0] <= column && column <= span[1] })
	})
	if len(away) > 0 {
		ask("hidden-columns", 1, away[0], fmt.Sprintf("columns of this sheet are hidden, and read all the same: %s from here on", diag.Plural(len(away), "column")),
			"show all columns and look at them; map others if these are not to be read")
	}
}
