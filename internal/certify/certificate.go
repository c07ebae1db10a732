package certify

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// sheet is the paper of one link while it is drawn: certificate or
// nonconformance sheet.
type sheet struct {
	*Set
	l      *judge.LinkResult
	title  string
	rail   *rail
	losses []judge.Finding
	places int // of all losses on this paper
}

// Certificate returns the certificate of a link. It refuses a link that is not
// certifiable: there is no way to print a certificate for a failed link.
func (s *Set) Certificate(l *judge.LinkResult) (*Document, error) {
	if !l.Verdict.Certifiable() {
		return nil, fmt.Errorf("link %s is %s: only a link that is pass or marginal gets a certificate", l.Link.ID, l.Verdict)
	}
	return s.paperOf(l, s.words.say("certificate.title"), s.look.certificate)
}

// Nonconformance returns the sheet of a link that fails or is incomplete. It
// refuses any other.
func (s *Set) Nonconformance(l *judge.LinkResult) (*Document, error) {
	if l.Verdict.Certifiable() {
		return nil, fmt.Errorf("link %s is %s: it gets a certificate, not a nonconformance sheet", l.Link.ID, l.Verdict)
	}
	return s.paperOf(l, s.words.say("nonconformance.title"), s.look.nonconformance)
}

func (s *Set) paperOf(l *judge.LinkResult, title string, sections []string) (*Document, error) {
	recordJSON, err := encode(s.Record(l))
	if err != nil {
		return nil, err
	}
	one, err := s.sealed(l, recordJSON)
	if err != nil {
		return nil, err
	}
	sh := &sheet{Set: s, l: l, title: title, losses: lossFindings(l)}
	sh.places = placesOf(sh.losses)
	sh.rail = sh.newRail(one.symbol.modules())
	d := s.document(s.PathOf(l), title+" "+s.CertificateNumber(l.Link.ID), func(f *flow) error { return sh.compose(f, sections) })
	d.Token, d.Attachments = one.token, s.attachments(l, recordJSON, one.token)
	return d, nil
}

// newRail gathers what stands in the rail.
func (sh *sheet) newRail(symbol [][]bool) *rail {
	w, job, l := sh.words, &sh.Facts.Job, sh.l
	r := &rail{
		treatment: treat(l.Verdict),
		word:      w.say("verdict." + l.Verdict.String()),
		name:      field{w.say("rail.link"), l.Link.ID},
		symbol:    symbol,
		under:     w.say("rail.scan"),
		key:       sh.key(),
	}
	if f := l.WorstFinding(); f != nil && f.Margin != nil && l.Verdict != judge.Incomplete {
		caption, margin := w.say("rail.margin"), *f.Margin
		if margin.Sign() < 0 {
			caption, margin = w.say("rail.over"), margin.Neg()
		} else if short, ok := shortOfGuard(*f); ok && l.Verdict == judge.Fail {
			caption, margin = w.say("rail.short"), short
		}
		r.below = []field{{caption, w.fixed(margin, places(*f)) + " dB"}}
	} else {
		r.below = []field{{"", w.count("rail.open", len(l.Open()))}}
	}
	revision := w.whole(sh.Revision)
	if sh.Revision > 1 {
		revision = w.say("rail.replaces", "n", revision, "before", w.whole(sh.Revision-1))
	}
	number := w.say("rail.certificate")
	if !l.Verdict.Certifiable() {
		number = w.say("rail.sheet")
	}
	r.fields = []field{
		{number, sh.CertificateNumber(l.Link.ID)},
		{w.say("rail.revision"), revision},
		{w.say("rail.measured"), sh.measured(l.Readings)},
		{w.say("rail.issued"), w.day(sh.issuedOn())},
		{w.say("rail.job"), joinComma(job.Site.Name, job.Title)},
		{w.say("rail.customer"), job.Customer.Name},
		{w.say("rail.order"), strings.Join(unique(job.Customer.Order, job.Invoice), " · ")},
		{w.say("rail.warranty"), sh.warranty()},
	}
	return r
}

