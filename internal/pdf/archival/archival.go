// Package archival holds the rules of ISO 19005-3:2012 (PDF/A-3, conformance
// level A) and of ISO 14289-1:2014 (PDF/UA-1) that apply to files without layers,
// forms other than a signature, or scripts: one check each, over the bytes of a
// file. What of the second a program cannot see, such as whether a sentence says
// what a figure shows, is tested where the papers are made.
//
// It is for tests, of every kind of document that the program writes, and it
// shares no code with the writer: files are read with pdfcpu. It is not a
// certified validator, and none of part 3 or of ISO 14289 was at hand: a file that
// passes may still be found wanting by one. (Package pdf's tests also run a
// validator of part 1 and look at what part 3 has in common with it.) The clauses
// and their numbers are from memory of the standards, and so are the checkpoints
// of the Matterhorn Protocol 1.02.
package archival

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// Rule is one requirement.
type Rule struct {
	Clause string // of ISO 19005-3:2012, or with "UA" before it of ISO 14289-1:2014
	Text   string
	check  func(*file) []string
}

func (r Rule) String() string { return r.Clause + " " + r.Text }

// Check returns what in the file is against the rules, as "clause text:
// finding", in the order of Rules; nothing for a file that passes.
func Check(data []byte) []string {
	f, err := read(data)
	if err != nil {
		return []string{"the file cannot be read: " + err.Error()}
	}
	var findings []string
	for _, r := range Rules {
		for _, found := range r.check(f) {
			findings = append(findings, r.String()+": "+found)
		}
	}
	return findings
}

// file is a PDF file as pdfcpu reads it, with its bytes.
type file struct {
	data    []byte
	objects map[int]types.Object
	offsets map[int]int
	trailer *model.XRefTable
	root    types.Dict

	// What many rules look at is worked out once.
	ends  map[int]int
	drawn []content
	fonts map[string]*cidFont
}

func read(data []byte) (f *file, err error) {
	defer func() {
		if fault := recover(); fault != nil { // pdfcpu on damaged files
			err = fmt.Errorf("%v", fault)
		}
	}()
	api.DisableConfigDir()
	conf := model.NewDefaultConfiguration()
	conf.Offline = true
	ctx, err := api.ReadContext(bytes.NewReader(data), conf)
	if err != nil {
		return nil, err
	}
	f = &file{data: data, objects: map[int]types.Object{}, offsets: map[int]int{}, trailer: ctx.XRefTable}
	for n, e := range ctx.Table {
		if e.Free || e.Object == nil {
			continue
		}
		f.objects[n] = e.Object
		if lazy, ok := e.Object.(types.LazyObjectStreamObject); ok {
			if f.objects[n], err = lazy.DecodedObject(context.Background()); err != nil {
				return nil, err
			}
		}
		if e.Offset != nil && !e.Compressed {
			f.offsets[n] = int(*e.Offset)
		}
	}
	f.ends = f.findEnds()
	if ctx.Root == nil {
		return nil, fmt.Errorf("no catalog")
	}
	f.root = f.dict(*ctx.Root)
	if f.root == nil {
		return nil, fmt.Errorf("no catalog")
	}
	return f, nil
}

// numbers returns the object numbers in order.
func (f *file) numbers() []int { return slices.Sorted(maps.Keys(f.objects)) }

// get follows references.
func (f *file) get(o types.Object) types.Object {
	for range 8 {
		switch r := o.(type) {
		case types.IndirectRef:
			o = f.objects[r.ObjectNumber.Value()]
		case *types.IndirectRef:
			o = f.objects[r.ObjectNumber.Value()]
		default:
			return o
		}
	}
	return nil
}

// dict returns the dictionary that an object is, stands for, or that heads it
// as a stream; nil for anything else.
func (f *file) dict(o types.Object) types.Dict {
	switch d := f.get(o).(type) {
	case types.Dict:
		return d
	case types.StreamDict:
		return d.Dict
	}
	return nil
}

func (f *file) array(o types.Object) types.Array {
	a, _ := f.get(o).(types.Array)
	return a
}

func (f *file) name(o types.Object) string {
	n, _ := f.get(o).(types.Name)
	return n.Value()
}

func (f *file) number(o types.Object) (float64, bool) {
	switch n := f.get(o).(type) {
	case types.Integer:
		return float64(n), true
	case types.Float:
		return float64(n), true
	}
	return 0, false
}

// text returns the value of a string, nil for anything else.
func (f *file) text(o types.Object) []byte {
	switch s := f.get(o).(type) {
	case types.StringLiteral:
		b, err := types.Unescape(s.Value())
		if err != nil {
			return nil
		}
		return b
	case types.HexLiteral:
		b, err := s.Bytes()
		if err != nil {
			return nil
		}
		return b
	}
	return nil
}

// stream returns the decoded data of a stream.
func (f *file) stream(o types.Object) ([]byte, error) {
	s, ok := f.get(o).(types.StreamDict)
	if !ok {
		return nil, fmt.Errorf("not a stream")
	}
	if err := s.Decode(); err != nil {
		return nil, err
	}
	return s.Content, nil
}

// dicts calls visit for every dictionary of the file, the nested ones too.
func (f *file) dicts(visit func(where string, d types.Dict)) {
	var walk func(where string, o types.Object)
	walk = func(where string, o types.Object) {
		switch v := o.(type) {
		case types.StreamDict:
			walk(where, v.Dict)
		case types.Dict:
			visit(where, v)
			for _, k := range slices.Sorted(maps.Keys(v)) {
				walk(where+"/"+k, v[k])
			}
		case types.Array:
			for _, e := range v {
				walk(where, e)
			}
		}
	}
	for _, n := range f.numbers() {
		walk(fmt.Sprintf("object %d", n), f.objects[n])
	}
}

// forbid returns the places of dictionary keys that must not occur.
func (f *file) forbid(keys ...string) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		for _, k := range keys {
			if _, has := d[k]; has {
				found = append(found, where+" has /"+k)
			}
		}
	})
	return found
}

// placed returns the numbers of the objects that do not stand in object streams,
// in order.
func (f *file) placed() []int { return slices.Sorted(maps.Keys(f.offsets)) }

// findEnds finds where each object ends: at the next, or at the table or the end.
func (f *file) findEnds() map[int]int {
	last := bytes.LastIndex(f.data, []byte("\nxref\n")) + 1
	if last == 0 {
		last = bytes.LastIndex(f.data, []byte("\nstartxref\n")) + 1
	}
	starts := slices.Sorted(maps.Values(f.offsets))
	ends := map[int]int{}
	for n, from := range f.offsets {
		next, _ := slices.BinarySearch(starts, from+1)
		ends[n] = last
		if next < len(starts) {
			ends[n] = min(last, starts[next])
		}
	}
	return ends
}

// raw returns the bytes of an object.
func (f *file) raw(n int) []byte { return f.data[f.offsets[n]:max(f.offsets[n], f.ends[n])] }

// pages returns the page dictionaries in order.
func (f *file) pages() (pages []types.Dict) {
	var walk func(o types.Object, depth int)
	walk = func(o types.Object, depth int) {
		d := f.dict(o)
		if d == nil || depth > 32 {
			return
		}
		if kids := f.array(d["Kids"]); kids != nil {
			for _, k := range kids {
				walk(k, depth+1)
			}
			return
		}
		pages = append(pages, d)
	}
	walk(f.root["Pages"], 0)
	return pages
}

func join(found []string, format string, args ...any) []string {
	return append(found, fmt.Sprintf(format, args...))
}

func oneOf(s string, list string) bool { return slices.Contains(strings.Fields(list), s) }
