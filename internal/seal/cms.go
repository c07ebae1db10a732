package seal

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/rsa"
	"crypto/sha256"
	"crypto/x509"
	"encoding/asn1"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"time"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"
)

// maxChain is how many certificates a signature may carry, maxRSA the bits of an
// RSA key in one of them: the time that a check takes grows with their square.
const (
	maxChain = 16
	maxRSA   = 8192
)

// Object identifiers: RFC 5652 (CMS), 5754 and 5758 (algorithms), 5035 (ESS),
// 3161 (time-stamps; ETSI EN 319 122-1, 5.3).
var (
	oidData           = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 7, 1}
	oidSignedData     = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 7, 2}
	oidContentType    = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 3}
	oidMessageDigest  = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 4}
	oidSigningTime    = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 5}
	oidSigningCertV2  = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 47}
	oidTimestampToken = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 14}
	oidSHA256         = asn1.ObjectIdentifier{2, 16, 840, 1, 101, 3, 4, 2, 1}
	oidECDSASHA256    = asn1.ObjectIdentifier{1, 2, 840, 10045, 4, 3, 2}
	oidRSASHA256      = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 1, 11}
)

// signedData is what a CMS message of ours says; encode is its only form.
type signedData struct {
	chain     []*x509.Certificate // the signer's first; encoded as a set
	digest    [32]byte
	signed    time.Time // signing-time; zero: no such attribute
	signature []byte
	timestamp []byte // RFC 3161 token over signature; nil: none
}

// SignedBy is who made a CMS signature, as far as the bytes say. Whether to
// trust the certificate, and whether it was valid, is the caller's question.
type SignedBy struct {
	Certificate *x509.Certificate
	Chain       []*x509.Certificate // all that the signature carries, the signer's first
	KeyID       KeyID
	// SigningTime is the signer's own word, from the signing-time attribute;
	// zero where the message has none, as in PDF files.
	SigningTime time.Time
	// Timestamp is the RFC 3161 time-stamp, checked against the signature; nil
	// where there is none.
	Timestamp *Timestamp
}

// SignCMS signs a SHA-256 digest as a detached CMS message (RFC 5652, DER)
// with the attributes of the PAdES and CAdES baseline: content-type,
// message-digest and signing-certificate-v2. With a time that is not zero it
// also holds signing-time; a PDF says that time in its signature dictionary
// instead (ETSI EN 319 142-1, 6.3).
func (s *Signer) SignCMS(digest [32]byte, at time.Time) ([]byte, error) {
	if !at.IsZero() {
		at = at.UTC().Truncate(time.Second)
	}
	d := signedData{chain: s.chain, digest: digest, signed: at}
	attributes, err := d.attributes(cbasn1.SET)
	if err != nil {
		return nil, err
	}
	h := sha256.Sum256(attributes)
	if d.signature, err = sign(s.key, h[:], crypto.SHA256); err != nil {
		return nil, err
	}
	return d.encode()
}

// MaxCMS is the most bytes that SignCMS returns for this signer, so that a
// file can leave room before it is signed. A time-stamp comes on top. Where nothing can
// be encoded it is 0, and SignCMS says why.
func (s *Signer) MaxCMS() int {
	late := time.Date(2050, 1, 1, 0, 0, 0, 0, time.UTC) // in the longer form (RFC 5652, 11.3)
	d := signedData{chain: s.chain, signed: late, signature: make([]byte, s.maxSignature())}
	der, err := d.encode()
	if err != nil {
		return 0
	}
	return len(der)
}

// maxSignature is the most bytes of a signature by the key.
func (s *Signer) maxSignature() int {
	key, ok := s.key.(*ecdsa.PrivateKey)
	if !ok {
		return s.key.(*rsa.PrivateKey).Size()
	}
	// A SEQUENCE of two INTEGERs, each with a byte for its sign (RFC 3279, 2.2.3). That
	// of P-384 is shorter than 128 bytes, so that its length takes one.
	return 2 + 2*(2+1+(key.Params().BitSize+7)/8)
}

