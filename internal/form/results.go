package form

import (
	"bytes"
	"io"
	"iter"
	"slices"
	"time"

	"spanseal/internal/claim"
	"spanseal/internal/inspection"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/statistics"
	"spanseal/internal/warranty"
)

// ResultsFormat names the form of results.json.
const ResultsFormat = "spanseal-results/2"

// Results is the whole judgement for programs: results.json. The working of each limit
// is in the record of its link. It has all that the next revision is compared with:
// see package change.
type Results struct {
	Format   string       `json:"format"`
	Job      string       `json:"job"`
	Title    string       `json:"title"`
	Revision int          `json:"revision"`
	Issued   record.Date  `json:"issued"`
	Specimen bool         `json:"specimen,omitempty"`
	Conforms bool         `json:"conforms"`
	Counts   judge.Counts `json:"counts"`
	// Statements lead the summary.
	Statements []statement.Statement `json:"statements"`
	// Warranty says what is on record of its registration, where the job states windows.
	Warranty []statement.Statement `json:"warranty,omitempty"`
	About    About                 `json:"about"`
	Sets     []judge.SetUsed       `json:"sets"`
	// Faces counts the end faces that were inspected, where the job records that.
	Faces *inspection.Tally `json:"faces,omitempty"`
	// Files are those of readings; a reading names its file only.
	Files []ResultFile `json:"files,omitempty"`
	// PayItems say what is accepted to date, for the statement of the next
	// revision.
	PayItems []ResultPayItem `json:"pay_items,omitempty"`
	// Statement is what is claimed of them, if it follows another, is for a period, or
	// releases what was held back.
	Statement *ResultStatement `json:"statement,omitempty"`
	// Ledger counts what became of the limits of each set; the record of a link has
	// them one by one. Together has the limits about the whole job.
	Ledger   []judge.SetTally    `json:"ledger,omitempty"`
	Together []judge.LedgerEntry `json:"together,omitempty"`
	Links    []ResultLink        `json:"links"`
	// Questions are about the job as a whole.
	Questions []ResultFinding `json:"questions,omitempty"`
	// FirstTests are how many links passed when first measured, by wavelength, where
	// something was measured again.
	FirstTests []statistics.Yield `json:"first_tests,omitempty"`
	// Statistics of the losses, by all, fibre, connector, person, instrument
	// and panel, each at each wavelength.
	Statistics []ResultGroup `json:"statistics,omitempty"`
}

// ResultLink is one link of the results.
type ResultLink struct {
	Link        string         `json:"link"`
	Verdict     judge.Verdict  `json:"verdict"`
	Certificate string         `json:"certificate,omitempty"` // of pass and marginal
	File        string         `json:"file"`                  // in the revision's folder
	Uses        []MeasuredWith `json:"measured_with,omitempty"`
	// Schedule is the link's line of the schedule, Terminations, Inspections and Photos
	// what was made of it and seen of its faces.
	Schedule ResultSchedule `json:"schedule"`
	// Coded are the colours that strand and tube have by their numbers.
	Coded        *record.Coded       `json:"coded,omitempty"`
	Terminations []ResultTermination `json:"terminations,omitempty"`
	Inspections  []ResultInspection  `json:"inspections,omitempty"`
	Photos       []string            `json:"photos,omitempty"` // names, each with the begin of its SHA-256
	Originals    []ResultOriginal    `json:"originals,omitempty"`
	// Readings are those that count. Findings name them by their places.
	Readings   []ResultReading `json:"readings,omitempty"`
	Findings   []ResultFinding `json:"findings"`
	Superseded []ResultReading `json:"superseded,omitempty"`
	// Stages are readings of other stages of the work: beside those that count.
	Stages []ResultReading `json:"stages,omitempty"`
	// SupersededPaper is their sheet.
	SupersededPaper *ResultPaper `json:"superseded_paper,omitempty"`
}

// ResultPaper is a further paper of a link, and the sentences that lead it.
type ResultPaper struct {
	File       string                `json:"file"` // in the revision's folder
	Statements []statement.Statement `json:"statements"`
}

// ResultFile is a file of readings, and what became of its rows.
type ResultFile struct {
	File       string `json:"file"`
	SHA256     string `json:"sha256"`
	Size       int64  `json:"size"`
	Rows       int    `json:"rows"`
	Used       int    `json:"used"`
	Superseded int    `json:"superseded"`
	Refused    int    `json:"refused"`
	Blank      int    `json:"blank"`
}

