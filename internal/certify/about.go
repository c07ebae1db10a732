package certify

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/record"
)

// About is who and what a job's results are about, so that they can be found
// again years later without the job's own files.
type About struct {
	Site        record.Party        `json:"site"`
	Customer    record.Party        `json:"customer"`
	Contractor  record.Party        `json:"contractor"`
	Invoice     string              `json:"invoice,omitempty"`
	Instruments []record.Instrument `json:"instruments,omitempty"`
	People      []record.Person     `json:"people,omitempty"`
}

// Use is one way in which a link was measured: with which meter and light
// source, by whom and on which day. All but the day are ids of the job.
type Use struct {
	Instrument string      `json:"instrument,omitempty"`
	Source     string      `json:"source,omitempty"`
	Person     string      `json:"person,omitempty"`
	Day        record.Date `json:"day,omitzero"` // in the job's zone
}

// about describes a job.
func about(job *record.Job) About {
	return About{job.Site, job.Customer, job.Contractor, job.Invoice, job.Instruments, job.People}
}

// usesOf lists, each once and in order, how the readings that count were
// taken. Whoever recalls an instrument asks for this.
func usesOf(job *record.Job, readings []record.Reading) []Use {
	var uses []Use
	for _, r := range readings {
		at := r.Time
		if job.Location != nil && !at.IsZero() {
			at = at.In(job.Location)
		}
		if u := (Use{r.Instrument, r.Source, r.Person, record.DateOf(at)}); u != (Use{}) && !slices.Contains(uses, u) {
			uses = append(uses, u)
		}
	}
	slices.SortFunc(uses, func(a, b Use) int {
		return cmp.Or(a.Day.Time().Compare(b.Day.Time()), strings.Compare(a.Instrument, b.Instrument),
			strings.Compare(a.Source, b.Source), strings.Compare(a.Person, b.Person))
	})
	return uses
}
