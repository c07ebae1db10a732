// Package schema describes the files that people write and programs read.
//
// YAML and JSON files are described by JSON Schema, draft 2020-12; CSV files by the
// metadata vocabulary for tabular data of the W3C (CSV on the Web, 2015). Most
// descriptions are files below templates/schema. Those of the files that a job may
// hold a copy of, with only the keys that it changes (documents/*.yaml and
// wording/*.yaml), are made of the files themselves, which are their own schema: see
// package template. What describes a part of job.yaml that may stand in a file of its
// own (pay.yaml, a mapping of readings) is taken from the schema of job.yaml, and so is
// that of a company file.
//
// A description says what a file looks like, not whether it is right.
package schema

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"
)

// Described is one kind of file.
type Described struct {
	Name  string // what it is asked for by
	Files string // which files it describes
	made  func(templates fs.FS) ([]byte, error)
}

const (
	folder = "schema"
	ofJSON = ".schema.json"
	ofCSV  = ".csvw.json"
	draft  = "https://json-schema.org/draft/2020-12/schema"
)

// All are the descriptions there are: first what a person writes, in the order of a
// job, then what programs write.
func All(templates fs.FS) []Described {
	all := []Described{
		stored("job", "job.yaml", ofJSON),
		firm("company"),
		part("pay", "pay.yaml", "pay"),
		part("mapping", "a mapping file, named by readings in job.yaml", "mapping", "files", "evidence_only", "mapping"),
		stored("links", "links.csv", ofCSV),
		stored("terminations", "terminations.csv", ofCSV),
		stored("inspections", "inspections.csv", ofCSV),
		stored("originals", "originals.csv", ofCSV),
		stored("limits", "a limit set, named by limits in job.yaml", ofJSON),
		stored("limit-tests", "the tests of limit sets", ofJSON),
	}
	for _, name := range []string{"style", "certificate", "nonconformance", "summary", "comparison", "labels"} {
		all = append(all, own(name, "documents/"+name+".yaml"))
	}
	all = append(all, own("wording", "wording/en.yaml"))
	for _, name := range []string{"results", "record"} {
		all = append(all, stored(name, name+".json", ofJSON))
	}
	return all
}

// Of is the description with a name, as bytes to print. It is [fs.ErrNotExist] where
// there is none.
func Of(templates fs.FS, name string) ([]byte, error) {
	all := All(templates)
	i := slices.IndexFunc(all, func(d Described) bool { return d.Name == name })
	if i < 0 {
		return nil, fs.ErrNotExist
	}
	return all[i].made(templates)
}

func stored(name, files, suffix string) Described {
	return Described{name, files, func(templates fs.FS) ([]byte, error) {
		return fs.ReadFile(templates, path.Join(folder, name+suffix))
	}}
}

// part is the schema of a part of job.yaml that may be a file by itself, without the
// keys that it has in job.yaml alone.
func part(name, files, of string, without ...string) Described {
	return Described{name, files, func(templates fs.FS) ([]byte, error) {
		data, err := fs.ReadFile(templates, path.Join(folder, "job"+ofJSON))
		if err != nil {
			return nil, err
		}
		var job struct {
			Properties map[string]json.RawMessage
			Defs       map[string]json.RawMessage `json:"$defs"`
		}
		if err := json.Unmarshal(data, &job); err != nil {
			return nil, err
		}
		one, ok := job.Defs[of]
		if !ok {
			if one, ok = job.Properties[of]; !ok {
				return nil, fmt.Errorf("job.yaml has no %s", of)
			}
		}
		var schema map[string]any
		if err := json.Unmarshal(one, &schema); err != nil {
			return nil, err
		}
		if keys, ok := schema["properties"].(map[string]any); ok {
			for _, key := range without {
				delete(keys, key)
			}
		}
		if required, ok := schema["required"].([]any); ok {
			schema["required"] = slices.DeleteFunc(required, func(key any) bool { return slices.Contains(without, fmt.Sprint(key)) })
		}
		delete(job.Defs, of)
		schema["$schema"], schema["$defs"] = draft, job.Defs
		schema["$id"], schema["title"] = "urn:spanseal:schema:"+name+":1", files
		return indented(schema)
	}}
}

// own is the schema of a file that comes with the program: each of its keys may stand
// in a job's own, with a value of the same kind, and no other.
func own(name, file string) Described {
	return Described{name, file, func(templates fs.FS) ([]byte, error) {
		data, err := fs.ReadFile(templates, file)
		if err != nil {
			return nil, err
		}
		var doc yaml.Node
		if err := yaml.Unmarshal(data, &doc); err != nil {
			return nil, err
		}
		if len(doc.Content) != 1 || doc.Content[0].Kind != yaml.MappingNode {
			return nil, errors.New(file + " holds no keys")
		}
		schema := ofNode(doc.Content[0])
		schema["$schema"], schema["$id"], schema["title"] = draft, "urn:spanseal:schema:"+name+":1", file
		schema["description"] = "A job's own file holds only the keys that it changes."
		return indented(schema)
	}}
}

// ofNode describes a value by the one that the program has.
func ofNode(n *yaml.Node) map[string]any {
	switch n.Kind {
	case yaml.MappingNode:
		properties := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			key, value := n.Content[i], n.Content[i+1]
			one := ofNode(value)
			if said := comment(key, value); said != "" {
				one["description"] = said
			}
			properties[key.Value] = one
		}
		return map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	case yaml.SequenceNode:
		return map[string]any{"type": "array", "items": map[string]any{"type": []string{"string", "number"}}}
	}
	if _, err := strconv.ParseFloat(n.Value, 64); err == nil && n.Style == 0 {
		return map[string]any{"type": []string{"number", "string"}, "default": json.Number(n.Value)} // a number, or a word as "largest" is one
	}
	return map[string]any{"type": []string{"string", "number", "boolean"}, "default": n.Value}
}

// comment is what the file says beside a key.
func comment(key, value *yaml.Node) string {
	text := value.LineComment
	if text == "" {
		text = key.LineComment
	}
	return strings.TrimSpace(strings.TrimPrefix(text, "#"))
}

func indented(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	return b.Bytes(), err
}
