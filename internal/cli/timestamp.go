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
	client := &http.Client{Timeout: stampPatience}
	return &stamper{url: sign.TimestampURL, ask: seal.HTTPAuthority(ctx, client, sign.TimestampURL), required: sign.Timestamp != "when-reachable"}, nil
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
