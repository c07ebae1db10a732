package pdf

import (
	"encoding/hex"
	"fmt"
	"strings"

	"spanseal/internal/page"
)

// writeField writes the signature's form field, which is its annotation too
// (ISO 32000-1, 12.7.4.5). A visible one has an empty appearance over what the
// document drew there; an invisible one needs none (ISO 19005-3, 6.3.3).
func (c *Canvas) writeField(field, signature ref, sig *Signature, pages []ref, label string) {
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
		f.str("]/Resources<<>>")
		f.data(nil)
	}
	f.begin(field)
	f.str("<</Type/Annot/Subtype/Widget/FT/Sig/T(Signature)")
	f.entry("/TU", label)
	f.str("/StructParent ")
	f.int(len(pages))
	f.str("/F 132/Rect[") // print, locked
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

// sign writes the signature dictionary as the last object but the cross-reference
// stream, ends the file, and signs all of it but the signature's own digits.
func (c *Canvas) sign(begin *start, root, info, r ref, sig *Signature) error {
	f := &c.file
	f.begin(r)
	f.str("<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached")
	f.entry("/Name", sig.Name)
	f.entry("/Reason", sig.Reason)
	f.entry("/Location", sig.Location)
	f.date("/M", sig.When)
	f.str("/Reference[<</Type/SigRef/TransformMethod/DocMDP/TransformParams<</Type/TransformParams/P 1/V/1.2>>>>]/ByteRange[")
	byteRange := len(f.buf)
	f.str(strings.Repeat(" ", len("0 1234567890 1234567890 1234567890")), "]/Contents")
	hole := span{from: len(f.buf)}
	f.str("<", strings.Repeat("00", sig.reserve()), ">")
	hole.to = len(f.buf)
	f.str(">>")
	f.end()
	id := c.finish(root, info)
	ranges := fmt.Sprintf("0 %d %d %d", hole.from, hole.to, len(f.buf)-hole.to)
	copy(f.buf[byteRange:], ranges)

	h := begin.clone()
	h.Write(f.buf[len(begin.file.buf):hole.from])
	f.identify(id, h)
	h.Write(f.buf[hole.to:])
	cms, err := sig.Sign([32]byte(h.Sum(nil)))
	if err != nil {
		return err
	}
	if len(cms) > sig.reserve() {
		return fmt.Errorf("pdf: the signature has %d bytes, more than the %d reserved", len(cms), sig.reserve())
	}
	hex.Encode(f.buf[hole.from+1:], cms)
	return nil
}
