package load

import (
	"fmt"
	"io/fs"
	"path"
	"strings"
	"sync"

	"spanseal/internal/colour"
	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/near"
	"spanseal/templates"
)

// colourTables are those that come with the program, in the order of their ids, each
// with its file.
var colourTables = sync.OnceValue(func() (all []colourTable) {
	names, err := fs.Glob(templates.Files, "colours/*.yaml")
	if err != nil {
		panic(err) // the pattern is ours
	}
	for _, name := range names {
		raw, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			panic(err) // the folder is embedded
		}
		t, err := colour.Parse(raw)
		if err != nil {
			panic(name + ": " + err.Error())
		}
		all = append(all, colourTable{t, name, raw})
	}
	return all
})

type colourTable struct {
	*colour.Table
	name string
	raw  []byte
}

// colours settles the table of colours that the job names, and keeps it as evidence.
func (j *JudgedJob) colours() *diag.List {
	list, c := &diag.List{}, j.Facts.Job.Colours
	if c == nil {
		return list
	}
	known := c.Table == ""
	var ids []string
	for _, t := range colourTables() {
		t.Settle(c)
		if ids = append(ids, t.ID); c.Table == t.ID {
			known = true
			j.keep(path.Join("colours", path.Base(t.name)), t.raw)
		}
	}
	if !known {
		want := "want " + strings.Join(ids, " or ")
		if id := near.Word(c.Table, ids); id != "" {
			want = fmt.Sprintf("did you mean %q?", id)
		}
		at := jobfile.PlaceOf(j.Facts, "colours.table")
		list.Add(diag.Problem{Code: "unknown-table", Place: at, Message: fmt.Sprintf("%q is not a built-in colour table", c.Table), Want: want,
			Fix: "name a built-in one, or give the owner's own under title and sequence"})
	}
	return list
}