// ResultSchedule is a line of the schedule without what the link repeats: its name,
// and where the line was read.
type ResultSchedule struct {
	record.Link
	ID     nowhere `json:"id,omitzero"`
	Origin nowhere `json:"origin,omitzero"`
}

// ResultTermination is a termination without what the link repeats.
type ResultTermination struct {
	record.Termination
	Link   nowhere `json:"link,omitzero"`
	Origin nowhere `json:"origin,omitzero"`
}

// ResultInspection is an inspection without what the link repeats. Of its picture it
// has the name, and the begin of its SHA-256, as Photos do.
type ResultInspection struct {
	record.Inspection
	Photo  string  `json:"photo,omitempty"`
	Link   nowhere `json:"link,omitzero"`
	Origin nowhere `json:"origin,omitzero"`
}

// ResultOriginal is a file that an instrument wrote, without what the link repeats.
type ResultOriginal struct {
	record.InstrumentFile
	Link nowhere `json:"link,omitzero"`
}

// pictured is the name of a picture, and the begin of its SHA-256.
func pictured(o record.Origin) string {
	if o.File == "" {
		return ""
	}
	return o.File + " " + o.SHA256[:min(8, len(o.SHA256))]
}

// nowhere takes the place of a member that is left out.
type nowhere struct{}

// ResultPayItem is one line of the order that is paid by quantity.
type ResultPayItem struct {
	Line     string         `json:"line,omitempty"`
	Unit     record.PayUnit `json:"unit"`
	Fibre    string         `json:"fibre,omitempty"`
	Cable    string         `json:"cable,omitempty"`
	Accepted int            `json:"accepted_to_date"`
	// Before is what was billed or accepted before; nil in results of earlier programs.
	Before *int `json:"accepted_before,omitempty"`
}

// of reports whether it is of the item, as this order has it.
func (p *ResultPayItem) of(i *record.PayItem) bool {
	return p.Line == i.Line && p.Unit == i.Unit && p.Fibre == i.Fibre && p.Cable == i.Cable
}

// ResultFinding is one finding without its working.
type ResultFinding struct {
	Kind         judge.FindingKind `json:"kind"`
	Code         string            `json:"code"`
	Verdict      judge.Verdict     `json:"verdict"`
	Quantity     record.Quantity   `json:"quantity,omitempty"`
	WavelengthNM int               `json:"wavelength_nm,omitempty"`
	Direction    record.Direction  `json:"direction,omitempty"`
	End          string            `json:"end,omitempty"`
	Measured     *quantity.Decimal `json:"measured,omitempty"`
	Limit        *quantity.Decimal `json:"limit,omitempty"`
	// Between are the least and the most that are allowed, where there are both;
	// Limit is the one that the reading is nearer to.
	Between     []quantity.Decimal  `json:"between,omitempty"`
	Margin      *quantity.Decimal   `json:"margin,omitempty"`
	Unit        quantity.Unit       `json:"unit,omitempty"`
	Uncertainty *quantity.Decimal   `json:"uncertainty,omitempty"`
	Set         string              `json:"set,omitempty"`
	Question    statement.Statement `json:"question,omitzero"`
	Answer      *judge.Reply        `json:"answer,omitempty"`
	// RestsOn are places, from one, among the link's readings. In the file, Readings
	// are only those that are not among them.
	RestsOn  []int           `json:"rests_on,omitempty"`
	Readings []ResultReading `json:"readings,omitempty"`
	// Population and Percentile are those of a group_mean or group_percentile.
	Population int               `json:"population,omitempty"`
	Percentile *quantity.Decimal `json:"percentile,omitempty"`
}

