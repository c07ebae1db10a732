package statement

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Known is a text of the job, a file or a limit set that the vocabulary may have
// under the group: "fusion splicer" of instrument_kind. It stands in an [Any] only.
type Known struct{ Group, Text string }

func (Known) kind() Kind { return KindAny }

// KindAny is an argument of any of several types, such as the old value of a
// field: the statement says of which.
const KindAny Kind = "any"

// Any is such an argument: a Name, Number, Count, NM, Day, Moment, Word or Known, or a List
// or Phrase of Any. The zero Any stands for what is not given. Unit is that of a
// Number, such as "dB".
//
// In JSON it is null or a text; else an object with one member that names the
// type, and "unit" or "group":
//
//	{"number": "0.71", "unit": "dB"}    {"day": "2026-11-18"}    {"word": "pass", "group": "verdict"}
type Any struct {
	Argument
	Unit string
}

// Phrase is values said one after the other, such as a quantity, a wavelength and
// a direction.
type Phrase []Any

func (Any) kind() Kind    { return KindAny }
func (Phrase) kind() Kind { return KindAny }

// As makes an argument of any type.
func As(v Argument) Any { return Any{Argument: v} }

// anyJSON is an Any as JSON has it.
type anyJSON struct {
	Number *string `json:"number,omitempty"`
	Unit   string  `json:"unit,omitempty"`
	Count  *Count  `json:"count,omitempty"`
	NM     *NM     `json:"nm,omitempty"`
	Day    *Day    `json:"day,omitempty"`
	Moment *Moment `json:"moment,omitempty"`
	Word   *string `json:"word,omitempty"`
	Text   *string `json:"text,omitempty"`
	Group  string  `json:"group,omitempty"`
	List   []Any   `json:"list,omitempty"`
	Phrase []Any   `json:"phrase,omitempty"`
}

// MarshalJSON writes the form of the type's comment.
func (a Any) MarshalJSON() ([]byte, error) {
	var out anyJSON
	switch v := a.Argument.(type) {
	case nil:
		return []byte("null"), nil
	case Name:
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		err := e.Encode(v)
		return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
	case Number:
		text := v.String()
		out.Number, out.Unit = &text, a.Unit
	case Count:
		out.Count = &v
	case NM:
		out.NM = &v
	case Day:
		out.Day = &v
	case Moment:
		out.Moment = &v
	case Word:
		out.Word, out.Group = &v.Code, v.Group
	case Known:
		out.Text, out.Group = &v.Text, v.Group
	case List:
		for _, item := range v {
			out.List = append(out.List, item.(Any))
		}
	case Phrase:
		out.Phrase = v
	default:
		return nil, fmt.Errorf("a %T is no value of any kind", v)
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(out)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// UnmarshalJSON reads it.
func (a *Any) UnmarshalJSON(b []byte) error {
	*a = Any{}
	switch b = bytes.TrimSpace(b); {
	case bytes.Equal(b, []byte("null")):
		return nil
	case len(b) > 0 && b[0] == '"':
		n, err := read[Name](b)
		a.Argument = n
		return err
	}
	var in anyJSON
	if err := json.Unmarshal(b, &in); err != nil {
		return err
	}
	switch {
	case in.Number != nil:
		d, err := quantity.Parse(*in.Number)
		*a = Any{Number{d}, in.Unit}
		return err
	case in.Count != nil:
		a.Argument = *in.Count
	case in.NM != nil:
		a.Argument = *in.NM
	case in.Day != nil:
		a.Argument = *in.Day
	case in.Moment != nil:
		a.Argument = *in.Moment
	case in.Word != nil:
		a.Argument = Word{in.Group, *in.Word}
	case in.Text != nil:
		a.Argument = Known{in.Group, *in.Text}
	case len(in.List) > 0:
		var list List
		for _, item := range in.List {
			list = append(list, item)
		}
		a.Argument = list
	case len(in.Phrase) > 0:
		a.Argument = Phrase(in.Phrase)
	default:
		return fmt.Errorf("a value of no known kind")
	}
	return nil
}

// UnmarshalText reads 2026-11-18.
func (d *Day) UnmarshalText(b []byte) error {
	at, err := record.ParseDate(string(b))
	*d = Day(at)
	return err
}

// UnmarshalText reads what MarshalText writes.
func (m *Moment) UnmarshalText(b []byte) error {
	form := time.RFC3339
	if !bytes.Contains(b, []byte("T")) {
		form = time.DateOnly
	}
	t, err := time.Parse(form, string(b))
	*m = Moment(t)
	return err
}
