package intake

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// schedule says how to read the schedule, where it is not a links.csv under our
// own headings: the key schedule of job.yaml. Any delimited text will do, and
// any sheet of a workbook.
type schedule struct {
	file       string
	place      diag.Place // of file
	encoding   string
	sheet      string
	headerLine int               // 0: the row that names most columns
	columns    map[string]string // by headingName of the file's heading, to ours
	own        bool              // job.yaml has the key
}

// scheduleColumns are those of links.csv.
var scheduleColumns = struct{ required, optional []string }{
	[]string{"link", "from", "to", "fibre", "length_m|length_km|length_ft|length_kft", "mated_pairs", "splices", "end_a", "end_b"},
	[]string{"cable", "tube", "strand", "applications", "limits", "pair", "polarity", "exempt", "stage"},
}

func (r *reader) readSchedule(d *strict.Document) func(*yaml.Node) {
	s := &r.schedule
	return func(n *yaml.Node) {
		s.own = true
		ks := strict.Keys{}
		for _, name := range append(slices.Clone(scheduleColumns.required), scheduleColumns.optional...) {
			for _, one := range strings.Split(name, "|") {
				ks[one] = strict.Opt(func(n *yaml.Node) {
					var heading string
					if d.Text("schedule.columns", &heading)(n); heading != "" {
						if s.columns == nil {
							s.columns = map[string]string{}
						}
						s.columns[field.HeadingName(heading)] = one
					}
				})
			}
		}
		d.Object(n, "schedule", strict.Keys{
			"file": strict.Opt(func(n *yaml.Node) {
				d.Text("schedule.file", &s.file)(n)
				s.place = d.At(n)
				if !isScheduleFile(s.file) {
					d.Fault(n, "bad-value", fmt.Sprintf("%q cannot be the schedule", s.file), "want the name of a .csv, .tsv, .txt or .xlsx file in the job folder", "")
					s.file = ""
				}
			}),
			"encoding":    strict.Opt(mapping.ReadEncoding(d, &s.encoding)),
			"sheet":       strict.Opt(d.Text("schedule.sheet", &s.sheet)),
			"header_line": strict.Opt(d.Count("schedule.header_line", 1, 100_000, &s.headerLine)),
			"columns":     strict.Opt(d.Within("schedule.columns", ks)),
		})
	}
}

func isScheduleFile(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".csv", ".tsv", ".txt", ".xlsx", ".xlsm":
		return name == path.Clean(name) && !strings.HasPrefix(name, "/") && !strings.HasPrefix(name, "..") && !strings.HasPrefix(name, "readings/")
	}
	return false
}

// scheduleFile is the file of the schedule: the one that job.yaml names, or the
// one that lies there.
func (r *reader) scheduleFile() string {
	if r.schedule.file != "" {
		return r.schedule.file
	}
	return r.folder.Schedule()
}

// scheduleSheet makes a table of the schedule's workbook: of the sheet that
// job.yaml names, or of the only one that holds anything.
func (r *reader) scheduleSheet(f *source.File) *table.Sheet {
	c := sheetChoice{
		wrong: "correct sheet under schedule in job.yaml", which: "name the one of the schedule in job.yaml: schedule: {sheet: NAME}",
	}
	if name := r.schedule.sheet; name != "" {
		c.named, c.says = name+", as job.yaml says", func(sheet string) bool { return sheet == name }
	}
	b, chosen := r.chooseSheets(f, c)
	if len(chosen) == 0 {
		return nil
	}
	return table.NewSheet(f, b, chosen[0])
}
