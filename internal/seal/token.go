package seal

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rsa"
	_ "crypto/sha512" // ES384
	"crypto/x509"
	"encoding/base32"
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"github.com/fxamacker/cbor/v2"
)

// Prefix starts every token's text.
const Prefix = "SS1."

// Limits of a token, checked on signing and on reading.
const (
	MaxText     = 300 // bytes of one text
	MaxReadings = 32
	MaxPlaces   = 18   // digits after the point of a number, and digits in all
	MaxMessage  = 2048 // bytes of the COSE message
	// MaxLabel is the longest COSE message, in bytes, whose symbol scans from
	// a 20 mm label printed at 300 dpi with three dots a module: QR version 15
	// at level M holds 600 characters (ISO/IEC 18004, table 7).
	MaxLabel = (600 - len(Prefix)) * 5 / 8
)

// Token is a parsed token. Parsing alone says nothing about who made it: call
// Verify.
type Token struct {
	Claim     Claim
	KeyID     KeyID
	Algorithm string // "ES256", "ES384", "PS256"
	Text      string // from the prefix on
	URL       string // what stood before "#"; not signed
	Size      int    // bytes of the COSE message

	signed    []byte // the Sig_structure of RFC 9052, 4.4
	signature []byte
}

// ErrNotToken reports text that does not even begin like a token.
var ErrNotToken = errors.New("not a spanseal token: it does not begin with " + Prefix)

// ErrSignature reports a signature that the key did not make.
var ErrSignature = errors.New("the signature does not fit")

// algorithm is a COSE signature algorithm (RFC 9053, 2.1; RFC 8230, 2).
type algorithm struct {
	id   int
	name string
	hash crypto.Hash
	size int // bytes of the signature; 0: the modulus's
}

var algorithms = []algorithm{
	{-7, "ES256", crypto.SHA256, 64},
	{-35, "ES384", crypto.SHA384, 96},
	{-37, "PS256", crypto.SHA256, 0},
}

func algorithmOf(public crypto.PublicKey) algorithm {
	switch k := public.(type) {
	case *ecdsa.PublicKey:
		switch k.Curve {
		case elliptic.P256():
			return algorithms[0]
		case elliptic.P384():
			return algorithms[1]
		}
	case *rsa.PublicKey:
		a := algorithms[2]
		a.size = k.Size()
		return a
	}
	return algorithm{name: "none"}
}

// The shapes of RFC 9052. Field order is key order, which is what
// deterministic encoding asks for (RFC 8949, 4.2.1).
type (
	protectedHeader struct {
		Algorithm int    `cbor:"1,keyasint"`
		KeyID     []byte `cbor:"4,keyasint"`
	}
	coseSign1 struct {
		_           struct{} `cbor:",toarray"`
		Protected   []byte
		Unprotected cbor.RawMessage
		Payload     []byte
		Signature   []byte
	}
	sigStructure struct {
		_         struct{} `cbor:",toarray"`
		Context   string
		Protected []byte
		External  []byte
		Payload   []byte
	}
)

const tagSign1 = 0xd2 // CBOR tag 18, COSE_Sign1 (RFC 9052, table 1)

