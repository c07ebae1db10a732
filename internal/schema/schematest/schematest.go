// Package schematest holds files against schemas by a validator of somebody else's making;
// tests only.
package schematest

import (
	"encoding/json"
	"errors"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"gopkg.in/yaml.v3"
)

// Compile reads a schema, which must be of draft 2020-12. Formats are asserted.
func Compile(t testing.TB, name, schema string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(schema))
	if err != nil {
		t.Fatal(name, err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("schema.json", doc); err != nil {
		t.Fatal(name, err)
	}
	s, err := c.Compile("schema.json")
	if err != nil {
		t.Fatal(name, err)
	}
	if s.DraftVersion != 2020 {
		t.Errorf("%s is of draft %d, want 2020-12", name, s.DraftVersion)
	}
	return s
}

// fromYAML is a document as a validator wants it: numbers keep their digits,
// days stay texts, and a key without a value is not there.
func fromYAML(n *yaml.Node) any {
	switch n.Kind {
	case yaml.DocumentNode:
		return fromYAML(n.Content[0])
	case yaml.MappingNode:
		m := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			if v := fromYAML(n.Content[i+1]); v != nil {
				m[n.Content[i].Value] = v
			}
		}
		return m
	case yaml.SequenceNode:
		list := []any{}
		for _, item := range n.Content {
			list = append(list, fromYAML(item))
		}
		return list
	}
	switch n.Tag {
	case "!!null":
		return nil
	case "!!bool":
		return n.Value == "true"
	case "!!int", "!!float":
		if _, err := strconv.ParseFloat(n.Value, 64); err == nil {
			return json.Number(n.Value)
		}
	}
	return n.Value
}

// ValidateYAML holds a YAML document against a schema.
func ValidateYAML(s *jsonschema.Schema, data []byte) error {
	var doc yaml.Node
	if err := yaml.Unmarshal(data, &doc); err != nil {
		return err
	}
	if doc.Kind == 0 {
		return errors.New("it is empty")
	}
	return s.Validate(fromYAML(&doc))
}
