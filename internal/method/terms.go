package method

import (
	"fmt"

	"spanseal/internal/field"
	"spanseal/internal/record"
)

// columns are those of the schedule that say how a link is measured.
var columns = []struct {
	name  string
	field field.Field
}{
	{"reference", field.ReferenceMethod}, {"test_cords", field.TestCords}, {"launch", field.Launch}, {"software", field.Software}, {"group_index", field.GroupIndex},
}

// Terms reads what of a link departs from the job, nil where nothing does: text gives
// what stands in a column of its row, and fault complains of it.
func Terms(link *record.Link, text func(column string) string, fault func(column, code, message, want, fix string)) *record.Terms {
	var said Said
	take := func(to *Said, column string, f field.Field) {
		if t := text(column); t != "" {
			if want := to.Take(f, t); want != "" {
				fault(column, "unknown-value", fmt.Sprintf("%q is not understood as %s", t, f.Noun()), want, "")
			}
		}
	}
	for _, c := range columns {
		take(&said, c.name, c.field)
	}
	var again Said // by the name that files of readings have for it
	take(&again, "reference_method", field.ReferenceMethod)
	if said.Reference != "" && again.Reference != "" && said.Reference != again.Reference {
		fault("reference_method", "method-contradicts", fmt.Sprintf("link %q has reference %s and reference_method %s", link.ID, said.Reference, again.Reference), "", "keep one of the two columns")
	}
	if again.Reference != "" {
		said.Reference = again.Reference
	}
	if misfit := Misfit(said.Reference, link.MatedPairs); misfit != "" {
		pairs := fmt.Sprintf("%d mated pairs", link.MatedPairs)
		if link.MatedPairs == 1 {
			pairs = "1 mated pair"
		}
		fault("mated_pairs", "method-contradicts", fmt.Sprintf("link %q has %s, and %s", link.ID, pairs, misfit), "",
			"correct reference or mated_pairs; both ends of the link count")
	}
	var t record.Terms
	if said.Method != (record.Method{}) {
		t.Method = &said.Method
	}
	if t.Method == nil {
		return nil
	}
	return &t
}