// measured is the day or days of the readings, "" where none has a time.
func (s *Set) measured(readings []record.Reading) string {
	first, last := s.measuredOn(readings)
	if first.IsZero() {
		return ""
	}
	return s.words.days(first, last)
}

// warranty is the last day of the warranty, where the job states a term and a
// day of completion.
func (s *Set) warranty() string {
	job := &s.Facts.Job
	if job.WarrantyMonths == 0 || job.Completed.IsZero() {
		return ""
	}
	return s.words.say("rail.until", "day", s.words.day(job.Completed.AddMonths(job.WarrantyMonths)))
}

// key is the short name of the signing key.
func (s *Set) key() string {
	if s.Signer.KeyID == "" || s.Specimen {
		return ""
	}
	return s.words.say("rail.key", "id", s.Signer.KeyID)
}

func joinComma(texts ...string) string { return strings.Join(unique(texts...), ", ") }

// letterhead is the contractor, over the title.
func (s *Set) letterhead(f *flow) {
	c := s.Facts.Job.Contractor
	licence := ""
	if c.Licence != "" {
		licence = s.words.say("letterhead.licence", "n", c.Licence)
	}
	text := strings.Join(unique(c.Name, strings.Join(strings.Fields(c.Address), " "), licence), " · ")
	width := f.w
	if f.logo != nil {
		width -= f.logoWidth + 4
		// A picture that could not be drawn was refused with the style.
		_ = f.Picture(f.x+f.w-f.logoWidth, max(f.y+f.grid-f.logoHeight, 2), f.logoWidth, f.logoHeight, f.logo)
	}
	for _, line := range f.wrap(f.caption, width, text) {
		f.put(f.x, f.base(), f.caption, line)
		f.lines(1)
	}
}

// head is the letterhead, the title and the first sentence.
func (s *Set) head(f *flow, title, lead string) {
	s.letterhead(f)
	f.lines(0.5)
	style := f.shrink(f.title, 14, f.w, title)
	f.put(f.x, f.y+1.5*f.grid, style, title)
	f.lines(2.5)
	f.paragraph(f.lead, 1, lead)
	f.lines(f.gap)
	f.Bookmark(title, 0)
}

// again is the head of later pages.
func (s *Set) again(title string) func(f *flow) {
	return func(f *flow) {
		s.letterhead(f)
		f.lines(0.25)
		lines := f.wrap(f.strong, f.w, title)
		for _, line := range lines {
			f.put(f.x, f.base(), f.strong, line)
			f.lines(1)
		}
		end := f.x + f.Width(f.strong, lines[len(lines)-1]) + 3
		if f.part != "" && end+f.Width(f.caption, f.part) <= f.x+f.w {
			f.put(end, f.base()-f.grid, f.caption, f.part)
		}
		f.lines(0.5)
	}
}

