package change

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// results of one link.
type link struct {
	Verdict      verdict           `json:"verdict"`
	Schedule     json.RawMessage   `json:"schedule"`
	Photos       []string          `json:"photos"`
	Originals    []instrumentFile  `json:"originals"`
	Terminations []json.RawMessage `json:"terminations"`
	Inspections  []json.RawMessage `json:"inspections"`
	Readings     []json.RawMessage `json:"readings"`
	Findings     []finding         `json:"findings"`
	Superseded   []json.RawMessage `json:"superseded"`
	Stages       []json.RawMessage `json:"stages"`
}

// finding is a number held against a limit, or a question.
type finding struct {
	Code         string              `json:"code"`
	Quantity     string              `json:"quantity"`
	WavelengthNM int                 `json:"wavelength_nm"`
	Direction    string              `json:"direction"`
	End          string              `json:"end"`
	Set          string              `json:"set"`
	Limit        string              `json:"limit"`
	Between      []string            `json:"between"`
	Unit         string              `json:"unit"`
	Percentile   string              `json:"percentile"`
	Question     statement.Statement `json:"question"`
	Answer       *answer             `json:"answer"`
	Readings     []json.RawMessage   `json:"readings"`
}

// link compares one.
func (g *gathering) link(id string, before, after []byte, older bool) error {
	var was, is link
	if err := json.Unmarshal(before, &was); err != nil {
		return err
	}
	if err := json.Unmarshal(after, &is); err != nil {
		return err
	}
	if was.Verdict != is.Verdict {
		g.links(verdictPart, id, "change.verdict", was.Verdict.word(), is.Verdict.word())
	}
	if !older {
		if err := g.schedule(id, &was, &is); err != nil {
			return err
		}
		if err := g.atEnds(id, termination, was.Terminations, is.Terminations); err != nil {
			return err
		}
		if err := g.atEnds(id, inspection, was.Inspections, is.Inspections); err != nil {
			return err
		}
		added, settled := apart(questions(was.Findings), questions(is.Findings))
		for _, q := range added {
			g.links(questionPart, id, "change.question-new", q)
		}
		for _, q := range settled {
			g.links(questionPart, id, "change.question-settled", q)
		}
		for _, a := range answered(was.Findings, is.Findings) {
			g.links(questionPart, id, "change."+a.code, a.args...)
		}
	}
	if err := g.readings(id, &was, &is, older); err != nil {
		return err
	}
	g.limits(id, was.Findings, is.Findings)
	return nil
}

// schedule compares the lines of the schedule, and the pictures.
func (g *gathering) schedule(id string, was, is *link) error {
	old, _, err := flatten(was.Schedule)
	if err != nil {
		return err
	}
	now, _, err := flatten(is.Schedule)
	if err != nil {
		return err
	}
	old, now = with(with(old, "photos", was.Photos), "originals", named(was.Originals)), with(with(now, "photos", is.Photos), "originals", named(is.Originals))
	for _, d := range differ(old, now) {
		if slices.Contains(record.NameKeys, d.name) {
			d.old, d.now = setable(d.old), setable(d.now)
		}
		if heading, ok := strings.CutPrefix(d.name, further); ok {
			g.links(linkPart, id, "change.link", word("further"), under(heading, d.old), under(heading, d.now))
			continue
		}
		if nm, ok := strings.CutPrefix(d.name, exempt); ok {
			g.links(linkPart, id, "change.link", word("exempt_wavelength"), under(nm+" nm", d.old), under(nm+" nm", d.now))
			continue
		}
		g.links(linkPart, id, "change.link", word(d.name), value(d.name, d.old), value(d.name, d.now))
	}
	return nil
}

// instrumentFile is one that an instrument wrote.
type instrumentFile struct {
	WavelengthNM int    `json:"wavelength_nm"`
	Direction    string `json:"direction"`
	Stage        string `json:"stage"`
	File         string `json:"file"`
	SHA256       string `json:"sha256"`
}

// named are files as a list of changes names them: with the begin of their SHA-256, and
// what each is of where its link does not say that.
func named(files []instrumentFile) (out []string) {
	for _, f := range files {
		text := f.File + " " + f.SHA256[:min(8, len(f.SHA256))]
		if f.WavelengthNM > 0 {
			text += fmt.Sprintf(" %d nm", f.WavelengthNM)
		}
		for _, of := range []string{f.Direction, f.Stage} {
			if of != "" {
				text += " " + of
			}
		}
		out = append(out, text)
	}
	return out
}

