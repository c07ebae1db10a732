package archival

import (
	"bytes"
	"compress/zlib"
	"encoding/asn1"
	"encoding/binary"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// Rules are all that Check looks at. Clauses on what none of our files has
// (layers, scripts, links) are kept as prohibitions.
var Rules = slices.Concat(archivalRules, tagRules)

var archivalRules = []Rule{
	{"6.1.2", "header at byte 0, then a comment of four bytes above 127", checkHeader},
	{"6.1.3", "trailer with a file identifier, without encryption, nothing after it", checkTrailer},
	{"6.1.4", "cross-reference table: single ends of line, right offsets", checkXref},
	{"6.1.6", "hexadecimal strings of whole bytes", checkHex},
	{"6.1.7.1", "streams: end of line after stream and before endstream, right length, in the file", checkStreams},
	{"6.1.7.2", "filters: no LZW, no encryption", checkFilters},
	{"6.1.8", "names of fonts are UTF-8", checkNames},
	{"6.1.9", "objects: one space in the first line, ends of line around", checkObjects},
	{"6.1.12", "permissions: only signatures, without digests of objects", checkPermissions},
	{"6.1.13", "limits: strings, names, numbers, nesting, page sizes", checkLimits},
	{"6.2.2", "content: operators of ISO 32000-1, resources of its own", checkContent},
	{"6.2.3", "output intent with an RGB profile", checkIntent},
	{"6.2.4", "colours that the output intent defines", checkColours},
	{"6.2.5", "graphics state: no transfer functions, no halftone phase", func(f *file) []string { return f.forbid("TR", "TR2", "HTP", "HTO") }},
	{"6.2.8", "images: no alternates, no interpolation, whole samples", checkImages},
	{"6.2.9", "no PostScript, no reference to other files in XObjects", checkXObjects},
	{"6.2.10", "no transparency", func(f *file) []string { return f.forbid("SMask", "Group", "CA", "ca", "BM", "AIS") }},
	{"6.2.11.3", "composite fonts: Identity-H and a stream CIDToGIDMap", checkComposite},
	{"6.2.11.4", "fonts are embedded with every glyph that is shown", checkEmbedding},
	{"6.2.11.5", "widths agree with the font program to 1/1000 em", checkWidths},
	{"6.2.11.7", "every character shown has a Unicode value (level U; we hold it too)", checkUnicode},
	{"6.2.11.8", "no .notdef is shown", checkNotdef},
	{"6.3.1", "annotations: only widgets", checkAnnotations},
	{"6.3.2", "annotations are printed, not hidden", checkFlags},
	{"6.3.3", "annotations with a size have one appearance, a stream", checkAppearances},
	{"6.4.1", "form fields: no actions, no appearances left to the reader", checkForm},
	{"6.4.2", "no XFA", func(f *file) []string { return f.forbid("XFA", "NeedsRendering") }},
	{"6.4.3", "signature: all of the file, DER, one signer with certificate", checkSignature},
	{"6.5", "no actions", checkActions},
	{"6.6.2.1", "metadata packet: RDF in UTF-8", checkPacket},
	{"6.6.2.2", "metadata packet: header without bytes and encoding", checkPacketHeader},
	{"6.6.2.3", "metadata: properties of predefined schemas", checkProperties},
	{"6.6.3", "metadata agrees with the information dictionary", checkInfo},
	{"6.6.4", "metadata: part and conformance", checkIdentification},
	{"6.8", "embedded files: names, relationship, media type, association", checkFiles},
	{"6.9", "no optional content", func(f *file) []string { return f.forbid("OCProperties", "OC") }},
	{"6.10", "no alternate presentations", func(f *file) []string { return f.forbid("AlternatePresentations", "PresSteps") }},
	{"6.11", "no requirements on the reader", func(f *file) []string { return f.forbid("Requirements") }},
}

var headerForm = regexp.MustCompile(`^%PDF-1\.[0-7](\r\n|\r|\n)%[\x80-\xFF]{4}`)

func checkHeader(f *file) []string {
	// Go's regexp reads UTF-8; the bytes are read one to one as Latin-1.
	if head := latin1(f.data[:min(len(f.data), 32)]); !headerForm.MatchString(head) {
		return []string{fmt.Sprintf("the file begins %q", f.data[:min(len(f.data), 16)])}
	}
	return nil
}

func latin1(b []byte) string {
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}

func checkTrailer(f *file) (found []string) {
	if len(f.trailer.ID) != 2 || len(f.text(f.trailer.ID[0])) == 0 || len(f.text(f.trailer.ID[1])) == 0 {
		found = append(found, "no file identifier")
	}
	if f.trailer.Encrypt != nil {
		found = append(found, "encrypted")
	}
	i := bytes.LastIndex(f.data, []byte("%%EOF"))
	if tail := string(f.data[i+5:]); !slices.Contains([]string{"", "\n", "\r", "\r\n"}, tail) {
		found = append(found, fmt.Sprintf("%d bytes after the end mark", len(tail)))
	}
	return found
}

var xrefForm = regexp.MustCompile(`^xref(?:\r\n|\r|\n)0 \d+(?:\r\n|\r|\n)((?:\d{10} \d{5} [nf](?: \r| \n|\r\n))+)trailer`)

func checkXref(f *file) (found []string) {
	i := bytes.LastIndex(f.data, []byte("\nxref")) + 1
	if i == 0 {
		return checkXrefStream(f)
	}
	m := xrefForm.FindSubmatch(f.data[i:])
	if m == nil {
		return []string{"not in the form of a table"}
	}
	for n := 1; n < len(m[1])/20; n++ {
		row := m[1][20*n:]
		var at int
		fmt.Sscanf(string(row[:10]), "%d", &at)
		if row[17] == 'n' {
			found = append(found, f.begins(n, at)...)
		}
	}
	return found
}

// begins finds fault where an object does not begin at the offset.
func (f *file) begins(n, at int) []string {
	if want := fmt.Sprintf("%d 0 obj", n); !bytes.HasPrefix(f.data[min(at, len(f.data)):], []byte(want)) {
		return []string{fmt.Sprintf("object %d is not at %d", n, at)}
	}
	return nil
}

var xrefStream = regexp.MustCompile(`^\d+ 0 obj\n<<(/Type/XRef/[^\n]*)>>\nstream\n`)

// checkXrefStream reads the stream itself (ISO 32000-1, 7.5.8; the predictor of
// its rows, 7.4.4.4), of the widths that we write.
func checkXrefStream(f *file) (found []string) {
	var at int
	fmt.Sscanf(strings.TrimSpace(string(f.data[bytes.LastIndex(f.data, []byte("startxref"))+len("startxref"):])), "%d", &at)
	body := f.data[min(at, len(f.data)):]
	m := xrefStream.FindSubmatch(body)
	if m == nil || !bytes.Contains(m[1], []byte("/W[1 4 2]")) || !bytes.Contains(m[1], []byte("/Predictor 12/Columns 7>>")) {
		return []string{"not in the form of a table or of our streams"}
	}
	z, err := zlib.NewReader(bytes.NewReader(body[len(m[0]):]))
	if err != nil {
		return []string{err.Error()}
	}
	rows, err := io.ReadAll(z)
	if err != nil {
		return []string{err.Error()}
	}
	var row [7]byte
	for n := 0; len(rows) >= 8; n++ {
		for i := range row {
			row[i] += rows[1+i]
		}
		if rows[0] != 2 || row[0] > 2 {
			found = join(found, "row %d: predictor %d, kind %d", n, rows[0], row[0])
		}
		if row[0] == 1 {
			found = append(found, f.begins(n, int(binary.BigEndian.Uint32(row[1:])))...)
		}
		rows = rows[8:]
	}
	return found
}

// checkHex reads the bytes, since pdfcpu fixes such strings.
func checkHex(f *file) (found []string) {
	for _, n := range f.placed() {
		raw, _, _ := bytes.Cut(f.raw(n), []byte("\nstream\n"))
		if _, err := operations(append(raw[:len(raw):len(raw)], " endobj"...)); err != nil {
			found = join(found, "object %d: %v", n, err)
		}
	}
	return found
}

func checkStreams(f *file) (found []string) {
	for _, n := range f.placed() {
		s, ok := f.objects[n].(types.StreamDict)
		if !ok {
			continue
		}
		raw := f.raw(n)
		i := bytes.Index(raw, []byte(">>\nstream\n"))
		length, _ := f.number(s.Dict["Length"])
		if end := i + len(">>\nstream\n") + int(length); i < 0 || end > len(raw) || !bytes.HasPrefix(raw[end:], []byte("\nendstream\n")) {
			found = join(found, "object %d", n)
		}
		for _, key := range []string{"F", "FFilter", "FDecodeParms"} {
			if s.Dict[key] != nil {
				found = join(found, "object %d keeps its data in another file", n)
			}
		}
	}
	return found
}

func checkFilters(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		list := f.array(d["Filter"])
		if list == nil && d["Filter"] != nil && f.name(d["Type"]) != "Sig" {
			list = types.Array{d["Filter"]}
		}
		for _, o := range list {
			if n := f.name(o); !oneOf(n, "ASCIIHexDecode ASCII85Decode FlateDecode RunLengthDecode CCITTFaxDecode JBIG2Decode DCTDecode JPXDecode") {
				found = join(found, "%s: filter %s", where, n)
			}
		}
	})
	return found
}

