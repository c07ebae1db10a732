package seal

import (
	"bytes"
	"crypto"
	_ "crypto/sha1" // ESSCertID of RFC 2634 names a certificate by it
	_ "crypto/sha512"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"time"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"
)

var (
	oidTSTInfo       = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 1, 4}
	oidSigningCertV1 = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 12} // RFC 2634, SHA-1
	oidRSA           = asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 1, 1}         // takes the digest's hash
)

// stampAlgorithm is a digest that a time-stamp may use, with the signature
// algorithms that go with it (RFC 5754, RFC 5758).
type stampAlgorithm struct {
	id        asn1.ObjectIdentifier
	hash      crypto.Hash
	rsaID     asn1.ObjectIdentifier
	withRSA   x509.SignatureAlgorithm
	ecdsaID   asn1.ObjectIdentifier
	withECDSA x509.SignatureAlgorithm
}

var stampAlgorithms = []stampAlgorithm{
	{
		id: oidSHA256, hash: crypto.SHA256,
		rsaID: oidRSASHA256, withRSA: x509.SHA256WithRSA,
		ecdsaID: oidECDSASHA256, withECDSA: x509.ECDSAWithSHA256,
	},
	{
		id: asn1.ObjectIdentifier{2, 16, 840, 1, 101, 3, 4, 2, 2}, hash: crypto.SHA384,
		rsaID: asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 1, 12}, withRSA: x509.SHA384WithRSA,
		ecdsaID: asn1.ObjectIdentifier{1, 2, 840, 10045, 4, 3, 3}, withECDSA: x509.ECDSAWithSHA384,
	},
	{
		id: asn1.ObjectIdentifier{2, 16, 840, 1, 101, 3, 4, 2, 3}, hash: crypto.SHA512,
		rsaID: asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 1, 13}, withRSA: x509.SHA512WithRSA,
		ecdsaID: asn1.ObjectIdentifier{1, 2, 840, 10045, 4, 3, 4}, withECDSA: x509.ECDSAWithSHA512,
	},
}

// signature returns the signature algorithm of an identifier, or zero.
func (a *stampAlgorithm) signature(id asn1.ObjectIdentifier) x509.SignatureAlgorithm {
	switch {
	case id.Equal(a.rsaID), id.Equal(oidRSA):
		return a.withRSA
	case id.Equal(a.ecdsaID):
		return a.withECDSA
	}
	return x509.UnknownSignatureAlgorithm
}

// Timestamp is what a time-stamp authority said (RFC 3161): this signature
// existed at this time.
type Timestamp struct {
	Time  time.Time
	Chain []*x509.Certificate // the authority's first; whether to trust it is the caller's question

	nonce *big.Int // nil: none
}

// valid refuses a time-stamp of an authority whose certificate, or one that
// leads to it, was not valid at the time that it states: nobody would believe
// it.
func (ts *Timestamp) valid() error {
	for _, c := range ts.Chain {
		if ts.Time.Before(c.NotBefore) || ts.Time.After(c.NotAfter) {
			return fmt.Errorf("the time-stamp is worth nothing: it is of %s, and the certificate of %s is valid from %s to %s", ts.Time.UTC().Format(time.DateOnly),
				CommonName(c), c.NotBefore.UTC().Format(time.DateOnly), c.NotAfter.UTC().Format(time.DateOnly))
		}
	}
	return nil
}

// imprint is what a time-stamp is over: content, by its hash.
type imprint struct {
	content []byte
	hash    crypto.Hash
}

func (i imprint) sum() []byte {
	h := i.hash.New()
	h.Write(i.content)
	return h.Sum(nil)
}

// of is the hash of a signature: SHA-256, as in all else of a CMS message.
func of(signature []byte) imprint { return imprint{signature, crypto.SHA256} }

// algorithm is the identifier of the hash.
func (i imprint) algorithm() asn1.ObjectIdentifier {
	for _, a := range stampAlgorithms {
		if a.hash == i.hash {
			return a.id
		}
	}
	panic("seal: a time-stamp over a hash of no name")
}

// parseTimestamp reads a time-stamp token and checks it against what it was
// made for. Every byte of a token is either signed or the only one
// that may stand there; the exception is the last certificate of its chain,
// where that one's issuer is not included.
func parseTimestamp(token []byte, over imprint) (*Timestamp, error) {
	ts, err := readToken(token, over)
	if err != nil {
		return nil, fmt.Errorf("the time-stamp is broken: %w", err)
	}
	return ts, nil
}

