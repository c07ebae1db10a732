package report

import (
	"cmp"
	"fmt"
	"os"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/inspection"
	"spanseal/internal/judge"
	"spanseal/internal/load"
	"spanseal/internal/original"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/terminal"
)

// Detail is how much is printed of a job.
type Detail struct {
	All     bool // every link by itself, those that pass too
	Verbose bool // limits of the whole that are met, and what was told from the bytes of each file
}

// Check prints a judged job for a person: the verdict and what is open first,
// what became of the files, the counts and what to do next last, where the eye is
// when a long list has run through.
func (pr *Printer) Check(j *load.JudgedJob, d Detail) {
	s := pr.style
	job := j.Facts.Job
	verdict := s.Bad("DOES NOT CONFORM")
	if j.Judged.Conforms() {
		verdict = s.Good("CONFORMS")
	}
	fmt.Fprintf(pr.w, "%s  %s\n%s\n\n", s.Strong(diag.Safe(job.Number)), diag.Safe(strings.Join(nonEmpty(job.Site.Name, job.Title), ", ")), verdict)

	pr.wholeJob(j, d.Verbose)
	if d.All {
		pr.Verdicts(j, judge.Fail, judge.Incomplete, judge.Marginal, judge.Pass)
	} else {
		pr.folded(j, judge.Fail, judge.Incomplete, judge.Marginal)
		pr.passes(j)
	}
	pr.questions(j, d.All)
	pr.unconfirmed(j)
	pr.company(j)
	pr.files(j, d.Verbose)
	pr.counts(j)
	pr.next(j)
}

// company says which company file was read, and what the job took from it.
func (pr *Printer) company(j *load.JudgedJob) {
	c := j.Facts.Company
	if c == nil {
		return
	}
	took := "nothing is taken from it"
	if len(c.Took) > 0 {
		took = strings.Join(grouped(c.Took), ", ")
	}
	fmt.Fprintf(pr.w, "\ncompany file\n  %s  %s\n", diag.Safe(c.File), diag.Safe(took))
}

// grouped puts keys of one group together: judge (limits, reference).
func grouped(keys []string) (all []string) {
	at := map[string]int{}
	members := map[string][]string{}
	for _, key := range keys {
		group, member, nested := strings.Cut(key, ".")
		if _, known := at[group]; !known {
			at[group] = len(all)
			all = append(all, group)
		}
		if nested {
			members[group] = append(members[group], member)
		}
	}
	for group, m := range members {
		all[at[group]] += " (" + strings.Join(m, ", ") + ")"
	}
	return all
}

// files prints what became of the rows of each file.
func (pr *Printer) files(j *load.JudgedJob, verbose bool) {
	const most = 40 // files that are listed, where a job has thousands
	accounts, wide := j.Facts.Accounts, 0
	var rest record.Account // of all others together
	if !verbose && len(accounts) > most+1 {
		for _, acc := range accounts[most:] {
			rest.Rows, rest.Used, rest.Superseded = rest.Rows+acc.Rows, rest.Used+acc.Used, rest.Superseded+acc.Superseded
			rest.Refused, rest.Blank = rest.Refused+acc.Refused, rest.Blank+acc.Blank
		}
		accounts = accounts[:most]
	}
	for _, acc := range accounts {
		wide = max(wide, diag.DisplayWidth(acc.File))
	}
	if len(accounts) > 0 {
		fmt.Fprintf(pr.w, "\nfiles\n")
	}
	for _, acc := range accounts {
		fmt.Fprintf(pr.w, "  %s  %s: %s\n", terminal.Pad(acc.File, wide), diag.Plural(acc.Rows, "row"), became(acc))
		if verbose {
			for _, told := range acc.Concluded {
				fmt.Fprintf(pr.w, "      %s\n", pr.style.Dim(diag.Safe(told)))
			}
		}
	}
	if n := len(j.Facts.Accounts) - len(accounts); n > 0 {
		fmt.Fprintf(pr.w, "  and %s more: %s: %s (-v lists them)\n", diag.Plural(n, "file"), diag.Plural(rest.Rows, "row"), became(rest))
	}
}

// counts prints how many links are what.
func (pr *Printer) counts(j *load.JudgedJob) {
	counts := j.Judged.Counts
	fmt.Fprintf(pr.w, "\n%s scheduled, %d measured, %d to certify", diag.Plural(counts.Scheduled, "link"), counts.Measured, counts.Certified)
	if counts.Marginal > 0 {
		fmt.Fprintf(pr.w, " (%d marginal)", counts.Marginal)
	}
	fmt.Fprintf(pr.w, ", %d failed, %d incomplete\n", counts.Failed, counts.Incomplete)
}

