package verify

import "spanseal/internal/seal"

// Signer says who made a signature, and whether they are trusted to have made
// it at the time that the signature itself or its time-stamp says.
func (t *Trust) Signer(by *seal.SignedBy) *SignerFound {
	var item Item
	t.signedBy(&item, by, by.SigningTime)
	return item.Signer
}

// Follows reports whether a signer's key is the one that made a signature, or
// its successor.
func Follows(s *seal.Signer, by *seal.SignedBy) bool {
	return heir(&seal.SignedBy{Certificate: s.Certificate(), Chain: s.Chain(), KeyID: s.KeyID()}, by)
}
