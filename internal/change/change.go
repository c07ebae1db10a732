// Package change compares what two revisions record and print, and says each
// difference as old and new.
//
// Both sides are results.json: that of the revision before, read from its file,
// and that of the new one, member by member as it is about to be written. So
// what is compared is what is on record; a member that is added to the results
// later is compared without a line here.
//
// # What is compared
//
// The job's terms, people, instruments, cables, pay items and evidence checks,
// field by field. Limit sets by id, files of readings by name and SHA-256. Then
// link by link: the verdict, the line of the schedule, terminations by end and
// place in the list, readings by quantity, wavelength, direction and event,
// limits by what they bind and by set, questions by code and arguments. What
// follows from these, such as margins, averages, counts and statistics, is not
// said again, and neither is a limit that appears or goes together with its set,
// its reading or a field.
//
// The same change of many links is one statement.
//
// # Memory
//
// Results of 100,000 links are most of a gigabyte. [Read] keeps of each link its
// name, its verdict and where it lies in the file; [Old.Compare] reads it from there
// when the new link comes, and a link whose bytes are the same is not looked
// into.
//
// # Older forms
//
// Results of form 1 have no schedule, no terminations and none of the job's
// terms, and their readings hang on findings. Of these, verdicts, readings that both
// have, limits, sets, people and instruments are compared, and a statement says so.
package change

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"

	"spanseal/internal/form"
	"spanseal/internal/statement"
)

// Old is the results of the revision before.
type Old struct {
	head   head
	file   io.ReaderAt
	order  []string
	places map[string]position
}

// position is where a link lies in the file, and its verdict.
type position struct {
	at      int64
	size, n int32 // n is its place in the order
	verdict verdict
}

// head is the results without the links.
type head struct {
	Format    string          `json:"format"`
	Title     string          `json:"title"`
	Job       string          `json:"job"`
	About     json.RawMessage `json:"about"`
	Sets      []limitSet      `json:"sets"`
	Files     []inputFile     `json:"files"`
	Questions []finding       `json:"questions"`
	PayItems  json.RawMessage `json:"pay_items"`
	Statement json.RawMessage `json:"statement"`
}

// limitSet is one of a judgement.
type limitSet struct {
	raw json.RawMessage
	key struct {
		ID      string `json:"id"`
		Edition string `json:"edition"`
	}
}

func (s *limitSet) UnmarshalJSON(b []byte) error {
	s.raw = bytes.Clone(b)
	return json.Unmarshal(b, &s.key)
}

// inputFile is a file of readings.
type inputFile struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// verdict is a verdict's number, so that large jobs take little.
type verdict uint8

var verdicts = []string{"pass", "marginal", "fail", "incomplete"}

func (v *verdict) UnmarshalText(b []byte) error {
	for i, name := range verdicts {
		if name == string(b) {
			*v = verdict(i)
			return nil
		}
	}
	return fmt.Errorf("%q is not a verdict", b)
}

func (v verdict) word() statement.Word {
	return statement.Word{Group: "verdict_word", Code: verdicts[v]}
}

// Earlier results are read after their signature was checked, so what they hold of
// the job may be large; so many bytes have a member and a link at most.
const (
	maxMember = 1 << 30
	maxLink   = 64 << 20
)

// Read finds the links in a results.json of the size. The file is read again
// while it is compared.
func Read(file io.ReaderAt, size int64) (*Old, error) {
	o := &Old{file: file, places: map[string]position{}}
	h := &o.head
	members := map[string]any{"format": &h.Format, "title": &h.Title, "job": &h.Job, "about": &h.About, "sets": &h.Sets, "files": &h.Files,
		"questions": &h.Questions, "pay_items": &h.PayItems, "statement": &h.Statement}
	results := form.ResultsReader{
		MaxMember: maxMember, MaxLink: maxLink,
		Member: func(name string) any { return members[name] },
		Link: func(decode func(any) error, at func() int64) error {
			from := at() // what parts it from the one before is read over below
			var l struct {
				Link    string  `json:"link"`
				Verdict verdict `json:"verdict"`
			}
			if err := decode(&l); err != nil {
				return err
			}
			if _, twice := o.places[l.Link]; twice {
				return fmt.Errorf("the link %q stands there twice", l.Link)
			}
			o.order = append(o.order, l.Link)
			o.places[l.Link] = position{from, int32(at() - from), int32(len(o.order)), l.Verdict}
			return nil
		},
	}
	if err := results.Read(io.NewSectionReader(file, 0, size)); err != nil {
		return nil, err
	}
	if h.Format == "" {
		h.Format = form.ResultsForms[0]
	}
	return o, nil
}

// Verdicts are the links and their verdicts, in order.
func (o *Old) Verdicts() iter.Seq2[string, string] {
	return func(yield func(string, string) bool) {
		for _, link := range o.order {
			if !yield(link, verdicts[o.places[link].verdict]) {
				return
			}
		}
	}
}

// Paid is what the results of that revision say of pay items, or nil.
func (o *Old) Paid(revision int) (*form.Earlier, error) {
	return form.ReadEarlier(revision, o.head.PayItems, o.head.Statement, o.head.About)
}

// older reports whether the schedule and the job's terms are not there.
func (o *Old) older() bool { return o.head.Format == form.ResultsForms[0] }

// link reads one from the file.
func (o *Old) link(p position) ([]byte, error) {
	b := make([]byte, p.size)
	if _, err := o.file.ReadAt(b, p.at); err != nil {
		return nil, err
	}
	return bytes.TrimLeft(b, ", \t\r\n"), nil
}

// Compare says what differs in new results: without the links, and the links in
// their order by name, each as JSON. A job in which nothing differs says so.
func (o *Old) Compare(results []byte, links iter.Seq2[string, []byte]) ([]statement.Statement, error) {
	var now head
	if err := json.Unmarshal(results, &now); err != nil {
		return nil, err
	}
	g := &gathering{}
	if err := g.heads(&o.head, &now, o.older()); err != nil {
		return nil, err
	}
	kept := make(map[string]bool, len(o.order))
	var was, is bytes.Buffer
	last := int32(0)
	for id, raw := range links {
		p, ok := o.places[id]
		if !ok {
			var l struct {
				Verdict verdict `json:"verdict"`
			}
			if err := json.Unmarshal(raw, &l); err != nil {
				return nil, err
			}
			g.links(newLinks, id, "change.link-new", l.Verdict.word())
			continue
		}
		kept[id] = true
		if p.n < last && !g.moved {
			g.tell(orderPart, "change.order")
			g.moved = true
		}
		last = p.n
		before, err := o.link(p)
		if err != nil {
			return nil, err
		}
		was.Reset()
		is.Reset()
		if err := errors.Join(json.Compact(&was, before), json.Compact(&is, raw)); err != nil {
			return nil, err
		}
		if bytes.Equal(was.Bytes(), is.Bytes()) {
			continue
		}
		if err := g.link(id, was.Bytes(), is.Bytes(), o.older()); err != nil {
			return nil, fmt.Errorf("link %q: %w", id, err)
		}
	}
	for _, id := range o.order {
		if !kept[id] {
			g.links(goneLinks, id, "change.link-gone", o.places[id].verdict.word())
		}
	}
	list := g.list()
	if len(list) == 0 {
		list = append(list, statement.New("change.none"))
	}
	if o.older() {
		list = append(list, statement.New("change.older-form"))
	}
	return list, nil
}
