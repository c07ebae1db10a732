package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"spanseal/internal/bounds"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// The forms of attached records that we know. Here are only the members that a
// token repeats or that lead elsewhere; this reading of them owes nothing to
// the code that wrote them.
var (
	linkRecords    = []string{"spanseal-record/1", "spanseal-record/2", trunkRecord}
	summaryRecords = []string{"spanseal-results/1", "spanseal-results/2"}
)

// trunkRecord is the form of the record of a trunk, whose positions are links.
const trunkRecord = "spanseal-trunk/1"

// A statement is an attached record, as far as it is compared.
type statement interface {
	parse([]byte) error
	read(io.Reader) error
	form() string
	// disagree says where the record and the claim are at odds.
	disagree(seal.Claim) []string
}

// recordFile is the record of one link.
type recordFile struct {
	Format      string `json:"format"`
	Certificate string `json:"certificate"`
	Revision    int    `json:"revision"`
	Issued      string `json:"issued"`
	Verdict     string `json:"verdict"`
	Job         struct {
		Number string `json:"number"`
	} `json:"job"`
	Link struct {
		ID     string `json:"id"`
		Origin origin `json:"origin"`
	} `json:"link"`
	Trunk struct {
		ID string `json:"id"`
	} `json:"trunk"`
	Positions []trunkPosition `json:"positions"`
	Findings  []struct {
		Margin *quantity.Decimal `json:"margin"`
	} `json:"findings"`
	Readings     []recordReading `json:"readings"`
	Superseded   []recordReading `json:"superseded"`
	Stages       []recordReading `json:"stages"`
	Terminations []struct {
		Origin origin `json:"origin"`
	} `json:"terminations"`
	Inspections []struct {
		Photo  origin `json:"photo"`
		Origin origin `json:"origin"`
	} `json:"inspections"`
	Originals []origin `json:"originals"` // of instruments
}

// trunkPosition is a link in the record of a trunk.
type trunkPosition struct {
	Link        string `json:"link"`
	Certificate string `json:"certificate"`
	Verdict     string `json:"verdict"`
}

type recordReading struct {
	Quantity     string           `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm"`
	Direction    string           `json:"direction"`
	Value        quantity.Decimal `json:"value"`
	Shown        string           `json:"shown"`
	Origin       origin           `json:"origin"`
}

// origin is the original file that a fact was read from.
type origin struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
	Size   int64  `json:"size"`
}

// summaryFile is the table of results that a summary carries.
type summaryFile struct {
	Format   string `json:"format"`
	Job      string `json:"job"`
	Revision int    `json:"revision"`
	Issued   string `json:"issued"`
	Conforms bool   `json:"conforms"`
	Links    []summaryLink
}

type summaryLink struct {
	Link        string `json:"link"`
	Verdict     string `json:"verdict"`
	Certificate string `json:"certificate"`
	File        string `json:"file"`
}

func (r *recordFile) form() string  { return r.Format }
func (r *summaryFile) form() string { return r.Format }

// read reads an attached record into s, and returns the part of its SHA-256 that
// a token holds. It is not known where it is no JSON of such members; the error
// is that of unpacking.
func read(a *page.Attachment, s statement) (hash [16]byte, known bool, err error) {
	if a.Write == nil {
		h := sha256.Sum256(a.Data)
		return [16]byte(h[:16]), s.parse(a.Data) == nil, nil
	}
	h := sha256.New()
	r, w := io.Pipe()
	written := make(chan error, 1)
	go func() {
		err := guard(func() error { return a.Write(io.MultiWriter(h, w)) })
		w.CloseWithError(err)
		written <- err
	}()
	known = s.read(r) == nil
	io.Copy(io.Discard, r) // what follows counts for the hash; an error is the writer's
	err = <-written
	return [16]byte(h.Sum(nil)[:16]), known, err
}

// What is read of an attached record, in bytes, members and elements: see the
// package comment.
const (
	maxRecord   = 16 << 20
	maxValues   = 250_000
	maxResults  = 16 << 30
	maxMember   = 16 << 20
	maxMembers  = 1000
	maxLink     = 4 << 20
	maxLinks    = 500_000
	maxLinkText = 64 << 20
)

func end(d *json.Decoder) error {
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows the record")
	}
	return nil
}

func (r *recordFile) read(from io.Reader) error {
	data, err := io.ReadAll(io.LimitReader(from, maxRecord+1))
	if err != nil {
		return err
	}
	return r.parse(data)
}

func (r *recordFile) parse(data []byte) error {
	if len(data) > maxRecord {
		return bounds.ErrTooLarge
	}
	return bounds.Unmarshal(data, maxValues, r)
}

