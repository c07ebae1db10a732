package seal

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/hex"
	"math/big"
	"strings"
	"testing"
)

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// TestRFC6979 holds our signatures against the vectors of RFC 6979, A.2.5 and
// A.2.6. Of the two values of s that fit, we write the smaller.
func TestRFC6979(t *testing.T) {
	const (
		p256 = "C9AFA9D845BA75166B5C215767B1D6934E50C3DB36E89B127B8A622B120F6721"
		p384 = "6B9D3DAD2E1B8C1C05B19875B6659F4DE23C3B667BF297BA9AA47740787137D896D5724E4C70A825F872C9EA60D2EDF5"
	)
	for _, c := range []struct {
		curve         elliptic.Curve
		key           string
		hash          crypto.Hash
		message, r, s string
	}{
		{elliptic.P256(), p256, crypto.SHA256, "sample", "EFD48B2AACB6A8FD1140DD9CD45E81D69D2C877B56AAF991C34D0EA84EAF3716", "F7CB1C942D657C41D436C7A1B6E29F65F3E900DBB9AFF4064DC4AB2F843ACDA8"},
		{elliptic.P256(), p256, crypto.SHA256, "test", "F1ABB023518351CD71D881567B1EA663ED3EFCF6C5132B354F28D3B0B7D38367", "019F4113742A2B14BD25926B49C649155F267E60D3814B4C0CC84250E46F0083"},
		{elliptic.P384(), p384, crypto.SHA384, "sample", "94EDBB92A5ECB8AAD4736E56C691916B3F88140666CE9FA73D64C4EA95AD133C81A648152E44ACF96E36DD1E80FABE46",
			"99EF4AEB15F178CEA1FE40DB2603138F130E740A19624526203B6351D0A3A94FA329C145786E679E7B82C71A38628AC8"},
	} {
		key, err := ecdsa.ParseRawPrivateKey(c.curve, unhex(t, c.key))
		if err != nil {
			t.Fatal(err)
		}
		h := c.hash.New()
		h.Write([]byte(c.message))
		der, err := sign(key, h.Sum(nil), c.hash)
		if err != nil {
			t.Fatal(err)
		}
		r, s, err := parseECDSA(der)
		if err != nil {
			t.Fatal(err)
		}
		wantR, wantS := new(big.Int).SetBytes(unhex(t, c.r)), new(big.Int).SetBytes(unhex(t, c.s))
		if n := c.curve.Params().N; isHigh(wantS, n) {
			wantS.Sub(n, wantS)
		}
		if r.Cmp(wantR) != 0 || s.Cmp(wantS) != 0 {
			t.Errorf("%s, %q: r %X, s %X", c.curve.Params().Name, c.message, r, s)
		}
	}
}

// TestRFC9052 holds the bytes that we sign against the example of RFC 9052,
// C.2.1 (in the COSE working group's examples: sign1-tests), whose signature
// is by the key "11" of its C.7.1.
func TestRFC9052(t *testing.T) {
	key := &ecdsa.PublicKey{
		Curve: elliptic.P256(),
		X:     new(big.Int).SetBytes(unhex(t, "bac5b11cad8f99f9c72b05cf4b9e26d244dc189f745228255a219a86d6a09eff")),
		Y:     new(big.Int).SetBytes(unhex(t, "20138bf82dc1b6d562be0fa54ab7804a3a64b6d72ccfed6b6fb6ed28bbfc117e")),
	}
	message := unhex(t, "d2 84 43 a10126 a1 04 42 3131 54 546869732069732074686520636f6e74656e742e 58 40"+
		"8eb33e4ca31d1c465ab05aac34cc6b23d58fef5c083106c4d25a91aef0b0117e2af9a291aa32e14ab834dc56ed2a223444547e01f11d3b0916e5a4c345cacb36")
	var m coseSign1
	if message[0] != tagSign1 {
		t.Fatal("another tag")
	}
	if err := decode(message[1:], &m); err != nil {
		t.Fatal(err)
	}
	if string(m.Payload) != "This is the content." {
		t.Errorf("payload %q", m.Payload)
	}
	h := sha256.Sum256(toBeSigned(m.Protected, m.Payload))
	r, s := new(big.Int).SetBytes(m.Signature[:32]), new(big.Int).SetBytes(m.Signature[32:])
	if !ecdsa.Verify(key, h[:], r, s) {
		t.Error("the example's signature does not fit what we would have signed")
	}
	// As a token of ours it is refused: kid stands in the header that is not
	// signed, and the payload is no statement.
	if _, err := ParseToken(Prefix + text32.EncodeToString(message)); err == nil {
		t.Error("read as a token")
	}
}
