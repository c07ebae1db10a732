package table

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// codePages are names beside those of the WHATWG Encoding Standard, which
// htmlindex knows.
var codePages = map[string]encoding.Encoding{
	"cp437": charmap.CodePage437,
	"cp850": charmap.CodePage850,
	"cp852": charmap.CodePage852,
}

// EncodingNamed finds an encoding by its name.
func EncodingNamed(name string) (encoding.Encoding, bool) {
	low := strings.ToLower(strings.TrimSpace(name))
	if e, ok := codePages[low]; ok {
		return e, true
	}
	e, err := htmlindex.Get(low)
	return e, err == nil
}

// Decode turns the bytes of a text file into UTF-8 and says how it concluded.
// UTF-8 proves itself, and a byte-order mark or the zeros of UTF-16 tell that;
// any other encoding must be named, since every 8-bit file is valid in all of
// them.
func Decode(f *source.File, named string) (*source.File, string, *diag.Problem) {
	raw := f.Raw
	how := ""
	switch {
	case named != "":
		how = "encoding " + named + ", as the mapping says"
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}):
		how = "encoding UTF-8, as the byte-order mark says"
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		named, how = "utf-16le", "encoding UTF-16LE, as the byte-order mark says"
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		named, how = "utf-16be", "encoding UTF-16BE, as the byte-order mark says"
	default:
		if endian := bareUTF16(raw); endian != "" {
			named, how = endian, "encoding "+strings.ToUpper(endian)+", as its zero bytes show"
		}
	}
	if low := strings.ToLower(named); named != "" && low != "utf-8" && low != "utf8" {
		enc, _ := EncodingNamed(named)
		switch low {
		case "utf-16le":
			enc = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
		case "utf-16be":
			enc = unicode.UTF16(unicode.BigEndian, unicode.UseBOM)
		}
		room := len(raw) * 9 / 8 // most characters are ASCII
		if strings.HasPrefix(named, "utf-16") {
			room /= 2
		}
		text, _, err := transform.Append(enc.NewDecoder(), make([]byte, 0, room), raw)
		if err != nil {
			return nil, "", &diag.Problem{Code: "bad-encoding", Place: diag.Place{File: f.Name},
				Message: fmt.Sprintf("the file is not %s text", named), Fix: "correct encoding in the mapping"}
		}
		f = source.NewDecoded(f.Name, raw, text)
		if at := bytes.Index(text, []byte(string(utf8.RuneError))); at >= 0 {
			p := diag.NotUTF8(f, at, "correct encoding in the mapping")
			p.Code, p.Message, p.Want = "bad-encoding", fmt.Sprintf("from here on the file is not %s text", named), ""
			return nil, "", &p
		}
	}
	if kind := noText(raw); kind != "" && named == "" {
		return nil, "", &diag.Problem{Code: "binary-file", Place: diag.Place{File: f.Name}, Message: "this is " + kind + ", not text",
			Fix: fmt.Sprintf("remove it from readings/, or keep it as evidence with a readings entry: - {files: %q, evidence_only: true}", f.Name)}
	}
	if at := bytes.IndexByte(f.Text, 0); at >= 0 {
		return nil, "", &diag.Problem{Code: "binary-file", Place: diag.At(f, source.Span{Start: at, End: at + 1}),
			Message: "the file contains a zero byte, so it is not text",
			Fix:     fmt.Sprintf("export it again as CSV, or keep it as evidence with a readings entry: - {files: %q, evidence_only: true}", f.Name)}
	}
	if at, ok := source.InvalidUTF8(f.Text); !ok {
		p := diag.NotUTF8(f, at, "name the file's encoding in its readings entry, such as encoding: windows-1252; it cannot be told from the bytes")
		return nil, "", &p
	}
	if how == "" {
		how = "encoding UTF-8: the whole file is valid UTF-8"
	}
	return f, how, nil
}

// noText recognises files that people put beside their exports by how they
// begin, each as its format's own specification says.
func noText(raw []byte) string {
	for _, k := range []struct{ begins, kind string }{
		{"%PDF-", "a PDF"},                                      // ISO 32000-1, 7.5.2
		{"\x89PNG\r\n\x1a\n", "a picture"},                      // ISO/IEC 15948, 5.2
		{"\xff\xd8\xff", "a picture"},                           // ISO/IEC 10918-1, annex B
		{"GIF8", "a picture"},                                   // from memory
		{"PK\x03\x04", "an archive, or a document that is one"}, // APPNOTE 4.3.7
		{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a compound document, such as Thumbs.db or an office file of old"}, // MS-CFB, 2.2: Thumbs.db, and office files of old
	} {
		if bytes.HasPrefix(raw, []byte(k.begins)) {
			return k.kind
		}
	}
	return ""
}

// bareUTF16 recognises UTF-16 without a byte-order mark by the zero bytes of
// its ASCII letters: nearly all on one side of the pairs, nearly none on the
// other.
func bareUTF16(raw []byte) string {
	head := raw[:min(len(raw), 4096)]
	if len(raw) < 4 || len(raw)%2 != 0 {
		return ""
	}
	var zero [2]int
	for i, b := range head {
		if b == 0 {
			zero[i%2]++
		}
	}
	half := len(head) / 2
	switch {
	case zero[1] > half*6/10 && zero[0] == 0:
		return "utf-16le"
	case zero[0] > half*6/10 && zero[1] == 0:
		return "utf-16be"
	}
	return ""
}
