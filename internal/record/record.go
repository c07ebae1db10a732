// Package record is the facts of a job: the job itself, its people,
// instruments and cables, the schedule of links, readings and terminations.
// It holds no opinions: nothing here knows whether a loss is good.
//
// Numbers are decimals as written (see package quantity). Loss is positive dB,
// reflectance negative dB, length metres. Every fact that came from a file
// carries its [Origin]. All types encode to JSON with stable names; that JSON
// is part of the record attached to each certificate.
package record

// Facts is all that intake read from a job folder.
type Facts struct {
	Job          Job
	Company      *Company      // nil if the job names none
	Links        []Link        // in schedule order
	Readings     []Reading     // in order of file name and row
	Terminations []Termination // in file order
	Inspections  []Inspection  // in file order
	Photos       []Photo
	Accounts     []Account // by file name
	// InstrumentFiles are by file name; Kept are the files themselves.
	InstrumentFiles []InstrumentFile
	Kept            []KeptFile
	Originals       []Original // every other file that was read, photos and shared mappings too; by name
}

// Made returns the terminations of each link by its id, in file order.
func (f *Facts) Made() map[string][]Termination {
	made := make(map[string][]Termination, len(f.Links))
	for _, t := range f.Terminations {
		made[t.Link] = append(made[t.Link], t)
	}
	return made
}

// Inspected returns the inspections of each link by its id, in file order.
func (f *Facts) Inspected() map[string][]Inspection {
	if len(f.Inspections) == 0 {
		return nil
	}
	of := map[string][]Inspection{}
	for _, i := range f.Inspections {
		of[i.Link] = append(of[i.Link], i)
	}
	return of
}

// OfInstruments returns the instruments' files of each link by its id, by file name.
func (f *Facts) OfInstruments() map[string][]InstrumentFile {
	if len(f.InstrumentFiles) == 0 {
		return nil
	}
	of := map[string][]InstrumentFile{}
	for _, i := range f.InstrumentFiles {
		of[i.Link] = append(of[i.Link], i)
	}
	return of
}

// Account is what became of the rows of one file of readings.
// Rows = Used + Superseded + Refused + Blank. A row of another stage is used.
type Account struct {
	File       string `json:"file"`
	SHA256     string `json:"sha256"`
	Size       int64  `json:"size"`
	Rows       int    `json:"rows"`
	Used       int    `json:"used"`
	Superseded int    `json:"superseded"`
	Refused    int    `json:"refused"`
	Blank      int    `json:"blank"`
	// Concluded lists what was told from the bytes, for check -v.
	Concluded []string `json:"concluded,omitempty"`
}

// Company is the file from which a job took what it does not say itself.
type Company struct {
	File string   // relative to the job folder, such as ../company.yaml
	Name string   // as job.yaml has it
	Dir  string   // the folder in which it lies
	Data []byte   // it may hold prices, and is not handed over
	Took []string // the keys of what was taken, and how many people and instruments
}
