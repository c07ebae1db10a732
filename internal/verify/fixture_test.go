package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

var issued = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

func newSigner(t testing.TB, name string) *seal.Signer {
	t.Helper()
	s, err := seal.NewSigner(name, "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 3)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// trusting returns a Trust in the signers, read in June 2027.
func trusting(signers ...*seal.Signer) *Trust {
	t := &Trust{Now: time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC)}
	for _, s := range signers {
		t.Add(s.Certificate())
	}
	return t
}

// maker issues revisions of a small job. Its hooks break one thing each, as
// somebody who holds the key, or does not, might.
type maker struct {
	signer   *seal.Signer
	revision int
	previous string // hash of the manifest before

	claim    func(link string, c *seal.Claim)
	record   func(link string, r map[string]any)
	attach   func(link string, a []page.Attachment) []page.Attachment
	files    func(fsys fstest.MapFS) // before the manifest is made
	manifest func(m *seal.Manifest)
	paperKey *seal.Signer // signs the papers instead
	tokenKey *seal.Signer // signs the tokens instead
	at       time.Time    // of signing; zero: issued
	stamp    func(cms []byte) []byte
}

var original = []byte("link,wavelength_nm,direction,loss_db\nL-1,1310,A-B,0.84\n")

var links = []string{"L-1", "L-2"}

var press = sync.OnceValue(func() *pdf.Press {
	p, err := pdf.NewPress(page.A4, pdf.Options{Runes: []rune("L-12")})
	if err != nil {
		panic(err)
	}
	return p
})

func (m maker) time() time.Time {
	if m.at.IsZero() {
		return issued
	}
	return m.at
}

// paper makes the certificate of a link, or the summary for "".
func (m maker) paper(t testing.TB, link string) []byte {
	t.Helper()
	margin := quantity.Must("0.31")
	c := seal.Claim{
		Certificate: "J-7/" + link, Revision: max(m.revision, 1), Job: "J-7", Link: link, Verdict: "pass",
		Issued: m.time().Format(time.DateOnly), Measured: "2026-11-18", Margin: &margin,
		Readings: []seal.ClaimReading{
			{WavelengthNM: 1310, Direction: "A-B", Loss: quantity.Must("0.84")},
			{WavelengthNM: 1310, Direction: "B-A", Loss: quantity.Must("0.87")},
		},
	}
	sum := sha256.Sum256(original)
	from := map[string]any{"file": "readings/a.csv", "sha256": hex.EncodeToString(sum[:]), "size": len(original), "row": 2}
	reading := func(direction, loss string) map[string]any {
		return map[string]any{"quantity": "insertion_loss", "wavelength_nm": 1310, "direction": direction, "value": loss, "origin": from}
	}
	name, rec := "record.json", map[string]any{
		"format": "spanseal-record/1", "certificate": c.Certificate, "revision": c.Revision, "issued": c.Issued, "verdict": c.Verdict,
		"job": map[string]any{"number": "J-7"}, "link": map[string]any{"id": link},
		"findings": []any{map[string]any{"margin": "0.31"}, map[string]any{}},
		"readings": []any{reading("A-B", "0.84"), reading("B-A", "0.87"), map[string]any{"quantity": "length", "value": "120", "origin": from}},
	}
	if link == "" {
		c.Certificate, c.Verdict, c.Readings, c.Margin = "J-7", "conforms", nil, nil
		var rows []any
		for _, l := range links {
			rows = append(rows, map[string]any{"link": l, "verdict": "pass", "certificate": "J-7/" + l, "file": "certificates/" + l + ".pdf"})
		}
		name, rec = "results.json", map[string]any{
			"format": "spanseal-results/1", "job": "J-7", "revision": c.Revision, "issued": c.Issued, "conforms": true, "links": rows,
		}
	}
	if m.record != nil {
		m.record(link, rec)
	}
	data, err := json.Marshal(rec)
	if err != nil {
		t.Fatal(err)
	}
	h := sha256.Sum256(data)
	c.Record = [16]byte(h[:])
	if m.claim != nil {
		m.claim(link, &c)
	}
	tokenKey, paperKey := m.signer, m.signer
	if m.tokenKey != nil {
		tokenKey = m.tokenKey
	}
	if m.paperKey != nil {
		paperKey = m.paperKey
	}
	text, err := tokenKey.SignToken(c)
	if err != nil {
		t.Fatal(err)
	}
	attachments := []page.Attachment{
		{Name: name, MIME: "application/json", Relationship: "Data", Data: data},
		{Name: "token.txt", MIME: "text/plain", Relationship: "Supplement", Data: []byte(text + "\n")},
	}
	if m.attach != nil {
		attachments = m.attach(link, attachments)
	}
	doc := &pdf.Document{
		Title: "Certificate " + link, Author: "Tidewater", Subject: "A link", Language: "en", Created: m.time(), Attachments: attachments,
		Draw: func(s page.Sheet) error {
			s.NextPage()
			s.Text(20, 20, page.Style{Size: 9}, link)
			return nil
		},
	}
	reserve := paperKey.MaxCMS()
	if m.stamp != nil {
		reserve += seal.MaxTimestamp
	}
	var b bytes.Buffer
	err = press().Canvas().Write(&b, doc, &pdf.Signature{
		Name: "R. Lindqvist", Reason: "Certificate", When: m.time(), Reserve: reserve,
		Sign: func(digest [32]byte) ([]byte, error) {
			cms, err := paperKey.SignCMS(digest, time.Time{})
			if m.stamp != nil {
				cms = m.stamp(cms)
			}
			return cms, err
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// issue writes a revision into fsys and returns the hash of its manifest.
func (m maker) issue(t testing.TB, fsys fstest.MapFS) string {
	t.Helper()
	m.revision = max(m.revision, 1)
	files := fstest.MapFS{
		"evidence/readings/a.csv": {Data: original},
		"check.html":              {Data: []byte("<!doctype html>")},
	}
	table := "certificate,link,link_verdict,kind,code,verdict,quantity,wavelength_nm,direction,measured\n"
	for _, l := range links {
		files["certificates/"+l+".pdf"] = &fstest.MapFile{Data: m.paper(t, l)}
		for _, d := range []string{"A-B,0.84", "B-A,0.87"} {
			table += fmt.Sprintf("J-7/%s,%s,pass,limit,insertion-loss,pass,insertion_loss,1310,%s\n", l, l, d)
		}
	}
	summary := m.paper(t, "")
	files["summary.pdf"] = &fstest.MapFile{Data: summary}
	if opened, err := pdf.Open(summary); err != nil {
		t.Fatal(err)
	} else if a := opened.Attachments[0]; a.Name == "results.json" {
		var content bytes.Buffer
		if content.Write(a.Data); a.Write != nil {
			if err := a.Write(&content); err != nil {
				t.Fatal(err)
			}
		}
		files["results.json"] = &fstest.MapFile{Data: content.Bytes()}
	}
	files["results.csv"] = &fstest.MapFile{Data: []byte(table)}
	if m.files != nil {
		m.files(files)
	}
	list := &seal.Manifest{Job: "J-7", Revision: m.revision, Issued: m.time().Format(time.RFC3339), Previous: m.previous}
	for name, f := range files {
		list.Files = append(list.Files, seal.NewManifestFile(name, f.Data))
	}
	if m.manifest != nil {
		m.manifest(list)
	}
	data, signature, err := list.Sign(m.signer, m.time())
	if err != nil {
		t.Fatal(err)
	}
	files[seal.ManifestName], files[seal.ManifestSignature] = &fstest.MapFile{Data: data}, &fstest.MapFile{Data: signature}
	for name, f := range files {
		fsys[path.Join(fmt.Sprintf("r%d", m.revision), name)] = f
	}
	return seal.NewManifestFile("", data).SHA256
}

// faults joins everything a report holds against a path; "" means all paths.
func faults(r *Report, at string) (texts []string) {
	for _, i := range r.Items {
		if at == "" || i.Path == at {
			texts = append(texts, i.Faults...)
		}
	}
	slices.Sort(texts)
	return texts
}
