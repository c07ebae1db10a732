package pdf

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"strconv"
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
	f.places = append(f.places[:0], begin.file.places...)
	c.packed.into(f)

	var field ref
	if sig != nil {
		field = f.reserve()
	}
	tree, pages := c.writePages(begin.fonts, field, sig)
	var outline ref
	if len(c.outline) > 0 {
		outline = c.packed.outlines(c.outline, pages)
	}
	signing := c.signing(sig)
	structure := c.structure(pages, field, sig, signing)
	c.packed.flush()
	files, err := c.attach(d)
	if err != nil {
		return err
	}
	metadata := f.reserve()
	f.stream(metadata, "/Type/Metadata/Subtype/XML", []byte(d.xmp(true)))
	info := f.info(d)

	root := f.reserve()
	var signature ref
	if sig != nil {
		signature = f.reserve()
		c.writeField(field, signature, sig, pages, c.extras[c.elements[signing].extra-1].alt)
	}
	f.begin(root)
	f.str("<</Type/Catalog")
	f.ref("/Pages", tree)
	f.ref("/Metadata", metadata)
	f.entry("/Lang", d.Language)
	f.str("/MarkInfo<</Marked true>>")
	f.ref("/StructTreeRoot", structure)
	f.str("/ViewerPreferences<</DisplayDocTitle true>>")
	f.str("/OutputIntents[<</Type/OutputIntent/S/GTS_PDFA1/OutputConditionIdentifier(sRGB IEC61966-2-1)")
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
		id := c.finish(root, info)
		h := begin.clone()
		h.Write(f.buf[len(begin.file.buf):id])
		f.identify(id, h)
	} else if err := c.sign(begin, root, info, signature, sig); err != nil {
		return err
	}
	_, err = w.Write(f.buf)
	if cap(f.buf) > mostKept {
		f.buf, f.places, c.contents, c.zipped = nil, nil, nil, bytes.Buffer{}
		c.elements, c.kids, c.marks, c.packed.buf, c.rows = nil, nil, nil, nil, nil
	}
	return err
}

// mostKept is up to how many bytes a buffer is kept for the next document. That
// of a summary of 100,000 links would lie idle while their papers are written.
const mostKept = 4 << 20

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
		f.stream(content, "/Filter/FlateDecode", c.contents[s.content.from:s.content.to])
		pages[i] = f.reserve()
		f.begin(pages[i])
		f.ref("<</Type/Page/Parent", tree)
		f.str("/Tabs/S/StructParents ")
		f.int(i)
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
func (c *Canvas) deflate(parts ...[]byte) []byte {
	c.zipped.Reset()
	c.zip.Reset(&c.zipped)
	for _, data := range parts {
		if _, err := c.zip.Write(data); err != nil {
			panic(err) // a buffer takes everything
		}
	}
	if err := c.zip.Close(); err != nil {
		panic(err)
	}
	return c.zipped.Bytes()
}

// finish ends the file and returns the place of the file identifier.
func (c *Canvas) finish(root, info ref) (id int) {
	id, c.rows = c.file.xref(root, info, c.deflate, c.rows)
	return id
}

// identify fills in the file identifier: the digest so far, halved.
func (f *file) identify(at int, h hash.Hash) {
	id := hex.EncodeToString(h.Sum(nil)[:16])
	copy(f.buf[at:], "<"+id+"><"+id+">")
}
