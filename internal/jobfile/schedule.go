package jobfile

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// Schedule says how to read the schedule, if it is not a links.csv under our
// own headings: the key schedule of job.yaml. Any delimited text will do, and
// any sheet of a workbook.
type Schedule struct {
	Own        bool   // job.yaml has the key
	File       string // "" for the one that lies there
	Encoding   string
	Sheet      string
	HeaderLine int               // 0: the row that names most columns
	Columns    map[string]string // by field.HeadingName of the file's heading, to ours
	NoSeries   bool              // a name such as K1-01..K1-24 is that of one link
}

// Columns are those of a file that people keep under our own headings; "|" parts names
// of which one is enough.
type Columns struct {
	Required, Optional []string
	// Names are optional too, and nothing is judged by them: a heading that is near to
	// one may be a further column.
	Names []string
	// Further columns are carried as they are.
	Further bool
}

// Known are all columns with a name of ours, one by one.
func (c *Columns) Known() []string {
	known := slices.Concat(c.Optional, c.Names)
	for _, want := range c.Required {
		known = append(known, strings.Split(want, "|")...)
	}
	return known
}

// ArrayColumns say which position of a trunk a link is.
var ArrayColumns = []string{"trunk", "position", "far_position"}

// ScheduleColumns are those of links.csv.
var ScheduleColumns = Columns{
	Required: []string{"link", "from", "to", "fibre", "length_m|length_km|length_ft|length_kft", "mated_pairs", "splices", "end_a", "end_b"},
	Optional: []string{"cable", "tube", "strand", "applications", "limits", "pair", "polarity", "exempt", "stage", "trunk", "position", "far_position", "splitters", "splitter_leg",
		"reference", "reference_method", "test_cords", "launch", "software", "group_index", "witness"},
	Names:   record.NameKeys,
	Further: true,
}

func (r *reader) readSchedule(d *strict.YAML) func(*yaml.Node) {
	s := &r.Schedule
	return func(n *yaml.Node) {
		s.Own = true
		ks := strict.Keys{}
		for _, one := range ScheduleColumns.Known() {
			ks[one] = strict.Opt(func(n *yaml.Node) {
				var heading string
				if d.Text("schedule.columns", &heading)(n); heading != "" {
					if s.Columns == nil {
						s.Columns = map[string]string{}
					}
					s.Columns[field.HeadingName(heading)] = one
				}
			})
		}
		d.Object(n, "schedule", strict.Keys{
			"file": strict.Opt(func(n *yaml.Node) {
				d.Text("schedule.file", &s.File)(n)
				if !isScheduleFile(s.File) {
					d.Fault(n, "bad-value", fmt.Sprintf("%q cannot be the schedule", s.File), "want the name of a .csv, .tsv, .txt or .xlsx file in the job folder", "")
					s.File = ""
				}
			}),
			"encoding":    strict.Opt(mapping.ReadEncoding(d, &s.Encoding)),
			"sheet":       strict.Opt(d.Text("schedule.sheet", &s.Sheet)),
			"header_line": strict.Opt(d.Count("schedule.header_line", 1, 100_000, &s.HeaderLine)),
			"columns":     strict.Opt(d.Within("schedule.columns", ks)),
			"series": strict.Opt(func(n *yaml.Node) {
				series := true
				d.Yes("schedule.series", &series)(n)
				s.NoSeries = !series
			}),
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
