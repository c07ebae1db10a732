package seal

import (
	"crypto/sha256"
	"crypto/x509"
	"errors"
	"fmt"
	"time"

	"github.com/digitorus/timestamp"
)

// Timestamp is what a time-stamp authority said (RFC 3161): this signature
// existed at this time.
type Timestamp struct {
	Time      time.Time
	Authority *x509.Certificate // who says so; whether to trust it is the caller's question
	Chain     []*x509.Certificate
}

// parseTimestamp reads a time-stamp token and checks it against the signature
// that it was made for.
func parseTimestamp(token, signature []byte) (*Timestamp, error) {
	ts, err := timestamp.Parse(token) // checks the token's own signature
	if err != nil {
		return nil, fmt.Errorf("the time-stamp is broken: %w", err)
	}
	h := sha256.Sum256(signature)
	if string(ts.HashedMessage) != string(h[:]) {
		return nil, errors.New("the time-stamp is of another signature")
	}
	if len(ts.Certificates) == 0 {
		return nil, errors.New("the time-stamp carries no certificate")
	}
	return &Timestamp{Time: ts.Time, Authority: ts.Certificates[0], Chain: ts.Certificates}, nil
}
