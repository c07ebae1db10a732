package pdf

import (
	"cmp"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"slices"
	"strconv"

	"spanseal/internal/page"
)

// Write draws the document, attaches its files, signs it unless sig is nil,
// and writes the whole to w at once. The same input gives the same bytes.
func (c *Canvas) Write(w io.Writer, d *Document, sig *Signature) error {
	if err := d.check(sig); err != nil {
		return err
	}
	if err := c.draw(d); err != nil {
		return err
	}
	if sig != nil && (sig.Page < 0 || sig.Page > len(c.sheets)) {
		return fmt.Errorf("pdf: the signature is on page %d of %d", sig.Page, len(c.sheets))
	}
	begin := c.press.start(c.used)
	f := &c.file
	f.buf = append(f.buf[:0], begin.file.buf...)
	f.offsets = append(f.offsets[:0], begin.file.offsets...)

	var field ref
	if sig != nil {
		field = f.reserve()
	}
	tree, pages := c.writePages(begin.fonts, field, sig)
	var outline ref
	if len(c.outline) > 0 {
		outline = f.outlines(c.outline, pages)
	}
	files := c.attach(d)
	metadata := f.reserve()
	f.stream(metadata, "/Type/Metadata/Subtype/XML", []byte(d.xmp()))
	info := f.info(d)

	root := f.reserve()
	var signature ref
	if sig != nil {
		signature = f.reserve()
		c.writeField(field, signature, sig, pages)
	}
	f.begin(root)
	f.str("<</Type/Catalog")
	f.ref("/Pages", tree)
	f.ref("/Metadata", metadata)
	f.entry("/Lang", d.Language)
	f.str("/ViewerPreferences<</DisplayDocTitle true>>")
	f.str("/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier(sRGB IEC61966-2-1)/Info(sRGB IEC61966-2-1)")
	f.ref("/DestOutputProfile", begin.profile)
	f.str(">>]")
	if outline != 0 {
		f.ref("/Outlines", outline)
		f.str("/PageMode/UseOutlines")
	}
	f.attachments(files)
	if sig != nil {
		f.ref("/AcroForm<</SigFlags 3/Fields[", field)
		f.ref("]>>/Perms<</DocMDP", signature)
		f.str(">>")
	}
	f.str(">>")
	f.end()

	if sig == nil {
		id := f.finish(root, info)
		h := begin.clone()
		h.Write(f.buf[len(begin.file.buf):id.from])
		id.fill(f.buf, h)
	} else if err := f.sign(begin, root, info, signature, sig); err != nil {
		return err
	}
	_, err := w.Write(f.buf)
	return err
}

// writePages writes content streams, pictures, page objects and their tree.
func (c *Canvas) writePages(fonts, field ref, sig *Signature) (tree ref, pages []ref) {
	f := &c.file
	pictures := make([]ref, len(c.pictures))
	for i, p := range c.pictures {
		pictures[i] = f.reserve()
		f.stream(pictures[i], p.entries, p.data)
	}
	tree = f.reserve()
	pages = make([]ref, len(c.sheets))
	for i, s := range c.sheets {
		content := f.reserve()
		f.stream(content, "/Filter/FlateDecode", c.packed[s.content.from:s.content.to])
		pages[i] = f.reserve()
		f.begin(pages[i])
		f.ref("<</Type/Page/Parent", tree)
		f.ref("/Contents", content)
		f.ref("/Resources<</Font", fonts) // a page may not inherit them (ISO 19005-3, 6.2.2)
		if len(s.pictures) > 0 {
			f.str("/XObject<<")
			for _, n := range s.pictures {
				f.ref("/I"+strconv.Itoa(n), pictures[n])
			}
			f.str(">>")
		}
		f.str(">>")
		if field != 0 && i == max(sig.Page, 1)-1 {
			f.ref("/Annots[", field)
			f.str("]")
		}
		f.str(">>")
		f.end()
	}
	f.begin(tree)
	f.str("<</Type/Pages/MediaBox[0 0 ")
	f.points(c.press.paper.Width)
	f.str(" ")
	f.points(c.press.paper.Height)
	f.str("]/Count ")
	f.int(len(pages))
	f.str("/Kids[")
	for _, p := range pages {
		f.ref("", p)
	}
	f.str("]>>")
	f.end()
	return tree, pages
}

// deflate compresses with the canvas's compressor; the result holds until the
// next call.
func (c *Canvas) deflate(data []byte) []byte {
	c.zipped.Reset()
	c.zip.Reset(&c.zipped)
	_, err := c.zip.Write(data)
	if err == nil {
		err = c.zip.Close()
	}
	if err != nil {
		panic(err) // a buffer takes everything
	}
	return c.zipped.Bytes()
}

// embedded is an attachment and its file specification.
type embedded struct {
	name string
	spec ref
}

// attach writes the embedded files (ISO 32000-1, 7.11.4; ISO 19005-3, 6.8).
func (c *Canvas) attach(d *Document) []embedded {
	f := &c.file
	var files []embedded
	for _, a := range d.Attachments {
		when := a.Modified
		if when.IsZero() {
			when = d.Created
		}
		data := f.reserve()
		packed := c.deflate(a.Data)
		f.begin(data)
		f.str("<</Type/EmbeddedFile/Subtype")
		f.name(cmp.Or(a.MIME, "application/octet-stream"))
		f.str("/Params<</Size ")
		f.int(len(a.Data))
		f.date("/ModDate", when)
		f.str(">>/Filter/FlateDecode/Length ")
		f.int(len(packed))
		f.str(">>\nstream\n")
		f.buf = append(f.buf, packed...)
		f.str("\nendstream")
		f.end()

		spec := f.reserve()
		f.begin(spec)
		f.str("<</Type/Filespec")
		f.entry("/F", a.Name)
		f.entry("/UF", a.Name)
		f.entry("/Desc", a.Description)
		f.str("/AFRelationship/", a.Relationship)
		f.ref("/EF<</F", data)
		f.ref("/UF", data)
		f.str(">>>>")
		f.end()
		files = append(files, embedded{a.Name, spec})
	}
	return files
}

