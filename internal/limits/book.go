package limits

import (
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/source"
)

// Book holds the limit sets that are known, by id.
type Book struct {
	byID      map[string]*Set
	byFile    map[string]*Set
	sorted    []*Set
	confirmed map[string]Confirmation // by id and digest
}

// NewBook reads every *.yaml of a folder as a built-in set. The book is of use
// even when some set has problems; those sets are left out.
func NewBook(fsys fs.FS) (*Book, *diag.List) {
	b := &Book{byID: map[string]*Set{}, byFile: map[string]*Set{}}
	list := new(diag.List)
	names, err := fs.Glob(fsys, "*.yaml")
	if err != nil {
		list.Add(diag.Problem{Code: "unreadable", Message: err.Error()})
	}
	var files []*source.File
	for _, name := range names {
		raw, err := fs.ReadFile(fsys, name)
		if err != nil {
			list.Add(diag.Problem{Code: "unreadable", Place: diag.Place{File: name}, Message: err.Error(), Fix: "make the file readable"})
			continue
		}
		files = append(files, source.New(name, raw))
	}
	list.Join(b.add(true, files))
	return b, list
}

// Clone is a book with the same sets, to which others may be added.
func (b *Book) Clone() *Book {
	return &Book{maps.Clone(b.byID), maps.Clone(b.byFile), slices.Clone(b.sorted), maps.Clone(b.confirmed)}
}

// Add reads a job's own limit sets, in any order: one may extend another. A
// set with the id of one that is already known is refused, so that no edition
// changes silently.
func (b *Book) Add(files ...*source.File) *diag.List { return b.add(false, files) }

func (b *Book) add(builtIn bool, files []*source.File) *diag.List {
	list := new(diag.List)
	type parsed struct {
		*Set
		file *source.File
	}
	var wait []parsed
	for _, f := range files {
		s, problems := Parse(f)
		list.Join(problems)
		if s == nil {
			continue
		}
		s.BuiltIn = builtIn
		wait = append(wait, parsed{s, f})
	}
	// Bases first: each round takes in the sets whose base is known.
	for progress := true; progress; {
		progress = false
		rest := wait[:0:0]
		for _, p := range wait {
			if p.Extends != "" && b.byID[p.Extends] == nil {
				rest = append(rest, p)
				continue
			}
			progress = true
			list.Join(b.take(p.Set, p.file))
		}
		wait = rest
	}
	for _, p := range wait {
		fix := "name a set that is known, or take extends: out"
		if near := b.Near(p.Extends); near != "" {
			fix = fmt.Sprintf("did you mean %q?", near)
		}
		list.Add(diag.Problem{Code: "unknown-set", Place: place(p.file, "extends"), Message: fmt.Sprintf("%q, which %q extends, is not a known set", p.Extends, p.ID), Fix: fix})
	}
	slices.SortFunc(b.sorted, func(x, y *Set) int { return strings.Compare(x.ID, y.ID) })
	return list
}

// take joins a set with its base and lets it into the book.
func (b *Book) take(s *Set, f *source.File) *diag.List {
	list := new(diag.List)
	if known := b.byID[s.ID]; known != nil {
		list.Add(diag.Problem{Code: "repeated-id", Place: place(f, "id"), Message: fmt.Sprintf("the id %q is already used by %s", s.ID, known.File), Fix: "give this set an id of its own; it may extend the other"})
		return list
	}
	if base := b.byID[s.Extends]; base != nil && base.Kind == Planning {
		list.Add(diag.Problem{Code: "binds-nothing", Place: place(f, "extends"),
			Message: fmt.Sprintf("%q, which %q extends, has figures of kind %s, which are not limits", s.Extends, s.ID, base.Kind), Fix: "write the agreed figures into the set itself"})
		return list
	}
	if s.Extends != "" {
		s.join(b.byID[s.Extends])
		if s.check(f, list); list.Len() > 0 {
			return list
		}
	}
	b.byID[s.ID], b.byFile[s.File] = s, s
	b.sorted = append(b.sorted, s)
	return list
}

// join puts the base's rows behind the set's own and adds the base's limits
// that the set does not replace.
func (s *Set) join(base *Set) {
	s.Base = base
	if s.Owner == "" {
		s.Owner = base.Owner
	}
	if s.CountAbove == nil {
		s.CountAbove = base.CountAbove
	}
	for _, g := range base.Groups {
		if own, ok := s.Group(g.Name); ok {
			own.Rows = slices.Concat(own.Rows, g.Rows)
			continue
		}
		s.Groups = append(s.Groups, g)
	}
	for _, l := range base.Limits {
		if !slices.ContainsFunc(s.Limits, func(own Limit) bool { return own.ID == l.ID }) {
			l.Set = s
			s.Limits = append(s.Limits, l)
		}
	}
}

// place finds the line of a key at the margin of a set's file.
func place(f *source.File, key string) diag.Place {
	for n := 1; n <= f.Lines(); n++ {
		if line := f.Line(n); strings.HasPrefix(line, key+":") {
			return diag.AtLine(f, source.Position{Line: n, Column: 1}, len(key))
		}
	}
	return diag.Place{File: f.Name}
}

// Find returns the set with an id, or the one that was read from a file of
// that name.
func (b *Book) Find(id string) (*Set, bool) {
	if s, ok := b.byID[id]; ok {
		return s, true
	}
	s, ok := b.byFile[id]
	return s, ok
}

// Unknown says at a place that no set has an id there; what is "limit set" or
// "application".
func (b *Book) Unknown(what, id string, at diag.Place) diag.Problem {
	fix := "run spanseal limits list for the ids that are known"
	if near := b.Near(id); near != "" {
		fix = fmt.Sprintf("did you mean %q? spanseal limits list names them all", near)
	}
	return diag.Problem{Code: "unknown-set", Place: at, Message: fmt.Sprintf("%s %q is not known", what, id), Fix: fix}
}

// Near returns the known id nearest to a mistyped one, or "".
func (b *Book) Near(id string) string {
	ids := make([]string, len(b.sorted))
	for i, s := range b.sorted {
		ids[i] = s.ID
	}
	return near.Word(id, ids)
}

// All returns every set by id.
func (b *Book) All() []*Set { return slices.Clone(b.sorted) }
