package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"spanseal/internal/pdf"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// The forms of attached records that we know. Here are only the members that a
// token repeats or that lead elsewhere; this reading of them owes nothing to
// the code that wrote them.
var (
	linkRecords    = []string{"spanseal-record/1", "spanseal-record/2"}
	summaryRecords = []string{"spanseal-results/1", "spanseal-results/2"}
)

// A statement is an attached record, as far as it is compared.
type statement interface {
	read(*json.Decoder) error
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
	Findings []struct {
		Margin *quantity.Decimal `json:"margin"`
	} `json:"findings"`
	Readings     []recordReading `json:"readings"`
	Superseded   []recordReading `json:"superseded"`
	Terminations []struct {
		Origin origin `json:"origin"`
	} `json:"terminations"`
}

type recordReading struct {
	Quantity     string           `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm"`
	Direction    string           `json:"direction"`
	Value        quantity.Decimal `json:"value"`
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
func read(a *pdf.Attachment, s statement) (hash [16]byte, known bool, err error) {
	if a.Write == nil {
		h := sha256.Sum256(a.Data)
		return [16]byte(h[:16]), s.read(json.NewDecoder(bytes.NewReader(a.Data))) == nil, nil
	}
	h := sha256.New()
	r, w := io.Pipe()
	written := make(chan error, 1)
	go func() {
		err := a.Write(io.MultiWriter(h, w))
		w.CloseWithError(err)
		written <- err
	}()
	known = s.read(json.NewDecoder(r)) == nil
	io.Copy(io.Discard, r) // what follows counts for the hash; an error is the writer's
	err = <-written
	return [16]byte(h.Sum(nil)[:16]), known, err
}

// whole decodes a value with nothing behind it.
func whole(d *json.Decoder, to any) error {
	if err := d.Decode(to); err != nil {
		return err
	}
	return end(d)
}

func end(d *json.Decoder) error {
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows the record")
	}
	return nil
}

func (r *recordFile) read(d *json.Decoder) error { return whole(d, r) }

// read goes from link to link: those of a large job are a gigabyte together.
func (r *summaryFile) read(d *json.Decoder) error {
	members := map[string]any{"format": &r.Format, "job": &r.Job, "revision": &r.Revision, "issued": &r.Issued, "conforms": &r.Conforms}
	expect := func(want json.Delim) error {
		t, err := d.Token()
		if err == nil && t != want {
			err = fmt.Errorf("%v where a %v should be", t, want)
		}
		return err
	}
	err := expect('{')
	for err == nil && d.More() {
		var name json.Token
		if name, err = d.Token(); err != nil {
			break
		}
		if name != "links" {
			to, known := members[name.(string)] // a name is a string
			if !known {
				to = new(json.RawMessage)
			}
			err = d.Decode(to)
			continue
		}
		r.Links = nil
		for err = expect('['); err == nil && d.More(); {
			var l summaryLink
			err = d.Decode(&l)
			r.Links = append(r.Links, l)
		}
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
	for _, x := range slices.Concat(r.Readings, r.Superseded) {
		all = append(all, x.Origin)
	}
	for _, x := range r.Terminations {
		all = append(all, x.Origin)
	}
	var once []origin
	for _, o := range all {
		if o.File != "" && !slices.Contains(once, o) {
			once = append(once, o)
		}
	}
	return once
}

func (r *recordFile) disagree(c seal.Claim) []string {
	said := seal.Claim{
		Certificate: r.Certificate, Revision: r.Revision, Job: r.Job.Number, Link: r.Link.ID,
		Verdict: r.Verdict, Issued: r.Issued,
		Measured: c.Measured, Margin: c.Margin, Record: c.Record, // compared elsewhere
	}
	for _, x := range r.Readings {
		if x.Quantity == "insertion_loss" {
			said.Readings = append(said.Readings, seal.ClaimReading{WavelengthNM: x.WavelengthNM, Direction: x.Direction, Loss: x.Value})
		}
	}
	faults := disagreements(said, c)
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
			faults = append(faults, fmt.Sprintf("it says conforms, and %s for the link %s", l.Verdict, l.Link))
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