// attributes encodes the signed attributes under the tag: SET for the
// signature, [0] inside the message (RFC 5652, 5.4).
func (d *signedData) attributes(tag cbasn1.Tag) ([]byte, error) {
	list := [][]byte{
		attribute(oidContentType, func(b *cryptobyte.Builder) { b.AddASN1ObjectIdentifier(oidData) }),
		attribute(oidMessageDigest, func(b *cryptobyte.Builder) { b.AddASN1OctetString(d.digest[:]) }),
		// SigningCertificateV2 with an ESSCertIDv2 for each certificate, the
		// signer's first: so no byte of any can change. The hash algorithm is
		// the default, SHA-256, and so absent in DER.
		attribute(oidSigningCertV2, func(b *cryptobyte.Builder) {
			b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
				b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
					for _, c := range d.chain {
						hash := sha256.Sum256(c.Raw)
						b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { b.AddASN1OctetString(hash[:]) })
					}
				})
			})
		}),
	}
	if !d.signed.IsZero() {
		list = append(list, attribute(oidSigningTime, func(b *cryptobyte.Builder) {
			if d.signed.Year() < 2050 { // RFC 5652, 11.3
				b.AddASN1UTCTime(d.signed)
			} else {
				b.AddASN1GeneralizedTime(d.signed)
			}
		}))
	}
	var b cryptobyte.Builder
	addSetOf(&b, tag, list)
	return b.Bytes()
}

func attribute(id asn1.ObjectIdentifier, value func(*cryptobyte.Builder)) []byte {
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		b.AddASN1ObjectIdentifier(id)
		b.AddASN1(cbasn1.SET, value)
	})
	return b.BytesOrPanic()
}

// addSetOf writes a SET OF in DER: its elements in the order of their bytes
// (X.690, 11.6).
func addSetOf(b *cryptobyte.Builder, tag cbasn1.Tag, elements [][]byte) {
	elements = slices.Clone(elements)
	slices.SortFunc(elements, bytes.Compare)
	b.AddASN1(tag, func(b *cryptobyte.Builder) {
		for _, e := range elements {
			b.AddBytes(e)
		}
	})
}

// encode writes the whole message. There is no second way to write it, so a
// reader compares: see parse.
func (d *signedData) encode() ([]byte, error) {
	attributes, err := d.attributes(tagged(0))
	if err != nil {
		return nil, err
	}
	leaf := d.chain[0]
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // ContentInfo
		b.AddASN1ObjectIdentifier(oidSignedData)
		b.AddASN1(tagged(0), func(b *cryptobyte.Builder) {
			b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // SignedData
				b.AddASN1Int64(1)
				b.AddASN1(cbasn1.SET, addSHA256)
				b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { b.AddASN1ObjectIdentifier(oidData) })
				raw := make([][]byte, len(d.chain))
				for i, c := range d.chain {
					raw[i] = c.Raw
				}
				addSetOf(b, tagged(0), raw)
				b.AddASN1(cbasn1.SET, func(b *cryptobyte.Builder) {
					b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // SignerInfo
						b.AddASN1Int64(1)
						b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { // IssuerAndSerialNumber
							b.AddBytes(leaf.RawIssuer)
							b.AddASN1BigInt(leaf.SerialNumber)
						})
						addSHA256(b)
						b.AddBytes(attributes)
						addSignatureAlgorithm(b, leaf.PublicKey)
						b.AddASN1OctetString(d.signature)
						if d.timestamp != nil {
							stamp := attribute(oidTimestampToken, func(b *cryptobyte.Builder) { b.AddBytes(d.timestamp) })
							b.AddASN1(tagged(1), func(b *cryptobyte.Builder) { b.AddBytes(stamp) })
						}
					})
				})
			})
		})
	})
	return b.Bytes()
}

func tagged(n uint8) cbasn1.Tag { return cbasn1.Tag(n).ContextSpecific().Constructed() }

// addSHA256 writes the digest algorithm without parameters (RFC 5754, 2).
func addSHA256(b *cryptobyte.Builder) {
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { b.AddASN1ObjectIdentifier(oidSHA256) })
}

