package certify

import (
	"regexp"
	"strings"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// sentence is a sentence of the judge and how this wording says it. The judge
// writes plain English, which goes into records and results as it is; on paper
// a wording may hold its own form: "English with {a} => own form with {a}".
// What stands in the place of a {value} may be a phrase, which has a list of the
// same form. What a wording lacks stays English.
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

// judged is a sentence of the judge in this wording, and its days as this
// language writes them.
func (w *wording) judged(text string) string {
	if own, ok := said(w.sentences, text, w.localised); ok {
		return own
	}
	return w.days8601(text)
}

// said is a text in its own form, where a list of forms has it, with its values
// as another function writes them.
func said(forms []sentence, text string, value func(string) string) (string, bool) {
	for _, s := range forms {
		m := s.english.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		pairs := make([]string, 0, 2*len(s.names))
		for i, name := range s.names {
			pairs = append(pairs, name, value(m[i+1]))
		}
		return strings.NewReplacer(pairs...).Replace(s.own), true
	}
	return "", false
}

// localised writes a value of a sentence as the language does: a phrase of the
// judge, a number that stands alone, days.
func (w *wording) localised(value string) string {
	if own, ok := said(w.phrases, value, w.localised); ok {
		return own
	}
	if _, err := quantity.Parse(value); err == nil && strings.Contains(value, ".") {
		return w.localise(value)
	}
	return w.days8601(value)
}

// phrase is a phrase of a limit set or a job in this wording: the name of a
// clause, a way of making an end, a kind of instrument. Its numbers are names.
func (w *wording) phrase(text string) string {
	if own, ok := said(w.phrases, text, w.phrase); ok {
		return own
	}
	return text
}

// parts are phrases between commas.
func (w *wording) parts(text string) string {
	if len(w.phrases) == 0 {
		return text
	}
	parts := strings.Split(text, ", ")
	for i, p := range parts {
		parts[i] = w.phrase(p)
	}
	return strings.Join(parts, ", ")
}

// days8601 writes the days of a text that stand in it as words of their own,
// such as 2026-11-18 (ISO 8601), as the language does. A day that is part of a
// file's name stays.
func (w *wording) days8601(text string) string {
	words := strings.Split(text, " ")
	for i, word := range words {
		if day := strings.Trim(word, "(),.;:?"); len(day) == len(time.DateOnly) {
			if d, err := record.ParseDate(day); err == nil {
				words[i] = strings.Replace(word, day, w.day(d), 1)
			}
		}
	}
	return strings.Join(words, " ")
}