// attachments writes the catalog's list of files, in the document's order, and
// the name tree, which must be sorted by its keys' bytes.
func (f *file) attachments(files []embedded) {
	if len(files) == 0 {
		return
	}
	f.str("/AF[")
	for _, e := range files {
		f.ref("", e.spec)
	}
	f.str(" ]/Names<</EmbeddedFiles<</Names[")
	sorted := slices.SortedFunc(slices.Values(files), func(a, b embedded) int {
		return slices.Compare(encodeText(a.name), encodeText(b.name))
	})
	for _, e := range sorted {
		f.text(e.name)
		f.ref("", e.spec)
	}
	f.str("]>>>>")
}

// writeField writes the signature's form field, which is its annotation too
// (ISO 32000-1, 12.7.4.5). A visible one has an empty appearance over what the
// document drew there; an invisible one needs none (ISO 19005-3, 6.3.3).
func (c *Canvas) writeField(field, signature ref, sig *Signature, pages []ref) {
	f := &c.file
	b := sig.Box
	var look ref
	if b != (page.Box{}) {
		look = f.reserve()
		f.begin(look)
		f.str("<</Type/XObject/Subtype/Form/BBox[0 0 ")
		f.points(b.W)
		f.str(" ")
		f.points(b.H)
		f.str("]/Resources<<>>/Length 0>>\nstream\n\nendstream")
		f.end()
	}
	f.begin(field)
	f.str("<</Type/Annot/Subtype/Widget/FT/Sig/T(Signature)/F 132/Rect[") // print, locked
	if look != 0 {
		for _, v := range []float64{b.X, c.press.paper.Height - b.Y - b.H, b.X + b.W, c.press.paper.Height - b.Y} {
			f.points(v)
			f.str(" ")
		}
		f.ref("]/AP<</N", look)
		f.str(">>")
	} else {
		f.str("0 0 0 0]")
	}
	f.ref("/P", pages[max(sig.Page, 1)-1])
	f.ref("/V", signature)
	f.str(">>")
	f.end()
}

// span is a part of a buffer.
type span struct{ from, to int }

// fill writes the file identifier: the digest so far, halved.
func (s span) fill(buf []byte, h hash.Hash) {
	id := hex.EncodeToString(h.Sum(nil)[:16])
	copy(buf[s.from:], "<"+id+"><"+id+">")
}

// finish writes the cross-reference table and the trailer, and returns the
// place of the file identifier.
func (f *file) finish(root, info ref) span {
	xref := len(f.buf)
	f.str("xref\n0 ")
	f.int(len(f.offsets) + 1)
	f.str("\n0000000000 65535 f \n")
	for _, at := range f.offsets {
		f.padded(at)
		f.str(" 00000 n \n")
	}
	f.str("trailer\n<</Size ")
	f.int(len(f.offsets) + 1)
	f.ref("/Root", root)
	f.ref("/Info", info)
	f.str("/ID[")
	id := span{from: len(f.buf)}
	f.buf = append(f.buf, make([]byte, 2*34)...)
	id.to = len(f.buf)
	f.str("]>>\nstartxref\n")
	f.int(xref)
	f.str("\n%%EOF\n")
	return id
}

// padded appends a number in ten digits.
func (f *file) padded(n int) {
	var digits [10]byte
	for i := len(digits) - 1; i >= 0; i-- {
		digits[i] = byte('0' + n%10)
		n /= 10
	}
	f.buf = append(f.buf, digits[:]...)
}

// sign writes the signature dictionary as the last object, ends the file, and
// signs all of it but the signature's own digits.
func (f *file) sign(begin *start, root, info, r ref, sig *Signature) error {
	f.begin(r)
	f.str("<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached")
	f.entry("/Name", sig.Name)
	f.entry("/Reason", sig.Reason)
	f.entry("/Location", sig.Location)
	f.date("/M", sig.When)
	f.str("/Reference[<</Type/SigRef/TransformMethod/DocMDP/TransformParams<</Type/TransformParams/P 1/V/1.2>>>>]/ByteRange[")
	byteRange := len(f.buf)
	f.str("                                  ]/Contents")
	cut := span{from: len(f.buf)}
	f.str("<")
	f.buf = append(f.buf, make([]byte, 2*sig.reserve())...)
	for i := cut.from + 1; i < len(f.buf); i++ {
		f.buf[i] = '0'
	}
	f.str(">")
	cut.to = len(f.buf)
	f.str(">>")
	f.end()
	id := f.finish(root, info)
	ranges := fmt.Sprintf("0 %d %d %d", cut.from, cut.to, len(f.buf)-cut.to)
	copy(f.buf[byteRange:], ranges)

	h := begin.clone()
	h.Write(f.buf[len(begin.file.buf):cut.from])
	id.fill(f.buf, h)
	h.Write(f.buf[cut.to:])
	cms, err := sig.Sign([32]byte(h.Sum(nil)))
	if err != nil {
		return err
	}
	if len(cms) > sig.reserve() {
		return fmt.Errorf("pdf: the signature has %d bytes, more than the %d reserved", len(cms), sig.reserve())
	}
	hex.Encode(f.buf[cut.from+1:], cms)
	return nil
}

// clone returns the digest's state after the shared beginning.
func (s *start) clone() hash.Hash {
	h, err := s.hash.(hash.Cloner).Clone()
	if err != nil {
		panic(err) // SHA-256 can be cloned
	}
	return h
}
