package verify

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// The forms of attached records that we know. Here are only the members that a
// token repeats or that lead elsewhere; this reading of them owes nothing to
// the code that wrote them.
const (
	linkRecord    = "spanseal-record/1"
	summaryRecord = "spanseal-results/1"
)

// A statement is an attached record, as far as it is compared.
type statement interface {
	form() string
	// disagree says where the record and the claim are at odds.
	disagree(seal.Claim) []string
}

// recordFile is the record of one link.
type recordFile struct {
	Format      string `json:"format"`
	Certificate string `json:"certificate"`
	Revision    int    `json:"revision"`
	Issued      string `json:"issued"`
	Verdict     string `json:"verdict"`
	Job         struct {
		Number string `json:"number"`
	} `json:"job"`
	Link struct {
		ID     string `json:"id"`
		Origin origin `json:"origin"`
	} `json:"link"`
	Findings []struct {
		Margin *quantity.Decimal `json:"margin"`
	} `json:"findings"`
	Readings     []recordReading `json:"readings"`
	Superseded   []recordReading `json:"superseded"`
	Terminations []struct {
		Origin origin `json:"origin"`
	} `json:"terminations"`
}

type recordReading struct {
	Quantity     string           `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm"`
	Direction    string           `json:"direction"`
	Value        quantity.Decimal `json:"value"`
	Origin       origin           `json:"origin"`
}

// origin is the original file that a fact was read from.
type origin struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
	Size   int64  `json:"size"`
}

// summaryFile is the table of results that a summary carries.
type summaryFile struct {
	Format   string `json:"format"`
	Job      string `json:"job"`
	Revision int    `json:"revision"`
	Issued   string `json:"issued"`
	Conforms bool   `json:"conforms"`
	Links    []struct {
		Link        string `json:"link"`
		Verdict     string `json:"verdict"`
		Certificate string `json:"certificate"`
		File        string `json:"file"`
	} `json:"links"`
}

func (r *recordFile) form() string  { return r.Format }
func (r *summaryFile) form() string { return r.Format }

// parse reads a record into s; ok is false where it is of another form.
func parse(data []byte, s statement, form string) (ok bool) {
	return json.Unmarshal(data, s) == nil && s.form() == form
}

// origins are the original files of a record, each once.
func (r *recordFile) origins() []origin {
	all := []origin{r.Link.Origin}
	for _, x := range slices.Concat(r.Readings, r.Superseded) {
		all = append(all, x.Origin)
	}
	for _, x := range r.Terminations {
		all = append(all, x.Origin)
	}
	var once []origin
	for _, o := range all {
		if o.File != "" && !slices.Contains(once, o) {
			once = append(once, o)
		}
	}
	return once
}

func (r *recordFile) disagree(c seal.Claim) []string {
	said := seal.Claim{
		Certificate: r.Certificate, Revision: r.Revision, Job: r.Job.Number, Link: r.Link.ID,
		Verdict: r.Verdict, Issued: r.Issued,
		Measured: c.Measured, Margin: c.Margin, Record: c.Record, // compared elsewhere
	}
	for _, x := range r.Readings {
		if x.Quantity == "insertion_loss" {
			said.Readings = append(said.Readings, seal.ClaimReading{WavelengthNM: x.WavelengthNM, Direction: x.Direction, Loss: x.Value})
		}
	}
	faults := disagreements(said, c)
	if c.Margin != nil {
		known := false
		for _, f := range r.Findings {
			known = known || f.Margin != nil && f.Margin.Equal(*c.Margin)
		}
		if !known {
			faults = append(faults, "record and token disagree about margin_db")
		}
	}
	return faults
}

func (r *summaryFile) disagree(c seal.Claim) []string {
	said := seal.Claim{
		Certificate: r.Job, Revision: r.Revision, Job: r.Job, Issued: r.Issued, Verdict: "does not conform",
		Measured: c.Measured, Record: c.Record, // compared elsewhere
	}
	if r.Conforms {
		said.Verdict = "conforms"
	}
	faults := disagreements(said, c)
	for _, l := range r.Links {
		if r.Conforms && l.Verdict != "pass" && l.Verdict != "marginal" {
			faults = append(faults, fmt.Sprintf("it says conforms, and %s for the link %s", l.Verdict, l.Link))
		}
	}
	return faults
}

func disagreements(record, token seal.Claim) (faults []string) {
	for _, name := range record.Differences(token) {
		faults = append(faults, fmt.Sprintf("record and token disagree about %s", name))
	}
	return faults
}

// recordHash is the part of a record's SHA-256 that a token holds.
func recordHash(data []byte) [16]byte {
	h := sha256.Sum256(data)
	return [16]byte(h[:16])
}
