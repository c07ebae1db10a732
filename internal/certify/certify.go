// Package certify makes the papers of the links of a job from its judgement: words,
// numbers and pictures. What all papers of a set have in common is here too: package
// summary makes those about the whole job of it.
//
// A [PaperSet] is one revision being written. It hands out documents one by one,
// each with the path it belongs at, the data attached inside it and a function
// that draws it on any [page.Sheet]; who turns sheets into paper is not its
// concern. A Set is read-only once made, so documents may be asked for and
// drawn from many goroutines at once.
//
// All sentences come from templates/wording, all measures and colours and the
// order of sections from templates/documents. No number is computed here that
// judges anything: limits, margins and verdicts are printed as they were
// judged, rounded for print only (see [wording.Numerals]).
//
// # The attached record
//
// Every certificate and nonconformance sheet carries three attachments:
//
//   - record.json (see package form): the whole judgement of the link with its
//     working and the origin of every reading.
//   - token.txt, the text of the QR symbol without the address of a checking
//     page: the signed claim whose Record field is the first 16 bytes of
//     SHA-256(record.json).
//   - source-rows.txt, the lines of the original files that the readings were
//     transcribed from, verbatim, each file with its SHA-256.
//
// The summary's token binds results.json the same way.
package certify

import (
	"cmp"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"sync/atomic"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/source"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// HistoryLine is an earlier or the present issue of the set, as the summary lists it.
type HistoryLine struct {
	Number  int
	Issued  record.Date
	Reason  string // in a person's words
	Changes []statement.Statement
}

// Options is what a set needs beside facts and judgement.
type Options struct {
	// Sign turns a claim into a token. It is called once a document, perhaps
	// from several goroutines.
	Sign func(seal.Claim) (token string, err error)
	// Symbol turns a text into the modules of a QR symbol, without quiet zone.
	Symbol func(text string) ([][]bool, error)
	// Templates holds wording/ and documents/. Overrides, which may be nil,
	// holds files of the same names with the keys that a job changes.
	Templates, Overrides fs.FS
	// Glyphs tells which characters the typefaces lack; nil stands for those
	// that the templates name, or else the Go fonts.
	Glyphs interface {
		Missing(f page.Face, text string) []rune
	}
	// History lists the earlier revisions, oldest first; Reason and Changes are
	// those of this one, and Later says how many links are declared to follow.
	History []HistoryLine
	Reason  string
	Changes []statement.Statement
	Later   int
	// PlaceOf tells where the value of a key of job.yaml stands, for problems; it
	// may be nil.
	PlaceOf func(key string) diag.Place
	// Stored, where given, copies results.json from where it was written; nil
	// makes it anew.
	Stored func(io.Writer) error

	// Also are texts that go on paper beside those of facts and judgement, and Said
	// what is said on it beside the findings.
	Also []Text
	Said []statement.Statement
}

// Text is a text that goes on paper, and where it was written.
type Text struct {
	Text  string
	Place diag.Place
}

// PaperSet is one revision being written: what its files say, and how its papers are made.
type PaperSet struct {
	*form.Writer
	Options

	words *wording.Wording
	look  *look
	files map[string]*source.File // originals by name
	seals map[string]*sealing     // by link
	// paper is the sheet that the job asks for.
	paper    page.PaperSize
	press    *layout.Compositor
	heavy    heavy
	families atomic.Pointer[grouped] // of the last paper that names any
}

// Paper is one piece of paper, ready to be drawn.
type Paper struct {
	Path                             string // "certificates/A-12.pdf", relative to the revision
	Title, Subject, Author, Language string
	Attachments                      []page.Attachment
	// Paper is the size of its pages; zero: that of the set.
	Paper page.PaperSize
	// Signature is where the contractor signs; it is known once Draw has run,
	// and nil where the paper has no such place.
	Signature *layout.SigningPlace
	// Draw draws all pages. It may be called again, on another sheet.
	Draw func(page.Sheet) error
	// Token is the text of the document's QR symbol, "" for those without.
	Token string
}

// hasLanguage refuses a language that neither the program nor the job has.
func (s *PaperSet) hasLanguage(language string, problems *diag.List) bool {
	known := wording.Languages(s.Templates)
	if slices.Contains(known, language) || s.Overrides != nil && slices.Contains(wording.Languages(s.Overrides), language) {
		return true
	}
	p := diag.Problem{Code: "no-template", Place: diag.Place{File: "job.yaml"}, Message: fmt.Sprintf("there is no wording in the language %q", language),
		Want: "want " + strings.Join(known, " or "), Fix: fmt.Sprintf("correct the language, or add wording/%s.yaml to the job's folder", language)}
	if s.PlaceOf != nil {
		p.Place = s.PlaceOf("documents.language")
	}
	problems.Add(p)
	return false
}

// NewSet resolves the templates and checks everything that could go wrong on
// paper before any of it is written. The list may hold notes where the set is
// good; with errors the set is nil.
func NewSet(w form.Writer, o Options) (*PaperSet, *diag.List) {
	problems := &diag.List{}
	facts, judged := w.Facts, w.Judgement
	s := &PaperSet{Options: o, files: map[string]*source.File{}}
	language := cmp.Or(facts.Job.Documents.Language, "en")
	if s.hasLanguage(language, problems) {
		s.words = wording.Load(o.Templates, o.Overrides, language, problems)
	}
	english := s.words // of records: the program's own
	if language != "en" || s.words == nil || s.words.Own() {
		english = wording.Load(o.Templates, nil, "en", problems)
	}
	s.look = loadLook(o.Templates, o.Overrides, problems)
	s.paper = s.look.setPaper(facts.Job.Documents.Paper, o.Templates, o.Overrides, problems)
	if problems.Errors() > 0 {
		return nil, problems
	}
	if s.Glyphs == nil {
		s.Glyphs = s.look.Glyphs
	}
	s.press = &layout.Compositor{Style: s.look.Style, Mark: s.words.Mark, Whole: s.words.Whole}
	s.seals = make(map[string]*sealing, len(judged.Links))
	for i := range judged.Links {
		s.seals[judged.Links[i].Link.ID] = &sealing{}
	}
	for _, f := range facts.Originals {
		s.files[f.Name] = source.New(f.Name, f.Data)
	}
	s.Writer = form.New(w, english, s.words.Say("specimen.word"))
	s.checkGlyphs(problems)
	s.checkNames(problems)
	if problems.Errors() > 0 {
		return nil, problems
	}
	return s, problems
}

// Paper is the size of every page of the set.
func (s *PaperSet) Paper() page.PaperSize { return s.paper }

// Typefaces returns the TrueType files that the job names, by face, nil where
// it names none: what pdf.Options wants.
func (s *PaperSet) Typefaces() [page.Faces][]byte { return s.look.Faces }

// Words are those of all papers of the set.
func (s *PaperSet) Words() *wording.Wording { return s.words }

// SummarySections are the sections of the summary, in their order.
func (s *PaperSet) SummarySections() []string { return s.look.summary }

// ComparisonSections are the sections of a comparison sheet, in their order.
func (s *PaperSet) ComparisonSections() []string { return s.look.comparison }

// Language is the BCP 47 tag of the set's wording.
func (s *PaperSet) Language() string { return s.words.Language }

// symbolText is what a QR symbol says: the token, after the address of a
// checking page where the job names one.
func (s *PaperSet) symbolText(token string) string {
	if url := s.Facts.Job.Documents.CheckURL; url != "" {
		return url + "#" + token
	}
	return token
}

// Titled is the title of a file; that of a specimen says what it is.
func (s *PaperSet) Titled(title string) string {
	if word := s.words.Say("specimen.word"); s.Specimen && !strings.Contains(title, word) {
		return word + ", " + title
	}
	return title
}

// BundleTitle is the title of summary and papers in one file.
func (s *PaperSet) BundleTitle() string {
	return s.Titled(s.words.Say("bundle.title") + " " + s.Facts.Job.Number)
}

// SummaryPath is where the summary belongs.
const SummaryPath = "summary.pdf"

// NewDocument fills what all documents have in common, for one that flows over its pages.
func (s *PaperSet) NewDocument(path, title string, compose func(*layout.Flow)) *Paper {
	return s.newDocument(path, title, compose, func(on page.Sheet, compose func(*layout.Flow)) (*layout.Flow, error) {
		return s.press.Lay(on, path != SummaryPath, compose)
	})
}

func (s *PaperSet) newDocument(path, title string, compose func(*layout.Flow), lay func(page.Sheet, func(*layout.Flow)) (*layout.Flow, error)) *Paper {
	d := &Paper{
		Path:     path,
		Title:    s.Titled(title),
		Subject:  s.words.Say("document.subject", "job", s.Facts.Job.Number, "title", s.Facts.Job.Title, "site", s.Facts.Job.Site.Name),
		Author:   s.Facts.Job.Contractor.Name,
		Language: s.words.Language,
	}
	d.Draw = func(sheet page.Sheet) error {
		f, err := lay(sheet, func(f *layout.Flow) {
			compose(f)
			if f.Mark == nil && !s.Specimen && s.Signer.Name != "" { // no place to sign is drawn
				f.SignedHere(s.words.Say("sign.field", "name", s.Signer.Name))
			}
		})
		if err != nil {
			return err
		}
		d.Signature = f.Mark
		return nil
	}
	return d
}
