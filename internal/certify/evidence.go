package certify

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"fmt"
	"iter"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
)

// RecordFormat names the form of the record attached to a certificate. A
// reader refuses what it does not know; a later form gets another number.
const RecordFormat = "spanseal-record/2"

// Record is what is known about one link, attached to its certificate as
// record.json: UTF-8, keys in the order of the fields below, numbers of readings
// and limits as strings of their digits. Each finding, working and reading stands
// on a line of its own; the levels above are broken into lines with two spaces of
// indent, and a line feed ends the text. The same facts give the same bytes.
type Record struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"` // job number, "/", link
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Specimen    bool          `json:"specimen,omitempty"` // invented values: evidence of nothing
	Verdict     judge.Verdict `json:"verdict"`
	// Statements lead the paper: what was measured, when, and what it proves. Those
	// that follow say what failed first and passed when it was measured again.
	Statements []statement.Statement `json:"statements"`
	Job        RecordJob             `json:"job"`
	Link       record.Link           `json:"link"`
	// Findings and Carries cite Workings, and Readings with their origin.
	Findings   []RecordFinding  `json:"findings"`
	Carries    []RecordCarries  `json:"carries,omitempty"`
	Workings   []*judge.Working `json:"workings,omitempty"`
	Readings   []record.Reading `json:"readings"`
	Superseded []record.Reading `json:"superseded,omitempty"`
	// Cited are further readings that a finding rests on, or asks about.
	Cited        []record.Reading     `json:"cited,omitempty"`
	Terminations []record.Termination `json:"terminations,omitempty"`
	// Instruments and People are those that the link's facts name.
	Instruments []record.Instrument `json:"instruments,omitempty"`
	People      []record.Person     `json:"people,omitempty"`
	Cable       *record.Cable       `json:"cable,omitempty"`
	Sets        []judge.SetUsed     `json:"sets"`
	// Ledger has every limit of every set that binds the link, and what became of it.
	Ledger []judge.Entry `json:"ledger,omitempty"`
}

// RecordJob is the part of the job that every record repeats.
type RecordJob struct {
	Number     string        `json:"number"`
	Title      string        `json:"title"`
	Site       record.Party  `json:"site"`
	Customer   record.Party  `json:"customer"`
	Contractor record.Party  `json:"contractor"`
	Invoice    string        `json:"invoice,omitempty"`
	Completed  record.Date   `json:"completed,omitzero"`
	TimeZone   string        `json:"time_zone,omitempty"`
	Stage      string        `json:"stage,omitempty"`
	Witness    string        `json:"witness,omitempty"`
	Policy     record.Policy `json:"judge"`
}

// Record returns the record of a link.
func (s *Set) Record(l *judge.LinkResult) *Record {
	job, losses := &s.Facts.Job, claim.LossesOf(l)
	r := &Record{
		Format:      RecordFormat,
		Certificate: s.CertificateNumber(l.Link.ID),
		Revision:    s.Revision,
		Issued:      s.issuedOn(),
		Specimen:    s.Specimen,
		Verdict:     l.Verdict,
		Statements:  s.told(slices.Concat(claim.Link(job, l, losses.Places), losses.Retests())),
		Job: RecordJob{job.Number, job.Title, job.Site, job.Customer, job.Contractor, job.Invoice, job.Completed, job.TimeZone,
			cmp.Or(l.Link.Stage, job.Stage), job.Witness, job.Policy},
		Link:         *l.Link,
		Readings:     l.Readings,
		Superseded:   l.Superseded,
		Terminations: l.Terminations,
		Instruments:  s.instruments(l),
		People:       s.people(l),
		Sets:         s.confirmed(s.Judgement.SetsOf(l)),
		Ledger:       s.entries(l.Ledger),
	}
	if c, ok := job.Cable(l.Link.Cable); ok {
		r.Cable = &c
	}
	r.cite(l, s.english)
	return r
}

// instruments are those named by a link's readings, in the job's order.
func (s *Set) instruments(l *judge.LinkResult) []record.Instrument {
	named := map[string]bool{}
	for r := range everyReading(l) {
		named[r.Instrument], named[r.Source] = true, true
	}
	var out []record.Instrument
	for _, i := range s.Facts.Job.Instruments {
		if named[i.ID] {
			out = append(out, i)
		}
	}
	return out
}

