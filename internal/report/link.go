package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/load"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// lengths prints the length of a link as scheduled, by which its limits are
// worked out, and as measured where it was.
func lengths(l *judge.LinkResult) string {
	text := l.Link.Length.Short() + " m"
	var measured []string
	for _, r := range l.Readings {
		if m := r.Value.Short() + " m"; r.Quantity == record.Length && !slices.Contains(measured, m) {
			measured = append(measured, m)
		}
	}
	if len(measured) > 0 {
		text += " scheduled (" + strings.Join(measured, ", ") + " measured)"
	}
	return text
}

// Link explains every finding of one link: its working, its readings and its sources.
func (pr *Printer) Link(j *load.JudgedJob, l *judge.LinkResult) {
	s, link := pr.style, l.Link
	fmt.Fprintf(pr.w, "%s  %s\n", s.Strong(diag.Safe(link.ID)), verdictWord(s, l.Verdict, 0))
	fmt.Fprintf(pr.w, "  %s to %s\n", diag.Safe(link.From), diag.Safe(link.To))
	fmt.Fprintf(pr.w, "  %s, %s, %s, %s", diag.Safe(link.Fibre), lengths(l),
		diag.Plural(link.MatedPairs, "mated pair"), diag.Plural(link.AllSplices(), "splice"))
	if n := link.SplicedEnds(); n > 0 {
		fmt.Fprintf(pr.w, " (%d at spliced-on ends)", n)
	}
	fmt.Fprintln(pr.w)
	for i := range l.Findings {
		pr.explainFinding(j, &l.Findings[i])
	}
	for _, r := range l.Superseded {
		fmt.Fprintf(pr.w, "\nsuperseded  %s %s %s %s\n    %s\n", r.Subject(), quantityWords[r.Quantity],
			r.Value.String(), r.Quantity.Unit(), provenance(j, r))
	}
	for _, r := range l.Stages {
		fmt.Fprintf(pr.w, "\nother stage  %s %s %s %s\n    %s\n", r.Subject(), quantityWords[r.Quantity],
			r.Value.String(), r.Quantity.Unit(), provenance(j, r))
	}
	if len(l.Carries) > 0 {
		pr.carries(l.Carries)
	}
	pr.list("try first", l.Findings, pr.tries)
	pr.list("sources of the limits", l.Findings, clauses)
	pr.list("limit sets", l.Findings, limitSet)
	pr.list("measured with", l.Findings, func(f *judge.Finding) []string { return instruments(j, f) })
}

// list prints what findings have to say under one title, each line once.
func (pr *Printer) list(title string, findings []judge.Finding, say func(*judge.Finding) []string) {
	seen := map[string]bool{}
	for i := range findings {
		for _, line := range say(&findings[i]) {
			if seen[line] {
				continue
			}
			if len(seen) == 0 {
				fmt.Fprintf(pr.w, "\n%s\n", title)
			}
			seen[line] = true
			fmt.Fprintf(pr.w, "    %s\n", diag.Safe(line))
		}
	}
}

func (pr *Printer) explainFinding(j *load.JudgedJob, f *judge.Finding) {
	s := pr.style
	title := state(j, f)
	if title == "" {
		title = pr.says(f.Question)
	}
	if title == "" {
		title = strings.TrimSpace(strings.ReplaceAll(f.Code, "-", " ") + " " + subject(f))
	}
	label := verdictWord(s, f.Verdict, 0)
	if isNote(f) {
		label = s.Asked("question")
	}
	fmt.Fprintf(pr.w, "\n%s  %s\n", label, title)
	line := func(format string, args ...any) { fmt.Fprintf(pr.w, "    "+format+"\n", args...) }
	if question := pr.says(f.Question); question != "" && question != title {
		line("%s", question)
	}
	if answer := pr.says(f.Said()); answer != "" {
		line("%s", answer)
	}
	if w := f.Working; w != nil {
		line("%s", working(w, f.Unit))
		if w.PairsPresent > 0 && w.PairsCounted != w.PairsPresent {
			line("%d of %s inside a %s measurement", w.PairsCounted, diag.Plural(w.PairsPresent, "mated pair"), judgedBy(j, f).Reference)
		}
	}
	if f.Uncertainty != nil {
		text := "expanded uncertainty " + amount(*f.Uncertainty, f.Uncertainty.Places(), f.Unit) + " (k = 2)"
		if f.Probability >= 0 {
			text += ", probability of conformity " + probability(f.Probability)
		}
		line("%s", text)
	}
	if f.Guard != nil {
		u := amount(*f.Uncertainty, f.Uncertainty.Places(), f.Unit)
		line("guarded acceptance: the margin must reach w = %s × %s = %s", j.Facts.Job.Policy.GuardFactor.Short(), u, amount(*f.Guard, f.Guard.Places(), f.Unit))
	}
	switch {
	case f.Direction == record.TwoWay && len(f.Readings) == 2:
		line("(%s) / 2", sum(f.Readings[0].Value, f.Readings[1].Value))
		if f.Quantity == record.SpliceLoss { // no finding of their own tells of the two ways
			for _, r := range f.Readings {
				line("%s %s", r.Direction, provenance(j, r))
			}
		}
	case f.Kind == judge.KindEvidence:
		var rows []string
		for _, r := range f.Readings {
			rows = append(rows, diag.Safe(r.Origin.Where()))
		}
		if len(rows) > 0 {
			line("see %s", strings.Join(slices.Compact(rows), ", "))
		}
	default:
		for _, r := range f.Readings {
			line("%s", provenance(j, r))
		}
	}
}