// folded lists the links with the verdicts; those that have the same reasons share
// them.
func (pr *Printer) folded(j *load.JudgedJob, verdicts ...judge.Verdict) {
	type shared struct {
		links   []string
		verdict judge.Verdict
		lines   []string
	}
	var all []*shared
	wide := 4
	for _, v := range verdicts {
		of := map[string]*shared{}
		for i := range j.Judged.Links {
			l := &j.Judged.Links[i]
			if l.Verdict != v {
				continue
			}
			lines := pr.reasons(j, j.Judged.Result(i))
			key := strings.Join(lines, "\n")
			if of[key] == nil {
				of[key] = &shared{verdict: v, lines: lines}
				all = append(all, of[key])
				wide = max(wide, diag.DisplayWidth(l.Link.ID))
			}
			of[key].links = append(of[key].links, diag.Safe(l.Link.ID))
		}
	}
	for _, s := range all {
		fmt.Fprintf(pr.w, "  %s  %s  %s\n", terminal.Pad(s.links[0], wide), verdictWord(pr.style, s.verdict, len("incomplete")), s.lines[0])
		lines := s.lines[1:]
		if len(s.links) > 1 {
			lines = append(lines, fmt.Sprintf("(also %s)", some(s.links[1:])))
		}
		for _, line := range lines {
			fmt.Fprintf(pr.w, "  %s  %*s  %s\n", terminal.Pad("", wide), len("incomplete"), "", line)
		}
	}
}

// passes says how many links pass, and which of them is nearest to its limit.
func (pr *Printer) passes(j *load.JudgedJob) {
	n, nearest := 0, ""
	var least *quantity.Decimal
	for i := range j.Judged.Links {
		l := j.Judged.Result(i)
		if l.Verdict != judge.Pass {
			continue
		}
		n++
		if f := l.WorstFinding(); f != nil && f.Margin != nil && (least == nil || f.Margin.Less(*least)) {
			least, nearest = f.Margin, fmt.Sprintf("%s: %s", diag.Safe(l.Link.ID), state(j, f))
		}
	}
	switch {
	case n == 0:
		return
	case nearest == "":
		fmt.Fprintf(pr.w, "  %s (--all lists them)\n", passing(n))
	case n == 1:
		fmt.Fprintf(pr.w, "  %s, %s\n", passing(n), nearest)
	default:
		fmt.Fprintf(pr.w, "  %s (--all lists them); nearest to its limit is %s\n", passing(n), nearest)
	}
}

func passing(n int) string {
	if n == 1 {
		return "1 link passes"
	}
	return fmt.Sprintf("%d links pass", n)
}

// unconfirmed names sets of which values known with low confidence were used and
// that nobody compared with the standard: the receiver will read so on the papers.
func (pr *Printer) unconfirmed(j *load.JudgedJob) {
	for _, s := range j.Judged.Sets {
		if s.LowCount > 0 && s.Confirmed == "" {
			fmt.Fprintf(pr.w, "\n%s: %s of low confidence used, and the documents will say so; compare with the standard, then\n  spanseal limits confirm %s %s\n",
				diag.Safe(s.ID), diag.Plural(s.LowCount, "value"), terminal.Argument(j.Dir), terminal.Argument(s.ID))
		}
	}
}

// wholeJob prints what is judged of the job as a whole: what stands in the way
// of conformity, and the limits that are met, which only a verbose person wants
// to see.
func (pr *Printer) wholeJob(j *load.JudgedJob, verbose bool) {
	var over []string // what the findings are about, in their order
	about := map[string][]string{}
	add := func(what, line string) {
		if about[what] == nil {
			over = append(over, what)
		}
		about[what] = append(about[what], line)
	}
	met := 0
	for i := range j.Judged.Questions {
		f := &j.Judged.Questions[i]
		verdict := verdictWord(pr.style, f.Verdict, len("incomplete"))
		switch state := state(j, f); {
		case f.Kind != judge.KindLimit && f.Verdict.Certifiable(): // see questions
		case f.Verdict.Certifiable() && !verbose:
			met++
		case state == "":
			add("", verdict+"  "+pr.asks(f))
		default:
			add(pr.says(f.Question), verdict+"  "+state)
		}
	}
	if len(over) == 0 && met == 0 {
		return
	}
	fmt.Fprintf(pr.w, "the job as a whole\n")
	for _, what := range over {
		if what != "" {
			fmt.Fprintf(pr.w, "  %s\n", what)
		}
		for _, line := range about[what] {
			fmt.Fprintf(pr.w, "  %s\n", line)
		}
	}
	switch {
	case met == 1:
		fmt.Fprintf(pr.w, "  1 limit of the whole is met (-v shows it)\n")
	case met > 1:
		fmt.Fprintf(pr.w, "  %d limits of the whole are met (-v lists them)\n", met)
	}
	fmt.Fprintln(pr.w)
}