// ResultReading is one reading and where it was read.
type ResultReading struct {
	Quantity     record.Quantity  `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm,omitempty"`
	Direction    record.Direction `json:"direction,omitempty"`
	Event        string           `json:"event,omitempty"`
	Value        quantity.Decimal `json:"value"`
	Shown        string           `json:"shown,omitempty"` // what Value only stands for, such as "OL"
	// Reference and Received are given where loss was read as two powers, dBm.
	Reference     *quantity.Decimal `json:"reference_dbm,omitempty"`
	Received      *quantity.Decimal `json:"received_dbm,omitempty"`
	Instrument    string            `json:"instrument,omitempty"`
	Source        string            `json:"source,omitempty"`
	Person        string            `json:"person,omitempty"`
	Time          time.Time         `json:"time,omitzero"`
	ReferenceTime time.Time         `json:"reference_time,omitzero"`
	Alias         string            `json:"alias,omitempty"`
	Note          string            `json:"note,omitempty"`
	Fate          record.Fate       `json:"fate"`
	// Method is how it was made; nil where it is as the job has it.
	Method *record.Method `json:"method,omitempty"`
	File   string         `json:"file"`
	SHA256 string         `json:"-"` // of the file; in results.json it is among the files
	Row    int            `json:"row,omitempty"`
	Cell   string         `json:"cell,omitempty"`
}

// ResultsHead is results.json without its links.
func (w *Writer) ResultsHead() *Results {
	var files []ResultFile
	for _, a := range w.Facts.Accounts {
		files = append(files, ResultFile{File: a.File, SHA256: a.SHA256, Size: a.Size, Rows: a.Rows, Used: a.Used, Superseded: a.Superseded, Refused: a.Refused, Blank: a.Blank})
	}
	return &Results{
		Format:     ResultsFormat,
		Job:        w.Facts.Job.Number,
		Title:      w.Facts.Job.Title,
		Revision:   w.Revision,
		Issued:     w.IssuedOn(),
		Specimen:   w.Specimen,
		Conforms:   w.Judgement.Conforms(),
		Counts:     w.Judgement.Counts,
		Statements: w.told(claim.Job(&w.Facts.Job, w.Judgement, w.Declared)),
		Warranty:   w.told(w.WarrantyFacts()),
		About:      w.about(),
		Sets:       w.confirmed(w.Judgement.Sets),
		Faces:      inspection.Counted(w.Facts),
		Files:      files,
		PayItems:   w.payItems(),
		Statement:  w.resultStatement(),
		Ledger:     w.Judgement.Ledger,
		Together:   w.entries(w.Judgement.Together),
		Links:      []ResultLink{},
		Questions:  w.resultFindings(w.Judgement.Questions),
		FirstTests: w.firstTests(),
		Statistics: resultGroups(w.LossGroups(), w.english),
	}
}

// WarrantyFacts are what is on record of the warranty's registration.
func (w *Writer) WarrantyFacts() []statement.Statement {
	_, last := w.MeasuredInAll()
	return warranty.Job(&w.Facts.Job, last)
}

// ResultLinksJSON are the links as results.json has them, each on one line.
func (w *Writer) ResultLinksJSON() iter.Seq2[string, []byte] {
	return func(yield func(string, []byte) bool) {
		var compact bytes.Buffer
		e := newEncoder(&compact)
		for l := range w.ResultLinks() {
			compact.Reset()
			l.lean()
			if err := e.Encode(l); err != nil {
				panic(err) // it has nothing that does not encode
			}
			if !yield(l.Link, bytes.TrimSuffix(compact.Bytes(), []byte("\n"))) {
				return
			}
		}
	}
}

// lean writes each reading once.
func (l *ResultLink) lean() {
	for i := range l.Findings {
		f := &l.Findings[i]
		var others []ResultReading
		for _, r := range f.Readings {
			if at := slices.IndexFunc(l.Readings, func(o ResultReading) bool { return o.place() == r.place() }); at >= 0 {
				f.RestsOn = append(f.RestsOn, at+1)
			} else {
				others = append(others, r)
			}
		}
		f.Readings = others
	}
}

// readingPlace tells readings of one link apart.
type readingPlace struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
	file, cell string
	row        int
}

func (r *ResultReading) place() readingPlace {
	return readingPlace{quantity: r.Quantity, wavelength: r.WavelengthNM, direction: r.Direction, event: r.Event, file: r.File, cell: r.Cell, row: r.Row}
}

