package seal

import (
	"bytes"
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"errors"
	"time"
)

// checkKeys is the place in check.html that takes the keys.
const checkKeys = `<script type="application/json" id="keys">[]</script>`

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

// FillCheckPage writes the public keys of certificates into check.html, so
// that the page can check tokens of theirs without a network. The template
// must hold the empty block of keys exactly once.
//
// The page is 24 kB of script that owes nothing to this package but its
// specification and its vectors. The same reader compiled from Go for browsers
// would be 6.6 MB (1.8 MB packed), and a page opened from a file could not
// fetch it.
func FillCheckPage(template []byte, certificates ...*x509.Certificate) ([]byte, error) {
	if bytes.Count(template, []byte(checkKeys)) != 1 {
		return nil, errors.New("the checking page must hold this line once: " + checkKeys)
	}
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
	// Marshal escapes <, > and &, so no name can end the block.
	list, err := json.Marshal(keys)
	if err != nil {
		return nil, err
	}
	filled := bytes.Replace([]byte(checkKeys), []byte("[]"), list, 1)
	return bytes.Replace(template, []byte(checkKeys), filled, 1), nil
}
