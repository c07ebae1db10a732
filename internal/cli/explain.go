package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/load"
	"spanseal/internal/near"
	"spanseal/internal/report"
)

func (a *app) explain() *cobra.Command {
	var code string
	c := &cobra.Command{
		Use:   "explain JOB LINK",
		Short: "one link: every finding with its working and source",
		Long: `Shows each finding of one link: what was measured and where it was read, how its
limit was calculated and where it is published, the margin, and what to try first.

With --code it explains the code in brackets after a problem, or the code of a
finding or a question, such as "not-a-number" or "calibration". It needs no job;
--code list prints all codes.`,
		Example: `  spanseal explain harbour-library A-07
  spanseal explain --code calibration`,
		ValidArgsFunction: completeLink,
		Args: func(c *cobra.Command, args []string) error {
			if code != "" {
				return takes(0, 0, "no argument beside --code")(c, args)
			}
			return takes(2, 2, "a job folder and the name of a link")(c, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if code != "" {
				return a.explainCode(code)
			}
			j, err := a.readJob(args[0])
			if err != nil {
				return err
			}
			l, ok := j.Judged.Link(args[1])
			if !ok {
				return noLink(j, args[1])
			}
			a.print.Link(j, l)
			return nil
		},
	}
	c.Flags().StringVar(&code, "code", "", "explain this code of a problem, finding or question; \"list\" names them all")
	return c
}

// explainCode prints the page of one code, or the list of them.
func (a *app) explainCode(code string) error {
	if code == "list" {
		a.print.ListCodes()
		return nil
	}
	if a.print.Code(code) {
		return nil
	}
	fix := "`--code list` names them all"
	if near := near.Word(code, report.Codes()); near != "" {
		fix = fmt.Sprintf("did you mean %s?", near)
	}
	return misuse(fix, "there is no code %q", code)
}

// noLink refuses a name that is not in the schedule, naming the nearest.
func noLink(j *load.JudgedJob, name string) error {
	var known []string
	for _, l := range j.Facts.Links {
		known = append(known, l.ID)
	}
	fix := "the schedule names no link"
	if len(j.Facts.Links) > 0 {
		fix = j.Facts.Links[0].Origin.File + " lists the links of the job"
	}
	if near := near.Word(name, known); near != "" {
		fix = fmt.Sprintf("did you mean %s?", diag.Safe(near))
	}
	return misuse(fix, "there is no link %q in the schedule", name)
}
