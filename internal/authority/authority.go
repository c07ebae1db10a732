// Package authority reaches a time-stamp authority over the network, and keeps
// secrets out of what is written down.
//
// An address is http:// or https:// and a host. A name and a password go to the
// host that was written down and to no other, and never without encryption but to
// this machine; an address that holds them is refused, since job.yaml is handed
// over. Requests that are sent on are followed three times, and never from https
// to http; whoever asked is told of it by [Client.SentOn].
package authority

import (
	"errors"
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"spanseal/internal/diag"
)

// patience is how long an authority may take for one answer.
const patience = 15 * time.Second

// secretLike is the name of a value in an address that is mostly a secret.
var secretLike = regexp.MustCompile(`(?i)key|token|secret|pass|auth|user|login`)

// AddressFault says what is wrong with the address of an authority: that it is none,
// or that it holds a secret, which would stand in messages and logs. The way out of
// that names variable, which holds name:password. A good address has the zero Problem;
// whoever reports one does not repeat the address.
func AddressFault(address, variable string) (p diag.Problem) {
	switch u, err := url.Parse(address); {
	case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "":
		p.Code, p.Message = "not-a-url", "this is not the address of a time-stamp authority"
		p.Fix = "write http:// or https:// and a host"
	case u.User != nil || slices.ContainsFunc(slices.Collect(maps.Keys(u.Query())), secretLike.MatchString) || secretLike.MatchString(u.Fragment):
		p.Code, p.Message = "secret-in-address", "the address of the time-stamp authority contains a name, a password or a key"
		p.Fix = "take it out of the address; give it as name:password in the variable " + variable + ", or in the first line of the file that " + variable + "_FILE names"
	}
	return p
}

// Login is a name and a password; the zero Login is none.
type Login struct{ name, password string }

// ParseLogin reads name:password; a text of blanks is no login. Its error does not
// repeat the text.
func ParseLogin(text string) (Login, error) {
	if text = strings.TrimSpace(text); text == "" {
		return Login{}, nil
	}
	name, password, ok := strings.Cut(text, ":")
	if !ok {
		return Login{}, errors.New("holds no colon")
	}
	return Login{name, password}, nil
}

// Client asks one authority, and remembers where it was sent on to. It may be used by
// many goroutines.
type Client struct {
	Address string
	HTTP    *http.Client

	mu   sync.Mutex
	sent string // where requests were sent on to, or ""
}

// NewClient returns one for an address.
func NewClient(address string, login Login) (*Client, error) {
	first, err := url.Parse(address)
	if err != nil {
		return nil, err
	}
	c := &Client{Address: address}
	c.HTTP = &http.Client{Timeout: patience, CheckRedirect: func(next *http.Request, before []*http.Request) error {
		if next.URL.Scheme != "https" && before[0].URL.Scheme == "https" {
			return fmt.Errorf("it sends requests on from https to %s", Bare(next.URL))
		}
		if len(before) > 3 {
			return errors.New("it sends requests on and on")
		}
		c.mu.Lock()
		defer c.mu.Unlock()
		c.sent = Bare(next.URL)
		return nil
	}}
	if login != (Login{}) {
		c.HTTP.Transport = credentials{first.Host, login}
	}
	return c, nil
}

// SentOn is where requests were sent on to, without what may be a secret in it, or "".
func (c *Client) SentOn() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.sent
}

// credentials are sent to one host alone, and only where nobody reads along.
type credentials struct {
	host  string
	login Login
}

// RoundTrip adds the credentials to a request to that host.
func (c credentials) RoundTrip(r *http.Request) (*http.Response, error) {
	if r.URL.Host == c.host {
		if r.URL.Scheme != "https" && !isLoopback(r.URL.Hostname()) {
			return nil, errors.New("a name and password are not sent without encryption: write https://")
		}
		r = r.Clone(r.Context())
		r.SetBasicAuth(c.login.name, c.login.password)
	}
	return http.DefaultTransport.RoundTrip(r)
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// Bare is an address without what may be a secret in it.
func Bare(u *url.URL) string {
	return (&url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}).String()
}

// Unencrypted returns the bare address where requests to it can be read on the way,
// or "".
func Unencrypted(address string) string {
	if u, err := url.Parse(address); err == nil && u.Scheme == "http" {
		return Bare(u)
	}
	return ""
}
