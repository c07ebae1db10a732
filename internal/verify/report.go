package verify

import (
	"cmp"
	"crypto/x509"
	"slices"
	"time"

	"spanseal/internal/seal"
)

// State is what became of one thing that was looked at.
type State string

const (
	Intact     State = "intact"     // as it was signed
	Unchecked  State = "unchecked"  // well formed, but nothing at hand to check its signature with
	Changed    State = "changed"    // altered, exchanged, or at odds with another part
	Missing    State = "missing"    // the manifest lists it, and it is not there
	Added      State = "added"      // the manifest does not list it
	Unsigned   State = "unsigned"   // a paper that nobody signed, such as a specimen
	Unreadable State = "unreadable" // not the kind of thing it should be, or cut
)

// Kind is what sort of thing was looked at.
type Kind string

const (
	KindPaper    Kind = "paper"    // a PDF file
	KindToken    Kind = "token"    // the text of a QR symbol
	KindManifest Kind = "manifest" // of a revision
	KindFile     Kind = "file"     // any other file of a revision
	KindChain    Kind = "chain"    // one revision's tie to the one before
	KindStamp    Kind = "stamp"    // a renewed time-stamp beside a revision
)

// Item is what was found out about one thing. A file that is intact and
// nothing more has no item; see Report.Files.
type Item struct {
	Path   string       `json:"path"`
	Kind   Kind         `json:"kind"`
	State  State        `json:"state"`
	Signer *SignerFound `json:"signer,omitempty"` // nil where none could be made out
	Claim  *seal.Claim  `json:"claim,omitempty"`
	// Faults say what is wrong, Notes what could not be checked and what else
	// a reader should know; each one sentence without a full stop.
	Faults []string `json:"faults,omitempty"`
	Notes  []string `json:"notes,omitempty"`
}

// SignerFound is who signed, when, and why it is trusted or not.
type SignerFound struct {
	Name         string     `json:"name"`
	Organisation string     `json:"organisation,omitempty"`
	Fingerprint  string     `json:"fingerprint"` // SHA-256 of the certificate
	KeyID        seal.KeyID `json:"key_id"`
	Trusted      bool       `json:"trusted"`
	// Why is one clause: how trust was reached, or what is missing.
	Why string `json:"why"`
	// Signed is when, as a time-stamp says (Stamped names its authority) or,
	// where Stamped is "", as the signer says.
	Signed    time.Time `json:"signed,omitzero"`
	Stamped   string    `json:"stamped,omitempty"`
	NotBefore time.Time `json:"not_before"` // validity of the certificate
	NotAfter  time.Time `json:"not_after"`
	// Expired: the certificate was valid at signing and is not any more. That
	// takes nothing away from what was signed.
	Expired bool `json:"expired,omitempty"`
}

// Report is everything found out, in the order of paths.
type Report struct {
	Items []Item `json:"items"`
	// Files counts what was read, the items included.
	Files int `json:"files"`
}

// Conclusion is what all that was looked at comes to.
type Conclusion string

const (
	Holds     Conclusion = "intact, and every signer trusted"
	Untrusted Conclusion = "intact, and a signer is not trusted or could not be checked"
	Broken    Conclusion = "not as it was signed"
)

// Conclusion is the worst that was found out.
func (r *Report) Conclusion() Conclusion {
	out := Holds
	for _, i := range r.Items {
		switch {
		case i.State != Intact && i.State != Unchecked:
			return Broken
		case i.State == Unchecked || i.Signer != nil && !i.Signer.Trusted:
			out = Untrusted
		}
	}
	return out
}

func (r *Report) add(items ...Item) { r.Items = append(r.Items, items...) }

func (r *Report) sort() {
	slices.SortStableFunc(r.Items, func(a, b Item) int {
		return cmp.Or(cmp.Compare(a.Path, b.Path), cmp.Compare(a.Kind, b.Kind))
	})
}

// mostFaults is how many faults, and how many notes, are told of one thing:
// more help nobody, and a hostile file has a million of them.
const mostFaults = 50

// fault makes the item wrong for one more reason.
func (i *Item) fault(s State, text string) {
	if i.State != Unreadable {
		i.State = s
	}
	i.Faults = told(i.Faults, text)
}

func (i *Item) note(text string) { i.Notes = told(i.Notes, text) }

// told adds a sentence that is not there yet; the last one says that there are
// more.
func told(list []string, text string) []string {
	const more = "and more of the kind"
	switch {
	case slices.Contains(list, text) || len(list) > mostFaults:
	case len(list) == mostFaults:
		list = append(list, more)
	default:
		list = append(list, text)
	}
	return list
}

// signer describes a certificate; trust is still to be found out.
func signer(c *x509.Certificate) *SignerFound {
	s := &SignerFound{
		Name:        seal.CommonName(c),
		Fingerprint: seal.FingerprintOf(c),
		KeyID:       seal.KeyIDOf(c),
		NotBefore:   c.NotBefore.UTC(),
		NotAfter:    c.NotAfter.UTC(),
	}
	if len(c.Subject.Organization) > 0 {
		s.Organisation = c.Subject.Organization[0]
	}
	return s
}
