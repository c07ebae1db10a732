package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/go-pdf/fpdf"

	"spanseal/internal/seal"
)

// forgery is a file taken apart by its plain text, to be put together again
// with changes: what a forger with a key of his own can do.
type forgery struct {
	objects []string // with number and endobj, in file order
	trailer string
	ranges  string    // in place of the right byte range, "" for the right one
	end     [2]string // replaced in table and trailer

	tagged  bool        // has a cross-reference stream
	packed  map[int]int // the object streams of objects
	streams []int
	// Of a tagged file: what the dictionary of the object stream, its data and the
	// rows of the table become.
	repack  func(dict string, data []byte) (string, []byte)
	retable func(rows []byte) []byte
}

var objectStart = regexp.MustCompile(`(?m)^(\d+) 0 obj\n`)

func takeApart(t testing.TB, data []byte) *forgery {
	t.Helper()
	s := string(data)
	at := objectStart.FindAllStringIndex(s, -1)
	end := strings.LastIndex(s, "xref\n0 ")
	f := &forgery{}
	if i := strings.LastIndex(s, " 0 obj\n<</Type/XRef/Size "); i >= 0 {
		f.tagged, end = true, strings.LastIndexByte(s[:i], '\n')+1
		at = at[:len(at)-1]
		m := regexp.MustCompile(`/Size \d+|/Root \d+ 0 R/Info \d+ 0 R/ID\[<\w+><\w+>\]`).FindAllString(s[end:], 2)
		f.trailer = "<<" + m[0] + m[1] + ">>"
	} else {
		_, f.trailer, _ = strings.Cut(s[end:], "trailer\n")
		f.trailer, _, _ = strings.Cut(f.trailer, "\nstartxref")
	}
	for i := range at {
		to := end
		if i+1 < len(at) {
			to = at[i+1][0]
		}
		f.objects = append(f.objects, s[at[i][0]:to])
	}
	if f.tagged {
		f.unpack(t)
	}
	return f
}

// unpack makes plain objects of those in the object streams.
func (f *forgery) unpack(t testing.TB) {
	t.Helper()
	f.packed = map[int]int{}
	var plain, unpacked []string
	for _, o := range f.objects {
		m := regexp.MustCompile(`(?s)^(\d+) 0 obj\n<</Type/ObjStm/N (\d+)/First (\d+).*?>>\nstream\n(.*)\nendstream\nendobj\n$`).FindStringSubmatch(o)
		if m == nil {
			plain = append(plain, o)
			continue
		}
		stream, _ := strconv.Atoi(m[1])
		f.streams = append(f.streams, stream)
		plain = append(plain, m[1]+" 0 obj\n<<>>\nendobj\n")
		data, err := inflateWhole([]byte(m[4]), 1<<30)
		if err != nil {
			t.Fatal(err)
		}
		first, _ := strconv.Atoi(m[3])
		numbers := strings.Fields(string(data[:first]))
		for i := 0; i < len(numbers); i += 2 {
			from, _ := strconv.Atoi(numbers[i+1])
			to := len(data) - first
			if i+3 < len(numbers) {
				to, _ = strconv.Atoi(numbers[i+3])
			}
			n, _ := strconv.Atoi(numbers[i])
			f.packed[n] = stream
			unpacked = append(unpacked, numbers[i]+" 0 obj\n"+string(data[first+from:first+to])+"endobj\n")
		}
	}
	last := len(plain) - 1
	f.objects = slices.Concat(plain[:last], unpacked, plain[last:])
	if f.streams == nil {
		t.Fatal("no object stream")
	}
}

// flat is the file with a table and no object stream, for readers of earlier
// versions.
func (f *forgery) flat(t testing.TB) []byte {
	f.tagged = false
	f.trailer = regexp.MustCompile(`/Size \d+`).ReplaceAllString(f.trailer, fmt.Sprintf("/Size %d", len(f.objects)+1))
	return f.assemble(t)
}

// replace changes text in the one object that has it.
func (f *forgery) replace(old, new string) {
	n := 0
	for i, o := range f.objects {
		if strings.Contains(o, old) {
			f.objects[i] = strings.Replace(o, old, new, 1)
			n++
		}
	}
	if n != 1 {
		panic(fmt.Sprintf("%q is in %d objects", old, n))
	}
}

