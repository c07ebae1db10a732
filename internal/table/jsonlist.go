package table

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// JSONList is a table made of a JSON file (RFC 8259): each object of one of its
// lists is a row, and what stands in the objects around the list holds for all
// of its rows. A column is named by its key; keys of objects inside an object
// are joined with a point, and so are those of the objects around the list.
type JSONList struct {
	file  *source.File
	List  string // the path of the list
	Names []string
	index map[string]int
	items [][]Cell // by item and column; end 0 where there is none
	at    []int    // where each item begins
}

const (
	maxJSONValues = 800_000
	maxJSONDepth  = 100
)

// jsonNode is a value with its place.
type jsonNode struct {
	text       string // of a scalar
	start, end int
	object     bool
	list       bool
	*jsonInside
}

// jsonInside is what an object or a list holds; scalars, which are most values,
// have none.
type jsonInside struct {
	keys []string // of an object
	kids []*jsonNode
}

var nothingInside = &jsonInside{} // shared by all scalars

// jsonReader reads a file into nodes, strictly.
type jsonReader struct {
	file *source.File
	d    *json.Decoder
	left int // values
	bad  *diag.Problem
}

func (r *jsonReader) fail(code, message, fix string, at int) {
	if r.bad == nil {
		r.bad = &diag.Problem{Code: code, Place: diag.At(r.file, source.Span{Start: at, End: at + 1}), Message: message, Fix: fix}
	}
}

// next returns a token and the bytes that it takes; ok is false at the end or
// after a fault.
func (r *jsonReader) next() (t json.Token, start, end int, ok bool) {
	before := int(r.d.InputOffset())
	t, err := r.d.Token()
	end = int(r.d.InputOffset())
	if err != nil {
		var syntax *json.SyntaxError
		switch {
		case errors.As(err, &syntax):
			r.fail("json-syntax", "not valid JSON: "+syntax.Error(), "export the file again, whole", max(0, int(syntax.Offset)-1))
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			r.fail("json-syntax", "not valid JSON: it ends too early", "export the file again, whole", len(r.file.Text))
		default:
			r.fail("json-syntax", "not valid JSON: "+err.Error(), "export the file again, whole", end)
		}
		return nil, 0, 0, false
	}
	start = before + len(r.file.Text[before:end]) - len(bytes.TrimLeft(r.file.Text[before:end], " \t\r\n,:"))
	return t, start, end, true
}

func (r *jsonReader) value(depth int) *jsonNode {
	t, start, end, ok := r.next()
	if !ok {
		return nil
	}
	return r.valueOf(t, start, end, depth)
}

func (r *jsonReader) valueOf(t json.Token, start, end, depth int) *jsonNode {
	if r.left--; r.left < 0 {
		r.fail("too-large", fmt.Sprintf("this file has more than %d values", maxJSONValues), "split the export into several files", start)
		return nil
	}
	n := &jsonNode{start: start, end: end, jsonInside: nothingInside}
	switch t := t.(type) {
	case string:
		n.text = t
	case json.Number:
		n.text = t.String()
	case bool:
		n.text = strconv.FormatBool(t)
	case nil:
	case json.Delim:
		if depth == maxJSONDepth {
			r.fail("too-deep", fmt.Sprintf("lists and objects lie in one another more than %d deep", maxJSONDepth), "", start)
			return nil
		}
		n.object, n.list, n.jsonInside = t == '{', t == '[', &jsonInside{}
		return r.inside(n, depth)
	}
	return n
}

