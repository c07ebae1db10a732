package certify_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/source"
	"spanseal/internal/specimen"
	"spanseal/internal/summary"
	"spanseal/templates"
)

// lookAt is a folder for the documents of the tests, to look at them:
// go test ./internal/certify -run Look -look /tmp/certify
var lookAt = flag.String("look", "", "write the documents to this folder as PDF")

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

func good(t rapid.TB, problems *diag.List) {
	t.Helper()
	if problems.Errors() > 0 {
		var b bytes.Buffer
		_ = problems.Write(&b, nil)
		t.Fatal(b.String())
	}
}

// library is an invented refit: 30 links over two panels and a cabinet, one
// that fails (a bend), one never measured, one marginal.
func library() *record.Facts {
	dublin, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		dublin = time.UTC
	}
	f := &record.Facts{Job: record.Job{
		Number: "BL-2026-031", Title: "Reading rooms refit",
		Site:       record.Party{Name: "Bellweather Library", Address: "12 Quay Row, Port Ansel"},
		Customer:   record.Party{Name: "Port Ansel Council", Order: "PO-7781"},
		Contractor: record.Party{Name: "Tidewater Fibre Works", Address: "4 Slipway Lane, Port Ansel", Licence: "C7-20881"},
		Invoice:    "2026-118", Completed: record.NewDate(2026, 11, 18), TimeZone: "Europe/Dublin", Location: dublin, WarrantyMonths: 240,
		Stage: "final, closures shut",
		People: []record.Person{{ID: "mo", Name: "M. Okafor", Role: "fibre technician", Qualification: "FT-3310", ValidUntil: record.NewDate(2027, 6, 30)},
			{ID: "rl", Name: "R. Lindqvist", Role: "project manager"}},
		Instruments: []record.Instrument{
			{ID: "LS-4", Kind: "light source", Serial: "40117", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3)},
			{ID: "PM-9", Kind: "power meter", Serial: "22803", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3), Uncertainty: ptr("0.12")}},
		Cables: []record.Cable{{ID: "RR-C1-24", Description: "24 fibres", Reel: "88-2041"}},
		Policy: record.Policy{
			Limits: []string{"tia-568.3-e"}, Reference: record.OneCord, TestCords: record.StandardCords, Decision: "simple",
			Require: record.Require{Wavelengths: map[record.Mode][]int{record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300}},
				Directions: "both", Reflectance: "optional"},
			EstimateAtMost: ptr("0.10"),
		},
		Documents: record.Documents{Paper: "A4", Language: "en"},
		Origin:    record.Origin{File: "job.yaml"},
	}}
	var csv strings.Builder
	csv.WriteString("link,time,1310 AB,1310 BA,1550 AB,1550 BA\n")
	row := 1
	file := "readings/day2-roomR.csv"
	add := func(id, fibre string, mode record.Mode, from, to string, length string, nm []int, losses []string, minute int) {
		l := record.Link{ID: id, Cable: "RR-C1-24", Strand: id[strings.LastIndexByte(id, '-')+1:], From: from, To: to, Fibre: fibre, Mode: mode,
			Length: dec(length), LengthText: length + " m", MatedPairs: 2,
			EndA: record.End{Text: "LC/UPC, spliced on", SplicedOn: true, Connector: "LC", Polish: "UPC"}, EndB: record.End{Text: "LC/UPC, spliced on", SplicedOn: true, Connector: "LC", Polish: "UPC"},
			Origin: record.Origin{File: "links.csv", Row: len(f.Links) + 2}}
		if mode == record.Multimode {
			l.Cable, l.EndA, l.EndB = "K2-C1-12", record.End{Text: "factory LC", Connector: "LC"}, record.End{Text: "factory LC", Connector: "LC"}
		} else {
			l.Applications = nil
		}
		f.Links = append(f.Links, l)
		if losses == nil {
			return
		}
		row++
		start := time.Date(2026, 11, 18, 9, 0, 0, 0, dublin).Add(time.Duration(minute) * time.Minute)
		fmt.Fprintf(&csv, "%s,%s,%s\n", id, start.Format("2006-01-02 15:04"), strings.Join(losses, ","))
		for i, loss := range losses {
			way, at := record.AB, start
			if i%2 == 1 {
				way, at = record.BA, start.Add(9*time.Minute)
			}
			f.Readings = append(f.Readings, record.Reading{Link: id, Quantity: record.InsertionLoss, WavelengthNM: nm[i/2], Direction: way, Value: dec(loss),
				Reference: ptr("-4.02"), Instrument: "PM-9", Source: "LS-4", Person: "mo", Time: at.Add(time.Duration(i/2) * time.Minute), ReferenceTime: time.Date(2026, 11, 18, 8, 15, 0, 0, dublin),
				Fate: record.Used, Origin: record.Origin{File: file, Row: row, Column: i + 3}})
		}
		if mode == record.Singlemode {
			for k, end := range []string{"A", "B"} {
				f.Terminations = append(f.Terminations, record.Termination{Link: id, End: end, Kind: "spliced-on connector", Estimate: ptr([]string{"0.02", "0.05"}[k]), Attempts: k + 1,
					Lot: "26-0417", EndFace: record.EndFacePass, Person: "mo", Finished: time.Date(2026, 11, 16+k, 14, 25, 0, 0, dublin), Origin: record.Origin{File: "terminations.csv", Row: len(f.Terminations) + 2}})
			}
		}
	}
	sm, mm := []int{1310, 1550}, []int{850, 1300}
	for i := 1; i <= 21; i++ {
		base := 44 + (i*i*37)%83
		loss := func(add int) string { v := base + add; return fmt.Sprintf("%d.%02d", v/100, v%100) }
		losses := []string{loss(6), loss(15), loss(0), loss(8)}
		switch i {
		case 7:
			losses = []string{"1.12", "1.15", "2.61", "2.58"}
		case 12:
			losses = []string{"0.94", "1.03", "0.88", "0.96"}
		case 19:
			losses = []string{"2.08", "2.15", "1.99", "2.04"}
		}
		add(fmt.Sprintf("A-%02d", i), "OS2", record.Singlemode, fmt.Sprintf("panel R1 port %d (reading room)", i), fmt.Sprintf("panel C1 port %d (comms room)", i), fmt.Sprint(300+i), sm, losses, i*12)
	}
	for i := 1; i <= 6; i++ {
		base := 40 + (i*29)%50
		loss := func(add int) string { v := base + add; return fmt.Sprintf("%d.%02d", v/100, v%100) }
		losses := []string{loss(31), loss(34), loss(8), loss(10)}
		if i == 3 {
			losses = nil
		}
		add(fmt.Sprintf("B-%02d", i), "OM4", record.Multimode, fmt.Sprintf("cabinet K2 port %d", i), fmt.Sprintf("panel C1 port %d", 24+i), "88", mm, losses, 270+i*12)
	}
	data := []byte(csv.String())
	sum := sha256.Sum256(data)
	f.Originals = []record.Original{{Name: file, SHA256: hex.EncodeToString(sum[:]), Data: data}}
	for i := range f.Readings {
		f.Readings[i].Origin.SHA256, f.Readings[i].Origin.Size = hex.EncodeToString(sum[:]), int64(len(data))
	}
	for i, end := range []string{"A", "B", ""} {
		name := "photos/A-12 " + end + ".png"
		data := picture(200+100*i, 300-50*i)
		sum := sha256.Sum256(data)
		f.Photos = append(f.Photos, record.Photo{Link: "A-12", End: end, Data: data, Origin: record.Origin{File: name, SHA256: hex.EncodeToString(sum[:]), Size: int64(len(data))}})
	}
	f.Job.Pay = record.Pay{Currency: "EUR", Retainage: ptr("10"), Items: []record.PayItem{
		{Line: "1.1", Title: "Spliced-on connector, with test and papers", Unit: record.PayTermination, Rate: ptr("18.50")},
		{Line: "1.2", Title: "Strand tested both ways", Unit: record.PayStrand, Fibre: "OS2", Rate: ptr("7.25")},
		{Line: "1.3", Title: "Strand tested both ways", Unit: record.PayStrand, Fibre: "OM4", Rate: ptr("6.10")},
	}}
	f.Accounts = []record.Account{{File: file, SHA256: hex.EncodeToString(sum[:]), Size: int64(len(data)), Rows: len(f.Readings), Used: len(f.Readings)}}
	return f
}

