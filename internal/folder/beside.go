package folder

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/near"
)

// Schedule is the file of the schedule in a job that names none: links.csv, or the
// only other file of that name that can be read.
func (f *JobFolder) Schedule() string {
	if f.Exists(Links) {
		return Links
	}
	for _, other := range []string{"links.xlsx", "links.xlsm", "links.tsv", "links.txt"} {
		if f.Exists(other) {
			return other
		}
	}
	return Links
}

// AskUnread asks about what nothing is read from although its name is that of the
// job, of its schedule, or nearly that of another file or folder that a job may have.
func (f *JobFolder) AskUnread(schedule string) {
	f.askBeside(schedule)
	f.askMisnamed("terminations.csv", "inspections.csv", "originals.csv", "readings", "photos")
}

// askBeside asks about files that look like the job or its schedule beside the
// ones that are read.
func (f *JobFolder) askBeside(schedule string) {
	others := append([]string{"job.yml", "job.yaml.txt"}, "links.csv", "links.xlsx", "links.xlsm", "links.tsv", "links.txt", "links.xls", "links.ods")
	for _, name := range others {
		is := "the schedule"
		used := schedule
		if strings.HasPrefix(name, "job") {
			is, used = "the job", Job
		}
		if name == used || !f.Exists(name) || !f.Exists(used) {
			continue
		}
		f.list.Add(diag.Problem{Severity: diag.Question, Code: "not-read", Place: diag.Place{File: name},
			Message: fmt.Sprintf("nothing is read from this file: %s is read from %s", is, used), Fix: "keep one of the two in the job folder"})
	}
}

// askMisnamed asks about names in the job folder that are nearly those of files
// and folders that it may have: under a wrong name they would not be missed.
func (f *JobFolder) askMisnamed(optional ...string) {
	missing := slices.DeleteFunc(optional, f.Exists)
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil || len(missing) == 0 {
		return
	}
	known := near.New(missing)
	for _, e := range diag.First(entries, maxFiles) {
		if near := known.To(e.Name()); near != "" {
			f.list.Add(diag.Problem{Severity: diag.Question, Code: "not-read", Place: diag.Place{File: e.Name()}, Message: "no file of this name is read",
				Want: fmt.Sprintf("did you mean %q?", near)})
		}
	}
}
