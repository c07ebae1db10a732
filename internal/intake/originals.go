package intake

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/original"
	"spanseal/internal/record"
)

// readInstrumentFiles ties the files that instruments wrote to the links, by the list
// and by the patterns of job.yaml, and keeps them byte for byte.
func (r *reader) readInstrumentFiles() {
	t := &tying{reader: r, kept: map[string]*record.KeptFile{}, sums: map[string]string{}}
	t.list()
	var folders []string
	for _, p := range r.job.Originals {
		if !slices.Contains(folders, p.Folder) {
			folders = append(folders, p.Folder)
		}
	}
	for _, dir := range folders {
		for _, name := range r.folder.Files(dir) {
			if _, listed := t.kept[name]; !listed {
				t.byPattern(name)
			}
		}
	}
	for _, k := range t.kept {
		if k != nil {
			r.facts.Kept = append(r.facts.Kept, *k)
		}
	}
	slices.SortFunc(r.facts.Kept, func(a, b record.KeptFile) int { return strings.Compare(a.Name, b.Name) })
	slices.SortStableFunc(r.facts.InstrumentFiles, func(a, b record.InstrumentFile) int {
		return cmp.Or(strings.Compare(a.File, b.File), strings.Compare(a.Link, b.Link), cmp.Compare(a.WavelengthNM, b.WavelengthNM), strings.Compare(string(a.Direction), string(b.Direction)),
			strings.Compare(string(a.Stage), string(b.Stage)))
	})
	names := make([]record.Original, len(r.facts.Kept))
	for i, k := range r.facts.Kept {
		names[i].Name = k.Name
	}
	r.list.Join(folder.CheckNames(names))
}

// tying is the state of one readInstrumentFiles.
type tying struct {
	*reader
	kept map[string]*record.KeptFile // by name; nil: it was refused
	sums map[string]string           // the first file with each digest
	safe map[string]string           // links by their names as files may have them
}

// list reads originals.csv, if there is one.
func (t *tying) list() {
	if !t.folder.Exists(original.File) {
		return
	}
	f := t.readLedger(original.File)
	if f == nil {
		return
	}
	l := t.openLedger(f, &jobfile.Schedule{}, &jobfile.Columns{Required: original.Required, Optional: original.Optional})
	if l == nil {
		return
	}
	for range l.Rows() {
		name, tie := original.Read(l)
		link := t.linkIn(l)
		if name == "" || link == nil {
			continue
		}
		if why := original.Refused(name, t.facts.Job.Sign.Key); why != "" {
			l.Fault("file", "original-refused", fmt.Sprintf("%q is not handed over: %s", name, why), "", "")
			continue
		}
		if _, known := t.kept[name]; !known && !t.folder.Exists(name) {
			l.Fault("file", "original-missing", fmt.Sprintf("the job folder has no file %q", name), "", "put the file there, or correct its name")
			continue
		}
		tie.Link = link.ID
		t.tie(name, tie)
	}
}

// byPattern ties a file by its name.
func (t *tying) byPattern(name string) {
	if why := original.Refused(name, t.facts.Job.Sign.Key); why != "" {
		t.tell(diag.Error, "original-refused", name, "the file is not handed over: "+why, "", "take it out of the folder")
		return
	}
	var ties []original.Tie
	named, fits := "", false
	for _, p := range t.job.Originals {
		for _, tie := range p.Read(name) {
			fits, named = true, tie.Link
			if tie.Link = t.linkOf(tie.Link); tie.Link != "" && !slices.Contains(ties, tie) {
				ties = append(ties, tie)
			}
		}
	}
	severity := diag.Note
	if t.facts.Job.Policy.Require.Originals == "required" {
		severity = diag.Question
	}
	switch {
	case t.anyLink: // there is no schedule to know links by
	case !fits:
		t.tell(severity, "original-of-nothing", name, "the file's name fits no pattern under originals in job.yaml, so it is not handed over", "", "rename it, add a pattern, or list it in "+original.File)
	case len(ties) == 0:
		want := ""
		if near := t.names.To(named); near != "" {
			want = fmt.Sprintf("did you mean %q?", near)
		}
		t.tell(severity, "original-of-nothing", name, fmt.Sprintf("%q is not a link of %s, so the file is not handed over", named, t.scheduled), want, "correct the file's name, or list it in "+original.File)
	case len(ties) > 1:
		t.tell(diag.Error, "original-ambiguous", name, fmt.Sprintf("the file's name may be of %s and of %s", told(ties[0]), told(ties[1])), "", "list it in "+original.File+", which says what it is of")
	default:
		t.tie(name, ties[0])
	}
}

func told(t original.Tie) string {
	return strings.TrimSpace(fmt.Sprintf("link %s %s", t.Link, record.Reading{WavelengthNM: t.WavelengthNM, Direction: t.Direction}.Subject()))
}

// linkOf is the link that a file's name has, or "".
func (t *tying) linkOf(text string) string {
	if t.anyLink {
		return ""
	}
	if id, _, _, ok := t.findLink(text); ok {
		return id
	}
	if t.safe == nil {
		t.safe = map[string]string{}
		for i := range t.facts.Links {
			id := t.facts.Links[i].ID
			name := original.Safe(id)
			if _, twice := t.safe[name]; twice || name == id {
				id = "" // two links, or one that was found above
			}
			t.safe[name] = id
		}
	}
	return t.safe[text]
}

// tie keeps a file, and says what it is of.
func (t *tying) tie(name string, of original.Tie) {
	k, known := t.kept[name]
	if !known {
		k = t.folder.Sum(name)
		t.kept[name] = k
	}
	if k == nil {
		return
	}
	if other, twice := t.sums[k.SHA256]; twice && other != name && k.Size > 0 {
		t.tell(diag.Question, "original-copied", name, fmt.Sprintf("the file is byte for byte the same as %s", other), "", "put the file there that the instrument wrote for "+told(of))
	} else if !twice {
		t.sums[k.SHA256] = name
	}
	f := record.InstrumentFile{Link: of.Link, WavelengthNM: of.WavelengthNM, Direction: of.Direction, Stage: of.Stage, File: name, Size: k.Size, SHA256: k.SHA256}
	if !slices.Contains(t.facts.InstrumentFiles, f) {
		t.facts.InstrumentFiles = append(t.facts.InstrumentFiles, f)
	}
}

func (t *tying) tell(severity diag.Severity, code, name, message, want, fix string) {
	t.reader.list.Add(diag.Problem{Severity: severity, Code: code, Place: diag.Place{File: path.Clean(name)}, Message: message, Want: want, Fix: fix})
}