// add appends an object before the last one and returns its number.
func (f *forgery) add(value string) int {
	n := len(f.objects) + 1
	last := len(f.objects) - 1
	if f.tagged {
		n = f.numbers() + 1
	}
	f.objects = slices.Insert(f.objects, last, fmt.Sprintf("%d 0 obj\n%s\nendobj\n", n, value))
	f.trailer = regexp.MustCompile(`/Size \d+`).ReplaceAllString(f.trailer, fmt.Sprintf("/Size %d", n+1))
	return n
}

// numbers is the highest number of an object.
func (f *forgery) numbers() (most int) {
	for _, o := range f.objects {
		if m := objectStart.FindStringSubmatch(o); m != nil {
			n, _ := strconv.Atoi(m[1])
			most = max(most, n)
		}
	}
	return most
}

// put writes objects and returns their places; object streams go before the last
// object.
func (f *forgery) put(b *bytes.Buffer) map[int]location {
	places := map[int]location{}
	type objects struct {
		head, body []byte
		n          int
	}
	streams := map[int]*objects{}
	for _, number := range f.streams {
		streams[number] = &objects{}
	}
	for i, o := range f.objects {
		number := 0
		if m := objectStart.FindStringSubmatch(o); m != nil {
			number, _ = strconv.Atoi(m[1])
		}
		switch {
		case f.tagged && streams[number] != nil:
			continue
		case f.tagged && f.packed[number] != 0:
			in := streams[f.packed[number]]
			places[number] = location{in.n, ref(f.packed[number])}
			in.head = fmt.Appendf(in.head, "%d %d ", number, len(in.body))
			in.n++
			_, value, _ := strings.Cut(o, " 0 obj\n")
			in.body = append(in.body, strings.TrimSuffix(value, "endobj\n")...)
			continue
		case f.tagged && i == len(f.objects)-1:
			for k, number := range f.streams {
				in := streams[number]
				places[number] = location{at: b.Len()}
				dict, data := fmt.Sprintf("<</Type/ObjStm/N %d/First %d/Filter/FlateDecode", in.n, len(in.head)), deflate(append(in.head, in.body...))
				if f.repack != nil && k == len(f.streams)-1 {
					dict, data = f.repack(dict, append(in.head, in.body...))
				}
				fmt.Fprintf(b, "%d 0 obj\n%s/Length %d>>\nstream\n%s\nendstream\nendobj\n", number, dict, len(data), data)
			}
		}
		if number > 0 {
			places[number] = location{at: b.Len() + objectStart.FindStringIndex(o)[0]}
		}
		b.WriteString(o)
	}
	return places
}

// assemble writes the file with a right table, byte range, identifier and
// signature.
func (f *forgery) assemble(t testing.TB) []byte {
	t.Helper()
	var b bytes.Buffer
	b.WriteString(header)
	places := f.put(&b)
	xref := b.Len()
	if f.tagged {
		n := f.numbers() + 1
		places[n] = location{at: xref}
		rows := []byte{xrefUp, 0, 0, 0, 0, 0, 0xFF, 0xFF}
		before := xrefRow(0, 0, 1<<16-1)
		for i := range n {
			p := places[i+1]
			row := xrefRow(1, p.at, 0)
			if p.in != 0 {
				row = xrefRow(2, int(p.in), p.at)
			}
			rows = append(rows, xrefUp)
			for k, b := range row {
				rows = append(rows, b-before[k])
			}
			before = row
		}
		if f.retable != nil {
			rows = f.retable(rows)
		}
		table := deflate(rows)
		rest := regexp.MustCompile(`^<</Size \d+|>>$`).ReplaceAllString(f.trailer, "")
		fmt.Fprintf(&b, "%d 0 obj\n<</Type/XRef/Size %d%s%s/Filter/FlateDecode/Length %d>>\nstream\n%s\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n", n, n+1, xrefForm, rest, len(table), table, xref)
	} else {
		fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(places)+1)
		for n := range len(places) {
			fmt.Fprintf(&b, "%010d 00000 n \n", places[n+1].at)
		}
		fmt.Fprintf(&b, "trailer\n%s\nstartxref\n%d\n%%%%EOF\n", f.trailer, xref)
	}
	data := slices.Concat(b.Bytes()[:xref], bytes.Replace(b.Bytes()[xref:], []byte(f.end[0]), []byte(f.end[1]), 1))

	from := bytes.LastIndex(data, []byte("/Contents<")) + len("/Contents")
	if from < len("/Contents") {
		return data
	}
	to := from + bytes.IndexByte(data[from:], '>') + 1
	ranges := f.ranges
	if ranges == "" {
		ranges = fmt.Sprintf("0 %d %d %d", from, to, len(data)-to)
	}
	if i := bytes.LastIndex(data, []byte("/ByteRange[")); i >= 0 {
		n := bytes.IndexByte(data[i:], ']') - len("/ByteRange[")
		copy(data[i+len("/ByteRange["):], fmt.Sprintf("%-*s", n, ranges))
	}
	h := sha256.New()
	h.Write(data[:from])
	id := hex.EncodeToString(h.Sum(nil)[:16])
	if i := bytes.LastIndex(data, []byte("/ID[<")); i >= 0 {
		copy(data[i+len("/ID[<"):], id+"><"+id)
	}
	h.Write(data[to:])
	cms, err := signer().SignCMS([32]byte(h.Sum(nil)), time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	copy(data[from+1:to-1], bytes.Repeat([]byte("0"), to-from-2)) // the signature before may be longer
	hex.Encode(data[from+1:], cms)
	return data
}

