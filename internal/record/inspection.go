package record

import "time"

// Inspection is one look at an end face.
type Inspection struct {
	Link string `json:"link"`
	End  string `json:"end"` // "A" or "B"
	// Criterion is by what the face was judged, such as IEC 61300-3-35, and Edition
	// which of it, such as 2022.
	Criterion string    `json:"criterion"`
	Edition   string    `json:"edition"`
	Cleaning  Cleaning  `json:"cleaning,omitempty"`
	Result    EndFace   `json:"result"` // EndFacePass or EndFaceFail
	Person    string    `json:"person,omitempty"`
	Time      time.Time `json:"time,omitzero"`
	// Photo is its picture among those of the job, if it has one; it has no row.
	Photo  Origin `json:"photo,omitzero"`
	Origin Origin `json:"origin"`
}

// Cleaning says whether an end face was inspected before or after it was cleaned, or
// is "" where nobody wrote it down.
type Cleaning string

const (
	BeforeCleaning Cleaning = "before"
	AfterCleaning  Cleaning = "after"
)
