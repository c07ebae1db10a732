package verify

import (
	"bytes"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"errors"
	"fmt"
	"slices"
	"time"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"

	"spanseal/internal/seal"
)

// revocationList is a certificate revocation list (RFC 5280, 5) of a trust
// folder. What it lists is refused; that something is not on it proves nothing,
// so an old one or one of some certificates alone does no harm.
type revocationList struct {
	path string
	list *x509.RevocationList
	by   map[string]*x509.RevocationListEntry // serial number
}

// maxRevocationList bounds what is read of one list: those of large authorities
// have some hundred thousand entries of forty bytes.
const maxRevocationList = 32 << 20

const freshList = "get it again from the authority that publishes it; without it, a certificate that it names would be trusted"

// The extensions of a list and of its entries that may be critical and are
// understood (RFC 5280, 5.2.5, 5.3.1 and 5.3.2).
var (
	oidDistributionPoint = asn1.ObjectIdentifier{2, 5, 29, 28}
	oidReasonCode        = asn1.ObjectIdentifier{2, 5, 29, 21}
	oidInvalidityDate    = asn1.ObjectIdentifier{2, 5, 29, 24}
)

func (t *Trust) readList(path string) error {
	data, err := readBounded(path, maxRevocationList)
	if err != nil {
		return unusable(path, err)
	}
	if block, _ := pem.Decode(data); block != nil && block.Type == "X509 CRL" {
		data = block.Bytes
	}
	wrong := func(format string, args ...any) error {
		return &TrustError{path, "not a certificate revocation list that can be used: " + fmt.Sprintf(format, args...), freshList}
	}
	list, err := x509.ParseRevocationList(data)
	if err != nil {
		return wrong("%v", err)
	}
	if i := slices.IndexFunc(list.Extensions, func(e pkix.Extension) bool { return e.Critical && !e.Id.Equal(oidDistributionPoint) }); i >= 0 {
		return wrong("it has a critical extension, %s, that is not known here", list.Extensions[i].Id)
	}
	l := &revocationList{path, list, make(map[string]*x509.RevocationListEntry, len(list.RevokedCertificateEntries))}
	for i := range list.RevokedCertificateEntries {
		e := &list.RevokedCertificateEntries[i]
		for _, x := range e.Extensions {
			if x.Critical && !x.Id.Equal(oidReasonCode) && !x.Id.Equal(oidInvalidityDate) { // such as entries of another issuer's certificates
				return wrong("an entry has a critical extension, %s, that is not known here", x.Id)
			}
		}
		l.by[e.SerialNumber.String()] = e
	}
	t.lists = append(t.lists, l)
	return nil
}

// checkLists holds the lists against the certificates that are trusted: a list
// that bears the name of one must be signed by its key.
func (t *Trust) checkLists() error {
	all := slices.Concat(t.certs, t.clocks)
	for _, l := range t.lists {
		named, signed := false, false
		for _, c := range all {
			if bytes.Equal(c.RawSubject, l.list.RawIssuer) {
				named, signed = true, signed || l.list.CheckSignatureFrom(c) == nil
			}
		}
		issuer := l.list.Issuer.String()
		switch {
		case named && !signed:
			return &TrustError{l.path, fmt.Sprintf("the list is not signed by the trusted certificate of %s, which it names", issuer), freshList}
		case !named:
			t.Unread = append(t.Unread, fmt.Sprintf("%s is a revocation list of %s, whose certificate is not here: its signature was not checked; what it lists is refused", l.path, issuer))
		}
		if next := l.list.NextUpdate; !t.Now.IsZero() && !next.IsZero() && t.Now.After(next) {
			t.Unread = append(t.Unread, fmt.Sprintf("%s is out of date: a newer list was to come by %s; what was revoked since is not known here", l.path, next.UTC().Format(time.DateOnly)))
		}
	}
	return nil
}

// given are the reasons of RFC 5280, 5.3.1, in words.
var given = map[int]string{
	1: "key compromise", 2: "compromise of the authority", 3: "affiliation changed", 4: "superseded", 5: "cessation of operation",
	6: "on hold", 9: "privilege withdrawn", 10: "compromise of the authority",
}

// listed is what the lists say of a certificate. One that was given up while
// nobody else had its key is retired: what it signed before counts. Of an
// authority's certificate for time-stamps, RFC 3161, 4 says the same where a
// reason is stated that is no compromise.
func (t *Trust) listed(c *x509.Certificate) []revocation {
	var found []revocation
	for _, l := range t.lists {
		e := l.by[c.SerialNumber.String()]
		if e == nil || !bytes.Equal(l.list.RawIssuer, c.RawIssuer) {
			continue
		}
		r := revocation{since: e.RevocationTime, reason: given[e.ReasonCode]}
		if r.reason == "" {
			r.reason = "no reason stated"
		}
		stated := slices.ContainsFunc(e.Extensions, func(x pkix.Extension) bool { return x.Id.Equal(oidReasonCode) })
		switch e.ReasonCode {
		case 0:
			if stated && seal.IsAuthority(c) {
				r = revocation{until: r.since, end: r.since, reason: r.reason}
			}
		case 3, 4, 5:
			r = revocation{until: r.since, end: r.since, reason: r.reason}
		case 6, 8: // on hold is not good at any time; "remove from list" stands in no whole list
			r.since = time.Time{}
		}
		if when, err := invalidSince(e); err != nil {
			r = revocation{reason: r.reason} // a date that cannot be read
		} else if !when.IsZero() && r.until.IsZero() && when.Before(r.since) {
			r.since = when
		}
		r.reason += ", says the revocation list of " + l.list.Issuer.String()
		found = append(found, r)
	}
	return found
}

// invalidSince is the day from which a key is known or thought to be in other
// hands (RFC 5280, 5.3.2), or zero.
func invalidSince(e *x509.RevocationListEntry) (when time.Time, err error) {
	for _, x := range e.Extensions {
		if !x.Id.Equal(oidInvalidityDate) {
			continue
		}
		value := cryptobyte.String(x.Value)
		if !value.PeekASN1Tag(cbasn1.GeneralizedTime) || !value.ReadASN1GeneralizedTime(&when) || !value.Empty() {
			return when, errors.New("a broken date")
		}
	}
	return when, nil
}
