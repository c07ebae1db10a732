package pdf

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf16"

	"spanseal/internal/page"
)

// Signed is what a signed file of ours says. Only the structure has been
// checked: whether CMS is a signature over Digest, and by whom, is for the
// caller.
type Signed struct {
	Title, Author, Subject, Language string
	Created                          time.Time
	Pages                            int
	Paper                            page.PaperSize // of every page; zero: neither A4 nor letter
	Attachments                      []page.Attachment

	// What the signature dictionary says of itself; the signer's certificate
	// is the authority.
	Name, Reason, Location string
	When                   time.Time
	Page                   int
	Box                    page.Box // zero: invisible

	CMS    []byte   // DER
	Digest [32]byte // SHA-256 of the signed bytes
}

// Why Open refuses a file. Each error says more in its text.
var (
	ErrNotPDF   = errors.New("not a PDF file")
	ErrForeign  = errors.New("a PDF file that spanseal did not write, or one written anew by another program")
	ErrUnsigned = errors.New("the PDF file has no signature")
	ErrExtended = errors.New("the PDF file was extended after it was signed")
	ErrAltered  = errors.New("the PDF file was altered after it was written")
)

// The attachments of one file are held up to maxHeld bytes together; what is
// larger is inflated as it is asked for, and refused beyond maxUnpacked.
const (
	maxHeld        = 32 << 20
	maxAttachments = 1000
)

// maxUnpacked is to how many bytes an attachment may inflate: the tables of our
// largest jobs inflate to fourteen times the file that carries them.
func maxUnpacked(file int) int64 {
	const small = 10 << 20
	return 48<<20 + 32*int64(min(file, small)) + 128*int64(max(file-small, 0))
}

// Open reads a signed file of this package. It refuses everything that Write
// would not have written: a second revision, bytes outside of objects, objects
// that nothing refers to, a signature that does not cover all but its own
// digits, a second signature, a permission to change, metadata in
// disagreement.
func Open(data []byte) (*Signed, error) {
	if !bytes.HasPrefix(data, []byte("%PDF-")) {
		return nil, ErrNotPDF
	}
	s, err := parse(data)
	if err == nil {
		var signed *Signed
		if signed, err = s.read(data); err == nil {
			return signed, nil
		}
	}
	switch ours := bytes.Contains(data, []byte("/Producer("+producer+")")); {
	case errors.Is(err, ErrUnsigned):
		return nil, err
	case !ours:
		return nil, fmt.Errorf("%w (%w)", ErrForeign, err)
	case bytes.Count(data, []byte("%%EOF")) > 1:
		return nil, fmt.Errorf("%w (%w)", ErrExtended, err)
	}
	return nil, fmt.Errorf("%w (%w)", ErrAltered, err)
}