// untagged is a file as papers were written before they had tags: the one of
// certificate("A-17"). Its key is not kept.
func untagged(t testing.TB) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/untagged.pdf")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The classes of attack on signed PDF files, as published in "1 Trillion
// Dollar Refund: How To Spoof PDF Signatures" (CCS 2019: universal signature
// forgery, incremental saving, signature wrapping), "Shadow Attacks" (NDSS
// 2021: hide, replace) and "Attacks on PDF Certification" (S&P 2021); the
// names are from memory. Where the file is signed again the forger has a key,
// and Open must still refuse what a reader of ours would never have seen.
//
// They are made of a file without tags, as papers were until November 2026; those
// on what tagged files have beside it stand below.
func TestAttacks(t *testing.T) {
	good := untagged(t)
	if s, err := Open(takeApart(t, good).assemble(t)); err != nil {
		t.Fatalf("put together unchanged: %v", err)
	} else if _, err := seal.VerifyCMS(s.CMS, s.Digest); err != nil {
		t.Fatalf("put together unchanged: %v", err)
	}
	edit := func(change func([]byte) []byte) func(*testing.T) []byte {
		return func(*testing.T) []byte { return change(bytes.Clone(good)) }
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
	end := func(old, new string) func(*testing.T) []byte {
		return forge(func(f *forgery) { f.end = [2]string{old, new} })
	}
	root := regexp.MustCompile(`/Root (\d+)`).FindSubmatch(good)[1]
	count := regexp.MustCompile(`xref\n0 \d+`).FindString(string(good))
	tests := []struct {
		name string
		data func(*testing.T) []byte
		is   error
		want string
	}{
		// Incremental saving.
		{"bytes after the end", edit(func(b []byte) []byte { return append(b, ' ') }), ErrAltered, "the end"},
		{"second end mark", edit(func(b []byte) []byte { return append(b, "%%EOF\n"...) }), ErrExtended, "end of the file"},
		{"appended revision", edit(func(b []byte) []byte {
			xref := bytes.LastIndex(b, []byte("xref\n0 "))
			at := len(b)
			b = append(b, string(root)+" 0 obj\n<</Type/Catalog>>\nendobj\n"...)
			next := len(b)
			return fmt.Appendf(b, "xref\n%s 1\n%010d 00000 n \ntrailer\n<</Size 60/Root %s 0 R/Prev %d>>\nstartxref\n%d\n%%%%EOF\n", root, at, root, xref, next)
		}), ErrExtended, "xref"},
		{"appended revision without a table", edit(func(b []byte) []byte {
			b = append(b, string(root)+" 0 obj\n<</Type/Catalog>>\nendobj\n"...)
			i := bytes.LastIndex(good, []byte("startxref"))
			return append(b, good[i:]...)
		}), ErrExtended, "startxref"},
		{"revision kept in the trailer", forge(func(f *forgery) { f.trailer = strings.Replace(f.trailer, "/Size", "/Prev 15/Size", 1) }), ErrAltered, "trailer: key /Prev"},

		// Universal forgery: parts of the signature taken away.
		{"no byte range", swap("/ByteRange[", "/ByteRonge["), ErrAltered, "/ByteRonge"},
		{"no contents", forge(func(f *forgery) {
			i := len(f.objects) - 1
			f.objects[i] = regexp.MustCompile(`/Contents<\w+>`).ReplaceAllString(f.objects[i], "")
		}), ErrAltered, "no contents"},
		{"empty contents", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/Contents<"))
			return append(append(b[:i:i], "/Contents<>"...), b[i+bytes.IndexByte(b[i:], '>')+1:]...)
		}), ErrAltered, ""},
		{"contents of zeros", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/Contents<")) + 10
			for j := i; b[j] != '>'; j++ {
				b[j] = '0'
			}
			return b
		}), ErrAltered, "not a CMS message"},
		{"contents as plain string", swap("/Contents<30", "/Contents(30"), ErrAltered, ""},
		{"negative range", forge(func(f *forgery) { f.ranges = "0 -1 0 9" }), ErrAltered, "does not cover"},
		{"range of no bytes", forge(func(f *forgery) { f.ranges = "0 0 0 0" }), ErrAltered, "does not cover"},
		{"three numbers", forge(func(f *forgery) { f.ranges = "0 10 20" }), ErrAltered, "does not cover"},

		// Wrapping: the hole is moved or widened.
		{"hole before the contents", forge(func(f *forgery) { f.ranges = "0 100 200 300" }), ErrAltered, "does not cover"},
		{"hole to the end", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/ByteRange[")) + len("/ByteRange[")
			n := bytes.IndexByte(b[i:], ']')
			fields := strings.Fields(string(b[i : i+n]))
			copy(b[i:], fmt.Sprintf("%-*s", n, fmt.Sprintf("0 %s %d 0", fields[1], len(b))))
			return b
		}), ErrAltered, "does not cover"},
		{"contents elsewhere", forge(func(f *forgery) {
			f.add("<</Contents<" + strings.Repeat("0", 4000) + ">>>")
			i := len(f.objects) - 1
			f.objects[i], f.objects[i-1] = f.objects[i-1], f.objects[i]
			f.replace("/AcroForm<<", fmt.Sprintf("/Lang %d 0 R/AcroForm<<", len(f.objects)))
		}), ErrAltered, "twice"},
		{"padding used", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/Contents<"))
			i += bytes.IndexByte(b[i:], '>') - 1
			b[i] = '1'
			return b
		}), ErrAltered, "beside the CMS"},
		{"digits in upper case", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/Contents<")) + 10
			j := i + bytes.IndexAny(b[i:], "abcdef")
			b[j] -= 'a' - 'A'
			return b
		}), ErrAltered, "hexadecimal"},
		{"second signature", forge(func(f *forgery) {
			n := f.add("<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached/ByteRange[0 1 2 3]>>")
			f.replace("/DisplayDocTitle true", fmt.Sprintf("/DisplayDocTitle %d 0 R", n))
		}), ErrAltered, "second signature"},
		{"second field", forge(func(f *forgery) {
			n := f.add("<</Type/Annot/Subtype/Widget/FT/Tx/T(x)/V(0.10 dB)/Rect[0 0 9 9]>>")
			f.replace("/Fields[", fmt.Sprintf("/Fields[%d 0 R", n))
		}), ErrAltered, "one form field"},
		{"field names another signature", forge(func(f *forgery) {
			n := f.add("<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached>>")
			f.objects = slices.Clone(f.objects)
			for i, o := range f.objects {
				if strings.Contains(o, "/FT/Sig") {
					f.objects[i] = regexp.MustCompile(`/V \d+`).ReplaceAllString(o, fmt.Sprintf("/V %d", n))
				}
			}
		}), ErrAltered, "different signatures"},

		// Shadows: what could be brought to light later.
		{"hidden object", forge(func(f *forgery) { f.add("<</Type/Page>>") }), ErrAltered, "hidden"},
		{"hidden bytes", forge(func(f *forgery) { f.objects[3] += "%shadow\n" }), ErrAltered, "is said to be at"},
		{"hidden bytes before the table", forge(func(f *forgery) { f.objects[len(f.objects)-1] += "% shadow\n" }), ErrAltered, "no object owns"},
		{"object twice", forge(func(f *forgery) { f.objects = append([]string{"2 0 obj\n<<>>\nendobj\n"}, f.objects...) }), ErrAltered, "is said to be at"},
		{"text layer in a form field", swap("/FT/Sig", "/FT/Btn"), ErrAltered, "different signatures"},
		{"annotation over a reading", forge(func(f *forgery) {
			n := f.add("<</Type/Annot/Subtype/Square/Rect[0 0 9 9]/F 4>>")
			f.replace("/Annots[", fmt.Sprintf("/Annots[%d 0 R", n))
		}), ErrAltered, "no annotation but the signature"},
		{"layers", swap("/Type/Catalog", "/Type/Catalog/OCProperties<<>>"), ErrAltered, "/OCProperties is not used"},

		// Certification.
		{"form filling permitted", swap("/P 1/V/1.2", "/P 2/V/1.2"), ErrAltered, "no change"},
		{"not certified", forge(func(f *forgery) {
			i := len(f.objects) - 1
			f.objects[i] = regexp.MustCompile(`/Reference\[.*?\]/B`).ReplaceAllString(f.objects[i], "/B")
		}), ErrAltered, "no change"},
		{"approval only", swap("/Perms<</DocMDP", "/Perms<</DocMDQ"), ErrAltered, "/DocMDQ"},

		// Files that act.
		{"action on opening", swap("/Type/Catalog", "/Type/Catalog/OpenAction<</S/JavaScript>>"), ErrAltered, "/OpenAction is not used"},
		{"script in the names", swap("/Names<<", "/Names<</JavaScript<<>>"), ErrAltered, "/JavaScript"},
		{"action of a bookmark", swap("/Title(Certificate A-17)/Parent", "/Title(Certificate A-17)/A<<>>/Parent"), ErrAltered, "/A is not used"},
		{"action of a page", swap("/Type/Page/", "/Type/Page/AA<<>>/"), ErrAltered, "/AA is not used"},
		{"link to a file", forge(func(f *forgery) { f.replace("/Subtype/text#2fcsv", "/F(x)/Subtype/text#2fcsv") }), ErrAltered, "/F has no place"},
		{"encrypted", forge(func(f *forgery) { f.trailer = strings.Replace(f.trailer, "/Size", "/Encrypt<<>>/Size", 1) }), ErrAltered, "/Encrypt"},

		// Disagreement.
		{"title of the properties", swap("/Title(Certificate A-17)/Author", "/Title(Certificate A-18)/Author"), ErrAltered, "metadata"},
		{"title of the metadata", swap("x-default\">Certificate A-17", "x-default\">Certificate A-18"), ErrAltered, "metadata"},
		{"two names of an attachment", swap("/F(record.json)", "/F(recorb.json)"), ErrAltered, "two names"},
		{"an attachment less in the list", forge(func(f *forgery) {
			for i, o := range f.objects {
				f.objects[i] = regexp.MustCompile(`/AF\[ \d+ 0 R`).ReplaceAllString(o, "/AF[")
			}
		}), ErrAltered, "do not agree"},
		{"size of an attachment", swap("/Size 1920", "/Size 1919"), ErrAltered, "size it is said"},
		{"attachment of a terabyte", swap("/Size 1920", "/Size 1000000000000"), ErrAltered, "beyond what is read"},
		{"two contents of an attachment", forge(func(f *forgery) {
			for i, o := range f.objects {
				f.objects[i] = regexp.MustCompile(`/UF \d+ 0 R>>>>`).ReplaceAllString(o, "/UF 1 0 R>>>>")
			}
		}), ErrAltered, "two contents"},
		{"one content of two attachments", forge(func(f *forgery) {
			content := regexp.MustCompile(`/EF<</F (\d+) 0 R/UF \d+ 0 R>>`)
			var first []string
			for i, o := range f.objects {
				switch at := content.FindStringSubmatch(o); {
				case at != nil && first == nil:
					first = at
				case at != nil && !strings.Contains(strings.Join(f.objects, ""), "FontDescriptor/Parent "): // the other content is held by the font, or it would be called hidden
					f.objects[i] = strings.Replace(o, at[0], first[0], 1)
					for j, o := range f.objects {
						if strings.Contains(o, "/Type/FontDescriptor") {
							f.objects[j] = strings.Replace(o, "/Type/FontDescriptor", "/Type/FontDescriptor/Parent "+at[1]+" 0 R", 1)
							break
						}
					}
				}
			}
		}), ErrAltered, "its content is another's too"},
		{"a name of 200 letters", swap("/Type/Filespec/F(record", "/Type/Filespec/"+strings.Repeat("F", 200)+"(record"), ErrAltered, "want a shorter name"},
		{"more values than bytes of ours hold", swap("/Type/Filespec/F(record", "/Type/Filespec/Rect["+strings.Repeat("0 ", 200_000)+"]/F(record"), ErrAltered, "more values than our files have"},
		{"file identifier", edit(func(b []byte) []byte {
			i := bytes.LastIndex(b, []byte("/ID[<")) + 5
			copy(b[i:], "0123")
			return b
		}), ErrAltered, "identifier"},

		{"no information dictionary", forge(func(f *forgery) {
			f.trailer = regexp.MustCompile(`/Info (\d+ 0 R)`).ReplaceAllString(f.trailer, "/Info[$1]")
		}), ErrAltered, "no information dictionary"},
		{"author not a text", swap("/Author(Test Cabling)", "/Author[1]"), ErrAltered, "/Author: want a text"},
		{"author in Latin-1", swap("/Author(Test Cabling)", "/Author(T\xE9st Cabling)"), ErrAltered, "/Author: a text in an encoding"},
		{"date without a day", swap("/CreationDate(D:20261125", "/CreationDate(D:202611"), ErrAltered, "want a date"},
		{"date in another zone", swap("/CreationDate(D:20261125090000+00", "/CreationDate(D:20261125090000+01"), ErrAltered, "want a date"},
		{"date not a text", swap("/CreationDate(D:20261125090000+00'00')", "/CreationDate 1"), ErrAltered, "want a text"},
		{"date of the signature", all(`/M\(D:2026`, "/M(D:-026"), ErrAltered, "signature: want a date"},
		{"reason not a text", swap("/Reason(Certified \\(measured\\))", "/Reason 1"), ErrAltered, "signature: /Reason: want a text"},
		{"no pages", swap("/Count 1/Kids", "/Count 0/Kids"), ErrAltered, "no pages"},
		{"a page more", all(`/Kids\[ (\d+ 0 R)`, "/Kids[ $1 $1"), ErrAltered, "number of pages"},
		{"page with a rectangle", swap("/Type/Page/", "/Type/Page/Rect[]/"), ErrAltered, "page: key /Rect"},
		{"paper of three corners", swap("/MediaBox[0 0 595.276", "/MediaBox[0 595.276"), ErrAltered, "want a rectangle"},
		{"paper of words", swap("/MediaBox[0 0 595.276", "/MediaBox[0 0/A"), ErrAltered, "want a rectangle"},
		{"field of three corners", swap("/Rect[0 0 0 0]", "/Rect[0 0 0]"), ErrAltered, "want a rectangle"},
		{"signature on no page", forge(func(f *forgery) {
			f.all(`/Annots\[ \d+ 0 R\]`, "")
		}), ErrAltered, "on no page"},
		{"field of another page", all(`(/Rect\[0 0 0 0\]/P) \d+`, "$1 1"), ErrAltered, "no annotation but the signature"},
		{"form with a default appearance", swap("/SigFlags 3", "/SigFlags 3/W 1"), ErrAltered, "form: key /W"},
		{"field with a size", swap("/FT/Sig", "/FT/Sig/Size 1"), ErrAltered, "signature field: key /Size"},
		{"permissions of two kinds", swap("/Perms<<", "/Perms<</P 1"), ErrAltered, "permissions: key /P"},
		{"another form of signature", swap("/SubFilter/ETSI.CAdES.detached", "/SubFilter/adbe.pkcs7.detached"), ErrAltered, "ETSI.CAdES.detached"},
		{"name tree of numbers", swap("/Names[(record.json)", "/Names[7"), ErrAltered, "name of an attachment: want a text"},
		{"attachment exchanged in the name tree", all(`(\(record\.json\)) (\d+) 0 R(\(source-rows\.txt\)) (\d+) 0 R`, "$1 $4 0 R$3 $2 0 R"), ErrAltered, "another file"},
		{"attachment in place", all(`/AF\[ (\d+) 0 R`, "/AF[<</F $1 0 R>>"), ErrAltered, "no references"},
		{"attachment with a rectangle", swap("/Type/Filespec/F(record", "/Type/Filespec/Rect[]/F(record"), ErrAltered, "attachment: key /Rect"},
		{"name not a text", swap("/F(record.json)/UF(record.json)", "/F 1/UF 1"), ErrAltered, "name of an attachment: want a text"},
		{"description not a text", swap("/Desc(What was judged)", "/Desc 1"), ErrAltered, "want a text"},
		{"third content of an attachment", all(`(/AFRelationship/Data/EF<<)(/F \d+ 0 R)`, "${1}$2/Desc(x)"), ErrAltered, "EF: key /Desc"},
		{"attachment without a date", swap("/Params<</Size 1920/ModDate(D", "/Params<</Size 1920/ModDate(E"), ErrAltered, "want a date"},
		{"attachment of minus one byte", swap("/Size 1920", "/Size -1"), ErrAltered, "beyond what is read"},
		{"attachment that does not inflate", forge(func(f *forgery) {
			for i, o := range f.objects {
				if strings.Contains(o, "/Size 1920") {
					f.objects[i] = strings.Replace(o, ">>\nstream\nx", ">>\nstream\ny", 1)
				}
			}
		}), ErrAltered, "zlib: invalid header"},

		// Objects.
		{"object of another number", edit(func(b []byte) []byte { return bytes.Replace(b, []byte("\n5 0 obj"), []byte("\n6 0 obj"), 1) }), ErrAltered, `want "5 0 obj`},
		{"stream longer than the file", edit(func(b []byte) []byte { return bytes.Replace(b, []byte("/Length 1151"), []byte("/Length 9999999"), 1) }), ErrAltered, ""},
		{"stream longer than the file, in its place", all(`/Subtype/XML/Length \d+`, "/Subtype/XML/Length 9999999"), ErrAltered, "with its length"},
		{"stream without a length", all(`/Subtype/XML/Length \d+`, "/Subtype/XML"), ErrAltered, "with its length"},
		{"stream without an end", edit(func(b []byte) []byte { return bytes.Replace(b, []byte("\nendstream"), []byte("\nendstreaM"), 1) }), ErrAltered, `want "\nendstream"`},
		{"nested without end", swap("/DisplayDocTitle true", "/DisplayDocTitle "+strings.Repeat("[", 20)+strings.Repeat("]", 20)), ErrAltered, "too deep"},
		{"reference to nothing", swap("/DisplayDocTitle true", "/DisplayDocTitle 999 0 R"), ErrAltered, "does not exist"},
		{"size of the trailer", forge(func(f *forgery) { f.trailer = strings.Replace(f.trailer, "/Size ", "/Size 1", 1) }), ErrAltered, "number of objects"},

		// Table and trailer.
		{"no first entry", end("65535 f", "65534 f"), ErrAltered, "65535 f"},
		{"objects without number", end("xref\n0 ", "xref\n0 x"), ErrAltered, "want a number"},
		{"more objects than bytes", end("xref\n0 ", "xref\n0 99999"), ErrAltered, "want the number of objects"},
		{"no objects", end(count, "xref\n0 0"), ErrAltered, "want the number of objects"},
		{"free object", end(" n \n", " f \n"), ErrAltered, "want an entry"},
		{"offset in words", end(" 00000 n", "x00000 n"), ErrAltered, "want an entry"},
		{"no trailer", end("trailer", "trailes"), ErrAltered, `want "trailer`},
		{"trailer not a dictionary", end("trailer\n<<", "trailer\n(<"), ErrAltered, "want a string"},
		{"trailer without end of line", end(">>\nstartxref", ">> \nstartxref"), ErrAltered, `want "\n"`},
		{"two trailers", end("\nstartxref", "\ntrailer\n<<>>\nstartxref"), ErrAltered, "want startxref"},
		{"no place of the table", end("startxref", "startxreg"), ErrAltered, `want "startxref`},
		{"place of the table in words", end("startxref\n", "startxref\nx"), ErrAltered, "want a number"},
		{"place of the table and more", end("\n%%EOF", "1 \n%%EOF"), ErrAltered, "%%EOF"},

		// Other files.
		{"no PDF", func(*testing.T) []byte { return []byte("hello") }, ErrNotPDF, ""},
		{"empty", func(*testing.T) []byte { return nil }, ErrNotPDF, ""},
		{"unsigned", func(t *testing.T) []byte { return write(t, certificate("A-17"), nil) }, ErrUnsigned, ""},
		{"by another program", func(t *testing.T) []byte {
			var b bytes.Buffer
			f := fpdf.New("P", "mm", "A4", "")
			f.AddPage()
			if err := f.Output(&b); err != nil {
				t.Fatal(err)
			}
			return b.Bytes()
		}, ErrForeign, "byte 0"},
		{"written anew", func(t *testing.T) []byte {
			return bytes.ReplaceAll(good, []byte("\nendobj\n"), []byte("\r\nendobj\n"))
		}, ErrAltered, "want a number"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Open(tt.data(t))
			if !errors.Is(err, tt.is) || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v\nwant %v ... %q", err, tt.is, tt.want)
			}
			t.Log(err)
		})
	}
}

