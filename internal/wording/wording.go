// Package wording says things in a language: captions, sentences and statements
// by their codes, numbers and days by the language's custom.
//
// A wording is a file templates/wording/LANGUAGE.yaml. English is the schema: any
// other has the same keys and no text asks for a value that its English does not
// have. Under "says" stands one form for each code of package statement, or,
// where a count tells them apart, one for "one" and another for "other"; what
// stands in {braces} is an argument. Words of the vocabulary, such as directions,
// stand under the name of their group.
package wording

import (
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/template"
)

// schemaLanguage is the wording whose keys every other one must have.
const schemaLanguage = "en"

// Wording is every sentence and caption in one language, and how that language
// writes numbers and dates.
type Wording struct {
	Language string
	Texts    template.Template
	Numerals
	months, monthsLong        []string
	date, dateLong, dateShort string // "{day} {month} {year}"

	cited sync.Map // citations by their text, which limit sets have few of and papers many
}

// Numerals is how numbers are written. Rounding is for print only: two places,
// more where two would hide which of two numbers is larger.
type Numerals struct{ Mark, group, minus string }

var placeholder = regexp.MustCompile(`\{[a-z_]+\}`)

// Languages are those that have a wording in the files, in order.
func Languages(files fs.FS) (tags []string) {
	names, _ := fs.Glob(files, "wording/*.yaml") // the pattern is well formed
	for _, name := range names {
		tags = append(tags, strings.TrimSuffix(path.Base(name), ".yaml"))
	}
	return tags
}

// Load reads a language that the program or the job has.
func Load(base, over fs.FS, language string, problems *diag.List) *Wording {
	before := problems.Errors()
	schema := template.Read(base, "wording/"+schemaLanguage+".yaml", problems)
	name := "wording/" + language + ".yaml"
	var texts template.Template
	switch {
	case language == schemaLanguage:
		texts = schema.Under(over, name, problems)
	case slices.Contains(Languages(base), language):
		texts = template.ReadOver(base, over, name, problems)
	default:
		texts = template.Read(over, name, problems) // a language of the job's own
	}
	if problems.Errors() > before && len(texts) == 0 {
		return nil // nothing could be read, so that every key would be missing
	}
	compareKeys(schema, texts, name, problems)
	w := &Wording{Language: language, Texts: texts}
	months := func(key string) (names []string) {
		for _, m := range texts[key].List {
			names = append(names, m.Text)
		}
		if _, there := texts[key]; there && len(names) != 12 {
			problems.Add(diag.Problem{Code: "bad-value", Place: texts[key].Place, Message: fmt.Sprintf("a year has 12 months, not %d", len(names)),
				Fix: "list all twelve"})
		}
		return names
	}
	w.months, w.monthsLong = months("locale.months"), months("locale.months_long")
	if problems.Errors() > before {
		return nil
	}
	w.Mark, w.group, w.minus = w.Say("locale.decimal"), w.Say("locale.group"), w.Say("locale.minus")
	w.date, w.dateLong, w.dateShort = w.Say("locale.date"), w.Say("locale.date_long"), w.Say("locale.date_short")
	return w
}

// Own reports whether the job says some of it in words of its own.
func (w *Wording) Own() bool {
	for _, text := range w.Texts {
		if text.Own {
			return true
		}
	}
	return false
}

