package intake

import (
	"fmt"

	"spanseal/internal/ledger"
	"spanseal/internal/polarity"
	"spanseal/internal/record"
)

// array reads which position of a trunk a link is, nil where it is none. A place of a
// face has one link.
func (r *reader) array(l *ledger.Ledger, taken map[record.Array]string, link string) *record.Array {
	a := record.Array{Trunk: l.Text("trunk")}
	if a.Trunk == "" {
		for _, column := range []string{"position", "far_position"} {
			if l.Text(column) != "" {
				l.Fault(column, "contradiction", "this row has a "+ledger.Noun(column)+" and no trunk", "", "name the trunk, or clear this cell")
			}
		}
		return nil
	}
	t, known := r.job.Job.Trunk(a.Trunk)
	if !known {
		l.Fault("trunk", "unknown-trunk", fmt.Sprintf("%q is not a trunk of job.yaml", a.Trunk), "", "correct the name, or add the trunk under trunks in job.yaml")
		return nil
	}
	l.Must("position", "a place on the face of the trunk, such as 1")
	for _, one := range []struct {
		column string
		to     *int
	}{{"position", &a.Position}, {"far_position", &a.FarPosition}} {
		if l.Text(one.column) == "" {
			continue
		}
		if *one.to = l.Count(one.column); !polarity.HasFibre(t.Fibres, *one.to) {
			l.Fault(one.column, "out-of-range", fmt.Sprintf("a connector of %d fibres has no fibre at %s", t.Fibres, l.Text(one.column)), "", "correct the "+ledger.Noun(one.column)+", or the fibres of the trunk")
		}
	}
	place := record.Array{Trunk: a.Trunk, Position: a.Position}
	if other, twice := taken[place]; twice && a.Position > 0 {
		l.Fault("position", "position-twice", fmt.Sprintf("position %d of trunk %s is also used by link %s", a.Position, a.Trunk, other), "", "give each link its own position")
	}
	taken[place] = link
	return &a
}

// trunksApart complains of trunks that bear the name of a link: both have a paper.
func (r *reader) trunksApart(l *ledger.Ledger) {
	for i := range r.facts.Links {
		if _, known := r.job.Job.Trunk(r.facts.Links[i].ID); known {
			l.Fault("link", "duplicate-id", fmt.Sprintf("%q is the name of a link and of a trunk", r.facts.Links[i].ID), "", "give the trunk another id: each has its own document")
			return
		}
	}
}
