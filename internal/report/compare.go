package report

import (
	"fmt"
	"io"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/retest"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
)

// outcomeWord: a change that is shown stands out, and so does a limit missed.
func outcomeWord(s terminal.Style, o retest.Outcome) string {
	word := strings.ToUpper(string(o))
	switch o {
	case retest.NoChange:
		return s.Good(word)
	case retest.Changed, retest.Undecided:
		return s.Asked(word)
	}
	return s.Bad(word)
}

// Comparison prints a comparison for a person: the conclusion first. Checked is
// what was found of the paper, and superseded says by what it is, or nothing.
func (pr *Printer) Comparison(c *retest.Comparison, checked *verify.Report, superseded string) {
	s := pr.style
	was := "certified"
	if !c.Verdict.Certifiable() {
		was = "not certified: nonconformance sheet of"
	}
	fmt.Fprintf(pr.w, "%s  %s r%d, %s %s, %s to %s\n", outcomeWord(s, c.Outcome), s.Strong(diag.Safe(c.Certificate)), c.Revision, was, c.Issued,
		diag.Safe(c.Link.From), diag.Safe(c.Link.To))
	for _, i := range checked.Items {
		if i.Signer != nil && !i.Signer.Trusted {
			fmt.Fprintf(pr.w, "  %s: signed by %s; %s\n", s.Asked("signer not trusted"), diag.Safe(i.Signer.Name), diag.Safe(i.Signer.Why))
		}
	}
	if superseded != "" {
		fmt.Fprintf(pr.w, "  %s %s\n", s.Asked("note:"), diag.Safe(superseded))
	}
	fmt.Fprintln(pr.w)
	for _, said := range c.Conclusion {
		fmt.Fprintf(pr.w, "  %s\n", pr.says(said))
	}
	for _, said := range c.Advice {
		fmt.Fprintf(pr.w, "  try: %s\n", pr.says(said))
	}
	for _, said := range c.Questions {
		fmt.Fprintf(pr.w, "  %s %s\n", s.Asked("question:"), pr.says(said))
	}
	for _, said := range c.Warranty {
		fmt.Fprintf(pr.w, "  warranty: %s\n", pr.says(said))
	}
	fmt.Fprintln(pr.w)
	table := [][]string{{"", "then", "now", "change", "±U then", "±U now", "En", "limit then", "margin"}}
	for i := range c.Rows {
		r := &c.Rows[i]
		p, u := r.Places(), r.UncertaintyPlaces()
		num := func(d *quantity.Decimal, places int) string {
			if d == nil {
				return ""
			}
			return d.Fixed(places)
		}
		row := []string{pr.Words().Subject(r.Subject()), num(r.Then, p), num(r.Now, p), num(r.Change, p), num(r.UncertaintyThen, u), num(r.UncertaintyNow, u), r.Error(), "", ""}
		if l := r.Tightest(); l != nil {
			p := r.LimitPlaces(l)
			row[7], row[8] = l.Limit.Fixed(p), l.Margin.Fixed(p)
		}
		if !r.NotCompared.IsZero() {
			row = append(row, "not compared: "+pr.says(r.NotCompared))
		}
		table = append(table, row)
	}
	aligned(pr.w, table)
}

// aligned prints rows of which the first cell stands left, the numbers right.
func aligned(w io.Writer, rows [][]string) {
	var wide []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], diag.DisplayWidth(cell))
		}
	}
	for _, row := range rows {
		var b strings.Builder
		for i, cell := range row {
			space := strings.Repeat(" ", wide[i]-diag.DisplayWidth(cell))
			switch {
			case i == 0:
				b.WriteString("  " + diag.Safe(cell) + space)
			case i < len(rows[0]):
				b.WriteString("  " + space + cell)
			default:
				b.WriteString("  " + diag.Safe(cell))
			}
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}
