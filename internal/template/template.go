// Package template reads the YAML files that a person may edit: texts, measures
// and colours under dotted keys, each with its place, by package strict. A job's own file of the
// same name changes single keys of the one that comes with the program, which is
// the schema: what it lacks is a fault in any other. A file has at most 1 MB, no
// key twice, no aliases and one document.
package template

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// largest bounds what is read as a template, in bytes.
const largest = 1 << 20

// Entry is one value of a template file and where it stands.
type Entry struct {
	Text  string
	List  []Entry // of a sequence of scalars
	Place diag.Place
	Own   bool // of the job's own file
}

// Template is a YAML file flattened to dotted keys, "colours.ink". Whatever a
// person may set is in the file that comes with the program, so that file is
// the schema: a key that it lacks is a fault in any other.
type Template map[string]Entry

// ReadOver reads a template and lays the job's own file of the same name,
// if there is one, over it.
func ReadOver(base, over fs.FS, name string, problems *diag.List) Template {
	return Read(base, name, problems).Under(over, name, problems)
}

// Under lays the job's own file of the name, if there is one, over a template,
// which stays as it is.
func (t Template) Under(over fs.FS, name string, problems *diag.List) Template {
	if over == nil {
		return t
	}
	if _, err := fs.Stat(over, name); errors.Is(err, fs.ErrNotExist) {
		return t
	}
	own := Read(over, name, problems)
	t = maps.Clone(t)
	for _, key := range slices.Sorted(maps.Keys(own)) {
		if _, known := t[key]; !known {
			problems.Add(UnknownKey(own[key].Place, key, t))
			continue
		}
		e := own[key]
		e.Own = true
		t[key] = e
	}
	return t
}

// UnknownKey is the problem of a key that the schema lacks, with those like it.
func UnknownKey(p diag.Place, key string, known Template) diag.Problem {
	problem := diag.Problem{Code: "unknown-key", Place: p, Message: fmt.Sprintf("%q is not a key of this file", key),
		Fix: "remove it, or correct the name"}
	var near []string
	last := key[strings.LastIndexByte(key, '.')+1:]
	for _, k := range slices.Sorted(maps.Keys(known)) {
		if strings.HasSuffix(k, "."+last) || strings.HasPrefix(k, key[:len(key)-len(last)]) {
			near = append(near, k)
		}
	}
	if len(near) > 0 {
		problem.Because = []string{"keys like it: " + strings.Join(near[:min(len(near), 8)], ", ")}
	}
	return problem
}

// Read reads one file, strictly: scalars, lists of scalars and nested
// mappings; no key twice, no aliases, no second document. One that comes with the
// program is read once: the wording takes longer to read than a paper to draw, and each
// set asks for it two or three times.
func Read(files fs.FS, name string, problems *diag.List) Template {
	ours, ok := files.(embed.FS)
	if !ok {
		return read(files, name, problems)
	}
	key := builtIn{ours, name}
	if t, ok := known.Load(key); ok {
		return maps.Clone(t.(Template))
	}
	before := problems.Len()
	t := read(files, name, problems)
	if problems.Len() == before {
		known.Store(key, maps.Clone(t))
	}
	return t
}

// known has the good templates that come with the program, by builtIn.
var known sync.Map

type builtIn struct {
	files embed.FS
	name  string
}

func read(files fs.FS, name string, problems *diag.List) Template {
	t := Template{}
	raw, err := fs.ReadFile(files, name)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-template", Place: diag.Place{File: name},
			Message: "there is no such template", Fix: "use a language or document that exists, or add the file"})
		return t
	}
	file := source.New(name, raw)
	if len(raw) > largest {
		problems.Add(diag.Problem{Code: "too-large", Place: diag.Place{File: name}, Message: "a template has at most 1 MB"})
		return t
	}
	if saysNothing(file) {
		return t
	}
	d := &strict.YAML{File: file, List: problems}
	if top := d.Root(); top != nil {
		t.flatten(d, top, "")
	}
	return t
}

// saysNothing reports a file of blank lines and remarks: one of a job's own whose
// changes were all taken back.
func saysNothing(file *source.File) bool {
	for n := 1; n <= file.Lines(); n++ {
		if line := strings.TrimSpace(file.Line(n)); line != "" && line[0] != '#' {
			return false
		}
	}
	return true
}

// flatten takes the values of an object, and of those in it, under dotted keys.
func (t Template) flatten(d *strict.YAML, n *yaml.Node, prefix string) {
	if n.Kind != yaml.MappingNode {
		d.Fault(n, "wrong-type", "this is "+strict.KindOf(n)+", not a group of keys and values", "", "write key: value")
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		key := prefix + k.Value
		if _, twice := t[key]; twice {
			d.Fault(k, "duplicate-key", fmt.Sprintf("%q occurs here twice", key), "", "keep one of them")
			continue
		}
		switch v.Kind {
		case yaml.ScalarNode:
			t[key] = Entry{Text: v.Value, Place: d.At(k)}
		case yaml.SequenceNode:
			list := []Entry{}
			for _, item := range v.Content {
				if item.Kind != yaml.ScalarNode {
					d.Fault(item, "wrong-type", "an item of "+key+" is "+strict.KindOf(item)+", not a single value", "", "")
					continue
				}
				list = append(list, Entry{Text: item.Value, Place: d.At(item)})
			}
			t[key] = Entry{List: list, Place: d.At(k)}
		case yaml.MappingNode:
			t.flatten(d, v, key+".")
		}
	}
}
