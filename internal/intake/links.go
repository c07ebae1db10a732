package intake

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/ledger"
	"spanseal/internal/method"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// readLedger returns the bytes of a file that people keep, or nil after adding a problem.
func (r *reader) readLedger(name string) *source.File {
	limit := int64(table.MaxText)
	if table.KindOf(name) == "workbook" {
		limit = table.MaxWorkbook
	}
	raw := r.folder.Read(name, limit)
	if raw == nil {
		return nil
	}
	f := source.New(name, raw)
	r.folder.Keep(f)
	return f
}

// openLedger reads the heading of such a file, or returns nil after adding problems.
func (r *reader) openLedger(f *source.File, how *jobfile.Schedule, columns *jobfile.Columns) *ledger.Ledger {
	j := ledger.Shared{List: r.list, Scheduled: r.scheduled, ZoneSaid: &r.zoneSaid, Sheet: r.scheduleSheet}
	if r.facts.Job.TimeZone != "" {
		j.Zone = r.facts.Job.Location
	}
	return ledger.Open(j, f, how, columns)
}

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
	for o := range l.Rows() {
		if !r.linksOf(l, o, taken) {
			break
		}
	}
	r.trunksApart(l)
	r.anyLink = r.anyLink || l.Hopeless()
	if len(r.facts.Links) == 0 && r.list.Errors() == before {
		r.list.Add(diag.Problem{Code: "no-links", Place: diag.Place{File: f.Name}, Message: "the schedule names no link", Fix: "add a row for every link that must be certified"})
	}
	if len(r.facts.Links) > 0 && !r.anyLink {
		r.checkNamed()
	}
}

// linksOf reads the links of a row, one or a series; false if the schedule is full.
func (r *reader) linksOf(l *ledger.Ledger, o record.Origin, taken map[record.Array]string) bool {
	before := l.Faults()
	n := l.Links("link")
	r.anyLink = r.anyLink || n == 0 // none is called unknown because its series was not read
	var link record.Link
	var twice []string // links of the row that others are too
	var first record.Origin
	for i := range n {
		if l.Take(i); i == 0 || l.Faults() == before { // of a faulty row the faults are said once
			link = r.linkOf(l, taken)
			link.Origin = o
		} else {
			link.ID, link.Strand = norm.NFC.String(l.Text("link")), l.Text("strand") // by which readings find it
		}
		if link.ID == "" {
			continue
		}
		if at, known := r.index[link.ID]; known {
			if twice = append(twice, link.ID); len(twice) == 1 {
				first = r.facts.Links[at].Origin
			}
			continue
		}
		if len(r.facts.Links) == maxLinks {
			r.anyLink = true // none is called unknown because it was not kept
			l.Fault("link", "too-many-links", fmt.Sprintf("the schedule names more than %d links", maxLinks), "", "split the work into several jobs")
			return false
		}
		r.index[link.ID] = int32(len(r.facts.Links))
		r.names.Add(link.ID)
		r.facts.Links = append(r.facts.Links, link)
	}
	if len(twice) == 0 {
		return true
	}
	message, fix := fmt.Sprintf("link %q is listed twice in the schedule", twice[0]), "give each link its own name, or remove one row"
	if len(twice) > 1 {
		message = fmt.Sprintf("%d links of this row are listed twice in the schedule: %s", len(twice), strings.Join(diag.First(twice, 3), ", "))
	}
	if n > 1 {
		fix = "end the series before the links that have a row of their own, or remove one of the two rows"
	}
	want := fmt.Sprintf("the first is at %s %d", l.RowWord(), first.Row)
	if first.Row == o.Row {
		want = "the first is in this row"
	}
	l.Fault("link", "duplicate-link", message, want, fix)
	return true
}

// linkOf reads the link that is taken up of a row.
func (r *reader) linkOf(l *ledger.Ledger, taken map[record.Array]string) record.Link {
	link := record.Link{
		ID: norm.NFC.String(l.Must("link", "a name such as A-11")), Cable: l.Text("cable"), Tube: l.Text("tube"), Strand: l.Text("strand"),
		From: l.Must("from", "where end A is"), To: l.Must("to", "where end B is"),
		MatedPairs: l.Count("mated_pairs"), Splices: l.Count("splices"),
		EndA: l.End("end_a"), EndB: l.End("end_b"),
		Applications: idList(l.Text("applications")), Limits: idList(l.Text("limits")),
		Pair: l.Text("pair"), Polarity: l.Text("polarity"), Exempt: l.Text("exempt"), Stage: l.Text("stage"), Splitters: l.Splitters(), Leg: l.Text("splitter_leg"), Names: l.Receivers(),
	}
	link.Array = r.array(l, taken, link.ID)
	l.Length(&link)
	l.Fibre(&link)
	link.Terms = method.Terms(&link, &r.facts.Job.Policy.Require, l.Text, l.Fault)
	switch link.Polarity {
	case "", "crossed", "straight":
	default:
		l.Fault("polarity", "unknown-value", fmt.Sprintf("%q is not a polarity", link.Polarity), "want crossed or straight", "")
	}
	return link
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