func (sh *sheet) compose(f *flow, sections []string) error {
	f.rails = sh.rail.draw
	f.heading = sh.again(sh.words.say("document.continued", "title", sh.title+" "+sh.CertificateNumber(sh.l.Link.ID)))
	f.start()
	sh.head(f, sh.title, sh.lead())
	draw := map[string]func(*flow){
		"link": sh.link, "ladder": sh.ladder, "readings": sh.readings, "terminations": sh.terminations, "reflectance": sh.reflectance,
		"method": sh.method, "questions": sh.questions, "signatures": sh.signatures, "small_print": sh.smallPrint,
		"wrong": sh.wrong, "causes": sh.causes, "corrective": sh.corrective, "retest": sh.retest,
	}
	for _, name := range sections {
		if name == "photos" {
			if err := sh.photos(f); err != nil {
				return err
			}
			continue
		}
		draw[name](f)
	}
	return nil
}

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string {
	w, l := sh.words, sh.l
	link := w.say("lead.link", "link", l.Link.ID, "from", l.Link.From, "to", l.Link.To)
	if !l.Measured {
		return link + " " + w.say("lead.never")
	}
	var nm, ways []string
	for _, r := range l.Readings {
		if r.Quantity == record.InsertionLoss {
			if n := nanometres(r.WavelengthNM); !slices.Contains(nm, n) {
				nm = append(nm, n)
			}
			if way := string(r.Direction); !slices.Contains(ways, way) {
				ways = append(ways, way)
			}
		}
	}
	way := ""
	switch {
	case len(ways) > 1:
		way = w.say("lead.both")
	case len(ways) == 1:
		way = w.term("lead.way", ways[0])
	}
	what := w.say("lead.measured", "way", way, "nm", w.list(nm))
	if first, last := sh.measuredOn(l.Readings); !first.IsZero() {
		day := w.longDay(first)
		if !first.Equal(last) {
			day = w.say("locale.span", "first", day, "last", w.longDay(last))
		}
		what = w.say("lead.measured_on", "way", way, "nm", w.list(nm), "day", day)
	}
	sentence := link + " " + what + " "
	against := w.list(sh.standards())
	worst := l.WorstFinding()
	switch {
	case l.Verdict == judge.Pass:
		sentence += w.say("lead.pass", "standards", against, "reference", w.term("reference", string(sh.Facts.Job.Policy.Reference)))
	case l.Verdict == judge.Marginal:
		sentence += w.say("lead.pass", "standards", against, "reference", w.term("reference", string(sh.Facts.Job.Policy.Reference))) + " " + sh.marginal()
	case l.Verdict == judge.Fail && worst != nil && worst.Margin != nil && worst.Margin.Sign() < 0:
		sentence += w.say("lead.fail", "subject", sh.subject(*worst), "measured", sh.db(worst.Measured), "allowed", sh.db(worst.Limit), "over", sh.over(*worst))
	case l.Verdict == judge.Fail && worst != nil && worst.Guard != nil && worst.Verdict == judge.Fail:
		p := places(*worst)
		sentence += w.say("lead.fail_guard", "subject", sh.subject(*worst), "margin", w.fixed(*worst.Margin, p)+" dB", "guard", w.fixed(*worst.Guard, p)+" dB")
	case l.Verdict == judge.Fail:
		sentence += w.say("lead.fail_other")
	default:
		sentence += w.say("lead.incomplete")
	}
	return sentence
}

// marginal says why a link that passes is marked.
func (sh *sheet) marginal() string {
	w := sh.words
	worst := sh.l.WorstFinding()
	if worst == nil || worst.Margin == nil || worst.Verdict != judge.Marginal {
		return w.say("lead.marginal_other")
	}
	p := places(*worst)
	margin := w.fixed(*worst.Margin, p)
	if band := sh.Facts.Job.Policy.Marginal; band != nil {
		return w.say("lead.marginal_band", "margin", margin, "band", w.short(*band))
	}
	if worst.Uncertainty == nil {
		return w.say("lead.marginal_other")
	}
	return w.say("lead.marginal", "margin", margin, "u", w.fixed(*worst.Uncertainty, p))
}

// standards are those whose limits the losses were held against.
func (sh *sheet) standards() []string {
	var out []string
	for _, f := range sh.losses {
		if f.Working != nil {
			out = unique(append(out, standard(f.Working))...)
		}
	}
	if len(out) == 0 {
		for _, set := range sh.Judgement.Sets {
			out = unique(append(out, edition(set.Standard, set.Edition))...)
		}
	}
	return out
}

func standard(w *judge.Working) string { return edition(w.Standard, w.Edition) }

func edition(standard, edition string) string {
	if edition == "" {
		return standard
	}
	return standard + " (" + edition + ")"
}