var (
	encoder = must(cbor.CoreDetEncOptions().EncMode())
	decoder = must(cbor.DecOptions{
		DupMapKey:         cbor.DupMapKeyEnforcedAPF,
		IndefLength:       cbor.IndefLengthForbidden,
		TagsMd:            cbor.TagsForbidden,
		ExtraReturnErrors: cbor.ExtraDecErrorUnknownField,
		UTF8:              cbor.UTF8RejectInvalid,
		MaxNestedLevels:   4,
		MaxArrayElements:  perWavelength * MaxReadings,
		MaxMapPairs:       64,
	}.DecMode())
	text32 = base32.StdEncoding.WithPadding(base32.NoPadding)
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// SignToken writes and signs the claim as a token's text. The readings may
// stand in any order; the token holds them sorted.
func (s *Signer) SignToken(c Claim) (string, error) {
	p, err := payloadOf(c)
	if err != nil {
		return "", err
	}
	a, id := algorithmOf(s.key.Public()), s.KeyID()
	protected, err := encoder.Marshal(protectedHeader{a.id, id[:]})
	if err != nil {
		return "", err
	}
	body, err := encoder.Marshal(p)
	if err != nil {
		return "", err
	}
	signature, err := s.signCOSE(a, toBeSigned(protected, body))
	if err != nil {
		return "", err
	}
	message, err := encoder.Marshal(coseSign1{Protected: protected, Unprotected: cbor.RawMessage{0xa0}, Payload: body, Signature: signature})
	if err != nil {
		return "", err
	}
	if len(message)+1 > MaxMessage {
		return "", tooLong(c, len(message)+1)
	}
	return Prefix + text32.EncodeToString(append([]byte{tagSign1}, message...)), nil
}

// Rehearse returns a text as long as the claim's token would be with a key of
// P-256, and of the same characters, or why there can be no such token. Nobody
// signed it: no reader takes it for a token.
func Rehearse(c Claim) (string, error) {
	p, err := payloadOf(c)
	if err != nil {
		return "", err
	}
	protected, err := encoder.Marshal(protectedHeader{algorithms[0].id, make([]byte, len(KeyID{}))})
	if err != nil {
		return "", err
	}
	body, err := encoder.Marshal(p)
	if err != nil {
		return "", err
	}
	message, err := encoder.Marshal(coseSign1{Protected: protected, Unprotected: cbor.RawMessage{0xa0}, Payload: body, Signature: make([]byte, algorithms[0].size)})
	if err != nil {
		return "", err
	}
	if len(message)+1 > MaxMessage {
		return "", tooLong(c, len(message)+1)
	}
	return Prefix + text32.EncodeToString(append([]byte{0}, message...)), nil
}

func tooLong(c Claim, n int) error {
	return fmt.Errorf("the statement of %s takes %d bytes, more than a token may hold (%d): shorten its texts", c.Certificate, n, MaxMessage)
}

func toBeSigned(protected, payload []byte) []byte {
	return must(encoder.Marshal(sigStructure{Context: "Signature1", Protected: protected, External: []byte{}, Payload: payload}))
}

// signCOSE signs with r and s side by side (RFC 9053, 2.1), or with PSS.
func (s *Signer) signCOSE(a algorithm, message []byte) ([]byte, error) {
	h := a.hash.New()
	h.Write(message)
	digest := h.Sum(nil)
	if key, ok := s.key.(*rsa.PrivateKey); ok {
		salt := bytes.NewReader(saltFor(key, digest))
		return rsa.SignPSS(salt, key, a.hash, digest, &rsa.PSSOptions{SaltLength: rsa.PSSSaltLengthEqualsHash})
	}
	der, err := sign(s.key, digest, a.hash)
	if err != nil {
		return nil, err
	}
	r, v, err := parseECDSA(der)
	if err != nil {
		return nil, err
	}
	out := make([]byte, a.size)
	r.FillBytes(out[:a.size/2])
	v.FillBytes(out[a.size/2:])
	return out, nil
}

// Verify reports whether the public key made the token. It returns
// [ErrSignature] where it did not, where the key is of another kind than the
// algorithm, and where the token names another key.
func (t *Token) Verify(public crypto.PublicKey) error {
	a := algorithmOf(public)
	if a.name != t.Algorithm || len(t.signature) != a.size {
		return ErrSignature
	}
	if info, err := x509.MarshalPKIXPublicKey(public); err != nil || keyID(info) != t.KeyID {
		return ErrSignature
	}
	h := a.hash.New()
	h.Write(t.signed)
	digest := h.Sum(nil)
	switch key := public.(type) {
	case *ecdsa.PublicKey:
		r := new(big.Int).SetBytes(t.signature[:a.size/2])
		s := new(big.Int).SetBytes(t.signature[a.size/2:])
		if isHigh(s, key.Curve.Params().N) || !ecdsa.Verify(key, digest, r, s) {
			return ErrSignature
		}
	case *rsa.PublicKey:
		if rsa.VerifyPSS(key, a.hash, digest, t.signature, &rsa.PSSOptions{SaltLength: rsa.PSSSaltLengthEqualsHash}) != nil {
			return ErrSignature
		}
	}
	return nil
}

// Scanned is a text as it was scanned, copied or saved, without what stands
// around it: white space, and the byte order mark that some programs put first.
// The page that checks labels does the same.
func Scanned(text string) string {
	return strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(text), "\ufeff"))
}

