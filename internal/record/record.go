// Package record is the facts of a job: the job itself, its people,
// instruments and cables, the schedule of links, readings and terminations.
// It holds no opinions: nothing here knows whether a loss is good.
//
// Numbers are decimals as written (see package quantity). Loss is positive dB,
// reflectance negative dB, length metres. Every fact that came from a file
// carries its [Origin]. All types encode to JSON with stable names; that JSON
// is part of the record attached to each certificate.
package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"spanseal/internal/quantity"
)

// Origin is where a fact was read: the file, its digest and the row.
type Origin struct {
	File   string `json:"file"`             // relative to the job folder, forward slashes
	SHA256 string `json:"sha256"`           // of the original bytes, lower-case hex
	Size   int64  `json:"size"`             // bytes
	Row    int    `json:"row,omitempty"`    // line number from one; a spreadsheet's row
	Column int    `json:"column,omitempty"` // in characters from one; a spreadsheet's column
	Cell   string `json:"cell,omitempty"`   // "Sheet1!B7" in spreadsheets
}

// Where prints file and row as a person would say it.
func (o Origin) Where() string {
	switch {
	case o.Cell != "":
		return o.File + " " + o.Cell
	case o.Row > 0:
		return fmt.Sprintf("%s row %d", o.File, o.Row)
	}
	return o.File
}

// Date is a calendar day without a zone. The zero Date means not given.
type Date struct{ t time.Time }

// NewDate returns the day.
func NewDate(year int, month time.Month, day int) Date {
	return Date{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// ParseDate reads 2026-11-18 (ISO 8601).
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a date such as 2026-11-18", s)
	}
	return Date{t}, nil
}

// DateOf returns the day on which an instant falls in its own zone.
func DateOf(t time.Time) Date {
	if t.IsZero() {
		return Date{}
	}
	return NewDate(t.Date())
}

func (d Date) IsZero() bool         { return d.t.IsZero() }
func (d Date) Before(e Date) bool   { return d.t.Before(e.t) }
func (d Date) After(e Date) bool    { return d.t.After(e.t) }
func (d Date) Equal(e Date) bool    { return d.t.Equal(e.t) }
func (d Date) Time() time.Time      { return d.t } // midnight UTC
func (d Date) AddDays(n int) Date   { return Date{d.t.AddDate(0, 0, n)} }
func (d Date) AddMonths(n int) Date { return Date{d.t.AddDate(0, n, 0)} }

// DaysUntil returns the number of days from d to e.
func (d Date) DaysUntil(e Date) int { return int(e.t.Sub(d.t).Hours() / 24) }

// DayOnly reports whether an instant stands for a whole day, whose hour nobody
// wrote down: files with dates alone give the day's first moment. A reading
// taken on the stroke of midnight is taken for one too.
func DayOnly(t time.Time) bool {
	if _, minute, second := t.Clock(); minute != 0 || second != 0 { // nearly all
		return false
	}
	return !t.IsZero() && !DateOf(t).Equal(DateOf(t.Add(-time.Nanosecond)))
}

// Latest returns the last moment for which an instant may stand: itself, or the
// end of its day.
func Latest(t time.Time) time.Time {
	if !DayOnly(t) {
		return t
	}
	y, m, d := t.Date()
	return time.Date(y, m, d+1, 0, 0, 0, -1, t.Location())
}

// Moment prints 2026-11-18 09:32, or the day alone where no hour was written.
func Moment(t time.Time) string {
	if DayOnly(t) {
		return t.Format(time.DateOnly)
	}
	return t.Format("2006-01-02 15:04")
}

// String prints 2026-11-18, or "" when not given.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.t.Format(time.DateOnly)
}

func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}

// Party is somebody the job names.
type Party struct {
	Name    string `json:"name"`
	Address string `json:"address,omitempty"`
	Order   string `json:"order,omitempty"`   // the customer's purchase order
	Licence string `json:"licence,omitempty"` // the contractor's
}

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
	// Witnesses are those who watched on certain days; see [Job.WitnessOf].
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

// Mode is singlemode or multimode.
type Mode string

const (
	Singlemode Mode = "singlemode"
	Multimode  Mode = "multimode"
)

// ReferenceMethod is how the reference power was taken (IEC 61280-4-1, -4-2).
type ReferenceMethod string

const (
	OneCord   ReferenceMethod = "one-cord"
	TwoCord   ReferenceMethod = "two-cord"
	ThreeCord ReferenceMethod = "three-cord"
)

// TestCords is the grade of the test cords' connectors.
type TestCords string

