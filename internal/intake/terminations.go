package intake

import (
	"fmt"
	"path"
	"strings"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

const terminationsFile = "terminations.csv"

// readTerminations reads the connectors and splices that were made, if the job
// keeps them.
func (r *reader) readTerminations() {
	if !r.folder.exists(terminationsFile) {
		return
	}
	f := r.readLedger(terminationsFile)
	if f == nil {
		return
	}
	l := r.openLedger(f, []string{"link", "kind"},
		[]string{"end", "estimate_db", "attempts", "lot", "end_face", "person", "finished"})
	if l == nil {
		return
	}
	for o := range l.rows() {
		t := record.Termination{
			Link: l.must("link", "the name of a link in links.csv"), End: strings.ToUpper(l.text("end")), Kind: l.must("kind", "such as spliced-on connector or splice"),
			Lot: l.text("lot"), Person: l.text("person"), Finished: l.time("finished"), EndFace: record.EndFaceNotInspected, Origin: o,
		}
		if t.Link != "" {
			if id, _, _, ok := r.findLink(t.Link); ok {
				t.Link = id
			} else {
				want := ""
				if near := r.names.near(t.Link); near != "" {
					want = fmt.Sprintf("did you mean %q?", near)
				}
				l.fault("link", "unknown-link", fmt.Sprintf("%q is not a link of links.csv", t.Link), want, "correct the name, or add the link to links.csv")
			}
		}
		switch t.End {
		case "A", "B":
		case "":
			if t.Kind != "splice" {
				l.fault("end", "missing-cell", "this row has no end", "want A or B; only a splice in the span has none", "")
			}
		default:
			l.fault("end", "unknown-value", fmt.Sprintf("%q is not an end", t.End), "want A or B", "")
		}
		if v, ok := l.number("estimate_db"); ok {
			if v.Less(quantity.Int(0)) || quantity.Int(10).Less(v) {
				l.fault("estimate_db", "out-of-range", fmt.Sprintf("an estimate of %s dB cannot be", v), "want 0 to 10 dB", "")
			}
			t.Estimate = &v
		}
		if l.text("attempts") != "" {
			t.Attempts = l.count("attempts")
		}
		switch face := strings.ToLower(l.text("end_face")); face {
		case "":
		case string(record.EndFacePass), string(record.EndFaceFail), string(record.EndFaceNotInspected):
			t.EndFace = record.EndFace(face)
		default:
			l.fault("end_face", "unknown-value", fmt.Sprintf("%q is not the result of an inspection", face), "want pass, fail or not inspected", "")
		}
		r.facts.Terminations = append(r.facts.Terminations, t)
	}
}

// readPhotos reads the pictures of photos/ that are named by a link and, if of
// an end face, its end: "A-11 A.jpg", "A-11-B.png", "A-11.jpg".
func (r *reader) readPhotos() {
	for _, name := range r.folder.files("photos") {
		switch strings.ToLower(path.Ext(name)) {
		case ".jpg", ".jpeg", ".png":
		default:
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "not-a-photo", Place: diag.Place{File: name}, Message: "only .jpg and .png pictures are read"})
			continue
		}
		stem := strings.TrimSuffix(path.Base(name), path.Ext(name))
		link, end, ok := r.photoOf(stem)
		if !ok {
			p := diag.Problem{Severity: diag.Question, Code: "photo-of-no-link", Place: diag.Place{File: name}, Message: "the picture's name begins with no link of links.csv",
				Mend: "name it by link and end, such as A-11-B.jpg"}
			if near := r.names.near(stem); near != "" {
				p.Want = fmt.Sprintf("did you mean %q?", near)
			}
			r.list.Add(p)
			continue
		}
		raw := r.folder.read(name, maxPhoto)
		if raw == nil {
			continue
		}
		f := source.New(name, raw)
		r.folder.keep(f)
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