// subject is what a finding is about, in words: "1310 nm, A to B".
func (s *Set) subject(f judge.Finding) string {
	var parts []string
	if f.Quantity != "" && f.Quantity != record.InsertionLoss && f.Quantity != record.TwoWayAverage {
		parts = append(parts, s.words.term("quantity", string(f.Quantity)))
	}
	if f.WavelengthNM > 0 {
		parts = append(parts, nanometres(f.WavelengthNM)+" nm")
	}
	if f.Direction != "" {
		parts = append(parts, s.words.term("way", string(f.Direction)))
	}
	if f.End != "" {
		parts = append(parts, s.words.say("end.name", "end", f.End))
	}
	if f.Event != "" {
		parts = append(parts, f.Event)
	}
	return strings.Join(parts, ", ")
}

// link is the section that says what was built.
func (sh *sheet) link(f *flow) {
	w, l := sh.words, &sh.l.Link
	f.section(w.say("link.title"), 2)
	var fibre []string
	fibre = append(fibre, l.Fibre)
	if l.Tube != "" {
		fibre = append(fibre, w.say("link.tube", "n", l.Tube))
	}
	if l.Strand != "" {
		fibre = append(fibre, w.say("link.strand", "n", l.Strand))
	}
	cable := l.Cable
	if c, ok := sh.Facts.Job.Cable(l.Cable); ok && c.Reel != "" {
		cable = w.say("link.reel", "cable", l.Cable, "reel", c.Reel)
	}
	pairs := w.whole(l.MatedPairs)
	if counted, present := sh.counted(); present > 0 {
		pairs = w.say("link.counted", "counted", w.whole(counted), "present", w.whole(present))
	}
	splices := w.whole(l.AllSplices())
	if n := l.SplicedEnds(); n > 0 {
		splices = w.count("link.behind", n, "all", w.whole(l.AllSplices()))
	}
	pair := ""
	if l.Pair != "" {
		pair = joinComma(l.Pair, w.term("link.polarity", l.Polarity))
	}
	f.fields(4,
		field{w.say("link.fibre"), joinComma(fibre...)},
		field{w.say("link.length"), sh.length()},
		field{w.say("link.mated_pairs"), pairs},
		field{w.say("link.splices"), splices},
		field{w.say("link.end_a"), l.EndA.Text},
		field{w.say("link.end_b"), l.EndB.Text},
		field{w.say("link.cable"), cable},
		field{w.say("link.stage"), firstOf(l.Stage, sh.Facts.Job.Stage)},
		field{w.say("link.pair"), pair},
	)
}

func firstOf(texts ...string) string { return append(unique(texts...), "")[0] }

// counted returns how many of the mated pairs the measurement holds.
func (sh *sheet) counted() (counted, present int) {
	for _, f := range sh.losses {
		if f.Working != nil && f.Working.PairsPresent > 0 {
			return f.Working.PairsCounted, f.Working.PairsPresent
		}
	}
	return 0, 0
}