// sum prints two values of one two-way average; one way through a splice may be
// an apparent gain.
func sum(ab, ba quantity.Decimal) string {
	sign := "+"
	if ba.Sign() < 0 {
		sign = "−"
	}
	return fmt.Sprintf("%s dB %s %s dB", ab, sign, ba.Abs())
}

// termWords names the parts of a working.
var termWords = map[string][2]string{
	"mated_pair":     {"mated pair", "mated pairs"},
	"end_connection": {"end connection", "end connections"},
	"splice":         {"splice", "splices"},
}

// working prints how a limit came about, such as
// "0.4 dB/km × 0.312 km + 0.75 dB × 2 mated pairs + 0.3 dB × 2 splices = 2.2248 dB",
// or of a power budget "3 dBm − (−32 dBm) − 0 = 35 dB".
func working(w *judge.Working, u quantity.Unit) string {
	sum := ""
	for i, t := range w.Terms {
		part := strings.TrimSpace(t.Rate.Short() + " " + string(t.RateUnit))
		amount := t.Amount.Short()
		words, counted := termWords[t.Label]
		if ratio, of := strings.CutPrefix(t.Label, "splitter_"); of {
			words, counted = [2]string{"splitter 1:" + ratio, "splitters 1:" + ratio}, true
		}
		switch {
		case t.TakenOff():
			sum += " − " + bracketed(&t, part)
			continue
		case counted && amount == "1":
			part += " × 1 " + words[0]
		case counted:
			part += " × " + amount + " " + words[1]
		case t.AmountUnit != quantity.One:
			part += " × " + amount + " " + string(t.AmountUnit)
		case amount != "1":
			part += " × " + amount
		}
		if i > 0 {
			sum += " + "
		}
		sum += part
	}
	total := strings.TrimSpace(w.Limit.Short() + " " + string(u))
	if sum == "" || sum == total {
		sum = "the limit is " + total
	} else {
		sum += " = " + total
	}
	if w.Lower != nil {
		sum += fmt.Sprintf(", and at least %s %s", w.Lower.Short(), u)
	}
	return sum
}

// bracketed is a rate that is taken off: in brackets if it is below nothing, and
// without its unit if it is nothing.
func bracketed(t *judge.WorkedTerm, rate string) string {
	switch t.Rate.Sign() {
	case -1:
		return "(" + strings.Replace(rate, "-", "−", 1) + ")"
	case 0:
		return "0"
	}
	return rate
}

// clauses says where the values of a finding's limit stand and how they came
// here.
func clauses(f *judge.Finding) (lines []string) {
	if f.Working == nil {
		return nil
	}
	for i := range f.Working.Terms {
		t := &f.Working.Terms[i]
		text := strings.ReplaceAll(strings.Replace(t.Label, "splitter_", "splitter 1:", 1), "_", " ") + " " + strings.TrimSpace(t.Rate.Short()+" "+string(t.RateUnit)) + ": " + f.Working.From(t).Standard
		if t.Clause != "" {
			text += ", " + t.Clause
		}
		text += ", " + t.Provenance
		if t.Low {
			text += ", of low confidence: confirm against the standard"
		}
		if t.Source != "" {
			text += " (" + t.Source + ")"
		}
		lines = append(lines, text)
	}
	return lines
}

