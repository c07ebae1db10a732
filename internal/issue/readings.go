package issue

import (
	"bytes"
	"errors"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// readingsFolder is where the files of readings lie among the originals. They
// do not change from one revision to the next: new values come in new files.
// What a job says of itself (job.yaml, links.csv) may be corrected; package
// change tells how.
const readingsFolder = evidenceFolder + "readings/"

// originalsFolder is where the files lie that instruments wrote, which do not change
// either.
const originalsFolder = "originals/"

// ReadingsChange is a file of readings, or one that an instrument wrote, that a revision rests on and that the
// next one would not have as it was.
type ReadingsChange struct {
	Name     string // in the job folder, "readings/day1.csv"
	Revision int    // that rests on it
	Folder   string // of the revision in which it lies: evidence/ or originals/
	Was      string // its SHA-256 there
	Gone     bool
	// Row is the first that differs, from one; 0 where the file is no text or
	// is gone. What says which rows differ, as a clause about the file.
	Row  int
	What string
}

// ChangedReadingsError reports files of readings that were changed without a word.
type ChangedReadingsError struct{ Changes []ReadingsChange }

func (e *ChangedReadingsError) Error() string {
	var all []string
	for _, c := range e.Changes {
		all = append(all, c.Name+": "+c.What)
	}
	return strings.Join(all, "; ")
}

// ChangedReadings compares the files of readings of a job with those that the latest
// revision in a folder rests on. A file that only has another name is the same.
// What job.yaml declares is left out; an error is about the revision.
func ChangedReadings(dir string, facts *record.Facts) ([]ReadingsChange, error) {
	n, err := Next(dir)
	if err != nil || n == 1 {
		return nil, err
	}
	f, err := plain.Open(dir)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	name := path.Join(seal.RevisionFolder(n-1), seal.ManifestName)
	data, err := readUpTo(f, name, maxManifest)
	if err == nil {
		var m *seal.Manifest
		if m, err = seal.ParseManifest(data); err == nil {
			changes, _, err := compareReadings(f, dir, m, facts)
			return changes, err
		}
	}
	return nil, &DamagedError{filepath.Join(dir, filepath.FromSlash(name)), plain.Cause(err)}
}

// compareReadings tells which files of readings differ from those of a
// revision: those that nothing explains, and what job.yaml declares of others.
func compareReadings(dir folder, place string, m *seal.Manifest, facts *record.Facts) (changes []ReadingsChange, declared []record.Declared, err error) {
	now, sums := map[string]*record.Original{}, map[string]bool{}
	for i := range facts.Originals {
		o := &facts.Originals[i]
		now[evidenceFolder+o.Name], sums[o.SHA256] = o, true
	}
	kept := map[string]bool{}
	for _, k := range facts.Kept {
		kept[originalsFolder+k.Name], sums[k.SHA256] = true, true
	}
	for _, f := range m.Files {
		folder := evidenceFolder
		if strings.HasPrefix(f.Path, originalsFolder) {
			folder = originalsFolder
		} else if !strings.HasPrefix(f.Path, readingsFolder) {
			continue
		}
		if sums[f.SHA256] {
			continue
		}
		explains := func(d record.Declared) bool {
			return folder+d.File == f.Path && d.Was != "" && strings.HasPrefix(f.SHA256, d.Was)
		}
		if i := slices.IndexFunc(facts.Job.Declared, explains); i >= 0 {
			declared = append(declared, facts.Job.Declared[i])
			continue
		}
		c := ReadingsChange{Was: f.SHA256, Folder: folder, Name: strings.TrimPrefix(f.Path, folder), Revision: m.Revision}
		o := now[f.Path]
		switch {
		case kept[f.Path]:
			c.What = fmt.Sprintf("in r%d this file of the instrument has other bytes", m.Revision)
		case folder == originalsFolder:
			c.Gone, c.What = true, fmt.Sprintf("r%d contains this file of an instrument, but it is no longer handed over", m.Revision)
		case o == nil:
			c.Gone, c.What = true, fmt.Sprintf("r%d used this file, but it is gone", m.Revision)
		default:
			name := path.Join(seal.RevisionFolder(m.Revision), f.Path)
			old, err := readUpTo(dir, name, f.Size)
			if err == nil && seal.NewManifestFile(f.Path, old) != f {
				err = errors.New("it is not as it was issued")
			}
			if err != nil {
				return nil, nil, &DamagedError{filepath.Join(place, filepath.FromSlash(name)), plain.Cause(err)}
			}
			c.Row, c.What = differing(old, o.Data)
			c.What = fmt.Sprintf("r%d used other rows of this file: %s", m.Revision, c.What)
		}
		changes = append(changes, c)
	}
	return changes, declared, nil
}

// differing says which rows of a text are others, from the first on.
func differing(old, now []byte) (row int, what string) {
	if !isText(old) || !isText(now) {
		return 0, "its bytes differ"
	}
	a, b := bytes.Split(old, []byte("\n")), bytes.Split(now, []byte("\n"))
	from := 0
	for from < min(len(a), len(b)) && bytes.Equal(a[from], b[from]) {
		from++
	}
	after := 0
	for after < min(len(a), len(b))-from && bytes.Equal(a[len(a)-1-after], b[len(b)-1-after]) {
		after++
	}
	gone, new := len(a)-after-from, len(b)-after-from
	switch {
	case gone == new:
		var rows []int
		for i := range gone {
			if !bytes.Equal(a[from+i], b[from+i]) {
				rows = append(rows, from+i+1)
			}
		}
		if len(rows) == 1 {
			return from + 1, rowsOf(rows) + " differs"
		}
		return from + 1, rowsOf(rows) + " differ"
	case gone == 0:
		return from + 1, span(from+1, new) + " added"
	case new == 0:
		return from + 1, span(from+1, gone) + " gone"
	}
	return from + 1, span(from+1, gone) + " now " + strconv.Itoa(new)
}

func isText(data []byte) bool { return utf8.Valid(data) && bytes.IndexByte(data, 0) < 0 }

// span names rows that follow one another.
func span(first, n int) string {
	if n == 1 {
		return fmt.Sprintf("row %d is", first)
	}
	return fmt.Sprintf("rows %d to %d are", first, first+n-1)
}

// rowsOf names rows, the first ones of many.
func rowsOf(rows []int) string {
	const named = 8
	var all []string
	for _, n := range rows[:min(len(rows), named)] {
		all = append(all, strconv.Itoa(n))
	}
	text := strings.Join(all, ", ")
	switch more := len(rows) - named; {
	case len(rows) == 1:
		return "row " + text
	case more > 0:
		return fmt.Sprintf("rows %s and %d more", text, more)
	}
	return "rows " + text
}

// unchanged refuses a revision in which a file of readings differs from the one
// before, and tells the set what job.yaml declares of those that do.
func (r *Request) unchanged(p *past) error {
	dir, err := r.disk().folder(r.Folder)
	if err != nil {
		return err
	}
	defer dir.Close()
	changes, declared, err := compareReadings(dir, r.Folder, p.latest, r.Set.Facts)
	if err == nil && len(changes) > 0 {
		err = &ChangedReadingsError{changes}
	}
	r.Set.Declared = declared
	return err
}