func checkNames(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		for _, key := range []string{"BaseFont", "FontName"} {
			if n := f.name(d[key]); !utf8.ValidString(n) {
				found = join(found, "%s: /%s %q", where, key, n)
			}
		}
	})
	return found
}

var objectForm = regexp.MustCompile(`^\d+ \d+ obj(\r\n|\r|\n)[\s\S]*(\r\n|\r|\n)endobj(\r\n|\r|\n)$`)

func checkObjects(f *file) (found []string) {
	for _, n := range f.placed() {
		raw := f.raw(n)
		if at := f.offsets[n]; !objectForm.MatchString(latin1(raw)) || at == 0 || f.data[at-1] != '\n' {
			found = join(found, "object %d", n)
		}
	}
	return found
}

func checkPermissions(f *file) (found []string) {
	for k := range f.dict(f.root["Perms"]) {
		if k != "DocMDP" && k != "UR3" {
			found = join(found, "permission %s", k)
		}
	}
	f.dicts(func(where string, d types.Dict) {
		if d["TransformMethod"] == nil {
			return
		}
		for _, key := range []string{"DigestLocation", "DigestMethod", "DigestValue"} {
			if d[key] != nil {
				found = join(found, "%s has /%s", where, key)
			}
		}
	})
	return found
}

func checkLimits(f *file) (found []string) {
	var walk func(n int, o types.Object)
	walk = func(n int, o types.Object) {
		switch v := o.(type) {
		case types.Integer:
			if v.Value() > 1<<31-1 || v.Value() < -1<<31 {
				found = join(found, "object %d: number %d", n, v)
			}
		case types.StringLiteral, types.HexLiteral:
			if l := len(f.text(v)); l > 32767 {
				found = join(found, "object %d: a string of %d bytes", n, l)
			}
		case types.Name:
			if len(v) > 127 {
				found = join(found, "object %d: a name of %d bytes", n, len(v))
			}
		case types.Dict:
			for k, e := range v {
				walk(n, types.Name(k))
				walk(n, e)
			}
		case types.StreamDict:
			walk(n, v.Dict)
		case types.Array:
			for _, e := range v {
				walk(n, e)
			}
		}
	}
	for _, n := range f.numbers() {
		walk(n, f.objects[n])
	}
	if n := len(f.objects); n > 8388607 {
		found = join(found, "%d objects", n)
	}
	for _, c := range f.contents() {
		depth, deepest := 0, 0
		for _, op := range c.ops {
			switch op.operator {
			case "q":
				depth++
			case "Q":
				depth--
			}
			deepest = max(deepest, depth)
		}
		if deepest > 28 || depth != 0 {
			found = join(found, "%s: graphics states nest %d deep and %d stay open", c.where, deepest, depth)
		}
	}
	f.dicts(func(where string, d types.Dict) {
		box := f.array(d["MediaBox"])
		for i := range len(box) / 2 {
			lo, _ := f.number(box[i])
			hi, _ := f.number(box[i+2])
			if hi-lo < 3 || hi-lo > 14400 {
				found = join(found, "%s: a page of %g points", where, hi-lo)
			}
		}
	})
	return found
}