// picture is a round end face in grey, invented.
func picture(w, h int) []byte {
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			dx, dy := x-w/2, y-h/2
			switch d := dx*dx + dy*dy; {
			case d < 100:
				img.SetGray(x, y, color.Gray{40})
			case d < h*h/6:
				img.SetGray(x, y, color.Gray{190})
			default:
				img.SetGray(x, y, color.Gray{110})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}

// ownersFigures is an owner's own limit set, for six wavelengths.
const ownersFigures = `
id: owner-harbour
kind: cabling
title: The harbour authority's own figures
standard: Port Ansel Harbour Authority, fibre schedule
edition: "2025"
owner: true
values:
  cable:
    unit: dB/km
    clause: schedule 3
    provenance: read
    rows:
      - {value: 0.8, fibre: OS2, wavelength_nm: [1270, 1310, 1383, 1490, 1550, 1625]}
      - {value: 3.5, fibre: OM4, wavelength_nm: [850, 1300]}
  mated_pair: {unit: dB, value: 0.8, clause: schedule 3, provenance: read}
  splice: {unit: dB, value: 0.35, clause: schedule 3, provenance: read}
limits:
  - id: link-loss
    title: Link loss
    quantity: insertion_loss
    at_most:
      - {rate: cable, amount: length_km}
      - {rate: mated_pair, amount: mated_pairs}
      - {rate: splice, amount: splices}
`

func judged(t rapid.TB, f *record.Facts) *judge.Judgement {
	t.Helper()
	const name = "tia-568.3-e.yaml"
	text, err := fs.ReadFile(templates.Files, "limits/"+name)
	if err != nil {
		t.Fatal(err)
	}
	book, problems := limits.NewBook(fstest.MapFS{name: {Data: text}})
	good(t, problems)
	good(t, book.Add(source.New("owner.yaml", []byte(ownersFigures))))
	taken := *f // the readings, of which the test has more to say
	j, problems := judge.Judge(&taken, book)
	good(t, problems)
	return j
}

var signer = sync.OnceValues(func() (*seal.Signer, error) {
	return seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), 5)
})