// readings is the table of what was measured. A reading under several limit
// sets has a row for each; what they share stands in the first.
func (sh *sheet) readings(f *flow) {
	w := sh.words
	if len(sh.l.Readings) == 0 && len(sh.l.Superseded) == 0 {
		f.section(w.say("readings.title"), 1)
		f.paragraph(f.body, 1, w.say("readings.none"))
		return
	}
	f.section(w.say("readings.title"), 3, w.say("readings.remark"))
	var sets []string
	for _, one := range sh.losses {
		if one.Working != nil {
			sets = unique(append(sets, one.Working.SetID)...)
		}
	}
	first, last := sh.measuredOn(sh.l.Readings)
	at := func(r record.Reading) string {
		t := sh.local(r.Time)
		if t.IsZero() {
			return ""
		}
		if day := record.DateOf(t); !first.Equal(last) || !day.Equal(first) {
			return w.shortDay(day, sh.issuedOn()) + " " + clock(t)
		}
		return clock(t)
	}
	var rows [][]cell
	row := func(r record.Reading, measured, plain page.Style, text ...string) {
		rows = append(rows, []cell{{nanometres(r.WavelengthNM), plain}, {w.term("way_short", string(r.Direction)), plain}, {text[0], measured}, {text[1], plain},
			{text[2], measured}, {text[3], plain}, {text[4], plain}, {strings.Join(unique(r.Source, r.Instrument), ", "), plain}, {at(r), plain}})
	}
	judged := map[string]bool{}
	above := ""
	for _, one := range sh.losses {
		measured := f.strong
		if one.Verdict == judge.Fail {
			measured = f.alarm()
		}
		set := ""
		if one.Working != nil && len(sets) > 1 {
			set = one.Working.SetID
		}
		r := record.Reading{WavelengthNM: one.WavelengthNM, Direction: one.Direction} // of an average
		if len(one.Readings) == 1 {
			r = one.Readings[0]
		}
		row(r, measured, f.body, sh.fixed(one.Measured), sh.fixed(one.Limit), sh.fixed(one.Margin), sh.fixed(one.Uncertainty), set)
		if key := readingKey(r); key == above {
			for _, i := range []int{0, 1, 2, 5, 7, 8} {
				rows[len(rows)-1][i].text = ""
			}
		} else {
			above, judged[key] = key, true
		}
	}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss && !judged[readingKey(r)] {
			row(r, f.strong, f.body, w.fixed(r.Value, sh.places), "", "", "", "")
		}
	}
	earlier := page.Style{Face: page.Italic, Size: f.body.Size, Ink: f.soft}
	for _, r := range sh.l.Superseded {
		if r.Quantity == record.InsertionLoss {
			row(r, earlier, earlier, w.fixed(r.Value, sh.places), "", w.say("readings.superseded"), "", "")
		}
	}
	f.table([]column{{name: "nm", right: true}, {name: w.say("readings.way")}, {name: w.say("readings.measured"), right: true},
		{name: w.say("readings.allowed"), right: true}, {name: w.say("readings.margin"), right: true}, {name: "±U", right: true},
		{name: w.say("readings.set"), wrap: true}, {name: w.say("readings.instrument"), wrap: true}, {name: w.say("readings.time"), right: true}}, rows)
	f.lines(0.25)
	sh.working(f)
}

// readingKey tells readings of one link apart.
func readingKey(r record.Reading) string {
	return strings.Join([]string{r.Subject(), r.Origin.Where(), r.Time.String(), r.Value.String()}, "\x00")
}

// alarm is the style of what fails.
func (l *look) alarm() page.Style { return page.Style{Face: page.Bold, Size: l.body.Size, Ink: l.rust} }

// terminations is what the splicer recorded: estimates, never measurements.
func (sh *sheet) terminations(f *flow) {
	if len(sh.l.Terminations) == 0 {
		return
	}
	w := sh.words
	f.section(w.say("terminations.title"), 3, w.say("terminations.remark"))
	columns := []column{{name: w.say("terminations.end"), wrap: true}, {name: w.say("terminations.kind"), wrap: true}, {name: w.say("terminations.estimate"), right: true},
		{name: w.say("terminations.attempts"), right: true}, {name: w.say("terminations.lot"), wrap: true}, {name: w.say("terminations.end_face")},
		{name: w.say("terminations.by"), wrap: true}}
	var rows [][]cell
	for _, t := range sh.l.Terminations {
		row := []string{firstOf(t.End, w.say("terminations.span")), t.Kind, w.say("terminations.none"), "", t.Lot,
			w.term("end_face", strings.ReplaceAll(string(t.EndFace), " ", "_")), joinComma(sh.person(t.Person), w.shortDay(record.DateOf(sh.local(t.Finished)), sh.issuedOn()))}
		if t.Estimate != nil {
			row[2] = w.say("terminations.estimated", "db", w.fixed(*t.Estimate, max(2, t.Estimate.Places())))
		}
		if t.Attempts > 0 {
			row[3] = w.whole(t.Attempts)
		}
		rows = append(rows, cells(f.body, row...))
	}
	f.table(columns, rows)
}

