package record

import (
	"slices"
	"time"

	"spanseal/internal/quantity"
)

// Job is everything job.yaml says about the work, apart from how to read files.
type Job struct {
	Number     string `json:"number"`
	Title      string `json:"title"`
	Site       Party  `json:"site"`
	Customer   Party  `json:"customer"`
	Contractor Party  `json:"contractor"`
	Invoice    string `json:"invoice,omitempty"`
	Completed  Date   `json:"completed,omitzero"` // the work, not the papers
	Deadline   Date   `json:"deadline,omitzero"`  // for delivery of the papers
	// TimeZone names the zone (IANA) of local times in the files; Location is
	// never nil after intake.
	TimeZone       string         `json:"time_zone,omitempty"`
	Location       *time.Location `json:"-"`
	WarrantyMonths int            `json:"warranty_months,omitempty"`
	// Warranty are the windows of the warranty, nil where the job states none.
	Warranty *Warranty `json:"warranty,omitempty"`
	Stage    string    `json:"stage,omitempty"` // such as "final, closures shut"
	Witness  string    `json:"witness,omitempty"`
	// Witnesses are those who watched on certain days; see [Job.WitnessesOf].
	Witnesses []Witnessed `json:"witnesses,omitempty"`

	People      []Person     `json:"people,omitempty"`
	Instruments []Instrument `json:"instruments,omitempty"`
	Cables      []Cable      `json:"cables,omitempty"`
	Colours     *Colours     `json:"colours,omitempty"` // nil where the job names none
	Trunks      []Trunk      `json:"trunks,omitempty"`
	Policy      Policy       `json:"judge"`
	Answers     []Answer     `json:"-"`
	Pay         Pay          `json:"-"`
	Sign        Sign         `json:"-"`
	Documents   Documents    `json:"-"`
	Declared    []Declared   `json:"-"`
	Origin      Origin       `json:"origin"`
}

// Party is somebody the job names.
type Party struct {
	Name    string `json:"name"`
	Address string `json:"address,omitempty"`
	Order   string `json:"order,omitempty"`   // the customer's purchase order
	Licence string `json:"licence,omitempty"` // the contractor's
}

// Person is one who measured, terminated or signed.
type Person struct {
	ID            string `json:"id"`
	Name          string `json:"name"`
	Role          string `json:"role,omitempty"`
	Qualification string `json:"qualification,omitempty"`
	ValidUntil    Date   `json:"valid_until,omitzero"`
}

// Instrument is a light source, power meter, test set, splicer or microscope.
type Instrument struct {
	ID         string `json:"id"`
	Kind       string `json:"kind"`
	Make       string `json:"make,omitempty"`
	Model      string `json:"model,omitempty"`
	Serial     string `json:"serial"`
	Calibrated Date   `json:"calibrated,omitzero"`
	Due        Date   `json:"due,omitzero"`
	// Uncertainty is expanded (k = 2) of one loss reading, dB; nil if not given.
	Uncertainty *quantity.Decimal `json:"uncertainty_db,omitempty"`
	// Channels is how many fibres it measures at one moment; 0 where not given: one.
	Channels int `json:"channels,omitempty"`
}

// Cable is one that the schedule names.
type Cable struct {
	ID          string `json:"id"`
	Description string `json:"description,omitempty"`
	Reel        string `json:"reel,omitempty"`
}

// Warranty are the windows of a warranty. What is 0 is not stated.
type Warranty struct {
	Months         int    `json:"months,omitempty"` // its term, from completion
	Registration   string `json:"registration,omitempty"`
	Registered     Date   `json:"registered,omitzero"`
	RegisterDays   int    `json:"register_within_days,omitempty"`   // of the last measurement
	DiscoverMonths int    `json:"discover_within_months,omitempty"` // of completion
	ReportDays     int    `json:"report_within_days,omitempty"`     // of discovery
	RetainYears    int    `json:"retain_years,omitempty"`           // from completion
}

// Declared explains why a file of readings on which an issued revision rests is
// not what it was, or is gone.
type Declared struct {
	File    string `json:"file"`    // in the job folder, forward slashes
	Was     string `json:"was"`     // SHA-256 of what it was, lower-case hex, or its first eight digits or more
	Because string `json:"because"` // in words
	By      string `json:"by"`      // id of the person who says so
	On      Date   `json:"on,omitzero"`
}

// Answer is what job.yaml says to a question that was asked.
type Answer struct {
	// Question is a name, such as "bend", or the full code of a statement, such as
	// "calibration.overdue"; package judge knows them.
	Question string
	Links    []string // ids; none where it was asked of the job as a whole
	Text     string
	Who      string // the id of a person of the job, or anybody's name
	Day      Date
}

// Sign names the key file (relative to the job folder) and who signs.
type Sign struct {
	Key, As string
	// TimestampURL is the address of a time-stamp authority (RFC 3161), or "".
	TimestampURL string
	// Timestamp is "required", or "when-reachable" where papers without one are
	// better than none.
	Timestamp string
}

// Documents is how the papers look.
type Documents struct {
	Paper    string // "A4" or "letter"
	Language string // "en", ...
	CheckURL string // printed before the token in the QR symbol, or ""
	Name     string // pattern of the names of the links' papers, or ""; see package naming
}

// Person returns the person with the id.
func (j *Job) Person(id string) (Person, bool) {
	for _, p := range j.People {
		if p.ID == id {
			return p, true
		}
	}
	return Person{}, false
}

// Instrument returns the instrument with the id.
func (j *Job) Instrument(id string) (Instrument, bool) {
	for _, i := range j.Instruments {
		if i.ID == id {
			return i, true
		}
	}
	return Instrument{}, false
}

// Cable returns the cable with the id.
func (j *Job) Cable(id string) (Cable, bool) {
	for _, c := range j.Cables {
		if c.ID == id {
			return c, true
		}
	}
	return Cable{}, false
}

// Trunk returns the trunk with the id.
func (j *Job) Trunk(id string) (Trunk, bool) {
	for _, t := range j.Trunks {
		if t.ID == id {
			return t, true
		}
	}
	return Trunk{}, false
}

// StageFor is the stage that the paper of a link is of, and at which it is judged:
// that which the schedule or the job names by its code, else the final one. What they
// say in words of their own is printed and nothing more.
func (j *Job) StageFor(l *Link) Stage {
	for _, text := range []string{l.Stage, j.Stage} {
		if text == "" {
			continue
		}
		if s := Stage(text); slices.Contains(Stages, s) {
			return s
		}
		break
	}
	return Final
}