// everyReading goes through the readings that count and those that do not.
func everyReading(l *judge.LinkResult) iter.Seq[*record.Reading] {
	return func(yield func(*record.Reading) bool) {
		for _, list := range [][]record.Reading{l.Readings, l.Superseded} {
			for i := range list {
				if !yield(&list[i]) {
					return
				}
			}
		}
	}
}

// people are those named by a link's readings and terminations.
func (s *Set) people(l *judge.LinkResult) []record.Person {
	named := map[string]bool{}
	for r := range everyReading(l) {
		named[r.Person] = true
	}
	for _, t := range l.Terminations {
		named[t.Person] = true
	}
	var out []record.Person
	for _, p := range s.Facts.Job.People {
		if named[p.ID] {
			out = append(out, p)
		}
	}
	return out
}

// person is a person's name, or what the file wrote.
func (s *Set) person(id string) string {
	if p, ok := s.Facts.Job.Person(id); ok {
		return p.Name
	}
	return id
}

// claim is the statement of a link's paper about the record with the digest. A
// number that only stands for what the instrument showed is in no token: who
// scans it sees no row that says so.
func (s *Set) claim(l *judge.LinkResult, recordJSON []byte) seal.Claim {
	c := seal.Claim{
		Certificate: s.CertificateNumber(l.Link.ID),
		Revision:    s.Revision,
		Job:         s.Facts.Job.Number,
		Link:        l.Link.ID,
		Verdict:     l.Verdict.String(),
		Issued:      s.issuedOn().String(),
		Record:      half(recordJSON),
	}
	_, last := s.measuredOn(l.Readings)
	c.Measured = last.String()
	for _, r := range l.Readings {
		if r.Quantity == record.InsertionLoss && r.Shown == "" {
			c.Readings = append(c.Readings, seal.ClaimReading{WavelengthNM: r.WavelengthNM, Direction: string(r.Direction), Loss: r.Value})
		}
	}
	slices.SortStableFunc(c.Readings, func(a, b seal.ClaimReading) int {
		return cmp.Or(cmp.Compare(a.WavelengthNM, b.WavelengthNM), strings.Compare(a.Direction, b.Direction))
	})
	if w := l.WorstFinding(); w != nil {
		c.Margin = w.Margin
	}
	return c
}

// half is the first half of a SHA-256: 128 bits still bind a record and keep
// the symbol small.
func half(b []byte) (h [16]byte) {
	sum := sha256.Sum256(b)
	copy(h[:], sum[:])
	return h
}

// sealing is the seal of a link's record, made once for its paper and its label.
type sealing struct {
	once   sync.Once
	token  string
	symbol symbol
	err    error
}

// sealed signs a link's record, the first time that it is asked. The record is
// made here where it is not given; it is not kept, since it is large.
func (s *Set) sealed(l *judge.LinkResult, recordJSON []byte) (*sealing, error) {
	one := s.seals[l.Link.ID]
	if one == nil {
		return nil, fmt.Errorf("link %s is not of this job", l.Link.ID)
	}
	one.once.Do(func() {
		if recordJSON == nil {
			if recordJSON, one.err = encode(s.Record(l)); one.err != nil {
				return
			}
		}
		var modules [][]bool
		one.token, modules, one.err = s.seal(s.claim(l, recordJSON))
		one.symbol = pack(modules)
	})
	return one, one.err
}

// symbol is the modules of a QR symbol, one bit each: labels need all symbols of
// a job at once.
type symbol struct {
	side int
	dark []byte
}

func pack(modules [][]bool) symbol {
	p := symbol{len(modules), make([]byte, (len(modules)*len(modules)+7)/8)}
	i := 0
	for _, row := range modules {
		for _, dark := range row {
			bit := byte(0)
			if dark { // compiled without a jump, which no processor could foresee
				bit = 1
			}
			p.dark[i/8] |= bit << (i % 8)
			i++
		}
	}
	return p
}