// ParseToken reads a token's text, alone or after an address and "#". It
// refuses everything that SignToken would not have written.
func ParseToken(text string) (*Token, error) {
	t := &Token{Text: text}
	if i := strings.LastIndexByte(text, '#'); i >= 0 {
		t.URL, t.Text = text[:i], text[i+1:]
	}
	if !strings.HasPrefix(t.Text, Prefix) {
		return nil, ErrNotToken
	}
	if text32.DecodedLen(len(t.Text)-len(Prefix)) > MaxMessage {
		return nil, fmt.Errorf("the token is longer than %d bytes", MaxMessage)
	}
	message, err := text32.DecodeString(t.Text[len(Prefix):])
	if err != nil || text32.EncodeToString(message) != t.Text[len(Prefix):] {
		return nil, errors.New("the token is not base32 as RFC 4648 writes it: a character is wrong, missing or too many")
	}
	if len(message) == 0 || message[0] != tagSign1 {
		return nil, errors.New("the token is not a COSE_Sign1 message")
	}
	t.Size = len(message)
	var m coseSign1
	if err := decode(message[1:], &m); err != nil {
		return nil, fmt.Errorf("the token is not a COSE_Sign1 message: %w", err)
	}
	if !bytes.Equal(m.Unprotected, []byte{0xa0}) {
		return nil, errors.New("the token holds a header that is not signed")
	}
	var h protectedHeader
	if err := decode(m.Protected, &h); err != nil {
		return nil, fmt.Errorf("the token's header: %w", err)
	}
	i := slices.IndexFunc(algorithms, func(a algorithm) bool { return a.id == h.Algorithm })
	switch {
	case i < 0:
		return nil, fmt.Errorf("the token's algorithm %d is none of ES256, ES384, PS256", h.Algorithm)
	case len(h.KeyID) != len(t.KeyID):
		return nil, fmt.Errorf("the token's key id is of %d bytes, want %d", len(h.KeyID), len(t.KeyID))
	case algorithms[i].size != 0 && len(m.Signature) != algorithms[i].size:
		return nil, fmt.Errorf("the token's signature is of %d bytes, want %d", len(m.Signature), algorithms[i].size)
	}
	var p payload
	if err := decode(m.Payload, &p); err != nil {
		return nil, fmt.Errorf("the token's statement: %w", err)
	}
	if t.Claim, err = p.claim(); err != nil {
		return nil, fmt.Errorf("the token's statement: %w", err)
	}
	// One statement has one payload: a number that need not be there, or losses
	// apart that belong together, are another way to write it.
	if again, err := payloadOf(t.Claim); err != nil || !bytes.Equal(must(encoder.Marshal(again)), m.Payload) {
		return nil, errors.New("the token's statement: not written as tokens are")
	}
	t.Algorithm, t.KeyID = algorithms[i].name, KeyID(h.KeyID)
	t.signed, t.signature = toBeSigned(m.Protected, m.Payload), m.Signature
	return t, nil
}

// decode reads one CBOR item and refuses any encoding of it but the
// deterministic one.
func decode(data []byte, v any) error {
	// The decoder's errors speak of Go types, which helps nobody at a label.
	if decoder.Unmarshal(data, v) != nil {
		return errors.New("a part is missing, unknown, cut or of another kind")
	}
	again, err := encoder.Marshal(v)
	if err != nil {
		return err
	}
	if !bytes.Equal(data, again) {
		return errors.New("not in the deterministic encoding of RFC 8949")
	}
	return nil
}