// Verdicts lists the links with the verdicts, each in schedule order.
func (pr *Printer) Verdicts(j *load.JudgedJob, verdicts ...judge.Verdict) {
	judged := j.Judged
	wide := 4
	for _, l := range judged.Links {
		wide = max(wide, diag.DisplayWidth(l.Link.ID))
	}
	for _, v := range verdicts {
		for i := range judged.Links {
			l := &judged.Links[i]
			if l.Verdict != v {
				continue
			}
			lines := pr.reasons(j, judged.Result(i))
			fmt.Fprintf(pr.w, "  %s  %s  %s\n", terminal.Pad(l.Link.ID, wide), verdictWord(pr.style, v, len("incomplete")), lines[0])
			for _, line := range lines[1:] {
				fmt.Fprintf(pr.w, "  %s  %*s  %s\n", terminal.Pad("", wide), len("incomplete"), "", line)
			}
		}
	}
}

// reasons says why a link has its verdict: its open findings, or the smallest
// margin. What is merely marginal does not matter on a link that is open.
func (pr *Printer) reasons(j *load.JudgedJob, l *judge.LinkResult) []string {
	var lines []string
	for _, f := range l.Open() {
		if f.Verdict == judge.Marginal && l.Verdict != judge.Marginal {
			continue
		}
		line := state(j, &f)
		question := pr.asks(&f)
		if line != "" && question != "" {
			line += "; "
		}
		if !repeats(lines, question) {
			line += question
		}
		lines = append(lines, strings.TrimSuffix(line, "; "))
	}
	if w := l.WorstFinding(); len(lines) == 0 && w != nil {
		lines = append(lines, state(j, w))
	}
	if n := len(l.Superseded); n > 0 && len(lines) > 0 {
		lines[0] += fmt.Sprintf(" (%s superseded)", diag.Plural(n, "earlier reading"))
	}
	if len(lines) == 0 {
		lines = []string{""}
	}
	return lines
}

// repeats reports whether a sentence stands in one of the lines already.
func repeats(lines []string, sentence string) bool {
	if sentence == "" {
		return true
	}
	for _, l := range lines {
		if strings.HasSuffix(l, sentence) {
			return true
		}
	}
	return false
}

// state prints measured, limit and margin of a finding, or "" where no number
// was judged; and whose limit it is, where that is not plain.
func state(j *load.JudgedJob, f *judge.Finding) string {
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return ""
	}
	places := quantity.PlacesToAgree(*f.Measured, *f.Limit)
	if f.Quantity != record.InsertionLoss && places == 2 {
		places = min(places, max(f.Measured.Places(), f.Limit.Places())) // no zeros that nobody wrote
	}
	short := f.Guard != nil && f.Margin.Less(*f.Guard)
	band, what := band(j, f)
	switch {
	case short:
		places = max(places, quantity.PlacesToAgree(*f.Margin, *f.Guard))
	case band != nil:
		places = max(places, quantity.PlacesToTell(*f.Margin, *band))
	}
	allowed, by := "at most", ""
	if w := f.Working; w != nil {
		if w.Bound == "at_least" || w.Lower != nil && f.Limit.Equal(*w.Lower) {
			allowed = "at least"
		}
		if own := j.Facts.Job.Policy.Limits; len(own) != 1 || own[0] != w.SetID {
			by = " (" + w.SetID + ")"
		}
	}
	measured := amount(*f.Measured, places, f.Unit)
	if shown := f.Shown(); shown != "" { // the number only stands for it
		return fmt.Sprintf("%s %s, %s %s%s", subject(f), diag.Safe(shown), allowed, amount(*f.Limit, places, f.Unit), by)
	}
	text := fmt.Sprintf("%s %s, %s %s%s, ", subject(f), measured, allowed, amount(*f.Limit, places, f.Unit), by)
	if f.Margin.Sign() < 0 {
		return text + "out by " + amount(f.Margin.Neg(), places, f.Unit)
	}
	text += "margin " + amount(*f.Margin, places, f.Unit)
	switch {
	case short:
		text += fmt.Sprintf(", short of the guard %s by %s", amount(*f.Guard, places, f.Unit), amount(f.Guard.Sub(*f.Margin), places, f.Unit))
	case band != nil:
		text += ", less than " + what + " " + amount(*band, places, f.Unit)
	}
	return text
}