func cells(s page.Style, texts ...string) []cell {
	row := make([]cell, len(texts))
	for i, t := range texts {
		row[i] = cell{t, s}
	}
	return row
}

// reflectance is what else was judged, and what the link would carry.
func (sh *sheet) reflectance(f *flow) {
	w := sh.words
	rows := sh.others(f)
	var within, required, missed []string
	for _, c := range sh.l.Carries {
		switch {
		case c.Within && c.Required:
			required = append(required, c.Title)
		case c.Within:
			within = append(within, c.Title)
		case c.Required:
			missed = append(missed, c.Title)
		}
	}
	var expected []string
	for _, e := range sh.l.ExpectedORL {
		expected = append(expected, strings.TrimSpace(nanometres(e.WavelengthNM)+" nm "+w.term("way", string(e.Direction)))+" "+w.localise(decimals(e.DB, 1))+" dB")
	}
	if len(rows)+len(expected)+len(within)+len(required)+len(missed) == 0 {
		return
	}
	title := w.say("reflectance.title")
	if len(rows) == 0 {
		title = w.say("carries.title")
	}
	f.section(title, float64(min(len(rows)+1, 3)))
	f.table([]column{{wrap: true}, {wrap: true}, {}, {}}, rows)
	if len(expected) > 0 {
		f.paragraph(f.caption, 0.7, w.say("reflectance.expected", "values", strings.Join(expected, " · ")))
	}
	// Titles hold commas; a point keeps them apart.
	carries := func(key string, titles []string, s page.Style, leading float64) {
		if len(titles) > 0 {
			f.paragraph(s, leading, w.say(key, "titles", strings.Join(titles, "\u00A0· ")))
		}
	}
	carries("carries.required", required, f.body, 1)
	carries("carries.missed", missed, f.alarm(), 1)
	carries("carries.within", within, f.caption, 0.7)
}

// others are the limits that are not about loss, those of one quantity and one
// limit in a row: "Reflectance at 1310 nm | end A −52.6 dB, end B −50.9 dB".
func (sh *sheet) others(f *flow) [][]cell {
	w := sh.words
	type group struct {
		what, limit string
		measured    []string
		least       quantity.Decimal // margin
		places      int
		unit        string
		style       page.Style
	}
	var groups []*group
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit || one.Measured == nil || one.Limit == nil || one.Margin == nil ||
			one.Quantity == record.InsertionLoss || one.Quantity == record.TwoWayAverage {
			continue
		}
		p := max(one.Measured.Places(), one.Limit.Places()) // as read: such readings are coarser than losses
		unit := "\u00A0" + string(one.Unit)
		bound := "at_most"
		if one.Working != nil && one.Working.Bound != "" {
			bound = one.Working.Bound
		}
		what := upperFirst(w.term("quantity", string(one.Quantity)))
		if one.WavelengthNM > 0 {
			what = w.say("reflectance.at", "quantity", what, "nm", nanometres(one.WavelengthNM))
		}
		limit := w.say("bound."+bound, "limit", w.short(*one.Limit)+unit)
		i := slices.IndexFunc(groups, func(g *group) bool { return g.what == what && g.limit == limit })
		if i < 0 {
			groups = append(groups, &group{what: what, limit: limit, least: *one.Margin, unit: unit, style: f.body})
			i = len(groups) - 1
		}
		g := groups[i]
		where := ""
		if one.Event != "" {
			where = one.Event + " "
		} else if one.End != "" {
			where = w.say("end.name", "end", one.End) + " "
		} else if one.Direction != "" {
			where = w.term("way", string(one.Direction)) + " "
		}
		g.measured = append(g.measured, where+w.fixed(*one.Measured, p)+unit)
		g.places = max(g.places, p)
		if one.Margin.Less(g.least) {
			g.least = *one.Margin
		}
		if one.Verdict == judge.Fail {
			g.style = f.alarm()
		}
	}
	var rows [][]cell
	for _, g := range groups {
		rows = append(rows, []cell{{g.what, f.body}, {strings.Join(g.measured, ", "), g.style}, {g.limit, f.body},
			{w.say("reflectance.margin", "margin", w.fixed(g.least, g.places)+g.unit), f.body}})
	}
	// What was measured and no limit binds is still told.
	var free []string
	values := map[string][]string{}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss || slices.ContainsFunc(sh.l.Findings, func(f judge.Finding) bool {
			return f.Kind == judge.KindLimit && slices.ContainsFunc(f.Readings, func(o record.Reading) bool {
				return o.Quantity == r.Quantity && readingKey(o) == readingKey(r)
			})
		}) {
			continue
		}
		what := upperFirst(w.term("quantity", string(r.Quantity)))
		unit := "\u00A0dB"
		if r.Quantity == record.Length {
			unit = "\u00A0m"
		}
		if r.WavelengthNM > 0 {
			what = w.say("reflectance.at", "quantity", what, "nm", nanometres(r.WavelengthNM))
		}
		free = unique(append(free, what)...)
		values[what] = append(values[what], strings.Join(unique(r.Event, w.term("way", string(r.Direction)), w.fixed(r.Value, r.Value.Places())+unit), " "))
	}
	for _, what := range free {
		rows = append(rows, []cell{{what, f.body}, {strings.Join(values[what], ", "), f.body}, {w.say("bound.none"), f.body}, {"", f.body}})
	}
	return rows
}

