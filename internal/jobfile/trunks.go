package jobfile

import (
	"fmt"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/polarity"
	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// longestTrunk bounds the id of a trunk, which stands in a token, in bytes.
const longestTrunk = 60

// readTrunk reads a trunk: its method is a table that comes with the program, or the
// owner's own far positions under a name.
func readTrunk(d *strict.YAML, n *yaml.Node, j *record.Job) {
	var v record.Trunk
	d.Object(n, "a trunk", strict.Keys{
		"id":          strict.Must(d.Text("id", &v.ID)),
		"description": strict.Opt(d.Text("description", &v.Description)),
		"from":        strict.Opt(d.Text("from", &v.From)),
		"to":          strict.Opt(d.Text("to", &v.To)),
		"fibres":      strict.Must(d.Count("fibres", 1, 1000, &v.Fibres)),
		"polarity":    strict.Opt(d.Text("polarity", &v.Polarity)),
		"method":      strict.Opt(d.Text("method", &v.Method)),
		"far": strict.Opt(d.Items("far", func(n *yaml.Node) {
			place := 0
			d.Count("far", 1, 1000, &place)(n)
			v.Far = append(v.Far, place)
		})),
	})
	places := polarity.FaceOf(v.Fibres).Places
	switch {
	case v.Fibres > 0 && !slices.Contains(polarity.Fibres, v.Fibres):
		d.Fault(n, "bad-value", fmt.Sprintf("no array connector has %d fibres", v.Fibres), "want 8, 12, 16 or 24", "")
	case v.Polarity == "" && (v.Method == "" || v.Far == nil):
		d.Fault(n, "missing-key", "the trunk has no polarity", "want polarity: ansi-tia-568.3-b, or the owner's own method and far", "")
	case v.Polarity != "" && (v.Method != "" || v.Far != nil):
		d.Fault(n, "bad-value", "the trunk has both a built-in polarity and the owner's own", "want polarity, or method and far", "")
	case v.Far != nil && (len(v.Far) != places || !polarity.Whole(v.Far)):
		d.Fault(n, "bad-value", "far does not list each position of the face exactly once", fmt.Sprintf("want %d numbers, 1 to %d", places, places), "")
	}
	if slices.ContainsFunc(j.Trunks, func(o record.Trunk) bool { return strings.EqualFold(o.ID, v.ID) }) && v.ID != "" { // their papers lie side by side
		idTwice(d, n, "trunk", v.ID)
	}
	if len(v.ID) > longestTrunk {
		d.Fault(n, "bad-value", fmt.Sprintf("the id of the trunk has more than %d bytes", longestTrunk), "", "shorten it; description takes the rest")
	}
	j.Trunks = append(j.Trunks, v)
}
