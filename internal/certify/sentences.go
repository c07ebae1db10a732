package certify

import (
	"regexp"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// sentence is a sentence of the judge and how this wording says it. The judge
// writes plain English, which goes into records and results as it is; on paper
// a wording may hold its own form: "English with {a} => own form with {a}".
// What a wording lacks stays English.
type sentence struct {
	english *regexp.Regexp
	names   []string
	own     string
}

// arrowMark parts the English from a wording's own form.
const arrowMark = " => "

// parseSentence reads one line of the wording's list.
func parseSentence(line string) (sentence, bool) {
	english, own, ok := strings.Cut(line, arrowMark)
	if !ok {
		return sentence{}, false
	}
	var s sentence
	var pattern strings.Builder
	pattern.WriteString("^")
	at := 0
	for _, m := range placeholder.FindAllStringIndex(english, -1) {
		pattern.WriteString(regexp.QuoteMeta(english[at:m[0]]) + "(.+?)")
		s.names = append(s.names, english[m[0]:m[1]])
		at = m[1]
	}
	pattern.WriteString(regexp.QuoteMeta(english[at:]) + "$")
	s.english, s.own = regexp.MustCompile(pattern.String()), own // quoted: it always compiles
	for _, p := range placeholder.FindAllString(own, -1) {
		if !strings.Contains(english, p) {
			return sentence{}, false
		}
	}
	return s, true
}

// localised writes a number or a day that stands alone as the language does.
func (w *wording) localised(value string) string {
	if d, err := record.ParseDate(value); err == nil {
		return w.day(d)
	}
	if _, err := quantity.Parse(value); err == nil && strings.Contains(value, ".") {
		return w.localise(value)
	}
	return value
}

// judged is a sentence of the judge in this wording.
func (w *wording) judged(text string) string {
	for _, s := range w.sentences {
		m := s.english.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		pairs := make([]string, 0, 2*len(s.names))
		for i, name := range s.names {
			pairs = append(pairs, name, w.localised(m[i+1]))
		}
		return strings.NewReplacer(pairs...).Replace(s.own)
	}
	return text
}
