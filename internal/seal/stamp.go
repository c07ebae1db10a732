package seal

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"math/big"
	"net/http"
	"strings"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"
)

// MaxTimestamp is the most bytes that a time-stamp token may have. A file that
// is to be stamped leaves room for it besides [Signer.MaxCMS].
const MaxTimestamp = 10 << 10

// Ask sends a request to a time-stamp authority and returns its response, both
// in DER.
type Ask func(request []byte) (response []byte, err error)

// HTTPAuthority asks the time-stamp server at an address (RFC 3161, 3.4).
func HTTPAuthority(ctx context.Context, client *http.Client, url string) Ask {
	return func(request []byte) ([]byte, error) {
		post, err := http.NewRequestWithContext(ctx, http.MethodPost, url, bytes.NewReader(request))
		if err != nil {
			return nil, err
		}
		post.Header.Set("Content-Type", "application/timestamp-query")
		reply, err := client.Do(post)
		if err != nil {
			return nil, err
		}
		defer reply.Body.Close()
		if kind, _, _ := strings.Cut(reply.Header.Get("Content-Type"), ";"); reply.StatusCode != http.StatusOK || kind != "application/timestamp-reply" {
			return nil, fmt.Errorf("%s answers %s, %q instead of a time-stamp", url, reply.Status, kind)
		}
		return io.ReadAll(io.LimitReader(reply.Body, 2*MaxTimestamp))
	}
}

// Stamp has a CMS message of ours time-stamped: PAdES and CAdES baseline B-T.
// A stamped message is not the same on a second run; the authority's clock and
// nonce are in it.
func Stamp(cms []byte, ask Ask) ([]byte, error) {
	return StampIf(cms, ask, func(*Timestamp) error { return nil })
}

// StampIf is Stamp with a time-stamp that accept finds nothing against.
func StampIf(cms []byte, ask Ask, accept func(*Timestamp) error) ([]byte, error) {
	d, err := parseCMS(cms)
	if err != nil {
		return nil, err
	}
	token, ts, err := stampOver(of(d.signature), ask)
	if err == nil {
		err = accept(ts)
	}
	if err != nil {
		return nil, err
	}
	d.timestamp = token
	return d.encode()
}

// stampOver asks for a time-stamp and checks the answer. It returns the token.
func stampOver(what imprint, ask Ask) ([]byte, *Timestamp, error) {
	nonce, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 63))
	if err != nil {
		return nil, nil, err
	}
	response, err := ask(timestampRequest(what, nonce))
	if err != nil {
		return nil, nil, fmt.Errorf("no time-stamp: %w", err)
	}
	token, err := tokenOf(response)
	if err != nil {
		return nil, nil, err
	}
	if len(token) > MaxTimestamp {
		return nil, nil, fmt.Errorf("the time-stamp is of %d bytes, more than the %d kept for it", len(token), MaxTimestamp)
	}
	ts, err := parseTimestamp(token, what)
	if err != nil {
		return nil, nil, err
	}
	if ts.nonce == nil || ts.nonce.Cmp(nonce) != 0 {
		return nil, nil, errors.New("the time-stamp answers another request")
	}
	return token, ts, ts.valid()
}

// timestampRequest is a TimeStampReq (RFC 3161, 2.4.1) that asks for the
// authority's certificate.
func timestampRequest(what imprint, nonce *big.Int) []byte {
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		b.AddASN1Int64(1)
		b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
			b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { b.AddASN1ObjectIdentifier(what.algorithm()) })
			b.AddASN1OctetString(what.sum())
		})
		b.AddASN1BigInt(nonce)
		b.AddASN1Boolean(true)
	})
	return b.BytesOrPanic()
}

// tokenOf takes the token from a TimeStampResp (RFC 3161, 2.4.2).
func tokenOf(response []byte) ([]byte, error) {
	input := cryptobyte.String(response)
	var body, status, token cryptobyte.String
	var code int
	if !input.ReadASN1(&body, cbasn1.SEQUENCE) || !input.Empty() || !body.ReadASN1(&status, cbasn1.SEQUENCE) || !status.ReadASN1Integer(&code) {
		return nil, errors.New("the answer is not a time-stamp response in DER")
	}
	if code > 1 { // granted, or granted with modifications
		var texts, text cryptobyte.String
		if status.PeekASN1Tag(cbasn1.SEQUENCE) && status.ReadASN1(&texts, cbasn1.SEQUENCE) && texts.ReadASN1(&text, cbasn1.UTF8String) {
			return nil, fmt.Errorf("the authority refuses a time-stamp: %q", string(text))
		}
		return nil, fmt.Errorf("the authority refuses a time-stamp: status %d", code)
	}
	if !body.ReadASN1Element(&token, cbasn1.SEQUENCE) || !body.Empty() {
		return nil, errors.New("the time-stamp response holds no time-stamp")
	}
	return token, nil
}
