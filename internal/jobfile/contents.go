package jobfile

import (
	"time"

	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/mapping"
	"spanseal/internal/original"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// Contents are what job.yaml says. The zero Contents are those of no job folder.
type Contents struct {
	File      *source.File // nil if it is missing
	Parsed    bool         // it is YAML that could be read, whatever it says
	Job       record.Job
	WrongZone bool // job.time_zone is there and names no zone
	Schedule  Schedule
	Mappings  []*mapping.Mapping  // the entries of readings
	Originals []*original.Pattern // of the instruments' own files
	Aliases   map[string]Alias    // by the name in a file; nil without the key
	Company   *record.Company     // nil if job.yaml names no company file, or none that can be read

	laid *company.Laid
}

// Alias is a name that the files use for a link.
type Alias struct {
	Link  string // its id
	Place diag.Place
}

// reader is the state of one Read.
type reader struct {
	*Contents
	folder  *folder.JobFolder
	list    *diag.List
	probing bool // only the company file is read, for its faults
}

func newReader(in *folder.JobFolder, list *diag.List) *reader {
	r := &reader{Contents: &Contents{}, folder: in, list: list}
	r.Job.Location = time.UTC
	return r
}
