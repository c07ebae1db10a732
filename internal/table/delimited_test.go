package table

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"golang.org/x/text/encoding/charmap"

	"spanseal/internal/diag"
	"spanseal/internal/outside"
	"spanseal/internal/source"
)

// records cuts a text into records of trimmed cells.
func records(text []byte, delimiter byte) ([][]string, error) {
	t := &Delimited{File: source.New("a.csv", text), Delimiter: delimiter}
	var all [][]string
	for r := range t.Rows() {
		var cells []string
		for _, c := range r.Cells {
			cells = append(cells, c.Text)
		}
		all = append(all, cells)
	}
	if p := t.Fault(); p != nil {
		return all, p
	}
	return all, nil
}

// TestRFC4180 holds the rules of RFC 4180, section 2, by their numbers.
func TestRFC4180(t *testing.T) {
	tests := []struct {
		rule, text string
		want       [][]string
	}{
		{"1: records end at CRLF", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"2: the last may have no end", "aaa,bbb,ccc\r\nzzz,yyy,xxx", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"4: a last empty field", "aaa,bbb,\r\n", [][]string{{"aaa", "bbb", ""}}},
		{"5: fields may be quoted", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx\r\n", [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}},
		{"6: line breaks, quotes and commas in quotes", "\"aaa\",\"b\r\nbb\",\"c,cc\"\r\nzzz,yyy,xxx\r\n", [][]string{{"aaa", "b\r\nbb", "c,cc"}, {"zzz", "yyy", "xxx"}}},
		{"7: a quote is doubled", "\"aaa\",\"b\"\"bb\",\"ccc\"\r\n", [][]string{{"aaa", "b\"bb", "ccc"}}},
	}
	for _, tt := range tests {
		t.Run(tt.rule, func(t *testing.T) {
			got, err := records([]byte(tt.text), ',')
			if err != nil || fmt.Sprintf("%q", got) != fmt.Sprintf("%q", tt.want) {
				t.Errorf("got %q, %v, want %q", got, err, tt.want)
			}
		})
	}
}

// sameAsCSV compares with encoding/csv where that reads the text at all. It
// drops empty lines and makes CRLF in quotes LF; both are evened out. Lone CRs
// end lines here and do not there, so texts with them are left out.
func sameAsCSV(t *testing.T, text []byte, delimiter byte) {
	t.Helper()
	if bytes.Contains(bytes.ReplaceAll(text, []byte("\r\n"), nil), []byte("\r")) || bytes.HasPrefix(text, []byte("\ufeff")) {
		return
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma, r.FieldsPerRecord = rune(delimiter), -1
	want, err := r.ReadAll()
	if err != nil {
		return
	}
	got, err := records(text, delimiter)
	if err != nil {
		if len(text) > MaxColumns {
			return
		}
		t.Fatalf("%q: %v, and encoding/csv reads %q", text, err, want)
	}
	even := func(records [][]string) string {
		var b strings.Builder
		for _, cells := range records {
			if len(cells) == 1 && strings.TrimSpace(cells[0]) == "" {
				continue
			}
			for _, c := range cells {
				fmt.Fprintf(&b, "%q ", strings.TrimSpace(strings.ReplaceAll(c, "\r\n", "\n")))
			}
			b.WriteByte('\n')
		}
		return b.String()
	}
	if even(got) != even(want) {
		t.Fatalf("%q is read as\n%s\nand by encoding/csv as\n%s", text, even(got), even(want))
	}
}

// TestSameAsCSV reads the corpus with encoding/csv too.
func TestSameAsCSV(t *testing.T) {
	for _, text := range corpusFiles(t) {
		for _, c := range Delimiters {
			sameAsCSV(t, text, c)
		}
	}
}

// TestSameAsPython reads the corpus with the csv module of Python, which takes
// a quote inside a cell as we do.
func TestSameAsPython(t *testing.T) {
	python := outside.Program(t, "python3")
	const script = `
import csv, io, json, sys
for line in sys.stdin:
    text, delimiter = json.loads(line)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=''), delimiter=delimiter, strict=True))
    except csv.Error:
        rows = None
    print(json.dumps(rows))
`
	var in bytes.Buffer
	type job struct {
		name string
		text []byte
		c    byte
	}
	var jobs []job
	enc := json.NewEncoder(&in)
	for name, text := range corpusFiles(t) {
		if bytes.ContainsRune(text, '\x00') {
			continue
		}
		for _, c := range Delimiters {
			jobs = append(jobs, job{name, text, c})
			if err := enc.Encode([]string{string(text), string(c)}); err != nil {
				t.Fatal(err)
			}
		}
	}
	cmd := exec.Command(python, "-c", script)
	cmd.Stdin = &in
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(bytes.NewReader(out))
	compared := 0
	for _, j := range jobs {
		var want [][]string
		if err := dec.Decode(&want); err != nil {
			t.Fatal(err)
		}
		got, err := records(j.text, j.c)
		if want == nil || err != nil {
			continue
		}
		compared++
		for _, records := range [][][]string{got, want} {
			for i := range records {
				for k := range records[i] {
					records[i][k] = strings.TrimSpace(records[i][k])
				}
				if len(records[i]) == 1 && records[i][0] == "" { // Python has no cell in an empty line
					records[i] = nil
				}
			}
		}
		if fmt.Sprintf("%q", got) != fmt.Sprintf("%q", want) {
			t.Errorf("%s cut at %q\ngot  %q\nwant %q", j.name, j.c, got, want)
		}
	}
	if compared < len(jobs)*9/10 {
		t.Errorf("only %d of %d were compared", compared, len(jobs))
	}
}

// TestEncodings decodes every character of the 8-bit code pages by the Unicode
// tables of golang.org/x/text, and refuses bytes that a page leaves empty.
func TestEncodings(t *testing.T) {
	for name, page := range map[string]*charmap.Charmap{
		"windows-1250": charmap.Windows1250, "windows-1251": charmap.Windows1251, "windows-1252": charmap.Windows1252, "iso-8859-2": charmap.ISO8859_2,
		"iso-8859-15": charmap.ISO8859_15, "cp437": charmap.CodePage437, "cp850": charmap.CodePage850, "cp852": charmap.CodePage852, "koi8-r": charmap.KOI8R,
	} {
		for b := 1; b < 256; b++ {
			want := page.DecodeByte(byte(b))
			f, _, problem := Decode(source.New("a", []byte{'x', byte(b)}), name)
			switch {
			case want == '\ufffd':
				if problem == nil || problem.Code != "bad-encoding" {
					t.Errorf("%s: byte %#x is no character, but %v", name, b, problem)
				}
			case problem != nil || string(f.Text) != "x"+string(want):
				t.Errorf("%s: byte %#x is %q, want %q", name, b, f.Text, want)
			}
		}
	}
}

// FuzzCSV compares the tokenizer with encoding/csv.
func FuzzCSV(f *testing.F) {
	for _, text := range corpusFiles(f) {
		f.Add(text, byte(0))
	}
	f.Fuzz(func(t *testing.T, text []byte, c byte) { sameAsCSV(t, text, Delimiters[int(c)%len(Delimiters)]) })
}

// FuzzDecode holds that whatever decodes is UTF-8 without a zero byte.
func FuzzDecode(f *testing.F) {
	f.Add([]byte("a\x00b\x00c\x00d\x00"), "")
	f.Add([]byte("\xff\xfea\x00"), "utf-16")
	f.Add([]byte("M\xfcller"), "windows-1252")
	f.Fuzz(func(t *testing.T, raw []byte, name string) {
		if _, known := EncodingNamed(name); !known {
			name = ""
		}
		decoded, _, problem := Decode(source.New("a", raw), name)
		if problem != nil {
			var l diag.List
			l.Add(*problem)
			if err := l.Write(io.Discard, nil); err != nil {
				t.Fatal(err)
			}
			return
		}
		if _, ok := source.InvalidUTF8(decoded.Text); !ok || bytes.IndexByte(decoded.Text, 0) >= 0 {
			t.Errorf("%q decodes to %q", raw, decoded.Text)
		}
	})
}

// corpusFiles yields the delimited files of the corpus.
func corpusFiles(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("../../testdata/intake", "*", "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, name := range names {
		a, err := txtar.ParseFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range a.Files {
			base, _, _ := strings.Cut(f.Name, "!")
			if ext := filepath.Ext(base); ext == ".csv" || ext == ".tsv" {
				all[filepath.Base(name)+" "+f.Name] = f.Data
			}
		}
	}
	return all
}