// limitSet names the files that a finding's limit is from: that of the set that
// binds, then those of the sets that it takes figures over from.
func limitSet(f *judge.Finding) (lines []string) {
	w := f.Working
	if w == nil {
		return nil
	}
	for _, s := range w.Origins() {
		lines = append(lines, fmt.Sprintf("%s: %s (%s), file SHA-256 %s", s.SetID, s.Standard, s.Edition, s.SHA256))
	}
	return lines
}

// judgedBy is how the readings of a finding were made.
func judgedBy(j *load.JudgedJob, f *judge.Finding) record.Method {
	if len(f.Readings) > 0 {
		return j.Facts.Job.Policy.MethodOf(&f.Readings[0])
	}
	return j.Facts.Job.Policy.Method()
}

// made says how a reading was made, where that is not as the job has it.
func made(r *record.Reading) (text string) {
	m := r.Method
	if m == nil {
		return ""
	}
	for _, part := range [][2]string{{string(m.Reference), " reference"}, {string(m.TestCords), " test cords"}, {m.Launch, ""}} {
		if part[0] != "" {
			text += ", " + part[0] + part[1]
		}
	}
	if m.GroupIndex != nil {
		text += ", group index " + m.GroupIndex.String()
	}
	if m.Software != "" {
		text += ", software " + m.Software
	}
	if m.Stage != "" {
		text += ", stage " + string(m.Stage)
	}
	return text
}

// instruments describes those that a finding's readings were taken with.
func instruments(j *load.JudgedJob, f *judge.Finding) (lines []string) {
	for _, r := range f.Readings {
		for _, id := range nonEmpty(r.Source, r.Instrument) {
			i, ok := j.Facts.Job.Instrument(id)
			if !ok {
				lines = append(lines, id+": not on the job's list")
				continue
			}
			text := fmt.Sprintf("%s: %s, serial %s", i.ID, i.Kind, i.Serial)
			if !i.Calibrated.IsZero() {
				text += fmt.Sprintf(", calibrated %s, due %s", i.Calibrated, i.Due)
			}
			lines = append(lines, text)
		}
	}
	return lines
}

// provenance prints where a reading was read, with what, by whom and when.
func provenance(j *load.JudgedJob, r record.Reading) string {
	text := "read at " + r.Origin.Where()
	if r.Reference != nil && r.Received != nil {
		text += fmt.Sprintf(": reference %s dBm, received %s dBm", r.Reference, r.Received)
	}
	for _, id := range nonEmpty(r.Source, r.Instrument) {
		text += ", " + id
	}
	text += made(&r)
	if p, ok := j.Facts.Job.Person(r.Person); ok {
		text += ", " + p.Name
	} else if r.Person != "" {
		text += ", " + r.Person
	}
	if !r.Time.IsZero() {
		text += ", " + record.Moment(r.Time)
	}
	if !r.ReferenceTime.IsZero() {
		text += ", reference taken " + record.Moment(r.ReferenceTime)
	}
	if r.Alias != "" {
		text += ", there called " + r.Alias
	}
	return diag.Safe(text)
}

// probability prints a probability without claiming certainty.
func probability(p float64) string {
	switch {
	case p > 0.999:
		return "> 0.999"
	case p < 0.001:
		return "< 0.001"
	}
	return fmt.Sprintf("%.3f", math.Floor(p*1000)/1000) // never more certain than it is
}

func (pr *Printer) carries(all []judge.Carries) {
	var within, loss []string
	fmt.Fprintln(pr.w)
	for _, c := range all {
		switch {
		case c.Open():
			fmt.Fprintf(pr.w, "%s  %s is required, and it is not shown yet that the link carries it\n", pr.style.Bad("open"), diag.Safe(c.Title))
		case c.Required && !c.Within:
			fmt.Fprintf(pr.w, "%s  %s is required and is out of its limits\n", pr.style.Bad("carries not"), diag.Safe(c.Title))
		case c.Within && c.LengthJudged:
			within = append(within, diag.Safe(c.Title))
		case c.Within:
			loss = append(loss, diag.Safe(c.Title))
		}
	}
	if len(within) > 0 {
		fmt.Fprintf(pr.w, "meets the length and loss limits of %s\n", strings.Join(within, "; "))
	}
	if len(loss) > 0 {
		fmt.Fprintf(pr.w, "meets the loss limits of %s; length is not judged\n", strings.Join(loss, "; "))
	}
}