func readToken(token []byte, over imprint) (*Timestamp, error) {
	input := cryptobyte.String(token)
	var outer, content, data, digests, encapsulated, inner, tst, set, signers, signer cryptobyte.String
	var id asn1.ObjectIdentifier
	var version int
	if !input.ReadASN1(&outer, cbasn1.SEQUENCE) || !input.Empty() || // ContentInfo
		!outer.ReadASN1ObjectIdentifier(&id) || !id.Equal(oidSignedData) ||
		!outer.ReadASN1(&content, tagged(0)) || !outer.Empty() ||
		!content.ReadASN1(&data, cbasn1.SEQUENCE) || !content.Empty() || // SignedData
		!data.ReadASN1Integer(&version) || version != 3 ||
		!data.ReadASN1(&digests, cbasn1.SET) ||
		!data.ReadASN1(&encapsulated, cbasn1.SEQUENCE) ||
		!data.ReadASN1(&set, tagged(0)) ||
		!data.ReadASN1(&signers, cbasn1.SET) || !data.Empty() ||
		!signers.ReadASN1(&signer, cbasn1.SEQUENCE) || !signers.Empty() {
		return nil, errors.New("it is not signed data in DER with one signer and a certificate")
	}
	if !encapsulated.ReadASN1ObjectIdentifier(&id) || !id.Equal(oidTSTInfo) ||
		!encapsulated.ReadASN1(&inner, tagged(0)) || !encapsulated.Empty() ||
		!inner.ReadASN1(&tst, cbasn1.OCTET_STRING) || !inner.Empty() {
		return nil, errors.New("it holds no time-stamp information")
	}

	var identity, attributes, value cryptobyte.String
	var listedID, digestID, signatureID asn1.ObjectIdentifier
	if !signer.ReadASN1Integer(&version) || version != 1 || // SignerInfo
		!signer.ReadASN1Element(&identity, cbasn1.SEQUENCE) ||
		!readAlgorithm(&signer, &digestID) ||
		!signer.ReadASN1Element(&attributes, tagged(0)) ||
		!readAlgorithm(&signer, &signatureID) ||
		!signer.ReadASN1(&value, cbasn1.OCTET_STRING) || !signer.Empty() {
		return nil, errors.New("its signer is not described as RFC 5652 has it")
	}
	i := slices.IndexFunc(stampAlgorithms, func(a stampAlgorithm) bool { return a.id.Equal(digestID) })
	if i < 0 || !readAlgorithm(&digests, &listedID) || !listedID.Equal(digestID) || !digests.Empty() {
		return nil, errors.New("its digest is not SHA-256, SHA-384 or SHA-512")
	}
	algorithm := stampAlgorithms[i]

	chain, err := readChain(set, identity)
	if err != nil {
		return nil, err
	}
	// The last certificate vouches for itself, unless it names an issuer that is
	// not here, by name and by key (RFC 5280, 4.2.1.1).
	last := chain[len(chain)-1]
	elsewhere := !bytes.Equal(last.RawSubject, last.RawIssuer) && len(last.AuthorityKeyId) > 0 && !bytes.Equal(last.SubjectKeyId, last.AuthorityKeyId)
	if len(chain) > 1 && !elsewhere && last.CheckSignature(last.SignatureAlgorithm, last.RawTBSCertificate, last.Signature) != nil {
		return nil, errors.New("its last certificate is broken")
	}
	authority := chain[0]
	if !IsAuthority(authority) {
		return nil, fmt.Errorf("the certificate of %s is not for time-stamps", CommonName(authority))
	}
	signed := slices.Clone(attributes)
	signed[0] = byte(cbasn1.SET) // RFC 5652, 5.4
	if authority.CheckSignature(algorithm.signature(signatureID), signed, value) != nil {
		return nil, errors.New("its signature does not fit")
	}
	h := algorithm.hash.New()
	h.Write(tst)
	if err := checkAttributes(attributes, h.Sum(nil), authority); err != nil {
		return nil, err
	}
	return readInfo(tst, over, chain)
}

// IsAuthority reports whether a certificate is for time-stamps and nothing
// else, and says so in a critical extension (RFC 3161, 2.3).
func IsAuthority(c *x509.Certificate) bool {
	extKeyUsage := asn1.ObjectIdentifier{2, 5, 29, 37}
	return len(c.UnknownExtKeyUsage) == 0 && slices.Equal(c.ExtKeyUsage, []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}) &&
		slices.ContainsFunc(c.Extensions, func(e pkix.Extension) bool { return e.Id.Equal(extKeyUsage) && e.Critical })
}

// readAlgorithm reads an AlgorithmIdentifier without parameters, absent or NULL.
func readAlgorithm(s *cryptobyte.String, id *asn1.ObjectIdentifier) bool {
	var a, null cryptobyte.String
	return s.ReadASN1(&a, cbasn1.SEQUENCE) && a.ReadASN1ObjectIdentifier(id) &&
		(a.Empty() || a.ReadASN1(&null, cbasn1.NULL) && null.Empty() && a.Empty())
}