// operators of content streams (ISO 32000-1, table A.1), without those that
// our files have no use for: inline images, marked points, compatibility.
const operators = "b B b* B* c cm CS cs d Do f F f* G g h i J j K k l M m n q Q re RG rg ri s S SC sc SCN scn " +
	"T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y ' \" BT ET gs BMC BDC EMC"

func checkContent(f *file) (found []string) {
	for _, c := range f.contents() {
		if c.err != nil {
			found = join(found, "%s: %v", c.where, c.err)
		}
		if !c.own {
			found = join(found, "%s has no resources of its own", c.where)
		}
		for _, op := range c.ops {
			if !oneOf(op.operator, operators) {
				found = join(found, "%s: operator %q", c.where, op.operator)
			}
			kind := map[string]string{"Tf": "Font", "Do": "XObject", "gs": "ExtGState"}[op.operator]
			if kind == "" {
				continue
			}
			if n, _ := op.operands[0].(nameOperand); f.dict(f.dict(c.resources[kind])[string(n)]) == nil {
				found = join(found, "%s: no resource /%s", c.where, n)
			}
		}
	}
	return found
}

func checkIntent(f *file) (found []string) {
	intents := f.array(f.root["OutputIntents"])
	if len(intents) != 1 {
		return []string{fmt.Sprintf("%d output intents", len(intents))}
	}
	d := f.dict(intents[0])
	if f.name(d["S"]) != "GTS_PDFA1" || f.text(d["OutputConditionIdentifier"]) == nil {
		found = append(found, "not GTS_PDFA1 with an identifier")
	}
	icc, err := f.stream(d["DestOutputProfile"])
	if err != nil || len(icc) < 132 {
		return append(found, "no profile")
	}
	if n, _ := f.number(f.dict(d["DestOutputProfile"])["N"]); n != 3 {
		found = join(found, "/N %g", n)
	}
	// ICC.1:2001-04, 6.1: the header.
	if int(binary.BigEndian.Uint32(icc)) != len(icc) || icc[8] > 4 || !oneOf(string(icc[12:16]), "mntr prtr") ||
		string(icc[16:20]) != "RGB " || string(icc[36:40]) != "acsp" {
		found = append(found, "the profile's header is not one of an RGB output or display profile")
	}
	tags := map[string]bool{}
	for i := range int(binary.BigEndian.Uint32(icc[128:])) {
		e := icc[132+12*i:]
		from, n := binary.BigEndian.Uint32(e[4:]), binary.BigEndian.Uint32(e[8:])
		if int(from)+int(n) > len(icc) || from%4 != 0 {
			return append(found, "a tag of the profile lies outside of it")
		}
		tags[string(e[:4])] = true
	}
	for _, tag := range strings.Fields("desc cprt wtpt rXYZ gXYZ bXYZ rTRC gTRC bTRC") { // ICC.1:2001-04, 6.3.1.2
		if !tags[tag] {
			found = join(found, "the profile has no %s", tag)
		}
	}
	return found
}

