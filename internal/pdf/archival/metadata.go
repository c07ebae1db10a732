package archival

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// Namespaces of XMP and of ISO 19005.
const (
	nsRDF  = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
	nsDC   = "http://purl.org/dc/elements/1.1/"
	nsXMP  = "http://ns.adobe.com/xap/1.0/"
	nsPDF  = "http://ns.adobe.com/pdf/1.3/"
	nsPDFA = "http://www.aiim.org/pdfa/ns/id/"
	nsUA   = "http://www.aiim.org/pdfua/ns/id/"
	nsExt  = "http://www.aiim.org/pdfa/ns/extension/"
)

// predefined are the properties of the schemas that need no description of
// their own (XMP specification 2004), with the container each must have.
var predefined = map[xml.Name]string{
	{Space: nsDC, Local: "format"}: "", {Space: nsDC, Local: "title"}: "Alt", {Space: nsDC, Local: "creator"}: "Seq",
	{Space: nsDC, Local: "description"}: "Alt", {Space: nsDC, Local: "language"}: "Bag",
	{Space: nsXMP, Local: "CreateDate"}: "", {Space: nsXMP, Local: "ModifyDate"}: "",
	{Space: nsXMP, Local: "MetadataDate"}: "", {Space: nsXMP, Local: "CreatorTool"}: "",
	{Space: nsPDF, Local: "Producer"}: "", {Space: nsPDF, Local: "Keywords"}: "",
	{Space: nsPDFA, Local: "part"}: "", {Space: nsPDFA, Local: "conformance"}: "",
	{Space: nsExt, Local: "schemas"}: "Bag",
}

// described are properties that the packet itself has to describe, in the schema of
// their name space.
var described = []xml.Name{{Space: nsUA, Local: "part"}}

// property is a value in the metadata packet.
type property struct{ container, text string }

// xmp reads the packet.
func (f *file) xmp() (map[xml.Name]property, error) {
	packet, err := f.stream(f.root["Metadata"])
	if err != nil {
		return nil, err
	}
	if !utf8.Valid(packet) {
		return nil, fmt.Errorf("not UTF-8")
	}
	found := map[xml.Name]property{}
	d := xml.NewDecoder(bytes.NewReader(packet))
	var path []xml.Name
	for {
		token, err := d.Token()
		if err == io.EOF {
			return found, nil
		}
		if err != nil {
			return nil, err
		}
		switch v := token.(type) {
		case xml.StartElement:
			path = append(path, v.Name)
			if len(path) == 4 {
				if path[1] != (xml.Name{Space: nsRDF, Local: "RDF"}) || path[2] != (xml.Name{Space: nsRDF, Local: "Description"}) {
					return nil, fmt.Errorf("not RDF")
				}
				if _, twice := found[v.Name]; twice {
					return nil, fmt.Errorf("%s stands twice", v.Name.Local)
				}
				found[v.Name] = property{}
			}
			if len(path) == 5 {
				p := found[path[3]]
				p.container = v.Name.Local
				found[path[3]] = p
			}
		case xml.EndElement:
			path = path[:len(path)-1]
		case xml.CharData:
			if len(path) >= 4 && len(path) != 5 {
				p := found[path[3]]
				p.text += string(v)
				found[path[3]] = p
			}
		}
	}
}

func checkPacket(f *file) (found []string) {
	if f.name(f.dict(f.root["Metadata"])["Subtype"]) != "XML" || f.name(f.dict(f.root["Metadata"])["Type"]) != "Metadata" {
		found = append(found, "the catalog has no metadata stream")
	}
	if f.dict(f.root["Metadata"])["Filter"] != nil {
		found = append(found, "it is packed, which plain readers of metadata cannot see through")
	}
	if _, err := f.xmp(); err != nil {
		found = append(found, err.Error())
	}
	return found
}

func checkPacketHeader(f *file) (found []string) {
	packet, _ := f.stream(f.root["Metadata"])
	head, _, _ := bytes.Cut(packet, []byte("?>"))
	if !bytes.HasPrefix(head, []byte("<?xpacket begin=")) || bytes.Contains(head, []byte("bytes=")) || bytes.Contains(head, []byte("encoding=")) {
		found = append(found, fmt.Sprintf("it begins %q", head))
	}
	return found
}

