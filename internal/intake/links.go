package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/written"
)

// maxTaken is how many links are taken from files of readings, where the
// schedule could not be read or is not asked.
const maxTaken = 20_000

// readLinks reads the schedule.
func (r *reader) readLinks() {
	r.scheduled = r.scheduleFile()
	if f := r.readLedger(r.scheduled); f != nil {
		r.links(f)
	}
	// Without a schedule every name would be unknown; that is said once.
	r.anyLink = r.anyLink || len(r.facts.Links) == 0
}

// maxLinks is how many links a schedule may have.
const maxLinks = 200_000

func (r *reader) links(f *source.File) {
	columns := jobfile.ScheduleColumns
	if len(r.job.Job.Trunks) == 0 { // then they are the schedule's own
		columns.Optional = slices.DeleteFunc(slices.Clone(columns.Optional), func(c string) bool { return slices.Contains(jobfile.ArrayColumns, c) })
	}
	l := r.openLedger(f, &r.job.Schedule, &columns)
	if l == nil {
		return
	}
	before := r.list.Errors()
	taken := map[record.Array]string{}
	for o := range l.rows() {
		link := record.Link{
			ID: norm.NFC.String(l.must("link", "a name such as A-11")), Cable: l.text("cable"), Tube: l.text("tube"), Strand: l.text("strand"),
			From: l.must("from", "where end A is"), To: l.must("to", "where end B is"),
			MatedPairs: l.count("mated_pairs"), Splices: l.count("splices"),
			EndA: l.end("end_a"), EndB: l.end("end_b"),
			Applications: idList(l.text("applications")), Limits: idList(l.text("limits")),
			Pair: l.text("pair"), Polarity: l.text("polarity"), Exempt: l.text("exempt"), Stage: l.text("stage"), Splitters: l.splitters(), Leg: l.text("splitter_leg"), Names: l.receivers(), Origin: o,
		}
		link.Array = r.array(l, taken, link.ID)
		l.length(&link)
		l.fibre(&link)
		link.Terms = l.terms(&link)
		switch link.Polarity {
		case "", "crossed", "straight":
		default:
			l.fault("polarity", "unknown-value", fmt.Sprintf("%q is not a polarity", link.Polarity), "want crossed or straight", "")
		}
		if link.ID == "" {
			continue
		}
		if i, twice := r.index[link.ID]; twice {
			l.fault("link", "duplicate-link", fmt.Sprintf("link %q stands twice in the schedule", link.ID), fmt.Sprintf("the first is at %s %d", l.t.Line(), r.facts.Links[i].Origin.Row),
				"give each link its own name, or remove one row")
			continue
		}
		if len(r.facts.Links) == maxLinks {
			r.anyLink = true // none is called unknown because it was not kept
			l.fault("link", "too-many-links", fmt.Sprintf("the schedule names more than %d links", maxLinks), "", "divide the work into several jobs")
			break
		}
		r.index[link.ID] = int32(len(r.facts.Links))
		r.names.Add(link.ID)
		r.facts.Links = append(r.facts.Links, link)
	}
	r.trunksApart(l)
	r.anyLink = r.anyLink || l.hopeless()
	if len(r.facts.Links) == 0 && r.list.Errors() == before {
		r.list.Add(diag.Problem{Code: "no-links", Place: diag.Place{File: f.Name}, Message: "the schedule names no link", Fix: "add a row for every link that must be certified"})
	}
	if len(r.facts.Links) > 0 && !r.anyLink {
		r.checkNamed()
	}
}

// checkNamed complains of links that job.yaml names and the schedule does not.
func (r *reader) checkNamed() {
	at := sync.OnceValue(func() jobfile.Places { return jobfile.PlacesIn(r.job.File) })
	unknown := func(id, fix string, place func() diag.Place) {
		if _, ok := r.index[id]; ok {
			return
		}
		p := diag.Problem{Code: "unknown-link", Place: diag.Place{File: folder.Job}}
		if !r.list.Full(p.Severity, p.Code, folder.Job) {
			p.Place, p.Fix = place(), fix
			p.Message = fmt.Sprintf("%q is not a link of %s", id, r.scheduled)
			if near := r.names.To(id); near != "" {
				p.Want = fmt.Sprintf("did you mean %q?", near)
			}
		}
		r.list.Add(p)
	}
	for _, alias := range slices.Sorted(maps.Keys(r.job.Aliases)) {
		unknown(r.job.Aliases[alias].Link, "correct the alias, or add the link to "+r.scheduled,
			func() diag.Place { return at().Of("aliases." + alias) })
	}
	for i, answer := range r.facts.Job.Answers {
		for k, id := range answer.Links {
			unknown(id, "name a link as "+r.scheduled+" does, or remove the answer",
				func() diag.Place { return at().OfAnswer(i, k) })
		}
	}
}