// exempt begins the names of reasons for not measuring at a wavelength.
const exempt = "exempt_wavelengths."

// further begins the names of columns of the schedule's own.
const further = "further."

// under is what such a column has, named by its heading.
func under(heading string, v any) statement.Any {
	text, ok := setable(v).(string)
	if !ok {
		return statement.Any{}
	}
	return statement.As(statement.Phrase{statement.As(statement.Name(setable(heading).(string))), statement.As(statement.Name(text))})
}

// mostCodes is how many characters of another script are told by their codes.
const mostCodes = 8

// setable is a text with the codes of characters that are not of the Latin script:
// such names stay off papers for which they lack a typeface, and must not stop the
// list of changes either.
func setable(v any) any {
	text, ok := v.(string)
	if !ok {
		return v
	}
	var out strings.Builder
	codes := 0 // so far in this run
	for _, r := range norm.NFC.String(text) {
		latin := r <= '\u017f' && r != utf8.RuneError
		switch {
		case latin && codes > 0:
			out.WriteByte(']')
			codes = 0
			fallthrough
		case latin:
			out.WriteRune(r)
			continue
		case codes == 0:
			out.WriteByte('[')
		case codes < mostCodes:
			out.WriteByte(' ')
		}
		if codes++; codes <= mostCodes {
			fmt.Fprintf(&out, "%U", r)
		} else if codes == mostCodes+1 {
			out.WriteString("…")
		}
	}
	if codes > 0 {
		out.WriteByte(']')
	}
	return out.String()
}

// with adds a list to fields.
func with(f fields, name string, list []string) fields {
	if list == nil {
		return f
	}
	var values []any
	for _, v := range list {
		values = append(values, v)
	}
	return append(f, field{name, values})
}

// sort is what is recorded of the ends of a link: the codes that tell of its changes,
// the list that its values stand in, and the field that says most of one.
type sort struct{ code, list, says string }

var (
	termination = sort{"change.termination", terminations, "kind"}
	inspection  = sort{"change.inspection", "inspections", "result"}
)

// made is one record of an end, such as a connector: at which end, and the how
// manieth there.
type made struct {
	end    string
	n      int
	fields fields
}

func madeOf(list []json.RawMessage) (out []made, err error) {
	at := map[string]int{}
	for _, raw := range list {
		f, _, err := flatten(raw)
		if err != nil {
			return nil, err
		}
		end := f.text("end")
		at[end]++
		out = append(out, made{end, at[end], f})
	}
	return out, nil
}

// atEnds compares records by end, and by place in the list where there are several.
func (g *gathering) atEnds(id string, of sort, before, after []json.RawMessage) error {
	old, err := madeOf(before)
	if err != nil {
		return err
	}
	now, err := madeOf(after)
	if err != nil {
		return err
	}
	// First those that are the same, then by place: a splice that is put before
	// another does not change that one.
	pairs := pair(old, now)
	subject := func(m made) statement.Any {
		p := statement.Phrase{statement.As(statement.End(m.end))}
		second := func(o made) bool { return o.end == m.end && o.n == 2 }
		if slices.ContainsFunc(old, second) || slices.ContainsFunc(now, second) {
			p = append(p, statement.As(statement.Count(m.n)))
		}
		return statement.As(p)
	}
	for k, m := range now {
		i := slices.Index(pairs, k)
		if i < 0 {
			g.links(terminationPart, id, of.code+"-new", subject(m), value(of.says, m.fields.text(of.says), of.list))
			continue
		}
		for _, d := range differ(old[i].fields, m.fields) {
			g.links(terminationPart, id, of.code, subject(m), word(d.name), value(d.name, d.old, of.list), value(d.name, d.now, of.list))
		}
	}
	for i, m := range old {
		if pairs[i] < 0 {
			g.links(terminationPart, id, of.code+"-gone", subject(m), value(of.says, m.fields.text(of.says), of.list))
		}
	}
	return nil
}

