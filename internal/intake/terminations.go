package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

const terminationsFile = "terminations.csv"

// readTerminations reads the connectors and splices that were made, if the job
// keeps them.
func (r *reader) readTerminations() {
	if !r.folder.exists(terminationsFile) {
		return
	}
	f := r.readLedger(terminationsFile)
	if f == nil {
		return
	}
	l := r.openLedger(f, &schedule{}, []string{"link", "kind"},
		[]string{"end", "estimate_db", "attempts", "lot", "end_face", "person", "finished"})
	if l == nil {
		return
	}
	for o := range l.rows() {
		t := record.Termination{
			Link: l.must("link", "the name of a link in "+r.scheduled), End: strings.ToUpper(l.text("end")), Kind: l.must("kind", "such as spliced-on connector or splice"),
			Lot: l.text("lot"), Person: l.text("person"), Finished: l.time("finished"), EndFace: record.EndFaceNotInspected, Origin: o,
		}
		if t.Link != "" {
			if id, _, _, ok := r.findLink(t.Link); ok {
				t.Link = id
			} else {
				want := ""
				if near := r.names.near(t.Link); near != "" {
					want = fmt.Sprintf("did you mean %q?", near)
				}
				l.fault("link", "unknown-link", fmt.Sprintf("%q is not a link of %s", t.Link, r.scheduled), want, "correct the name, or add the link to "+r.scheduled)
			}
		}
		switch t.End {
		case "A", "B":
		case "":
			if t.Kind != "splice" {
				l.fault("end", "missing-cell", "this row has no end", "want A or B; only a splice in the span has none", "")
			}
		default:
			l.fault("end", "unknown-value", fmt.Sprintf("%q is not an end", t.End), "want A or B", "")
		}
		if v, ok := l.number("estimate_db"); ok {
			if v.Less(quantity.Int(0)) || quantity.Int(10).Less(v) {
				l.fault("estimate_db", "out-of-range", fmt.Sprintf("an estimate of %s dB cannot be", v), "want 0 to 10 dB", "")
			}
			t.Estimate = &v
		}
		if l.text("attempts") != "" {
			t.Attempts = l.count("attempts")
		}
		switch face := strings.ToLower(l.text("end_face")); face {
		case "":
		case string(record.EndFacePass), string(record.EndFaceFail), string(record.EndFaceNotInspected):
			t.EndFace = record.EndFace(face)
		default:
			l.fault("end_face", "unknown-value", fmt.Sprintf("%q is not the result of an inspection", face), "want pass, fail or not inspected", "")
		}
		r.facts.Terminations = append(r.facts.Terminations, t)
	}
}
