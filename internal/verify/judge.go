package verify

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/rsa"
	"crypto/x509"
	"fmt"
	"slices"
	"time"

	"spanseal/internal/seal"
)

// judge decides whether the signer of a paper, the first of the chain, is to be
// believed for a signature made at the time. Existed is when a trusted authority
// saw the signature; zero: the time is the signer's own word.
//
// A certificate is trusted when it is one of the trusted ones, when it leads
// to one of them by the rules of RFC 5280 at the time of signing, or when it
// is a successor: each key signed the next while it was valid, from a trusted
// one to the signer's. It must be for signing documents, and not for
// time-stamps.
func (t *Trust) judge(s *SignerFound, chain []*x509.Certificate, at, existed time.Time) {
	if err := seal.MaySign(chain[0]); err != nil {
		s.Why = err.Error()
		return
	}
	if !t.within(s, chain[0], at) {
		return
	}
	path, why := t.path(chain, at)
	if path == nil {
		s.Why = why
		return
	}
	t.conclude(s, path, why, at, existed)
}

// judgeTime decides whether a time-stamp authority is to be believed. Existed is
// when another authority saw the stamp, or zero. Others are the keys that sign
// papers, that of the stamped one first: no stamp counts that leads to one of
// them, since whoever signs would vouch for their own time.
func (t *Trust) judgeTime(s *SignerFound, chain []*x509.Certificate, at, existed time.Time, others []*x509.Certificate) {
	if !t.within(s, chain[0], at) {
		return
	}
	path, why := t.timePath(chain, at)
	if path == nil {
		s.Why = why
		return
	}
	for _, c := range t.certs {
		if signsPapers(c) {
			others = append(others[:len(others):len(others)], c)
		}
	}
	if c := leadsTo(slices.Concat(chain, path), others); c != nil {
		s.Why = fmt.Sprintf("it leads to a key that signs documents, %s, and a signer cannot vouch for the time", seal.KeyIDOf(c))
		return
	}
	t.conclude(s, path, why, at, existed)
}

// leadsTo returns the signer to whom certificates lead, or nil: one of the keys
// is that of the signer, or the signer made one of the certificates.
func leadsTo(certs, signers []*x509.Certificate) *x509.Certificate {
	for _, c := range certs {
		for _, s := range signers {
			if seal.KeyIDOf(s) == seal.KeyIDOf(c) ||
				bytes.Equal(c.RawIssuer, s.RawSubject) && s.CheckSignature(c.SignatureAlgorithm, c.RawTBSCertificate, c.Signature) == nil {
				return s
			}
		}
	}
	return nil
}

// OwnTime reports whether a time-stamp leads to the key of a signer or to one that
// it follows: on papers of that signer it counts for nothing.
func OwnTime(ts *seal.Timestamp, s *seal.Signer) bool {
	return leadsTo(ts.Chain, seal.Lineage(s.Chain())) != nil
}

// within notes whether a certificate was valid and whether it still is.
func (t *Trust) within(s *SignerFound, c *x509.Certificate, at time.Time) bool {
	if at.Before(c.NotBefore) || at.After(c.NotAfter) {
		s.Why = fmt.Sprintf("the certificate was not valid on %s", at.UTC().Format(time.DateOnly))
		return false
	}
	s.Expired = !t.Now.IsZero() && t.Now.After(c.NotAfter)
	return true
}

// conclude trusts a path, unless one of its keys or certificates is revoked.
func (t *Trust) conclude(s *SignerFound, path []*x509.Certificate, why string, at, existed time.Time) {
	for i, c := range path {
		acted := at // of an issuer or a predecessor: when it made the next one
		if i > 0 {
			acted = path[i-1].NotBefore
		}
		id := seal.KeyIDOf(c)
		found := t.listed(c)
		if r, ok := t.revoked[id]; ok {
			found = append(found, r)
		}
		listed := len(found)
		if r, ok := t.weak[algorithm(c)]; ok {
			found = append(found, r)
		}
		for j, r := range found {
			said := fmt.Sprintf("the key %s is %s", id, r)
			if j >= listed {
				said = fmt.Sprintf("all keys of %s are %s", algorithm(c), r)
			}
			switch {
			case !r.until.IsZero() && acted.Before(r.end):
				why += "; " + said
				continue
			case !r.until.IsZero():
			// A thief can write any earlier time; only a time-stamp proves it.
			case !existed.IsZero() && existed.Before(r.since):
				why += "; " + said + "; a time-stamp proves that it was signed before"
				continue
			case at.Before(r.since):
				said += "; no time-stamp proves that it was signed before"
			}
			s.Why = said
			return
		}
	}
	s.Trusted, s.Why = true, why
}

