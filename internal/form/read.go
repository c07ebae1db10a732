package form

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"spanseal/internal/bounds"
)

// ResultsForms are the forms of results.json that can be read. The first has no
// schedule, no terminations and none of the job's terms, and its readings hang on
// findings.
var ResultsForms = []string{"spanseal-results/1", ResultsFormat}

// UnknownFormError reports results of a form that is not known.
type UnknownFormError struct{ Form string }

func (e *UnknownFormError) Error() string {
	return fmt.Sprintf("%q is not a form of results that this program knows: want %s", e.Form, strings.Join(ResultsForms, " or "))
}

// Results have at most so many bytes and members, and an element of a member that is
// passed over at most so many bytes.
const (
	maxResults = 16 << 30
	maxMembers = 1000
	maxElement = 16 << 20
)

// ResultsReader goes through a results.json, member by member and link by link: that of a
// large job does not fit a small machine. It has at most 1000 members and 16 GB. What
// is larger, or no JSON, is an error; an [UnknownFormError] if it is of another form.
type ResultsReader struct {
	// MaxMember and MaxLink are how many bytes a member that is read, and a link, has
	// at most.
	MaxMember, MaxLink int64
	// Member says where to read a member to, other than the links; nil passes it
	// over.
	Member func(name string) any
	// Link is called for each link, in order. It reads it by decode, once; at is how
	// far the file is read then, in bytes.
	Link func(decode func(to any) error, at func() int64) error

	decoder *json.Decoder
	window  *bounds.Window
}

// Read reads the one object that results.json is, to the end of the stream.
func (r ResultsReader) Read(from io.Reader) error {
	r.decoder, r.window = bounds.Decode(from, maxResults, maxElement)
	if err := r.expect('{', "it is not an object"); err != nil {
		return err
	}
	for n := 0; r.decoder.More(); n++ {
		t, err := r.decoder.Token()
		if err != nil {
			return err
		}
		if n == maxMembers {
			return bounds.ErrTooLarge
		}
		if err := r.member(t.(string)); err != nil { // a name is a string
			return err
		}
	}
	if _, err := r.decoder.Token(); err != nil {
		return err
	}
	switch _, err := r.decoder.Token(); err {
	case io.EOF:
		return nil
	case nil:
		return errors.New("something follows the results")
	default:
		return err
	}
}

func (r *ResultsReader) member(name string) error {
	if name == "links" {
		return r.links()
	}
	if name == "format" {
		var form string
		if err := r.decoder.Decode(&form); err != nil {
			return err
		}
		if !slices.Contains(ResultsForms, form) {
			return &UnknownFormError{form}
		}
		if to, ok := r.Member(name).(*string); ok {
			*to = form
		}
		return nil
	}
	to := r.Member(name)
	if to == nil {
		return r.window.Discard()
	}
	r.window.Most = r.MaxMember
	err := r.decoder.Decode(to)
	r.window.Most = maxElement
	return err
}

func (r *ResultsReader) links() error {
	r.window.Most = r.MaxLink
	if err := r.expect('[', "links is not a list"); err != nil {
		return err
	}
	for r.decoder.More() {
		if err := r.Link(r.decoder.Decode, r.decoder.InputOffset); err != nil {
			return err
		}
	}
	_, err := r.decoder.Token()
	r.window.Most = maxElement
	return err
}

// expect reads the begin of an object or a list.
func (r *ResultsReader) expect(want json.Delim, otherwise string) error {
	if t, err := r.decoder.Token(); err != nil || t != want {
		return errors.Join(errors.New(otherwise), err)
	}
	return nil
}