const (
	StandardCords  TestCords = "standard"
	ReferenceCords TestCords = "reference-grade"
)

// Policy is what was agreed before measuring: what binds and what must be there.
type Policy struct {
	Limits    []string        `json:"limits"` // ids of sets that bind every link
	Reference ReferenceMethod `json:"reference"`
	TestCords TestCords       `json:"test_cords"`
	// Launch, Software and GroupIndex are the rest of the job's [Method].
	Launch      string            `json:"launch,omitempty"`
	Software    string            `json:"software,omitempty"`
	GroupIndex  *quantity.Decimal `json:"group_index,omitempty"`
	Decision    string            `json:"decision"`              // "simple" or "guarded"
	GuardFactor quantity.Decimal  `json:"guard_factor,omitzero"` // r in w = r·U; 1 unless given
	// Marginal is the job's own band in dB; nil: the uncertainty is the band.
	Marginal *quantity.Decimal `json:"marginal_db,omitempty"`
	// Uncertainty is the job's expanded uncertainty (k = 2), dB, where the
	// instrument gives none.
	Uncertainty *quantity.Decimal `json:"uncertainty_db,omitempty"`
	Require     Require           `json:"require"`
	// Optional is what limit sets are about and need not be measured, as agreed.
	Optional []Agreed `json:"optional,omitempty"`
	// EstimateAtMost limits the splicer's estimate, dB; nil: not judged.
	EstimateAtMost *quantity.Decimal `json:"estimate_db_at_most,omitempty"`
	// RetestChange is how much a loss may change until a retest before the
	// project asks why, dB; nil: the project states none.
	RetestChange *quantity.Decimal `json:"retest_change_db,omitempty"`
	// EndFaceRequired makes an end face that was not inspected an open question.
	EndFaceRequired bool `json:"end_face_required,omitempty"`
	// Questions holds thresholds and weights of evidence checks by code, as
	// literal text from job.yaml; package judge knows the codes.
	Questions map[string]Question `json:"questions,omitempty"`
}