// method is how it was measured: the first thing a dispute asks for.
func (sh *sheet) method(f *flow) {
	w, policy := sh.words, &sh.Facts.Job.Policy
	f.section(w.say("method.title"), 4)
	var times, powers []string
	for _, r := range sh.l.Readings {
		times = append(times, clock(sh.local(r.ReferenceTime)))
		if r.Reference != nil {
			powers = append(powers, w.fixed(*r.Reference, max(2, r.Reference.Places())))
		}
	}
	taken := unique(times...)
	if powers = unique(powers...); len(powers) > 0 {
		taken = append(taken, strings.Join(powers, ", ")+" dBm")
	}
	var serials, calibrated, made []string
	for _, i := range sh.instruments(sh.l) {
		serials = append(serials, strings.TrimSpace(i.ID+" "+i.Serial))
		made = append(made, strings.TrimSpace(i.Make+" "+i.Model))
		if !i.Calibrated.IsZero() {
			calibrated = append(calibrated, w.say("method.due", "day", w.day(i.Calibrated), "due", w.day(i.Due)))
		}
	}
	var by []string
	for _, r := range sh.l.Readings {
		if p, ok := sh.Facts.Job.Person(r.Person); ok {
			qualified := strings.TrimSpace(p.Role + " " + p.Qualification)
			if !p.ValidUntil.IsZero() {
				qualified = w.say("method.valid", "qualified", qualified, "day", w.day(p.ValidUntil))
			}
			by = append(by, joinComma(p.Name, qualified))
		} else {
			by = append(by, r.Person)
		}
	}
	f.fields(3,
		field{w.say("method.reference"), joinComma(append([]string{w.term("reference", string(policy.Reference))}, taken...)...)},
		field{w.say("method.cords"), w.term("cords", string(policy.TestCords))},
		field{w.say("method.instruments"), joinComma(serials...)},
		field{w.say("method.calibrated"), strings.Join(unique(calibrated...), "; ")},
		field{w.say("method.by"), strings.Join(unique(by...), "; ")},
		field{w.say("method.witness"), firstOf(sh.Facts.Job.Witness, w.say("method.none"))},
		field{w.say("method.made"), strings.Join(unique(made...), "; ")},
	)
}

// questions lists what a careful reader should know; never an accusation.
func (sh *sheet) questions(f *flow) {
	var texts []string
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit && one.Question != "" {
			texts = append(texts, sh.words.judged(one.Question))
		}
	}
	if sh.l.Link.Exempt != "" {
		texts = append(texts, sh.words.say("questions.exempt", "reason", sh.l.Link.Exempt))
	}
	if texts = unique(texts...); len(texts) == 0 {
		return
	}
	f.section(sh.words.say("questions.title"), 1)
	f.list(texts)
}

