package form

import (
	"errors"
	"io"
	"strings"
	"testing"

	"spanseal/internal/bounds"
)

// TestResultsReader: members are handed on by name and links one by one, each with its
// place in the file, and whatever is no results.json is refused.
func TestResultsReader(t *testing.T) {
	const head = `{"format":"spanseal-results/2","job":"J-1"`
	for _, c := range []struct {
		name, text string
		job, links string // links: name@end of what was read
		err        error
		says       string
	}{
		{name: "members in any order", text: `{"links":[{"link":"A"},{"link":"B"}],"format":"spanseal-results/1","unknown":{"a":[1]},"job":"J-1"}`, job: "J-1", links: "A@22 B@35 "},
		{name: "no links", text: head + `,"links":[]}`, job: "J-1"},
		{name: "no form", text: `{"job":"J-1"}`, job: "J-1"},
		{name: "nothing", text: ``, err: io.EOF, says: "it is not an object"},
		{name: "text", text: `not JSON at all`, says: "it is not an object"},
		{name: "a list", text: `[]`, says: "it is not an object"},
		{name: "cut off", text: head, err: io.EOF, job: "J-1"},
		{name: "more behind it", text: head + `} {}`, job: "J-1", says: "something follows the results"},
		{name: "rubbish behind it", text: head + `} x`, job: "J-1", says: "invalid character"},
		{name: "another form", text: `{"format":"spanseal-results/3","job":"J-1"}`, says: `"spanseal-results/3" is not a form of results that this program knows`},
		{name: "a form that is no text", text: `{"format":2}`, says: "cannot unmarshal number"},
		{name: "links that are no list", text: head + `,"links":{}}`, job: "J-1", says: "links is not a list"},
		{name: "a member that is too large", text: `{"job":"` + strings.Repeat("x", 1<<20) + `"}`, err: bounds.ErrTooLarge},
		{name: "a link that is too large", text: `{"links":[{"link":"` + strings.Repeat("x", 1<<20) + `"}]}`, err: bounds.ErrTooLarge},
		{name: "too many members", text: `{` + strings.Repeat(`"a":1,`, 1000) + `"job":"J-1"}`, err: bounds.ErrTooLarge},
		{name: "as many members as there may be", text: `{` + strings.Repeat(`"a":1,`, 999) + `"job":"J-1"}`, job: "J-1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			job, links := "", ""
			err := ResultsReader{
				MaxMember: 1 << 10, MaxLink: 1 << 10,
				Member: func(name string) any {
					if name == "job" {
						return &job
					}
					return nil
				},
				Link: func(decode func(any) error, at func() int64) error {
					var l struct{ Link string }
					if err := decode(&l); err != nil {
						return err
					}
					links += l.Link + "@" + number(int(at())) + " "
					return nil
				},
			}.Read(strings.NewReader(c.text))
			if job != c.job || links != c.links {
				t.Errorf("job %q, links %q; want %q, %q", job, links, c.job, c.links)
			}
			switch {
			case c.err == nil && c.says == "" && err != nil:
				t.Error(err)
			case c.err != nil && !errors.Is(err, c.err):
				t.Errorf("%v, want %v", err, c.err)
			case c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)):
				t.Errorf("%v, want %q", err, c.says)
			}
		})
	}
}
