package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// resultsName is the table of a revision that its papers are held against.
const resultsName = "results.csv"

// compare holds the papers of a revision against each other, its originals and
// its table of results. Faults go to the paper concerned.
func (v *revision) compare(fsys fs.FS) {
	v.compareOriginals()
	v.compareNumbers()
	v.compareSummary()
	rows, listed, err := v.readTable(fsys)
	if !listed {
		return // told already: missing, changed or added
	}
	for _, name := range v.names() {
		p := v.papers[name]
		switch {
		case p.Claim == nil || p.Claim.Link == "":
		case err != nil:
			p.note(fmt.Sprintf("it could not be held against %s: %s", resultsName, err))
		case p.record.Format == trunkRecord:
			for _, f := range rows.disagreeTrunk(&p.record) {
				p.fault(Changed, f)
			}
		default:
			for _, f := range rows.disagree(*p.Claim) {
				p.fault(Changed, f)
			}
		}
	}
}

func (v *revision) names() []string {
	var names []string
	for _, f := range v.manifest.Files {
		if v.papers[f.Path] != nil {
			names = append(names, f.Path)
		}
	}
	return names
}

// compareOriginals holds the originals that a record names against those that
// the manifest lists under evidence/.
func (v *revision) compareOriginals() {
	listed := map[string]seal.ManifestFile{}
	for _, f := range v.manifest.Files {
		listed[f.Path] = f
	}
	for _, p := range v.papers {
		for _, o := range p.record.origins() {
			switch f, ok := listed["evidence/"+o.File]; {
			case !ok:
				p.note(fmt.Sprintf("the original %s is not among the evidence", o.File))
			case f.SHA256 != o.SHA256 || f.Size != o.Size:
				p.fault(Changed, fmt.Sprintf("the original %s among the evidence is not the one that was read", o.File))
			}
		}
		for _, o := range p.record.Originals {
			switch f, ok := listed["originals/"+o.File]; {
			case !ok:
				p.fault(Changed, fmt.Sprintf("the manifest does not list originals/%s, the instrument's own file", o.File))
			case f.SHA256 != o.SHA256 || f.Size != o.Size:
				p.fault(Changed, fmt.Sprintf("originals/%s is not the instrument's own file that the record names", o.File))
			}
		}
	}
}

// compareSummary holds a summary's list of links against their papers, and the
// table that it carries against the one beside it.
func (v *revision) compareSummary() {
	for _, name := range v.names() {
		s := v.papers[name]
		for _, f := range v.manifest.Files {
			if f.Path == summaryName && s.summary.Format != "" && s.Claim != nil && !strings.HasPrefix(f.SHA256, hex.EncodeToString(s.Claim.Record[:])) {
				s.fault(Changed, fmt.Sprintf("it vouches for another %s than the one beside it", summaryName))
			}
		}
		for _, l := range s.summary.Links {
			p, ok := v.papers[l.File]
			if !ok && v.lists(l.File) {
				continue // it is missing or no paper, which is told already
			}
			if !ok {
				s.fault(Changed, fmt.Sprintf("it names %s for the link %s, which the manifest does not list", l.File, l.Link))
				continue
			}
			c := p.Claim
			if c != nil && (c.Link != l.Link || c.Verdict != l.Verdict || l.Certificate != "" && c.Certificate != l.Certificate) {
				p.fault(Changed, fmt.Sprintf("%s says %s for the link %s; this document says %s for %s", name, l.Verdict, l.Link, c.Verdict, c.Link))
			}
		}
	}
}

// lists reports whether the manifest has a file of that path.
func (v *revision) lists(name string) bool {
	_, found := slices.BinarySearchFunc(v.manifest.Files, name, func(f seal.ManifestFile, name string) int { return strings.Compare(f.Path, name) })
	return found
}

// compareNumbers refuses two papers of one certificate number.
func (v *revision) compareNumbers() {
	first := map[string]string{}
	for _, name := range v.names() {
		p := v.papers[name]
		if p.Claim == nil {
			continue
		}
		number := p.Claim.Certificate
		if other, twice := first[number]; twice {
			p.fault(Changed, fmt.Sprintf("the number %s is on %s too", number, other))
			continue
		}
		first[number] = name
	}
}

// results are the rows of results.csv by link.
type results map[string][]resultRow

type resultRow struct {
	certificate, verdict, quantity, direction string
	wavelength                                int
	measured                                  quantity.Decimal
	hasMeasured                               bool
}

// readTable reads the table of results, row by row: that of a large job is hundreds
// of megabytes. It is not listed where the manifest names another file.
func (v *revision) readTable(fsys fs.FS) (rows results, listed bool, err error) {
	f, err := open(fsys, path.Join(v.name, resultsName))
	if err != nil {
		return nil, false, nil
	}
	defer f.Close()
	sum := sha256.New()
	hashed := io.TeeReader(f, sum)
	rows, err = readResults(hashed)
	_, failed := io.Copy(io.Discard, hashed)
	listed = failed == nil && slices.ContainsFunc(v.manifest.Files, func(f seal.ManifestFile) bool {
		return f.Path == resultsName && f.SHA256 == hex.EncodeToString(sum.Sum(nil))
	})
	return rows, listed, err
}

