package cli

import (
	"fmt"
	"strings"

	"spanseal/internal/like"
	"spanseal/internal/outline"
	"spanseal/internal/terminal"
)

// createLike makes a job folder from an older one, and from what was drafted of
// exports, nil for nothing.
func (a *app) createLike(dir, old string, draft *outline.Draft) error {
	older, problems := like.Read(old, draft != nil)
	if err := a.report(problems); err != nil {
		return err
	}
	if err := unpack(dir, "job"); err != nil {
		return err
	}
	if err := older.Write(dir); err != nil {
		return err
	}
	points := older.Points
	if draft != nil {
		if err := adopt(dir, draft, func(job []byte) []byte {
			points = append(points, draft.Newcomers(job)...)
			return append(job, draft.Tail()...)
		}); err != nil {
			return err
		}
		for _, p := range draft.Points() { // the rest is of a job from nothing
			if p.File != "job.yaml" || strings.HasPrefix(p.Text, "readings:") {
				points = append(points, p)
			}
		}
	}
	fmt.Fprintf(a.out, "wrote %s, like %s\n\n", terminal.Argument(dir), terminal.Argument(old))
	a.stillToSay(points)
	fmt.Fprintf(a.out, "\nnext\n")
	a.print.Then("check " + terminal.Argument(dir))
	return nil
}