// compareKeys holds a wording against the schema: every key is there, none
// besides, and no text asks for a value that its sentence does not have.
func compareKeys(schema, texts template.Template, name string, problems *diag.List) {
	for _, key := range slices.Sorted(maps.Keys(schema)) {
		have, ok := texts[key]
		if !ok {
			problems.Add(diag.Problem{Code: "missing-key", Place: diag.Place{File: name},
				Message: fmt.Sprintf("%q is missing", key), Want: fmt.Sprintf("in English: %q", schema[key].Text),
				Fix: "add the key with its text"})
			continue
		}
		for _, p := range placeholder.FindAllString(have.Text, -1) {
			if !strings.Contains(schema[key].Text, p) && !strings.Contains(schema[pluralSibling(key)].Text, p) {
				problems.Add(diag.Problem{Code: "unknown-placeholder", Place: have.Place,
					Message: fmt.Sprintf("%s is not a placeholder of this sentence", p),
					Want:    fmt.Sprintf("in English: %q", schema[key].Text), Fix: "use only the placeholders of the English sentence"})
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		if _, ok := schema[key]; !ok {
			problems.Add(template.UnknownKey(texts[key].Place, key, schema))
		}
	}
}

func pluralSibling(key string) string {
	if stem, ok := strings.CutSuffix(key, ".one"); ok {
		return stem + ".other"
	}
	return key
}

// Say returns a text with its values filled in: pairs of name and value. A key
// that does not exist is a programming fault, found by a test over the source.
func (w *Wording) Say(key string, values ...string) string {
	e, ok := w.Texts[key]
	if !ok {
		panic("wording: no text for " + key)
	}
	return fill(e.Text, values...)
}

// fill puts values in the place of their names in braces. A strings.Replacer
// does the same, but makes a table first, which takes far longer than the text.
func fill(text string, values ...string) string {
	if len(values) == 0 {
		return text
	}
	var b strings.Builder
	size := len(text)
	for i := 1; i < len(values); i += 2 {
		size += len(values[i])
	}
	b.Grow(size)
next:
	for {
		open := strings.IndexByte(text, '{')
		if open < 0 {
			break
		}
		b.WriteString(text[:open])
		text = text[open:]
		for i := 0; i+1 < len(values); i += 2 {
			if n := len(values[i]) + 1; len(text) > n && text[n] == '}' && text[1:n] == values[i] {
				b.WriteString(values[i+1])
				text = text[n+1:]
				continue next
			}
		}
		b.WriteByte('{')
		text = text[1:]
	}
	b.WriteString(text)
	return b.String()
}

// Has reports whether there is a text for the key.
func (w *Wording) Has(key string) bool { _, ok := w.Texts[key]; return ok }

// Term is the wording of a code of ours, or the code itself where an owner's
// own file invented one.
func (w *Wording) Term(prefix, code string) string {
	if key := prefix + "." + code; w.Has(key) {
		return w.Say(key)
	}
	return strings.ReplaceAll(code, "_", " ")
}

// EndFace is what the inspection of an end face said.
func (w *Wording) EndFace(e record.EndFace) string {
	return w.Term("end_face", strings.ReplaceAll(string(e), " ", "_"))
}

// Count is the form of a text for a number of things: key.one or key.other.
func (w *Wording) Count(key string, n int, values ...string) string {
	form := ".other"
	if n == 1 {
		form = ".one"
	}
	return w.Say(key+form, append(values, "n", w.Whole(n))...)
}

// List joins texts: "a, b and c".
func (w *Wording) List(texts []string) string { return w.join(texts, "locale.and") }

func (w *Wording) join(texts []string, last string) string {
	switch n := len(texts); n {
	case 0:
		return ""
	case 1:
		return texts[0]
	default:
		if key := last + "_before_" + sound(texts[n-1]); w.Has(key) {
			last = key
		}
		return strings.Join(texts[:n-1], ", ") + " " + w.Say(last) + " " + texts[n-1]
	}
}

// sound is the vowel that a text begins with when it is read in a language in which
// "and" and "or" change before their own vowel, as Spanish y and o do (common
// practice): "i" of Idris and hilo, not of hielo; "o" of otro, hora, 8 and 850.
func sound(text string) string {
	text = strings.ToLower(text)
	switch {
	case strings.HasPrefix(text, "hie"), strings.HasPrefix(text, "hia"), strings.HasPrefix(text, "hio"):
		return ""
	case strings.HasPrefix(text, "i"), strings.HasPrefix(text, "hi"), strings.HasPrefix(text, "í"):
		return "i"
	case strings.HasPrefix(text, "o"), strings.HasPrefix(text, "ho"), strings.HasPrefix(text, "ó"), strings.HasPrefix(text, "8"),
		text == "11", strings.HasPrefix(text, "11 "):
		return "o"
	}
	return ""
}

// Fixed writes a decimal with a number of places.
func (n Numerals) Fixed(d quantity.Decimal, places int) string { return n.Localise(d.Fixed(places)) }

// Short writes a decimal without trailing zeros.
func (n Numerals) Short(d quantity.Decimal) string { return n.Localise(d.Short()) }

// Whole writes a count.
func (n Numerals) Whole(v int) string { return n.Localise(strconv.Itoa(v)) }

// Localise writes the digits of a number in this language. Four digits stay together
// (SI Brochure, 9th edition, 5.4.4; for Spanish also the Ortografía of 2010).
func (n Numerals) Localise(s string) string {
	sign := ""
	if rest, negative := strings.CutPrefix(s, "-"); negative {
		sign, s = n.minus, rest
	}
	whole, places, has := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0 && len(whole) > 4; i -= 3 {
		whole = whole[:i] + n.group + whole[i:]
	}
	if has {
		whole += n.Mark + places
	}
	return sign + whole
}

// Nanometres writes a wavelength; it is a name more than a number, so it has no
// thousands mark.
func Nanometres(nm int) string { return strconv.Itoa(nm) }

// Day writes a date, with the month's short name.
func (w *Wording) Day(d record.Date) string { return w.write(d, w.date, w.months) }

// LongDay writes a date for a sentence.
func (w *Wording) LongDay(d record.Date) string { return w.write(d, w.dateLong, w.monthsLong) }

// ShortDay leaves the year out where it is that of another date on the page.
func (w *Wording) ShortDay(d, other record.Date) string {
	if d.Time().Year() == other.Time().Year() {
		return w.write(d, w.dateShort, w.months)
	}
	return w.Day(d)
}

// write keeps a date on one line: its spaces do not break.
func (w *Wording) write(d record.Date, form string, months []string) string {
	if d.IsZero() {
		return ""
	}
	y, m, dd := d.Time().Date()
	return Unbroken(fill(form, "day", strconv.Itoa(dd), "month", months[m-1], "year", strconv.Itoa(y)))
}

// Days writes a span of Days.
func (w *Wording) Days(first, last record.Date) string {
	if first.Equal(last) {
		return w.Day(first)
	}
	from := w.Day(first)
	if y, m, d := first.Time().Date(); y == last.Time().Year() && m == last.Time().Month() {
		from = w.Say("locale.date_day", "day", strconv.Itoa(d))
	}
	return w.Say("locale.span", "first", from, "last", w.Day(last))
}

// Clock writes the time of day, nothing where no hour was written.
func Clock(t time.Time) string {
	if t.IsZero() || record.DayOnly(t) {
		return ""
	}
	return t.Format("15:04")
}

// Unbroken keeps a text on one line: its spaces do not break.
func Unbroken(text string) string { return strings.ReplaceAll(text, " ", "\u00A0") }

// State says a statement in this language; "" of the zero Statement.
func (w *Wording) State(s statement.Statement) string {
	e := s.Entry()
	if e == nil {
		return ""
	}
	values := make([]string, 0, 2*len(s.Args))
	for i, a := range s.Args {
		values = append(values, e.Params[i].Name, w.value(a))
	}
	key := "says." + s.Code
	if !w.Has(key) { // one form for one, another for more
		key += plural(s.Args)
	}
	return w.Say(key, values...)
}

// plural is the form of a statement's text that its first count asks for.
func plural(args []statement.Argument) string {
	for _, a := range args {
		if n, ok := a.(statement.Count); ok && n == 1 {
			return ".one"
		} else if ok {
			break
		}
	}
	return ".other"
}

// States says several, each once.
func (w *Wording) States(all []statement.Statement) (texts []string) {
	for _, s := range all {
		if text := w.State(s); text != "" && !slices.Contains(texts, text) {
			texts = append(texts, text)
		}
	}
	return texts
}

// Told returns a statement with its text in this language.
func (w *Wording) Told(s statement.Statement) statement.Statement {
	s.Text = w.State(s)
	return s
}

// eachNM stands in a text for the wavelengths that [Wording.Together] puts there.
const eachNM = "\uFFFC"

// at puts wavelengths, in nm, into the text of statements that differ in them alone:
// one that [statement.Apart] has taken its own from.
func (w *Wording) at(text string, nm []statement.NM) string {
	if !strings.Contains(text, eachNM) {
		return text
	}
	all := make([]string, len(nm))
	for i, v := range nm {
		all[i] = Nanometres(int(v))
	}
	return strings.ReplaceAll(text, eachNM, w.List(all))
}

// SaidApart is a text that [statement.Apart] has taken the wavelength from, or one that
// has none, and what else it shares with those that are said together with it.
type SaidApart struct {
	Text, With string
	NM         statement.NM // 0 for none
}

// SaidTogether is a text that stands for some of many, by their numbers.
type SaidTogether struct {
	Text string
	Of   []int
}

// Together says texts that differ in their wavelengths alone as one, in the place of the
// first, with all wavelengths. A text without one stays alone.
func (w *Wording) Together(apart []SaidApart) []SaidTogether {
	type key struct{ text, with string }
	var out []SaidTogether
	at, nms := map[key]int{}, [][]statement.NM{}
	for i, one := range apart {
		k := key{one.Text, one.With}
		g, seen := at[k]
		if !seen || one.NM == 0 {
			g = len(out)
			at[k], out, nms = g, append(out, SaidTogether{}), append(nms, nil)
		}
		out[g].Of = append(out[g].Of, i)
		nms[g] = append(nms[g], one.NM)
	}
	for g := range out {
		out[g].Text = w.at(apart[out[g].Of[0]].Text, nms[g])
	}
	return out
}

// value writes an argument.
func (w *Wording) value(v statement.Argument) string {
	switch v := v.(type) {
	case statement.Name:
		return string(v)
	case statement.Number:
		return w.Localise(v.String())
	case statement.Count:
		return w.Whole(int(v))
	case statement.NM:
		if v == statement.EachNM {
			return eachNM
		}
		return Nanometres(int(v))
	case statement.Day:
		return w.Day(record.Date(v))
	case statement.Moment:
		return w.moment(time.Time(v))
	case statement.Word:
		return w.Term(v.Group, v.Code)
	case statement.List:
		return w.List(w.values(v))
	case statement.Either:
		return w.join(w.values(v), "locale.or")
	case statement.Some:
		return w.Say("locale.more", "list", strings.Join(w.values(v.First), ", "), "n", w.Whole(v.More))
	case statement.Amount:
		return w.Count("amount."+v.Of, v.N)
	case statement.Span:
		if v.From == v.To {
			return Nanometres(v.From)
		}
		return w.Say("locale.range", "from", Nanometres(v.From), "to", Nanometres(v.To))
	case statement.Row:
		return w.Row(record.Origin(v))
	case statement.Statement:
		return w.State(v)
	case statement.Subject:
		return w.Subject(v)
	case statement.Standard:
		return w.Edition(v.Name, v.Edition)
	case statement.Any:
		return w.any(v)
	case statement.Phrase:
		texts := make([]string, len(v))
		for i, item := range v {
			texts[i] = w.any(item)
		}
		return strings.Join(texts, " ")
	}
	panic(fmt.Sprintf("wording: no way to write a %T", v))
}

// any writes an argument of any type with its unit; what is not given is said.
func (w *Wording) any(v statement.Any) string {
	switch inner := v.Argument.(type) {
	case nil:
		return w.Say("locale.not_given")
	case statement.NM:
		return Nanometres(int(inner)) + Unbroken(" nm")
	case statement.Known:
		return w.Known(inner.Group, inner.Text)
	}
	text := w.value(v.Argument)
	if v.Unit != "" {
		text += Unbroken(" " + v.Unit)
	}
	return text
}

func (w *Wording) values(list []statement.Argument) []string {
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = w.value(v)
	}
	return out
}

// Subject names what a reading or a limit is about: "1310 nm, A to B". A quantity
// that is no loss of the whole link stands first: "reflectance, 1310 nm, end A".
func (w *Wording) Subject(s statement.Subject) string {
	var parts []string
	if s.Quantity != record.InsertionLoss && s.Quantity != record.TwoWayAverage {
		parts = append(parts, w.Term("quantity", string(s.Quantity)))
	}
	if s.NM > 0 {
		parts = append(parts, Nanometres(s.NM)+" nm")
	}
	if s.Way != "" {
		parts = append(parts, w.Term("way", string(s.Way)))
	}
	if s.End != "" {
		parts = append(parts, w.Say("end.name", "end", s.End))
	}
	if s.Event != "" {
		parts = append(parts, s.Event)
	}
	return strings.Join(parts, ", ")
}

// Row names a place in a file of readings.
func (w *Wording) Row(o record.Origin) string {
	switch {
	case o.Cell != "":
		return o.File + " " + o.Cell
	case o.Row > 0:
		return w.Say("locale.row", "file", o.File, "row", strconv.Itoa(o.Row))
	}
	return o.File
}

// moment writes an instant: its day, and its hour where one was written, with
// the second where it has one.
func (w *Wording) moment(t time.Time) string {
	day := w.Day(record.DateOf(t))
	if record.DayOnly(t) {
		return day
	}
	form := "15:04"
	if t.Second() != 0 {
		form = "15:04:05"
	}
	return day + "\u00A0" + t.Format(form)
}

// Known is a text of the job or of a limit set in this language, where the
// vocabulary has it: as a whole under its group; or its first words under the
// group's "of", with what follows in the place of {name}, or under the group, with
// what follows behind them; or each of its parts between commas. Else it stays as
// it is.
func (w *Wording) Known(group, text string) string {
	if key := group + "." + slug(text); w.Has(key) {
		return w.Say(key)
	}
	if parts := strings.Split(text, ", "); len(parts) > 1 {
		for i, p := range parts {
			parts[i] = w.Known(group, p)
		}
		return strings.Join(parts, ", ")
	}
	words := strings.Split(text, " ")
	for n := len(words) - 1; n > 0; n-- {
		first, rest := slug(strings.Join(words[:n], " ")), strings.Join(words[n:], " ")
		if key := group + "_of." + first; w.Has(key) {
			return w.Say(key, "name", rest)
		}
		if key := group + "." + first; w.Has(key) {
			return w.Say(key) + " " + rest
		}
	}
	return text
}

// Citation is the place in a standard, part by part: "clause 10.3, table 2".
func (w *Wording) Citation(text string) string {
	if known, ok := w.cited.Load(text); ok {
		return known.(string)
	}
	parts := strings.Split(text, ", ")
	for i, p := range parts {
		parts[i] = w.Known("citation", p)
	}
	said := strings.Join(parts, ", ")
	w.cited.Store(text, said)
	return said
}

// Edition is a standard with its edition.
func (w *Wording) Edition(standard, in string) string {
	if in == "" {
		return w.Citation(standard)
	}
	return w.Citation(standard) + " (" + w.Citation(in) + ")"
}

// slug is the key of a text: small letters and digits, "_" for all between.
func slug(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9')
	}), "_")
}
