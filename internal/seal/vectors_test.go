package seal_test

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"crypto/x509"
	"encoding/asn1"
	"encoding/base32"
	"encoding/hex"
	"encoding/json"
	"encoding/pem"
	"flag"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/veraison/go-cose"

	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

var update = flag.Bool("update", false, "write the vectors and goldens anew")

const vectorFolder = "../../testdata/seal"

// vectorKey is the P-256 key of RFC 6979, A.2.5: public, so nobody trusts it.
func vectorKey(t testing.TB) *ecdsa.PrivateKey {
	t.Helper()
	x, _ := hex.DecodeString("C9AFA9D845BA75166B5C215767B1D6934E50C3DB36E89B127B8A622B120F6721")
	key, err := ecdsa.ParseRawPrivateKey(elliptic.P256(), x)
	if err != nil {
		t.Fatal(err)
	}
	return key
}

// vectorSigner opens the key file of the vectors.
func vectorSigner(t testing.TB) *seal.Signer {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(vectorFolder, "signer.p12"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := seal.OpenPKCS12(data, "vectors")
	if err != nil {
		t.Fatal(err)
	}
	if !vectorKey(t).PublicKey.Equal(s.Certificate().PublicKey) {
		t.Fatal("signer.p12 holds another key than RFC 6979, A.2.5")
	}
	return s
}

// companyKeys are the P-384 key of RFC 6979, A.2.6, and one of RSA that lies
// beside the vectors: as public as the other, so nobody trusts them either.
func companyKeys(t testing.TB) map[string]crypto.Signer {
	t.Helper()
	x, _ := hex.DecodeString("6B9D3DAD2E1B8C1C05B19875B6659F4DE23C3B667BF297BA9AA47740787137D896D5724E4C70A825F872C9EA60D2EDF5")
	ec, err := ecdsa.ParseRawPrivateKey(elliptic.P384(), x)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(vectorFolder, "rsa2048.pem"))
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(data)
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]crypto.Signer{"P-384, RFC 6979 A.2.6": ec, "RSA of 2048 bits": key.(crypto.Signer)}
}

// tokenVectors is testdata/seal/tokens.json.
type tokenVectors struct {
	About  string      `json:"about"`
	Key    publicKey   `json:"key"`
	Valid  []goodToken `json:"valid"`
	Refuse []badToken  `json:"refuse"`
	// Others are valid tokens of other keys, in the algorithms of companies.
	Others []otherToken `json:"others"`
}

type otherToken struct {
	goodToken
	Algorithm string     `json:"algorithm"`
	KeyID     seal.KeyID `json:"key_id"`
	SPKI      string     `json:"spki"`
}

type publicKey struct {
	KeyID seal.KeyID `json:"key_id"`
	X     string     `json:"x"` // hex
	Y     string     `json:"y"`
	SPKI  string     `json:"spki"` // SubjectPublicKeyInfo, hex DER
}

type goodToken struct {
	Name   string     `json:"name"`
	Text   string     `json:"text"`
	Claim  seal.Claim `json:"claim"`
	Record string     `json:"record"` // hex
	Size   int        `json:"size"`
}

type badToken struct {
	Name string `json:"name"`
	// At is "parse" where the text alone must be refused, "verify" where only
	// the signature is wrong for the key above.
	At   string `json:"at"`
	Text string `json:"text"`
}

// The CBOR of the refused tokens is put together by hand, head by head
// (RFC 8949, 3), so that the encoder under test has no part in them.

func head(major byte, n uint64) []byte {
	switch {
	case n < 24:
		return []byte{major<<5 | byte(n)}
	case n < 1<<8:
		return []byte{major<<5 | 24, byte(n)}
	case n < 1<<16:
		return []byte{major<<5 | 25, byte(n >> 8), byte(n)}
	case n < 1<<32:
		return []byte{major<<5 | 26, byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}
	}
	b := []byte{major<<5 | 27}
	for i := 56; i >= 0; i -= 8 {
		b = append(b, byte(n>>i))
	}
	return b
}

func integer(n int64) []byte {
	if n < 0 {
		return head(1, uint64(-1-n))
	}
	return head(0, uint64(n))
}
func octets(b []byte) []byte { return append(head(2, uint64(len(b))), b...) }
func chars(s string) []byte  { return append(head(3, uint64(len(s))), s...) }
func list(items ...[]byte) []byte {
	return append(head(4, uint64(len(items))), bytes.Join(items, nil)...)
}
func pairs(items ...[]byte) []byte {
	return append(head(5, uint64(len(items)/2)), bytes.Join(items, nil)...)
}

