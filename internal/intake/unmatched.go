package intake

import (
	"fmt"

	"spanseal/internal/diag"
)

// askGiven lists what never matched anything in the files of a mapping.
func (r *reader) askGiven() {
	for _, m := range r.job.Mappings {
		if m.Matched == 0 || m.EvidenceOnly || m.Faulty {
			continue
		}
		for _, g := range m.Given {
			if g.Used {
				continue
			}
			message := fmt.Sprintf("%s: no cell of %s holds %q", g.Kind, m.Files, g.Text)
			if g.Kind == "preamble" || g.Kind == "ignore_rows" {
				message = fmt.Sprintf("%s: no row of %s fits %q", g.Kind, m.Files, g.Text)
			}
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "never-matched", Place: g.Place, Message: message})
		}
	}
	for alias := range r.job.Aliases {
		if !r.aliasUsed[alias] && len(r.facts.Accounts) > 0 && r.job.File != nil {
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "never-matched", Place: r.job.Aliases[alias].Place,
				Message: fmt.Sprintf("aliases: no file names a link %q", alias)})
		}
	}
}
