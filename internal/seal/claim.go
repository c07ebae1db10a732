package seal

import "spanseal/internal/quantity"

// Claim is what a token says: the statement behind a QR symbol. It is the
// certificate's substance in a hundred-odd bytes, so that a phone can read it
// from a label and a stranger can check who said it.
type Claim struct {
	Certificate string            // certificate number, "BL-2026-031/A-12"
	Revision    int               // of the issued set, from 1
	Job         string            // job number
	Link        string            // link id; "" for the summary of a job
	Verdict     string            // "pass", "marginal"; for a summary "conforms", "does not conform"; for other sheets "fail", "incomplete"
	Issued      string            // day, 2026-11-25
	Measured    string            // day of the latest reading, or ""
	Readings    []ClaimReading    // used insertion losses, by wavelength and direction
	Margin      *quantity.Decimal // smallest margin, dB; nil where nothing was judged
	Record      [16]byte          // the first half of the attached record's SHA-256
}

// ClaimReading is one insertion loss of a claim.
type ClaimReading struct {
	WavelengthNM int
	Direction    string // "A-B", "B-A"
	Loss         quantity.Decimal
}
