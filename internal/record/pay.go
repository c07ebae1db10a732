package record

import "spanseal/internal/quantity"

// Pay is how the order pays for the work; without Items there is no statement.
type Pay struct {
	Currency string // such as "EUR"; "" where no rates are given
	// Retainage is held back until release, in percent; nil: none.
	Retainage *quantity.Decimal
	// Billed is the revision whose statement was billed last, 0 for none yet; nil:
	// nobody said.
	Billed *int
	// Period is what the statement is for; zero: none is stated.
	Period Period
	// Releases of what was held back, by day.
	Releases []Release
	Items    []PayItem
}

// Period is from a day to a day, both within it.
type Period struct {
	From Date `json:"from"`
	To   Date `json:"to"`
}

// IsZero reports that none is stated.
func (p Period) IsZero() bool { return p.From.IsZero() && p.To.IsZero() }

// Release pays out of what was held back: so many percent of what is held then, or an
// amount in the currency of the order.
type Release struct {
	Day     Date              `json:"day"`
	Percent *quantity.Decimal `json:"percent,omitempty"`
	Amount  *quantity.Decimal `json:"amount,omitempty"`
	Reason  string            `json:"reason"`
}

// PayUnit is what a pay item counts.
type PayUnit string

const (
	PayTermination PayUnit = "termination" // each connector made at an end
	PayConnector   PayUnit = "connector"   // the same, under the name that many orders have for it
	PaySplice      PayUnit = "splice"      // each splice in a span
	PayStrand      PayUnit = "strand"      // each strand tested: a link
	PayLink        PayUnit = "link"
	PayDrop        PayUnit = "drop" // each link to a customer's premises
	PayLump        PayUnit = "lump" // all links of the item together, once
)

// PayItem is one line of the order that is paid by quantity.
type PayItem struct {
	Line  string // the order's own line number, or ""
	Title string
	Unit  PayUnit
	// Fibre and Cable narrow the item to the links that have them; "" all.
	Fibre, Cable string
	// Rate is the price of one in Pay.Currency; nil where none is stated.
	Rate *quantity.Decimal
	// Retroactive is that the rate also holds for what was billed at another: the
	// difference is billed.
	Retroactive bool
}
