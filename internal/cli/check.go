package cli

import (
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/issue"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// formats are what --format accepts.
type format string

func (f *format) flag(c *cobra.Command, formats ...string) {
	c.Flags().StringVar((*string)(f), "format", formats[0], "how to print: "+strings.Join(formats, ", "))
	c.PreRunE = func(*cobra.Command, []string) error {
		for _, known := range formats {
			if string(*f) == known {
				return nil
			}
		}
		return misuse("choose one of "+strings.Join(formats, ", "), "there is no format %q", string(*f))
	}
}

func (a *app) check() *cobra.Command {
	var how format
	var verbose, answers bool
	var rows int
	c := &cobra.Command{
		Use:   "check JOB",
		Short: "judge everything and print what is wrong and what is missing",
		Long: `Reads the whole job folder, judges every link, and prints problems, what became
of every row, the verdicts with the open ones first, and the questions. Nothing
is written. Exit code 3 when the input is refused, 4 when a link is not pass or
marginal.

With --answers it prints, instead, a block for job.yaml with an entry for each
question that has no answer yet. An answer stands beside its question on every
paper. It changes no number and no verdict: what is incomplete stays so until it
is measured, or until the job names what settles it.`,
		Example: `  spanseal check harbour-library
  spanseal check harbour-library -v              every problem, and what was told from the bytes
  spanseal check harbour-library --rows 5        and the first rows of each file beside what was read from them
  spanseal check harbour-library --answers       a draft of answers, to be pasted into job.yaml
  spanseal check harbour-library --format csv > results.csv`,
		Args:              takes(1, 1, "a job folder"),
		ValidArgsFunction: completeFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			var show intake.Options
			switch {
			case rows < 0:
				return misuse("give a number of rows, such as --rows 5", "--rows must be 0 or more")
			case rows > 0 && how != "text":
				return misuse("leave out --rows or --format", "--rows prints text only")
			case rows > 0:
				show.Show, show.AsRead = rows, func(as intake.AsRead) {
					a.asRead(a.out, a.onOut, &as)
					fmt.Fprintln(a.out)
				}
			}
			if answers && (how != "text" || rows > 0) {
				return misuse("leave out --rows or --format", "--answers prints a block for job.yaml only")
			}
			j, err := a.loadJobShowing(args[0], show)
			if err != nil {
				return err
			}
			set := j.papers()
			j.problems.Join(j.authority())
			if ahead := j.readAfter(a.sys.Now()); ahead.Errors() > 0 {
				j.problems.Join(ahead)
				j.judged = nil
			}
			if changed := j.evidence(filepath.Join(j.dir, "issued")); changed.Errors() > 0 {
				j.problems.Join(changed)
				j.judged = nil
			}
			if how == "json" {
				return a.checkJSON(j)
			}
			report := a.report
			if verbose {
				report = a.reportAll
			}
			if err := report(j.problems); err != nil {
				return err
			}
			if how == "text" && !answers {
				a.careless(j)
			}
			if answers {
				a.draftAnswers(j)
			} else if how == "csv" {
				table, err := set.ResultsCSV()
				if err != nil {
					return err
				}
				a.out.Write(table)
			} else {
				a.checkText(j, verbose)
			}
			a.statusOf(j.judged)
			return nil
		},
	}
	how.flag(c, "text", "json", "csv")
	c.Flags().BoolVarP(&verbose, "verbose", "v", false, "print every row with the same fault, limits of the whole job that are met, and what was told from the bytes of each file")
	c.Flags().BoolVar(&answers, "answers", false, "print a draft of answers to the questions that have none, for job.yaml")
	c.Flags().IntVar(&rows, "rows", 0, "show the first rows of each file as they were read, and what each column holds")
	return c
}

// careless says before anything is issued what issue says of the input: what
// others can take, read or see.
func (a *app) careless(j *job) {
	a.noteUnencrypted(j.facts.Job.Sign.TimestampURL)
	a.noteReadable("key file", j.key())
	if n, err := issue.Next(filepath.Join(j.dir, "issued")); err == nil && n == 1 && j.paysInJob() {
		a.discloses(j)
	}
}