func checkColours(f *file) (found []string) {
	for _, c := range f.contents() {
		for _, op := range c.ops {
			if oneOf(op.operator, "K k CS cs SC sc SCN scn sh") {
				found = join(found, "%s: operator %s", c.where, op.operator)
			}
		}
	}
	f.dicts(func(where string, d types.Dict) {
		if f.name(d["Subtype"]) != "Image" {
			return
		}
		mask, _ := f.get(d["ImageMask"]).(types.Boolean)
		if cs := f.name(d["ColorSpace"]); !mask.Value() && !oneOf(cs, "DeviceRGB DeviceGray") {
			found = join(found, "%s: colour space %q", where, cs)
		}
	})
	return found
}

func checkImages(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		if f.name(d["Subtype"]) != "Image" {
			return
		}
		if i, _ := f.get(d["Interpolate"]).(types.Boolean); i.Value() || d["Alternates"] != nil || d["OPI"] != nil {
			found = join(found, "%s: interpolated or with alternates", where)
		}
		mask, _ := f.get(d["ImageMask"]).(types.Boolean)
		if bits, _ := f.number(d["BitsPerComponent"]); !slices.Contains([]float64{1, 2, 4, 8, 16}, bits) || mask.Value() && bits != 1 {
			found = join(found, "%s: %g bits a sample", where, bits)
		}
	})
	return found
}

