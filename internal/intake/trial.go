package intake

import (
	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// Trial is what an entry of readings makes of one table.
type Trial struct {
	Facts    *record.Facts
	Account  record.Account
	AsRead   []AsRead // its first rows
	Problems *diag.List
}

// Try reads a table of a file by the draft of an entry of readings, which is YAML: a list of
// one item. Any name is a link, and times without a zone are UTC. show is how many rows
// are shown as read.
func Try(name string, entry []byte, f *source.File, t table.Table, show int) *Trial {
	r := newReader()
	r.anyLink = true
	r.facts.Job.TimeZone = "UTC"
	r.showRows = show
	m := r.drafted(name, entry)
	account := record.Account{File: name}
	if r.list.Errors() == 0 {
		r.assemble(t, m, f, &account)
	}
	return &Trial{Facts: r.facts, Account: account, AsRead: r.asRead, Problems: r.list}
}

// drafted reads the draft of an entry.
func (r *reader) drafted(name string, entry []byte) *mapping.Mapping {
	d := &strict.YAML{File: source.New(name, entry), List: r.list}
	m := mapping.New()
	if top := d.Root(); top != nil {
		ks := m.Keys(d)
		ks["files"] = strict.Opt(func(*yaml.Node) {})
		d.Object(top.Content[0], "the draft", ks)
	}
	return m
}

// Drafted is a file of readings and the draft of its entry.
type Drafted struct {
	Name       string // in readings/
	Raw, Entry []byte
}

// Survey is what files of readings name, read by drafts.
type Survey struct {
	// Facts have every link of which a row gives or lacks a value, in the order of the
	// files, with its cable and strand if the files name it by these. Readings have no time, and
	// direction A-B where it is still to be told.
	Facts  *record.Facts
	AsRead []AsRead // all tables, up to show rows of each
	// More: there may be links beyond those, which are as many as are taken, or in rows
	// beyond those that were read.
	More bool
}

// A survey goes through so many rows of a table, and ends with so many readings of all:
// what a file of any size may take of memory and time.
const (
	mostRows     = 500_000
	mostReadings = 200_000
)

// surveyed reports whether a survey has seen enough after so many rows of a table.
func (r *reader) surveyed(rows int) bool {
	return r.survey && (rows >= mostRows || len(r.facts.Readings) >= mostReadings)
}

// Look surveys files by drafts, each of which has one answer to give yet: any name is
// a link, and times, directions and wavelengths that cannot be read stop no row.
func Look(files []Drafted, show int) *Survey {
	r := newReader()
	r.anyLink, r.survey, r.showRows, r.tried = true, true, show, map[int32]bool{}
	for _, f := range files {
		if m := r.drafted(f.Name, f.Entry); r.list.Errors() == 0 {
			m.Untold = true
			r.readRaw(source.New("readings/"+f.Name, f.Raw), m)
		}
		r.list = &diag.List{}
	}
	named := make([]bool, len(r.facts.Links))
	for link := range r.tried {
		named[link] = true
	}
	for i := range r.facts.Readings {
		named[r.index[r.facts.Readings[i].Link]] = true
	}
	kept := r.facts.Links[:0]
	for i, l := range r.facts.Links {
		if named[i] {
			kept = append(kept, l)
		}
	}
	r.facts.Links = kept
	return &Survey{Facts: r.facts, AsRead: r.asRead, More: r.more || r.taken >= maxTaken}
}
