package pdf

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/pdf/archival"
)

// No certified validator was at hand; see package archival.
func TestArchival(t *testing.T) {
	for name, data := range kinds(t) {
		t.Run(name, func(t *testing.T) {
			for _, found := range archival.Check(data) {
				t.Error(found)
			}
		})
	}
}

// content changes the first page's content stream.
func (f *forgery) content(t testing.TB, old, new string) {
	t.Helper()
	for i, o := range f.objects {
		m := regexp.MustCompile(`(?s)^(\d+) 0 obj\n<</Filter/FlateDecode/Length \d+>>\nstream\n(.*)\nendstream\nendobj\n$`).FindStringSubmatch(o)
		if m == nil {
			continue
		}
		z, err := zlib.NewReader(strings.NewReader(m[2]))
		if err != nil {
			t.Fatal(err)
		}
		plain, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(plain, []byte(old)) {
			continue
		}
		packed := deflate(bytes.Replace(plain, []byte(old), []byte(new), 1))
		f.objects[i] = fmt.Sprintf("%s 0 obj\n<</Filter/FlateDecode/Length %d>>\nstream\n%s\nendstream\nendobj\n", m[1], len(packed), packed)
		return
	}
	t.Fatalf("no stream has %q", old)
}

// all changes text in every object.
func (f *forgery) all(pattern, new string) {
	re := regexp.MustCompile(pattern)
	for i, o := range f.objects {
		f.objects[i] = re.ReplaceAllString(o, new)
	}
}