// The table of results has at most so many columns; 28 are known. A row of it
// takes at least minRow bytes, but for the first maxShort of them.
const (
	maxColumns = 256
	minRow     = 48
	maxShort   = 100_000
)

// shortHead passes on a table whose first line is not longer than any that we
// write: its cells are counted only once all of it is held.
type shortHead struct {
	from io.Reader
	seen int
	past bool
}

func (s *shortHead) Read(p []byte) (int, error) {
	const longest = 64 << 10
	n, err := s.from.Read(p)
	if !s.past {
		s.past = bytes.IndexByte(p[:n], '\n') >= 0
		if s.seen += n; !s.past && s.seen > longest {
			return 0, errors.New("its first line is longer than any that spanseal writes")
		}
	}
	return n, err
}

func readResults(r io.Reader) (results, error) {
	lines := csv.NewReader(&shortHead{from: r})
	head, err := lines.Read()
	if err == io.EOF {
		return nil, fmt.Errorf("it is empty")
	}
	if err != nil {
		return nil, err
	}
	lines.ReuseRecord = true
	if len(head) > maxColumns {
		return nil, fmt.Errorf("it has more than %d columns", maxColumns)
	}
	column := map[string]int{}
	for i, name := range head {
		column[name] = i
	}
	for _, name := range []string{"certificate", "link", "link_verdict", "quantity", "wavelength_nm", "direction", "measured", "kind"} {
		if _, ok := column[name]; !ok {
			return nil, fmt.Errorf("it has no column %s", name)
		}
	}
	all, kept := results{}, texts{}
	for n := int64(0); ; n++ {
		l, err := lines.Read()
		if err == io.EOF {
			return all, nil
		}
		if err != nil {
			return nil, err
		}
		if n > maxShort && lines.InputOffset() < n*minRow {
			return nil, errors.New("it has more rows than any that spanseal writes")
		}
		cell := func(name string) string { return kept.text(unquote(l[column[name]])) }
		if cell("kind") == "reading" {
			continue // superseded
		}
		row := resultRow{certificate: cell("certificate"), verdict: cell("link_verdict"), quantity: cell("quantity"), direction: cell("direction")}
		row.wavelength, _ = strconv.Atoi(cell("wavelength_nm"))
		if d, err := quantity.Parse(cell("measured")); err == nil {
			row.measured, row.hasMeasured = d, true
		}
		all[cell("link")] = append(all[cell("link")], row)
	}
}

// texts keeps each text once, and so not the row that it stood in.
type texts map[string]string

func (t texts) text(s string) string {
	kept, known := t[s]
	if !known {
		kept = strings.Clone(s)
		t[kept] = kept
	}
	return kept
}

// unquote takes off the apostrophe that keeps a spreadsheet from running a
// text as a formula.
func unquote(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.ContainsRune("=+-@\t\r", rune(s[1])) {
		return s[1:]
	}
	return s
}

// severity orders verdicts: a trunk is as good as the worst of its links.
var severity = []string{"pass", "marginal", "fail", "incomplete"}

// disagreeTrunk says where the table and the positions of a trunk are at odds, or the
// trunk and its own positions.
func (r results) disagreeTrunk(t *recordFile) (faults []string) {
	worst := 0
	for _, p := range t.Positions {
		rows, known := r[p.Link]
		switch {
		case !known:
			faults = append(faults, fmt.Sprintf("%s does not know the link %s", resultsName, p.Link))
		case rows[0].verdict != p.Verdict || rows[0].certificate != p.Certificate:
			faults = append(faults, fmt.Sprintf("%s says %s for the link %s, the trunk %s", resultsName, rows[0].verdict, p.Link, p.Verdict))
		}
		worst = max(worst, slices.Index(severity, p.Verdict))
	}
	if len(t.Positions) == 0 || severity[worst] != t.Verdict {
		faults = append(faults, fmt.Sprintf("the trunk is %s, the worst of its links %s", t.Verdict, severity[worst]))
	}
	return faults
}

// disagree says where the table and a link's claim are at odds.
func (r results) disagree(c seal.Claim) []string {
	rows, ok := r[c.Link]
	if !ok {
		return []string{fmt.Sprintf("%s does not know the link %s", resultsName, c.Link)}
	}
	var faults []string
	if rows[0].verdict != c.Verdict {
		faults = append(faults, fmt.Sprintf("%s says %s, the document %s", resultsName, rows[0].verdict, c.Verdict))
	}
	if n := rows[0].certificate; n != "" && n != c.Certificate {
		faults = append(faults, fmt.Sprintf("%s has the number %s, the document %s", resultsName, n, c.Certificate))
	}
	for _, reading := range c.Readings {
		same := func(row resultRow) bool {
			return row.hasMeasured && row.quantity == "insertion_loss" && row.wavelength == reading.WavelengthNM && row.direction == reading.Direction
		}
		i := slices.IndexFunc(rows, same)
		if i >= 0 && !rows[i].measured.Equal(reading.Loss) {
			faults = append(faults, fmt.Sprintf("%s has %s dB at %d nm %s, the document %s dB", resultsName, rows[i].measured,
				reading.WavelengthNM, reading.Direction, reading.Loss))
		}
	}
	return faults
}