// pair tells for each old termination which new one it is, or -1.
func pair(old, now []made) []int {
	pairs, taken := make([]int, len(old)), make([]bool, len(now))
	match := func(same func(a, b *made) bool) {
		for i := range old {
			for k := 0; k < len(now) && pairs[i] < 0; k++ {
				if !taken[k] && same(&old[i], &now[k]) {
					pairs[i], taken[k] = k, true
				}
			}
		}
	}
	for i := range pairs {
		pairs[i] = -1
	}
	match(func(a, b *made) bool { return a.end == b.end && slices.EqualFunc(a.fields, b.fields, sameField) })
	match(func(a, b *made) bool { return a.end == b.end })
	return pairs
}

func sameField(a, b field) bool { return a.name == b.name && equal(a.value, b.value) }

// reading is one that counts, or is superseded.
type reading struct {
	key    string // what it is of, and the how manieth of it
	fields fields
}

// identity are the members that say what a reading is of.
var identity = []string{"quantity", "wavelength_nm", "direction", "event"}

// origin are those that say where it stands, and what it is.
var origin = []string{"value", "shown", "file", "sha256", "row", "cell", "fate"}

func readingsOf(lists ...[]json.RawMessage) (out []reading, err error) {
	at := map[string]int{}
	for _, list := range lists {
		for _, raw := range list {
			f, _, err := flatten(raw)
			if err != nil {
				return nil, err
			}
			var key strings.Builder
			for _, name := range identity {
				key.WriteString(f.text(name) + "\x00")
			}
			at[key.String()]++
			fmt.Fprint(&key, at[key.String()])
			out = append(out, reading{key.String(), f})
		}
	}
	return out, nil
}

// findReading returns the reading of the same thing, or nil.
func findReading(in []reading, key string) *reading {
	for i := range in {
		if in[i].key == key {
			return &in[i]
		}
	}
	return nil
}

func (r *reading) subject() statement.Any {
	var p statement.Phrase
	if q := r.quantity(); q.Code != "" {
		p = append(p, statement.As(q))
	}
	return statement.As(append(p, r.at()...))
}

func (r *reading) quantity() statement.Word {
	return statement.Word{Group: "quantity", Code: r.fields.text("quantity")}
}

// place is what a reading is of where its quantity is said already.
func (r *reading) place() statement.Any {
	if p := r.at(); len(p) > 0 {
		return statement.As(p)
	}
	return r.subject()
}

// at is what a reading is of, but for its quantity.
func (r *reading) at() (p statement.Phrase) {
	if nm, ok := value("wavelength_nm", r.fields.get("wavelength_nm")).Argument.(statement.Count); ok {
		p = append(p, statement.As(statement.NM(nm)))
	} else if nm, ok := value("wavelength_nm", r.fields.get("wavelength_nm")).Argument.(statement.NM); ok {
		p = append(p, statement.As(nm))
	}
	if way := r.fields.text("direction"); way != "" {
		p = append(p, statement.As(statement.Way(record.Direction(way))))
	}
	if event := r.fields.text("event"); event != "" {
		p = append(p, statement.As(statement.Name(event)))
	}
	return p
}

// value is what was read, with its unit; the text that the instrument showed where a
// number only stands for it.
func (r *reading) value() statement.Any {
	if shown := r.fields.text("shown"); shown != "" {
		return statement.As(statement.Name(shown))
	}
	v := value("value", r.fields.text("value"))
	v.Unit = "dB"
	if r.fields.text("quantity") == string(record.Length) {
		v.Unit = "m"
	}
	return v
}

// sameNumber compares values as numbers: 0.80 is 0.800.
func sameNumber(a, b statement.Any) bool {
	x, isNumber := a.Argument.(statement.Number)
	y, both := b.Argument.(statement.Number)
	if isNumber && both {
		return x.Equal(y.Decimal)
	}
	return keyOf(a) == keyOf(b)
}

func (r *reading) row() statement.Row {
	o := statement.Row{File: r.fields.text("file"), Cell: r.fields.text("cell")}
	if n, ok := r.fields.get("row").(json.Number); ok {
		row, _ := n.Int64() // a row that is no number is not printed
		o.Row = int(row)
	}
	return o
}

// The most statements of one kind that are said one by one: beyond, one says of
// how many links they are.
const (
	mostReadings = 40
	mostRows     = 8
)

