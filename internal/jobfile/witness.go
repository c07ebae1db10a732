package jobfile

import (
	"fmt"

	"gopkg.in/yaml.v3"

	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// readWitness reads who watched: a name for the whole job, or a list of names with days.
func readWitness(d *strict.YAML, j *record.Job) func(*yaml.Node) {
	list := d.Items("job.witness", func(n *yaml.Node) {
		var v record.Witnessed
		var day record.Date
		d.Object(n, "a witness", strict.Keys{
			"who":  strict.Must(d.Text("who", &v.Who)),
			"day":  strict.Opt(d.Date("day", &day)),
			"from": strict.Opt(d.Date("from", &v.From)),
			"to":   strict.Opt(d.Date("to", &v.To)),
		})
		switch {
		case !day.IsZero() && !(v.From.IsZero() && v.To.IsZero()):
			d.Fault(n, "day-and-days", "the witness has both day and from or to", "", "keep the correct one")
		case !day.IsZero():
			v.From, v.To = day, day
		case v.From.IsZero() && v.To.IsZero():
			d.Fault(n, "missing-key", fmt.Sprintf("no day is given on which %s watched", v.Who), "want day, or from and to", "")
		case !v.To.IsZero() && v.To.Before(v.From):
			d.Fault(n, "dates-reversed", fmt.Sprintf("%s watched from %s to %s, which is earlier", v.Who, v.From, v.To), "", "correct one of the dates")
		}
		j.Witnesses = append(j.Witnesses, v)
	})
	return func(n *yaml.Node) {
		if n.Kind == yaml.SequenceNode {
			list(n)
		} else {
			d.Text("job.witness", &j.Witness)(n)
		}
	}
}
