package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/seal"
)

// Papers without tags, issued before November 2026, open as ever, and what tagged
// files have beside them has no place in one.
func TestOpenReadsUntaggedFiles(t *testing.T) {
	for name, pages := range map[string]int{"untagged": 1, "untagged-visible": 2} {
		data, err := os.ReadFile("testdata/" + name + ".pdf")
		if err != nil {
			t.Fatal(err)
		}
		s, err := Open(data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if _, err := seal.VerifyCMS(s.CMS, s.Digest); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if s.Pages != pages || len(s.Attachments) != 3 || s.Title == "" {
			t.Errorf("%s: %d pages, %d attachments, title %q", name, s.Pages, len(s.Attachments), s.Title)
		}
		f := takeApart(t, data)
		f.replace("/Type/Catalog", "/Type/Catalog/MarkInfo<</Marked true>>")
		if _, err := Open(f.assemble(t)); !errors.Is(err, ErrAltered) || !strings.Contains(err.Error(), "/MarkInfo") {
			t.Errorf("%s, said to be tagged: %v", name, err)
		}
	}
}

// Attacks on what only tagged files have: the cross-reference stream, the object
// streams and what stands in them. The forger has a key.
func TestAttacksOnTaggedFiles(t *testing.T) {
	good := write(t, certificate("A-17"), signature())
	if err := verify(takeApart(t, good).assemble(t)); err != nil {
		t.Fatalf("put together unchanged: %v", err)
	}
	forge := func(change func(*forgery)) func(*testing.T) []byte {
		return func(t *testing.T) []byte {
			f := takeApart(t, good)
			change(f)
			return f.assemble(t)
		}
	}
	swap := func(old, new string) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.replace(old, new) })
	}
	all := func(pattern, new string) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.all(pattern, new) })
	}
	repack := func(change func(dict string, data []byte) (string, []byte)) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.repack = change })
	}
	retable := func(change func(rows []byte) []byte) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.retable = change })
	}
	end := func(old, new string) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.end = [2]string{old, new} })
	}
	for _, tt := range []struct {
		name string
		data func(*testing.T) []byte
		want string
	}{
		// What every file must not have.
		{"hidden object", forge(func(f *forgery) { f.add("<</Type/Page>>") }), "hidden"},
		{"hidden object in the object stream", forge(func(f *forgery) { f.packed[f.add("<</S/P>>")] = f.streams[1] }), "hidden"},
		{"hidden bytes", forge(func(f *forgery) { f.objects[3] += "%shadow\n" }), "is said to be at"},
		{"hidden bytes before the table", forge(func(f *forgery) { f.objects[len(f.objects)-1] += "% shadow\n" }), "is said to be at"},
		{"annotation over a reading", forge(func(f *forgery) {
			n := f.add("<</Type/Annot/Subtype/Square/Rect[0 0 9 9]/F 4>>")
			f.replace("/Annots[", fmt.Sprintf("/Annots[%d 0 R", n))
		}), "no annotation but the signature"},
		{"layers", swap("/Type/Catalog", "/Type/Catalog/OCProperties<<>>"), "/OCProperties is not used"},
		{"metadata of level B", all("<pdfaid:conformance>A", "<pdfaid:conformance>B"), "metadata packet does not agree"},
		{"no structure tree", all(`/StructTreeRoot (\d+) 0 R`, "/StructParents $1 0 R"), "no structure tree"},
		{"structure tree that is the outline's page", all(`/StructTreeRoot (\d+) 0 R`, "/StructParents $1 0 R/StructTreeRoot 1 0 R"), "no structure tree"},
		{"not marked", swap("/Marked true", "/Marked false"), "no structure tree"},
		{"role map", swap("/Type/StructTreeRoot", "/Type/StructTreeRoot/RoleMap<</P/Figure>>"), "/RoleMap has no place in an object stream"},
		{"another text for the ear", all(`/S/P/P`, "/ActualText(0.10 dB)/S/P/P"), "/ActualText has no place"},
		{"action of a bookmark", swap("/Title(Certificate A-17)/Parent", "/Title(Certificate A-17)/AA<<>>/Parent"), "/AA has no place"},
		{"pages in the object stream", forge(func(f *forgery) {
			for i, o := range f.objects {
				if strings.Contains(o, "/Type/Pages") {
					f.objects[i] = "9999 0 obj\n"
					n := f.add(strings.TrimSuffix(strings.SplitN(o, " 0 obj\n", 2)[1], "\nendobj\n"))
					f.packed[n] = f.streams[1]
					f.all(`/(Pages|Parent) `+strings.SplitN(o, " ", 2)[0]+` `, fmt.Sprintf("/$1 %d ", n))
					f.objects = append(f.objects[:i:i], f.objects[i+1:]...)
					return
				}
			}
		}), ""},
		{"reference to nothing", swap("/Type/StructTreeRoot", "/Type/StructTreeRoot/Pg 9999 0 R"), "does not exist"},
		{"reference of many digits", swap("/Type/StructTreeRoot", "/Type/StructTreeRoot/Pg 99999999999999 0 R"), ""},
		{"nested without end", swap("/Type/StructTreeRoot", "/Type/StructTreeRoot/O"+strings.Repeat("[", 20)+strings.Repeat("]", 20)), "too deep"},
		{"value that is none", swap("/Type/StructTreeRoot", "/Type/StructTreeRoot/O null"), "want a value"},
		{"name with a space", swap("/Type/StructTreeRoot", "/Type#20/StructTreeRoot"), ""},

		// The object stream.
		{"stream of a bomb", repack(func(dict string, data []byte) (string, []byte) {
			return dict, deflate(append(data, bytes.Repeat([]byte(" "), 40<<20)...))
		}), "inflates to more"},
		{"bytes behind the stream", repack(func(dict string, data []byte) (string, []byte) {
			return dict, append(deflate(data), "shadow"...)
		}), "bytes behind the end"},
		{"stream that is none", repack(func(dict string, data []byte) (string, []byte) { return dict, data }), "zlib"},
		{"stream with bytes of nobody", repack(func(dict string, data []byte) (string, []byte) {
			return dict, deflate(append(data, "shadow"...))
		}), "no object owns"},
		{"stream that extends another", repack(func(dict string, data []byte) (string, []byte) { return dict + "/Extends 1 0 R", deflate(data) }), "/Extends"},
		{"stream with an object less", repack(func(dict string, data []byte) (string, []byte) {
			return regexp.MustCompile(`/N \d+`).ReplaceAllString(dict, "/N 3"), deflate(data)
		}), ""},
		{"stream of no objects", repack(func(dict string, data []byte) (string, []byte) {
			return regexp.MustCompile(`/N \d+`).ReplaceAllString(dict, "/N 0"), deflate(data)
		}), "another number of objects"},
		{"stream that begins behind its end", repack(func(dict string, data []byte) (string, []byte) {
			return regexp.MustCompile(`/First \d+`).ReplaceAllString(dict, "/First 9999999"), deflate(data)
		}), "another number of objects"},
		{"objects with a gap", repack(func(dict string, data []byte) (string, []byte) {
			return dict, deflate(bytes.Replace(data, []byte(" 0 "), []byte(" 1 "), 1))
		}), `want " 0 "`},
		{"packed in another way", repack(func(dict string, data []byte) (string, []byte) {
			return strings.Replace(dict, "/Filter/FlateDecode", "", 1), data
		}), "zlib"},

		// The table.
		{"table of a bomb", retable(func(rows []byte) []byte { return append(rows, make([]byte, 10<<20)...) }), "inflates to more"},
		{"table too short", retable(func(rows []byte) []byte { return rows[:len(rows)-8] }), "cross-reference stream"},
		{"free object", retable(func(rows []byte) []byte { rows[9]--; rows[17]++; return rows }), "cross-reference stream"},
		{"kind of place that is none", retable(func(rows []byte) []byte { rows[9] += 2; rows[17] -= 2; return rows }), "cross-reference stream"},
		{"first row", retable(func(rows []byte) []byte { rows[7]--; rows[15]++; return rows }), "cross-reference stream"},
		{"another predictor", retable(func(rows []byte) []byte { rows[8] = 0; return rows }), "cross-reference stream"},
		{"object elsewhere", retable(func(rows []byte) []byte { rows[13]++; rows[21]--; return rows }), "is said to be at"},
		{"table of other widths", end("/W[1 4 2]", "/W[1 4 3]"), "cross-reference stream"},
		{"table with a revision before it", end("/Type/XRef", "/Type/XRef/Prev 15"), "/Prev"},
		{"table with an index", end("/Type/XRef", "/Type/XRef/Index[0 1]"), "/Index"},
		{"table of many objects", forge(func(f *forgery) {
			f.end = [2]string{"/Type/XRef/Size ", "/Type/XRef/Size 9"}
		}), "cross-reference stream"},
		{"encrypted", end("/Type/XRef", "/Type/XRef/Encrypt<<>>"), "/Encrypt"},
		{"trailer beside the table", end("startxref", "trailer\n<<>>\nstartxref"), "want startxref"},
		{"bytes after the end", func(*testing.T) []byte { return append(bytes.Clone(good), ' ') }, "the end"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Open(tt.data(t))
			if !errors.Is(err, ErrAltered) || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v\nwant %v ... %q", err, ErrAltered, tt.want)
			}
			t.Log(err)
		})
	}
}