// band is what the margin of a marginal finding is less than, and its name: the
// job's own band, or else the uncertainty.
func band(j *load.JudgedJob, f *judge.Finding) (*quantity.Decimal, string) {
	own := j.Facts.Job.Policy.Marginal
	switch {
	case f.Verdict != judge.Marginal:
		return nil, ""
	case own != nil && f.Margin.Less(*own):
		return own, "the band"
	}
	return f.Uncertainty, "U"
}

// quantityWords names what was measured.
var quantityWords = map[record.Quantity]string{
	record.InsertionLoss:     "loss",
	record.TwoWayAverage:     "two-way average",
	record.Reflectance:       "reflectance",
	record.ReturnLoss:        "return loss",
	record.OpticalReturnLoss: "optical return loss",
	record.Length:            "length",
	record.SpliceLoss:        "splice loss",
	record.SplicerEstimate:   "splicer's estimate",
	record.GroupMean:         "mean of the group",
	record.GroupPercentile:   "percentile of the group",
}

// Quantity names what was measured, in lower case.
func Quantity(q record.Quantity) string { return quantityWords[q] }

// subject says what a finding is about, such as "1550 nm A-B loss".
func subject(f *judge.Finding) string {
	var parts []string
	if f.WavelengthNM > 0 {
		parts = append(parts, fmt.Sprintf("%d nm", f.WavelengthNM))
	}
	if f.Direction != record.NoWay && f.Direction != record.TwoWay {
		parts = append(parts, string(f.Direction))
	}
	if f.End != "" {
		parts = append(parts, "end "+f.End)
	}
	if f.Event != "" {
		parts = append(parts, diag.Safe(f.Event))
	}
	what := quantityWords[f.Quantity]
	if w := f.Working; w != nil && w.Percentile != nil {
		what = "percentile " + w.Percentile.Short() + " of the group"
	}
	return strings.Join(append(parts, what), " ")
}

// amount prints a number with its unit.
func amount(d quantity.Decimal, places int, u quantity.Unit) string {
	return strings.TrimSpace(d.Fixed(places) + " " + string(u))
}

// fewAsked is how many questions of one kind are printed unless all are wanted.
const fewAsked = 3

// questions prints what is asked without standing in the way of a certificate, first
// of the job and then of links. Links of which the same is asked share a line, and of
// many lines that differ in their numbers alone the first few are printed.
func (pr *Printer) questions(j *load.JudgedJob, all bool) {
	type line struct {
		code, text string
		links      []string // none: of the job as a whole
	}
	judged := j.Judged
	var lines []*line
	at := map[string]*line{}
	for _, f := range judged.Questions {
		if f.Kind != judge.KindLimit && f.Verdict.Certifiable() {
			lines = append(lines, &line{text: pr.asks(&f)})
		}
	}
	of := map[string]int{} // lines, by the code of their question
	for _, l := range judged.Results() {
		for _, f := range l.Findings {
			if !isNote(&f) {
				continue
			}
			text, id := pr.asks(&f), diag.Safe(l.Link.ID)
			one := at[text]
			if one == nil {
				one = &line{code: f.Question.Code, text: text}
				at[text], lines = one, append(lines, one)
				of[one.code]++
			}
			if !slices.Contains(one.links, id) {
				one.links = append(one.links, id)
			}
		}
	}
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(pr.w, "\nquestions\n")
	seen := map[string]int{} // lines, by code
	for _, one := range lines {
		seen[one.code]++
		if n := of[one.code]; !all && n > fewAsked+1 && seen[one.code] > fewAsked { // none is of the job as a whole
			if seen[one.code] == n {
				fmt.Fprintf(pr.w, "  %d more questions like these (--all lists them)\n", n-fewAsked)
			}
			continue
		}
		text := one.text
		if one.links != nil {
			text = some(one.links) + ": " + text
		}
		fmt.Fprintf(pr.w, "  %s\n", text)
	}
	if asked, answered := judged.QuestionCounts(); asked > answered {
		fmt.Fprintf(pr.w, "  %s, %d answered; to answer the rest in job.yaml:\n  %s check %s --answers\n", diag.Plural(asked, "question"), answered, pr.program, terminal.Argument(j.Dir))
	}
}

