package seal

import (
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/hex"
	"fmt"
	"strings"
)

// KeyID names a key: the first 8 bytes of the SHA-256 of its
// SubjectPublicKeyInfo.
type KeyID [8]byte

// String prints the id in four groups, "5F0C 91D2 07AA 3B1E".
func (k KeyID) String() string {
	h := strings.ToUpper(hex.EncodeToString(k[:]))
	return h[:4] + " " + h[4:8] + " " + h[8:12] + " " + h[12:]
}

// MarshalText is String.
func (k KeyID) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText is [ParseKeyID], without its leniency about spaces.
func (k *KeyID) UnmarshalText(text []byte) error {
	v, err := ParseKeyID(string(text))
	if err == nil && v.String() != string(text) {
		err = fmt.Errorf("%q is not a key id such as %s", text, v)
	}
	*k = v
	return err
}

// ParseKeyID reads what String prints, with or without spaces.
func ParseKeyID(text string) (KeyID, error) {
	var k KeyID
	b, err := hex.DecodeString(strings.ReplaceAll(strings.TrimSpace(text), " ", ""))
	if err != nil || len(b) != len(k) {
		return k, fmt.Errorf("%q is not a key id such as 5F0C 91D2 07AA 3B1E", text)
	}
	return KeyID(b), nil
}

// KeyIDOf returns the id of a certificate's key.
func KeyIDOf(c *x509.Certificate) KeyID { return keyID(c.RawSubjectPublicKeyInfo) }

func keyID(publicKeyInfo []byte) KeyID {
	h := sha256.Sum256(publicKeyInfo)
	return KeyID(h[:8])
}

// FingerprintOf returns the SHA-256 of a certificate, upper-case hex in groups
// of two with colons, as certificate viewers print it.
func FingerprintOf(c *x509.Certificate) string {
	h := sha256.Sum256(c.Raw)
	var b strings.Builder
	for i, v := range h {
		if i > 0 {
			b.WriteByte(':')
		}
		fmt.Fprintf(&b, "%02X", v)
	}
	return b.String()
}

// CommonName is the name a person reads in a certificate: the common name, or
// the whole subject where there is none.
func CommonName(c *x509.Certificate) string { return nameOf(c.Subject) }

// IssuerName is the same of whoever issued a certificate.
func IssuerName(c *x509.Certificate) string { return nameOf(c.Issuer) }

func nameOf(n pkix.Name) string {
	if n.CommonName != "" {
		return n.CommonName
	}
	return n.String()
}
