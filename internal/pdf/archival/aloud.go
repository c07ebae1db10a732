package archival

import (
	"slices"
	"strings"
	"unicode/utf16"
)

// ReadAloud is a structure element as it is read aloud.
type ReadAloud struct {
	Kind  string // standard structure type
	Alt   string // in place of Text, for figures
	Text  string // of its own content
	Pages []int  // from one, that its own content is on, in order
	Scope string // of header cells
	Span  int    // columns of a cell, if more than one
	Parts []ReadAloud
}

// Read returns a document as its structure tells it, in reading order. What is no
// part of the structure is not read: whoever reads aloud has nothing else.
func Read(data []byte) ([]ReadAloud, error) {
	f, err := read(data)
	if err != nil {
		return nil, err
	}
	texts := f.texts()
	page := map[int]int{}
	for i, n := range f.pageNumbers() {
		page[n] = i
	}
	var parts func([]*node) []ReadAloud
	parts = func(nodes []*node) (out []ReadAloud) {
		for _, n := range nodes {
			p := ReadAloud{Kind: n.kind, Alt: decode(f.text(n.dict["Alt"])), Scope: f.name(f.dict(n.dict["A"])["Scope"]), Parts: parts(n.kids)}
			if v, ok := f.number(f.dict(n.dict["A"])["ColSpan"]); ok {
				p.Span = int(v)
			}
			for _, m := range n.marks {
				if m.object != 0 {
					continue
				}
				i, ok := page[m.page]
				if !ok || i >= len(texts) {
					continue
				}
				p.Text += texts[i][m.mcid]
				if !slices.Contains(p.Pages, i+1) {
					p.Pages = append(p.Pages, i+1)
				}
			}
			p.Text = strings.TrimSpace(p.Text)
			out = append(out, p)
		}
		return out
	}
	return parts(f.tree()), nil
}

// texts are the texts of the marked content of each page. Codes of our fonts are
// UTF-16, which rule 6.2.11.7 checks.
func (f *file) texts() (all []map[int]string) {
	for _, c := range f.contents() {
		if !strings.HasPrefix(c.where, "page ") {
			continue
		}
		texts, id := map[int]string{}, -1
		for _, op := range c.ops {
			switch op.operator {
			case "BDC", "BMC":
				id = -1
				for _, o := range op.operands {
					if v, ok := o.(float64); ok {
						id = int(v)
					}
				}
			case "EMC":
				id = -1
			case "Tj":
				s, _ := op.operands[0].([]byte)
				var units []uint16
				for ; len(s) > 1; s = s[2:] {
					units = append(units, uint16(s[0])<<8|uint16(s[1]))
				}
				if id >= 0 {
					texts[id] += string(utf16.Decode(units))
				}
			}
		}
		all = append(all, texts)
	}
	return all
}
