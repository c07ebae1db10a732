package pdf

import (
	"bytes"
	"io"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"spanseal/internal/page"
	"spanseal/internal/seal"
)

func TestOpenReadsWhatWriteWrote(t *testing.T) {
	visible := signature()
	visible.Page, visible.Box = 2, page.Box{X: 60, Y: 250, W: 50, H: 20}
	for name, sig := range map[string]*Signature{"invisible": signature(), "visible": visible} {
		t.Run(name, func(t *testing.T) {
			d := gallery(t)
			s, err := Open(write(t, d, sig))
			if err != nil {
				t.Fatal(err)
			}
			by, err := seal.VerifyCMS(s.CMS, s.Digest)
			if err != nil {
				t.Fatal(err)
			}
			if by.KeyID != signer().KeyID() {
				t.Errorf("signed by %v", by.KeyID)
			}
			for i := range d.Attachments {
				if d.Attachments[i].Modified.IsZero() {
					d.Attachments[i].Modified = d.Created
				}
			}
			want := &Signed{
				Title: d.Title, Author: d.Author, Subject: d.Subject, Language: d.Language, Created: d.Created,
				Pages: 2, Paper: page.A4, Attachments: d.Attachments,
				Name: sig.Name, Reason: sig.Reason, Location: sig.Location, When: sig.When,
				Page: max(sig.Page, 1), Box: sig.Box,
			}
			if diff := cmp.Diff(want, s, cmpopts.IgnoreFields(Signed{}, "CMS", "Digest"),
				cmpopts.EquateEmpty(), cmpopts.EquateApprox(0, 0.001)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestOpenHoldsNoLargeAttachment: what is larger than is held is inflated when
// it is asked for, all of it, and never more than the file says.
func TestOpenHoldsNoLargeAttachment(t *testing.T) {
	large := bytes.Repeat([]byte("0.44 dB\n"), (maxHeld+8)/8)
	d := certificate("A-17")
	d.Attachments = []page.Attachment{
		{Name: "small", MIME: "text/plain", Relationship: Data, Data: large[:4096]},
		{Name: "large", MIME: "text/plain", Relationship: Data, Write: func(w io.Writer) error { _, err := w.Write(large); return err }},
		{Name: "second", MIME: "text/plain", Relationship: Data, Data: large[:4096]},
	}
	sig := signature()
	sig.Reserve = signer().MaxCMS()
	var file bytes.Buffer
	if err := press().Canvas().Write(&file, d, sig); err != nil {
		t.Fatal(err)
	}
	s, err := Open(file.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range s.Attachments {
		if held := a.Write == nil; held != (i != 1) || held != bytes.Equal(a.Data, large[:4096]) {
			t.Errorf("%s: held %v, %d bytes", a.Name, held, len(a.Data))
		}
	}
	var content bytes.Buffer
	if err := s.Attachments[1].Write(&content); err != nil || !bytes.Equal(content.Bytes(), large) {
		t.Errorf("%d bytes of %d, %v", content.Len(), len(large), err)
	}
	packed := deflate(large)
	for _, wrong := range []int{len(large) - 1, len(large) + 1} {
		if err := inflate(io.Discard, packed, wrong); err != errSize {
			t.Errorf("of size %d: %v", wrong, err)
		}
	}
}

// small is a signed file of few bytes, for tests that try every one.
func small(t testing.TB) []byte {
	t.Helper()
	p, err := NewPress(page.A4, Options{Runes: []rune("A")})
	if err != nil {
		t.Fatal(err)
	}
	d := certificate("A-17")
	d.Draw = func(s page.Sheet) error {
		s.NextPage()
		s.Text(20, 20, page.Style{Size: 9}, "AAA")
		return nil
	}
	sig := signature()
	sig.Reserve = signer().MaxCMS()
	var b bytes.Buffer
	if err := p.Canvas().Write(&b, d, sig); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// verify opens a file and checks its signature.
func verify(data []byte) error {
	s, err := Open(data)
	if err != nil {
		return err
	}
	_, err = seal.VerifyCMS(s.CMS, s.Digest)
	return err
}

// Every byte is covered: by the digest, or by what Open and VerifyCMS demand
// of the signature's own digits.
func TestOneChangedByteIsCaught(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	good := small(t)
	if err := verify(good); err != nil {
		t.Fatal(err)
	}
	bad := bytes.Clone(good)
	for i := range good {
		bad[i] = good[i] ^ []byte{0x01, 0x20, 0x80}[i%3] // another number, the other case, no character
		if verify(bad) == nil {
			t.Errorf("byte %d: %q became %q unnoticed", i, good[i], bad[i])
		}
		bad[i] = good[i]
	}
	for n := range good {
		if verify(good[:n]) == nil {
			t.Errorf("cut to %d bytes unnoticed", n)
		}
	}
}

// Whatever a document is called and carries, it is read back.
func TestOpenReadsAnyText(t *testing.T) {
	c := press().Canvas()
	letter := rapid.RuneFrom(nil, unicode.L, unicode.N, unicode.P, unicode.S, unicode.Zs).
		Filter(func(r rune) bool { return r != unicode.ReplacementChar })
	letters := rapid.StringOf(letter)
	// A media type is a name, of at most 127 bytes (ISO 32000-1, annex C).
	subtypes := rapid.StringOfN(letter, 0, -1, 127-len("a/"))
	rapid.Check(t, func(t *rapid.T) {
		d := certificate("A-17")
		d.Draw = func(s page.Sheet) error { return setTexts(s, "A") }
		d.Title = "." + letters.Draw(t, "title")
		d.Author = letters.Draw(t, "author")
		d.Subject = letters.Draw(t, "subject")
		d.Attachments = nil
		for _, name := range rapid.SliceOfNDistinct(letters, 0, 4, rapid.ID).Draw(t, "names") {
			d.Attachments = append(d.Attachments, page.Attachment{
				Name: "." + name, MIME: "a/" + subtypes.Draw(t, "media type"), Description: letters.Draw(t, "description"),
				Relationship: Data, Data: rapid.SliceOf(rapid.Byte()).Draw(t, "data"), Modified: issued,
			})
		}
		sig := signature()
		sig.Name, sig.Reason, sig.Location = letters.Draw(t, "name"), letters.Draw(t, "reason"), letters.Draw(t, "location")
		var b bytes.Buffer
		if err := c.Write(&b, d, sig); err != nil {
			t.Fatal(err)
		}
		s, err := Open(b.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		want := &Signed{
			Title: d.Title, Author: d.Author, Subject: d.Subject, Language: d.Language, Created: d.Created, Pages: 1, Paper: page.A4,
			Attachments: d.Attachments, Name: sig.Name, Reason: sig.Reason, Location: sig.Location, When: sig.When, Page: 1,
		}
		if diff := cmp.Diff(want, s, cmpopts.IgnoreFields(Signed{}, "CMS", "Digest"), cmpopts.EquateEmpty()); diff != "" {
			t.Error(diff)
		}
	})
}

// The results that our largest summaries carry are well within what an
// attachment may inflate to. Sizes in bytes, measured of jobs of package bulk on
// 29 November 2026; those of 100,000 links are ten times those of 10,000. The
// fourth row is of a job with four limit sets, all of whose links have open
// questions.
func TestOurSummariesMayBeUnpacked(t *testing.T) {
	for _, s := range []struct {
		links            int
		summary, results int
	}{
		{2_000, 855_688, 11_899_671}, {10_000, 3_985_043, 59_500_112}, {100_000, 39_850_430, 595_001_120},
		{2_000, 2_197_017, 26_637_563}, {100_000, 109_850_850, 1_331_878_150},
	} {
		if most := maxUnpacked(s.summary); most < 2*int64(s.results) {
			t.Errorf("%d links: a summary of %d bytes carries %d, and may carry %d: less than twice as much", s.links, s.summary, s.results, most)
		}
	}
}
