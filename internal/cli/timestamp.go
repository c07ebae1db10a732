package cli

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"sync"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/seal"
)

// stampPatience is how long a time-stamp authority may take for one answer.
const stampPatience = 15 * time.Second

// stamper asks the time-stamp authority that a job names. A nil stamper asks
// nobody.
type stamper struct {
	url      string
	ask      seal.Ask
	required bool

	mu     sync.Mutex
	failed error // why it was given up on
	client *authorityClient
}

// errUnstamped reports that a time-stamp is required and could not be had.
var errUnstamped = errors.New("the job asks for time-stamps")

// stamper returns that of a job, nil where the job names no authority.
func (a *app) stamper(ctx context.Context, j *job) (*stamper, error) {
	sign := j.facts.Job.Sign
	if sign.TimestampURL == "" {
		return nil, nil
	}
	if u, err := url.Parse(sign.TimestampURL); err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		problems := &diag.List{}
		problems.Add(diag.Problem{Code: "not-a-url", Place: intake.PlaceOf(intake.JobSource(j.facts), "sign.timestamp_url"),
			Message: fmt.Sprintf("%q is not the address of a time-stamp authority", sign.TimestampURL),
			Want:    "want http:// or https:// and a host"})
		return nil, a.report(problems)
	}
	client := newAuthorityClient(sign.TimestampURL)
	return &stamper{url: sign.TimestampURL, ask: seal.HTTPAuthority(ctx, client.http, sign.TimestampURL), required: sign.Timestamp != "when-reachable", client: client}, nil
}

// authorityClient asks a time-stamp authority, and remembers where it was sent
// on to.
type authorityClient struct {
	address string
	http    *http.Client
	mu      sync.Mutex
	sent    string // where requests were sent on to, or ""
}

func newAuthorityClient(address string) *authorityClient {
	c := &authorityClient{address: address}
	c.http = &http.Client{Timeout: stampPatience, CheckRedirect: func(next *http.Request, before []*http.Request) error {
		if next.URL.Scheme != "https" && before[0].URL.Scheme == "https" {
			return fmt.Errorf("it sends requests on from https to %s", next.URL.Redacted())
		}
		if len(before) > 3 {
			return errors.New("it sends requests on and on")
		}
		c.mu.Lock()
		defer c.mu.Unlock()
		c.sent = next.URL.Redacted()
		return nil
	}}
	return c
}

// notes tells of requests that went elsewhere than was written down, and of
// those that everybody on the way could read. A stamp is signed, so neither
// makes one worth less; but both show who asks, and when.
func (c *authorityClient) notes(a *app) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.sent != "" {
		a.note("the time-stamp authority %s sends requests on to %s: if that is right, write this address", diag.Safe(c.address), diag.Safe(c.sent))
	}
	if u, err := url.Parse(c.address); err == nil && u.Scheme == "http" {
		a.note("the time-stamp authority %s is asked without encryption: whoever sees the network sees when you sign, and can keep stamps away; a stamp itself is signed", diag.Safe(u.Redacted()))
	}
}

// stamp adds a time-stamp to a signature. Where the job does not insist, the
// first failure is the last attempt, so that a revision waits for a dead
// network once and not a thousand times.
func (s *stamper) stamp(cms []byte) ([]byte, error) {
	if s.cause() != nil {
		return cms, nil
	}
	stamped, err := seal.Stamp(cms, s.ask)
	switch {
	case err == nil:
		return stamped, nil
	case s.required:
		return nil, fmt.Errorf("%w: %w", errUnstamped, err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.failed = err
	return cms, nil
}

// cause is why papers are not stamped, or nil.
func (s *stamper) cause() error {
	if s == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.failed
}
