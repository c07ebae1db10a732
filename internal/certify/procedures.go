package certify

import (
	"spanseal/internal/judge"
	"spanseal/internal/procedure"
)

// procedure says how the link was measured.
func (sh *sheet) procedure() *procedure.Of {
	return &procedure.Of{Job: &sh.Facts.Job, Link: sh.l, Words: sh.words}
}

// byReference adds to the name of a limit the reference method that it is worked out
// for, where the losses of the link were measured by several.
func (sh *sheet) byReference(name string, work *judge.Working) string {
	p := &sh.Facts.Job.Policy
	if !sh.severalReferences() {
		return name
	}
	for i := range sh.losses {
		if f := &sh.losses[i]; f.Working == work && len(f.Readings) > 0 {
			return name + " " + sh.words.Term("reference", string(p.MethodOf(&f.Readings[0]).Reference))
		}
	}
	return name
}

// severalReferences is asked for every limit that is named, and nearly no link has them.
func (sh *sheet) severalReferences() bool {
	for i := range sh.l.Readings {
		if sh.l.Readings[i].Method != nil {
			return len(judge.References(&sh.Facts.Job.Policy, sh.l.Link, sh.l.Readings)) > 1
		}
	}
	return false
}
