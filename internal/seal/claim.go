package seal

import (
	"slices"

	"spanseal/internal/quantity"
)

// Claim is what a token says: the statement behind a QR symbol. It is the
// certificate's substance in a hundred-odd bytes, so that a phone can read it
// from a label and a stranger can check who said it.
//
// Its JSON form, which leaves out Record, is for reports.
type Claim struct {
	Certificate string            `json:"certificate"`         // certificate number, "BL-2026-031/A-12"
	Revision    int               `json:"revision"`            // of the issued set, from 1
	Job         string            `json:"job"`                 // job number
	Link        string            `json:"link,omitempty"`      // link id; "" for the summary of a job
	Verdict     string            `json:"verdict"`             // "pass", "marginal"; for a summary "conforms", "does not conform"; for other sheets "fail", "incomplete"
	Issued      string            `json:"issued"`              // day, 2026-11-25
	Measured    string            `json:"measured,omitempty"`  // day of the latest reading, or ""
	Readings    []ClaimReading    `json:"readings,omitempty"`  // used insertion losses that were shown as numbers, by wavelength and direction
	Margin      *quantity.Decimal `json:"margin_db,omitempty"` // smallest margin, dB; nil where nothing was judged
	Record      [16]byte          `json:"-"`                   // the first half of the attached record's SHA-256
}

// ClaimReading is one insertion loss of a claim.
type ClaimReading struct {
	WavelengthNM int              `json:"wavelength_nm"`
	Direction    string           `json:"direction"` // "A-B", "B-A"
	Loss         quantity.Decimal `json:"loss_db"`
}

// Verdicts are the words a claim may use, in the order of their numbers in a
// token, from 1.
var Verdicts = []string{"pass", "marginal", "fail", "incomplete", "conforms", "does not conform"}

// Equal reports whether two claims say the same, digit by digit.
func (c Claim) Equal(d Claim) bool {
	return len(c.Differences(d)) == 0
}

// Differences names the members, by their JSON names, in which two claims
// differ. A reading of 0.10 differs from 0.1: the digits are evidence.
func (c Claim) Differences(d Claim) []string {
	var names []string
	differ := func(name string, yes bool) {
		if yes {
			names = append(names, name)
		}
	}
	differ("certificate", c.Certificate != d.Certificate)
	differ("revision", c.Revision != d.Revision)
	differ("job", c.Job != d.Job)
	differ("link", c.Link != d.Link)
	differ("verdict", c.Verdict != d.Verdict)
	differ("issued", c.Issued != d.Issued)
	differ("measured", c.Measured != d.Measured)
	differ("readings", !slices.EqualFunc(c.sorted(), d.sorted(), func(a, b ClaimReading) bool {
		return compareReadings(a, b) == 0 && a.Loss.String() == b.Loss.String()
	}))
	differ("margin_db", (c.Margin == nil) != (d.Margin == nil) ||
		c.Margin != nil && c.Margin.String() != d.Margin.String())
	differ("record", c.Record != d.Record)
	return names
}

// sorted returns the readings by wavelength and direction.
func (c Claim) sorted() []ClaimReading {
	s := slices.Clone(c.Readings)
	slices.SortStableFunc(s, compareReadings)
	return s
}