// readings compares those that count, and those that are superseded.
func (g *gathering) readings(id string, was, is *link, older bool) error {
	now, err := readingsOf(is.Readings)
	if err != nil {
		return err
	}
	var old []reading
	if older {
		old, err = hanging(was.Findings)
	} else {
		old, err = readingsOf(was.Readings)
	}
	if err != nil {
		return err
	}
	g.counting(id, old, now, older)
	if older {
		return nil
	}
	past, err := readingsOf(was.Superseded)
	if err != nil {
		return err
	}
	superseded, err := readingsOf(is.Superseded)
	if err != nil {
		return err
	}
	if err := g.stages(id, was.Stages, is.Stages); err != nil {
		return err
	}
	// Whatever counted and is superseded now goes without saying; so does what was
	// superseded and counts again.
	for _, r := range missing(superseded, slices.Concat(past, old)) {
		g.links(readingPart, id, "change.superseded-new", r.subject(), r.value())
	}
	for _, r := range missing(past, slices.Concat(superseded, now)) {
		g.links(readingPart, id, "change.superseded-gone", r.subject(), r.value())
	}
	return nil
}

// stages compares the readings of other stages of the work.
func (g *gathering) stages(id string, before, after []json.RawMessage) error {
	was, err := readingsOf(before)
	if err != nil {
		return err
	}
	is, err := readingsOf(after)
	if err != nil {
		return err
	}
	tell := func(code string, list, among []reading) {
		for _, r := range list {
			stage := statement.Word{Group: "stage", Code: r.fields.text("method.stage")}
			same := func(o reading) bool { return o.fields.text("method.stage") == stage.Code }
			if len(missing([]reading{r}, slices.DeleteFunc(slices.Clone(among), func(o reading) bool { return !same(o) }))) > 0 && stage.Code != "" {
				g.links(readingPart, id, code, r.subject(), stage, r.value())
			}
		}
	}
	tell("change.stage-new", is, was)
	tell("change.stage-gone", was, is)
	return nil
}

// methods begins the names of how a reading was made, which stand there only where that
// is not as the job has it; policy begins those of the job.
const methods, policy = "method.", "judge."

// ways are how the readings of a job were made that say nothing of it, named as of a
// reading.
func (f fields) ways() (out fields) {
	for _, name := range []string{"reference", "test_cords", "launch", "software", "group_index"} {
		if v := f.get(policy + name); v != nil {
			out = append(out, field{methods + name, v})
		}
	}
	return out
}

// inFull adds to the fields of a reading, old and new, how it was made by its job, if one of
// the two says so itself: else a job that changed its way would seem to have changed that of
// a reading which has its own.
func (g *gathering) inFull(old, now fields) (fields, fields) {
	own := func(f field) bool { return strings.HasPrefix(f.name, methods) }
	if !slices.ContainsFunc(old, own) && !slices.ContainsFunc(now, own) {
		return old, now
	}
	fill := func(f, ways fields) fields {
		f = slices.Clone(f)
		for _, way := range ways {
			if f.get(way.name) == nil {
				f = append(f, way)
			}
		}
		return f
	}
	return fill(old, g.ways[0]), fill(now, g.ways[1])
}

// counting compares the readings that count.
func (g *gathering) counting(id string, old, now []reading, older bool) {
	var together sharing
	changed := alikes{alone: "change.reading", together: "change.readings-changed"}
	added := alikes{alone: "change.reading-new", together: "change.readings-new"}
	gone := alikes{alone: "change.reading-gone", together: "change.readings-gone"}
	read := func(r *reading) statement.Statement {
		return statement.New("value.read", r.place(), r.value())
	}
	for _, r := range now {
		before := findReading(old, r.key)
		if before == nil {
			if !older {
				added.note(&r, read(&r), nil, r.subject(), r.value())
			}
			continue
		}
		from, to := before.row(), r.row()
		switch {
		case !sameNumber(before.value(), r.value()):
			changed.note(&r, step(before, &r), []statement.Argument{statement.Name(to.File)}, r.subject(), before.value(), r.value(), to)
		case from.File != to.File:
			together.note(r.subject(), "change.origin", statement.Name(from.File), statement.Name(to.File))
		case from != to:
			g.crowded("row\x00"+to.File, mostRows, func(links statement.Amount) statement.Statement {
				return statement.New("change.rows", statement.Name(to.File), links)
			}, readingPart, id, "change.row", r.subject(), from, to)
		}
		but := slices.Concat(identity, origin)
		if from.File != to.File { // another reading has its own time
			but = append(but, "time", "reference_time", "reference_dbm", "received_dbm", "note", "alias")
		}
		if older {
			but = append(but, "source", "reference_time", "reference_dbm", "received_dbm", "note", "alias", "event")
		}
		was, is := g.inFull(before.fields, r.fields)
		for _, d := range differ(was, is, but...) {
			together.note(r.subject(), "change.reading-field", word(d.name), value(d.name, d.old), value(d.name, d.now))
		}
	}
	for _, r := range old {
		if !older && findReading(now, r.key) == nil {
			gone.note(&r, read(&r), nil, r.subject(), r.value())
		}
	}
	for _, all := range []*alikes{&changed, &added, &gone} {
		all.tell(g, id)
	}
	together.tell(g, readingPart, id)
}