// ResultLinks are the results of every link, in the order of the schedule.
func (w *Writer) ResultLinks() iter.Seq[ResultLink] {
	return func(yield func(ResultLink) bool) {
		job := &w.Facts.Job
		made := w.Facts.Made()
		photos := map[string][]string{}
		for _, p := range w.Facts.Photos {
			photos[p.Link] = append(photos[p.Link], pictured(p.Origin))
		}
		for _, l := range w.Judgement.Results() {
			r := ResultLink{Link: l.Link.ID, Verdict: l.Verdict, File: w.PathOf(l), Uses: usesOf(job, l.Readings),
				Schedule: ResultSchedule{Link: *l.Link}, Coded: coded(job, l.Link), Photos: photos[l.Link.ID], Readings: resultReadings(l.Readings),
				Findings: w.resultFindings(l.Findings), Superseded: resultReadings(l.Superseded), Stages: resultReadings(l.Stages)}
			w.sayMethods(r.Readings)
			for _, t := range made[l.Link.ID] {
				r.Terminations = append(r.Terminations, ResultTermination{Termination: t})
			}
			for _, i := range l.Inspections {
				r.Inspections = append(r.Inspections, ResultInspection{Inspection: i, Photo: pictured(i.Photo)})
			}
			for _, f := range l.InstrumentFiles {
				r.Originals = append(r.Originals, ResultOriginal{InstrumentFile: f})
			}
			if len(l.Superseded) > 0 {
				r.SupersededPaper = &ResultPaper{w.SupersededPath(l), w.told(w.Replaced(l))}
			}
			if l.Verdict.Certifiable() {
				r.Certificate = CertificateNumber(job, l.Link.ID)
			}
			if !yield(r) {
				return
			}
		}
	}
}

func (w *Writer) resultFindings(findings []judge.Finding) []ResultFinding {
	out := make([]ResultFinding, len(findings))
	for i, f := range findings {
		out[i] = ResultFinding{Kind: f.Kind, Code: f.Code, Verdict: f.Verdict, Quantity: f.Quantity, WavelengthNM: f.WavelengthNM, Direction: f.Direction, End: f.End,
			Measured: f.Measured, Limit: f.Limit, Margin: f.Margin, Unit: f.Unit, Uncertainty: f.Uncertainty,
			Question: w.english.Told(f.Question), Answer: f.Answer, Readings: resultReadings(f.Readings), Population: f.Population}
		if f.Working != nil {
			out[i].Set, out[i].Percentile = f.Working.SetID, f.Working.Percentile
			if one := f.Working; one.Bound == "between" && one.Lower != nil {
				out[i].Between = []quantity.Decimal{*one.Lower, one.Limit}
			}
		}
	}
	return out
}

func resultReadings(readings []record.Reading) []ResultReading {
	var out []ResultReading
	for _, r := range readings {
		out = append(out, ResultReading{Quantity: r.Quantity, WavelengthNM: r.WavelengthNM, Direction: r.Direction, Event: r.Event, Value: r.Value,
			Shown: r.Shown, Reference: r.Reference, Received: r.Received,
			Instrument: r.Instrument, Source: r.Source, Person: r.Person, Time: r.Time, ReferenceTime: r.ReferenceTime, Alias: r.Alias, Note: r.Note, Fate: r.Fate, Method: r.Method,
			File: r.Origin.File, SHA256: r.Origin.SHA256, Row: r.Origin.Row, Cell: r.Origin.Cell})
	}
	return out
}

// ResultsJSON is results.json.
func (w *Writer) ResultsJSON() ([]byte, error) {
	var b bytes.Buffer
	err := w.WriteResults(&b)
	return b.Bytes(), err
}

// WriteResults writes results.json, link by link: of 100,000 links it is most of a
// gigabyte.
func (w *Writer) WriteResults(to io.Writer) error {
	all, err := Encode(w.ResultsHead())
	if err != nil {
		return err
	}
	const open = "\n  \"links\": [" // no text holds it: in texts, a quote stands behind a backslash
	before, after, _ := bytes.Cut(all, []byte(open))
	out := slices.Concat(before, []byte(open))
	separator := "\n    "
	for _, compact := range w.ResultLinksJSON() {
		out = indent(append(out, separator...), compact, 2, 2+broken)
		if _, err := to.Write(out); err != nil {
			return err
		}
		out, separator = out[:0], ",\n    "
	}
	if len(w.Judgement.Links) > 0 {
		out = append(out, "\n  "...)
	}
	_, err = to.Write(append(out, after...))
	return err
}
