package statement

import (
	"bytes"
	"encoding/json"
	"fmt"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// UnmarshalJSON reads the form of the package comment. A plain string, as earlier
// forms have it, is a text without a code; so is a statement whose code this
// program does not know or whose arguments are not as the table says: its English
// text is all that can be said of it.
func (s *Statement) UnmarshalJSON(b []byte) error {
	*s = Statement{}
	if len(b) > 0 && b[0] == '"' {
		return json.Unmarshal(b, &s.Text)
	}
	var in struct {
		Code, Text string
		Args       map[string]json.RawMessage
	}
	if err := json.Unmarshal(b, &in); err != nil {
		return err
	}
	s.Text = in.Text
	e := index[in.Code]
	if e == nil || len(in.Args) != len(e.Params) {
		return nil
	}
	args := make([]Argument, len(e.Params))
	for i := range e.Params {
		v, err := e.Params[i].read(in.Args[e.Params[i].Name])
		if err != nil || !e.Params[i].takes(v) {
			return nil
		}
		args[i] = v
	}
	s.Code = in.Code
	if len(args) > 0 {
		s.Args = args
	}
	return nil
}

// read reads an argument.
func (p *Param) read(b json.RawMessage) (Argument, error) {
	switch p.Kind {
	case KindWord:
		code, err := read[string](b)
		return Word{p.Group, code}, err
	case KindName:
		return read[Name](b)
	case KindCount:
		return read[Count](b)
	case KindNumber:
		text, err := read[string](b)
		if err != nil {
			return nil, err
		}
		d, err := quantity.Parse(text)
		return Number{d}, err
	case KindAny:
		return read[Any](b)
	case KindDay:
		return read[Day](b)
	case KindMoment:
		return read[Moment](b)
	case KindAmount:
		return read[Amount](b)
	case KindRow:
		o, err := read[record.Origin](b)
		return Row(o), err
	case KindSubject:
		return read[Subject](b)
	case KindStandard:
		return read[Standard](b)
	case KindEither:
		list, err := readList(b)
		return Either(list), err
	}
	return readAny(b)
}

func read[T any](b json.RawMessage) (v T, err error) {
	if len(b) == 0 {
		return v, fmt.Errorf("an argument is missing")
	}
	return v, json.Unmarshal(b, &v)
}

func readList(b json.RawMessage) (out List, err error) {
	items, err := read[[]json.RawMessage](b)
	if err != nil {
		return nil, err
	}
	for _, item := range items {
		v, err := readAny(item)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// readAny reads what tells itself apart: a name, a wavelength or a span of them, a
// list, the first of many, a subject, a standard, a statement.
func readAny(b json.RawMessage) (Argument, error) {
	switch b = bytes.TrimSpace(b); {
	case len(b) == 0:
		return nil, fmt.Errorf("an argument is missing")
	case b[0] == '"':
		return read[Name](b)
	case b[0] == '[':
		return readList(b)
	case b[0] != '{':
		return read[NM](b)
	}
	var in struct {
		Code     string
		First    json.RawMessage
		More     int
		From, To int
		Quantity string
		Standard string
	}
	if err := json.Unmarshal(b, &in); err != nil {
		return nil, err
	}
	switch {
	case in.Code != "":
		return read[Statement](b)
	case in.First != nil:
		first, err := readList(in.First)
		return Some{first, in.More}, err
	case in.Quantity != "":
		return read[Subject](b)
	case in.Standard != "":
		return read[Standard](b)
	}
	return Span{in.From, in.To}, nil
}