// step is what a reading was and is, with the unit said once.
func step(before, now *reading) statement.Statement {
	old := before.value()
	if to := now.value(); to.Unit == old.Unit && !isName(to) && !isName(old) {
		old.Unit = ""
	}
	return statement.New("value.step", now.place(), old, now.value())
}

func isName(v statement.Any) bool { _, ok := v.Argument.(statement.Name); return ok }

// unitOnce leaves their unit to the last of several values, where all of them are numbers
// of one unit.
func unitOnce(parts statement.List) statement.List {
	last := func(one statement.Argument) statement.Any {
		args := one.(statement.Statement).Args
		return args[len(args)-1].(statement.Any)
	}
	unit := last(parts[len(parts)-1]).Unit
	for _, one := range parts {
		for _, v := range one.(statement.Statement).Args[1:] {
			if v := v.(statement.Any); isName(v) || v.Unit != "" && v.Unit != unit {
				return parts
			}
		}
	}
	out := slices.Clone(parts)
	for i, one := range out[:len(out)-1] {
		v, s := last(one), one.(statement.Statement)
		v.Unit = ""
		s.Args = append(slices.Clone(s.Args[:len(s.Args)-1]), v)
		out[i] = s
	}
	return out
}

// alikes are changes of one kind of the readings of a link: those of one quantity, and of
// one file where that matters, are one statement.
type alikes struct {
	alone, together string // the codes of one, and of several
	of              []*alike
}

type alike struct {
	quantity statement.Word
	key      string
	parts    statement.List       // of the statement about several
	file     []statement.Argument // that it names
	args     []statement.Argument // of the first alone, behind its link
}

// note adds a change, as a part of a statement about several and with its arguments alone.
func (a *alikes) note(r *reading, part statement.Statement, file []statement.Argument, args ...statement.Argument) {
	key := r.quantity().Code
	for _, f := range file {
		key += "\x00" + keyOf(f)
	}
	i := slices.IndexFunc(a.of, func(one *alike) bool { return one.key == key })
	if i < 0 {
		i = len(a.of)
		a.of = append(a.of, &alike{quantity: r.quantity(), key: key, file: file, args: args})
	}
	a.of[i].parts = append(a.of[i].parts, part)
}

// tell says them of a link.
func (a *alikes) tell(g *gathering, id string) {
	for _, one := range a.of {
		code, args := a.alone, one.args
		if len(one.parts) > 1 {
			code, args = a.together, slices.Concat([]statement.Argument{one.quantity, unitOnce(one.parts)}, one.file)
		}
		g.manyReadings(one.quantity, id, code, args...)
	}
}

// sharing are changes that several readings or limits of one link may have in common.
type sharing []*shared

type shared struct {
	key, code string
	of        []statement.Any
	args      []statement.Argument
}

// note adds what a change is of.
func (s *sharing) note(of statement.Any, code string, args ...statement.Argument) {
	key := code
	for _, a := range args {
		key += "\x00" + keyOf(a)
	}
	i := slices.IndexFunc(*s, func(one *shared) bool { return one.key == key })
	if i < 0 {
		i = len(*s)
		*s = append(*s, &shared{key: key, code: code, args: args})
	}
	(*s)[i].of = append((*s)[i].of, of)
}

// tell says them of a link.
func (s sharing) tell(g *gathering, p section, id string) {
	for _, one := range s {
		g.links(p, id, one.code, slices.Concat([]statement.Argument{statement.AnyOf(one.of...)}, one.args)...)
	}
}

// manyReadings adds a change of readings, of which there may be as many as links.
func (g *gathering) manyReadings(of statement.Word, id, code string, args ...statement.Argument) {
	g.crowded("reading\x00"+of.Code, mostReadings, func(links statement.Amount) statement.Statement {
		return statement.New("change.readings", statement.As(statement.Phrase{statement.As(of)}), links)
	}, readingPart, id, code, args...)
}

