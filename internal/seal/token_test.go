package seal_test

import (
	"encoding/base32"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// TestTokenEveryCharacter replaces every character of a token by every other
// of the alphabet, and by some that are not in it.
func TestTokenEveryCharacter(t *testing.T) {
	s := vectorSigner(t)
	public := s.Certificate().PublicKey
	text, err := s.SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	good := func(text string) bool {
		token, err := seal.ParseToken(text)
		return err == nil && token.Verify(public) == nil
	}
	if !good(text) {
		t.Fatal("the token itself is refused")
	}
	letters := "AZ7a. #é"
	if *long {
		letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ2345670189abz=. \n#\x00é"
	}
	for i := range text {
		for _, c := range letters {
			if changed := text[:i] + string(c) + text[i+1:]; changed != text && good(changed) {
				t.Fatalf("character %d changed to %q: accepted", i, c)
			}
		}
		if good(text[:i]) || good(text[:i]+text[i+1:]) || good(text[:i]+"A"+text[i:]) {
			t.Fatalf("cut, shortened or lengthened at %d: accepted", i)
		}
	}
}

func TestTokenAddress(t *testing.T) {
	s := vectorSigner(t)
	text, err := s.SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	token, err := seal.ParseToken("https://check.example/c.html?a=1#" + text)
	if err != nil || token.URL != "https://check.example/c.html?a=1" || token.Text != text {
		t.Errorf("%v, address %q", err, token.URL)
	}
}

func TestClaimsRefused(t *testing.T) {
	s := vectorSigner(t)
	decimal := func(d string) *quantity.Decimal { v := quantity.Must(d); return &v }
	for name, change := range map[string]func(c *seal.Claim){
		"no number":          func(c *seal.Claim) { c.Certificate = "" },
		"no job":             func(c *seal.Claim) { c.Job = "" },
		"revision 0":         func(c *seal.Claim) { c.Revision = 0 },
		"unknown verdict":    func(c *seal.Claim) { c.Verdict = "good" },
		"no day":             func(c *seal.Claim) { c.Issued = "" },
		"impossible day":     func(c *seal.Claim) { c.Issued = "2026-02-30" },
		"day before 1970":    func(c *seal.Claim) { c.Measured = "1969-12-31" },
		"long link":          func(c *seal.Claim) { c.Link = strings.Repeat("x", seal.MaxText+1) },
		"control character":  func(c *seal.Claim) { c.Link = "A\n12" },
		"not UTF-8":          func(c *seal.Claim) { c.Link = "A\xff" },
		"unknown direction":  func(c *seal.Claim) { c.Readings[0].Direction = "two-way" },
		"reading twice":      func(c *seal.Claim) { c.Readings[1] = c.Readings[0] },
		"wavelength 0":       func(c *seal.Claim) { c.Readings[0].WavelengthNM = 0 },
		"wavelength 65536+5": func(c *seal.Claim) { c.Readings[0].WavelengthNM = 65541 },
		"19 digits":          func(c *seal.Claim) { c.Margin = decimal("12.34567890123456789") },
		"33 readings": func(c *seal.Claim) {
			c.Readings = nil
			for i := range 33 {
				c.Readings = append(c.Readings, seal.ClaimReading{WavelengthNM: 1300 + i, Direction: "A-B"})
			}
		},
	} {
		c := claim()
		change(&c)
		if text, err := s.SignToken(c); err == nil {
			t.Errorf("%s: signed as %s", name, text)
		}
	}
}

// claims draws any claim that may be signed.
func claims(t *rapid.T) seal.Claim {
	number := func(label string) quantity.Decimal {
		return quantity.Scaled(rapid.Int64Range(-999_999_999_999_999_999, 999_999_999_999_999_999).Draw(t, label), rapid.IntRange(0, 18).Draw(t, label+" places"))
	}
	text := func(label string, least int) string {
		s := rapid.StringN(least, 40, seal.MaxText).Filter(func(s string) bool { return !strings.ContainsFunc(s, isControl) }).Draw(t, label)
		return s
	}
	date := func(label string) string {
		return fmt.Sprintf("%04d-%02d-%02d", rapid.IntRange(1971, 2199).Draw(t, label), rapid.IntRange(1, 12).Draw(t, "month"), rapid.IntRange(1, 28).Draw(t, "day"))
	}
	c := seal.Claim{
		Certificate: text("certificate", 1), Job: text("job", 1), Link: text("link", 0),
		Revision: rapid.IntRange(1, 65536).Draw(t, "revision"),
		Verdict:  rapid.SampledFrom(seal.Verdicts).Draw(t, "verdict"),
		Issued:   date("issued"),
		Record:   [16]byte(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "record")),
	}
	if rapid.Bool().Draw(t, "has measured") {
		c.Measured = date("measured")
	}
	if rapid.Bool().Draw(t, "has margin") {
		m := number("margin")
		c.Margin = &m
	}
	for _, nm := range rapid.SliceOfNDistinct(rapid.IntRange(1, 9999), 0, 8, rapid.ID[int]).Draw(t, "wavelengths") {
		for _, d := range rapid.SliceOfDistinct(rapid.SampledFrom([]string{"A-B", "B-A"}), rapid.ID[string]).Draw(t, "directions") {
			c.Readings = append(c.Readings, seal.ClaimReading{WavelengthNM: nm, Direction: d, Loss: number("loss")})
		}
	}
	return c
}