// inside reads what lies in an object or a list.
func (r *jsonReader) inside(n *jsonNode, depth int) *jsonNode {
	var seen map[string]bool // of the keys, where they are many
	for {
		t, start, end, ok := r.next()
		if !ok {
			return nil
		}
		if t == json.Delim('}') || t == json.Delim(']') {
			n.end = end
			return n
		}
		if n.object {
			key := t.(string) // the decoder lets nothing else stand here
			if len(n.keys) == MaxColumns {
				r.fail("too-many-columns", fmt.Sprintf("this object has more than %d keys", MaxColumns), "check whether this file is an export of readings at all", start)
				return nil
			}
			if len(n.keys) > 32 && seen == nil {
				seen = map[string]bool{}
				for _, k := range n.keys {
					seen[k] = true
				}
			}
			if seen[key] || seen == nil && slices.Contains(n.keys, key) {
				r.fail("duplicate-key", fmt.Sprintf("%q occurs twice in this object", key), "export the file again: if one key has two values, it is not clear which counts", start)
				return nil
			}
			if seen != nil {
				seen[key] = true
			}
			n.keys = append(n.keys, key)
			t, start, end, ok = r.next()
			if !ok {
				return nil
			}
		}
		kid := r.valueOf(t, start, end, depth+1)
		if kid == nil {
			return nil
		}
		n.kids = append(n.kids, kid)
	}
}

// OpenJSON makes a table of the list of a path, or of the only one that holds objects.
func OpenJSON(f *source.File, list string) (*JSONList, string, *diag.Problem) {
	if problem := heldWhole(f); problem != nil {
		return nil, "", problem
	}
	r := &jsonReader{file: f, d: json.NewDecoder(bytes.NewReader(f.Text)), left: maxJSONValues}
	r.d.UseNumber()
	top := r.value(0)
	if top != nil {
		if _, err := r.d.Token(); !errors.Is(err, io.EOF) {
			r.fail("json-syntax", "not valid JSON: something follows the end", "keep one JSON value in the file", int(r.d.InputOffset()))
		}
	}
	if r.bad != nil {
		return nil, "", r.bad
	}
	lists := listsIn(top, "", nil)
	t := &JSONList{file: f, List: list, index: map[string]int{}}
	switch {
	case len(lists) == 0:
		return nil, "", &diag.Problem{Code: "no-list", Place: diag.Place{File: f.Name}, Message: "this file has no list of objects with the keys of a reading",
			Fix: "keep it as evidence only: evidence_only: true in its readings entry"}
	case list == "" && len(lists) == 1:
		t.List = lists[0]
	case list == "" && lists[0] == ".":
		t.List = "."
	case list == "":
		return nil, "", &diag.Problem{Code: "which-list", Place: diag.Place{File: f.Name}, Message: "this file has several lists of objects: " + strings.Join(diag.First(lists, 10), ", "),
			Fix: "name the one whose items are the readings, such as list: " + lists[len(lists)-1] + ", in the file's readings entry"}
	}
	t.walk(top, "", nil)
	if len(t.Names) > MaxColumns {
		return nil, "", &diag.Problem{Code: "too-many-columns", Place: diag.Place{File: f.Name}, Message: fmt.Sprintf("the objects of this file have more than %d different keys", MaxColumns),
			Fix: "check whether this file is an export of readings at all"}
	}
	if len(t.items) == 0 {
		return nil, "", &diag.Problem{Code: "no-list", Place: diag.Place{File: f.Name}, Message: fmt.Sprintf("this file has no list of objects at %q", t.List),
			Want: "it has " + strings.Join(diag.First(lists, 10), ", "), Fix: "correct list in the file's readings entry"}
	}
	return t, fmt.Sprintf("%s of the list %s", diag.Plural(len(t.items), "item"), t.List), nil
}

// listsIn are the paths of lists that hold objects; "." is the whole file.
func listsIn(n *jsonNode, at string, found []string) []string {
	if n.list {
		objects := false
		for _, kid := range n.kids {
			objects = objects || kid.object
		}
		if name := at; objects {
			if name == "" {
				name = "."
			}
			if !strings.Contains("\n"+strings.Join(found, "\n")+"\n", "\n"+name+"\n") {
				found = append(found, name)
			}
		}
		for _, kid := range n.kids {
			found = listsIn(kid, at, found)
			if len(found) > 100 {
				break
			}
		}
		return found
	}
	for i, kid := range n.kids {
		if kid.object || kid.list {
			found = listsIn(kid, joinKeys(at, n.keys[i]), found)
		}
	}
	return found
}

func joinKeys(at, key string) string {
	if at == "" || at == "." {
		return key
	}
	return at + "." + key
}

