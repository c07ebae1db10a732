package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"spanseal/internal/authority"
	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/load"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

// stamper asks the time-stamp authority that a job names. A nil stamper asks
// nobody.
type stamper struct {
	url      string
	ask      seal.Ask
	accept   func(*seal.Timestamp) error
	required bool

	mu     sync.Mutex
	failed error // why it was given up on
	client *authority.Client
}

// errUnstamped reports that a time-stamp is required and could not be had.
var errUnstamped = errors.New("the job asks for time-stamps")

// stamper returns that of a job, nil where the job names no authority.
func (a *app) stamper(ctx context.Context, j *load.JudgedJob, signer *seal.Signer) (*stamper, error) {
	sign := j.Facts.Job.Sign
	if sign.TimestampURL == "" {
		return nil, nil
	}
	if problems := authorityFaults(j.Facts); problems.Errors() > 0 {
		return nil, a.report(problems)
	}
	client, err := a.authorityClient(sign.TimestampURL)
	if err != nil {
		return nil, err
	}
	return &stamper{url: sign.TimestampURL, ask: seal.HTTPAuthority(ctx, client.HTTP, sign.TimestampURL), accept: a.acceptStamp(signer), required: sign.Timestamp != "when-reachable", client: client}, nil
}

// acceptStamp refuses a time-stamp that whoever verifies would not count: by the
// signer's own key, or by an authority whose clock stands still, such as in the
// days of a certificate that has ended.
func (a *app) acceptStamp(signer *seal.Signer) func(*seal.Timestamp) error {
	return func(ts *seal.Timestamp) error {
		if verify.OwnTime(ts, signer) {
			return fmt.Errorf("the time-stamp leads to the key that signs the documents, and a signer cannot vouch for the time")
		}
		return a.onTime(ts)
	}
}

// onTime refuses a time-stamp of another day than this computer's clock says.
func (a *app) onTime(ts *seal.Timestamp) error {
	if off := ts.Time.Sub(a.sys.Now()); off.Abs() > ahead {
		return fmt.Errorf("the authority says that it is %s, this computer's clock %s", ts.Time.UTC().Format(time.DateOnly), a.sys.Now().UTC().Format(time.DateOnly))
	}
	return nil
}

// authorityFaults refuses an address that is none, and one that holds a secret:
// job.yaml is handed over with every revision.
func authorityFaults(facts *record.Facts) *diag.List {
	problems := &diag.List{}
	if facts == nil || facts.Job.Sign.TimestampURL == "" {
		return problems
	}
	if p := authority.AddressFault(facts.Job.Sign.TimestampURL, loginName); p.Code != "" {
		if p.Code == "secret-in-address" {
			p.Message += ", and job.yaml is handed over with every revision"
		}
		p.Place = jobfile.PlaceOf(facts, "sign.timestamp_url")
		p.Place.Excerpt = "" // the line may hold the secret
		problems.Add(p)
	}
	return problems
}

// loginName is the variable that holds name:password for the time-stamp
// authority; with _FILE behind it, the file that does.
const loginName = "SPANSEAL_TIMESTAMP_LOGIN"

// login is that of the environment. It is never printed.
func (a *app) login() (authority.Login, error) {
	text := a.sys.Getenv(loginName)
	if file := a.sys.Getenv(loginName + "_FILE"); text == "" && file != "" {
		data, err := os.ReadFile(file)
		if err != nil {
			return authority.Login{}, refuse("name a file that you can read", "%s_FILE: %v", loginName, plain.Cause(err))
		}
		a.noteReadable("file with the login of the time-stamp authority", file)
		text, _, _ = strings.Cut(string(data), "\n")
	}
	login, err := authority.ParseLogin(text)
	if err != nil {
		return login, refuse("write name:password", "%s %v", loginName, err)
	}
	return login, nil
}

// authorityClient returns one for an address, with the login of the environment.
func (a *app) authorityClient(address string) (*authority.Client, error) {
	login, err := a.login()
	if err != nil {
		return nil, err
	}
	return authority.NewClient(address, login)
}

// noteAuthority tells of requests that went elsewhere than was written down, and of
// those that everybody on the way could read. A stamp is signed, so neither
// makes one worth less; but both show who asks, and when.
func (a *app) noteAuthority(c *authority.Client) {
	if sent := c.SentOn(); sent != "" {
		a.note("the time-stamp authority %s sends requests on to %s: if that is right, write this address", diag.Safe(c.Address), diag.Safe(sent))
	}
	a.noteUnencrypted(c.Address)
}

// noteUnencrypted tells of an address that is asked without encryption.
func (a *app) noteUnencrypted(address string) {
	if bare := authority.Unencrypted(address); bare != "" {
		a.note("the time-stamp authority %s is asked without encryption: whoever sees the network sees when you sign, and can keep stamps away; a stamp itself is signed", diag.Safe(bare))
	}
}

// stamp adds a time-stamp to a signature. Where the job does not insist, the
// first failure is the last attempt, so that a revision waits for a dead
// network once and not a thousand times.
func (s *stamper) stamp(cms []byte) ([]byte, error) {
	if s.cause() != nil {
		return cms, nil
	}
	stamped, err := seal.StampIf(cms, s.ask, s.accept)
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
