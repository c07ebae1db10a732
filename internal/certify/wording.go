package certify

import (
	"fmt"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// schemaLanguage is the wording whose keys every other one must have.
const schemaLanguage = "en"

// wording is every sentence and caption in one language, and how that language
// writes numbers and dates.
type wording struct {
	language string
	texts    template
	numerals
	sentences, phrases        []sentence
	months, monthsLong        []string
	date, dateLong, dateShort string // "{day} {month} {year}"
}

// numerals is how numbers are written. Rounding is for print only: two places,
// more where two would hide which of two numbers is larger.
type numerals struct{ mark, group, minus string }

var placeholder = regexp.MustCompile(`\{[a-z_]+\}`)

// languages are those that have a wording in the files, in order.
func languages(files fs.FS) (tags []string) {
	names, _ := fs.Glob(files, "wording/*.yaml") // the pattern is well formed
	for _, name := range names {
		tags = append(tags, strings.TrimSuffix(path.Base(name), ".yaml"))
	}
	return tags
}

// hasLanguage refuses a language that neither the program nor the job has.
func (s *Set) hasLanguage(language string, problems *diag.List) bool {
	known := languages(s.Templates)
	if slices.Contains(known, language) || s.Overrides != nil && slices.Contains(languages(s.Overrides), language) {
		return true
	}
	p := diag.Problem{Code: "no-template", Place: diag.Place{File: "job.yaml"}, Message: fmt.Sprintf("there is no wording in the language %q", language),
		Want: "want " + strings.Join(known, " or "), Mend: fmt.Sprintf("correct the language, or add wording/%s.yaml to the job's folder", language)}
	if s.PlaceOf != nil {
		p.Place = s.PlaceOf("documents.language")
	}
	problems.Add(p)
	return false
}

// loadWording reads a language that the program or the job has.
func loadWording(base, over fs.FS, language string, problems *diag.List) *wording {
	before := problems.Errors()
	schema := readTemplate(base, "wording/"+schemaLanguage+".yaml", problems)
	name := "wording/" + language + ".yaml"
	var texts template
	if slices.Contains(languages(base), language) {
		texts = loadTemplate(base, over, name, problems)
	} else {
		texts = readTemplate(over, name, problems) // a language of the job's own
	}
	if problems.Errors() > before && len(texts) == 0 {
		return nil // nothing could be read, so that every key would be missing
	}
	compareKeys(schema, texts, name, problems)
	w := &wording{language: language, texts: texts}
	months := func(key string) (names []string) {
		for _, m := range texts[key].list {
			names = append(names, m.text)
		}
		if _, there := texts[key]; there && len(names) != 12 {
			problems.Add(diag.Problem{Code: "bad-value", Place: texts[key].place, Message: fmt.Sprintf("a year has 12 months, not %d", len(names)),
				Mend: "list all twelve"})
		}
		return names
	}
	w.months, w.monthsLong = months("locale.months"), months("locale.months_long")
	forms := func(key string) (list []sentence) {
		for _, e := range texts[key].list {
			s, ok := parseSentence(e.text)
			if !ok {
				problems.Add(diag.Problem{Code: "bad-value", Place: e.place, Message: "this is not a sentence with its own form",
					Want: `want "English with {a} => own form with {a}"`, Mend: "write both, with the same words in braces"})
				continue
			}
			list = append(list, s)
		}
		return list
	}
	w.sentences, w.phrases = forms("sentences"), forms("phrases")
	if problems.Errors() > before {
		return nil
	}
	w.mark, w.group, w.minus = w.say("locale.decimal"), w.say("locale.group"), w.say("locale.minus")
	w.date, w.dateLong, w.dateShort = w.say("locale.date"), w.say("locale.date_long"), w.say("locale.date_short")
	return w
}

// compareKeys holds a wording against the schema: every key is there, none
// besides, and no text asks for a value that its sentence does not have.
func compareKeys(schema, texts template, name string, problems *diag.List) {
	for _, key := range slices.Sorted(maps.Keys(schema)) {
		have, ok := texts[key]
		if !ok {
			problems.Add(diag.Problem{Code: "missing-key", Place: diag.Place{File: name},
				Message: fmt.Sprintf("%q is missing", key), Want: fmt.Sprintf("in English: %q", schema[key].text),
				Mend: "add the key with its text"})
			continue
		}
		for _, p := range placeholder.FindAllString(have.text, -1) {
			if !strings.Contains(schema[key].text, p) && !strings.Contains(schema[pluralSibling(key)].text, p) {
				problems.Add(diag.Problem{Code: "unknown-placeholder", Place: have.place,
					Message: fmt.Sprintf("%s is not a value of this sentence", p),
					Want:    fmt.Sprintf("in English: %q", schema[key].text), Mend: "use only the values that the English sentence has"})
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		if _, ok := schema[key]; !ok {
			problems.Add(unknownKey(texts[key].place, key, schema))
		}
	}
}

func pluralSibling(key string) string {
	if stem, ok := strings.CutSuffix(key, ".one"); ok {
		return stem + ".other"
	}
	return key
}

// say returns a text with its values filled in: pairs of name and value. A key
// that does not exist is a programming fault, found by a test over the source.
func (w *wording) say(key string, values ...string) string {
	e, ok := w.texts[key]
	if !ok {
		panic("certify: no wording for " + key)
	}
	return fill(e.text, values...)
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

// has reports whether there is a text for the key.
func (w *wording) has(key string) bool { _, ok := w.texts[key]; return ok }

// term is the wording of a code of ours, or the code itself where an owner's
// own file invented one.
func (w *wording) term(prefix, code string) string {
	if key := prefix + "." + code; w.has(key) {
		return w.say(key)
	}
	return strings.ReplaceAll(code, "_", " ")
}

// endFace is what the inspection of an end face said.
func (w *wording) endFace(e record.EndFace) string {
	return w.term("end_face", strings.ReplaceAll(string(e), " ", "_"))
}

// count is the form of a text for a number of things: key.one or key.other.
func (w *wording) count(key string, n int, values ...string) string {
	form := ".other"
	if n == 1 {
		form = ".one"
	}
	return w.say(key+form, append(values, "n", w.whole(n))...)
}

// list joins texts: "a, b and c".
func (w *wording) list(texts []string) string {
	switch n := len(texts); n {
	case 0:
		return ""
	case 1:
		return texts[0]
	default:
		return strings.Join(texts[:n-1], ", ") + " " + w.say("locale.and") + " " + texts[n-1]
	}
}

// fixed writes a decimal with a number of places.
func (n numerals) fixed(d quantity.Decimal, places int) string { return n.localise(d.Fixed(places)) }

// short writes a decimal without trailing zeros.
func (n numerals) short(d quantity.Decimal) string { return n.localise(d.Short()) }

// whole writes a count.
func (n numerals) whole(v int) string { return n.localise(strconv.Itoa(v)) }

func (n numerals) localise(s string) string {
	sign := ""
	if rest, negative := strings.CutPrefix(s, "-"); negative {
		sign, s = n.minus, rest
	}
	whole, places, has := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0 && len(whole) > 3; i -= 3 {
		whole = whole[:i] + n.group + whole[i:]
	}
	if has {
		whole += n.mark + places
	}
	return sign + whole
}

// nanometres writes a wavelength; it is a name more than a number, so it has no
// thousands mark.
func nanometres(nm int) string { return strconv.Itoa(nm) }

// day writes a date, with the month's short name.
func (w *wording) day(d record.Date) string { return w.write(d, w.date, w.months) }

// longDay writes a date for a sentence.
func (w *wording) longDay(d record.Date) string { return w.write(d, w.dateLong, w.monthsLong) }

// shortDay leaves the year out where it is that of another date on the page.
func (w *wording) shortDay(d, other record.Date) string {
	if d.Time().Year() == other.Time().Year() {
		return w.write(d, w.dateShort, w.months)
	}
	return w.day(d)
}

// write keeps a date on one line: its spaces do not break.
func (w *wording) write(d record.Date, form string, months []string) string {
	if d.IsZero() {
		return ""
	}
	y, m, dd := d.Time().Date()
	return unbroken(fill(form, "day", strconv.Itoa(dd), "month", months[m-1], "year", strconv.Itoa(y)))
}

// days writes a span of days.
func (w *wording) days(first, last record.Date) string {
	if first.Equal(last) {
		return w.day(first)
	}
	from := w.day(first)
	if y, m, d := first.Time().Date(); y == last.Time().Year() && m == last.Time().Month() {
		from = strconv.Itoa(d)
	}
	return w.say("locale.span", "first", from, "last", w.day(last))
}

// clock writes the time of day, nothing where no hour was written.
func clock(t time.Time) string {
	if t.IsZero() || record.DayOnly(t) {
		return ""
	}
	return t.Format("15:04")
}
