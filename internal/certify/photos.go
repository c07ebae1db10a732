package certify

import (
	"strings"

	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// photosOf are the pictures of a link, in the order of their files.
func (s *PaperSet) photosOf(link string) []record.Photo {
	var photos []record.Photo
	for _, p := range s.Facts.Photos {
		if p.Link == link {
			photos = append(photos, p)
		}
	}
	return photos
}

// Pictures stand under each other on the left, so many to a page, each with what is
// known of it on its right. All have the same box, and so those of one shape one size.
const (
	onPage       = 3
	pictureShare = 0.56 // of the column's width
	besideGutter = 5.0
)

// photos shows the pictures of the link, on pages of their own.
func (sh *sheet) photos(f *layout.Flow) {
	photos := sh.photosOf(sh.l.Link.ID)
	if len(photos) == 0 {
		return
	}
	f.Part = ""
	f.Turn()
	f.Apart++
	f.Section(sh.words.Say("photos.title"), 2)
	slot := float64(int((f.End-f.Y)/onPage/f.Grid)) * f.Grid
	width, x := pictureShare*f.W, f.X+pictureShare*f.W+besideGutter
	for _, p := range photos {
		if f.Need(slot - f.Grid) {
			f.Apart++
		}
		caption := sh.caption(f, p, f.X+f.W-x)
		w, h := layout.Fitted(p.Data, width, slot-f.Grid)
		where := ""
		for _, line := range caption {
			if line.Style == caption[0].Style {
				where = strings.TrimSpace(where + " " + strings.TrimSuffix(line.Text, page.Joint))
			}
		}
		f.Illustrate(sh.words.Say("figure.photo", "caption", where), func() {
			f.PutPicture(f.X, f.Y, w, h, p.Origin.File, p.Data)
		})
		for i, line := range caption {
			if i == 0 || line.Style != caption[i-1].Style {
				f.Begin(page.Element{Role: page.Paragraph})
			}
			f.Put(x, f.Base()+float64(i)*f.Grid, line.Style, line.Text)
			if i == len(caption)-1 || line.Style != caption[i+1].Style {
				f.Finish()
			}
		}
		f.Lines(max(layout.Ceil(h, f.Grid)/f.Grid, float64(len(caption))) + 1)
	}
}

// caption says beside a picture where it was taken, what is on record of that end
// and which file it is, one line each or more. The record holds no time of the
// picture itself.
func (sh *sheet) caption(f *layout.Flow, p record.Photo, width float64) []layout.Cell {
	w, l := sh.words, sh.l.Link
	where, made := w.Say("photos.whole", "link", l.ID, "from", l.From, "to", l.To), ""
	if p.End != "" {
		place := l.From
		if p.End == "B" {
			place = l.To
		}
		where = wording.Comma(l.ID, w.Say("end.name", "end", p.End), place)
	}
	for _, t := range sh.l.Terminations { // the last of an end is what stands there
		if t.End != p.End || p.End == "" {
			continue
		}
		face, by, finished := "", sh.Person(t.Person), ""
		if t.EndFace != "" {
			face = w.Say("photos.face", "outcome", w.EndFace(t.EndFace))
			if t.EndFace != record.EndFaceNotInspected { // somebody's word, and by which criterion no file says
				face = w.Say("photos.judged", "outcome", w.EndFace(t.EndFace), "who", wording.FirstOf(by, w.Say("photos.nobody")))
				by = "" // said already
			}
		}
		if at := sh.Local(t.Finished); !at.IsZero() {
			finished = w.Say("photos.finished", "when", strings.TrimSpace(w.Day(record.DateOf(at))+" "+wording.Clock(at)))
		}
		made = wording.UpperFirst(wording.Comma(face, w.Known("made", t.Kind), by, finished))
	}
	if text := sh.inspected(p); text != "" {
		made = text
	}
	var lines []layout.Cell
	for _, text := range []layout.Cell{{Text: where, Style: f.Strong}, {Text: made, Style: f.Body}, {Text: p.Origin.File + ", SHA-256 " + wording.Abbreviate(p.Origin.SHA256), Style: f.Caption}} {
		for _, line := range f.Wrap(text.Style, width, text.Text) {
			lines = append(lines, layout.Cell{Text: line, Style: text.Style})
		}
	}
	return lines
}