func isControl(r rune) bool { return r < 0x20 || r >= 0x7f && r < 0xa0 }

// TestTokenProperties: what is signed comes back digit by digit, the order of
// readings does not matter, a second implementation agrees.
func TestTokenProperties(t *testing.T) {
	s := vectorSigner(t)
	public := s.Certificate().PublicKey
	rapid.Check(t, func(r *rapid.T) {
		c := claims(r)
		text, err := s.SignToken(c)
		if err != nil {
			r.Fatal(err)
		}
		token, err := seal.ParseToken(text)
		if err != nil {
			r.Fatal(err)
		}
		if d := token.Claim.Differences(c); d != nil {
			r.Fatalf("differs in %v", d)
		}
		if token.Verify(public) != nil {
			r.Fatal("its signature does not fit")
		}
		if err := otherVerify(t, text, public); err != nil {
			r.Fatal(err)
		}
		slices.Reverse(c.Readings)
		if again, _ := s.SignToken(c); again != text {
			r.Fatal("another order of readings gives another token")
		}
	})
}

// FuzzParseToken: nothing crashes, and whatever is read is written back the
// same way by its own key.
func FuzzParseToken(f *testing.F) {
	v := readTokenVectors(f)
	for _, g := range v.Valid {
		f.Add(g.Text)
	}
	for _, b := range v.Refuse {
		f.Add(b.Text)
	}
	f.Add("https://check.example/#SS1.")
	s := vectorSigner(f)
	f.Fuzz(func(t *testing.T, text string) {
		token, err := seal.ParseToken(text)
		if err != nil {
			return
		}
		if token.Algorithm == "ES256" && token.Verify(s.Certificate().PublicKey) == nil {
			if again, err := s.SignToken(token.Claim); err != nil || again != token.Text {
				t.Errorf("verifies, but we would have written %q", again)
			}
		}
	})
}

// FuzzPayload signs whatever bytes as a payload: the reader must refuse them
// or agree with the writer about their one encoding.
func FuzzPayload(f *testing.F) {
	f.Add(payloadWith(nil))
	f.Add(payloadWith(map[int][]byte{4: no, 7: no, 8: no, 9: no}))
	s := vectorSigner(f)
	f.Fuzz(func(t *testing.T, payload []byte) {
		if len(payload) == 0 || len(payload) > 1500 {
			return
		}
		text := build(t, parts{payload: payload})
		token, err := seal.ParseToken(text)
		if err != nil {
			return
		}
		if again, err := s.SignToken(token.Claim); err != nil || again != text {
			t.Errorf("read as %+v, written as another token (%v)", token.Claim, err)
		}
	})
}

// TestBase32 holds the alphabet against the vectors of RFC 4648, section 10,
// with their padding taken off.
func TestBase32(t *testing.T) {
	for plain, coded := range map[string]string{
		"": "", "f": "MY", "fo": "MZXQ", "foo": "MZXW6", "foob": "MZXW6YQ", "fooba": "MZXW6YTB", "foobar": "MZXW6YTBOI",
	} {
		if got := base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString([]byte(plain)); got != coded {
			t.Errorf("%q is %s, want %s", plain, got, coded)
		}
	}
}

func BenchmarkSignToken(b *testing.B) {
	s, c := vectorSigner(b), claim()
	for b.Loop() {
		if _, err := s.SignToken(c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkParseAndVerifyToken(b *testing.B) {
	s := vectorSigner(b)
	text, err := s.SignToken(claim())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		token, err := seal.ParseToken(text)
		if err != nil || token.Verify(s.Certificate().PublicKey) != nil {
			b.Fatal("refused")
		}
	}
}
