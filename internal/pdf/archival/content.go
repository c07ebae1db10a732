package archival

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// operation is one operator of a content stream with its operands: float64,
// nameOperand, []byte for strings, and nil for anything else.
type operation struct {
	operator string
	operands []any
}

type nameOperand string

const space = " \t\r\n\f\x00"

// operations splits a content stream (ISO 32000-1, 7.8.2).
func operations(content []byte) (ops []operation, err error) {
	var operands []any
	for {
		content = bytes.TrimLeft(content, space)
		if len(content) == 0 {
			if operands != nil {
				return nil, fmt.Errorf("operands without an operator at the end")
			}
			return ops, nil
		}
		switch c := content[0]; {
		case c == '/':
			n := 1 + tokenLength(content[1:])
			operands = append(operands, nameOperand(content[1:n]))
			content = content[n:]
		case c == '(':
			s, n, err := literal(content)
			if err != nil {
				return nil, err
			}
			operands = append(operands, s)
			content = content[n:]
		case bytes.HasPrefix(content, []byte("<<")):
			operands = append(operands, nil)
			content = content[2:]
		case c == '<':
			n := bytes.IndexByte(content, '>')
			if n < 0 {
				return nil, fmt.Errorf("a string without end")
			}
			s, err := hex.DecodeString(string(content[1:n]))
			if err != nil {
				return nil, err
			}
			operands = append(operands, s)
			content = content[n+1:]
		case strings.IndexByte("[]>{}", c) >= 0:
			operands = append(operands, nil)
			content = content[1:]
		default:
			n := tokenLength(content)
			if n == 0 {
				return nil, fmt.Errorf("unexpected %q", c)
			}
			token := string(content[:n])
			content = content[n:]
			if v, err := strconv.ParseFloat(token, 64); err == nil {
				operands = append(operands, v)
				continue
			}
			ops = append(ops, operation{token, operands})
			operands = nil
		}
	}
}

func tokenLength(b []byte) int {
	if n := bytes.IndexAny(b, space+"/()<>[]{}%"); n >= 0 {
		return n
	}
	return len(b)
}

// literal reads a string in brackets and returns its value and length.
func literal(b []byte) (s []byte, n int, err error) {
	depth := 0
	for n < len(b) {
		c := b[n]
		n++
		switch c {
		case '(':
			if depth++; depth == 1 {
				continue
			}
		case ')':
			if depth--; depth == 0 {
				return s, n, nil
			}
		case '\\':
			if n == len(b) {
				return nil, 0, fmt.Errorf("a string without end")
			}
			c = b[n]
			n++
			switch i := strings.IndexByte("nrtbf", c); {
			case i >= 0:
				c = "\n\r\t\b\f"[i]
			case c >= '0' && c <= '7':
				v := int(c - '0')
				for range 2 {
					if n < len(b) && b[n] >= '0' && b[n] <= '7' {
						v = 8*v + int(b[n]-'0')
						n++
					}
				}
				c = byte(v)
			}
		}
		s = append(s, c)
	}
	return nil, 0, fmt.Errorf("a string without end")
}

// content is one content stream with its resources.
type content struct {
	where     string
	ops       []operation
	resources types.Dict
	own       bool // the resources stand in the page or form itself
	err       error
}

// contents returns the streams of pages and of form XObjects.
func (f *file) contents() (all []content) {
	if f.drawn != nil {
		return f.drawn
	}
	defer func() { f.drawn = all }()
	for i, p := range f.pages() {
		var joined []byte
		var fault error
		streams := f.array(p["Contents"])
		if streams == nil && p["Contents"] != nil {
			streams = types.Array{p["Contents"]}
		}
		for _, s := range streams {
			b, err := f.stream(s)
			if err != nil {
				fault = err
			}
			joined = append(append(joined, b...), '\n')
		}
		c := content{where: fmt.Sprintf("page %d", i+1), resources: f.dict(p["Resources"]), own: p["Resources"] != nil, err: fault}
		if fault == nil {
			c.ops, c.err = operations(joined)
		}
		all = append(all, c)
	}
	for _, n := range f.numbers() {
		d := f.dict(f.objects[n])
		if f.name(d["Subtype"]) != "Form" {
			continue
		}
		c := content{where: fmt.Sprintf("form %d", n), resources: f.dict(d["Resources"]), own: d["Resources"] != nil}
		b, err := f.stream(f.objects[n])
		if c.err = err; err == nil {
			c.ops, c.err = operations(b)
		}
		all = append(all, c)
	}
	return all
}

// shown calls visit for every character code that is shown, with its font.
func (f *file) shown(visit func(where string, font types.Dict, code int)) {
	for _, c := range f.contents() {
		fonts := f.dict(c.resources["Font"])
		var font types.Dict
		for _, op := range c.ops {
			switch op.operator {
			case "Tf":
				if n, ok := op.operands[0].(nameOperand); ok {
					font = f.dict(fonts[string(n)])
				}
			case "Tj", "TJ", "'", `"`:
				for _, o := range op.operands {
					s, _ := o.([]byte)
					for ; len(s) > 1; s = s[2:] {
						visit(c.where, font, int(s[0])<<8|int(s[1]))
					}
				}
			}
		}
	}
}
