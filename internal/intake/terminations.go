package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"spanseal/internal/jobfile"
	"spanseal/internal/ledger"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TerminationColumns are those of terminations.csv.
var TerminationColumns = jobfile.Columns{
	Required: []string{"link", "kind"},
	Optional: []string{"end", "splice", "estimate_db", "attempts", "lot", "end_face", "person", "finished", "closure", "tray", "shut"},
}

const terminationsFile = "terminations.csv"

// kind is what a termination leaves at an end.
type kind int

const (
	isConnector kind = iota // a connector, however it was made
	isSpliced               // one with a fusion splice behind it
	isUnspliced             // one without
	isSplice                // a splice alone
)

// kinds of termination, by the words of terminations.csv.
var kinds = map[string]kind{
	"connector": isConnector, "spliced-on connector": isSpliced, "splice-on connector": isSpliced, "spliced-on": isSpliced, "pigtail": isSpliced,
	"field-polished connector": isUnspliced, "factory connector": isUnspliced,
	"splice": isSplice, "fusion splice": isSplice, "mechanical splice": isSplice,
}

// ends is what was read of the terminations so far, by link and end.
type ends struct {
	scheduled string // the file of the schedule
	links     map[string]*record.Link
	at        map[string][]record.Termination
}

// fits compares a termination with the end that the schedule has, and with those
// that were read before. Of an end that was made again the later one counts, so the
// times must tell which that is.
func (e ends) fits(l *ledger.Ledger, t *record.Termination, made kind) {
	link := e.links[t.Link]
	if link == nil || t.End != "A" && t.End != "B" {
		return
	}
	end := &link.EndA
	if t.End == "B" {
		end = &link.EndB
	}
	contradicts := false
	switch made {
	case isConnector:
		contradicts = end.Connector == ""
	case isSpliced, isSplice:
		contradicts = !end.SplicedOn
	case isUnspliced:
		contradicts = end.SplicedOn || end.Connector == ""
	}
	if _, known := kinds[strings.ToLower(t.Kind)]; known && contradicts && end.Text != "" {
		l.Fault("kind", "kind-differs", fmt.Sprintf("a %s was recorded at end %s of %s, and the schedule has %s there", t.Kind, t.End, t.Link, end.Text), "", "correct the record, or the end in "+e.scheduled)
	}
	at := t.Link + "/" + t.End
	before := e.at[at]
	e.at[at] = append(before, *t)
	for _, o := range before {
		if o.Finished.Equal(t.Finished) && kinds[strings.ToLower(o.Kind)] == made {
			l.Fault("end", "end-twice", fmt.Sprintf("end %s of %s is recorded twice, here and in row %d, and no time tells which is the later", t.End, t.Link, o.Origin.Row), "", "give each its time under finished if the end was made again, or remove one row")
			return
		}
	}
}

// readTerminations reads the connectors and splices that were made, if the job
// keeps them.
func (r *reader) readTerminations() {
	if !r.folder.Exists(terminationsFile) {
		return
	}
	f := r.readLedger(terminationsFile)
	if f == nil {
		return
	}
	l := r.openLedger(f, &jobfile.Schedule{}, &TerminationColumns)
	if l == nil {
		return
	}
	before := ends{r.scheduled, map[string]*record.Link{}, map[string][]record.Termination{}}
	for i := range r.facts.Links {
		before.links[r.facts.Links[i].ID] = &r.facts.Links[i]
	}
	kindNames := slices.Sorted(maps.Keys(kinds))
	nearKind := near.New(kindNames)
	for o := range l.Rows() {
		t := record.Termination{
			Link: l.Must("link", "the name of a link in "+r.scheduled), End: strings.ToUpper(l.Text("end")), Kind: l.Must("kind", "such as spliced-on connector or splice"),
			Splice: l.Text("splice"), Lot: l.Text("lot"), Person: l.Text("person"), Finished: l.Time("finished"),
			Closure: l.Text("closure"), Tray: l.Text("tray"), Shut: l.Time("shut"), EndFace: record.EndFaceNotInspected, Origin: o,
		}
		if t.Link != "" {
			if id, _, _, ok := r.findLink(t.Link); ok {
				t.Link = id
			} else {
				want := ""
				if near := r.names.To(t.Link); near != "" {
					want = fmt.Sprintf("did you mean %q?", near)
				}
				l.Fault("link", "unknown-link", fmt.Sprintf("%q is not a link of %s", t.Link, r.scheduled), want, "correct the name, or add the link to "+r.scheduled)
			}
		}
		made, known := kinds[strings.ToLower(t.Kind)]
		if !known && t.Kind != "" {
			want := "want one of " + strings.Join(kindNames, ", ")
			if near := nearKind.To(t.Kind); near != "" {
				want = fmt.Sprintf("did you mean %q?", near)
			}
			l.Fault("kind", "unknown-kind", fmt.Sprintf("%q is not a kind of termination", t.Kind), want, "")
		}
		before.fits(l, &t, made)
		switch t.End {
		case "A", "B":
			for _, column := range []string{"closure", "tray", "shut"} {
				if l.Text(column) != "" {
					l.Fault(column, "contradiction", "a "+ledger.Noun(column)+" is of a splice in the span, and this row is of end "+t.End, "", "leave end empty if the splice is in the span, or clear this cell")
				}
			}
		case "":
			if known && made != isSplice {
				l.Fault("end", "missing-cell", "this row has no end", "want A or B; only a splice in the span has none", "")
			}
		default:
			l.Fault("end", "unknown-value", fmt.Sprintf("%q is not an end", t.End), "want A or B", "")
		}
		if v, ok := l.Number("estimate_db"); ok {
			if v.Less(quantity.Int(0)) || quantity.Int(10).Less(v) {
				l.Fault("estimate_db", "out-of-range", fmt.Sprintf("an estimate of %s dB cannot be", v), "want 0 to 10 dB", "")
			}
			t.Estimate = &v
		}
		if l.Text("attempts") != "" {
			t.Attempts = l.Count("attempts")
		}
		switch face := strings.ToLower(l.Text("end_face")); face {
		case "":
		case string(record.EndFacePass), string(record.EndFaceFail), string(record.EndFaceNotInspected):
			t.EndFace = record.EndFace(face)
		default:
			l.Fault("end_face", "unknown-value", fmt.Sprintf("%q is not the result of an inspection", face), "want pass, fail or not inspected", "")
		}
		r.facts.Terminations = append(r.facts.Terminations, t)
	}
}
