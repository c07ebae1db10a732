// Package strict reads YAML files that a person wrote, and takes nothing for what it
// was not meant to be.
//
// A [YAML] is read as nodes: every value keeps its place and its literal text, so
// 0.10 stays 0.10 and a serial 0042 keeps its zeros. Unknown, missing and repeated
// keys are problems, and so is a value of the wrong kind. Anchors and aliases are
// refused: nothing in a job needs them, and a few lines of them can stand for
// gigabytes. A text that may have been meant otherwise than YAML reads it, such as
// one with a remark behind it, is asked about. The size of a file is its reader's to
// bound: the whole of it is held as nodes.
package strict

import (
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// YAML is one YAML file and the list of what is wrong with it.
type YAML struct {
	File *source.File
	List *diag.List
	// NoBlanks: a key without a value is a problem even if it may be left out.
	NoBlanks bool
	// Part: what must be there may stand in another file that this one is a part of.
	// Items of lists are whole all the same.
	Part bool
	// Others are the nodes that were read from other files than File.
	Others map[*yaml.Node]*source.File
}

// FileOf is the file in which a node stands.
func (y *YAML) FileOf(n *yaml.Node) *source.File {
	if f := y.Others[n]; f != nil {
		return f
	}
	return y.File
}

// At is the place of a node, as wide as its text.
func (y *YAML) At(n *yaml.Node) diag.Place {
	width := utf8.RuneCountInString(n.Value)
	switch {
	case n.Kind != yaml.ScalarNode:
		width = 1
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0:
		width += 2
	}
	return diag.AtLine(y.FileOf(n), source.Position{Line: n.Line, Column: n.Column}, max(1, width))
}

// Fault adds an error at a node. Of one code, a thousand of a file are kept.
func (y *YAML) Fault(n *yaml.Node, code, message, want, fix string) {
	p := diag.Problem{Code: code, Place: diag.Place{File: y.FileOf(n).Name}, Message: message, Want: want, Fix: fix}
	if !y.List.Full(p.Severity, code, p.Place.File) {
		p.Place = y.At(n)
	}
	y.List.Add(p)
}
