package intake

import (
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"spanseal/internal/inspection"
	"spanseal/internal/jobfile"
	"spanseal/internal/ledger"
	"spanseal/internal/record"
)

// inspects reports whether the job records inspections, or must.
func (r *reader) inspects() bool {
	return len(r.facts.Inspections) > 0 || r.facts.Job.Policy.Require.Inspection == "required"
}

// readInspections reads the inspections of end faces, if the job records them.
func (r *reader) readInspections() {
	if !r.folder.Exists(inspection.File) {
		return
	}
	f := r.readLedger(inspection.File)
	if f == nil {
		return
	}
	l := r.openLedger(f, &jobfile.Schedule{}, &jobfile.Columns{Required: inspection.Required, Optional: inspection.Optional})
	if l == nil {
		return
	}
	var register inspection.Register
	r.pictured = map[string]int{}
	for o := range l.Rows() {
		i := register.Read(l, r.linkIn(l), o)
		r.picture(l, &i)
		r.facts.Inspections = append(r.facts.Inspections, i)
	}
}

// linkIn is the link that a row names, or nil after a problem.
func (r *reader) linkIn(l *ledger.Ledger) *record.Link {
	text := l.Must("link", "the name of a link in "+r.scheduled)
	if text == "" {
		return nil
	}
	if _, index, _, ok := r.findLink(text); ok {
		return r.link(index)
	}
	want := ""
	if near := r.names.To(text); near != "" {
		want = fmt.Sprintf("did you mean %q?", near)
	}
	l.Fault("link", "unknown-link", fmt.Sprintf("%q is not a link of %s", text, r.scheduled), want, "correct the name, or add the link to "+r.scheduled)
	return nil
}

// picture finds the picture that an inspection names, among those of photos/.
func (r *reader) picture(l *ledger.Ledger, i *record.Inspection) {
	name := i.Photo.File
	if name == "" {
		return
	}
	i.Photo = record.Origin{}
	file := path.Join("photos", strings.TrimPrefix(path.Clean(filepath.ToSlash(name)), "photos/"))
	before, twice := r.pictured[file]
	switch {
	case !strings.HasPrefix(file, "photos/") || strings.Contains(file, `\`):
		l.Fault("photo", "photo-missing", fmt.Sprintf("%q is not a file in the folder photos", name), "want a name such as A-11-B.jpg", "")
	case !slices.Contains([]string{".jpg", ".jpeg", ".png"}, strings.ToLower(path.Ext(file))):
		l.Fault("photo", "photo-missing", fmt.Sprintf("%q is no picture that is read", name), "want a .jpg or .png", "save it as JPEG or PNG")
	case !r.folder.Exists(file):
		l.Fault("photo", "photo-missing", fmt.Sprintf("the folder photos has no picture %q", strings.TrimPrefix(file, "photos/")), "", "put the picture there, correct its name, or clear this cell")
	case twice:
		l.Fault("photo", "photo-twice", fmt.Sprintf("row %d names this picture too", r.facts.Inspections[before].Origin.Row), "", "name each picture once, in the row of the inspection that it shows")
	default:
		r.pictured[file] = len(r.facts.Inspections)
		i.Photo.File = file
	}
}
