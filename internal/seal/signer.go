package seal

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"time"

	"software.sslmate.com/src/go-pkcs12"
)

// Signer is a private key with its certificate chain. Its signatures are
// deterministic: the same key and the same bytes give the same signature. It
// is safe for concurrent use.
type Signer struct {
	key   crypto.Signer // *ecdsa.PrivateKey on P-256 or P-384, or *rsa.PrivateKey
	chain []*x509.Certificate
}

// signingUse is what a certificate's key usage must allow one of.
const signingUse = x509.KeyUsageDigitalSignature | x509.KeyUsageContentCommitment

// ErrPassphrase reports a passphrase that does not open the key file.
var ErrPassphrase = errors.New("the passphrase does not open the key file")

// NewSigner makes a P-256 key and its certificate, signed by itself and valid
// from notBefore for the number of years. It is an end entity's: its key signs
// documents and issues no certificates.
func NewSigner(name, organisation string, notBefore time.Time, years int) (*Signer, error) {
	key, template, err := newKey(name, organisation, notBefore, years)
	if err != nil {
		return nil, err
	}
	return selfSign(key, template)
}

func newKey(name, organisation string, notBefore time.Time, years int) (*ecdsa.PrivateKey, *x509.Certificate, error) {
	if strings.TrimSpace(name) == "" {
		return nil, nil, errors.New("a signer needs a name")
	}
	if years < 1 || years > 30 {
		return nil, nil, fmt.Errorf("a certificate can be valid for 1 to 30 years, not %d", years)
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
	point, err := key.PublicKey.Bytes()
	if err != nil {
		return nil, nil, err
	}
	name160 := sha256.Sum256(point) // RFC 7093, 2, method 1
	return key, &x509.Certificate{
		SerialNumber: new(big.Int).SetBytes(serial),
		Subject:      subject,
		NotBefore:    from,
		NotAfter:     from.AddDate(years, 0, 0).Add(-time.Second),
		// No authority: whoever trusts a signer does not trust whomever that
		// signer would certify, a clock of their own among them. An extended
		// key usage (document signing, RFC 9336) would fit the purpose, but PDF
		// readers that do not know it, or not in such a certificate, then call a
		// valid certificate broken instead of merely unknown to them.
		KeyUsage:              signingUse,
		BasicConstraintsValid: true,
		SubjectKeyId:          name160[:20],
	}, nil
}

func selfSign(key *ecdsa.PrivateKey, template *x509.Certificate) (*Signer, error) {
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		return nil, err
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		return nil, err
	}
	return newSigner(key, []*x509.Certificate{cert})
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
	if err := MaySign(chain[0]); err != nil {
		return nil, err
	}
	// A reader who has the bare key must find the same key id.
	if info, err := x509.MarshalPKIXPublicKey(signer.Public()); err != nil || !bytes.Equal(info, chain[0].RawSubjectPublicKeyInfo) {
		return nil, errors.New("the certificate holds its public key in an unusual encoding")
	}
	return &Signer{signer, chain}, nil
}

// usable refuses certificates whose key usage rules out signatures over
// anything but certificates and keys.
func usable(c *x509.Certificate) error {
	if c.KeyUsage != 0 && c.KeyUsage&signingUse == 0 {
		return fmt.Errorf("the certificate of %s is not for signing: its key usage lacks digitalSignature and contentCommitment", CommonName(c))
	}
	return nil
}

// MaySign refuses certificates that are not for signing documents: by their
// key usage, or by an extended key usage (RFC 5280, 4.2.1.12) that names other
// purposes alone. A certificate for time-stamps is for nothing else (RFC 3161,
// 2.3), so whoever vouches for times cannot sign papers too.
func MaySign(c *x509.Certificate) error {
	if err := usable(c); err != nil {
		return err
	}
	if slices.Contains(c.ExtKeyUsage, x509.ExtKeyUsageTimeStamping) {
		return fmt.Errorf("the certificate of %s is for time-stamps, not for signing documents", CommonName(c))
	}
	if !ForDocuments(c) {
		return fmt.Errorf("the certificate of %s is not for signing documents: its extended key usage names other purposes alone", CommonName(c))
	}
	return nil
}

// ForDocuments reports whether the extended key usage of a certificate, or of
// one that leads to it, leaves room for signing documents: it has none, it
// names any purpose or electronic mail, as certificates of persons do (common
// practice), or one that is not of RFC 5280, as document signing (RFC 9336).
func ForDocuments(c *x509.Certificate) bool {
	return len(c.ExtKeyUsage) == 0 || len(c.UnknownExtKeyUsage) > 0 ||
		slices.Contains(c.ExtKeyUsage, x509.ExtKeyUsageAny) || slices.Contains(c.ExtKeyUsage, x509.ExtKeyUsageEmailProtection)
}

// Unled reports whether the chain of s does not lead from a certificate that
// somebody else issued to that issuer's: readers who trust an authority above
// the issuer cannot follow.
func (s *Signer) Unled() bool { return len(s.chain) == 1 && !OwnMade(s.chain[0]) }

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
			return !slices.ContainsFunc(chain, c.Equal) && issued(c, last)
		})
		if i < 0 {
			break
		}
		chain = append(chain, others[i])
	}
	return chain
}

// issued reports whether parent issued child: by its name and by its key.
func issued(parent, child *x509.Certificate) bool {
	return bytes.Equal(parent.RawSubject, child.RawIssuer) && child.CheckSignatureFrom(parent) == nil
}

// Rounds is how often a passphrase is hashed before it opens a key file: as
// many rounds of PBKDF2 as are advised for HMAC-SHA-256 (common practice). A
// guess at a passphrase then costs about a tenth of a second.
const Rounds = 600_000

// PKCS12 is the key file of s behind a passphrase hashed that many rounds,
// which is [Rounds] for everybody but tests: PBES2 with AES-256 and
// HMAC-SHA-256, which every current program reads.
func (s *Signer) PKCS12(passphrase string, rounds int) ([]byte, error) {
	return pkcs12.Modern2023.WithIterations(rounds).Encode(s.key, s.chain[0], s.chain[1:], passphrase)
}

// Certificate is the signer's own certificate.
func (s *Signer) Certificate() *x509.Certificate { return s.chain[0] }

// Chain is the signer's certificate followed by those that lead to its issuer.
func (s *Signer) Chain() []*x509.Certificate { return slices.Clone(s.chain) }

// KeyID is the [KeyIDOf] the signer's certificate.
func (s *Signer) KeyID() KeyID { return KeyIDOf(s.chain[0]) }

// Fingerprint is the [FingerprintOf] the signer's certificate.
func (s *Signer) Fingerprint() string { return FingerprintOf(s.chain[0]) }

// LabelAlgorithm says how tokens are signed: "ES256", "ES384" or "PS256".
// The last makes a token longer than most 20 mm labels can carry; see [MaxLabel].
func (s *Signer) LabelAlgorithm() string { return algorithmOf(s.key.Public()).name }
