package folder

import (
	"cmp"
	"fmt"
	"path"
	"slices"

	"spanseal/internal/diag"
)

// The names of the files that every job has.
const (
	Job   = "job.yaml"
	Links = "links.csv" // the schedule, unless job.yaml names another file
)

// newFile says how to come by a file that every job has.
var newFile = map[string]string{
	Job:   "name the folder that holds the job, or make one to fill in: spanseal new FOLDER",
	Links: "list every link that must be certified in it; spanseal new FOLDER writes one to fill in",
}

// otherNames are under which people keep a file that a job must have.
var otherNames = map[string][]string{
	Job:   {"job.yml", "Job.yaml", "JOB.YAML", "job.yaml.txt", "job.txt", "job.json"},
	Links: {"Links.csv", "LINKS.CSV", "link.csv", "links.csv.txt", "links.xls", "links.ods", "links.numbers"},
}

// missing says where the content of a missing file may be, or how to come by it.
func missing(name string, exists func(string) bool) *diag.Problem {
	at := slices.IndexFunc(otherNames[name], exists)
	if at < 0 {
		return &diag.Problem{Code: "missing-file", Message: "the file is missing", Fix: cmp.Or(newFile[name], "name an existing file")}
	}
	other := otherNames[name][at]
	p := &diag.Problem{Code: "missing-file", Message: fmt.Sprintf("the file is missing; %s is there, but is not read", other),
		Fix: fmt.Sprintf("rename %s to %s", other, name)}
	switch path.Ext(other) {
	case ".xls", ".ods", ".numbers":
		p.Fix = fmt.Sprintf("save %s as links.xlsx or links.csv", other)
	case ".json":
		p.Fix = fmt.Sprintf("write what it says into %s; spanseal new writes one to fill in", name)
	}
	return p
}
