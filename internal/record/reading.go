package record

import (
	"fmt"
	"strings"
	"time"

	"spanseal/internal/quantity"
)

// Reading is one measured value. A row with loss and reflectance makes two.
type Reading struct {
	Link         string           `json:"link"`
	Quantity     Quantity         `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm,omitempty"`
	Direction    Direction        `json:"direction,omitempty"`
	Value        quantity.Decimal `json:"value"`
	// Shown is what the instrument showed where Value only stands for it: a bound
	// such as <0.05, or that it could measure no more. "" where it showed a number.
	Shown string `json:"shown,omitempty"`
	// Reference and Received are given where loss was read as two powers, dBm.
	Reference *quantity.Decimal `json:"reference_dbm,omitempty"`
	Received  *quantity.Decimal `json:"received_dbm,omitempty"`
	// Event tells splices of one link apart, or is "".
	Event string `json:"event,omitempty"`
	// Instrument and Source are ids of the meter and the light source (or of
	// one test set); Person an id.
	Instrument string `json:"instrument,omitempty"`
	Source     string `json:"source,omitempty"`
	Person     string `json:"person,omitempty"`
	// Time is when it was measured, ReferenceTime when the reference was taken;
	// zero when not given.
	Time          time.Time `json:"time,omitzero"`
	ReferenceTime time.Time `json:"reference_time,omitzero"`
	Fate          Fate      `json:"fate"` // Used, Superseded or OtherStage
	// Method is how it was made; nil where it is the job's own way. Readings share it.
	Method *Method `json:"method,omitempty"`
	// Alias is the name the file used, where an alias list led to Link.
	Alias  string `json:"alias,omitempty"`
	Note   string `json:"note,omitempty"`
	Origin Origin `json:"origin"`
}

// Quantity is what a reading or a limit is about.
type Quantity string

const (
	InsertionLoss     Quantity = "insertion_loss"      // positive dB
	TwoWayAverage     Quantity = "two_way_average"     // of insertion loss, dB
	Reflectance       Quantity = "reflectance"         // negative dB, of the end the light entered
	ReturnLoss        Quantity = "return_loss"         // positive dB
	OpticalReturnLoss Quantity = "optical_return_loss" // positive dB, of the link
	Length            Quantity = "length"              // m
	SpliceLoss        Quantity = "splice_loss"         // two-way average, dB
	SplicerEstimate   Quantity = "splicer_estimate"    // dB, never a measurement
	GroupMean         Quantity = "group_mean"
	GroupPercentile   Quantity = "group_percentile"
)

// Unit is that in which readings of the quantity are kept, and its limits.
func (q Quantity) Unit() quantity.Unit {
	if q == Length {
		return quantity.Metre
	}
	return quantity.DB
}

// Direction is the way the light went.
type Direction string

const (
	AB     Direction = "A-B"
	BA     Direction = "B-A"
	TwoWay Direction = "two-way" // the average of both; never read from a file
	NoWay  Direction = ""        // a quantity without a direction, such as length
)

// From is the end that the light entered.
func (d Direction) From() string {
	switch d {
	case AB:
		return "A"
	case BA:
		return "B"
	}
	return ""
}

// Fate is what became of an input row.
type Fate string

const (
	Used       Fate = "used"
	Superseded Fate = "superseded"
	OtherStage Fate = "other_stage" // of another stage of the work than the papers are of
	Refused    Fate = "refused"
	Blank      Fate = "blank" // no reading in it: empty, or only texts mapped as "not measured"
)

// Subject prints what was read, such as "1310 nm A-B".
func (r Reading) Subject() string {
	var parts []string
	if r.WavelengthNM > 0 {
		parts = append(parts, fmt.Sprintf("%d nm", r.WavelengthNM))
	}
	if r.Direction != "" {
		parts = append(parts, string(r.Direction))
	}
	return strings.Join(parts, " ")
}

// Last returns the reading that was taken last, the first of several at the same
// moment, or one with no time where none has one.
func Last(readings []Reading) (last Reading) {
	for i := range readings {
		if readings[i].Time.After(last.Time) {
			last = readings[i]
		}
	}
	return last
}