// Every rule finds the fault that it is there for.
func TestEveryArchivalRuleCanFail(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	visible := signature()
	visible.Page, visible.Box.W, visible.Box.H = 1, 50, 20
	good := write(t, gallery(t), visible)
	if found := archival.Check(takeApart(t, good).assemble(t)); len(found) > 0 {
		t.Fatalf("unchanged: %v", found)
	}
	bytesOf := func(old, new string) func(*forgery) []byte {
		return func(f *forgery) []byte { return bytes.Replace(f.assemble(t), []byte(old), []byte(new), 1) }
	}
	text := func(old, new string) func(*forgery) []byte {
		return func(f *forgery) []byte { f.replace(old, new); return f.assemble(t) }
	}
	all := func(pattern, new string) func(*forgery) []byte {
		return func(f *forgery) []byte { f.all(pattern, new); return f.assemble(t) }
	}
	drawn := func(old, new string) func(*forgery) []byte {
		return func(f *forgery) []byte { f.content(t, old, new); return f.assemble(t) }
	}
	faults := []struct {
		clause string
		forge  func(*forgery) []byte
	}{
		{"6.1.2", bytesOf(header, "%PDF-1.7\n%abcd\n")},
		{"6.1.3", func(f *forgery) []byte { return append(f.assemble(t), "more"...) }},
		{"6.1.3", func(f *forgery) []byte {
			f.trailer = regexp.MustCompile(`/ID\[.*\]`).ReplaceAllString(f.trailer, "")
			return f.assemble(t)
		}},
		{"6.1.4", func(f *forgery) []byte {
			return bytes.Replace(f.flat(t), []byte("00000 n \n"), []byte("00000 n\r\r"), 1)
		}},
		{"6.1.4", func(f *forgery) []byte {
			f.retable = func(rows []byte) []byte { rows[13]--; rows[21]++; return rows }
			return f.assemble(t)
		}},
		{"6.1.6", text("/UF<feff", "/UF<feff0")},
		{"6.1.7.1", all(`>>\nstream\n<\?xpacket`, ">>\nstream \n<?xpacket")},
		{"6.1.7.2", text("/ImageMask true", "/ImageMask true/Filter/LZWDecode")},
		{"6.1.8", all(`\+GoMono`, "+Go#ffMono")},
		{"6.1.9", bytesOf("\nendobj\n", " endobj\n")},
		{"6.1.12", text("/Perms<<", "/Perms<</FieldMDP 1 0 R")},
		{"6.1.12", text("/TransformMethod", "/DigestMethod/MD5/TransformMethod")},
		{"6.1.13", text("/Reason(", "/Reason("+strings.Repeat("x", 32768))},
		{"6.1.13", text("/MediaBox[0 0 595.276", "/MediaBox[0 0 2")},
		{"6.1.13", drawn("BT ", strings.Repeat("q ", 29)+strings.Repeat("Q ", 29)+"BT ")},
		{"6.2.2", all(`/Resources<</Font \d+ 0 R(/XObject<<.*>>)?>>`, "")},
		{"6.2.2", drawn("BT ", "BTT ")},
		{"6.2.2", drawn("/F2", "/F9")},
		{"6.2.3", all(`/OutputIntents\[.*>>\]`, "")},
		{"6.2.3", text("/GTS_PDFA1", "/GTS_PDFX")},
		{"6.2.4", drawn("BT ", "0 0 0 1 k BT ")},
		{"6.2.4", all("/ColorSpace/DeviceGray", "/ColorSpace/DeviceCMYK")},
		{"6.2.5", text("/DisplayDocTitle true", "/X<</TR/Identity>>")},
		{"6.2.8", text("/ImageMask true", "/ImageMask true/Interpolate true")},
		{"6.2.8", text("/ImageMask true/BitsPerComponent 1", "/ImageMask true/BitsPerComponent 8")},
		{"6.2.9", text("/Subtype/Form", "/Subtype/PS")},
		{"6.2.10", all("/Type/Page/", "/Type/Page/Group<</S/Transparency>>/")},
		{"6.2.11.3", all("/Encoding/Identity-H", "/Encoding/UniGB-UTF16-H")},
		{"6.2.11.3", all(`/CIDToGIDMap \d+ 0 R`, "/CIDToGIDMap/Identity")},
		{"6.2.11.4", all("/FontFile2", "/FontFile9")},
		{"6.2.11.4", all(`/(BaseFont|FontName)/\w{6}\+`, "/$1/")},
		{"6.2.11.5", all(`/W\[32\[\d+`, "/W[32[999")},
		{"6.2.11.7", drawn("(\x00P", "(\x06\x00")},
		{"6.2.11.8", drawn("(\x00P", "(\x06\x00")},
		{"6.3.1", text("/Subtype/Widget", "/Subtype/Sound")},
		{"6.3.2", text("/F 132", "/F 2")},
		{"6.3.3", all(`/AP<</N \d+ 0 R>>`, "")},
		{"6.4.1", text("/SigFlags 3", "/SigFlags 3/NeedAppearances true")},
		{"6.4.2", text("/SigFlags 3", "/SigFlags 3/XFA()")},
		{"6.4.3", func(f *forgery) []byte { f.ranges = "0 10 20 30"; return f.assemble(t) }},
		{"6.4.3", func(f *forgery) []byte {
			return regexp.MustCompile(`/Contents<308`).ReplaceAllLiteral(f.assemble(t), []byte("/Contents<318"))
		}},
		{"6.5", text("/Type/Catalog", "/Type/Catalog/OpenAction<<>>")},
		{"6.5", text("/ViewerPreferences<<", "/ViewerPreferences<</A<</S/JavaScript>>")},
		{"6.6.2.1", all("<x:xmpmeta", "<x:xmpmetb")},
		{"6.6.2.2", all(`begin="`, `bytes="9" begin="`)},
		{"6.6.2.3", all("dc:format", "dc:former")},
		{"6.6.3", text("/Producer(spanseal)", "/Producer(spansea)")},
		{"6.6.3", text("/ModDate(D:20261125090000+00'00')>>\nendobj", "/ModDate(D:20261125090001+00'00')>>\nendobj")},
		{"6.6.4", all("<pdfaid:part>3", "<pdfaid:part>2")},
		{"6.6.4", all("<pdfaid:conformance>A", "<pdfaid:conformance>B")},
		{"6.6.2.3", all("<pdfaProperty:name>part", "<pdfaProperty:name>parx")},
		{"6.7.2", text("/Marked true", "/Marked false")},
		{"6.7.2", text("/Marked true", "/Marked true/Suspects true")},
		{"6.7.2", all(`(/StructTreeRoot/)K`, "${1}L")},
		{"UA 5", all("<pdfuaid:part>1", "<pdfuaid:part>2")},
		{"UA 7.1", drawn("EMC", "")},
		{"UA 7.1", drawn("/Artifact BMC", "")},
		{"UA 7.1", drawn("/Artifact BMC", "/Artifact BMC EMC /Q BMC")},
		{"UA 7.1", drawn("/P<</MCID 1>>BDC", "/P<</MCID 1>>BDC /Artifact BMC EMC")},
		{"UA 7.1.1", text("/StructParents 0", "/StructParents 7")},
		{"UA 7.1.1", drawn("/MCID 1>>", "/MCID 999>>")},
		{"UA 7.1.1", drawn("/P<</MCID 1>>", "/TD<</MCID 1>>")},
		{"UA 7.1.1", all(`(/StructParent) \d+`, "$1 0")},
		{"UA 7.1.1", all(`(/S/TBody/P) \d+`, "$1 1")},
		{"UA 7.1.2", all("/S/H1", "/S/Title")},
		{"UA 7.1.2", all("/Type/StructTreeRoot", "/Type/StructTreeRoot/RoleMap<</X/P>>")},
		{"UA 7.1.3", text("/DisplayDocTitle true", "/DisplayDocTitle false")},
		{"UA 7.1.3", all("dc:title", "dc:titel")},
		{"UA 7.2", text("/Lang(en-GB)", "/Lang(English, as spoken)")},
		{"UA 7.2", text("/Lang(de)", "/Lang()")},
		{"UA 7.3", all(`(/S/Figure/P \d+ 0 R/)Alt`, "${1}E")},
		{"UA 7.4.2", all("/S/H2", "/S/H3")},
		{"UA 7.4.2", all("/S/H1", "/S/P")},
		{"UA 7.5", all("/Scope/Row", "/Scope/Line")},
		{"UA 7.5", all("/ColSpan 2", "/ColSpan 3")},
		{"UA 7.5", all("/S/TH/", "/S/TD/")},
		{"UA 7.5", all("/S/TBody", "/S/P")},
		{"UA 7.5", all("/S/TR", "/S/P")},
		{"UA 7.5", all("/S/Table/", "/S/Part/")},
		{"UA 7.6", all("/S/Lbl", "/S/P")},
		{"UA 7.6", all("/S/L/", "/S/Part/")},
		{"UA 7.9", all("/S/H2", "/S/Note")},
		{"UA 7.17", all(`/Outlines \d+ 0 R`, "")},
		{"UA 7.18.1", text("/TU(Signature of A. Tester)", "")},
		{"UA 7.18.3", all("/Tabs/S/", "/Tabs/R/")},
		{"UA 7.18.4", all("/S/Form", "/S/P")},
		{"6.8", text("/AFRelationship/Source", "")},
		{"6.8", text("/Subtype/text#2fcsv", "/Subtype/csv")},
		{"6.8", all(`/AF\[ \d+ 0 R`, "/AF[ ")},
		{"6.9", text("/Type/Catalog", "/Type/Catalog/OCProperties<<>>")},
		{"6.10", text("/Type/Catalog", "/Type/Catalog/AlternatePresentations<<>>")},
		{"6.11", text("/Type/Catalog", "/Type/Catalog/Requirements[]")},
	}
	for i, tt := range faults {
		t.Run(fmt.Sprint(i, " ", tt.clause), func(t *testing.T) {
			found := archival.Check(tt.forge(takeApart(t, good)))
			if !slices.ContainsFunc(found, func(s string) bool { return strings.HasPrefix(s, tt.clause+" ") }) {
				t.Errorf("not found; instead: %q", found)
			}
		})
	}
	for _, r := range archival.Rules {
		if !slices.ContainsFunc(faults, func(f struct {
			clause string
			forge  func(*forgery) []byte
		}) bool {
			return f.clause == r.Clause
		}) {
			t.Errorf("no file is at fault with %v", r)
		}
	}
}
