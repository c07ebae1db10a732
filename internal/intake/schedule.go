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

// scheduleFile is the file of the schedule: the one that job.yaml names, or
// links.csv, or the only other file of that name that can be read.
func (r *reader) scheduleFile() string {
	if r.schedule.file != "" {
		return r.schedule.file
	}
	if r.folder.exists(linksFile) {
		return linksFile
	}
	for _, other := range []string{"links.xlsx", "links.xlsm", "links.tsv", "links.txt"} {
		if r.folder.exists(other) {
			return other
		}
	}
	return linksFile
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

// otherNames are under which people keep a file that a job must have.
var otherNames = map[string][]string{
	jobFile:   {"job.yml", "Job.yaml", "JOB.YAML", "job.yaml.txt", "job.txt", "job.json"},
	linksFile: {"Links.csv", "LINKS.CSV", "link.csv", "links.csv.txt", "links.xls", "links.ods", "links.numbers"},
}

// otherName finds such a file beside the job.
func (f *folder) otherName(name string) string {
	for _, other := range otherNames[name] {
		if f.exists(other) {
			return other
		}
	}
	return ""
}

// missing says where the content of a missing file may be.
func (f *folder) missing(name string) *diag.Problem {
	other := f.otherName(name)
	if other == "" {
		return nil
	}
	p := &diag.Problem{Code: "missing-file", Message: fmt.Sprintf("the file is not there, but %s is, from which nothing is read", other),
		Fix: fmt.Sprintf("rename %s to %s", other, name)}
	switch path.Ext(other) {
	case ".xls", ".ods", ".numbers":
		p.Fix = fmt.Sprintf("save %s as links.xlsx or links.csv", other)
	case ".json":
		p.Fix = fmt.Sprintf("write what it says into %s; spanseal new writes one to fill in", name)
	}
	return p
}

// askBeside asks about files that look like the job or its schedule beside the
// ones that are read.
func (r *reader) askBeside() {
	read := r.scheduleFile()
	others := append([]string{"job.yml", "job.yaml.txt"}, "links.csv", "links.xlsx", "links.xlsm", "links.tsv", "links.txt", "links.xls", "links.ods")
	for _, name := range others {
		is := "the schedule"
		used := read
		if strings.HasPrefix(name, "job") {
			is, used = "the job", jobFile
		}
		if name == used || !r.folder.exists(name) || !r.folder.exists(used) {
			continue
		}
		r.list.Add(diag.Problem{Severity: diag.Question, Code: "not-read", Place: diag.Place{File: name},
			Message: fmt.Sprintf("nothing is read from this file: %s is read from %s", is, used), Fix: "keep one of the two in the job folder"})
	}
}
