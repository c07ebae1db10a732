package seal

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/hmac"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"crypto/sha512"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/hex"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"time"

	"software.sslmate.com/src/go-pkcs12"
)

// Signer is a private key with its certificate chain. Its signatures are
// deterministic: the same key and the same bytes give the same signature.
type Signer struct {
	key   crypto.Signer // *ecdsa.PrivateKey on P-256 or P-384, or *rsa.PrivateKey
	chain []*x509.Certificate
}

// documentSigning is the extended key usage of RFC 9336.
var documentSigning = asn1.ObjectIdentifier{1, 3, 6, 1, 5, 5, 7, 3, 36}

// signingUse is what a certificate's key usage must allow one of.
const signingUse = x509.KeyUsageDigitalSignature | x509.KeyUsageContentCommitment

// ErrPassphrase reports a passphrase that does not open the key file.
var ErrPassphrase = errors.New("the passphrase does not open the key file")

// NewSigner makes a P-256 key and its certificate, signed by itself and valid
// from notBefore for the number of years. The certificate may sign documents
// and its own successors, see [Signer.Successor].
func NewSigner(name, organisation string, notBefore time.Time, years int) (*Signer, error) {
	key, template, err := newKey(name, organisation, notBefore, years)
	if err != nil {
		return nil, err
	}
	return issue(key, template, template, key, nil)
}

// Successor makes a new key whose certificate is signed by s. Whoever trusts
// the certificate of s can follow to the successor's, even after s expired:
// it is enough that s was valid on the day the successor begins. The chain
// travels in every signature of the successor.
//
// A certificate that somebody else issued is not renewed here: its issuer
// does that.
func (s *Signer) Successor(name, organisation string, notBefore time.Time, years int) (*Signer, error) {
	old := s.Certificate()
	switch {
	case !old.IsCA || old.KeyUsage&x509.KeyUsageCertSign == 0:
		return nil, fmt.Errorf("the certificate of %s may not sign a successor: whoever issued it renews it", CommonName(old))
	case notBefore.Before(old.NotBefore) || notBefore.After(old.NotAfter):
		return nil, fmt.Errorf("the certificate of %s is not valid on %s: a successor must begin while the old key is valid",
			CommonName(old), notBefore.UTC().Format(time.DateOnly))
	}
	key, template, err := newKey(name, organisation, notBefore, years)
	if err != nil {
		return nil, err
	}
	// The successor mostly bears its predecessor's name; only this tells
	// programs that it did not sign itself.
	template.AuthorityKeyId = old.SubjectKeyId
	return issue(key, template, old, s.key, s.chain)
}

