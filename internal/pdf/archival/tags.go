package archival

import (
	"encoding/xml"
	"fmt"
	"regexp"
	"strings"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// tagRules are those of ISO 14289-1:2014, with the checkpoints of the Matterhorn
// Protocol, and of what ISO 19005-3 asks for level A, which is a part of them
// (6.7).
var tagRules = []Rule{
	{"6.7.2", "the file is marked as tagged, with a structure tree", checkMarked},
	{"UA 5", "metadata: part 1 of ISO 14289 (Matterhorn 06-002)", checkUA},
	{"UA 7.1", "all content is an artifact or tagged, neither within the other (Matterhorn 01-001 to 01-005)", checkContentMarked},
	{"UA 7.1.1", "the tree and the content name each other (ISO 32000-1, 14.7.4)", checkTree},
	{"UA 7.1.2", "standard structure types, no role map (Matterhorn 02-001 to 02-004)", checkTypes},
	{"UA 7.1.3", "a title, which the window shows (Matterhorn 06-003, 07-001)", checkTitle},
	{"UA 7.2", "languages are named, by tags of BCP 47 (Matterhorn 11-001 to 11-006)", checkLanguages},
	{"UA 7.3", "figures say what they show (Matterhorn 13-004)", checkFigures},
	{"UA 7.4.2", "headings begin with the first level and skip none (Matterhorn 14-002, 14-003)", checkHeadings},
	{"UA 7.5", "tables: rows of cells, as many in each, headers with a scope (Matterhorn 09-004, 15-003)", checkTables},
	{"UA 7.6", "lists: items with label and body (Matterhorn 09-005)", checkLists},
	{"UA 7.9", "no notes, which would need names (Matterhorn 19-003)", func(f *file) []string { return f.of("Note") }},
	{"UA 7.17", "an outline where there are sections (the standard says should)", checkOutline},
	{"UA 7.18.1", "fields say what they are for (Matterhorn 28-005)", checkFieldNames},
	{"UA 7.18.3", "pages with annotations are gone through in the order of the tree (Matterhorn 28-009)", checkTabs},
	{"UA 7.18.4", "widgets stand in forms of the tree (Matterhorn 28-010)", checkWidgets},
}

// node is a structure element as the rules look at it.
type node struct {
	number int // of the object
	kind   string
	dict   types.Dict
	kids   []*node
	parent *node
	marks  []marked
}

// marked is content of a node.
type marked struct {
	page, mcid int // objects of pages
	object     int // of an annotation; 0: content
}

// tree reads the structure; what is no element is left out.
func (f *file) tree() []*node {
	var walk func(o types.Object, parent *node, pg types.Object, depth int) []*node
	walk = func(o types.Object, parent *node, pg types.Object, depth int) (out []*node) {
		if depth > 64 {
			return nil
		}
		if list := f.array(o); list != nil {
			for _, e := range list {
				out = append(out, walk(e, parent, pg, depth+1)...)
			}
			return out
		}
		if n, ok := f.number(o); ok {
			if parent != nil {
				parent.marks = append(parent.marks, marked{page: reference(pg), mcid: int(n)})
			}
			return nil
		}
		d := f.dict(o)
		switch f.name(d["Type"]) {
		case "MCR", "OBJR":
			if d["Pg"] != nil {
				pg = d["Pg"]
			}
			n, _ := f.number(d["MCID"])
			if parent != nil {
				parent.marks = append(parent.marks, marked{reference(pg), int(n), reference(d["Obj"])})
			}
			return nil
		}
		if d == nil || d["S"] == nil {
			return nil
		}
		n := &node{number: reference(o), kind: f.name(d["S"]), dict: d, parent: parent}
		if d["Pg"] != nil {
			pg = d["Pg"]
		}
		n.kids = walk(d["K"], n, pg, depth+1)
		return []*node{n}
	}
	return walk(f.dict(f.root["StructTreeRoot"])["K"], nil, nil, 0)
}

// reference is the number of the object that is referred to, 0 for none.
func reference(o types.Object) int {
	switch r := o.(type) {
	case types.IndirectRef:
		return r.ObjectNumber.Value()
	case *types.IndirectRef:
		return r.ObjectNumber.Value()
	}
	return 0
}

// nodes calls visit for each element in reading order.
func (f *file) nodes(visit func(*node)) {
	var walk func([]*node)
	walk = func(all []*node) {
		for _, n := range all {
			visit(n)
			walk(n.kids)
		}
	}
	walk(f.tree())
}

func (n *node) String() string { return fmt.Sprintf("%s %d", n.kind, n.number) }

// of are the elements of a kind.
func (f *file) of(kind string) (found []string) {
	f.nodes(func(n *node) {
		if n.kind == kind {
			found = append(found, n.String())
		}
	})
	return found
}

func checkMarked(f *file) (found []string) {
	info := f.dict(f.root["MarkInfo"])
	if marked, _ := f.get(info["Marked"]).(types.Boolean); !marked.Value() {
		found = append(found, "it is not marked")
	}
	if suspect, _ := f.get(info["Suspects"]).(types.Boolean); suspect.Value() {
		found = append(found, "its tags are suspect")
	}
	if len(f.tree()) == 0 {
		found = append(found, "no structure tree")
	}
	return found
}

func checkUA(f *file) []string {
	props, _ := f.xmp()
	if p := props[xml.Name{Space: nsUA, Local: "part"}]; p.text != "1" {
		return []string{fmt.Sprintf("pdfuaid:part is %q", p.text)}
	}
	return nil
}

// paints are operators that make something visible.
const paints = "b B b* B* Do f F f* s S Tj TJ ' \" sh"

// checkContentMarked goes through the content of pages; forms have none of their
// own here but an empty one.
func checkContentMarked(f *file) (found []string) {
	for _, c := range f.contents() {
		depth := 0
		for _, op := range c.ops {
			switch op.operator {
			case "BMC", "BDC":
				if depth++; depth > 1 {
					found = join(found, "%s: marked content in marked content", c.where)
				}
				if tag, _ := op.operands[0].(nameOperand); tag != "Artifact" && op.operator == "BMC" {
					found = join(found, "%s: %s is neither an artifact nor in the tree", c.where, tag)
				}
			case "EMC":
				depth--
			default:
				if depth == 0 && oneOf(op.operator, paints) {
					found = join(found, "%s: %s is neither an artifact nor tagged", c.where, op.operator)
				}
			}
		}
		if depth != 0 {
			found = join(found, "%s: marked content does not end", c.where)
		}
	}
	return found
}

// mcids are the numbers of the marked content of each page, with their tags.
func (f *file) mcids() []map[int]string {
	var all []map[int]string
	for _, c := range f.contents() {
		if !strings.HasPrefix(c.where, "page ") {
			continue
		}
		ids := map[int]string{}
		for _, op := range c.ops {
			if op.operator != "BDC" {
				continue
			}
			tag, _ := op.operands[0].(nameOperand)
			for _, o := range op.operands {
				if v, ok := o.(float64); ok {
					ids[int(v)] = string(tag)
				}
			}
		}
		all = append(all, ids)
	}
	return all
}

// pageNumbers are the objects of the pages, in order.
func (f *file) pageNumbers() (numbers []int) {
	var walk func(o types.Object, depth int)
	walk = func(o types.Object, depth int) {
		d := f.dict(o)
		if kids := f.array(d["Kids"]); kids != nil && depth < 32 {
			for _, k := range kids {
				walk(k, depth+1)
			}
			return
		}
		numbers = append(numbers, reference(o))
	}
	walk(f.root["Pages"], 0)
	return numbers
}

// checkTree holds three things against each other: the numbers in the content of
// each page, those in the tree, and the table that leads from the first to the
// second.
func checkTree(f *file) (found []string) {
	numbers, ids, pages := f.pageNumbers(), f.mcids(), f.pages()
	if len(numbers) != len(pages) || len(ids) != len(pages) {
		return []string{"a page is none"}
	}
	at := map[int]int{}
	for i, n := range numbers {
		at[n] = i
	}
	root := f.dict(f.root["StructTreeRoot"])
	rows := map[int]types.Object{}
	nums := f.array(f.dict(root["ParentTree"])["Nums"])
	for i := 0; i+1 < len(nums); i += 2 {
		key, _ := f.number(nums[i])
		rows[int(key)] = nums[i+1]
	}
	seen := map[marked]bool{}
	f.nodes(func(n *node) {
		parent := reference(f.root["StructTreeRoot"])
		if n.parent != nil {
			parent = n.parent.number
		}
		if reference(n.dict["P"]) != parent {
			found = join(found, "%v: its parent is not that which has it", n)
		}
		for _, m := range n.marks {
			if seen[m] {
				found = join(found, "%v: content %d is another's too", n, m.mcid)
			}
			seen[m] = true
			if m.object != 0 {
				key, ok := f.number(f.dict(f.objects[m.object])["StructParent"])
				if !ok || reference(rows[int(key)]) != n.number {
					found = join(found, "%v: its annotation does not lead to it", n)
				}
				continue
			}
			i, ok := at[m.page]
			if !ok {
				found = join(found, "%v: content %d is on no page", n, m.mcid)
				continue
			}
			if tag, ok := ids[i][m.mcid]; !ok || tag != n.kind {
				found = join(found, "%v: content %d of page %d is marked as %q", n, m.mcid, i+1, tag)
			}
			key, ok := f.number(pages[i]["StructParents"])
			if row := f.array(rows[int(key)]); !ok || m.mcid >= len(row) || reference(row[m.mcid]) != n.number {
				found = join(found, "%v: content %d of page %d does not lead to it", n, m.mcid, i+1)
			}
		}
	})
	for i := range ids {
		for id := range ids[i] {
			if !seen[marked{page: numbers[i], mcid: id}] {
				found = join(found, "page %d: content %d is in no element", i+1, id)
			}
		}
	}
	return found
}

// standardTypes are those of ISO 32000-1, 14.8.4, that our papers use.
const standardTypes = "Document Part H1 H2 P L LI Lbl LBody Table THead TBody TR TH TD Figure Form NonStruct"

func checkTypes(f *file) (found []string) {
	if f.dict(f.root["StructTreeRoot"])["RoleMap"] != nil {
		found = append(found, "a role map")
	}
	f.nodes(func(n *node) {
		if !oneOf(n.kind, standardTypes) {
			found = append(found, n.String())
		}
	})
	return found
}

func checkTitle(f *file) (found []string) {
	props, _ := f.xmp()
	if props[xml.Name{Space: nsDC, Local: "title"}].text == "" {
		found = append(found, "no dc:title")
	}
	if show, _ := f.get(f.dict(f.root["ViewerPreferences"])["DisplayDocTitle"]).(types.Boolean); !show.Value() {
		found = append(found, "the window shows the name of the file")
	}
	return found
}

var languageTag = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`)

func checkLanguages(f *file) (found []string) {
	if !languageTag.Match(f.text(f.root["Lang"])) {
		found = join(found, "the document's is %q", f.text(f.root["Lang"]))
	}
	f.nodes(func(n *node) {
		if lang := n.dict["Lang"]; lang != nil && !languageTag.Match(f.text(lang)) {
			found = join(found, "%v: %q", n, f.text(lang))
		}
	})
	return found
}

func checkFigures(f *file) (found []string) {
	f.nodes(func(n *node) {
		if n.kind == "Figure" && len(f.text(n.dict["Alt"])) == 0 {
			found = append(found, n.String())
		}
	})
	return found
}

func checkHeadings(f *file) (found []string) {
	level := 0
	f.nodes(func(n *node) {
		if len(n.kind) != 2 || n.kind[0] != 'H' || n.kind[1] < '1' || n.kind[1] > '6' {
			return
		}
		next := int(n.kind[1] - '0')
		if next > level+1 {
			found = join(found, "%v behind one of level %d", n, level)
		}
		level = next
	})
	return found
}

// kidsOf finds fault with elements that have other kids than these, or are kids
// of others.
func kidsOf(n *node, kinds string) (found []string) {
	for _, k := range n.kids {
		if !oneOf(k.kind, kinds) {
			found = join(found, "%v in %v", k, n)
		}
	}
	return found
}

func checkTables(f *file) (found []string) {
	f.nodes(func(n *node) {
		in := ""
		if n.parent != nil {
			in = n.parent.kind
		}
		switch n.kind {
		case "Table":
			found = append(found, kidsOf(n, "THead TBody")...)
			found = append(found, f.checkTable(n)...)
		case "THead", "TBody":
			found = append(found, kidsOf(n, "TR")...)
			if in != "Table" {
				found = join(found, "%v in no table", n)
			}
		case "TR":
			found = append(found, kidsOf(n, "TH TD")...)
			if in != "THead" && in != "TBody" {
				found = join(found, "%v in no table", n)
			}
		case "TH", "TD":
			if in != "TR" {
				found = join(found, "%v in no row", n)
			}
			if scope := f.name(f.dict(n.dict["A"])["Scope"]); n.kind == "TH" && !oneOf(scope, "Row Column Both") {
				found = join(found, "%v has no scope", n)
			}
		}
	})
	return found
}

// checkTable counts the columns of each row and looks for a header.
func (f *file) checkTable(table *node) (found []string) {
	columns, headers := -1, 0
	for _, part := range table.kids {
		for _, row := range part.kids {
			n := 0
			for _, cell := range row.kids {
				span := 1
				if v, ok := f.number(f.dict(cell.dict["A"])["ColSpan"]); ok {
					span = int(v)
				}
				n += span
				if cell.kind == "TH" {
					headers++
				}
			}
			if columns >= 0 && n != columns {
				found = join(found, "%v: %d columns, not %d", row, n, columns)
			}
			columns = n
		}
	}
	if headers == 0 {
		found = join(found, "%v has no header", table)
	}
	return found
}

func checkLists(f *file) (found []string) {
	f.nodes(func(n *node) {
		switch n.kind {
		case "L":
			found = append(found, kidsOf(n, "LI")...)
		case "LI":
			found = append(found, kidsOf(n, "Lbl LBody")...)
			if n.parent == nil || n.parent.kind != "L" {
				found = join(found, "%v in no list", n)
			}
		}
	})
	return found
}

func checkOutline(f *file) []string {
	if len(f.of("H2")) > 0 && f.dict(f.dict(f.root["Outlines"])["First"]) == nil {
		return []string{"none"}
	}
	return nil
}

func checkFieldNames(f *file) (found []string) {
	for _, o := range f.array(f.dict(f.root["AcroForm"])["Fields"]) {
		if len(f.text(f.dict(o)["TU"])) == 0 {
			found = append(found, "a field without /TU")
		}
	}
	return found
}

func checkTabs(f *file) (found []string) {
	for i, p := range f.pages() {
		if f.array(p["Annots"]) != nil && f.name(p["Tabs"]) != "S" {
			found = join(found, "page %d", i+1)
		}
	}
	return found
}

func checkWidgets(f *file) (found []string) {
	in := map[int]string{}
	f.nodes(func(n *node) {
		for _, m := range n.marks {
			if m.object != 0 {
				in[m.object] = n.kind
			}
		}
	})
	for i, p := range f.pages() {
		for _, o := range f.array(p["Annots"]) {
			if kind := in[reference(o)]; kind != "Form" {
				found = join(found, "page %d: annotation %d is in %q", i+1, reference(o), kind)
			}
		}
	}
	return found
}
