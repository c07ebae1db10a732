package verify

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// linkRecord is the form of records of one link that we know. Here are only
// the members that a token repeats or that lead to the originals; this reading
// of them owes nothing to the code that wrote them.
const linkRecord = "spanseal-record/1"

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

// parseRecord reads a record; ok is false where it is of another form.
func parseRecord(data []byte) (r recordFile, ok bool) {
	err := json.Unmarshal(data, &r)
	return r, err == nil && r.Format == linkRecord
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

// disagree says where the record and the claim are at odds.
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
	var faults []string
	for _, name := range said.Differences(c) {
		faults = append(faults, fmt.Sprintf("record and token disagree about %s", name))
	}
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

// recordHash is the part of a record's SHA-256 that a token holds.
func recordHash(data []byte) [16]byte {
	h := sha256.Sum256(data)
	return [16]byte(h[:16])
}