// list sets numbered sentences.
func (f *flow) list(texts []string) {
	const indent = 6.0
	for i, text := range texts {
		lines := f.wrap(f.body, f.w-indent, text)
		height := ceil(f.grid+float64(len(lines)-1)*f.valueLeading(), f.grid/2)
		f.need(height)
		f.put(f.x, f.base(), f.caption, f.words.whole(i+1))
		for k, line := range lines {
			f.put(f.x+indent, f.base()+float64(k)*f.valueLeading(), f.body, line)
		}
		f.lines(height / f.grid)
	}
}

// signatures are three places to sign: the contractor's is the digital one.
func (sh *sheet) signatures(f *flow) { sh.Set.signatures(f) }

func (s *Set) signatures(f *flow) {
	const gutter = 6.0
	width := (f.w - 2*gutter) / 3
	f.lines(f.gap / 2)
	f.need(3.5 * f.grid)
	top := f.y
	f.lines(2)
	contractor := s.words.say("sign.contractor")
	if !s.Specimen && s.Signer.Name != "" {
		f.mark = &Mark{Page: f.PageNumber(), Box: page.Box{X: f.x, Y: top, W: width, H: 2 * f.grid}}
		f.put(f.x, f.y-0.9*f.grid, f.shrink(f.strong, 6, width, s.Signer.Name), s.Signer.Name)
		digital := s.words.say("sign.digital", "key", s.Signer.KeyID)
		f.put(f.x, f.y-0.25*f.grid, f.shrink(f.small, 4.5, width, digital), digital)
	}
	for i, caption := range []string{contractor, s.words.say("sign.engineer"), s.words.say("sign.owner")} {
		x := f.x + float64(i)*(width+gutter)
		f.Line(x, f.y, x+width, f.y, 0.3, f.ink)
		f.put(x, f.y+0.8*f.grid, f.shrink(f.small, 4.5, width, caption), caption)
	}
	f.lines(1.5)
}

// smallPrint says where the original lies and what the paper does not prove.
func (sh *sheet) smallPrint(f *flow) {
	w := sh.words
	type file struct {
		name, sum string
		rows      []string
	}
	var from []*file
	for _, r := range slices.Concat(sh.l.Readings, sh.l.Superseded) {
		i := slices.IndexFunc(from, func(o *file) bool { return o.name == r.Origin.File })
		if i < 0 {
			from = append(from, &file{name: r.Origin.File, sum: r.Origin.SHA256})
			i = len(from) - 1
		}
		row := r.Origin.Cell
		if row == "" {
			row = w.whole(r.Origin.Row)
		}
		if !slices.Contains(from[i].rows, row) {
			from[i].rows = append(from[i].rows, row)
		}
	}
	var origins []string
	for _, o := range from {
		origins = append(origins, w.count("small.rows", len(o.rows), "file", o.name, "rows", w.list(o.rows), "sha", abbreviate(o.sum)))
	}
	text := w.say("small.records") + " " + w.say("small.live") + " " + w.say("small.codes")
	if len(origins) > 0 && !sh.Specimen {
		text = w.say("small.transcribed", "origins", w.list(origins)) + " " + text
	}
	sh.Set.small(f, text)
}

// small sets small print.
func (s *Set) small(f *flow, text string) {
	const leading = 0.66
	lines := f.wrap(f.look.small, f.w, text)
	f.need(leading * f.grid * float64(min(len(lines), 8)))
	f.paragraph(f.look.small, leading, text)
}

// abbreviate shortens a digest for the eye; the whole one is in the record.
func abbreviate(sum string) string {
	if len(sum) <= 12 {
		return sum
	}
	return sum[:8] + "…" + sum[len(sum)-4:]
}