var no = []byte{}                                   // an item left out
var zero16 = octets(bytes.Repeat([]byte{0x5a}, 16)) // a record's hash

// parts are what a message is put together from. A nil part is the right one.
type parts struct {
	protected, unprotected, payload []byte // of the message: content of the bstr for the first and last
	signature                       []byte
	context                         string
	external                        []byte
	key                             *ecdsa.PrivateKey
	signed                          []byte // what is signed instead
	wrap                            func(protected, unprotected, payload, signature []byte) []byte
}

// fields are the payload's values by key; no leaves a field out.
func payloadWith(change map[int][]byte, extra ...[]byte) []byte {
	fields := map[int][]byte{
		1: chars("C-103"), 2: integer(2), 3: chars("J-7"), 4: chars("L-1"), 5: integer(1),
		6: integer(20782), 7: integer(7),
		8: list(integer(1310), integer(-2), integer(84), integer(87)),
		9: list(integer(-2), integer(31)), 10: zero16,
	}
	for k, v := range change {
		fields[k] = v
	}
	var items [][]byte
	for k := 1; k <= 10; k++ {
		if len(fields[k]) > 0 {
			items = append(items, integer(int64(k)), fields[k])
		}
	}
	return pairs(append(items, extra...)...)
}

func build(t testing.TB, p parts) string {
	t.Helper()
	key := p.key
	if key == nil {
		key = vectorKey(t)
	}
	spki, err := x509.MarshalPKIXPublicKey(vectorKey(t).Public())
	if err != nil {
		t.Fatal(err)
	}
	id := sha256.Sum256(spki)
	if p.protected == nil {
		p.protected = pairs(integer(1), integer(-7), integer(4), octets(id[:8]))
	}
	if p.unprotected == nil {
		p.unprotected = pairs()
	}
	if p.payload == nil {
		p.payload = payloadWith(nil)
	}
	if p.context == "" {
		p.context = "Signature1"
	}
	if p.signed == nil {
		p.signed = list(chars(p.context), octets(p.protected), octets(p.external), octets(p.payload))
	}
	if p.signature == nil {
		r, s := ecdsaSign(t, key, p.signed)
		p.signature = append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
	}
	if p.wrap == nil {
		p.wrap = func(protected, unprotected, payload, signature []byte) []byte {
			return append([]byte{0xd2}, list(octets(protected), unprotected, octets(payload), octets(signature))...)
		}
	}
	return seal.Prefix + base32Text(p.wrap(p.protected, p.unprotected, p.payload, p.signature))
}

func base32Text(b []byte) string {
	return base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(b)
}