// isNote reports whether a finding asks something without standing in the way
// of a certificate.
func isNote(f *judge.Finding) bool {
	return f.Kind != judge.KindLimit && !f.Question.IsZero() && f.Verdict.Certifiable()
}

// some lists names, and counts those behind the first few.
func some(names []string) string {
	const most = 4
	if len(names) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:most-1], ", "), len(names)-most+1)
	}
	return strings.Join(names, ", ")
}

// next says what to do now.
func (pr *Printer) next(j *load.JudgedJob) {
	fmt.Fprintf(pr.w, "\nnext\n")
	if worst := mostSerious(j); worst != "" {
		pr.Then(fmt.Sprintf("explain %s %s", terminal.Argument(j.Dir), terminal.Argument(worst)))
	}
	for _, in := range settledIn {
		if asksOpenly(j, in.question) {
			fmt.Fprintf(pr.w, "  %s settles that: %s\n", in.file, in.columns)
		}
	}
	if _, err := os.Stat(j.Key()); err != nil {
		signs, _ := j.Facts.Job.Person(j.Facts.Job.Sign.As)
		pr.Then(fmt.Sprintf("key new %s --name \"%s\"", terminal.Argument(j.Key()), diag.Safe(cmp.Or(signs.Name, "who signs"))))
	}
	then := "issue " + terminal.Argument(j.Dir)
	if c := j.Judged.Counts; c.Certified > 0 && c.Certified == c.Measured && c.Measured < c.Scheduled {
		then += " --partial  # the rest follows"
	}
	pr.Then(then)
}

// settledIn are the optional files that settle a question, and their columns.
var settledIn = []struct{ question, file, columns string }{
	{"inspection", inspection.File, strings.Join(slices.Concat(inspection.Required, inspection.Optional), ",")},
	{"original", original.File, strings.Join(slices.Concat(original.Required, original.Optional), ",") + "; or a pattern under originals in job.yaml"},
}

// asksOpenly reports whether a question keeps some link from a certificate.
func asksOpenly(j *load.JudgedJob, question string) bool {
	for _, l := range j.Judged.Results() {
		for i := range l.Findings {
			if f := &l.Findings[i]; !f.Verdict.Certifiable() && statement.Question(f.Question.Code) == question {
				return true
			}
		}
	}
	return false
}

// mostSerious is the link to look at first: the one that fails by most, or else the
// first that is incomplete though it was measured, or else the first that is open.
func mostSerious(j *load.JudgedJob) (id string) {
	var out *quantity.Decimal
	rank := 0
	for i := range j.Judged.Links {
		l := j.Judged.Result(i)
		worst, at := l.WorstFinding(), 0
		switch {
		case l.Verdict == judge.Fail:
			at = 3
		case l.Verdict == judge.Incomplete && len(l.Readings) > 0:
			at = 2
		case l.Verdict == judge.Incomplete:
			at = 1
		}
		further := at == 3 && rank == 3 && worst != nil && worst.Margin != nil && (out == nil || worst.Margin.Less(*out))
		if at > rank || further {
			id, rank, out = l.Link.ID, at, nil
			if worst != nil {
				out = worst.Margin
			}
		}
	}
	return id
}

// Then prints commands to run, as this program is run here.
func (pr *Printer) Then(commands ...string) {
	for _, c := range commands {
		fmt.Fprintf(pr.w, "  %s %s\n", pr.program, c)
	}
}

// became prints what the rows of a file became.
func became(acc record.Account) string {
	parts := []string{fmt.Sprintf("%d used", acc.Used)}
	for _, p := range []struct {
		n    int
		what string
	}{{acc.Superseded, "superseded"}, {acc.Refused, "refused"}, {acc.Blank, "without a reading"}} {
		if p.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", p.n, p.what))
		}
	}
	return strings.Join(parts, ", ")
}

// verdictWord prints a verdict's word, in capitals where it is not a pass.
func verdictWord(s terminal.Style, v judge.Verdict, width int) string {
	word := v.String()
	pad := strings.Repeat(" ", max(width-len(word), 0))
	switch v {
	case judge.Pass:
		return s.Good(word) + pad
	case judge.Marginal:
		return s.Asked(strings.ToUpper(word)) + pad
	}
	return s.Bad(strings.ToUpper(word)) + pad
}

func nonEmpty(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}