// addSignatureAlgorithm follows the kind of key: ECDSA without parameters
// (RFC 5758, 3.2), RSA with NULL (RFC 5754, 3.2).
func addSignatureAlgorithm(b *cryptobyte.Builder, public crypto.PublicKey) {
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		if _, ok := public.(*rsa.PublicKey); ok {
			b.AddASN1ObjectIdentifier(oidRSASHA256)
			b.AddASN1NULL()
			return
		}
		b.AddASN1ObjectIdentifier(oidECDSASHA256)
	})
}

// VerifyCMS checks a detached CMS message against a SHA-256 digest. It takes
// only what SignCMS writes, byte for byte: one signer, these attributes, these
// algorithms, nothing before, between or after.
func VerifyCMS(der []byte, digest [32]byte) (*SignedBy, error) {
	d, err := parseCMS(der)
	if err != nil {
		return nil, err
	}
	leaf := d.chain[0]
	if err := usable(leaf); err != nil {
		return nil, err
	}
	attributes, err := d.attributes(cbasn1.SET)
	if err != nil {
		return nil, err
	}
	h := sha256.Sum256(attributes)
	if err := verifySignature(leaf.PublicKey, h[:], d.signature); err != nil {
		return nil, err
	}
	if d.digest != digest {
		return nil, ErrDigest
	}
	by := &SignedBy{Certificate: leaf, Chain: d.chain, KeyID: KeyIDOf(leaf), SigningTime: d.signed}
	if d.timestamp != nil {
		if by.Timestamp, err = parseTimestamp(d.timestamp, of(d.signature)); err != nil {
			return nil, err
		}
	}
	return by, nil
}

// ErrDigest reports a signature that holds, but over other content.
var ErrDigest = errors.New("the signature is over other content: the file was changed")

func verifySignature(public crypto.PublicKey, digest, signature []byte) error {
	switch key := public.(type) {
	case *ecdsa.PublicKey:
		_, s, err := parseECDSA(signature)
		if err != nil || isHigh(s, key.Curve.Params().N) || !ecdsa.VerifyASN1(key, digest, signature) {
			return ErrSignature
		}
	case *rsa.PublicKey:
		if rsa.VerifyPKCS1v15(key, crypto.SHA256, digest, signature) != nil {
			return ErrSignature
		}
	default:
		return ErrSignature
	}
	return nil
}

// parseCMS reads the parts of a message that may differ between messages, and
// compares the whole with what encode makes of them.
func parseCMS(der []byte) (*signedData, error) {
	fault := func(what string) error { return fmt.Errorf("the signature is not a CMS message of ours: %s", what) }
	var d signedData
	input := cryptobyte.String(der)
	var info, content, data cryptobyte.String
	if !input.ReadASN1(&info, cbasn1.SEQUENCE) {
		return nil, fault("no message")
	}
	if !input.Empty() {
		return nil, fault("bytes after it")
	}
	if !info.SkipASN1(cbasn1.OBJECT_IDENTIFIER) || !info.ReadASN1(&content, tagged(0)) || !content.ReadASN1(&data, cbasn1.SEQUENCE) {
		return nil, fault("no signed data")
	}
	var certificates, signers, signer cryptobyte.String
	if !data.SkipASN1(cbasn1.INTEGER) || !data.SkipASN1(cbasn1.SET) || !data.SkipASN1(cbasn1.SEQUENCE) ||
		!data.ReadASN1(&certificates, tagged(0)) || !data.ReadASN1(&signers, cbasn1.SET) || !signers.ReadASN1(&signer, cbasn1.SEQUENCE) {
		return nil, fault("no signer or no certificate")
	}
	if !signers.Empty() {
		return nil, fault("several signers")
	}
	var identity, attributes, signature cryptobyte.String
	if !signer.SkipASN1(cbasn1.INTEGER) || !signer.ReadASN1Element(&identity, cbasn1.SEQUENCE) || !signer.SkipASN1(cbasn1.SEQUENCE) ||
		!signer.ReadASN1(&attributes, tagged(0)) || !signer.SkipASN1(cbasn1.SEQUENCE) || !signer.ReadASN1(&signature, cbasn1.OCTET_STRING) {
		return nil, fault("no signer information")
	}
	d.signature = signature
	if !signer.Empty() {
		var unsigned, stamp, values cryptobyte.String
		if !signer.ReadASN1(&unsigned, tagged(1)) || !unsigned.ReadASN1(&stamp, cbasn1.SEQUENCE) ||
			!stamp.SkipASN1(cbasn1.OBJECT_IDENTIFIER) || !stamp.ReadASN1(&values, cbasn1.SET) {
			return nil, fault("an unsigned part that is no time-stamp")
		}
		d.timestamp = values
	}
	if err := d.readAttributes(attributes); err != nil {
		return nil, fault(err.Error())
	}
	var err error
	if d.chain, err = readChain(certificates, identity); err != nil {
		return nil, fault(err.Error())
	}
	again, err := d.encode()
	if err != nil {
		return nil, fault(err.Error())
	}
	if !bytes.Equal(der, again) {
		return nil, fault("it holds something else, or is written another way")
	}
	return &d, nil
}