func newKey(name, organisation string, notBefore time.Time, years int) (*ecdsa.PrivateKey, *x509.Certificate, error) {
	if strings.TrimSpace(name) == "" {
		return nil, nil, errors.New("a signer needs a name")
	}
	if years < 1 || years > 30 {
		return nil, nil, fmt.Errorf("a certificate for %d years is not made: want 1 to 30", years)
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	serial := make([]byte, 16) // RFC 5280, 4.1.2.2: at most 20 octets, positive
	if _, err := rand.Read(serial); err != nil {
		return nil, nil, err
	}
	serial[0] = serial[0]&0x7f | 0x40
	subject := pkix.Name{CommonName: name}
	if organisation != "" {
		subject.Organization = []string{organisation}
	}
	from := notBefore.UTC().Truncate(time.Second)
	return key, &x509.Certificate{
		SerialNumber: new(big.Int).SetBytes(serial),
		Subject:      subject,
		NotBefore:    from,
		NotAfter:     from.AddDate(years, 0, 0).Add(-time.Second),
		// The key signs documents, and later the certificate of the key that
		// follows it. That makes it an authority for its own succession, in
		// terms that every X.509 program understands.
		KeyUsage:              signingUse | x509.KeyUsageCertSign,
		UnknownExtKeyUsage:    []asn1.ObjectIdentifier{documentSigning},
		BasicConstraintsValid: true,
		IsCA:                  true,
	}, nil
}

func issue(key *ecdsa.PrivateKey, template, parent *x509.Certificate, parentKey crypto.Signer, parents []*x509.Certificate) (*Signer, error) {
	der, err := x509.CreateCertificate(rand.Reader, template, parent, key.Public(), parentKey)
	if err != nil {
		return nil, err
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return newSigner(key, append([]*x509.Certificate{cert}, parents...))
}

// newSigner checks that the key is one of the kinds we sign with and that the
// certificate is its own.
func newSigner(key any, chain []*x509.Certificate) (*Signer, error) {
	var signer crypto.Signer
	switch k := key.(type) {
	case *ecdsa.PrivateKey:
		if k.Curve != elliptic.P256() && k.Curve != elliptic.P384() {
			return nil, fmt.Errorf("a key on the curve %s is not supported: want P-256 or P-384", k.Curve.Params().Name)
		}
		signer = k
	case *rsa.PrivateKey:
		if n := k.N.BitLen(); n < 2048 || n > 4096 {
			return nil, fmt.Errorf("an RSA key of %d bits is not supported: want 2048 to 4096", n)
		}
		signer = k
	default:
		return nil, fmt.Errorf("a key of the kind %T is not supported: want P-256, P-384 or RSA", key)
	}
	if len(chain) > maxChain {
		return nil, fmt.Errorf("a chain of %d certificates is too long: want at most %d", len(chain), maxChain)
	}
	public, ok := signer.Public().(interface{ Equal(crypto.PublicKey) bool })
	if !ok || !public.Equal(chain[0].PublicKey) {
		return nil, errors.New("the certificate is not the key's own")
	}
	if err := maySign(chain[0]); err != nil {
		return nil, err
	}
	// A reader who has the bare key must find the same key id.
	if info, err := x509.MarshalPKIXPublicKey(signer.Public()); err != nil || !bytes.Equal(info, chain[0].RawSubjectPublicKeyInfo) {
		return nil, errors.New("the certificate holds its public key in an unusual encoding")
	}
	return &Signer{signer, chain}, nil
}

// maySign refuses certificates whose key usage rules out signing documents.
func maySign(c *x509.Certificate) error {
	if c.KeyUsage != 0 && c.KeyUsage&signingUse == 0 {
		return fmt.Errorf("the certificate of %s is not for signing: its key usage lacks digitalSignature and contentCommitment", CommonName(c))
	}
	return nil
}

// OpenPKCS12 reads a key file (RFC 7292): one private key, its certificate
// and, where there are any, the certificates that lead to its issuer. A wrong
// passphrase gives [ErrPassphrase]; errors never hold the passphrase or key.
func OpenPKCS12(data []byte, passphrase string) (*Signer, error) {
	key, cert, others, err := pkcs12.DecodeChain(data, passphrase)
	switch {
	case errors.Is(err, pkcs12.ErrIncorrectPassword), errors.Is(err, pkcs12.ErrDecryption):
		return nil, ErrPassphrase
	case err != nil:
		return nil, fmt.Errorf("not a key file (PKCS#12): %w", err)
	}
	return newSigner(key, inOrder(cert, others))
}

// inOrder sorts a chain from the signer's certificate up; certificates that do
// not lead there are left out.
func inOrder(leaf *x509.Certificate, others []*x509.Certificate) []*x509.Certificate {
	chain := []*x509.Certificate{leaf}
	for len(chain) <= len(others) {
		last := chain[len(chain)-1]
		i := slices.IndexFunc(others, func(c *x509.Certificate) bool {
			return !slices.ContainsFunc(chain, c.Equal) && last.CheckSignatureFrom(c) == nil
		})
		if i < 0 {
			break
		}
		chain = append(chain, others[i])
	}
	return chain
}

// PKCS12 is the key file of s behind a passphrase: PBES2 with AES-256 and
// HMAC-SHA-256, which every current program reads.
func (s *Signer) PKCS12(passphrase string) ([]byte, error) {
	// As many rounds of PBKDF2 as are advised for HMAC-SHA-256 (common
	// practice); a guess at a passphrase then costs about a tenth of a second.
	return pkcs12.Modern2023.WithIterations(600_000).Encode(s.key, s.chain[0], s.chain[1:], passphrase)
}

// Certificate is the signer's own certificate.
func (s *Signer) Certificate() *x509.Certificate { return s.chain[0] }

// Chain is the signer's certificate followed by those that lead to its issuer
// or its predecessors.
func (s *Signer) Chain() []*x509.Certificate { return slices.Clone(s.chain) }

// KeyID is the [KeyIDOf] the signer's certificate.
func (s *Signer) KeyID() KeyID { return KeyIDOf(s.chain[0]) }

// Fingerprint is the [FingerprintOf] the signer's certificate.
func (s *Signer) Fingerprint() string { return FingerprintOf(s.chain[0]) }

// LabelAlgorithm says how tokens are signed: "ES256", "ES384" or "PS256".
// The last makes a token longer than a 20 mm label can carry; see [MaxLabel].
func (s *Signer) LabelAlgorithm() string { return algorithmOf(s.key.Public()).name }

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
func CommonName(c *x509.Certificate) string {
	if c.Subject.CommonName != "" {
		return c.Subject.CommonName
	}
	return c.Subject.String()
}

// sign signs a digest deterministically. ECDSA follows RFC 6979 and keeps the
// smaller of the two possible values of s, so that nobody without the key can
// write the same signature differently.
func sign(key crypto.Signer, digest []byte, h crypto.Hash) ([]byte, error) {
	ec, ok := key.(*ecdsa.PrivateKey)
	if !ok {
		return key.Sign(nil, digest, h) // PKCS #1 v1.5 uses no randomness
	}
	der, err := ec.Sign(nil, digest, h)
	if err != nil {
		return nil, err
	}
	r, s, err := parseECDSA(der)
	if err != nil {
		return nil, err
	}
	if n := ec.Curve.Params().N; isHigh(s, n) {
		s.Sub(n, s)
	}
	return asn1.Marshal(ecdsaValue{r, s})
}

// ecdsaValue is ECDSA-Sig-Value (RFC 3279, 2.2.3).
type ecdsaValue struct{ R, S *big.Int }

func parseECDSA(der []byte) (r, s *big.Int, err error) {
	var v ecdsaValue
	rest, err := asn1.Unmarshal(der, &v)
	if err != nil || len(rest) != 0 {
		return nil, nil, errors.New("not an ECDSA signature")
	}
	return v.R, v.S, nil
}

// isHigh reports s > n/2.
func isHigh(s, n *big.Int) bool { return new(big.Int).Lsh(s, 1).Cmp(n) > 0 }

// saltFor is the randomness of a PSS signature, made from the key and the
// digest so that the same token comes out twice. It plays the part that RFC
// 6979 gives to k: unknown without the key, different for every message.
func saltFor(key *rsa.PrivateKey, digest []byte) []byte {
	mac := hmac.New(sha512.New, x509.MarshalPKCS1PrivateKey(key))
	mac.Write([]byte("spanseal PSS salt"))
	mac.Write(digest)
	return mac.Sum(nil)
}

// UnmarshalText is [ParseKeyID], without its leniency about spaces.
func (k *KeyID) UnmarshalText(text []byte) error {
	v, err := ParseKeyID(string(text))
	if err == nil && v.String() != string(text) {
		err = fmt.Errorf("%q is not a key id such as %s", text, v)
	}
	*k = v
	return err
}

// Succeeds reports whether the key of parent made child its successor: both
// are document-signing certificates of the kind that NewSigner makes, parent
// signed child, and parent was valid when child began.
func Succeeds(child, parent *x509.Certificate) bool {
	signs := func(c *x509.Certificate) bool {
		return c.KeyUsage&signingUse != 0 && slices.ContainsFunc(c.UnknownExtKeyUsage, documentSigning.Equal)
	}
	return signs(child) && signs(parent) &&
		!child.NotBefore.Before(parent.NotBefore) && !child.NotBefore.After(parent.NotAfter) &&
		child.CheckSignatureFrom(parent) == nil
}