// A value has one spelling.
func TestParserRefuses(t *testing.T) {
	for _, tt := range []struct{ value, want string }{
		{"", "want a value"},
		{"null", "want a value"},
		{"<</A 1/A 2>>", "/A stands twice"},
		{"<<(A)1>>", `want "/"`},
		{"<</A>>", "want a value"},
		{"<</A 1", `want "/"`},
		{"[1", "want a value"},
		{"/A#", "want a name"},
		{"/A#zz", "want a name"},
		{"--1", "want a number"},
		{"1.2.3", "want a number"},
		{"(a", "want a string"},
		{"(a(b))", "want a string"},
		{`(a\`, "want a string"},
		{`(a\101)`, "want a string"},
		{"<12", "want a string"},
		{"<123>", "hexadecimal"},
		{"<AB>", "hexadecimal"},
		{"<g0>", "hexadecimal"},
		{"0 0 R", ""}, // a number, and a rest
	} {
		p := &parser{data: []byte(tt.value)}
		_, err := p.value(0)
		if err == nil && p.at < len(p.data) {
			err = p.errorf("a rest")
		}
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want %q", tt.value, err, tt.want)
		}
	}
}

func FuzzOpen(f *testing.F) {
	good := small(f)
	f.Add(good)
	unsigned := write(f, certificate("A-17"), nil)
	f.Add(unsigned)
	f.Add([]byte(header + "1 0 obj\n<<>>\nendobj\nxref\n0 2\n0000000000 65535 f \n0000000015 00000 n \ntrailer\n<</Size 2/Root 1 0 R>>\nstartxref\n35\n%%EOF\n"))
	f.Add(untagged(f))
	for _, cut := range []string{"/Contents", "/Type/XRef", "/Type/ObjStm", "/Tabs", "/AF[", "startxref"} {
		i := bytes.Index(good, []byte(cut))
		f.Add(slices.Concat(good[:i], good[i+4:]))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Open(data)
		if err != nil {
			return
		}
		if _, err := seal.VerifyCMS(s.CMS, s.Digest); err != nil {
			return
		}
		for i := 0; i < len(data); i += 97 { // what is taken is covered throughout
			data[i] ^= 1
			if verify(data) == nil {
				t.Errorf("byte %d is not covered", i)
			}
			data[i] ^= 1
		}
	})
}

// FuzzForged changes one object of a file that is then put together and signed
// again, so that the change passes the table and the digest and meets what
// makes sense of the objects.
func FuzzForged(f *testing.F) {
	good := small(f)
	f.Add(uint8(3), uint16(9), uint16(4), "<</X[1 0 R]>>")
	f.Add(uint8(200), uint16(30), uint16(0), "/Kids[[[[")
	f.Add(uint8(20), uint16(12), uint16(1), "(\\")
	f.Add(uint8(22), uint16(12), uint16(1), "/Size 4294967296")
	f.Fuzz(func(t *testing.T, object uint8, at, cut uint16, insert string) {
		forged := takeApart(t, good)
		o := &forged.objects[int(object)%len(forged.objects)]
		from := int(at) % len(*o)
		to := min(from+int(cut), len(*o))
		*o = (*o)[:from] + insert + (*o)[to:]
		if s, err := Open(forged.assemble(t)); err == nil && s.Pages < 1 {
			t.Error("taken without pages")
		}
	})
}
