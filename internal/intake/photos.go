package intake

import (
	"fmt"
	"path"
	"strings"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/inspection"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// maxPhoto is how large a picture may be, in bytes.
const maxPhoto = 20_000_000

// readPhotos reads the pictures of photos/ that are named by a link and, if of
// an end face, its end: "A-11 A.jpg", "A-11-B.png", "A-11.jpg". One that an inspection
// names may have any name.
func (r *reader) readPhotos() {
	for _, name := range r.folder.Files("photos") {
		switch strings.ToLower(path.Ext(name)) {
		case ".jpg", ".jpeg", ".png":
		default:
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "not-a-photo", Place: diag.Place{File: name}, Message: "only .jpg and .png pictures are read",
				Fix: "if it is a picture, save it as JPEG or PNG"})
			continue
		}
		stem := strings.TrimSuffix(path.Base(name), path.Ext(name))
		link, end, ok := r.photoOf(stem)
		inspected, named := r.pictured[name]
		if named {
			i := &r.facts.Inspections[inspected]
			if ok && end != "" && (link != i.Link || end != i.End) {
				r.list.Add(diag.Problem{Code: "photo-differs", Place: diag.Place{File: name},
					Message: fmt.Sprintf("the picture is named for end %s of %s, but %s has it for end %s of %s", end, link, i.Origin.Where(), i.End, i.Link),
					Fix:     "correct the picture's name, or the row of " + inspection.File})
				continue
			}
			link, end, ok = i.Link, i.End, true
		}
		if !ok {
			p := diag.Problem{Severity: diag.Question, Code: "photo-of-no-link", Place: diag.Place{File: name}, Message: "the picture's name begins with no link of " + r.scheduled,
				Fix: "name it by link and end, such as A-11-B.jpg"}
			if near := r.names.To(stem); near != "" {
				p.Want = fmt.Sprintf("did you mean %q?", near)
			}
			r.list.Add(p)
			continue
		}
		raw := r.folder.Read(name, maxPhoto)
		if raw == nil {
			continue
		}
		f := source.New(name, raw)
		r.folder.Keep(f)
		if err := page.CheckPicture(raw); err != nil {
			r.list.Add(diag.Problem{Code: "not-a-picture", Place: diag.Place{File: name}, Message: "the picture cannot be drawn: " + err.Error(),
				Fix: "copy it again from the camera, save it again as JPEG or PNG, or remove it from photos"})
			continue
		}
		if named {
			r.facts.Inspections[inspected].Photo = origin(f)
		} else if end != "" && r.inspects() {
			r.list.Add(diag.Problem{Severity: diag.Question, Code: "photo-without-record", Place: diag.Place{File: name},
				Message: fmt.Sprintf("the picture is of end %s of %s, but no inspection on record names it", end, link),
				Fix:     "name it under photo in the row of that inspection in " + inspection.File})
		}
		r.facts.Photos = append(r.facts.Photos, record.Photo{Link: link, End: end, Origin: origin(f), Data: raw})
	}
}

// photoOf reads a picture's name. A link's own name wins over an end: "R-A" is
// the link R-A if there is one.
func (r *reader) photoOf(stem string) (link, end string, ok bool) {
	stem = norm.NFC.String(stem)
	if id, _, _, ok := r.findLink(stem); ok {
		return id, "", true
	}
	for _, e := range []string{"A", "B"} {
		for _, sep := range []string{" ", "-", "_", "."} {
			if rest, cut := strings.CutSuffix(stem, sep+e); cut {
				if id, _, _, ok := r.findLink(rest); ok {
					return id, e, true
				}
			}
		}
	}
	return "", "", false
}
