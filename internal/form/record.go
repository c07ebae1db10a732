package form

import (
	"cmp"
	"iter"
	"slices"

	"spanseal/internal/claim"
	"spanseal/internal/colour"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// RecordFormat names the form of the record attached to a certificate. A
// reader refuses what it does not know; a later form gets another number.
const RecordFormat = "spanseal-record/2"

// Record is what is known about one link: record.json, attached to its paper.
type Record struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"` // job number, "/", link
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Specimen    bool          `json:"specimen,omitempty"` // invented values: evidence of nothing
	Verdict     judge.Verdict `json:"verdict"`
	// Statements lead the paper: what was measured, when, and what it proves. Those
	// that follow say what failed first and passed when it was measured again.
	Statements []statement.Statement `json:"statements"`
	Job        RecordJob             `json:"job"`
	Link       record.Link           `json:"link"`
	// Coded are the colours that strand and tube have by their numbers.
	Coded *record.Coded `json:"coded,omitempty"`
	// Findings and Carries cite Workings, and Readings with their origin.
	Findings   []RecordFinding  `json:"findings"`
	Carries    []RecordCarries  `json:"carries,omitempty"`
	Workings   []*judge.Working `json:"workings,omitempty"`
	Readings   []record.Reading `json:"readings"`
	Superseded []record.Reading `json:"superseded,omitempty"`
	// Stages are readings of other stages of the work: beside those that count.
	Stages []record.Reading `json:"stages,omitempty"`
	// Cited are further readings that a finding rests on, or asks about.
	Cited        []record.Reading     `json:"cited,omitempty"`
	Terminations []record.Termination `json:"terminations,omitempty"`
	Inspections  []record.Inspection  `json:"inspections,omitempty"`
	// Originals are the files that instruments wrote of the link, each as it lies below
	// originals/.
	Originals []record.InstrumentFile `json:"originals,omitempty"`
	// Instruments and People are those that the link's facts name.
	Instruments []record.Instrument `json:"instruments,omitempty"`
	People      []record.Person     `json:"people,omitempty"`
	Cable       *record.Cable       `json:"cable,omitempty"`
	Trunk       *record.Trunk       `json:"trunk,omitempty"` // of which the link is a position
	Sets        []judge.SetUsed     `json:"sets"`
	// Ledger has every limit of every set that binds the link, and what became of it.
	Ledger []judge.LedgerEntry `json:"ledger,omitempty"`
}

// RecordJob is the part of the job that every record repeats.
type RecordJob struct {
	Number     string           `json:"number"`
	Title      string           `json:"title"`
	Site       record.Party     `json:"site"`
	Customer   record.Party     `json:"customer"`
	Contractor record.Party     `json:"contractor"`
	Invoice    string           `json:"invoice,omitempty"`
	Completed  record.Date      `json:"completed,omitzero"`
	Warranty   *record.Warranty `json:"warranty,omitempty"`
	TimeZone   string           `json:"time_zone,omitempty"`
	Stage      string           `json:"stage,omitempty"`
	Witness    string           `json:"witness,omitempty"`
	// Witnesses are those who watched on certain days.
	Witnesses []record.Witnessed `json:"witnesses,omitempty"`
	// Colours are those of the job's cables, by number.
	Colours *record.Colours `json:"colours,omitempty"`
	Policy  record.Policy   `json:"judge"`
}

// Record returns the record of a link.
func (w *Writer) Record(l *judge.LinkResult) *Record {
	job, losses := &w.Facts.Job, claim.LossesOf(l)
	r := &Record{
		Format:      RecordFormat,
		Certificate: w.CertificateNumber(l.Link.ID),
		Revision:    w.Revision,
		Issued:      w.IssuedOn(),
		Specimen:    w.Specimen,
		Verdict:     l.Verdict,
		Statements:  w.told(slices.Concat(claim.Link(job, l, losses.Places), losses.Retests())),
		Job: RecordJob{Number: job.Number, Title: job.Title, Site: job.Site, Customer: job.Customer, Contractor: job.Contractor, Invoice: job.Invoice,
			Completed: job.Completed, Warranty: job.Warranty, TimeZone: job.TimeZone,
			Stage: cmp.Or(l.Link.Stage, job.Stage), Witness: job.Witness, Witnesses: job.Witnesses, Colours: job.Colours, Policy: job.Policy},
		Link:         *l.Link,
		Coded:        coded(job, l.Link),
		Readings:     l.Readings,
		Superseded:   l.Superseded,
		Stages:       l.Stages,
		Terminations: l.Terminations,
		Inspections:  l.Inspections,
		Originals:    l.InstrumentFiles,
		Instruments:  w.instruments(l),
		People:       w.people(l),
		Sets:         w.confirmed(w.Judgement.SetsOf(l)),
		Ledger:       w.entries(l.Ledger),
	}
	if c, ok := job.Cable(l.Link.Cable); ok {
		r.Cable = &c
	}
	if l.Link.Array != nil {
		if t, ok := job.Trunk(l.Link.Trunk); ok {
			r.Trunk = &t
		}
	}
	r.cite(l, w.english)
	return r
}

// coded is what the job's colours say of a link, or nil.
func coded(job *record.Job, l *record.Link) *record.Coded {
	if code, ok := colour.Of(job.Colours, l); ok {
		return &code
	}
	return nil
}

// instruments are those named by a link's readings, in the job's order.
func (w *Writer) instruments(l *judge.LinkResult) []record.Instrument {
	named := map[string]bool{}
	for r := range EveryReading(l) {
		named[r.Instrument], named[r.Source] = true, true
	}
	var out []record.Instrument
	for _, i := range w.Facts.Job.Instruments {
		if named[i.ID] {
			out = append(out, i)
		}
	}
	return out
}

// EveryReading goes through the readings that count and those that do not.
func EveryReading(l *judge.LinkResult) iter.Seq[*record.Reading] {
	return func(yield func(*record.Reading) bool) {
		for _, list := range [][]record.Reading{l.Readings, l.Superseded, l.Stages} {
			for i := range list {
				if !yield(&list[i]) {
					return
				}
			}
		}
	}
}

// people are those named by a link's readings, terminations and inspections.
func (w *Writer) people(l *judge.LinkResult) []record.Person {
	named := map[string]bool{}
	for r := range EveryReading(l) {
		named[r.Person] = true
	}
	for _, t := range l.Terminations {
		named[t.Person] = true
	}
	for _, i := range l.Inspections {
		named[i.Person] = true
	}
	var out []record.Person
	for _, p := range w.Facts.Job.People {
		if named[p.ID] {
			out = append(out, p)
		}
	}
	return out
}