func (r *summaryFile) parse(data []byte) error { return r.read(bytes.NewReader(data)) }

// read goes from link to link: those of a large job are a gigabyte together.
func (r *summaryFile) read(from io.Reader) error {
	d, window := bounds.Decode(from, maxResults, maxMember)
	members := map[string]any{"format": &r.Format, "job": &r.Job, "revision": &r.Revision, "issued": &r.Issued, "conforms": &r.Conforms}
	expect := func(want json.Delim) error {
		t, err := d.Token()
		if err == nil && t != want {
			err = fmt.Errorf("%v where a %v should be", t, want)
		}
		return err
	}
	err := expect('{')
	for n := 0; err == nil && d.More(); n++ {
		if n == maxMembers {
			return bounds.ErrTooLarge
		}
		var name json.Token
		if name, err = d.Token(); err != nil {
			break
		}
		if name != "links" {
			if to, known := members[name.(string)]; known { // a name is a string
				err = d.Decode(to)
			} else {
				err = window.Discard()
			}
			continue
		}
		r.Links = nil
		text := 0
		window.Most = maxLink
		for err = expect('['); err == nil && d.More(); {
			var l summaryLink
			err = d.Decode(&l)
			r.Links = append(r.Links, l)
			if text += len(l.Link) + len(l.Verdict) + len(l.Certificate) + len(l.File); text > maxLinkText || len(r.Links) > maxLinks {
				err = bounds.ErrTooLarge
			}
		}
		window.Most = maxMember
		if err == nil {
			err = expect(']')
		}
	}
	if err == nil {
		err = expect('}')
	}
	if err == nil {
		err = end(d)
	}
	return err
}

// origins are the original files of a record, each once.
func (r *recordFile) origins() []origin {
	all := []origin{r.Link.Origin}
	for _, x := range slices.Concat(r.Readings, r.Superseded, r.Stages) {
		all = append(all, x.Origin)
	}
	for _, x := range r.Terminations {
		all = append(all, x.Origin)
	}
	for _, x := range r.Inspections {
		all = append(all, x.Origin, x.Photo)
	}
	var once []origin
	seen := map[origin]bool{}
	for _, o := range all {
		if o.File != "" && !seen[o] {
			seen[o] = true
			once = append(once, o)
		}
	}
	return once
}

// losses are the losses of a token: those that the instrument gave as numbers,
// or with them what stands for a bound or for a reading beyond its range.
func (r *recordFile) losses(standIns bool) (losses []seal.ClaimReading) {
	for _, x := range r.Readings {
		if x.Quantity == "insertion_loss" && (standIns || x.Shown == "") {
			losses = append(losses, seal.ClaimReading{WavelengthNM: x.WavelengthNM, Direction: x.Direction, Loss: x.Value})
		}
	}
	return losses
}

func (r *recordFile) disagree(c seal.Claim) []string {
	if r.Format == trunkRecord {
		r.Link.ID = r.Trunk.ID
	}
	said := seal.Claim{
		Certificate: r.Certificate, Revision: r.Revision, Job: r.Job.Number, Link: r.Link.ID,
		Verdict: r.Verdict, Issued: r.Issued,
		Measured: c.Measured, Margin: c.Margin, Record: c.Record, // compared elsewhere
	}
	said.Readings = r.losses(false)
	faults := disagreements(said, c)
	if slices.Contains(said.Differences(c), "readings") { // tokens once held the numbers that stand for what was shown
		said.Readings = r.losses(true)
		faults = disagreements(said, c)
	}
	if c.Margin != nil {
		known := false
		for _, f := range r.Findings {
			known = known || f.Margin != nil && f.Margin.Equal(*c.Margin)
		}
		if !known {
			faults = append(faults, "record and token disagree about margin_db")
		}
	}
	return faults
}

func (r *summaryFile) disagree(c seal.Claim) []string {
	said := seal.Claim{
		Certificate: r.Job, Revision: r.Revision, Job: r.Job, Issued: r.Issued, Verdict: "does not conform",
		Measured: c.Measured, Record: c.Record, // compared elsewhere
	}
	if r.Conforms {
		said.Verdict = "conforms"
	}
	faults := disagreements(said, c)
	for _, l := range r.Links {
		if r.Conforms && l.Verdict != "pass" && l.Verdict != "marginal" {
			faults = append(faults, fmt.Sprintf("it says conforms, and %.40s for the link %.300s", l.Verdict, l.Link))
		}
		if len(faults) >= mostFaults {
			break
		}
	}
	return faults
}

func disagreements(record, token seal.Claim) (faults []string) {
	for _, name := range record.Differences(token) {
		faults = append(faults, fmt.Sprintf("record and token disagree about %s", name))
	}
	return faults
}
