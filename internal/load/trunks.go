package load

import (
	"fmt"
	"io/fs"
	"path"
	"strings"
	"sync"

	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/near"
	"spanseal/internal/polarity"
	"spanseal/templates"
)

// polarities are the tables of polarity that come with the program, by their ids, and
// their files.
var polarities = sync.OnceValues(func() (all []*polarity.Table, raw map[string][]byte) {
	names, err := fs.Glob(templates.Files, "polarity/*.yaml")
	if err != nil {
		panic(err) // the pattern is ours
	}
	raw = map[string][]byte{}
	for _, name := range names {
		data, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			panic(err) // the folder is embedded
		}
		t, err := polarity.Parse(data)
		if err != nil {
			panic(name + ": " + err.Error())
		}
		all, raw[t.ID] = append(all, t), data
	}
	return all, raw
})

// trunks settles the polarity of each trunk of the job, and keeps the tables that it
// rests on as evidence.
func (j *JudgedJob) trunks() *diag.List {
	list := &diag.List{}
	all, raw := polarities()
	for i := range j.Facts.Job.Trunks {
		t := &j.Facts.Job.Trunks[i]
		if t.Polarity == "" {
			continue
		}
		var ids []string
		known := false
		for _, table := range all {
			if ids = append(ids, table.ID); table.ID == t.Polarity {
				known, t.Method, t.Far = true, table.Title, table.Far[polarity.FaceOf(t.Fibres).Places]
				j.keep(path.Join("polarity", table.ID+".yaml"), raw[table.ID])
			}
		}
		if !known {
			want := "want one of " + strings.Join(ids, ", ")
			if id := near.Word(t.Polarity, ids); id != "" {
				want = fmt.Sprintf("did you mean %q?", id)
			}
			list.Add(diag.Problem{Code: "unknown-table", Place: jobfile.PlaceOf(j.Facts, fmt.Sprintf("trunks[%d].polarity", i)),
				Message: fmt.Sprintf("%q is not a built-in polarity", t.Polarity), Want: want, Fix: "name a built-in one, or give the owner's own under method and far"})
		}
	}
	return list
}