// modules are the symbol as it is drawn, dark[row][column]; nil without one.
func (p symbol) modules() [][]bool {
	if p.side == 0 {
		return nil
	}
	dark := make([]bool, p.side*p.side)
	for i := range dark {
		dark[i] = p.dark[i/8]>>(i%8)&1 == 1
	}
	return slices.Collect(slices.Chunk(dark, p.side))
}

// attachments are the files inside a link's paper.
func (s *Set) attachments(l *judge.LinkResult, recordJSON []byte, token string) []Attachment {
	files := []Attachment{{Name: "record.json", MIME: "application/json", Description: s.words.Say("attach.record"), Relationship: "Data", Data: recordJSON, Modified: s.Issued}}
	return append(append(files, s.tokenFile(token)...),
		Attachment{Name: "source-rows.txt", MIME: "text/plain", Description: s.words.Say("attach.rows"), Relationship: "Source", Data: s.sourceRows(l), Modified: s.Issued})
}

// tokenFile is token.txt; a specimen has none.
func (s *Set) tokenFile(token string) []Attachment {
	if token == "" {
		return nil
	}
	return []Attachment{{Name: "token.txt", MIME: "text/plain", Description: s.words.Say("attach.token"), Relationship: "Supplement",
		Data: []byte(token + "\n"), Modified: s.Issued}}
}

// seal signs a claim and draws its symbol. A specimen is never signed.
func (s *Set) seal(c seal.Claim) (token string, symbol [][]bool, err error) {
	if s.Specimen {
		return "", nil, nil
	}
	if token, err = s.Sign(c); err != nil {
		return "", nil, fmt.Errorf("%s: sign the claim: %w", c.Certificate, err)
	}
	if symbol, err = s.Symbol(s.symbolText(token)); err != nil {
		return "", nil, fmt.Errorf("%s: make the symbol: %w", c.Certificate, err)
	}
	return token, symbol, nil
}

// sourceRows lists the lines of the original files that a link's readings and
// terminations were read from. Bytes that are not UTF-8 are written as \xNN,
// so that nothing is guessed; rows of a spreadsheet have no line of text and
// are named only.
func (s *Set) sourceRows(l *judge.LinkResult) []byte {
	var origins []record.Origin
	for r := range everyReading(l) {
		origins = append(origins, r.Origin)
	}
	for _, t := range l.Terminations {
		origins = append(origins, t.Origin)
	}
	origins = append(origins, l.Link.Origin)
	slices.SortStableFunc(origins, func(a, b record.Origin) int {
		return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(a.Row, b.Row), strings.Compare(a.Cell, b.Cell))
	})
	var b strings.Builder
	last := record.Origin{}
	for _, o := range origins {
		if o.File == "" || o.File == last.File && o.Row == last.Row && o.Cell == last.Cell {
			continue
		}
		if o.File != last.File {
			if last.File != "" {
				b.WriteByte('\n')
			}
			fmt.Fprintf(&b, "%s\nSHA-256 %s, %d bytes\n", o.File, o.SHA256, o.Size)
		}
		last = o
		line := ""
		if f := s.files[o.File]; f != nil && o.Row > 0 && o.Cell == "" && !bytes.Contains(f.Raw[:min(len(f.Raw), 1024)], []byte{0}) {
			line = f.Line(o.Row)
		}
		switch {
		case o.Cell != "":
			fmt.Fprintf(&b, "%s\n", o.Cell)
		case line != "":
			fmt.Fprintf(&b, "%d: %s\n", o.Row, lossless(line))
		default:
			fmt.Fprintf(&b, "%d\n", o.Row)
		}
	}
	return []byte(b.String())
}

// lossless writes a line as it is, with bytes outside UTF-8 escaped.
func lossless(line string) string {
	if utf8.ValidString(line) {
		return line
	}
	var b strings.Builder
	for i := 0; i < len(line); {
		r, n := utf8.DecodeRuneInString(line[i:])
		if r == utf8.RuneError && n == 1 {
			fmt.Fprintf(&b, `\x%02X`, line[i])
		} else {
			b.WriteString(line[i : i+n])
		}
		i += n
	}
	return b.String()
}
