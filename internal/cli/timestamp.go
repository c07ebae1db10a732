package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/load"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

// stampPatience is how long a time-stamp authority may take for one answer.
const stampPatience = 15 * time.Second

// stamper asks the time-stamp authority that a job names. A nil stamper asks
// nobody.
type stamper struct {
	url      string
	ask      seal.Ask
	accept   func(*seal.Timestamp) error
	required bool

	mu     sync.Mutex
	failed error // why it was given up on
	client *authorityClient
}

// errUnstamped reports that a time-stamp is required and could not be had.
var errUnstamped = errors.New("the job asks for time-stamps")

// stamper returns that of a job, nil where the job names no authority.
func (a *app) stamper(ctx context.Context, j *load.Job, signer *seal.Signer) (*stamper, error) {
	sign := j.Facts.Job.Sign
	if sign.TimestampURL == "" {
		return nil, nil
	}
	if problems := authority(j.Facts); problems.Errors() > 0 {
		return nil, a.report(problems)
	}
	client, err := a.authorityClient(sign.TimestampURL)
	if err != nil {
		return nil, err
	}
	return &stamper{url: sign.TimestampURL, ask: seal.HTTPAuthority(ctx, client.http, sign.TimestampURL), accept: a.acceptStamp(signer), required: sign.Timestamp != "when-reachable", client: client}, nil
}

// acceptStamp refuses a time-stamp that whoever verifies would not count: by the
// signer's own key, or by an authority whose clock stands still, such as in the
// days of a certificate that has ended.
func (a *app) acceptStamp(signer *seal.Signer) func(*seal.Timestamp) error {
	return func(ts *seal.Timestamp) error {
		if verify.OwnTime(ts, signer) {
			return fmt.Errorf("the time-stamp leads to the key that signs the papers, and whoever signs does not vouch for the time")
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

// secretLike is the name of a value in an address that is mostly a secret.
var secretLike = regexp.MustCompile(`(?i)key|token|secret|pass|auth|user|login`)

// addressFault says what is wrong with the address of a time-stamp authority: that
// it is none, or that it holds a secret, which would stand in messages and
// logs. Whoever reports it does not repeat the address.
func addressFault(address string) (p diag.Problem) {
	switch u, err := url.Parse(address); {
	case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "":
		p.Code, p.Message = "not-a-url", "this is not the address of a time-stamp authority"
		p.Fix = "write http:// or https:// and a host"
	case u.User != nil || slices.ContainsFunc(slices.Collect(maps.Keys(u.Query())), secretLike.MatchString) || secretLike.MatchString(u.Fragment):
		p.Code, p.Message = "secret-in-address", "the address of the time-stamp authority holds a name, a password or a key"
		p.Fix = "take it out of the address; give it as name:password in the variable " + loginName + ", or in the first line of the file that " + loginName + "_FILE names"
	}
	return p
}

// authority refuses an address that is none, and one that holds a secret:
// job.yaml is handed over with every revision.
func authority(facts *record.Facts) *diag.List {
	problems := &diag.List{}
	if facts == nil || facts.Job.Sign.TimestampURL == "" {
		return problems
	}
	if p := addressFault(facts.Job.Sign.TimestampURL); p.Code != "" {
		if p.Code == "secret-in-address" {
			p.Message += ", and job.yaml is handed over with every revision"
		}
		p.Place = jobfile.PlaceOf(jobfile.Source(facts), "sign.timestamp_url")
		p.Place.Excerpt = "" // the line may hold the secret
		problems.Add(p)
	}
	return problems
}

// loginName is the variable that holds name:password for the time-stamp
// authority; with _FILE behind it, the file that does.
const loginName = "SPANSEAL_TIMESTAMP_LOGIN"

// login returns what adds the credentials of the environment to requests to the
// host that was written down, or nil. They are never printed.
func (a *app) login(host string) (http.RoundTripper, error) {
	text := a.sys.Getenv(loginName)
	if file := a.sys.Getenv(loginName + "_FILE"); text == "" && file != "" {
		data, err := os.ReadFile(file)
		if err != nil {
			return nil, refuse("name a file that you may read", "%s_FILE: %v", loginName, plain.Cause(err))
		}
		a.noteReadable("file with the login of the time-stamp authority", file)
		text, _, _ = strings.Cut(string(data), "\n")
	}
	if text = strings.TrimSpace(text); text == "" {
		return nil, nil
	}
	name, password, ok := strings.Cut(text, ":")
	if !ok {
		return nil, refuse("write name:password", "%s holds no colon", loginName)
	}
	return credentials{host, name, password}, nil
}

// credentials are sent to one host alone, and only where nobody reads along.
type credentials struct{ host, name, password string }

// RoundTrip adds the credentials to a request to that host.
func (c credentials) RoundTrip(r *http.Request) (*http.Response, error) {
	if r.URL.Host == c.host {
		if r.URL.Scheme != "https" && !isLoopback(r.URL.Hostname()) {
			return nil, errors.New("a name and password are not sent without encryption: write https://")
		}
		r = r.Clone(r.Context())
		r.SetBasicAuth(c.name, c.password)
	}
	return http.DefaultTransport.RoundTrip(r)
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// authorityClient asks a time-stamp authority, and remembers where it was sent
// on to.
type authorityClient struct {
	address string
	http    *http.Client
	mu      sync.Mutex
	sent    string // where requests were sent on to, or ""
}

// authorityClient returns one for an address, with the credentials of the
// environment.
func (a *app) authorityClient(address string) (*authorityClient, error) {
	first, err := url.Parse(address)
	if err != nil {
		return nil, err
	}
	login, err := a.login(first.Host)
	if err != nil {
		return nil, err
	}
	c := &authorityClient{address: address}
	c.http = &http.Client{Timeout: stampPatience, Transport: login, CheckRedirect: func(next *http.Request, before []*http.Request) error {
		if next.URL.Scheme != "https" && before[0].URL.Scheme == "https" {
			return fmt.Errorf("it sends requests on from https to %s", bare(next.URL))
		}
		if len(before) > 3 {
			return errors.New("it sends requests on and on")
		}
		c.mu.Lock()
		defer c.mu.Unlock()
		c.sent = bare(next.URL)
		return nil
	}}
	return c, nil
}

// bare is an address without what may be a secret in it.
func bare(u *url.URL) string {
	return (&url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}).String()
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
	a.noteUnencrypted(c.address)
}

// noteUnencrypted tells of an address that is asked without encryption.
func (a *app) noteUnencrypted(address string) {
	if u, err := url.Parse(address); err == nil && u.Scheme == "http" {
		a.note("the time-stamp authority %s is asked without encryption: whoever sees the network sees when you sign, and can keep stamps away; a stamp itself is signed", diag.Safe(bare(u)))
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
