package record

import (
	"time"

	"spanseal/internal/quantity"
)

// Termination is one connector or splice that was made.
type Termination struct {
	Link string `json:"link"`
	End  string `json:"end"`  // "A", "B", or "" for a splice in the span
	Kind string `json:"kind"` // "spliced-on connector", "splice", "connector", ...
	// Splice is which one of the span, as readings name it, or "".
	Splice string `json:"splice,omitempty"`
	// Estimate is what the splicer estimated from its pictures, dB: not a
	// measurement. nil when not recorded.
	Estimate *quantity.Decimal `json:"estimate_db,omitempty"`
	Attempts int               `json:"attempts,omitempty"`
	Lot      string            `json:"lot,omitempty"`
	EndFace  EndFace           `json:"end_face"`
	Person   string            `json:"person,omitempty"`
	Finished time.Time         `json:"finished,omitzero"`
	// Closure and Tray hold a splice of the span, as labelled on site; Shut is when the
	// closure was shut for the last time.
	Closure string    `json:"closure,omitempty"`
	Tray    string    `json:"tray,omitempty"`
	Shut    time.Time `json:"shut,omitzero"`
	Origin  Origin    `json:"origin"`
}

// EndFace is what the inspection of an end face said.
type EndFace string

const (
	EndFacePass         EndFace = "pass"
	EndFaceFail         EndFace = "fail"
	EndFaceNotInspected EndFace = "not inspected"
)

// Photo is a picture of an end face or a panel.
type Photo struct {
	Link   string `json:"link"`
	End    string `json:"end,omitempty"`
	Origin Origin `json:"origin"`
	Data   []byte `json:"-"`
}