// papers tries whether papers could be made of a judged job: characters that
// the typefaces lack, layouts that the job broke, names too long to be signed. Where there is a problem the
// judgement is dropped, as after any other.
func (j *job) papers() *certify.Set {
	if j.judged == nil {
		return nil
	}
	set, problems := j.set(form.Writer{}, certify.Options{})
	if set != nil {
		problems.Join(set.Rehearse())
	}
	if j.problems.Join(problems); problems.Errors() > 0 {
		j.judged = nil
	}
	return set
}

// statusOf sets the exit code of a judged job.
func (a *app) statusOf(judged *judge.Judgement) {
	if !judged.Conforms() {
		a.status = ExitOpen
	}
}

// checkJSON prints the form for programs, with the problems inside, and says
// in the exit code what the text form says.
func (a *app) checkJSON(j *job) error {
	out := struct {
		Format    string           `json:"format"`
		Job       string           `json:"job"`
		Conforms  bool             `json:"conforms"`
		Problems  json.RawMessage  `json:"problems"`
		Accounts  []record.Account `json:"accounts"`
		Judgement *judge.Judgement `json:"judgement"` // null where the input was refused
	}{Format: "spanseal-check/1", Judgement: j.judged}
	if j.facts != nil {
		out.Job, out.Accounts = j.facts.Job.Number, j.facts.Accounts
	}
	if j.judged != nil {
		out.Conforms = j.judged.Conforms()
	}
	problems, err := j.problems.JSON()
	if err != nil {
		return err
	}
	out.Problems = problems
	e := json.NewEncoder(a.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(out); err != nil {
		return err
	}
	if j.judged == nil {
		a.status = ExitRefused
	} else {
		a.statusOf(j.judged)
	}
	return nil
}

// checkText prints a judged job for a person: exceptions first.
func (a *app) checkText(j *job, verbose bool) {
	s := a.onOut
	job, counts := j.facts.Job, j.judged.Counts
	fmt.Fprintf(a.out, "%s  %s\n\n", s.strong(diag.Safe(job.Number)), diag.Safe(strings.Join(nonEmpty(job.Site.Name, job.Title), ", ")))

	const most = 40 // files that are listed, where a job has thousands
	accounts, wide := j.facts.Accounts, 0
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
	for _, acc := range accounts {
		fmt.Fprintf(a.out, "%s  %s: %s\n", pad(acc.File, wide), count(acc.Rows, "row"), became(acc))
		if verbose {
			for _, told := range acc.Concluded {
				fmt.Fprintf(a.out, "    %s\n", s.dim(diag.Safe(told)))
			}
		}
	}

	if n := len(j.facts.Accounts) - len(accounts); n > 0 {
		fmt.Fprintf(a.out, "and %s more: %s: %s (-v lists them)\n", count(n, "file"), count(rest.Rows, "row"), became(rest))
	}
	fmt.Fprintf(a.out, "\n%s scheduled, %d measured, %d to certify", count(counts.Scheduled, "link"), counts.Measured, counts.Certified)
	if counts.Marginal > 0 {
		fmt.Fprintf(a.out, " (%d marginal)", counts.Marginal)
	}
	fmt.Fprintf(a.out, ", %d failed, %d incomplete\n", counts.Failed, counts.Incomplete)
	if j.judged.Conforms() {
		fmt.Fprintf(a.out, "%s\n\n", s.good("CONFORMS"))
	} else {
		fmt.Fprintf(a.out, "%s\n\n", s.bad("DOES NOT CONFORM"))
	}

	a.wholeJob(j, verbose)
	a.verdicts(j, judge.Fail, judge.Incomplete, judge.Marginal, judge.Pass)
	a.questions(j)
	a.unconfirmed(j)
	a.next(j)
}

// unconfirmed names sets of which values known with low confidence were used and
// that nobody compared with the standard: the receiver will read so on the papers.
func (a *app) unconfirmed(j *job) {
	for _, s := range j.judged.Sets {
		if s.LowCount > 0 && s.Confirmed == "" {
			fmt.Fprintf(a.out, "\n%s: %s of low confidence used, and the papers will say so; compare with the standard, then\n  spanseal limits confirm %s %s\n",
				diag.Safe(s.ID), count(s.LowCount, "value"), argument(j.dir), argument(s.ID))
		}
	}
}

// wholeJob prints what is judged of the job as a whole: what stands in the way
// of conformity, and the limits that are met, which only a verbose person wants
// to see.
func (a *app) wholeJob(j *job, verbose bool) {
	var over []string // what the findings are about, in their order
	about := map[string][]string{}
	add := func(what, line string) {
		if about[what] == nil {
			over = append(over, what)
		}
		about[what] = append(about[what], line)
	}
	met := 0
	for i := range j.judged.Questions {
		f := &j.judged.Questions[i]
		verdict := a.onOut.verdict(f.Verdict, len("incomplete"))
		switch state := j.state(f); {
		case f.Kind != judge.KindLimit && f.Verdict.Certifiable(): // see questions
		case f.Verdict.Certifiable() && !verbose:
			met++
		case state == "":
			add("", verdict+"  "+a.asks(f))
		default:
			add(a.says(f.Question), verdict+"  "+state)
		}
	}
	if len(over) == 0 && met == 0 {
		return
	}
	fmt.Fprintf(a.out, "the job as a whole\n")
	for _, what := range over {
		if what != "" {
			fmt.Fprintf(a.out, "  %s\n", what)
		}
		for _, line := range about[what] {
			fmt.Fprintf(a.out, "  %s\n", line)
		}
	}
	switch {
	case met == 1:
		fmt.Fprintf(a.out, "  1 limit of the whole is met (-v shows it)\n")
	case met > 1:
		fmt.Fprintf(a.out, "  %d limits of the whole are met (-v lists them)\n", met)
	}
	fmt.Fprintln(a.out)
}

// openAsWhole counts what stands in the way of conformity though it is about no
// link of its own.
func (j *job) openAsWhole() int {
	n := 0
	for i := range j.judged.Questions {
		if !j.judged.Questions[i].Verdict.Certifiable() {
			n++
		}
	}
	return n
}

// verdicts lists the links with the verdicts, each in schedule order.
func (a *app) verdicts(j *job, verdicts ...judge.Verdict) {
	judged := j.judged
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
			lines := a.reasons(j, judged.Result(i))
			fmt.Fprintf(a.out, "  %s  %s  %s\n", pad(l.Link.ID, wide), a.onOut.verdict(v, len("incomplete")), lines[0])
			for _, line := range lines[1:] {
				fmt.Fprintf(a.out, "  %s  %*s  %s\n", pad("", wide), len("incomplete"), "", line)
			}
		}
	}
}

