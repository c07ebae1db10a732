package seal

import (
	"bytes"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html"
	"maps"
	"regexp"
	"strings"
	"time"
)

// The places in check.html that take the keys, those revoked, and the words.
const (
	checkKeys    = `<script type="application/json" id="keys">[]</script>`
	checkRevoked = `<script type="application/json" id="revoked">[]</script>`
	checkWords   = `<script type="application/json" id="words">{}</script>`
)

// RevokedKey is a key that is not to be believed: one that others may have, or,
// with a last day, one that was given up.
type RevokedKey struct {
	KeyID  KeyID  `json:"key_id"`
	Until  string `json:"until,omitempty"` // day, or ""
	Reason string `json:"reason,omitempty"`
}

// PageWords are the texts of check.html in one language, by their names in it,
// and how that language writes a number.
type PageWords struct {
	Language string // BCP 47, such as "es"
	Decimal  string // the mark: "." or ","
	Texts    map[string]string
}

// A text is named in the page's markup as {{title}}, and in its script as the
// argument of say or line.
var (
	wordInMarkup = regexp.MustCompile(`\{\{([a-z_]+)\}\}`)
	wordInScript = regexp.MustCompile(`\b(?:say|line|refuse)\("([a-z_.]+)"`)
)

// pageKey is one key of the checking page.
type pageKey struct {
	Name         string `json:"name"`
	Organisation string `json:"organisation,omitempty"`
	KeyID        KeyID  `json:"key_id"`
	Fingerprint  string `json:"fingerprint"`
	NotBefore    string `json:"not_before"` // days, UTC
	NotAfter     string `json:"not_after"`
	SPKI         string `json:"spki"` // base64 of the DER
}

// FillCheckPage writes words and the public keys of certificates into
// check.html, so that the page can check tokens of theirs without a network, in
// the language of its reader. What it shows of a key is that the key signed;
// whose it is, nobody can learn from a page that came with the papers. Keys that
// are known to be revoked are refused by it. The template must hold the empty
// blocks of keys, revoked keys and words exactly once, and name no text that is
// missing.
//
// The page is 25 kB that owes nothing to this package but its
// specification and its vectors. The same reader compiled from Go for browsers
// would be 6.6 MB (1.8 MB packed), and a page opened from a file could not
// fetch it.
func FillCheckPage(template []byte, words PageWords, revoked []RevokedKey, certificates ...*x509.Certificate) ([]byte, error) {
	for _, block := range []string{checkKeys, checkRevoked, checkWords} {
		if bytes.Count(template, []byte(block)) != 1 {
			return nil, errors.New("the checking page must hold this line once: " + block)
		}
	}
	for _, name := range wordInScript.FindAllSubmatch(template, -1) {
		if _, ok := words.Texts[string(name[1])]; !ok {
			return nil, fmt.Errorf("the checking page says %q, which is no text of check in wording/%s.yaml", name[1], words.Language)
		}
	}
	var missing error
	page := wordInMarkup.ReplaceAllFunc(template, func(name []byte) []byte {
		key := string(name[2 : len(name)-2])
		text, ok := words.Texts[key]
		if key == "language" {
			text, ok = words.Language, true
		}
		if !ok {
			missing = fmt.Errorf("the checking page says %q, which is no text of check in wording/%s.yaml", key, words.Language)
		}
		return []byte(html.EscapeString(text))
	})
	if missing != nil {
		return nil, missing
	}
	said := maps.Clone(words.Texts)
	said["decimal"] = words.Decimal
	keys := []pageKey{}
	for _, c := range certificates {
		k := pageKey{
			Name: CommonName(c), KeyID: KeyIDOf(c), Fingerprint: FingerprintOf(c),
			NotBefore: c.NotBefore.UTC().Format(time.DateOnly), NotAfter: c.NotAfter.UTC().Format(time.DateOnly),
			SPKI: base64.StdEncoding.EncodeToString(c.RawSubjectPublicKeyInfo),
		}
		if len(c.Subject.Organization) > 0 {
			k.Organisation = c.Subject.Organization[0]
		}
		keys = append(keys, k)
	}
	for block, content := range map[string]any{checkKeys: keys, checkRevoked: append([]RevokedKey{}, revoked...), checkWords: said} {
		// Marshal escapes <, > and &, so no name can end the block.
		list, err := json.Marshal(content)
		if err != nil {
			return nil, err
		}
		open, end := block[:strings.Index(block, ">")+1], "</script>"
		page = bytes.Replace(page, []byte(block), []byte(open+string(list)+end), 1)
	}
	return page, nil
}
