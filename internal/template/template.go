// Package template reads the YAML files that a person may edit: texts, measures
// and colours under dotted keys, each with its place. A job's own file of the
// same name changes single keys of the one that comes with the program, which is
// the schema: what it lacks is a fault in any other. A file has at most 1 MB, no
// key twice, no aliases and one document.
package template

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
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
		Mend: "remove it, or correct the name"}
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
// mappings; no key twice, no aliases, no second document.
func Read(files fs.FS, name string, problems *diag.List) Template {
	t := Template{}
	raw, err := fs.ReadFile(files, name)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-template", Place: diag.Place{File: name},
			Message: "there is no such template", Mend: "use a language or document that exists, or add the file"})
		return t
	}
	file := source.New(name, raw)
	if len(raw) > largest {
		problems.Add(diag.Problem{Code: "too-large", Place: diag.Place{File: name}, Message: "a template has at most 1 MB"})
		return t
	}
	var doc yaml.Node
	if err := yaml.Unmarshal(file.Text, &doc); err != nil {
		problems.Add(diag.Problem{Code: "not-yaml", Place: diag.Place{File: name}, Message: strings.TrimPrefix(err.Error(), "yaml: ")})
		return t
	}
	if len(doc.Content) == 0 {
		return t
	}
	r := reader{file: file, problems: problems, into: t}
	r.mapping(doc.Content[0], "")
	return t
}

type reader struct {
	file     *source.File
	problems *diag.List
	into     Template
}

func (r *reader) place(n *yaml.Node) diag.Place {
	return diag.AtLine(r.file, source.Position{Line: n.Line, Column: n.Column}, len([]rune(n.Value)))
}

func (r *reader) refuse(n *yaml.Node, code, message, mend string) {
	r.problems.Add(diag.Problem{Code: code, Place: r.place(n), Message: message, Mend: mend})
}

func (r *reader) mapping(n *yaml.Node, prefix string) {
	if n.Kind != yaml.MappingNode {
		r.refuse(n, "bad-value", "keys and values are expected here", "write key: value")
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		key := prefix + k.Value
		if _, twice := r.into[key]; twice {
			r.refuse(k, "duplicate-key", fmt.Sprintf("%q stands here twice", key), "keep one of them")
			continue
		}
		switch v.Kind {
		case yaml.ScalarNode:
			r.into[key] = Entry{Text: v.Value, Place: r.place(k)}
		case yaml.SequenceNode:
			list := []Entry{}
			for _, item := range v.Content {
				if item.Kind != yaml.ScalarNode {
					r.refuse(item, "bad-value", "a plain text is expected here", "")
					continue
				}
				list = append(list, Entry{Text: item.Value, Place: r.place(item)})
			}
			r.into[key] = Entry{List: list, Place: r.place(k)}
		case yaml.MappingNode:
			r.mapping(v, key+".")
		default:
			r.refuse(v, "bad-value", "aliases are not read in templates", "write the value out")
		}
	}
}