// read makes sense of a file that is whole.
func (s *structure) read(data []byte) (*Signed, error) {
	if err := only("trailer", s.trailer, "Size", "Root", "Info", "ID"); err != nil {
		return nil, err
	}
	root, info := s.dict(s.trailer["Root"]), s.dict(s.trailer["Info"])
	if err := s.only("catalog", root, "Type", "Pages", "Metadata", "Lang", "ViewerPreferences", "OutputIntents",
		"Outlines", "PageMode", "AF", "Names", "AcroForm", "Perms"); err != nil {
		return nil, err
	}
	if err := s.isTagged(root); err != nil {
		return nil, err
	}
	if err := only("information dictionary", info, "Title", "Author", "Subject", "Creator", "Producer",
		"CreationDate", "ModDate"); err != nil {
		return nil, err
	}
	signed := &Signed{}
	if root["AcroForm"] == nil {
		return nil, ErrUnsigned
	}
	for _, step := range []func() error{
		func() error { return s.readInfo(root, info, signed) },
		func() error { return s.readAttachments(root, signed) },
		func() error { return s.readSignature(root, data, signed) },
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return signed, nil
}

// only refuses a dictionary with other keys, among them what makes a file act:
// scripts, actions, links to other files.
func only(what string, d dict, keys ...name) error {
	if d == nil {
		return fmt.Errorf("no %s", what)
	}
	var others []name
	for k := range d {
		if !slices.Contains(keys, k) {
			others = append(others, k)
		}
	}
	if others != nil {
		return fmt.Errorf("%s: key /%s has no place here", what, slices.Min(others))
	}
	return nil
}

// only takes the keys of tagged files in those.
func (s *structure) only(what string, d dict, keys ...name) error {
	if s.tagged {
		keys = append(keys, taggedNames...)
	}
	return only(what, d, keys...)
}

// isTagged checks that a tagged file says that it is.
func (s *structure) isTagged(root dict) error {
	if !s.tagged {
		return nil
	}
	tree, ok := root["StructTreeRoot"].(ref)
	if !ok || !s.objects[tree-1].packed || s.dict(root["MarkInfo"])["Marked"] != true {
		return errors.New("the file has no structure tree")
	}
	return nil
}

func (s *structure) readInfo(root, info dict, signed *Signed) error {
	for _, f := range []struct {
		to *string
		in dict
		at name
	}{
		{&signed.Title, info, "Title"}, {&signed.Author, info, "Author"}, {&signed.Subject, info, "Subject"},
		{&signed.Language, root, "Lang"},
	} {
		var err error
		if *f.to, err = decodeText(f.in[f.at]); err != nil {
			return fmt.Errorf("/%s: %w", f.at, err)
		}
	}
	var err error
	if signed.Created, err = decodeDate(info["CreationDate"]); err != nil {
		return err
	}
	d := Document{Title: signed.Title, Author: signed.Author, Subject: signed.Subject, Language: signed.Language, Created: signed.Created}
	if string(s.follow(root["Metadata"]).data) != d.xmp(s.tagged) {
		return errors.New("the metadata packet does not agree with the information dictionary")
	}
	n, ok := s.dict(root["Pages"])["Count"].(int)
	if !ok || n < 1 {
		return errors.New("no pages")
	}
	signed.Pages = n
	return nil
}

func (s *structure) readAttachments(root dict, signed *Signed) error {
	list, _ := root["AF"].(array)
	tree, _ := s.dict(s.dict(root["Names"])["EmbeddedFiles"])["Names"].(array)
	named := map[string]value{}
	for i := 0; i+1 < len(tree); i += 2 {
		n, err := decodeText(tree[i])
		if err != nil {
			return fmt.Errorf("name of an attachment: %w", err)
		}
		named[n] = tree[i+1]
	}
	if len(tree) != 2*len(list) || len(named) != len(list) {
		return errors.New("the list of attachments and their name tree do not agree")
	}
	if len(list) > maxAttachments {
		return fmt.Errorf("more than %d attachments", maxAttachments)
	}
	room := int64(maxHeld)
	contents := map[value]bool{}
	for _, v := range list {
		r, ok := v.(ref)
		if !ok {
			return errors.New("the list of attachments holds no references")
		}
		a, content, err := s.attachment(r, &room)
		if err != nil {
			return err
		}
		if contents[content] {
			return fmt.Errorf("attachment %q: its content is another's too", a.Name)
		}
		contents[content] = true
		if named[a.Name] != r {
			return fmt.Errorf("attachment %q: the name tree has another file", a.Name)
		}
		signed.Attachments = append(signed.Attachments, a)
	}
	return nil
}

func (s *structure) attachment(r ref, room *int64) (a page.Attachment, data ref, err error) {
	spec := s.dict(r)
	if err := only("attachment", spec, "Type", "F", "UF", "Desc", "AFRelationship", "EF"); err != nil {
		return a, 0, err
	}
	if a.Name, err = decodeText(spec["F"]); err != nil {
		return a, 0, fmt.Errorf("name of an attachment: %w", err)
	}
	fault := func(err error) error { return fmt.Errorf("attachment %q: %w", a.Name, err) }
	if other, err := decodeText(spec["UF"]); err != nil || other != a.Name {
		return a, 0, fault(errors.New("two names"))
	}
	if a.Description, err = decodeText(spec["Desc"]); err != nil {
		return a, 0, fault(err)
	}
	relation, _ := spec["AFRelationship"].(name)
	a.Relationship = string(relation)
	ef := s.dict(spec["EF"])
	if err := only("EF", ef, "F", "UF"); err != nil {
		return a, 0, fault(err)
	}
	data, ok := ef["F"].(ref)
	if !ok || ef["UF"] != data {
		return a, 0, fault(errors.New("two contents"))
	}
	file := s.follow(data)
	head, _ := file.value.(dict)
	if err := only("embedded file", head, "Type", "Subtype", "Params", "Filter", "Length"); err != nil {
		return a, 0, fault(err)
	}
	mime, _ := head["Subtype"].(name)
	a.MIME = string(mime)
	params := s.dict(head["Params"])
	if a.Modified, err = decodeDate(params["ModDate"]); err != nil {
		return a, 0, fault(err)
	}
	size, ok := params["Size"].(int)
	if !ok || size < 0 || int64(size) > maxUnpacked(s.size) {
		return a, 0, fault(errors.New("its size is missing or beyond what is read"))
	}
	switch head["Filter"] {
	case nil: // as small ones stay
		if a.Data = bytes.Clone(file.data); len(a.Data) != size {
			err = errSize
		}
	case name("FlateDecode"):
		if int64(size) > *room {
			a.Write = func(w io.Writer) error { return inflate(w, file.data, size) }
			break
		}
		*room -= int64(size)
		content := bytes.NewBuffer(make([]byte, 0, size+bytes.MinRead)) // so that it need not grow to find the end
		err = inflate(content, file.data, size)
		a.Data = content.Bytes()
	default:
		err = errors.New("packed in a way that our papers do not use")
	}
	if err != nil {
		return a, 0, fault(err)
	}
	return a, data, nil
}

var errSize = errors.New("not of the size it is said to have")

// inflate unpacks a stream whose size is known.
func inflate(to io.Writer, packed []byte, size int) error {
	z, err := inflater(bytes.NewReader(packed))
	if err != nil {
		return err
	}
	defer inflaters.Put(z)
	n, err := io.Copy(to, io.LimitReader(z, int64(size)+1))
	if err == nil && n != int64(size) {
		err = errSize
	}
	return err
}

func (s *structure) readSignature(root dict, data []byte, signed *Signed) error {
	form := s.dict(root["AcroForm"])
	if err := only("form", form, "SigFlags", "Fields"); err != nil {
		return err
	}
	fields, _ := form["Fields"].(array)
	if len(fields) != 1 || form["SigFlags"] != 3 {
		return errors.New("want one form field, the signature")
	}
	self, _ := fields[0].(ref)
	field := s.dict(fields[0])
	if err := s.only("signature field", field, "Type", "Subtype", "FT", "T", "F", "Rect", "AP", "P", "V"); err != nil {
		return err
	}
	perms := s.dict(root["Perms"])
	if err := only("permissions", perms, "DocMDP"); err != nil {
		return err
	}
	r, ok := field["V"].(ref)
	if !ok || perms["DocMDP"] != r || field["FT"] != name("Sig") {
		return errors.New("the signature field and the permissions name different signatures")
	}
	for i, o := range s.objects {
		d, _ := o.value.(dict)
		if d["ByteRange"] != nil && ref(i+1) != r || d["FT"] != nil && s.objects[i].value.(dict)["V"] != r {
			return fmt.Errorf("object %d is a second signature", i+1)
		}
	}
	sig := s.dict(r)
	if err := only("signature", sig, "Type", "Filter", "SubFilter", "Name", "Reason", "Location", "M", "Reference",
		"ByteRange", "Contents"); err != nil {
		return err
	}
	if sig["SubFilter"] != name("ETSI.CAdES.detached") {
		return errors.New("signature: want /SubFilter /ETSI.CAdES.detached")
	}
	if err := s.certifies(sig); err != nil {
		return err
	}

	contents, ok := sig["Contents"].(text)
	if !ok || data[contents.from] != '<' {
		return errors.New("signature: no contents")
	}
	if ranges, _ := sig["ByteRange"].(array); !slices.Equal(ranges, array{0, contents.from, contents.to, len(data) - contents.to}) {
		return errors.New("signature: it does not cover the whole file but its own digits")
	}
	var err error
	if signed.CMS, err = unpadded(contents.bytes); err != nil {
		return err
	}
	h := sha256.New()
	h.Write(data[:contents.from])
	if id := h.Sum(nil)[:16]; !s.identified(id) {
		return errors.New("the file identifier is not that of the content")
	}
	h.Write(data[contents.to:])
	h.Sum(signed.Digest[:0])
	for _, f := range []struct {
		to *string
		at name
	}{{&signed.Name, "Name"}, {&signed.Reason, "Reason"}, {&signed.Location, "Location"}} {
		if *f.to, err = decodeText(sig[f.at]); err != nil {
			return fmt.Errorf("signature: /%s: %w", f.at, err)
		}
	}
	if signed.When, err = decodeDate(sig["M"]); err != nil {
		return fmt.Errorf("signature: %w", err)
	}
	return s.readPlace(root, field, self, signed)
}

// identified checks both halves of the file identifier.
func (s *structure) identified(id []byte) bool {
	pair, _ := s.trailer["ID"].(array)
	return len(pair) == 2 && !slices.ContainsFunc(pair, func(v value) bool {
		t, ok := v.(text)
		return !ok || !bytes.Equal(t.bytes, id)
	})
}

// certifies checks that the signature permits no change: DocMDP with P 1.
func (s *structure) certifies(sig dict) error {
	list, _ := sig["Reference"].(array)
	if len(list) == 1 {
		reference := s.dict(list[0])
		params := s.dict(reference["TransformParams"])
		if only("reference", reference, "Type", "TransformMethod", "TransformParams") == nil &&
			reference["TransformMethod"] == name("DocMDP") && params["P"] == 1 {
			return nil
		}
	}
	return errors.New("signature: want a certification that permits no change")
}

// unpadded cuts a DER value out of the zeros that fill up its place.
func unpadded(padded []byte) ([]byte, error) {
	n := len(padded)
	var length int
	switch {
	case n < 4 || padded[0] != 0x30:
		return nil, errors.New("signature: not a CMS message")
	case padded[1] < 0x80:
		length = 2 + int(padded[1])
	case padded[1] == 0x81:
		length = 3 + int(padded[2])
	case padded[1] == 0x82:
		length = 4 + int(padded[2])<<8 + int(padded[3])
	default:
		return nil, errors.New("signature: not a CMS message of less than 64 KB")
	}
	if length > n || slices.ContainsFunc(padded[min(length, n):], func(b byte) bool { return b != 0 }) {
		return nil, errors.New("signature: something stands beside the CMS message")
	}
	return padded[:length:length], nil
}

// readPlace finds where the signature is seen. Only its page may have an
// annotation, and only this one.
func (s *structure) readPlace(root, field dict, self ref, signed *Signed) error {
	tree := s.dict(root["Pages"])
	kids, _ := tree["Kids"].(array)
	if len(kids) != signed.Pages {
		return errors.New("the number of pages is wrong")
	}
	for i, k := range kids {
		p := s.dict(k)
		if err := s.only("page", p, "Type", "Parent", "Contents", "Resources", "Annots"); err != nil {
			return err
		}
		if p["Annots"] == nil {
			continue
		}
		if notes, _ := p["Annots"].(array); !slices.Equal(notes, array{self}) || field["P"] != k {
			return fmt.Errorf("page %d: want no annotation but the signature", i+1)
		}
		signed.Page = i + 1
	}
	box, _ := tree["MediaBox"].(array)
	media, err := numbers(box)
	if err != nil {
		return err
	}
	for _, p := range []page.PaperSize{page.A4, page.Letter} {
		const near = 0.01 // mm, for what was rounded to thousandths of a point
		if math.Abs(media[2]*page.MM-p.Width) < near && math.Abs(media[3]*page.MM-p.Height) < near {
			signed.Paper = p
		}
	}
	corners, _ := field["Rect"].(array)
	rect, err := numbers(corners)
	if err != nil {
		return err
	}
	if signed.Page == 0 {
		return errors.New("the signature is on no page")
	}
	if rect != [4]float64{} {
		const mm = page.MM
		signed.Box = page.Box{X: rect[0] * mm, Y: (media[3] - rect[3]) * mm, W: (rect[2] - rect[0]) * mm, H: (rect[3] - rect[1]) * mm}
	}
	return nil
}

func numbers(a array) (n [4]float64, err error) {
	if len(a) != len(n) {
		return n, errors.New("want a rectangle")
	}
	for i, v := range a {
		switch v := v.(type) {
		case int:
			n[i] = float64(v)
		case float64:
			n[i] = v
		default:
			return n, errors.New("want a rectangle")
		}
	}
	return n, nil
}

// decodeText is the other way of encodeText; a missing entry is empty.
func decodeText(v value) (string, error) {
	if v == nil {
		return "", nil
	}
	t, ok := v.(text)
	if !ok {
		return "", errors.New("want a text")
	}
	s := string(t.bytes)
	if rest, ok := strings.CutPrefix(s, "\xFE\xFF"); ok && len(rest)%2 == 0 {
		units := make([]uint16, 0, len(rest)/2)
		for i := 0; i < len(rest); i += 2 {
			units = append(units, uint16(rest[i])<<8|uint16(rest[i+1]))
		}
		s = string(utf16.Decode(units))
	}
	if string(encodeText(s)) != string(t.bytes) {
		return "", errors.New("a text in an encoding that is not used here")
	}
	return s, checkText(s)
}

func decodeDate(v value) (time.Time, error) {
	s, err := decodeText(v)
	if err != nil {
		return time.Time{}, err
	}
	t, err := time.Parse(dateForm, s)
	if err != nil || t.Format(dateForm) != s {
		return time.Time{}, fmt.Errorf("want a date, not %.40q", s)
	}
	return t, nil
}