// ecdsaSign signs after RFC 6979 and returns the smaller s.
func ecdsaSign(t testing.TB, key *ecdsa.PrivateKey, message []byte) (r, s *big.Int) {
	t.Helper()
	h := sha256.Sum256(message)
	der, err := key.Sign(nil, h[:], crypto.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	var v struct{ R, S *big.Int }
	if _, err := asn1.Unmarshal(der, &v); err != nil {
		t.Fatal(err)
	}
	if n := key.Params().N; new(big.Int).Lsh(v.S, 1).Cmp(n) > 0 {
		v.S.Sub(n, v.S)
	}
	return v.R, v.S
}

// makeTokenVectors builds testdata/seal/tokens.json.
func makeTokenVectors(t testing.TB) tokenVectors {
	signer, key := vectorSigner(t), vectorKey(t)
	spki, _ := x509.MarshalPKIXPublicKey(key.Public())
	v := tokenVectors{
		About: "Tokens as the package comment of internal/seal specifies them. The key is that of RFC 6979, A.2.5: it is public, never trust it.",
		Key:   publicKey{signer.KeyID(), hex.EncodeToString(key.X.Bytes()), hex.EncodeToString(key.Y.Bytes()), hex.EncodeToString(spki)},
	}
	good := func(name string, change func(c *seal.Claim)) {
		c := claim()
		change(&c)
		text, err := signer.SignToken(c)
		if err != nil {
			t.Fatal(name, err)
		}
		token, err := seal.ParseToken(text)
		if err != nil {
			t.Fatal(name, err)
		}
		v.Valid = append(v.Valid, goodToken{name, text, c, hex.EncodeToString(c.Record[:]), token.Size})
	}
	decimal := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	good("four readings", func(*seal.Claim) {})
	good("marginal, margin zero", func(c *seal.Claim) { c.Verdict, c.Margin = "marginal", decimal("0.00") })
	good("failed, margin below zero", func(c *seal.Claim) { c.Verdict, c.Margin = "fail", decimal("-0.125") })
	good("incomplete, nothing measured", func(c *seal.Claim) {
		c.Verdict, c.Margin, c.Measured, c.Readings = "incomplete", nil, "", nil
	})
	good("summary that conforms", func(c *seal.Claim) {
		c.Certificate, c.Link, c.Verdict, c.Readings = "BL-2026-031", "", "conforms", nil
	})
	good("summary that does not", func(c *seal.Claim) {
		c.Certificate, c.Link, c.Verdict, c.Readings, c.Revision = "BL-2026-031", "", "does not conform", nil, 65536
	})
	good("accents, Greek and a right-to-left name", func(c *seal.Claim) { c.Link = "Σάλα-é-קו" })
	good("longest texts", func(c *seal.Claim) {
		c.Certificate, c.Job, c.Link = strings.Repeat("C", seal.MaxText), strings.Repeat("J", seal.MaxText), strings.Repeat("L", seal.MaxText)
	})
	good("most readings, most digits, last day", func(c *seal.Claim) {
		c.Readings, c.Issued = nil, "2199-12-31"
		for i := range seal.MaxReadings / 2 {
			for _, d := range []string{"A-B", "B-A"} {
				c.Readings = append(c.Readings, seal.ClaimReading{WavelengthNM: 9999 - seal.MaxReadings + i, Direction: d, Loss: quantity.Must("-0.999999999999999999")})
			}
		}
	})
	good("a number of the company's own", func(c *seal.Claim) { c.Certificate = "TW-000417" })
	good("measured on the day of issue", func(c *seal.Claim) { c.Measured = c.Issued })
	good("measured a day ahead, east of the issuer", func(c *seal.Claim) { c.Measured = "2026-11-26" })
	good("second revision", func(c *seal.Claim) { c.Revision = 2 })
	good("one direction", func(c *seal.Claim) { c.Readings = c.Readings[:1] })
	good("two numbers of digits", func(c *seal.Claim) {
		c.Readings = []seal.ClaimReading{{WavelengthNM: 850, Direction: "A-B", Loss: quantity.Must("0.5")}, {WavelengthNM: 850, Direction: "B-A", Loss: quantity.Must("0.50")}}
	})
	good("trailing zeros are digits", func(c *seal.Claim) {
		c.Readings = []seal.ClaimReading{{WavelengthNM: 850, Direction: "B-A", Loss: quantity.Must("0.100")}, {WavelengthNM: 1300, Direction: "B-A", Loss: quantity.Must("12")}}
	})

	for name, key := range companyKeys(t) {
		signer := newCompany(t, key).signer
		text, err := signer.SignToken(claim())
		if err != nil {
			t.Fatal(name, err)
		}
		token, err := seal.ParseToken(text)
		if err != nil {
			t.Fatal(name, err)
		}
		spki, _ := x509.MarshalPKIXPublicKey(key.Public())
		c := claim()
		v.Others = append(v.Others, otherToken{goodToken{name, text, c, hex.EncodeToString(c.Record[:]), token.Size},
			token.Algorithm, token.KeyID, hex.EncodeToString(spki)})
	}
	slices.SortFunc(v.Others, func(a, b otherToken) int { return strings.Compare(a.Name, b.Name) })

	bad := func(at, name, text string) { v.Refuse = append(v.Refuse, badToken{name, at, text}) }
	refused := func(name string, p parts) { bad("parse", name, build(t, p)) }
	right := build(t, parts{})
	body := right[len(seal.Prefix):]
	bad("parse", "no prefix", body)
	bad("parse", "prefix in lower case", "ss1."+body)
	bad("parse", "prefix of another version", "SS2."+body)
	bad("parse", "address without #", "https://example.org/check.html"+right)
	bad("parse", "nothing after the prefix", seal.Prefix)
	bad("parse", "lower case", seal.Prefix+strings.ToLower(body))
	bad("parse", "padding", seal.Prefix+body+strings.Repeat("=", (8-len(body)%8)%8))
	bad("parse", "line end inside", seal.Prefix+body[:40]+"\n"+body[40:])
	bad("parse", "space inside", seal.Prefix+body[:40]+" "+body[40:])
	bad("parse", "character outside the alphabet", seal.Prefix+"1"+body[1:])
	bad("parse", "last character cut", seal.Prefix+body[:len(body)-1])
	bad("parse", "half cut", seal.Prefix+body[:len(body)/2])
	bad("parse", "one character more", right+"A")
	bad("parse", "unused bits not zero", seal.Prefix+unusedBits(t, body))

	wrap := func(f func(a, b, c, d []byte) []byte) parts { return parts{wrap: f} }
	message := func(p, u, c, s []byte) []byte { return list(octets(p), u, octets(c), octets(s)) }
	refused("no tag", wrap(message))
	refused("tag of COSE_Mac0", wrap(func(p, u, c, s []byte) []byte { return append([]byte{0xd1}, message(p, u, c, s)...) }))
	refused("tag of COSE_Sign", wrap(func(p, u, c, s []byte) []byte { return append([]byte{0xd8, 98}, message(p, u, c, s)...) }))
	refused("tag in two bytes", wrap(func(p, u, c, s []byte) []byte { return append([]byte{0xd8, 18}, message(p, u, c, s)...) }))
	refused("tag twice", wrap(func(p, u, c, s []byte) []byte { return append([]byte{0xd2, 0xd2}, message(p, u, c, s)...) }))
	refused("array of three", wrap(func(p, u, c, s []byte) []byte { return append([]byte{0xd2}, list(octets(p), octets(c), octets(s))...) }))
	refused("array of five", wrap(func(p, u, c, s []byte) []byte {
		return append([]byte{0xd2}, list(octets(p), u, octets(c), octets(s), octets(nil))...)
	}))
	refused("array without a length", wrap(func(p, u, c, s []byte) []byte {
		return bytes.Join([][]byte{{0xd2, 0x9f}, octets(p), u, octets(c), octets(s), {0xff}}, nil)
	}))
	refused("array length in two bytes", wrap(func(p, u, c, s []byte) []byte {
		return bytes.Join([][]byte{{0xd2, 0x98, 4}, octets(p), u, octets(c), octets(s)}, nil)
	}))
	refused("byte after the message", wrap(func(p, u, c, s []byte) []byte {
		return append(append([]byte{0xd2}, message(p, u, c, s)...), 0)
	}))
	refused("message cut", wrap(func(p, u, c, s []byte) []byte {
		m := append([]byte{0xd2}, message(p, u, c, s)...)
		return m[:len(m)-1]
	}))
	refused("payload detached", wrap(func(p, u, _, s []byte) []byte {
		return append([]byte{0xd2}, list(octets(p), u, []byte{0xf6}, octets(s))...)
	}))
	refused("payload as text", wrap(func(p, u, c, s []byte) []byte {
		return append([]byte{0xd2}, list(octets(p), u, chars("J-7"), octets(s))...)
	}))
	refused("byte string in pieces", wrap(func(p, u, c, s []byte) []byte {
		pieces := bytes.Join([][]byte{{0x5f}, octets(c[:10]), octets(c[10:]), {0xff}}, nil)
		return append([]byte{0xd2}, list(octets(p), u, pieces, octets(s))...)
	}))

	id := signer.KeyID()
	refused("header that is not signed", parts{unprotected: pairs(integer(4), octets(id[:]))})
	refused("unsigned header as array", parts{unprotected: list()})
	header := func(items ...[]byte) parts { return parts{protected: pairs(items...)} }
	refused("empty header", header())
	refused("header of no bytes", parts{protected: no})
	refused("no algorithm", header(integer(4), octets(id[:])))
	refused("no key id", header(integer(1), integer(-7)))
	refused("algorithm ES512", header(integer(1), integer(-36), integer(4), octets(id[:])))
	refused("algorithm EdDSA", header(integer(1), integer(-8), integer(4), octets(id[:])))
	refused("algorithm HMAC 256/256", header(integer(1), integer(5), integer(4), octets(id[:])))
	refused("algorithm as text", header(integer(1), chars("ES256"), integer(4), octets(id[:])))
	refused("algorithm in two bytes", header(integer(1), []byte{0x38, 6}, integer(4), octets(id[:])))
	refused("algorithm ES384 with a signature of ES256", header(integer(1), integer(-35), integer(4), octets(id[:])))
	refused("key id of 7 bytes", header(integer(1), integer(-7), integer(4), octets(id[:7])))
	refused("key id of 9 bytes", header(integer(1), integer(-7), integer(4), octets(append(id[:], 0))))
	refused("key id as text", header(integer(1), integer(-7), integer(4), chars("12345678")))
	refused("header keys out of order", header(integer(4), octets(id[:]), integer(1), integer(-7)))
	refused("header key twice", header(integer(1), integer(-7), integer(1), integer(-7), integer(4), octets(id[:])))
	refused("critical header", header(integer(1), integer(-7), integer(2), list(integer(4)), integer(4), octets(id[:])))
	refused("content type in the header", header(integer(1), integer(-7), integer(3), integer(0), integer(4), octets(id[:])))

	field := func(name string, key int, value []byte) {
		refused(name, parts{payload: payloadWith(map[int][]byte{key: value})})
	}
	field("certificate number that is job and link", 1, chars("J-7/L-1"))
	refused("certificate number that is the job of a summary", parts{payload: payloadWith(map[int][]byte{1: chars("J-7"), 4: no})})
	field("empty certificate number", 1, chars(""))
	field("certificate number as bytes", 1, octets([]byte("J-7/L-1")))
	field("certificate number too long", 1, chars(strings.Repeat("C", seal.MaxText+1)))
	field("certificate number not UTF-8", 1, chars("J-7/\xc3\x28"))
	field("control character", 1, chars("J-7/\x1b[2J"))
	field("text in pieces", 1, bytes.Join([][]byte{{0x7f}, chars("J-7"), chars("/L-1"), {0xff}}, nil))
	field("revision 0", 2, integer(0))
	field("revision 1 instead of absent", 2, integer(1))
	field("revision below 0", 2, integer(-1))
	field("revision too large", 2, integer(65537))
	field("revision in two bytes", 2, []byte{0x18, 2})
	field("revision as a floating-point number", 2, []byte{0xf9, 0x40, 0x00})
	field("no job number", 3, no)
	field("link empty instead of absent", 4, chars(""))
	field("link null instead of absent", 4, []byte{0xf6})
	field("no verdict", 5, no)
	field("verdict 0", 5, integer(0))
	field("verdict 7", 5, integer(7))
	field("verdict as text", 5, chars("pass"))
	field("no day of issue", 6, no)
	field("day of issue 0", 6, integer(0))
	field("day of issue out of range", 6, integer(84006))
	field("day of issue with a tag", 6, append([]byte{0xd8, 100}, integer(20782)...))
	field("day of measurement before 1970-01-02", 7, integer(20782))
	field("day of measurement after 2199-12-31", 7, integer(20782-84006))
	field("day of measurement beyond 64 bits", 7, head(1, 1<<63))
	field("day of measurement as text", 7, chars("2026-11-18"))
	null := []byte{0xf6}
	one := func(nm, exponent, mantissa int64) []byte {
		return bytes.Join([][]byte{integer(nm), integer(exponent), integer(mantissa), null}, nil)
	}
	both := bytes.Join([][]byte{integer(1310), integer(-2), integer(84), integer(87)}, nil)
	back := bytes.Join([][]byte{integer(1310), integer(-2), null, integer(87)}, nil)
	readings := func(each ...[]byte) []byte { return append(head(4, uint64(4*len(each))), bytes.Join(each, nil)...) }
	field("readings empty instead of absent", 8, list())
	field("readings out of order", 8, readings(one(1550, -2, 84), one(1310, -2, 84)))
	field("directions out of order", 8, readings(back, one(1310, -3, 840)))
	field("reading twice", 8, readings(one(1310, -2, 84), one(1310, -2, 84)))
	field("reading twice with other digits", 8, readings(one(1310, -2, 84), one(1310, -3, 840)))
	field("losses apart that stand in one reading", 8, readings(one(1310, -2, 84), back))
	var many [][]byte
	for i := range int64(seal.MaxReadings/2 + 1) {
		many = append(many, bytes.Join([][]byte{integer(1300 + i), integer(-2), integer(84), integer(87)}, nil))
	}
	field("readings too many", 8, readings(many...))
	field("reading of three members", 8, list(integer(1310), integer(-2), integer(84)))
	field("reading of five members", 8, list(integer(1310), integer(-2), integer(84), integer(87), integer(88)))
	field("reading as an array", 8, list(list(integer(1310), integer(-2), integer(84), integer(87))))
	field("readings cut", 8, append(head(4, 8), both...))
	field("reading without a loss", 8, list(integer(1310), integer(-2), null, null))
	field("reading without a wavelength", 8, list(null, integer(-2), integer(84), null))
	field("reading without an exponent", 8, list(integer(1310), null, integer(84), null))
	field("undefined for A-B", 8, list(integer(1310), integer(-2), []byte{0xf7}, integer(87)))
	field("null in two bytes", 8, list(integer(1310), integer(-2), []byte{0xf8, 22}, integer(87)))
	field("wavelength 0", 8, readings(one(0, -2, 84)))
	field("wavelength out of range", 8, readings(one(10000, -2, 84)))
	field("exponent above 0", 8, readings(one(1310, 1, 84)))
	field("exponent below -18", 8, readings(one(1310, -19, 84)))
	field("exponent that is -2 in eight bits", 8, readings(one(1310, 254, 84)))
	field("mantissa of 19 digits", 8, readings(one(1310, -2, 1_000_000_000_000_000_000)))
	field("loss as a floating-point number", 8, list(integer(1310), integer(-2), []byte{0xf9, 0x3c, 0x00}, null))
	field("margin null instead of absent", 9, []byte{0xf6})
	field("margin as a tagged decimal fraction", 9, append([]byte{0xc4}, list(integer(-2), integer(31))...))
	field("margin out of range", 9, list(integer(-2), integer(-1_000_000_000_000_000_000)))
	field("no record", 10, no)
	field("record of 15 bytes", 10, octets(make([]byte, 15)))
	field("record of 32 bytes", 10, octets(make([]byte, 32)))
	refused("unknown field 11", parts{payload: payloadWith(nil, integer(11), integer(1))})
	refused("unknown field -1", parts{payload: payloadWith(nil, integer(-1), integer(1))})
	refused("field named by text", parts{payload: payloadWith(nil, chars("note"), chars("x"))})
	refused("field twice", parts{payload: payloadWith(nil, integer(10), zero16)})
	refused("fields out of order", parts{payload: payloadWith(map[int][]byte{1: no}, integer(1), chars("C-103"))})
	refused("payload is an array", parts{payload: list(chars("J-7/L-1"))})
	refused("bytes after the payload", parts{payload: append(payloadWith(nil), 0)})

	refused("signature empty", parts{signature: no})
	refused("signature of 63 bytes", parts{signature: bytes.Repeat([]byte{1}, 63)})
	refused("signature of 65 bytes", parts{signature: bytes.Repeat([]byte{1}, 65)})
	r, s := ecdsaSign(t, key, list(chars("Signature1"), octets(pairs(integer(1), integer(-7), integer(4), octets(id[:]))), octets(nil), octets(payloadWith(nil))))
	der, _ := asn1.Marshal(struct{ R, S *big.Int }{r, s})
	refused("signature in DER", parts{signature: der})

	wrong := func(name string, p parts) { bad("verify", name, build(t, p)) }
	pair := func(r, s *big.Int) []byte {
		return append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
	}
	n := key.Params().N
	other, _ := ecdsa.ParseRawPrivateKey(elliptic.P256(), bytes.Repeat([]byte{7}, 32))
	wrong("signed by another key", parts{key: other})
	wrong("key id of another key", header(integer(1), integer(-7), integer(4), octets([]byte("otherkey"))))
	wrong("the larger s", parts{signature: pair(r, new(big.Int).Sub(n, s))})
	wrong("r and s exchanged", parts{signature: pair(s, r)})
	wrong("r is 0", parts{signature: pair(new(big.Int), s)})
	wrong("s is 0", parts{signature: pair(r, new(big.Int))})
	wrong("r is n", parts{signature: pair(n, s)})
	wrong("all zero", parts{signature: make([]byte, 64)})
	wrong("all ones", parts{signature: bytes.Repeat([]byte{0xff}, 64)})
	wrong("external data that is not empty", parts{external: []byte{1}})
	wrong("context of COSE_Sign", parts{context: "Signature"})
	wrong("context of a counter-signature", parts{context: "CounterSignature"})
	wrong("signed the payload alone", parts{signed: payloadWith(nil)})
	signature := pair(r, s)
	wrong("verdict changed after signing", parts{payload: payloadWith(map[int][]byte{5: integer(2)}), signature: signature})
	wrong("loss changed after signing", parts{payload: payloadWith(map[int][]byte{8: list(integer(1310), integer(-2), integer(74), integer(87))}), signature: signature})
	wrong("margin taken out after signing", parts{payload: payloadWith(map[int][]byte{9: no}), signature: signature})
	wrong("link of another certificate", parts{payload: payloadWith(map[int][]byte{4: chars("L-2")}), signature: signature})
	return v
}

// unusedBits sets the lowest unused bit of the last character.
func unusedBits(t testing.TB, body string) string {
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
	if len(body)*5%8 == 0 {
		t.Fatal("this token has no unused bits")
	}
	i := strings.IndexByte(alphabet, body[len(body)-1])
	return body[:len(body)-1] + alphabet[i|1:i|1+1]
}

func readTokenVectors(t testing.TB) tokenVectors {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(vectorFolder, "tokens.json"))
	if err != nil {
		t.Fatal(err)
	}
	var v tokenVectors
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// TestVectors holds the vectors on disk against the code, and the writer
// against the vectors.
func TestVectors(t *testing.T) {
	made, err := marshal(makeTokenVectors(t))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(vectorFolder, "tokens.json")
	if *update {
		if err := os.WriteFile(path, made, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if had, _ := os.ReadFile(path); !bytes.Equal(had, made) {
		t.Error("testdata/seal/tokens.json is not what this code writes: a change of format needs a new prefix")
	}

	v := readTokenVectors(t)
	public := vectorKey(t).Public()
	for _, g := range v.Valid {
		t.Run("valid/"+g.Name, func(t *testing.T) {
			token, err := seal.ParseToken(g.Text)
			if err != nil {
				t.Fatal(err)
			}
			want := g.Claim
			record, _ := hex.DecodeString(g.Record)
			want.Record = [16]byte(record)
			if d := token.Claim.Differences(want); d != nil {
				t.Errorf("differs in %v", d)
			}
			if err := token.Verify(public); err != nil {
				t.Error(err)
			}
			if err := otherVerify(t, g.Text, public); err != nil {
				t.Errorf("a second implementation refuses it: %v", err)
			}
		})
	}
	for _, o := range v.Others {
		t.Run("others/"+o.Name, func(t *testing.T) {
			token, err := seal.ParseToken(o.Text)
			if err != nil {
				t.Fatal(err)
			}
			spki, _ := hex.DecodeString(o.SPKI)
			public, err := x509.ParsePKIXPublicKey(spki)
			if err != nil {
				t.Fatal(err)
			}
			if err := token.Verify(public); err != nil || token.Algorithm != o.Algorithm || token.KeyID != o.KeyID {
				t.Errorf("%v: %s of %s, want %s of %s", err, token.Algorithm, token.KeyID, o.Algorithm, o.KeyID)
			}
			if token.Verify(vectorKey(t).Public()) == nil {
				t.Error("another key fits")
			}
			if err := otherVerify(t, o.Text, public); err != nil {
				t.Errorf("a second implementation refuses it: %v", err)
			}
		})
	}
	if len(v.Refuse) < 30 {
		t.Fatalf("only %d refused vectors", len(v.Refuse))
	}
	for _, b := range v.Refuse {
		t.Run("refuse/"+b.Name, func(t *testing.T) {
			token, err := seal.ParseToken(b.Text)
			switch {
			case b.At == "parse" && err == nil:
				t.Errorf("was read as %+v", token.Claim)
			case b.At == "verify" && err != nil:
				t.Errorf("was refused before its signature was looked at: %v", err)
			case b.At == "verify" && token.Verify(public) == nil:
				t.Error("its signature was accepted")
			}
		})
	}
}

// otherVerify checks a token with veraison/go-cose.
func otherVerify(t testing.TB, text string, public crypto.PublicKey) error {
	t.Helper()
	raw, err := base32.StdEncoding.WithPadding(base32.NoPadding).DecodeString(strings.TrimPrefix(text, seal.Prefix))
	if err != nil {
		return err
	}
	var m cose.Sign1Message
	if err := m.UnmarshalCBOR(raw); err != nil {
		return err
	}
	alg, err := m.Headers.Protected.Algorithm()
	if err != nil {
		return err
	}
	verifier, err := cose.NewVerifier(alg, public)
	if err != nil {
		return err
	}
	return m.Verify(nil, verifier)
}

func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(v)
	return b.Bytes(), err
}
