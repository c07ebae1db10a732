// Package form writes the files of a revision that programs read: the record of each
// link, and the results of the job as JSON, CSV and a workbook.
//
// # record.json
//
// Attached to every certificate and nonconformance sheet, in the form
// "spanseal-record/2": the whole judgement of one link with its working and the
// origin of every reading. See [Record].
//
// # results.json
//
// In the form "spanseal-results/2", beside the papers and attached to the summary:
// the whole judgement without the working of each limit, which the record of its
// link has. See [Results].
//
// Both are UTF-8, keys in the order of the members of those types, numbers of
// readings and limits as strings of their digits. Each finding, working and reading
// stands on a line of its own; the levels above are broken into lines with two
// spaces of indent, and a line feed ends the text.
//
// # results.csv and results.xlsx
//
// One line a finding, then one for each reading that was superseded. See
// [Writer.WriteCSV] and [Writer.Workbook].
//
// The same facts, judgement and issue give the same bytes in all four. A reader
// refuses a form that it does not know; a later form gets another number.
//
// Packages issue (by way of change) and archive go through earlier results with
// [ResultsReader]. Package verify reads them by code of its own: what it is
// worth lies in owing nothing to what wrote them.
package form

import (
	"cmp"
	"sync"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/naming"
	"spanseal/internal/record"
	"spanseal/internal/statistics"
	"spanseal/internal/wording"
)

// Writer writes the files of one revision that programs read. [New] makes it ready.
// What becomes known of the issue may be filled in until the first file is written;
// from then on it is read only, by any number of goroutines.
type Writer struct {
	Facts     *record.Facts
	Judgement *judge.Judgement
	// Revision is the number of the issue, from one.
	Revision int
	// Issued is the day and zone of issue; no clock is read here.
	Issued time.Time
	Signer Signatory
	// Book holds the limit sets that name grades of connectors, for the
	// statistics; it may be nil.
	Book *limits.Book
	// Declared explains the files of readings that differ from those of the
	// revision before; package issue says which. Page one is to print it.
	Declared []record.Declared
	// Before holds the verdicts of the revision before, by link: what is counted
	// as accepted earlier. Nil for the first.
	Before map[string]judge.Verdict
	// Earlier is what the revision before states of pay items, or, if the job says which
	// was billed last, what that one states; nil where it states nothing.
	Earlier *Earlier
	// Specimen marks everything as a specimen: for approval before testing starts,
	// never evidence.
	Specimen bool

	english *wording.Wording            // of the texts in all files
	number  string                      // of a specimen, in the place of the job's
	names   map[string]naming.PaperName // link id → file name, without its extension
	// Worked out once, when first asked for.
	groups   func() []statistics.Group
	measured func() (first, last record.Date)
}

// New makes a writer ready: its texts are in that wording, and a specimen has that
// word in the place of the job's number.
func New(w Writer, english *wording.Wording, specimen string) *Writer {
	w.english, w.number = english, specimen
	// A pattern that is none is refused where it stands. The links of a specimen are
	// invented, and share what tells those of the job apart.
	if p, err := naming.Parse(w.Facts.Job.Documents.Name); err == nil && !p.IsZero() && !(w.Specimen && len(w.NameFaults()) > 0) {
		w.names = w.patterned(p)
	} else {
		w.names = fileNames(w.Judgement)
	}
	w.groups = sync.OnceValue(func() []statistics.Group {
		return statistics.Of(w.Facts, w.Judgement, cmp.Or(w.Book, &limits.Book{}))
	})
	w.measured = sync.OnceValues(w.measuredInAll)
	return &w
}

// Signatory is who signs the revision, as the paper names them.
type Signatory struct {
	Name         string
	Organisation string
	KeyID        string // short, such as "5F0C 91D2"
	Fingerprint  string // of the certificate, hex
}

// IssuedOn is the day of issue.
func (w *Writer) IssuedOn() record.Date { return record.DateOf(w.Issued) }

// CertificateNumber is the job number and the link; a specimen has no number.
func (w *Writer) CertificateNumber(link string) string {
	if w.Specimen {
		return w.number + "/" + link
	}
	return CertificateNumber(&w.Facts.Job, link)
}

// jobNumber is that of the job in the names of files; a specimen has the word.
func (w *Writer) jobNumber() string {
	if w.Specimen {
		return w.number
	}
	return w.Facts.Job.Number
}

// CertificateNumber is the number of a paper of the job: the job's number, "/" and
// the link.
func CertificateNumber(job *record.Job, link string) string { return job.Number + "/" + link }

// PathOf is where the paper of a link belongs, relative to the revision. A name by a
// pattern may hold the number of the revision, which is to be known then.
func (w *Writer) PathOf(l *judge.LinkResult) string {
	folder := "nonconformance/"
	if l.Verdict.Certifiable() {
		folder = "certificates/"
	}
	return folder + w.names[l.Link.ID].In(w.Revision) + ".pdf"
}

// LossGroups are the statistics of the losses.
func (w *Writer) LossGroups() []statistics.Group { return w.groups() }

// MeasuredOn returns the first and last day of the readings in the job's zone.
func (w *Writer) MeasuredOn(readings []record.Reading) (first, last record.Date) {
	for _, r := range readings {
		d := record.DateOf(w.Local(r.Time))
		if d.IsZero() {
			continue
		}
		if first.IsZero() || d.Before(first) {
			first = d
		}
		if d.After(last) {
			last = d
		}
	}
	return first, last
}

// MeasuredInAll returns the first and last day of all readings that count.
func (w *Writer) MeasuredInAll() (first, last record.Date) { return w.measured() }

func (w *Writer) measuredInAll() (first, last record.Date) {
	for _, l := range w.Judgement.Results() {
		from, to := w.MeasuredOn(l.Readings)
		if first.IsZero() || !from.IsZero() && from.Before(first) {
			first = from
		}
		if to.After(last) {
			last = to
		}
	}
	return first, last
}

// Local is the instant in the job's zone; a day without an hour stays that day.
func (w *Writer) Local(t time.Time) time.Time {
	if loc := w.Facts.Job.Location; loc != nil && !t.IsZero() && !record.DayOnly(t) {
		return t.In(loc)
	}
	return t
}

// Person is a person's name, or what the file wrote.
func (w *Writer) Person(id string) string {
	if p, ok := w.Facts.Job.Person(id); ok {
		return p.Name
	}
	return id
}