// tokenOf is a text as long as the claim's token, at least so long, and the same
// on every run. It begins with the link, so that no two are the same.
func tokenOf(c seal.Claim, least int) (string, error) {
	s, err := signer()
	if err != nil {
		return "", err
	}
	token, err := s.SignToken(c)
	if err != nil {
		return "", err
	}
	text := seal.Prefix + strings.TrimRight(base32.StdEncoding.EncodeToString([]byte(c.Link)), "=")
	n := max(len(token), least)
	return (text + strings.Repeat("MZXW6YTBOI2DCNRTGQ4TS", n))[:n], nil
}

// options of a set whose tokens are as long as real ones.
func options() setOptions {
	return setOptions{
		form.Writer{
			Revision: 1, Issued: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC),
			Signer: form.Signatory{Name: "R. Lindqvist", Organisation: "Tidewater Fibre Works", KeyID: "5F0C 91D2"},
		},
		certify.Options{
			Sign:      func(c seal.Claim) (string, error) { return tokenOf(c, 0) },
			Symbol:    label.Encode,
			Templates: templates.Files,
		},
	}
}

// setOptions is all that a set is made of but facts and judgement.
type setOptions struct {
	form.Writer
	certify.Options
}

// set makes a set of facts and judgement.
func (o setOptions) set(f *record.Facts, judged *judge.Judgement) (*certify.Set, *diag.List) {
	o.Facts, o.Judgement = f, judged
	return certify.NewSet(o.Writer, o.Options)
}

