package certify

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// claim is the statement of a link's paper about the record with the digest. A
// number that only stands for what the instrument showed is in no token: who
// scans it sees no row that says so.
func (s *PaperSet) claim(l *judge.LinkResult, recordJSON []byte) seal.Claim {
	c := seal.Claim{
		Certificate: s.CertificateNumber(l.Link.ID),
		Revision:    s.Revision,
		Job:         s.Facts.Job.Number,
		Link:        l.Link.ID,
		Verdict:     l.Verdict.String(),
		Issued:      s.IssuedOn().String(),
		Record:      half(recordJSON),
	}
	_, last := s.MeasuredOn(l.Readings)
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
func (s *PaperSet) sealed(l *judge.LinkResult, recordJSON []byte) (*sealing, error) {
	one := s.seals[l.Link.ID]
	if one == nil {
		return nil, fmt.Errorf("link %s is not of this job", l.Link.ID)
	}
	one.once.Do(func() {
		if recordJSON == nil {
			if recordJSON, one.err = form.Encode(s.Record(l)); one.err != nil {
				return
			}
		}
		var modules [][]bool
		one.token, modules, one.err = s.Seal(s.claim(l, recordJSON))
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
func (s *PaperSet) attachments(l *judge.LinkResult, recordJSON []byte, token string) []page.Attachment {
	files := []page.Attachment{{Name: "record.json", MIME: "application/json", Description: s.words.Say("attach.record"), Relationship: "Data", Data: recordJSON, Modified: s.Issued}}
	return append(append(files, s.TokenFile(token)...),
		page.Attachment{Name: "source-rows.txt", MIME: "text/plain", Description: s.words.Say("attach.rows"), Relationship: "Source", Data: s.sourceRows(l), Modified: s.Issued})
}

// TokenFile is token.txt; a specimen has none.
func (s *PaperSet) TokenFile(token string) []page.Attachment {
	if token == "" {
		return nil
	}
	return []page.Attachment{{Name: "token.txt", MIME: "text/plain", Description: s.words.Say("attach.token"), Relationship: "Supplement",
		Data: []byte(token + "\n"), Modified: s.Issued}}
}

// Seal signs a claim and draws its symbol. A specimen is never signed.
func (s *PaperSet) Seal(c seal.Claim) (token string, symbol [][]bool, err error) {
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

// sourceRows lists the lines of the original files that a link's readings,
// terminations and inspections were read from. Bytes that are not UTF-8 are written as \xNN,
// so that nothing is guessed; rows of a spreadsheet have no line of text and
// are named only.
func (s *PaperSet) sourceRows(l *judge.LinkResult) []byte {
	var origins []record.Origin
	for r := range form.EveryReading(l) {
		origins = append(origins, r.Origin)
	}
	for _, t := range l.Terminations {
		origins = append(origins, t.Origin)
	}
	for _, i := range l.Inspections {
		origins = append(origins, i.Origin)
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
