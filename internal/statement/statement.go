// Package statement is what can be said: a code with typed arguments and what it
// rests on, in no language.
//
// Every question, advice, change, conclusion and sentence that stands on paper,
// in a record or on the terminal is a [Statement]. [Codes] is the one table of
// them: what each code's arguments are, what must be on record for it to be
// true, and who reads it. A wording file holds one form for each code; package
// wording fills the arguments in.
//
// # JSON
//
// A statement is an object with "code", "args" in the order of the table, left
// out where there are none, and "text", the English text where a writer filled it
// in:
//
//	{"code": "calibration.overdue", "args": {"instrument": "PM-1", "day": "2026-11-18", "due": "2026-11-02"},
//	 "text": "Was PM-1 calibrated again before 18 Nov 2026? Its calibration was due on 2 Nov 2026."}
//
// Names and words are strings, decimals strings of their digits, counts and
// wavelengths numbers, days and moments ISO 8601 (a moment without an hour is a
// day), lists arrays; [Some], [Amount], [Span], [Row], [Subject], [Standard] and a
// statement within are objects.
package statement

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Statement is one thing that is said. The zero Statement says nothing.
type Statement struct {
	Code string
	Args []Argument // in the order of the code's parameters
	// Text is the English text, where a writer filled it in.
	Text string
}

// Asked is a question and what it is asked of: links of the schedule, by their places in
// it, or the job as a whole where there are none.
type Asked struct {
	Links    []int
	Question Statement
}

// New makes a statement. A code that is not in the table, and arguments of
// another number or kind than it names, are programming faults.
func New(code string, args ...Argument) Statement {
	e := index[code]
	if e == nil {
		panic("statement: no code " + code)
	}
	if len(args) != len(e.Params) {
		panic(fmt.Sprintf("statement: %s takes %d arguments, not %d", code, len(e.Params), len(args)))
	}
	for i, a := range args {
		if p := &e.Params[i]; !p.takes(a) {
			panic(fmt.Sprintf("statement: %s of %s is a %s, not %#v", p.Name, code, p.Kind, a))
		}
	}
	return Statement{Code: code, Args: args}
}

// IsZero reports whether nothing is said.
func (s Statement) IsZero() bool { return s.Code == "" }

// Entry is the code's row of the table.
func (s Statement) Entry() *CodeRow { return index[s.Code] }

// Key tells statements apart: two with the same key say the same.
func (s Statement) Key() string {
	s.Text = ""
	b, err := s.MarshalJSON()
	if err != nil {
		panic(err) // every kind of value encodes
	}
	return string(b)
}

