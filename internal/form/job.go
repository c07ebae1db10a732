package form

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/quantity"
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
	// The rest is what the next revision is compared with.
	Cables         []record.Cable   `json:"cables,omitempty"`
	Completed      record.Date      `json:"completed,omitzero"`
	Deadline       record.Date      `json:"deadline,omitzero"`
	TimeZone       string           `json:"time_zone,omitempty"`
	WarrantyMonths int              `json:"warranty_months,omitempty"`
	Warranty       *record.Warranty `json:"warranty,omitempty"` // its windows
	Stage          string           `json:"stage,omitempty"`
	Witness        string           `json:"witness,omitempty"`
	// Witnesses are those who watched on certain days.
	Witnesses []record.Witnessed `json:"witnesses,omitempty"`
	Trunks    []record.Trunk     `json:"trunks,omitempty"`
	Colours   *record.Colours    `json:"colours,omitempty"`
	Policy    record.Policy      `json:"judge"`
	Pay       AboutPay           `json:"pay,omitzero"`
	Documents AboutDocuments     `json:"documents,omitzero"`
	Signer    AboutSigner        `json:"signer,omitzero"`
}

// AboutPay is how the order pays for the work.
type AboutPay struct {
	Currency  string            `json:"currency,omitempty"`
	Retainage *quantity.Decimal `json:"retainage_percent,omitempty"`
	// Billed is the revision whose statement was billed last, such as "r1", or "none".
	Billed   string           `json:"billed,omitempty"`
	Period   record.Period    `json:"period,omitzero"`
	Releases []record.Release `json:"releases,omitempty"`
	Items    []AboutItem      `json:"items,omitempty"`
}

// IsZero reports whether nothing is paid by quantity.
func (p AboutPay) IsZero() bool {
	return p.Currency == "" && p.Retainage == nil && p.Items == nil && p.Billed == "" && p.Period.IsZero() && p.Releases == nil
}

// AboutItem is one line of the order that is paid by quantity.
type AboutItem struct {
	Line  string            `json:"line,omitempty"`
	Title string            `json:"title,omitempty"`
	Unit  record.PayUnit    `json:"unit"`
	Fibre string            `json:"fibre,omitempty"`
	Cable string            `json:"cable,omitempty"`
	Rate  *quantity.Decimal `json:"rate,omitempty"`
	// Retroactive is that the difference of the rate is billed for what was billed before.
	Retroactive bool `json:"retroactive,omitempty"`
}

// AboutDocuments is how the papers look.
type AboutDocuments struct {
	Paper    string `json:"paper,omitempty"`
	Language string `json:"language,omitempty"`
	CheckURL string `json:"check_url,omitempty"`
	Name     string `json:"name,omitempty"`
}

// AboutSigner is who signs, and by which key.
type AboutSigner struct {
	Name         string `json:"name,omitempty"`
	Organisation string `json:"organisation,omitempty"`
	Key          string `json:"key,omitempty"`
	// TimestampURL is the address of the time-stamp authority, or "".
	TimestampURL string `json:"timestamp_url,omitempty"`
}

// MeasuredWith is one way in which a link was measured: with which meter and light
// source, by whom and on which day. All but the day are ids of the job.
type MeasuredWith struct {
	Instrument string      `json:"instrument,omitempty"`
	Source     string      `json:"source,omitempty"`
	Person     string      `json:"person,omitempty"`
	Day        record.Date `json:"day,omitzero"` // in the job's zone
}

// about describes a job.
func (w *Writer) about() About {
	job := &w.Facts.Job
	a := About{
		Site: job.Site, Customer: job.Customer, Contractor: job.Contractor, Invoice: job.Invoice,
		Instruments: job.Instruments, People: job.People, Cables: job.Cables,
		Completed: job.Completed, Deadline: job.Deadline, TimeZone: job.TimeZone, WarrantyMonths: job.WarrantyMonths,
		Stage: job.Stage, Witness: job.Witness, Witnesses: job.Witnesses, Colours: job.Colours, Trunks: job.Trunks, Policy: job.Policy,
		Pay:       AboutPay{Currency: job.Pay.Currency, Retainage: job.Pay.Retainage, Period: job.Pay.Period, Releases: job.Pay.Releases},
		Documents: AboutDocuments{job.Documents.Paper, job.Documents.Language, job.Documents.CheckURL, job.Documents.Name},
		Signer:    AboutSigner{w.Signer.Name, w.Signer.Organisation, w.Signer.KeyID, job.Sign.TimestampURL},
	}
	if job.Warranty != nil {
		windows := *job.Warranty
		windows.Months = 0 // warranty_months
		a.Warranty = &windows
	}
	if n := job.Pay.Billed; n != nil {
		a.Pay.Billed = "none"
		if *n > 0 {
			a.Pay.Billed = fmt.Sprintf("r%d", *n)
		}
	}
	for _, i := range job.Pay.Items {
		a.Pay.Items = append(a.Pay.Items, AboutItem(i))
	}
	return a
}

// usesOf lists, each once and in order, how the readings that count were
// taken. Whoever recalls an instrument asks for this.
func usesOf(job *record.Job, readings []record.Reading) []MeasuredWith {
	var uses []MeasuredWith
	for _, r := range readings {
		at := r.Time
		if job.Location != nil && !at.IsZero() {
			at = at.In(job.Location)
		}
		if u := (MeasuredWith{r.Instrument, r.Source, r.Person, record.DateOf(at)}); u != (MeasuredWith{}) && !slices.Contains(uses, u) {
			uses = append(uses, u)
		}
	}
	slices.SortFunc(uses, func(a, b MeasuredWith) int {
		return cmp.Or(a.Day.Time().Compare(b.Day.Time()), strings.Compare(a.Instrument, b.Instrument),
			strings.Compare(a.Source, b.Source), strings.Compare(a.Person, b.Person))
	})
	return uses
}