// reasons says why a link has its verdict: its open findings, or the smallest
// margin. What is merely marginal does not matter on a link that is open.
func (a *app) reasons(j *job, l *judge.LinkResult) []string {
	var lines []string
	for _, f := range l.Open() {
		if f.Verdict == judge.Marginal && l.Verdict != judge.Marginal {
			continue
		}
		line := j.state(&f)
		question := a.asks(&f)
		if line != "" && question != "" {
			line += "; "
		}
		if !repeats(lines, question) {
			line += question
		}
		lines = append(lines, strings.TrimSuffix(line, "; "))
	}
	if w := l.WorstFinding(); len(lines) == 0 && w != nil {
		lines = append(lines, j.state(w))
	}
	if n := len(l.Superseded); n > 0 && len(lines) > 0 {
		lines[0] += fmt.Sprintf(" (%s superseded)", count(n, "earlier reading"))
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
func (j *job) state(f *judge.Finding) string {
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return ""
	}
	places := quantity.PlacesToAgree(*f.Measured, *f.Limit)
	if f.Quantity != record.InsertionLoss && places == 2 {
		places = min(places, max(f.Measured.Places(), f.Limit.Places())) // no zeros that nobody wrote
	}
	short := f.Guard != nil && f.Margin.Less(*f.Guard)
	band, what := j.band(f)
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
		if own := j.facts.Job.Policy.Limits; len(own) != 1 || own[0] != w.SetID {
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
func (j *job) band(f *judge.Finding) (*quantity.Decimal, string) {
	own := j.facts.Job.Policy.Marginal
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

// questions prints what is asked without standing in the way of a certificate,
// about the job as a whole and about links, each question once.
func (a *app) questions(j *job) {
	judged := j.judged
	var texts []string
	about := map[string][]string{}
	for _, f := range judged.Questions {
		if f.Kind != judge.KindLimit && f.Verdict.Certifiable() {
			texts = append(texts, a.asks(&f))
		}
	}
	for _, l := range judged.Results() {
		for _, f := range l.Findings {
			if !isNote(&f) {
				continue
			}
			text, id := a.asks(&f), diag.Safe(l.Link.ID)
			if about[text] == nil {
				texts = append(texts, text)
			}
			if !slices.Contains(about[text], id) {
				about[text] = append(about[text], id)
			}
		}
	}
	if len(texts) == 0 {
		return
	}
	fmt.Fprintf(a.out, "\nquestions\n")
	for _, text := range texts {
		if links := about[text]; links != nil {
			text = some(links) + ": " + text
		}
		fmt.Fprintf(a.out, "  %s\n", text)
	}
	if asked, answered := judged.QuestionCounts(); asked > answered {
		fmt.Fprintf(a.out, "  %s, %d answered; to answer the rest in job.yaml:\n  %s check %s --answers\n", count(asked, "question"), answered, a.sys.Program, argument(j.dir))
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
func (a *app) next(j *job) {
	fmt.Fprintf(a.out, "\nnext\n")
	for i := range j.judged.Links {
		if l := &j.judged.Links[i]; !l.Verdict.Certifiable() {
			a.then(fmt.Sprintf("explain %s %s", argument(j.dir), argument(l.Link.ID)))
			break
		}
	}
	if _, err := os.Stat(j.key()); err != nil {
		signs, _ := j.facts.Job.Person(j.facts.Job.Sign.As)
		a.then(fmt.Sprintf("key new %s --name \"%s\"", argument(j.key()), diag.Safe(cmp.Or(signs.Name, "who signs"))))
	}
	a.then("issue " + argument(j.dir))
}

// then prints commands to run, as this program is run here.
func (a *app) then(commands ...string) {
	for _, c := range commands {
		fmt.Fprintf(a.out, "  %s %s\n", a.sys.Program, c)
	}
}

// argument quotes a word for a command line where it needs it, so that a hint
// can be typed as it stands, and a name with the marks of a shell runs nothing.
func argument(s string) string {
	if _, err := os.Lstat(s); err == nil && strings.HasPrefix(s, "-") {
		s = "." + string(filepath.Separator) + s // it would be taken for a flag
	}
	safe := diag.Safe(s)
	switch {
	case !strings.ContainsAny(s, " \t'\"$&|;<>()*?[]{}\\`!#~"):
		return safe
	case runtime.GOOS == "windows":
		return `"` + safe + `"` // a name cannot hold this mark there
	case strings.ContainsAny(s, "\"$\\`!"):
		return "'" + strings.ReplaceAll(safe, "'", `'\''`) + "'"
	}
	return `"` + safe + `"`
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

// count prints a number with a noun in its right form.
func count(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

// pad fills a text with spaces to a width in terminal cells.
func pad(s string, width int) string {
	s = diag.Safe(s)
	return s + strings.Repeat(" ", max(width-diag.DisplayWidth(s), 0))
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