func (d *signedData) readAttributes(list cryptobyte.String) error {
	for !list.Empty() {
		var one, values cryptobyte.String
		var id asn1.ObjectIdentifier
		if !list.ReadASN1(&one, cbasn1.SEQUENCE) || !one.ReadASN1ObjectIdentifier(&id) || !one.ReadASN1(&values, cbasn1.SET) {
			return errors.New("a broken attribute")
		}
		switch {
		case id.Equal(oidMessageDigest):
			var digest []byte
			if !values.ReadASN1Bytes(&digest, cbasn1.OCTET_STRING) || len(digest) != len(d.digest) {
				return errors.New("no SHA-256 in message-digest")
			}
			d.digest = [32]byte(digest)
		case id.Equal(oidSigningTime):
			ok := false
			if values.PeekASN1Tag(cbasn1.UTCTime) {
				ok = values.ReadASN1UTCTime(&d.signed)
			} else {
				ok = values.ReadASN1GeneralizedTime(&d.signed)
			}
			if !ok {
				return errors.New("no time in signing-time")
			}
			d.signed = d.signed.UTC()
		}
	}
	return nil
}

// readChain reads a set of certificates and returns the signer's first, then
// those that lead on from it. It refuses any that does not.
func readChain(set, identity cryptobyte.String) ([]*x509.Certificate, error) {
	var all []*x509.Certificate
	leaf := -1
	for !set.Empty() {
		var raw cryptobyte.String
		if !set.ReadASN1Element(&raw, cbasn1.SEQUENCE) || len(all) == maxChain {
			return nil, errors.New("broken or too many certificates")
		}
		c, err := x509.ParseCertificate(raw)
		if err != nil {
			return nil, errors.New("a broken certificate")
		}
		if key, ok := c.PublicKey.(*rsa.PublicKey); ok && key.N.BitLen() > maxRSA {
			return nil, fmt.Errorf("a certificate with an RSA key of more than %d bits", maxRSA)
		}
		if isIdentity(identity, c) {
			leaf = len(all)
		}
		all = append(all, c)
	}
	if leaf < 0 {
		return nil, errors.New("the signer's certificate is missing")
	}
	chain := inOrder(all[leaf], slices.Delete(slices.Clone(all), leaf, leaf+1))
	if len(chain) != len(all) {
		return nil, errors.New("a certificate that does not lead to the signer's issuer")
	}
	return chain, nil
}

func isIdentity(identity cryptobyte.String, c *x509.Certificate) bool {
	var body cryptobyte.String
	serial := new(big.Int)
	return identity.ReadASN1(&body, cbasn1.SEQUENCE) &&
		len(body) > len(c.RawIssuer) && bytes.Equal(body[:len(c.RawIssuer)], c.RawIssuer) &&
		body.Skip(len(c.RawIssuer)) && body.ReadASN1Integer(serial) && body.Empty() && serial.Cmp(c.SerialNumber) == 0
}
