package intake

import (
	"fmt"
	"maps"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/folder"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
)

// ReadLoose reads one file of readings that lies in no job folder, such as a
// retest: delimited text, a workbook or YAML whose columns or keys say all by
// their names (link, wavelength_nm, direction, loss_db, ...). link is the one
// that is asked about; rows of any other link are read too. zone, which may be
// "", is the time zone (IANA) of times without one. The facts hold the
// readings, an account and the file itself, and no job.
func ReadLoose(file string, link record.Link, zone string) (*record.Facts, *diag.List) {
	return readLoose(file, link, zone, mapping.New())
}

// ReadLooseAs reads such a file as a job reads exports of its kind: by the first of its
// entries that gives readings of the link. It is nil where none does. What an entry says
// of whole files (who measured, with what, when) was true of the job's own.
func ReadLooseAs(file string, link record.Link, zone string, entries []*mapping.Mapping) (*record.Facts, *mapping.Mapping) {
	for _, m := range entries {
		if m.EvidenceOnly || m.Faulty {
			continue
		}
		own := *m
		own.Constants = maps.Clone(m.Constants)
		for _, f := range []field.Field{field.Instrument, field.Source, field.Person, field.Date, field.Time, field.ReferenceDate, field.ReferenceTime} {
			delete(own.Constants, f)
		}
		if facts, list := readLoose(file, link, zone, &own); list.Errors() == 0 {
			return facts, m
		}
	}
	return nil, nil
}

func readLoose(file string, link record.Link, zone string, m *mapping.Mapping) (*record.Facts, *diag.List) {
	r := newReader()
	r.anyLink = true
	if loc, err := time.LoadLocation(zone); err == nil && zone != "" {
		r.facts.Job.TimeZone, r.facts.Job.Location = zone, loc
	}
	var err error
	if r.folder, err = folder.Open(filepath.Dir(file), r.list); err != nil {
		r.list.Add(diag.Problem{Code: "cannot-read", Place: diag.Place{File: filepath.ToSlash(file)}, Message: "the folder of the file cannot be read: " + err.Error()})
		return r.facts, r.list
	}
	defer r.folder.Close()
	r.take(link)
	r.readFile(filepath.Base(file), m)
	r.settle()
	r.facts.Originals = r.folder.Originals()
	r.list.Compact()
	if r.list.Errors() == 0 && !r.measured(link.ID) {
		p := diag.Problem{Code: "no-reading", Place: diag.Place{File: filepath.Base(file)}, Message: fmt.Sprintf("the file has no reading of link %s", link.ID),
			Fix: "name the file that holds its readings, or correct the link's name in it"}
		var known []string
		for _, l := range r.facts.Links[1:] {
			known = append(known, l.ID)
		}
		if len(known) > 0 {
			p.Because = []string{"it has readings of " + strings.Join(diag.First(known, 5), ", ")}
		}
		r.list.Add(p)
	}
	return r.facts, r.list
}

// take adds a link to the schedule and returns its index.
func (r *reader) take(l record.Link) int32 {
	r.taken++
	l.ID = norm.NFC.String(l.ID)
	i := int32(len(r.facts.Links))
	r.index[l.ID] = i
	if !r.survey { // which says of no name what it was meant for
		r.names.Add(l.ID)
	}
	r.facts.Links = append(r.facts.Links, l)
	return i
}

func (r *reader) measured(link string) bool {
	for _, x := range r.facts.Readings {
		if x.Link == norm.NFC.String(link) {
			return true
		}
	}
	return false
}
