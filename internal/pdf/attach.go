package pdf

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"

	"spanseal/internal/page"
)

// embedded is an attachment and its file specification.
type embedded struct {
	name string
	spec ref
}

// attach writes the embedded files (ISO 32000-1, 7.11.4; ISO 19005-3, 6.8).
func (c *Canvas) attach(d *Document) ([]embedded, error) {
	f := &c.file
	var files []embedded
	for _, a := range d.Attachments {
		when := a.Modified
		if when.IsZero() {
			when = d.Created
		}
		content, filter, size, err := c.content(&a)
		if err != nil {
			return nil, fmt.Errorf("attachment %s: %w", a.Name, err)
		}
		data := f.reserve()
		f.begin(data)
		f.str("<</Type/EmbeddedFile/Subtype")
		f.name(cmp.Or(a.MIME, "application/octet-stream"))
		f.str("/Params<</Size ")
		f.int(size)
		f.date("/ModDate", when)
		f.str(">>" + filter)
		f.data(content)

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
	return files, nil
}

// plainBelow is up to which size, in bytes, an attachment stays as it is: a
// compressor's tables for it cost more time than the bytes are worth.
const plainBelow = 1 << 10

// content is an attachment as the file holds it, with the entry of its filter,
// and its size.
func (c *Canvas) content(a *page.Attachment) (packed []byte, filter string, size int, err error) {
	const deflated = "/Filter/FlateDecode"
	if a.Write == nil {
		if len(a.Data) < plainBelow {
			return a.Data, "", len(a.Data), nil
		}
		return c.deflate(a.Data), deflated, len(a.Data), nil
	}
	c.zipped.Reset()
	c.zip.Reset(&c.zipped)
	count := counter{w: c.zip}
	if err := errors.Join(a.Write(&count), c.zip.Close()); err != nil {
		return nil, "", 0, err
	}
	return c.zipped.Bytes(), deflated, count.n, nil
}

// counter counts what goes through it.
type counter struct {
	w io.Writer
	n int
}

func (c *counter) Write(p []byte) (int, error) {
	n, err := c.w.Write(p)
	c.n += n
	return n, err
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
