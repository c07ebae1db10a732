package record

import "time"

// Cleaning says whether an end face was inspected before or after it was cleaned, or
// is "" where nobody wrote it down.
type Cleaning string

const (
	BeforeCleaning Cleaning = "before"
	AfterCleaning  Cleaning = "after"
)

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

// Faces are the ends of the link that have an end face, in order.
func (l *Link) Faces() (ends []string) {
	if l.EndA.Connector != "" {
		ends = append(ends, "A")
	}
	if l.EndB.Connector != "" {
		ends = append(ends, "B")
	}
	return ends
}

// Inspected returns the inspections of each link by its id, in file order.
func (f *Facts) Inspected() map[string][]Inspection {
	if len(f.Inspections) == 0 {
		return nil
	}
	of := map[string][]Inspection{}
	for _, i := range f.Inspections {
		of[i.Link] = append(of[i.Link], i)
	}
	return of
}