// MarshalJSON writes the form of the package comment.
func (s Statement) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	put := func(v any) error {
		if err := e.Encode(v); err != nil {
			return err
		}
		b.Truncate(b.Len() - 1) // the line feed
		return nil
	}
	b.WriteString(`{"code":`)
	if err := put(s.Code); err != nil {
		return nil, err
	}
	for i, a := range s.Args {
		sep := `,"args":{`
		if i > 0 {
			sep = ","
		}
		b.WriteString(sep)
		if err := put(s.Entry().Params[i].Name); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := put(a); err != nil {
			return nil, err
		}
	}
	if len(s.Args) > 0 {
		b.WriteByte('}')
	}
	if s.Text != "" {
		b.WriteString(`,"text":`)
		if err := put(s.Text); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Argument is an argument: one of the types below.
type Argument interface{ kind() Kind }

// Kind is the type of an argument.
type Kind string

// The kinds of argument.
const (
	KindName   Kind = "name"
	KindNumber Kind = "number"
	KindCount  Kind = "count"
	KindNM     Kind = "nm"
	KindDay    Kind = "day"
	KindMoment Kind = "moment"
	KindWord   Kind = "word"
	KindList   Kind = "list"
	KindEither Kind = "either"
	KindAmount Kind = "amount"
	KindRow    Kind = "row"
	KindSaid   Kind = "statement"

	KindSubject  Kind = "subject"
	KindStandard Kind = "standard"
)

// Name is a text of the job or of a file as it was written there: a link, an
// instrument, a person, a reason. It is the same in every language.
type Name string

// Number is a decimal, printed with the digits that it has. Its unit stands in
// the code's form.
type Number struct{ quantity.Decimal }

// Count is a whole number of things.
type Count int

// NM is a wavelength in nanometres.
type NM int

// Day is a calendar day.
type Day record.Date

// Moment is an instant in the job's zone, or a day where no hour was written.
type Moment time.Time

// Word is a word of the vocabulary, such as direction "A-B": each language has
// its own. A word that the vocabulary lacks, of an owner's file, stays as it is.
type Word struct{ Group, Code string }

// List is several values joined by "and", Either by "or".
type (
	List   []Argument
	Either []Argument
)

// Some is the first of many values, and how many more there are.
type Some struct {
	First List
	More  int
}

// Amount is a number of things of a kind that the vocabulary has in the singular
// and the plural: 2 mated pairs.
type Amount struct {
	N  int
	Of string
}

// Span is a range of wavelengths in nanometres, both ends included.
type Span struct{ From, To int }

// Row is a place in a file of readings.
type Row record.Origin

// Subject is what a reading, a limit or a change is about. What does not apply is
// left out; only the quantity is always there.
type Subject struct {
	Quantity record.Quantity  `json:"quantity"`
	NM       int              `json:"nm,omitempty"` // wavelength
	Way      record.Direction `json:"way,omitempty"`
	End      string           `json:"end,omitempty"`   // of a link: "A" or "B"
	Event    string           `json:"event,omitempty"` // such as the name of a splice
}

// Standard is a standard, or another document that sets limits, with its edition.
type Standard struct {
	Name    string `json:"standard"`
	Edition string `json:"edition,omitempty"`
}

func (Name) kind() Kind      { return KindName }
func (Number) kind() Kind    { return KindNumber }
func (Count) kind() Kind     { return KindCount }
func (NM) kind() Kind        { return KindNM }
func (Day) kind() Kind       { return KindDay }
func (Moment) kind() Kind    { return KindMoment }
func (Word) kind() Kind      { return KindWord }
func (List) kind() Kind      { return KindList }
func (Either) kind() Kind    { return KindEither }
func (Some) kind() Kind      { return KindList }
func (Amount) kind() Kind    { return KindAmount }
func (Span) kind() Kind      { return KindNM }
func (Row) kind() Kind       { return KindRow }
func (Statement) kind() Kind { return KindSaid }
func (Subject) kind() Kind   { return KindSubject }
func (Standard) kind() Kind  { return KindStandard }

// takes reports whether an argument is of the parameter's kind.
func (p *Param) takes(v Argument) bool {
	if v == nil || v.kind() != p.Kind {
		return false
	}
	w, isWord := v.(Word)
	return !isWord || w.Group == p.Group
}

// MarshalText writes 2026-11-18.
func (d Day) MarshalText() ([]byte, error) { return record.Date(d).MarshalText() }

// MarshalText writes an instant, or a day where no hour was written.
func (m Moment) MarshalText() ([]byte, error) {
	t := time.Time(m)
	if record.DayOnly(t) {
		return []byte(t.Format(time.DateOnly)), nil
	}
	return []byte(t.Format(time.RFC3339)), nil
}

// MarshalText writes the word's code.
func (w Word) MarshalText() ([]byte, error) { return []byte(w.Code), nil }

// MarshalJSON writes {"first": [...], "more": 3}.
func (s Some) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		First List `json:"first"`
		More  int  `json:"more"`
	}{s.First, s.More})
}

// MarshalJSON writes {"n": 2, "of": "mated_pair"}.
func (a Amount) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		N  int    `json:"n"`
		Of string `json:"of"`
	}{a.N, a.Of})
}

// MarshalJSON writes {"from": 1260, "to": 1360}.
func (s Span) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		From int `json:"from"`
		To   int `json:"to"`
	}{s.From, s.To})
}

// MarshalJSON writes {"file": "readings/day1.csv", "row": 14}, or "cell".
func (r Row) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		File string `json:"file"`
		Row  int    `json:"row,omitempty"`
		Cell string `json:"cell,omitempty"`
	}{r.File, r.Row, r.Cell})
}

// Rounded is a number as it is printed with so many digits after the point.
func Rounded(d quantity.Decimal, places int) Number { return Number{d.Round(places)} }

// Short is a number without trailing zeros.
func Short(d quantity.Decimal) Number { return Number{quantity.Must(d.Short())} }

// Names makes a list of names.
func Names(names ...string) List {
	out := make(List, len(names))
	for i, n := range names {
		out[i] = Name(n)
	}
	return out
}

// Wavelengths makes a list of them.
func Wavelengths(nm ...int) List {
	out := make(List, len(nm))
	for i, n := range nm {
		out[i] = NM(n)
	}
	return out
}

// mostNamed is how many of many things a statement names before it counts.
const mostNamed = 4

// Few is a list of names, the first few of them where there are many.
func Few(names []string) Argument {
	if len(names) <= mostNamed {
		return Names(names...)
	}
	return Some{Names(names[:mostNamed]...), len(names) - mostNamed}
}

// Way is a direction as a word.
func Way(d record.Direction) Word { return Word{"way", string(d)} }

// End is an end of a link as a word: "A", "B", or "" of a splice in the span.
func End(end string) Word {
	if end == "" {
		end = "splice"
	}
	return Word{"end_at", end}
}
