package certify

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

// largestTemplate bounds what is read as a template, in bytes.
const largestTemplate = 1 << 20

// entry is one value of a template file and where it stands.
type entry struct {
	text  string
	list  []entry // of a sequence of scalars
	place diag.Place
	own   bool // of the job's own file
}

// template is a YAML file flattened to dotted keys, "colours.ink". Whatever a
// person may set is in the file that comes with the program, so that file is
// the schema: a key that it lacks is a fault in any other.
type template map[string]entry

// loadTemplate reads a template and lays the job's own file of the same name,
// if there is one, over it.
func loadTemplate(base, over fs.FS, name string, problems *diag.List) template {
	t := readTemplate(base, name, problems)
	if over == nil {
		return t
	}
	if _, err := fs.Stat(over, name); errors.Is(err, fs.ErrNotExist) {
		return t
	}
	own := readTemplate(over, name, problems)
	for _, key := range slices.Sorted(maps.Keys(own)) {
		if _, known := t[key]; !known {
			problems.Add(unknownKey(own[key].place, key, t))
			continue
		}
		e := own[key]
		e.own = true
		t[key] = e
	}
	return t
}

func unknownKey(p diag.Place, key string, known template) diag.Problem {
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

// readTemplate reads one file, strictly: scalars, lists of scalars and nested
// mappings; no key twice, no aliases, no second document.
func readTemplate(files fs.FS, name string, problems *diag.List) template {
	t := template{}
	raw, err := fs.ReadFile(files, name)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-template", Place: diag.Place{File: name},
			Message: "there is no such template", Mend: "use a language or document that exists, or add the file"})
		return t
	}
	file := source.New(name, raw)
	if len(raw) > largestTemplate {
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
	into     template
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
			r.into[key] = entry{text: v.Value, place: r.place(k)}
		case yaml.SequenceNode:
			list := []entry{}
			for _, item := range v.Content {
				if item.Kind != yaml.ScalarNode {
					r.refuse(item, "bad-value", "a plain text is expected here", "")
					continue
				}
				list = append(list, entry{text: item.Value, place: r.place(item)})
			}
			r.into[key] = entry{list: list, place: r.place(k)}
		case yaml.MappingNode:
			r.mapping(v, key+".")
		default:
			r.refuse(v, "bad-value", "aliases are not read in templates", "write the value out")
		}
	}
}
