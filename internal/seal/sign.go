package seal

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/hmac"
	"crypto/rsa"
	"crypto/sha512"
	"crypto/x509"
	"encoding/asn1"
	"errors"
	"math/big"
)

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
