package certify_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"testing"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/pdf"
	"spanseal/internal/quantity"
	"spanseal/internal/specimen"
	"spanseal/internal/testset"
)

// lookAt is a folder for the documents of the tests, to look at them:
// go test ./internal/certify -run Look -look /tmp/certify
var lookAt = flag.String("look", "", "write the documents to this folder as PDF")

// What package testset has, by the short names of this package's tests.
var (
	good, judged, options, newSet      = testset.Good, testset.Judged, testset.NewSettings, testset.New
	library, harsh, estate, alone      = testset.Library, testset.Harsh, testset.Estate, testset.Alone
	setByBook, editions, demonstration = testset.ByBook, testset.Editions, testset.Demonstration
	paperOf, papers, drawn, saidOn     = testset.PaperOf, testset.Papers, testset.Drawn, testset.Said
	figuresOf, span, tokenOf, picture  = testset.Figures, testset.Span, testset.TokenOf, testset.Picture
)

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

// differing are the papers of a set, and with -long all of them. Without, those of links
// whose papers have the same lines are one: what a test of layout looks at are lines, and
// where they fall.
func differing(t *testing.T, set *certify.PaperSet) (some []*certify.Paper) {
	t.Helper()
	var links []*judge.LinkResult
	for _, l := range set.Judgement.Results() {
		links = append(links, l)
	}
	seen, n := map[string]bool{}, -1
	for _, d := range papers(t, set) { // those of links are in their order
		folder := path.Dir(d.Path)
		if folder == "certificates" || folder == "nonconformance" {
			n++
		}
		if folder == "." || *long {
			some = append(some, d)
			continue
		}
		l := links[n]
		lines := []any{folder, l.Verdict, l.Link.Fibre, l.Link.EndA, l.Link.EndB, len(l.Readings), len(l.Superseded), len(l.Terminations), len(l.Link.ID), len(l.Link.From), len(l.Link.To)}
		for _, f := range l.Findings {
			lines = append(lines, f.Code, f.Verdict, f.Question.Code, len(f.Advice))
		}
		if shape := fmt.Sprint(lines...); !seen[shape] {
			seen[shape] = true
			some = append(some, d)
		}
	}
	return some
}

// TestLook writes the documents for the eye; without -look it only makes them.
func TestLook(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	shown := options()
	shown.Specimen = true
	spanish := library()
	spanish.Job.Documents.Language = "es"
	letter := harsh()
	letter.Job.Documents.Paper = "letter"
	for folder, set := range map[string]*certify.PaperSet{
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

func write(t testing.TB, canvas *pdf.Canvas, d *certify.Paper, when time.Time, folder string) {
	t.Helper()
	doc := &pdf.Document{Title: d.Title, Subject: d.Subject, Author: d.Author, Language: d.Language, Created: when, Draw: d.Draw}
	doc.Attachments = d.Attachments
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