// checkAttributes checks what RFC 3161, 2.4.2 and RFC 5816 ask to be signed.
func checkAttributes(element cryptobyte.String, digest []byte, authority *x509.Certificate) error {
	var list cryptobyte.String
	if !element.ReadASN1(&list, tagged(0)) {
		return errors.New("it has no signed attributes")
	}
	checked := map[string]bool{}
	for !list.Empty() {
		var one, values cryptobyte.String
		var id asn1.ObjectIdentifier
		if !list.ReadASN1(&one, cbasn1.SEQUENCE) || !one.ReadASN1ObjectIdentifier(&id) || !one.ReadASN1(&values, cbasn1.SET) || !one.Empty() {
			return errors.New("it has a broken attribute")
		}
		name, good := "", false
		switch {
		case id.Equal(oidContentType):
			var kind asn1.ObjectIdentifier
			name, good = "content-type", values.ReadASN1ObjectIdentifier(&kind) && kind.Equal(oidTSTInfo)
		case id.Equal(oidMessageDigest):
			var d cryptobyte.String
			name, good = "message-digest", values.ReadASN1(&d, cbasn1.OCTET_STRING) && bytes.Equal(d, digest)
		case id.Equal(oidSigningCertV1):
			name, good = "signing-certificate", isCertID(values, crypto.SHA1, authority)
		case id.Equal(oidSigningCertV2):
			name, good = "signing-certificate", isCertID(values, crypto.SHA256, authority)
		default:
			continue // signed all the same
		}
		if !good {
			return fmt.Errorf("its attribute %s is wrong", name)
		}
		checked[name] = true
	}
	if len(checked) < 3 {
		return errors.New("an attribute that must be signed is missing")
	}
	return nil
}

// isCertID reports whether the first certificate that a SigningCertificate or
// SigningCertificateV2 names is this one.
func isCertID(values cryptobyte.String, hash crypto.Hash, c *x509.Certificate) bool {
	var all, list, one, digest cryptobyte.String
	if !values.ReadASN1(&all, cbasn1.SEQUENCE) || !all.ReadASN1(&list, cbasn1.SEQUENCE) || !list.ReadASN1(&one, cbasn1.SEQUENCE) {
		return false
	}
	if one.PeekASN1Tag(cbasn1.SEQUENCE) { // a digest that is not the default
		var id asn1.ObjectIdentifier
		i := -1
		if readAlgorithm(&one, &id) {
			i = slices.IndexFunc(stampAlgorithms, func(a stampAlgorithm) bool { return a.id.Equal(id) })
		}
		if i < 0 {
			return false
		}
		hash = stampAlgorithms[i].hash
	}
	h := hash.New()
	h.Write(c.Raw)
	return one.ReadASN1(&digest, cbasn1.OCTET_STRING) && bytes.Equal(digest, h.Sum(nil))
}

// readInfo reads the TSTInfo (RFC 3161, 2.4.2).
func readInfo(tst cryptobyte.String, over imprint, chain []*x509.Certificate) (*Timestamp, error) {
	var info, imprint, digest, at cryptobyte.String
	var policy, digestID asn1.ObjectIdentifier
	var version int
	if !tst.ReadASN1(&info, cbasn1.SEQUENCE) || !tst.Empty() ||
		!info.ReadASN1Integer(&version) || version != 1 ||
		!info.ReadASN1ObjectIdentifier(&policy) ||
		!info.ReadASN1(&imprint, cbasn1.SEQUENCE) ||
		!readAlgorithm(&imprint, &digestID) || !imprint.ReadASN1(&digest, cbasn1.OCTET_STRING) ||
		!info.SkipASN1(cbasn1.INTEGER) || !info.ReadASN1(&at, cbasn1.GeneralizedTime) {
		return nil, errors.New("its information is not as RFC 3161 has it")
	}
	if !digestID.Equal(over.algorithm()) || !bytes.Equal(digest, over.sum()) {
		return nil, errors.New("it is over something else")
	}
	ts := &Timestamp{Chain: chain}
	text, utc := strings.CutSuffix(string(at), "Z")
	var err error
	if ts.Time, err = time.Parse("20060102150405", text); err != nil || !utc { // Parse takes a fraction of a second too
		return nil, errors.New("its time is not one in UTC")
	}
	info.SkipOptionalASN1(cbasn1.SEQUENCE) // accuracy
	info.SkipOptionalASN1(cbasn1.BOOLEAN)  // ordering
	if info.PeekASN1Tag(cbasn1.INTEGER) {
		ts.nonce = new(big.Int)
		if !info.ReadASN1Integer(ts.nonce) {
			return nil, errors.New("its nonce is not a number")
		}
	}
	return ts, nil
}
