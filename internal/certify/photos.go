package certify

import (
	"spanseal/internal/page"
	"spanseal/internal/record"
)

// photosOf are the pictures of a link, in the order of their files.
func (s *Set) photosOf(link string) []record.Photo {
	var photos []record.Photo
	for _, p := range s.Facts.Photos {
		if p.Link == link {
			photos = append(photos, p)
		}
	}
	return photos
}

// photos shows the pictures of the link, two in a row, on pages of their own.
func (sh *sheet) photos(f *flow) {
	photos := sh.photosOf(sh.l.Link.ID)
	if len(photos) == 0 {
		return
	}
	const columns, gutter = 2, 6.0
	width := (f.w - gutter*(columns-1)) / columns
	height := 0.75 * width // the shape of most cameras' pictures
	f.part = ""
	f.turn()
	f.section(sh.words.say("photos.title"), 2)
	for n, p := range photos {
		i := n % columns
		if i == 0 {
			f.need(height + 2*f.grid)
		}
		x := f.x + float64(i)*(width+gutter)
		w, h := width, height
		if pw, ph, err := page.PictureSize(p.Data); err == nil && pw > 0 && ph > 0 {
			scale := min(width/float64(pw), height/float64(ph))
			w, h = scale*float64(pw), scale*float64(ph)
		}
		f.picture(x, f.y+height-h, w, h, p.Origin.File, p.Data)
		caption := sh.words.say("photos.whole")
		if p.End != "" {
			caption = sh.words.say("end.name", "end", p.End)
		}
		f.put(x, f.y+height+0.8*f.grid, f.strong, caption)
		from := p.Origin.File + ", SHA-256 " + abbreviate(p.Origin.SHA256)
		f.put(x, f.y+height+1.5*f.grid, f.shrink(f.small, 4, width, from), from)
		if i == columns-1 || n == len(photos)-1 {
			f.lines(height/f.grid + 2.25)
		}
	}
}
