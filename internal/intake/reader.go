package intake

import (
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/method"
	"spanseal/internal/near"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// reader is the state of one Read.
type reader struct {
	folder    *folder.JobFolder
	facts     *record.Facts
	list      *diag.List
	job       *jobfile.Contents
	scheduled string           // the name of the file of the schedule
	aliasUsed map[string]bool  // whether any file uses an alias
	zoneSaid  bool             // that job.time_zone is missing or wrong
	anyLink   bool             // there is no schedule, see ReadLoose, or it could not be read
	survey    bool             // what is still to be told stops no row, see Look
	tried     map[int32]bool   // in a survey, links of which a row gives no number
	more      bool             // a survey ended before a file did
	taken     int              // links that only files of readings name
	names     *near.Index      // of links
	index     map[string]int32 // of links by id
	strands   map[strand]int32 // of links by cable and strand; nil until one is asked for
	found     []found          // beside facts.Readings
	perLink   []int32          // how many readings each link has
	ways      method.Ways
	attempts  []attempt // rows that name a link and hold no number
	ahead     int64     // bytes of the files of readings that are still to be read
	showRows  int       // of each file, see AsRead
	asRead    []AsRead
	sources   map[string]*source.File
	pictured  map[string]int // inspections by the pictures that they name
}

func newReader() *reader {
	r := &reader{job: &jobfile.Contents{}, aliasUsed: map[string]bool{}, scheduled: folder.Links, facts: &record.Facts{}, list: &diag.List{}, names: near.New(nil), index: map[string]int32{}, sources: map[string]*source.File{}}
	r.facts.Job.Location = time.UTC
	return r
}

// origin of a fact in a file as a whole.
func origin(f *source.File) record.Origin {
	return record.Origin{File: f.Name, SHA256: f.SHA256Hex(), Size: int64(len(f.Raw))}
}
