package seal

import (
	"bytes"
	"crypto"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"time"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"
)

// Object identifiers of a succession: X.509 and RFC 5280, 4.2.1.8; X.520 and
// RFC 4523 for the attributes.
var (
	oidDirectoryAttributes  = asn1.ObjectIdentifier{2, 5, 29, 9}
	oidUserCertificate      = asn1.ObjectIdentifier{2, 5, 4, 36}
	oidAttributeCertificate = asn1.ObjectIdentifier{2, 5, 4, 58}
	oidRole                 = asn1.ObjectIdentifier{2, 5, 4, 72}
)

// successorRole is the role that a statement of succession gives to the holder
// of the new key (RFC 5755, 4.4.5 wants a URI).
const successorRole = "urn:spanseal:successor"

// Successor makes a new key with a certificate of its own, in which lies the
// statement of s that this key follows it: see the package comment. Whoever
// trusts the certificate of s can follow to the successor's, even after s
// expired: it is enough that s was valid on the day the successor begins.
//
// A certificate that somebody else issued is not renewed here: its issuer
// does that.
func (s *Signer) Successor(name, organisation string, notBefore time.Time, years int) (*Signer, error) {
	old := s.Certificate()
	switch {
	case !OwnMade(old):
		return nil, fmt.Errorf("the certificate of %s was issued by another: whoever issued it renews it", CommonName(old))
	case notBefore.Before(old.NotBefore) || notBefore.After(old.NotAfter):
		return nil, fmt.Errorf("the certificate of %s is not valid on %s: a successor must begin while the old key is valid",
			CommonName(old), notBefore.UTC().Format(time.DateOnly))
	}
	key, template, err := newKey(name, organisation, notBefore, years)
	if err != nil {
		return nil, err
	}
	subject, err1 := asn1.Marshal(template.Subject.ToRDNSequence())
	public, err2 := x509.MarshalPKIXPublicKey(key.Public())
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	st := succession{old: old, subject: subject, key: public, serial: template.SerialNumber, from: template.NotBefore, to: template.NotAfter}
	info, err := st.info()
	if err != nil {
		return nil, err
	}
	h := sha256.Sum256(info)
	if st.signature, err = sign(s.key, h[:], crypto.SHA256); err != nil {
		return nil, err
	}
	value, err := st.encode()
	if err != nil {
		return nil, err
	}
	template.ExtraExtensions = []pkix.Extension{{Id: oidDirectoryAttributes, Value: value}}
	return selfSign(key, template)
}

// Predecessor returns the certificate whose key states that the key of c
// follows it, or nil. Both keys vouch for their own certificates, the old one
// was valid when the new one begins, and the statement is written the one way
// it is written.
func Predecessor(c *x509.Certificate) *x509.Certificate {
	i := slices.IndexFunc(c.Extensions, func(e pkix.Extension) bool { return e.Id.Equal(oidDirectoryAttributes) })
	if i < 0 {
		return nil
	}
	st, err := parseSuccession(c.Extensions[i].Value)
	if err != nil {
		return nil
	}
	st.subject, st.key, st.serial, st.from, st.to = c.RawSubject, c.RawSubjectPublicKeyInfo, c.SerialNumber, c.NotBefore, c.NotAfter
	again, err1 := st.encode()
	info, err2 := st.info()
	old := st.old
	if errors.Join(err1, err2) != nil || !bytes.Equal(again, c.Extensions[i].Value) ||
		!OwnMade(old) || c.IsCA || !OwnMade(c) || MaySign(old) != nil || bytes.Equal(old.RawSubjectPublicKeyInfo, c.RawSubjectPublicKeyInfo) ||
		c.NotBefore.Before(old.NotBefore) || c.NotBefore.After(old.NotAfter) {
		return nil
	}
	h := sha256.Sum256(info)
	if verifySignature(old.PublicKey, h[:], st.signature) != nil {
		return nil
	}
	return old
}

// Lineage is the first certificate of a chain, followed by those of the keys
// that it succeeds, each by a statement of the one before it.
func Lineage(chain []*x509.Certificate) []*x509.Certificate {
	line := slices.Clone(chain[:1])
	for len(line) < maxChain {
		last := line[len(line)-1]
		next := Predecessor(last)
		if n := len(line); next == nil && n < len(chain) && last.Equal(chain[n-1]) && Succeeds(last, chain[n]) {
			next = chain[n]
		}
		if next == nil {
			break
		}
		line = append(line, next)
	}
	return line
}

// OwnMade reports whether a key vouches for its own certificate, as those of
// [NewSigner] do, and is for signing documents rather than certificates. Keys
// made before successions were statements could sign certificates too.
func OwnMade(c *x509.Certificate) bool {
	if c.KeyUsage == oldUse {
		return true
	}
	return !c.IsCA && bytes.Equal(c.RawSubject, c.RawIssuer) && c.CheckSignature(c.SignatureAlgorithm, c.RawTBSCertificate, c.Signature) == nil
}

