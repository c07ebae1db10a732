package pdf

import (
	"errors"
	"fmt"
	"time"

	"spanseal/internal/page"
)

// Document is one file to be written. Its texts must be free of control
// characters. The zero Created is refused: the clock is not ours to read.
type Document struct {
	Title, Author, Subject string
	Language               string // BCP 47, such as "en-GB"
	Created                time.Time
	Attachments            []page.Attachment
	// Draw draws the pages. A bundle of several documents has Parts instead.
	Draw  func(page.Sheet) error
	Parts []BundlePart
}

// BundlePart is one document of a bundle. Its pages count from one; its bookmarks
// stand below one of its title, if it has a title.
type BundlePart struct {
	Title string
	Draw  func(page.Sheet) error
}

// The relationships of an attachment to its document (ISO 19005-3, 6.8).
const (
	Source      = "Source"      // what the document was made from
	Data        = "Data"        // what stands behind a table or plot
	Alternative = "Alternative" // another form of the same content
	Supplement  = "Supplement"
	Unspecified = "Unspecified"
)

// Signature asks for a document to be signed and certified: no change at all
// is permitted afterwards (ISO 32000-1, 12.8.2.2, DocMDP 1).
type Signature struct {
	Name, Reason, Location string
	When                   time.Time
	// Reserve is how many bytes to keep for what Sign returns; 0 stands for
	// 8192. A longer signature is an error.
	Reserve int
	// Sign returns a detached CMS signature, DER, over the SHA-256 digest.
	Sign func(digest [32]byte) ([]byte, error)
	// Page, from 1, and Box say where a reader finds the signature when it is
	// clicked; the document draws what is seen there. The zero Box makes an
	// invisible field.
	Page int
	Box  page.Box
}

const (
	defaultReserve = 8192
	maxString      = 32767 // the longest string (ISO 19005-3, 6.1.13)
)

func (d *Document) check(sig *Signature) error {
	if d.Created.IsZero() {
		return errors.New("pdf: the document has no date")
	}
	for _, s := range []string{d.Title, d.Author, d.Subject, d.Language} {
		if err := checkText(s); err != nil {
			return err
		}
	}
	if d.Title == "" || d.Language == "" {
		return errors.New("pdf: the document needs a title and a language")
	}
	if (d.Draw == nil) == (d.Parts == nil) {
		return errors.New("pdf: a document has either a drawing or parts")
	}
	names := map[string]bool{}
	for _, a := range d.Attachments {
		if a.Name == "" || names[a.Name] {
			return fmt.Errorf("pdf: attachment name %q is empty or used twice", a.Name)
		}
		names[a.Name] = true
		for _, s := range []string{a.Name, a.Description, a.MIME} {
			if err := checkText(s); err != nil {
				return err
			}
		}
		switch a.Relationship {
		case Source, Data, Alternative, Supplement, Unspecified:
		default:
			return fmt.Errorf("pdf: attachment %q: unknown relationship %q", a.Name, a.Relationship)
		}
	}
	if sig == nil {
		return nil
	}
	for _, s := range []string{sig.Name, sig.Reason, sig.Location} {
		if err := checkText(s); err != nil {
			return err
		}
	}
	switch {
	case sig.When.IsZero():
		return errors.New("pdf: the signature has no date")
	case sig.reserve() > maxString:
		return fmt.Errorf("pdf: a signature of %d bytes is more than an archival file can hold, %d", sig.reserve(), maxString)
	}
	return nil
}

func (s *Signature) reserve() int {
	if s.Reserve > 0 {
		return s.Reserve
	}
	return defaultReserve
}

// checkText refuses what XML, and with it the file's metadata, cannot carry.
func checkText(s string) error {
	for i, r := range s {
		if r < ' ' || r == 0x7F || r == 0xFFFD || r == 0xFFFE || r == 0xFFFF {
			return fmt.Errorf("pdf: character %U at byte %d of %q cannot stand in a document's metadata", r, i, s)
		}
	}
	return nil
}
