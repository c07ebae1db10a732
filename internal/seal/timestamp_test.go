package seal

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"math/big"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
)

// FuzzTimestamp: a token that is read says what the authority signed.
func FuzzTimestamp(f *testing.F) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		f.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Harbour clock"}, NotBefore: time.Unix(0, 0), NotAfter: time.Unix(1<<33, 0),
		BasicConstraintsValid: true, IsCA: true,
		ExtraExtensions: []pkix.Extension{{Id: []int{2, 5, 29, 37}, Critical: true, Value: []byte{0x30, 0x0a, 0x06, 0x08, 0x2b, 6, 1, 5, 5, 7, 3, 8}}}}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		f.Fatal(err)
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		f.Fatal(err)
	}
	signature := []byte("signature")
	h := sha256.Sum256(signature)
	at := time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)
	reply, err := (&timestamp.Timestamp{HashAlgorithm: crypto.SHA256, HashedMessage: h[:], Time: at, Policy: []int{1, 2, 3}, AddTSACertificate: true}).
		CreateResponseWithOpts(cert, key, crypto.SHA256)
	if err != nil {
		f.Fatal(err)
	}
	good, err := tokenOf(reply)
	if err != nil {
		f.Fatal(err)
	}
	if _, err := parseTimestamp(good, of(signature)); err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	f.Add(reply)
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = tokenOf(data) // must not crash
		ts, err := parseTimestamp(data, of(signature))
		if err == nil && !ts.Time.Equal(at) {
			t.Errorf("reads %v, the authority said %v", ts.Time, at)
		}
	})
}
