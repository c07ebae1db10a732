// Package intake turns a job folder into facts or into problems, and never
// guesses silently.
//
// [Read] reads every file before the first complaint: job.yaml, links.csv,
// terminations.csv, inspections.csv, the files of readings/ as the mappings of
// job.yaml say, photos/, and the files that instruments wrote. What it returns is only fit to judge when the list of problems holds
// no error.
//
// # From bytes to readings
//
//	folder     a file's bytes: regular, of bounded size, inside the job folder
//	encoding   bytes as UTF-8 text
//	table      rows of cells, each with its place: delimited text, sheets, YAML
//	heading    which column is which field, in which unit
//	assembler  rows into readings, by one mapping
//	retests    which reading of several counts
//
// Every row below the heading ends as used, superseded, refused or blank, and
// an account of each file says how many of each. An empty cell is no reading; so
// is a text that the mapping lists under not_measured, unless an earlier reading
// of the same would count: then it is asked what came of the later one. A text
// under over_range is a reading with the worst number. A bound such as <0.05
// counts as the worst that it can be. Anything else that is not a number is an
// error, never zero.
//
// # What is concluded, what is asked
//
// The delimiter, the line of the heading and the decimal mark are told from the
// whole file when the mapping does not name them, and the account says so. Where
// the bytes leave more than one honest answer (the order of day and month, 1,234
// in a column of lengths, an 8-bit encoding, a text in brackets that is no unit,
// a number that a comma may have cut in two, dates of which a part is text) the
// answer is asked for as an error. Where a reading may be another thing than it
// was taken for (a constant column, the heading of a limit, a verdict of the
// file's own), it is asked as a question.
//
// # Bounds
//
// All files of a job: 2 GB. Text files of readings, links.csv and
// terminations.csv: 100 MB each; JSON, of which 800,000 values are held, and
// reports of keys: 20 MB. YAML, which is held as a whole: 2 MB. Workbooks: 200
// MB; unpacked 20 MB, or 60 times their size up to 2 GB. A transposed table: a
// million cells. Photos: 20 MB. Files of instruments: see package folder. A million files in a folder, 4096 columns and 1
// MB a row. 200,000 links, 10,000 in one series, 10,000 readings of each. Of one code, a thousand
// problems of a file are kept and the rest counted; behind 20,000 faults the
// rows of a file are only counted.
package intake

import (
	"path/filepath"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/record"
)

// Options are what a caller may choose; the zero Options reads the whole job.
type Options struct {
	// WithoutPhotos leaves photos/ and the instruments' own files unread, for commands
	// that show none.
	WithoutPhotos bool
	// Show is how many rows of each file are handed to AsRead.
	Show   int
	AsRead func(AsRead)
}

// Read reads the job folder dir. The facts are never nil; where the list has
// errors they are what could be read, not fit to judge.
func Read(dir string, opt Options) (*record.Facts, *diag.List) {
	r := newReader()
	var err error
	if r.folder, err = folder.Open(dir, r.list); err != nil {
		r.list.Add(diag.Problem{
			Code: "no-job-folder", Place: diag.Place{File: filepath.ToSlash(dir)},
			Message: "the job folder cannot be opened: " + err.Error(),
			Fix:     "name a folder that holds job.yaml, or make one with: spanseal new " + filepath.ToSlash(dir),
		})
		return r.facts, r.list
	}
	defer r.folder.Close()
	r.job = jobfile.Read(r.folder, r.list)
	r.facts.Job, r.facts.Company = r.job.Job, r.job.Company
	r.zoneSaid = r.job.WrongZone // which need not be called a missing one in every row
	r.readLinks()
	r.readTerminations()
	r.readInspections()
	r.showRows = opt.Show
	r.readReadings()
	for _, as := range r.asRead {
		opt.AsRead(as)
	}
	if !opt.WithoutPhotos {
		r.readPhotos()
		r.readInstrumentFiles()
	}
	r.askGiven()
	r.folder.AskUnread(r.scheduleFile())
	r.job.Take(r.folder, r.facts)
	r.facts.Originals = r.folder.Originals()
	r.list.Join(folder.CheckNames(r.facts.Originals))
	r.list.Compact()
	return r.facts, r.list
}