// findLink looks a name up: exactly, or by the job's aliases. Two ways of
// writing the same accented letter (Unicode NFC and NFD) are the same name.
func (r *reader) findLink(text string) (id string, index int32, viaAlias, ok bool) {
	text = norm.NFC.String(text)
	if i, ok := r.index[text]; ok {
		return r.facts.Links[i].ID, i, false, true
	}
	if alias, named := r.job.Aliases[text]; named {
		if i, ok := r.index[alias.Link]; ok {
			r.aliasUsed[text] = true
			return r.facts.Links[i].ID, i, true, true
		}
	}
	if r.anyLink && r.taken < maxTaken && strings.IndexFunc(text, source.IsControlInName) < 0 {
		i := r.take(record.Link{ID: text})
		return r.facts.Links[i].ID, i, false, true
	}
	return "", 0, false, false
}

func (r *reader) link(index int32) *record.Link { return &r.facts.Links[index] }

// idList reads ids parted by spaces, ";" or "|".
func idList(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == ';' || r == '|' || r == ',' })
}

// length reads the length. Several columns of it have to agree as far as they
// were rounded; the first is taken, unless another says a digit more.
func (l *ledger) length(link *record.Link) {
	var columns []field.InUnit
	for _, u := range field.Units[field.Length] {
		fu := field.InUnit{Field: field.Length, Unit: u}
		if _, ok := l.columns[fu.Name()]; ok {
			columns = append(columns, fu)
		}
	}
	given := slices.DeleteFunc(slices.Clone(columns), func(fu field.InUnit) bool { return l.text(fu.Name()) == "" })
	if len(given) == 0 {
		l.must(columns[0].Name(), "a length such as 312")
		return
	}
	var taken field.InUnit
	var step quantity.Decimal // by which the length that was taken is told
	for i, fu := range given {
		v, m, ok := l.metres(fu)
		if !ok {
			return
		}
		s, _ := quantity.Metres(v.Step(), fu.Unit)
		if i > 0 && step.Add(s).Half().Less(m.Sub(link.Length).Abs()) {
			l.fault(fu.Name(), "which-length", fmt.Sprintf("link %q is %s %s long here, and %s in column %s", link.ID, v, fu.Unit, link.LengthText, taken.Name()),
				"want the same length", "correct one of the two, or keep one column of lengths")
		}
		if i == 0 || s.Mul(quantity.Int(10)).Less(step) {
			taken, step, link.Length, link.LengthText = fu, s, m, v.String()+" "+string(fu.Unit)
		}
	}
}

// metres reads a length that is given; ok is false after a problem.
func (l *ledger) metres(fu field.InUnit) (v, m quantity.Decimal, ok bool) {
	column, before := fu.Name(), l.faults
	if v, ok = l.number(column); !ok {
		return v, m, false
	}
	m, _ = quantity.Metres(v, fu.Unit)
	text := l.text(column)
	switch _, doubtful := written.MarkIn(text); {
	case doubtful && l.delimiter() != ',':
		l.fault(column, "which-decimal", fmt.Sprintf("%q could be a fraction or thousands", text), "write 1234 for thousands, 1,2340 for a fraction", "")
	case m.Sign() < 0 || field.Bounds[field.MaxLength].Less(m):
		l.fault(column, "out-of-range", fmt.Sprintf("a length of %s %s cannot be", text, fu.Unit), fmt.Sprintf("want 0 to %d m", field.MaxLength), "correct the cell, or the unit in the heading")
	}
	return v, m, l.faults == before
}

// fibre reads the kind of fibre and so the mode.
func (l *ledger) fibre(link *record.Link) {
	text := l.must("fibre", "a kind of fibre such as OS2 or OM4")
	if text == "" {
		return
	}
	name, mode, message := written.Fibre(text)
	if link.Fibre, link.Mode = name, mode; message != "" {
		l.fault("fibre", "unknown-fibre", message, "want OS1, OS1a, OS2, OM1 to OM5, 62.5/160, 50/400, FDDI, or a recommendation such as G.652.D or G.657.A1", "")
	}
}

// end reads what an end of a link is, such as "spliced-on LC/UPC" or "factory
// LC"; "none" is an end without a connector.
func (l *ledger) end(column string) record.End {
	text := l.must(column, `such as "spliced-on LC/UPC", "factory LC" or none`)
	e, message, want := written.End(text)
	if message != "" {
		l.fault(column, "unknown-end", message, want, "")
	}
	return e
}