// Question is what job.yaml says about one evidence check.
type Question struct {
	// Weight is "fatal" (the link is incomplete), "note", or "off".
	Weight string `json:"weight,omitempty"`
	// Threshold is the check's number in its own unit; nil: the default, ours.
	Threshold *quantity.Decimal `json:"threshold,omitempty"`
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

// Require is what every link must have been measured with.
type Require struct {
	Wavelengths map[Mode][]int `json:"wavelengths_nm"`
	Directions  string         `json:"directions"`  // "both" or "either"
	Reflectance string         `json:"reflectance"` // "optional" or "required"
	// Inspection is that of every end face, factory-made ones too: "required", or
	// "optional" or "".
	Inspection string `json:"inspection,omitempty"`
	// Originals are the instrument's own files of every loss: the same.
	Originals string `json:"originals,omitempty"`
}

// Agreed says by whose word what a limit is about need not be measured. Set, Limit
// and Quantity narrow it; one of the three is always given.
type Agreed struct {
	Set      string   `json:"set,omitempty"`   // id of a limit set
	Limit    string   `json:"limit,omitempty"` // id of a limit within the set
	Quantity Quantity `json:"quantity,omitempty"`
	Links    []string `json:"links,omitempty"` // ids; none: all links
	By       string   `json:"by"`              // who agreed to it
	Reason   string   `json:"reason"`
	Origin   Origin   `json:"-"`
}

// Covers reports whether a limit of a link is meant.
func (a *Agreed) Covers(set, limit string, q Quantity, link string) bool {
	return (a.Set == "" || a.Set == set) && (a.Limit == "" || a.Limit == limit) && (a.Quantity == "" || a.Quantity == q) &&
		(len(a.Links) == 0 || slices.Contains(a.Links, link))
}

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

// End is one end of a link.
type End struct {
	Text      string `json:"text"` // as in the schedule
	SplicedOn bool   `json:"spliced_on,omitempty"`
	Connector string `json:"connector,omitempty"` // "LC"
	Polish    string `json:"polish,omitempty"`    // "PC", "UPC", "APC"
}

// Link is one line of the schedule: a link that must be certified.
type Link struct {
	ID     string `json:"id"`
	Cable  string `json:"cable,omitempty"`
	Tube   string `json:"tube,omitempty"`
	Strand string `json:"strand,omitempty"`
	From   string `json:"from"`  // end A's place
	To     string `json:"to"`    // end B's place
	Fibre  string `json:"fibre"` // "OS2", "OM4", ...
	Mode   Mode   `json:"mode"`
	// Length in metres. LengthText is how the schedule wrote it, with its unit.
	Length     quantity.Decimal `json:"length_m"`
	LengthText string           `json:"length_text,omitempty"`
	// MatedPairs counts every connection, both ends included.
	MatedPairs int `json:"mated_pairs"`
	// Splices counts those in the span; spliced-on ends add their own.
	Splices int `json:"splices"`
	// Splitters are the ratios of those on the way, 8 of 1:8, in their order; Leg is
	// which output of the last one the link is.
	Splitters    []int    `json:"splitters,omitempty"`
	Leg          string   `json:"splitter_leg,omitempty"`
	EndA         End      `json:"end_a"`
	EndB         End      `json:"end_b"`
	Applications []string `json:"applications,omitempty"` // ids that the link must carry
	Limits       []string `json:"limits,omitempty"`       // sets that bind it besides the job's
	// Pair and Polarity: the strand it is paired with and "crossed" or
	// "straight", where recorded.
	Pair     string `json:"pair,omitempty"`
	Polarity string `json:"polarity,omitempty"`
	// Exempt is a stated reason for measuring one direction only, or "".
	Exempt string `json:"exempt,omitempty"`
	Stage  string `json:"stage,omitempty"`
	*Names        // nil where none is given, as of nearly all links
	*Array        // nil where the link is no position of a trunk
	*Terms        // the same
	Origin Origin `json:"origin"`
}

// SplicedEnds returns how many ends are spliced on: 0, 1 or 2.
func (l Link) SplicedEnds() int {
	n := 0
	if l.EndA.SplicedOn {
		n++
	}
	if l.EndB.SplicedOn {
		n++
	}
	return n
}

// AllSplices returns the splices in the span and those behind spliced-on ends.
func (l Link) AllSplices() int { return l.Splices + l.SplicedEnds() }

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

// Fate is what became of an input row.
type Fate string

const (
	Used       Fate = "used"
	Superseded Fate = "superseded"
	OtherStage Fate = "other_stage" // of another stage of the work than the papers are of
	Refused    Fate = "refused"
	Blank      Fate = "blank" // no reading in it: empty, or only texts mapped as "not measured"
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

// EndFace is what the inspection of an end face said.
type EndFace string

const (
	EndFacePass         EndFace = "pass"
	EndFaceFail         EndFace = "fail"
	EndFaceNotInspected EndFace = "not inspected"
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

// Photo is a picture of an end face or a panel.
type Photo struct {
	Link   string `json:"link"`
	End    string `json:"end,omitempty"`
	Origin Origin `json:"origin"`
	Data   []byte `json:"-"`
}

// Account is what became of the rows of one file of readings.
// Rows = Used + Superseded + Refused + Blank. A row of another stage is used.
type Account struct {
	File       string `json:"file"`
	SHA256     string `json:"sha256"`
	Size       int64  `json:"size"`
	Rows       int    `json:"rows"`
	Used       int    `json:"used"`
	Superseded int    `json:"superseded"`
	Refused    int    `json:"refused"`
	Blank      int    `json:"blank"`
	// Concluded lists what was told from the bytes, for check -v.
	Concluded []string `json:"concluded,omitempty"`
}

// Original is an input file as it lay on disk, for evidence/.
type Original struct {
	Name   string // relative to the job folder, forward slashes
	SHA256 string
	Data   []byte
}

// Company is the file from which a job took what it does not say itself.
type Company struct {
	File string   // relative to the job folder, such as ../company.yaml
	Name string   // as job.yaml has it
	Dir  string   // the folder in which it lies
	Data []byte   // it may hold prices, and is not handed over
	Took []string // the keys of what was taken, and how many people and instruments
}

// Facts is all that intake read from a job folder.
type Facts struct {
	Job          Job
	Company      *Company      // nil if the job names none
	Links        []Link        // in schedule order
	Readings     []Reading     // in order of file name and row
	Terminations []Termination // in file order
	Inspections  []Inspection  // in file order
	Photos       []Photo
	Accounts     []Account // by file name
	// InstrumentFiles are by file name; Kept are the files themselves.
	InstrumentFiles []InstrumentFile
	Kept            []KeptFile
	Originals       []Original // every other file that was read, photos and shared mappings too; by name
}

// Made returns the terminations of each link by its id, in file order.
func (f *Facts) Made() map[string][]Termination {
	made := make(map[string][]Termination, len(f.Links))
	for _, t := range f.Terminations {
		made[t.Link] = append(made[t.Link], t)
	}
	return made
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
