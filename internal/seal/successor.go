package seal

import (
	"crypto/x509"
	"fmt"
	"time"
)

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

// Succeeds reports whether the key of parent made child its successor: both
// certificates are for signing documents and successors, as those of NewSigner
// are and those of a company's authorities are not, parent signed child, and
// parent was valid when child began.
func Succeeds(child, parent *x509.Certificate) bool {
	return child.KeyUsage == ownUse && parent.KeyUsage == ownUse &&
		!child.NotBefore.Before(parent.NotBefore) && !child.NotBefore.After(parent.NotAfter) &&
		issued(parent, child)
}