// oldUse is the key usage of the certificates that NewSigner made before
// successions were statements: they signed the certificates of their
// successors. Papers signed by such keys are still read.
const oldUse = signingUse | x509.KeyUsageCertSign

// Succeeds reports whether the key of parent made child its successor in the
// way of before: both certificates are for signing documents and successors,
// as those of a company's authorities are not, parent signed child, and parent
// was valid when child began.
func Succeeds(child, parent *x509.Certificate) bool {
	return child.KeyUsage == oldUse && parent.KeyUsage == oldUse &&
		!child.NotBefore.Before(parent.NotBefore) && !child.NotBefore.After(parent.NotAfter) &&
		issued(parent, child)
}

// succession is what a statement of succession says; encode is its only form.
type succession struct {
	old       *x509.Certificate
	subject   []byte // of the new certificate, DER
	key       []byte // its SubjectPublicKeyInfo
	serial    *big.Int
	from, to  time.Time // its validity
	signature []byte    // of the old key
}

// info is the AttributeCertificateInfo (RFC 5755, 4.1): the part that is
// signed.
func (s *succession) info() ([]byte, error) {
	digest := sha256.Sum256(s.key)
	name := func(subject []byte) func(b *cryptobyte.Builder) { // GeneralNames with a directoryName
		return func(b *cryptobyte.Builder) {
			b.AddASN1(tagged(4), func(b *cryptobyte.Builder) { b.AddBytes(subject) })
		}
	}
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		b.AddASN1Int64(1)                                        // v2
		b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // holder
			b.AddASN1(tagged(1), name(s.subject))
			b.AddASN1(tagged(2), func(b *cryptobyte.Builder) { // objectDigestInfo
				b.AddASN1Enum(0) // publicKey
				addSHA256(b)
				b.AddASN1BitString(digest[:])
			})
		})
		b.AddASN1(tagged(0), func(b *cryptobyte.Builder) { // issuer, v2Form
			b.AddASN1(cbasn1.SEQUENCE, name(s.old.RawSubject))
		})
		addSignatureAlgorithm(b, s.old.PublicKey)
		b.AddASN1BigInt(s.serial)
		b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
			b.AddASN1GeneralizedTime(s.from.UTC())
			b.AddASN1GeneralizedTime(s.to.UTC())
		})
		b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
			b.AddBytes(attribute(oidRole, func(b *cryptobyte.Builder) {
				b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // RoleSyntax
					b.AddASN1(tagged(1), func(b *cryptobyte.Builder) {
						b.AddASN1(cbasn1.Tag(6).ContextSpecific(), func(b *cryptobyte.Builder) { b.AddBytes([]byte(successorRole)) })
					})
				})
			}))
		})
	})
	return b.Bytes()
}

// encode is the value of the extension subjectDirectoryAttributes: the
// predecessor's certificate and its statement.
func (s *succession) encode() ([]byte, error) {
	info, err := s.info()
	if err != nil {
		return nil, err
	}
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		b.AddBytes(attribute(oidUserCertificate, func(b *cryptobyte.Builder) { b.AddBytes(s.old.Raw) }))
		b.AddBytes(attribute(oidAttributeCertificate, func(b *cryptobyte.Builder) {
			b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
				b.AddBytes(info)
				addSignatureAlgorithm(b, s.old.PublicKey)
				b.AddASN1BitString(s.signature)
			})
		}))
	})
	return b.Bytes()
}

// parseSuccession reads the parts that the new certificate does not say.
func parseSuccession(value []byte) (*succession, error) {
	fault := errors.New("no statement of succession")
	input := cryptobyte.String(value)
	var list, first, second, set, raw, statement cryptobyte.String
	var id asn1.ObjectIdentifier
	var s succession
	if !input.ReadASN1(&list, cbasn1.SEQUENCE) || !input.Empty() ||
		!list.ReadASN1(&first, cbasn1.SEQUENCE) || !list.ReadASN1(&second, cbasn1.SEQUENCE) || !list.Empty() ||
		!first.ReadASN1ObjectIdentifier(&id) || !id.Equal(oidUserCertificate) ||
		!first.ReadASN1(&set, cbasn1.SET) || !set.ReadASN1Element(&raw, cbasn1.SEQUENCE) ||
		!second.ReadASN1ObjectIdentifier(&id) || !id.Equal(oidAttributeCertificate) ||
		!second.ReadASN1(&set, cbasn1.SET) || !set.ReadASN1(&statement, cbasn1.SEQUENCE) ||
		!statement.SkipASN1(cbasn1.SEQUENCE) || !statement.SkipASN1(cbasn1.SEQUENCE) ||
		!statement.ReadASN1BitStringAsBytes(&s.signature) {
		return nil, fault
	}
	var err error
	if s.old, err = x509.ParseCertificate(raw); err != nil {
		return nil, fault
	}
	return &s, nil
}
