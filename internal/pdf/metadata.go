package pdf

import (
	"encoding/xml"
	"strings"
)

// producer is the program's name in every file. It carries no version, so that
// a file can be made again, byte for byte, by a later version.
const producer = "spanseal"

const xmpDate = "2006-01-02T15:04:05Z"

// uaSchema describes the one property of ISO 14289-1 that an archival file has to
// describe, since XMP does not know it (ISO 19005-3, 6.6.2.3). Some validators want
// it to stand before that which uses it, in a description of its own.
const uaSchema = "<rdf:Description rdf:about=\"\"" +
	" xmlns:pdfaExtension=\"http://www.aiim.org/pdfa/ns/extension/\"" +
	" xmlns:pdfaSchema=\"http://www.aiim.org/pdfa/ns/schema#\"" +
	" xmlns:pdfaProperty=\"http://www.aiim.org/pdfa/ns/property#\">\n" +
	"<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType=\"Resource\">\n" +
	"<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>\n" +
	"<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>\n" +
	"<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>\n" +
	"<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType=\"Resource\">\n" +
	"<pdfaProperty:name>part</pdfaProperty:name>\n" +
	"<pdfaProperty:valueType>Integer</pdfaProperty:valueType>\n" +
	"<pdfaProperty:category>internal</pdfaProperty:category>\n" +
	"<pdfaProperty:description>Part of ISO 14289</pdfaProperty:description>\n" +
	"</rdf:li></rdf:Seq></pdfaSchema:property>\n" +
	"</rdf:li></rdf:Bag></pdfaExtension:schemas>\n</rdf:Description>\n"

// xmp is the metadata packet: the claims of conformance (ISO 19005-3, 6.6.4;
// ISO 14289-1, clause 5) and what the information dictionary says too (6.6.3). A
// file without tags claims level B of ISO 19005-3 and nothing else.
func (d *Document) xmp(tagged bool) string {
	var b strings.Builder
	b.Grow(4 << 10)
	item := func(before, text, after string) {
		if text == "" {
			return
		}
		b.WriteString(before)
		xml.EscapeText(&b, []byte(text))
		b.WriteString(after)
	}
	created := d.Created.UTC().Format(xmpDate)
	level, schema, namespace, ua := "B", "", "", ""
	if tagged {
		level, schema = "A", uaSchema
		namespace, ua = " xmlns:pdfuaid=\"http://www.aiim.org/pdfua/ns/id/\"", "<pdfuaid:part>1</pdfuaid:part>\n"
	}
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n" +
		"<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n" + schema +
		"<rdf:Description rdf:about=\"\"" +
		" xmlns:dc=\"http://purl.org/dc/elements/1.1/\"" +
		" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\"" +
		" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\"" +
		" xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\"" + namespace + ">\n" +
		"<pdfaid:part>3</pdfaid:part>\n<pdfaid:conformance>" + level + "</pdfaid:conformance>\n" + ua +
		"<dc:format>application/pdf</dc:format>\n")
	item("<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">", d.Title, "</rdf:li></rdf:Alt></dc:title>\n")
	item("<dc:creator><rdf:Seq><rdf:li>", d.Author, "</rdf:li></rdf:Seq></dc:creator>\n")
	item("<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">", d.Subject, "</rdf:li></rdf:Alt></dc:description>\n")
	item("<dc:language><rdf:Bag><rdf:li>", d.Language, "</rdf:li></rdf:Bag></dc:language>\n")
	item("<xmp:CreateDate>", created, "</xmp:CreateDate>\n")
	item("<xmp:ModifyDate>", created, "</xmp:ModifyDate>\n")
	item("<xmp:MetadataDate>", created, "</xmp:MetadataDate>\n")
	item("<xmp:CreatorTool>", producer, "</xmp:CreatorTool>\n")
	item("<pdf:Producer>", producer, "</pdf:Producer>\n")
	b.WriteString("</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.String()
}

// info writes the information dictionary.
func (f *file) info(d *Document) ref {
	r := f.reserve()
	f.begin(r)
	f.str("<<")
	f.entry("/Title", d.Title)
	f.entry("/Author", d.Author)
	f.entry("/Subject", d.Subject)
	f.entry("/Creator", producer)
	f.entry("/Producer", producer)
	f.date("/CreationDate", d.Created)
	f.date("/ModDate", d.Created)
	f.str(">>")
	f.end()
	return r
}

// bookmark is one entry of the outline.
type bookmark struct {
	title       string
	level, page int // page from 0
}

// outlines writes the outline tree (ISO 32000-1, 12.3.3), all entries closed,
// and returns its root. A level that skips one is taken as one below the entry
// before it.
func (f *packed) outlines(marks []bookmark, pages []ref) ref {
	root := f.reserve()
	type node struct {
		parent, prev, next, first, last, count int // of marks, -1: none
	}
	top := node{-1, -1, -1, -1, -1, 0}
	nodes := make([]node, len(marks))
	at := func(i int) *node {
		if i < 0 {
			return &top
		}
		return &nodes[i]
	}
	var path []int // the open entry at each level
	for i, m := range marks {
		path = path[:min(len(path), max(m.level, 0))]
		parent := -1
		if len(path) > 0 {
			parent = path[len(path)-1]
		}
		up := at(parent)
		nodes[i] = node{parent, up.last, -1, -1, -1, 0}
		if up.last >= 0 {
			nodes[up.last].next = i
		} else {
			up.first = i
		}
		up.last = i
		up.count++
		path = append(path, i)
	}
	first := root + 1
	for range marks {
		f.reserve()
	}
	num := func(i int) ref {
		if i < 0 {
			return root
		}
		return first + ref(i)
	}
	f.begin(root)
	f.str("<</Type/Outlines")
	f.ref("/First", num(top.first))
	f.ref("/Last", num(top.last))
	f.str("/Count ")
	f.int(top.count)
	f.str(">>")
	f.end()
	for i, m := range marks {
		n := nodes[i]
		f.begin(num(i))
		f.str("<<")
		f.entry("/Title", m.title)
		f.ref("/Parent", num(n.parent))
		if n.prev >= 0 {
			f.ref("/Prev", num(n.prev))
		}
		if n.next >= 0 {
			f.ref("/Next", num(n.next))
		}
		if n.count > 0 {
			f.ref("/First", num(n.first))
			f.ref("/Last", num(n.last))
			f.str("/Count ")
			f.int(-n.count)
		}
		f.ref("/Dest[", pages[m.page])
		f.str("/Fit]>>")
		f.end()
	}
	return root
}