// missing returns the readings that are not among others, by what they are of,
// value and place.
func missing(list, among []reading) (out []reading) {
	same := func(a, b *reading) bool {
		for _, name := range slices.Concat(identity, []string{"value", "shown", "file"}) {
			if a.fields.text(name) != b.fields.text(name) {
				return false
			}
		}
		return true
	}
	for _, r := range list {
		if !slices.ContainsFunc(among, func(o reading) bool { return same(&o, &r) }) {
			out = append(out, r)
		}
	}
	return out
}

// hanging are the readings of an older form, which hang on findings.
func hanging(findings []finding) ([]reading, error) {
	var out []reading
	for _, f := range findings {
		rs, err := readingsOf(f.Readings)
		if err != nil {
			return nil, err
		}
		for _, r := range rs {
			if r.fields.text("fate") == string(record.Used) && findReading(out, r.key) == nil {
				out = append(out, r)
			}
		}
	}
	return out, nil
}

// limits compares the limits that both have, by what they bind and by set.
func (g *gathering) limits(id string, before, after []finding) {
	var together sharing
	old := bound(before)
	for key, f := range bound(after).all() {
		was, ok := old.of[key]
		if !ok || keyOf(was.limit()) == keyOf(f.limit()) {
			continue
		}
		together.note(f.subject(), "change.limit", statement.Name(f.Set), was.limit(), f.limit())
	}
	together.tell(g, limitPart, id)
}

// bounds are findings against limits by what they bind.
type bounds struct {
	order []string
	of    map[string]*finding
}

func (b bounds) all() func(func(string, *finding) bool) {
	return func(yield func(string, *finding) bool) {
		for _, key := range b.order {
			if !yield(key, b.of[key]) {
				return
			}
		}
	}
}

func bound(findings []finding) bounds {
	b := bounds{of: map[string]*finding{}}
	at := map[string]int{}
	for i := range findings {
		f := &findings[i]
		if f.Limit == "" || f.Set == "" {
			continue // of no set is the job's own limit, which is among its terms
		}
		key := fmt.Sprintf("%s\x00%s\x00%d\x00%s\x00%s\x00%s\x00%s", f.Code, f.Quantity, f.WavelengthNM, f.Direction, f.End, f.Set, f.Percentile)
		at[key]++
		key = fmt.Sprintf("%s\x00%d", key, at[key])
		b.order = append(b.order, key)
		b.of[key] = f
	}
	return b
}

func (f *finding) subject() statement.Any {
	p := statement.Phrase{statement.As(statement.Word{Group: "quantity", Code: f.Quantity})}
	if f.WavelengthNM > 0 {
		p = append(p, statement.As(statement.NM(f.WavelengthNM)))
	}
	switch way := record.Direction(f.Direction); {
	case way == record.TwoWay: // its quantity says so
	case way != "":
		p = append(p, statement.As(statement.Way(way)))
	case f.End != "":
		p = append(p, statement.As(statement.End(f.End)))
	}
	return statement.As(p)
}

// limit is what is allowed: of a limit between two, both.
func (f *finding) limit() statement.Any {
	if len(f.Between) == 2 {
		return statement.AnyOf(f.number(f.Between[0]), f.number(f.Between[1]))
	}
	return f.number(f.Limit)
}

func (f *finding) number(text string) statement.Any {
	d, err := quantity.Parse(text)
	if err != nil {
		return statement.As(statement.Name(text))
	}
	return statement.Any{Argument: statement.Number{Decimal: d}, Unit: f.Unit}
}

// questions are those that findings ask.
func questions(findings []finding) (out []statement.Statement) {
	for _, f := range findings {
		if q := f.Question; q.Code != "" {
			q.Text = "" // its form makes it
			out = append(out, q)
		}
	}
	return out
}

// apart returns the statements that only one of two lists has, each once.
func apart(old, now []statement.Statement) (added, settled []statement.Statement) {
	less := func(list, other []statement.Statement) (out []statement.Statement) {
		seen := map[string]bool{}
		for _, s := range other {
			seen[s.Key()] = true
		}
		for _, s := range list {
			if key := s.Key(); !seen[key] {
				seen[key] = true
				out = append(out, s)
			}
		}
		return out
	}
	return less(now, old), less(old, now)
}