// around is what holds for the rows below: name and value.
type jsonCell struct {
	name string
	node *jsonNode
}

// walk finds the list and makes a row of each object in it.
func (t *JSONList) walk(n *jsonNode, at string, around []jsonCell) {
	switch {
	case n.list && (at == t.List || at == "" && t.List == "."):
		for _, kid := range n.kids {
			t.item(kid, around)
		}
	case n.list:
		for _, kid := range n.kids {
			t.walk(kid, at, around)
		}
	case n.object:
		if !strings.HasPrefix(t.List+".", at) && at != "" {
			return // the list lies elsewhere
		}
		inner := around[:len(around):len(around)]
		for i, kid := range n.kids {
			if name := joinKeys(at, n.keys[i]); !kid.list && !strings.HasPrefix(t.List+".", name+".") {
				inner = flat(kid, name, inner)
			}
		}
		for i, kid := range n.kids {
			if name := joinKeys(at, n.keys[i]); strings.HasPrefix(t.List+".", name+".") {
				t.walk(kid, name, inner)
			}
		}
	}
}

// flat adds the scalars of a value under their names.
func flat(n *jsonNode, name string, to []jsonCell) []jsonCell {
	switch {
	case n.object:
		for i, kid := range n.kids {
			to = flat(kid, joinKeys(name, n.keys[i]), to)
		}
	case n.list:
		for i, kid := range n.kids {
			if !kid.object && !kid.list {
				to = append(to, jsonCell{name + "." + strconv.Itoa(i+1), kid})
			}
		}
	default:
		to = append(to, jsonCell{name, n})
	}
	return to
}

// item makes a row of an object; what is none makes a row of one cell without a
// name, so that it is not lost.
func (t *JSONList) item(n *jsonNode, around []jsonCell) {
	cells := flat(n, "", nil)
	row := make([]Cell, 0, len(t.Names))
	for _, list := range [][]jsonCell{around, cells} {
		for _, c := range list {
			key := c.name
			if len(around) > 0 && &list[0] == &around[0] {
				key = "\x00" + key // the same name may stand around the list and in it
			}
			i, known := t.index[key]
			if !known {
				i = len(t.Names)
				t.index[key] = i
				t.Names = append(t.Names, c.name)
			}
			for len(row) <= i {
				row = append(row, Cell{})
			}
			row[i] = Cell{Text: strings.TrimSpace(c.node.text), Start: c.node.start, End: c.node.end}
		}
	}
	t.items, t.at = append(t.items, row), append(t.at, n.start)
}

func (t *JSONList) Fault() *diag.Problem      { return nil }
func (t *JSONList) RowWord() string           { return "line" }
func (t *JSONList) Stored() bool              { return false }
func (t *JSONList) CellDelimiter() byte       { return 0 }
func (t *JSONList) CellName(*Row, int) string { return "" }
func (t *JSONList) ColumnNames() []string     { return t.Names }

func (t *JSONList) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		r := &Row{}
		for i, cells := range t.items {
			r.Number = t.file.Position(t.at[i]).Line
			r.Cells = append(r.Cells[:0], cells...)
			if !yield(r) {
				return
			}
		}
	}
}

func (t *JSONList) span(r *Row, column int) (source.Span, bool) {
	if column < 0 || column >= len(r.Cells) || r.Cells[column].End == 0 {
		return source.Span{}, false
	}
	return source.Span{Start: r.Cells[column].Start, End: r.Cells[column].End}, true
}

func (t *JSONList) Place(r *Row, column int) diag.Place {
	if s, ok := t.span(r, column); ok {
		return diag.At(t.file, s)
	}
	return diag.AtLine(t.file, source.Position{Line: r.Number}, 0)
}

func (t *JSONList) Column(r *Row, column int) int {
	if s, ok := t.span(r, column); ok {
		return t.file.Position(s.Start).Column
	}
	return 0
}

func (t *JSONList) RowOf(r *Row, column int) int {
	if s, ok := t.span(r, column); ok {
		return t.file.Position(s.Start).Line
	}
	return r.Number
}
