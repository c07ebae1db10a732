package seal_test

import (
	"crypto/sha256"
	"testing"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

// day is when the tests' keys begin.
var day = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

// claim is a typical certificate: two wavelengths, both ways.
func claim() seal.Claim {
	margin := quantity.Must("0.31")
	return seal.Claim{
		Certificate: "BL-2026-031/A-12", Revision: 1, Job: "BL-2026-031", Link: "A-12",
		Verdict: "pass", Issued: "2026-11-25", Measured: "2026-11-18", Margin: &margin,
		Record: [16]byte{0x1a, 0x2b, 0x3c, 15: 0xff},
		Readings: []seal.ClaimReading{
			{WavelengthNM: 1310, Direction: "A-B", Loss: quantity.Must("0.84")},
			{WavelengthNM: 1310, Direction: "B-A", Loss: quantity.Must("0.87")},
			{WavelengthNM: 1550, Direction: "A-B", Loss: quantity.Must("0.790")},
			{WavelengthNM: 1550, Direction: "B-A", Loss: quantity.Must("0.80")},
		},
	}
}

func newSigner(t testing.TB) *seal.Signer {
	t.Helper()
	s, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", day, 10)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestTokenComesBack(t *testing.T) {
	s := newSigner(t)
	text, err := s.SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	token, err := seal.ParseToken(text)
	if err != nil {
		t.Fatal(err)
	}
	if d := token.Claim.Differences(claim()); d != nil {
		t.Errorf("claim differs in %v", d)
	}
	if token.KeyID != s.KeyID() || token.Algorithm != "ES256" || token.URL != "" {
		t.Errorf("got %v %s %q", token.KeyID, token.Algorithm, token.URL)
	}
	if err := token.Verify(s.Certificate().PublicKey); err != nil {
		t.Error(err)
	}
	if err := token.Verify(newSigner(t).Certificate().PublicKey); err != seal.ErrSignature {
		t.Errorf("another key: %v", err)
	}
	if token.Size > seal.MaxLabel {
		t.Errorf("%d bytes do not fit a 20 mm label (%d)", token.Size, seal.MaxLabel)
	}
	t.Logf("COSE message %d bytes, text %d characters", token.Size, len(text))
	again, err := s.SignToken(claim())
	if err != nil || again != text {
		t.Error("signing twice gives two texts")
	}
}

func TestCMSComesBack(t *testing.T) {
	s := newSigner(t)
	digest := sha256.Sum256([]byte("the paper"))
	for _, at := range []time.Time{{}, day} {
		der, err := s.SignCMS(digest, at)
		if err != nil {
			t.Fatal(err)
		}
		by, err := seal.VerifyCMS(der, digest)
		if err != nil {
			t.Fatal(err)
		}
		if !by.Certificate.Equal(s.Certificate()) || !by.SigningTime.Equal(at) || by.KeyID != s.KeyID() {
			t.Errorf("got %+v", by)
		}
		if len(der) > s.MaxCMS() {
			t.Errorf("%d bytes, more than the %d announced", len(der), s.MaxCMS())
		}
		if _, err := seal.VerifyCMS(der, sha256.Sum256([]byte("another"))); err != seal.ErrDigest {
			t.Errorf("other content: %v", err)
		}
	}
}

func TestKeyFile(t *testing.T) {
	s := newSigner(t)
	data, err := s.PKCS12("a long sentence", seal.Rounds)
	if err != nil {
		t.Fatal(err)
	}
	back, err := seal.OpenPKCS12(data, "a long sentence")
	if err != nil || back.Fingerprint() != s.Fingerprint() {
		t.Fatalf("%v", err)
	}
	if _, err := seal.OpenPKCS12(data, "wrong"); err != seal.ErrPassphrase {
		t.Errorf("wrong passphrase: %v", err)
	}
	if _, err := seal.OpenPKCS12(data[:len(data)-9], "a long sentence"); err == nil {
		t.Error("a cut file opens")
	}
}