// A bundle of many parts has several object streams, each below its bound, and a
// page for each.
func TestManyObjectStreams(t *testing.T) {
	d := certificate("A-17")
	d.Draw = nil
	for i := range 200 {
		d.Parts = append(d.Parts, BundlePart{fmt.Sprint("Link ", i), func(s page.Sheet) error {
			texts := make([]string, 40)
			for k := range texts {
				texts[k] = fmt.Sprint("text ", k)
			}
			return setTexts(s, texts...)
		}})
	}
	data := write(t, d, signature())
	if n := bytes.Count(data, []byte("/Type/ObjStm")); n < 4 {
		t.Errorf("%d object streams", n)
	}
	if err := verify(data); err != nil {
		t.Error(err)
	}
}

// TestReadAloud: an independent reader finds the elements in their order, the lines
// of one with a space between them and a broken word whole.
func TestReadAloud(t *testing.T) {
	out := run(t, "pdfinfo", "-struct-text", save(t, write(t, gallery(t), signature())))
	at := 0
	for _, want := range []string{"Document\n", "H1", `"A heading"`, "H2", `"Below it"`, `"Two lines that break a word, and not another"`, "L ", "LI", "Lbl", `"1"`, "LBody", `"One of one"`,
		"Table", "THead", "TR", "TH:", `"Loss"`, "TBody", `"A-18"`, "TD", `"0.35 dB"`, "Figure", "Form"} {
		i := strings.Index(out[at:], want)
		if i < 0 {
			t.Fatalf("%q is missing or out of order in\n%s", want, out)
		}
		at += i
	}
	if strings.Contains(out, "page 2 of 2") {
		t.Errorf("an artifact is read aloud:\n%s", out)
	}
}