func checkProperties(f *file) (found []string) {
	props, _ := f.xmp()
	for name, p := range props {
		container, known := predefined[name]
		if slices.Contains(described, name) {
			schema := props[xml.Name{Space: nsExt, Local: "schemas"}].text
			known = strings.Contains(schema, name.Space) && strings.Contains(schema, "\n"+name.Local+"\nInteger\ninternal\n")
		}
		if !known {
			found = append(found, fmt.Sprintf("%s of %s has no schema", name.Local, name.Space))
		} else if p.container != container {
			found = append(found, fmt.Sprintf("%s is in %q, not %q", name.Local, p.container, container))
		}
	}
	slices.Sort(found)
	return found
}

func checkIdentification(f *file) (found []string) {
	props, _ := f.xmp()
	if p := props[xml.Name{Space: nsPDFA, Local: "part"}]; p.text != "3" {
		found = append(found, fmt.Sprintf("pdfaid:part is %q", p.text))
	}
	if p := props[xml.Name{Space: nsPDFA, Local: "conformance"}]; p.text != "A" {
		found = append(found, fmt.Sprintf("pdfaid:conformance is %q", p.text))
	}
	return found
}

// checkInfo compares the information dictionary with the packet.
func checkInfo(f *file) (found []string) {
	props, _ := f.xmp()
	if f.trailer.Info == nil {
		return nil
	}
	info := f.dict(*f.trailer.Info)
	same := map[string]xml.Name{
		"Title": {Space: nsDC, Local: "title"}, "Author": {Space: nsDC, Local: "creator"},
		"Subject": {Space: nsDC, Local: "description"}, "Keywords": {Space: nsPDF, Local: "Keywords"},
		"Creator": {Space: nsXMP, Local: "CreatorTool"}, "Producer": {Space: nsPDF, Local: "Producer"},
		"CreationDate": {Space: nsXMP, Local: "CreateDate"}, "ModDate": {Space: nsXMP, Local: "ModifyDate"},
	}
	for _, key := range slices.Sorted(maps.Keys(same)) {
		if info[key] == nil {
			continue
		}
		value := decode(f.text(info[key]))
		other := props[same[key]].text
		if strings.HasSuffix(key, "Date") {
			value = isoDate(value)
		}
		if value != other {
			found = append(found, fmt.Sprintf("/%s is %q, the metadata has %q", key, value, other))
		}
	}
	return found
}

// isoDate turns a PDF date into the form of XMP.
func isoDate(s string) string {
	t, err := time.Parse("D:20060102150405-07'00'", s)
	if err != nil {
		return s
	}
	return t.UTC().Format(time.RFC3339)
}

// decode reads a text string (ISO 32000-1, 7.9.2.2), ASCII or UTF-16.
func decode(b []byte) string {
	rest, ok := bytes.CutPrefix(b, []byte("\xFE\xFF"))
	if !ok {
		return string(b)
	}
	var units []uint16
	for ; len(rest) > 1; rest = rest[2:] {
		units = append(units, uint16(rest[0])<<8|uint16(rest[1]))
	}
	return string(utf16.Decode(units))
}

// checkFiles is about embedded files.
func checkFiles(f *file) (found []string) {
	associated := map[string]bool{}
	for _, o := range f.array(f.root["AF"]) {
		associated[fmt.Sprint(o)] = true
	}
	f.dicts(func(where string, d types.Dict) {
		ef := f.dict(d["EF"])
		if ef == nil {
			return
		}
		if f.text(d["F"]) == nil || f.text(d["UF"]) == nil {
			found = append(found, where+": want /F and /UF")
		}
		if !oneOf(f.name(d["AFRelationship"]), "Source Data Alternative Supplement Unspecified") {
			found = append(found, where+": want /AFRelationship")
		}
		var number int
		if _, err := fmt.Sscanf(where, "object %d", &number); err != nil || !associated[fmt.Sprint(*types.NewIndirectRef(number, 0))] {
			found = append(found, where+": associated with nothing")
		}
		stream := f.dict(ef["F"])
		if mime := f.name(stream["Subtype"]); strings.Count(mime, "/") != 1 {
			found = append(found, fmt.Sprintf("%s: media type %q", where, mime))
		}
		params := f.dict(stream["Params"])
		if isoDate(string(f.text(params["ModDate"]))) == string(f.text(params["ModDate"])) {
			found = append(found, where+": want the date of modification")
		}
		data, err := f.stream(ef["F"])
		if size, _ := f.number(params["Size"]); err != nil || int(size) != len(data) {
			found = append(found, where+": the size is wrong")
		}
	})
	return found
}
