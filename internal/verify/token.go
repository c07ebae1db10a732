package verify

import (
	"crypto/x509"
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/seal"
)

// tokenLike finds where a token's text begins, alone or after an address,
// whatever became of it on the way; a name of a file holds none.
var tokenLike = regexp.MustCompile(`(?i)(?:^|[^\pL\pN./\\_-])(` + regexp.QuoteMeta(seal.Prefix) + `)`)

// LooksLikeToken reports whether a text is meant for that of a QR symbol.
func LooksLikeToken(text string) bool { return tokenLike.MatchString(seal.Scanned(text)) }

// mangled says why a text is no token and what to do. A token has one text, so
// none is put right here: the page that checks labels would still refuse it.
func mangled(text string, err error) string {
	text = seal.Scanned(text)
	if at := tokenLike.FindAllStringSubmatchIndex(text, 2); len(at) > 1 {
		return "it looks like the text of several labels; check one at a time"
	} else if len(at) == 1 {
		before, body := text[:at[0][2]], text[at[0][2]:]
		switch {
		case before != "" && !strings.HasSuffix(before, "#"):
			return "something stands before " + seal.Prefix + " that is no address; leave it out"
		case strings.ContainsFunc(body, unicode.IsSpace):
			return "it looks like the text of a label with blanks or line breaks in it, as copying leaves them; take them out, so that it is one word"
		case body != strings.ToUpper(body):
			return "it looks like the text of a label in lower case; a label's text is in capitals: copy or scan it again as it stands, or write it in capitals"
		}
	}
	return err.Error() + "; copy or scan the whole text again"
}

// TokenText checks the text of a QR symbol against the trusted certificates.
// Space around it is ignored. A token does not carry its signer's certificate,
// so without one that has its key the signature cannot be checked.
func TokenText(text string, trust *Trust) *Report {
	item := Item{Path: "token", Kind: KindToken, State: Intact}
	token, err := seal.ParseToken(seal.Scanned(text))
	if err != nil {
		item.fault(Unreadable, mangled(text, err))
		return &Report{Items: []Item{item}, Files: 1}
	}
	item.Path, item.Claim = token.Claim.Certificate, &token.Claim
	if token.URL != "" {
		item.note("the address before # is not signed")
	}
	item.note("the token vouches for what it says; the document itself was not at hand")
	if day, err := time.Parse(time.DateOnly, token.Claim.Issued); err == nil {
		if text := trust.future(day); text != "" {
			item.note(text)
		}
	}
	trust.token(&item, token)
	return &Report{Items: []Item{item}, Files: 1}
}

func (t *Trust) token(item *Item, token *seal.Token) {
	if len(t.certs) == 0 {
		item.State = Unchecked
		item.note(fmt.Sprintf("the signature was not checked: no certificate of the key %s was given", token.KeyID))
		return
	}
	for _, c := range t.keys(token.KeyID) {
		if token.Verify(c.PublicKey) != nil {
			continue
		}
		item.Signer = signer(c)
		at := dayWithin(token.Claim.Issued, c)
		item.Signer.Signed = at
		t.judge(item.Signer, []*x509.Certificate{c}, at, time.Time{})
		return
	}
	if t.keys(token.KeyID) != nil {
		item.fault(Changed, "the token was changed: the signature is not over what it says")
		return
	}
	// Nothing was checked, so nothing was found changed: a successor's label is
	// as genuine as its paper, which carries the chain that a token cannot.
	item.State = Unchecked
	item.note(fmt.Sprintf("the signature was not checked: the key %s is not among those trusted; a token does not carry its signer's certificate, so get that one, of a successor too", token.KeyID))
}

// dayWithin returns the day of issue as a time: midnight UTC, or the moment
// within that day or the next hours around it at which the certificate begins
// or ends. A day has no time and no zone, and must not make a key that began
// that morning look late.
func dayWithin(day string, c *x509.Certificate) time.Time {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return time.Time{} // parsed tokens hold days
	}
	const slack = 38 * time.Hour // to the end of the day, in the zone farthest behind
	if at.Before(c.NotBefore) && c.NotBefore.Sub(at) < slack {
		return c.NotBefore
	}
	if at.After(c.NotAfter) && at.Sub(c.NotAfter) < 14*time.Hour {
		return c.NotAfter
	}
	return at
}