func checkXObjects(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		switch f.name(d["Subtype"]) {
		case "PS":
			found = join(found, "%s is PostScript", where)
		case "Form":
			for _, key := range []string{"OPI", "PS", "Subtype2", "Ref"} {
				if d[key] != nil {
					found = join(found, "%s has /%s", where, key)
				}
			}
		}
	})
	return found
}

func checkComposite(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		if f.name(d["Type"]) != "Font" {
			return
		}
		switch subtype := f.name(d["Subtype"]); subtype {
		case "Type0":
			list := f.array(d["DescendantFonts"])
			if len(list) != 1 || f.name(d["Encoding"]) != "Identity-H" || f.name(f.dict(list[0])["BaseFont"]) != f.name(d["BaseFont"]) {
				found = join(found, "%s", where)
			}
		case "CIDFontType2":
			info := f.dict(d["CIDSystemInfo"])
			if _, stream := f.get(d["CIDToGIDMap"]).(types.StreamDict); !stream || f.text(info["Registry"]) == nil || f.text(info["Ordering"]) == nil {
				found = join(found, "%s", where)
			}
			if f.name(f.dict(d["FontDescriptor"])["FontName"]) != f.name(d["BaseFont"]) {
				found = join(found, "%s: two names", where)
			}
		default:
			found = join(found, "%s: %s", where, subtype)
		}
	})
	return found
}

func checkEmbedding(f *file) (found []string) {
	f.codes(func(where string, c *cidFont, code int, err error) {
		if err != nil {
			found = join(found, "%s: %v", where, err)
		} else if g := c.glyph(code); g >= c.count || !c.outlined(g) && code != ' ' && code != 0xA0 {
			found = join(found, "%s: %s has no glyph for %U", where, c.name, code)
		} else if !subsetName.MatchString(c.name) {
			found = join(found, "%s: %s has no subset tag", where, c.name)
		}
	})
	return found
}

var subsetName = regexp.MustCompile(`^[A-Z]{6}\+\S+$`)

func checkWidths(f *file) (found []string) {
	f.codes(func(where string, c *cidFont, code int, err error) {
		if err != nil {
			return
		}
		if w, a := f.width(c, code), c.advance(c.glyph(code)); !near(w, a) {
			found = join(found, "%s: %s, %U: %g, the program has %g", where, c.name, code, w, a)
		}
	})
	return found
}

func checkUnicode(f *file) (found []string) {
	f.codes(func(where string, c *cidFont, code int, err error) {
		if err == nil && !c.unicode[code] {
			found = join(found, "%s: %s, code %04X", where, c.name, code)
		}
	})
	return found
}

func checkNotdef(f *file) (found []string) {
	f.codes(func(where string, c *cidFont, code int, err error) {
		if err == nil && c.glyph(code) == 0 {
			found = join(found, "%s: %s, code %04X", where, c.name, code)
		}
	})
	return found
}