// algorithm names the kind of a certificate's key, as in a list of revoked keys.
func algorithm(c *x509.Certificate) string {
	switch k := c.PublicKey.(type) {
	case *ecdsa.PublicKey:
		return k.Curve.Params().Name
	case *rsa.PublicKey:
		return fmt.Sprintf("RSA-%d", k.N.BitLen())
	}
	return ""
}

// ahead is how far the reader's clock may be behind a time of signing before
// that is noted. A day of issue stands for its noon, a token's day has no zone,
// and clocks differ.
const ahead = 24 * time.Hour

// future says that a time of signing has not come yet, or "". It takes nothing
// from the signature: which of the two clocks is wrong is not for us to say.
func (t *Trust) future(at time.Time) string {
	if t.Now.IsZero() || at.Sub(t.Now) <= ahead {
		return ""
	}
	return fmt.Sprintf("signed with a date in the future, %s: this computer's clock says %s", at.UTC().Format(time.DateOnly), t.Now.UTC().Format(time.DateOnly))
}

// path returns the certificates from the signer's to a trusted one, and how
// trust was reached, or nil and why not.
func (t *Trust) path(chain []*x509.Certificate, at time.Time) ([]*x509.Certificate, string) {
	leaf := chain[0]
	if slices.ContainsFunc(t.certs, leaf.Equal) {
		return chain[:1], "the certificate is one of those trusted"
	}
	if len(t.certs) == 0 {
		return nil, "no trusted certificate was given"
	}
	if p := t.succession(chain); p != nil {
		return p, "successor of " + seal.CommonName(p[len(p)-1])
	}
	// Whoever may sign papers does not certify others who do.
	for _, p := range issuedBy(t.certs, chain, at, x509.ExtKeyUsageAny) {
		if !slices.ContainsFunc(p[1:], func(c *x509.Certificate) bool { return signsPapers(c) || !seal.ForDocuments(c) }) {
			return p, "issued by " + seal.CommonName(p[len(p)-1])
		}
	}
	return nil, "the certificate is none of those trusted, nor issued or succeeded by one"
}

// timePath does the same for a time-stamp authority.
func (t *Trust) timePath(chain []*x509.Certificate, at time.Time) ([]*x509.Certificate, string) {
	if slices.ContainsFunc(t.clocks, chain[0].Equal) {
		return chain[:1], "the certificate is one of those trusted"
	}
	if paths := issuedBy(t.clocks, chain, at, x509.ExtKeyUsageTimeStamping); len(paths) > 0 {
		p := paths[0]
		return p, "issued by " + seal.CommonName(p[len(p)-1])
	}
	return nil, "its authority is not among those trusted"
}

// issuedBy are the paths from the first of a chain to one of the roots (RFC
// 5280, 6), all of whose certificates leave room for the usage.
func issuedBy(roots, chain []*x509.Certificate, at time.Time, usage x509.ExtKeyUsage) [][]*x509.Certificate {
	if len(roots) == 0 {
		return nil
	}
	above, between := x509.NewCertPool(), x509.NewCertPool()
	for _, c := range roots {
		above.AddCert(c)
	}
	for _, c := range chain[1:] {
		between.AddCert(c)
	}
	paths, err := chain[0].Verify(x509.VerifyOptions{Roots: above, Intermediates: between, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{usage}})
	if err != nil {
		return nil
	}
	return paths
}

// succession follows the keys before the signer's to a trusted one.
func (t *Trust) succession(chain []*x509.Certificate) []*x509.Certificate {
	line := seal.Lineage(chain)
	for i, c := range line {
		if i > 0 && slices.ContainsFunc(t.certs, c.Equal) {
			return line[:i+1]
		}
		if j := slices.IndexFunc(t.certs, func(p *x509.Certificate) bool { return seal.Succeeds(c, p) }); j >= 0 {
			return append(slices.Clone(line[:i+1]), t.certs[j])
		}
	}
	return nil
}

// keys returns the trusted certificates with the key id.
func (t *Trust) keys(id seal.KeyID) []*x509.Certificate {
	var found []*x509.Certificate
	for _, c := range t.certs {
		if seal.KeyIDOf(c) == id {
			found = append(found, c)
		}
	}
	return found
}
