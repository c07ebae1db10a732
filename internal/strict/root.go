package strict

import (
	"bytes"
	"errors"
	"io"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// Root returns the document's top node, or nil after adding a problem: for an empty
// file, bytes that are no UTF-8, a fault of syntax, a second document, an alias.
func (y *YAML) Root() *yaml.Node {
	if at, ok := source.InvalidUTF8(y.File.Text); !ok {
		y.List.Add(diag.NotUTF8(y.File, at, "save the file as UTF-8"))
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(y.File.Text))
	var top, next yaml.Node
	err := dec.Decode(&top)
	if err == nil {
		if err := dec.Decode(&next); err == nil {
			y.Fault(next.Content[0], "second-document", "a second YAML document starts here", "", "keep one document in the file; remove the line ---")
			return nil
		} else if !errors.Is(err, io.EOF) {
			y.syntax(err)
			return nil
		}
	}
	switch {
	case errors.Is(err, io.EOF):
		y.List.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: y.File.Name}, Message: "the file is empty"})
		return nil
	case err != nil:
		y.syntax(err)
		return nil
	}
	if bad := aliased(&top); bad != nil {
		y.Fault(bad, "yaml-alias", "anchors and aliases (& and *) are not read", "", `write the value out, or quote a text that begins with & or *`)
		return nil
	}
	return top.Content[0]
}

// aliased returns the first anchor or alias.
func aliased(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode || n.Anchor != "" {
		return n
	}
	for _, c := range n.Content {
		if bad := aliased(c); bad != nil {
			return bad
		}
	}
	return nil
}