// checkActions lets the attributes of structure elements pass, whose key is that
// of an action; they have an owner.
func checkActions(f *file) []string {
	found := f.forbid("AA", "OpenAction", "JS", "JavaScript", "URI")
	f.dicts(func(where string, d types.Dict) {
		if a := f.dict(d["A"]); d["A"] != nil && a["O"] == nil {
			found = append(found, where+" has /A")
		}
	})
	return found
}

// annotations calls visit for each annotation of each page.
func (f *file) annotations(visit func(where string, d types.Dict)) {
	for i, p := range f.pages() {
		for _, o := range f.array(p["Annots"]) {
			visit(fmt.Sprintf("page %d", i+1), f.dict(o))
		}
	}
}

func checkAnnotations(f *file) (found []string) {
	f.annotations(func(where string, d types.Dict) {
		if s := f.name(d["Subtype"]); s != "Widget" {
			found = join(found, "%s: %s", where, s)
		}
	})
	return found
}

func checkFlags(f *file) (found []string) {
	const invisible, hidden, print, noView, toggleNoView = 1, 2, 4, 32, 256
	f.annotations(func(where string, d types.Dict) {
		v, ok := f.number(d["F"])
		if flags := int(v); !ok || flags&print == 0 || flags&(invisible|hidden|noView|toggleNoView) != 0 {
			found = join(found, "%s: flags %d", where, flags)
		}
	})
	return found
}

func checkAppearances(f *file) (found []string) {
	f.annotations(func(where string, d types.Dict) {
		rect := f.array(d["Rect"])
		if len(rect) != 4 {
			found = join(found, "%s: no rectangle", where)
			return
		}
		x1, _ := f.number(rect[0])
		y1, _ := f.number(rect[1])
		x2, _ := f.number(rect[2])
		y2, _ := f.number(rect[3])
		if x1 == x2 && y1 == y2 {
			return
		}
		ap := f.dict(d["AP"])
		if _, stream := f.get(ap["N"]).(types.StreamDict); len(ap) != 1 || !stream {
			found = join(found, "%s: want one normal appearance", where)
		}
	})
	return found
}

func checkForm(f *file) (found []string) {
	form := f.dict(f.root["AcroForm"])
	if need, _ := f.get(form["NeedAppearances"]).(types.Boolean); need.Value() {
		found = append(found, "/NeedAppearances")
	}
	for _, o := range f.array(form["Fields"]) {
		if d := f.dict(o); d["A"] != nil || d["AA"] != nil || f.name(d["FT"]) != "Sig" {
			found = append(found, "a field that is not only a signature")
		}
	}
	return found
}

func checkSignature(f *file) (found []string) {
	f.dicts(func(where string, d types.Dict) {
		if d["ByteRange"] == nil {
			return
		}
		ranges := f.array(d["ByteRange"])
		var r [4]int
		for i := range min(len(ranges), 4) {
			v, _ := f.number(ranges[i])
			r[i] = int(v)
		}
		if len(ranges) != 4 || r[0] != 0 || r[2] <= r[1] || r[2]+r[3] != len(f.data) || f.data[r[1]] != '<' || f.data[r[2]-1] != '>' {
			found = join(found, "%s: the byte range is not the whole file", where)
		}
		var message struct {
			Type    asn1.ObjectIdentifier
			Content struct {
				Version      int
				Digests      asn1.RawValue `asn1:"set"`
				Data         asn1.RawValue
				Certificates asn1.RawValue   `asn1:"tag:0"`
				Signers      []asn1.RawValue `asn1:"set"`
			} `asn1:"tag:0,explicit"`
		}
		if _, err := asn1.Unmarshal(f.text(d["Contents"]), &message); err != nil {
			found = join(found, "%s: not a CMS message in DER: %v", where, err)
		} else if !message.Type.Equal(asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 7, 2}) || len(message.Content.Signers) != 1 || len(message.Content.Certificates.Bytes) == 0 {
			found = join(found, "%s: want signed data by one signer, with the certificate", where)
		}
	})
	return found
}