func newSet(t rapid.TB, f *record.Facts, o setOptions) *certify.Set {
	t.Helper()
	set, problems := o.set(f, judged(t, f))
	good(t, problems)
	return set
}

// editions are the sets of a job in every language, on both papers.
func editions(t *testing.T, facts *record.Facts, judged *judge.Judgement) iter.Seq[*certify.Set] {
	return func(yield func(*certify.Set) bool) {
		for _, language := range []string{"de", "en", "es"} {
			for _, paper := range []page.Paper{page.A4, page.Letter} {
				facts.Job.Documents = record.Documents{Paper: paper.Name, Language: language}
				set, problems := options().set(facts, judged)
				good(t, problems)
				if !yield(set) {
					return
				}
			}
		}
	}
}

// paperOf is the certificate of a link, or its nonconformance sheet.
func paperOf(t *testing.T, set *certify.Set, l *judge.LinkResult) *certify.Document {
	t.Helper()
	make := set.Certificate
	if !l.Verdict.Certifiable() {
		make = set.Nonconformance
	}
	d, err := make(l)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// papers returns every document of a set.
func papers(t rapid.TB, s *certify.Set) []*certify.Document {
	t.Helper()
	var all []*certify.Document
	add := func(d *certify.Document, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, d)
	}
	add(summary.New(s))
	for _, make := range []func() (*certify.Document, error){s.Labels, func() (*certify.Document, error) { return summary.Quantities(s) }} {
		if d, err := make(); d != nil || err != nil {
			add(d, err)
		}
	}
	for _, l := range s.Judgement.Results() {
		if l.Verdict.Certifiable() {
			add(s.Certificate(l))
		} else {
			add(s.Nonconformance(l))
		}
	}
	return all
}

// TestLook writes the documents for the eye; without -look it only makes them.
func TestLook(t *testing.T) {
	shown := options()
	shown.Specimen = true
	spanish := library()
	spanish.Job.Documents.Language = "es"
	letter := harsh()
	letter.Job.Documents.Paper = "letter"
	for folder, set := range map[string]*certify.Set{
		"":         newSet(t, library(), options()),
		"specimen": newSet(t, specimen.Facts(library(), shown.Issued), shown),
		"spanish":  newSet(t, spanish, options()),
		"harsh":    newSet(t, letter, options()),
	} {
		press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
		if err != nil {
			t.Fatal(err)
		}
		canvas := press.Canvas()
		for _, d := range papers(t, set) {
			write(t, canvas, d, set.Issued, folder)
		}
	}
}

func write(t testing.TB, canvas *pdf.Canvas, d *certify.Document, when time.Time, folder string) {
	t.Helper()
	doc := &pdf.Document{Title: d.Title, Subject: d.Subject, Author: d.Author, Language: d.Language, Created: when, Draw: d.Draw}
	for _, a := range d.Attachments {
		doc.Attachments = append(doc.Attachments, pdf.Attachment(a))
	}
	var b bytes.Buffer
	if err := canvas.Write(&b, doc, nil); err != nil {
		t.Fatalf("%s: %v", d.Path, err)
	}
	if *lookAt == "" {
		return
	}
	name := filepath.Join(*lookAt, folder, filepath.FromSlash(d.Path))
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// drawn records a document.
func drawn(t testing.TB, p page.Paper, d *certify.Document) *page.Recorder {
	t.Helper()
	r := page.NewRecorder(p)
	if err := d.Draw(r); err != nil {
		t.Fatal(err)
	}
	return r
}
