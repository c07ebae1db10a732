package layout

import (
	"fmt"
	"io/fs"

	"spanseal/internal/diag"
	"spanseal/internal/page"
	"spanseal/internal/template"
)

// mostBytes bounds a file that a template names: a typeface or a logo.
const mostBytes = 20 << 20

// faceNames are the faces as documents/style.yaml calls them, by face.
var faceNames = [page.Faces]string{page.Regular: "regular", page.Medium: "medium", page.Bold: "bold", page.Italic: "italic", page.Mono: "mono"}

// typefaces are the fonts of a set: those that the job names, else the Go
// fonts.
type typefaces [page.Faces]*page.Typeface

func (t typefaces) Missing(f page.Face, text string) []rune { return t[f].Missing(text) }

// named reads a file that a template names, from the job's folder.
func named(t template.Values, key string, over fs.FS) []byte {
	name := t.Text(key)
	if name == "" {
		return nil
	}
	refuse := func(why string) {
		t.Problems.Add(diag.Problem{Code: "no-file", Place: t.Template[key].Place, Message: fmt.Sprintf("%s: %q %s", key, name, why),
			Fix: "name a file in the job's folder"})
	}
	if over == nil {
		refuse("cannot be read: there is no job folder")
		return nil
	}
	info, err := fs.Stat(over, name)
	if err != nil {
		refuse("cannot be read")
		return nil
	}
	if info.Size() > mostBytes {
		refuse("is larger than 20 MB")
		return nil
	}
	data, err := fs.ReadFile(over, name)
	if err != nil {
		refuse("cannot be read")
	}
	return data
}

// fonts reads the typefaces that the style names.
func (l *Style) fonts(t template.Values, over fs.FS) {
	l.Glyphs = page.GoTypefaces()
	for f, name := range faceNames {
		key := "typefaces." + name
		if l.Faces[f] = named(t, key, over); l.Faces[f] == nil {
			continue
		}
		face, err := page.ParseTypeface(l.Faces[f])
		if err != nil {
			t.Refuse(key, "want a TrueType font: "+err.Error())
			continue
		}
		l.Glyphs[f] = face
	}
}

// brand reads the logo.
func (l *Style) brand(t template.Values, over fs.FS) {
	if l.Logo = named(t, "logo", over); l.Logo == nil {
		return
	}
	if err := page.CheckPicture(l.Logo); err != nil {
		t.Refuse("logo", "want a JPEG or PNG picture: "+err.Error())
		return
	}
	w, h, _ := page.PictureSize(l.Logo)
	const most, wide = 9.0, 45.0 // millimetres beside the letterhead
	scale := min(most/float64(h), wide/float64(w))
	l.LogoWidth, l.LogoHeight = scale*float64(w), scale*float64(h)
}
