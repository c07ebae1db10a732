package certify

import (
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
	literals []string // before, between and behind the values
	names    []string // of the values, in braces
	own      string
}

// arrowMark parts the English from a wording's own form.
const arrowMark = " => "

// parseSentence reads one line of the wording's list.
func parseSentence(line string) (sentence, bool) {
	english, own, ok := strings.Cut(line, arrowMark)
	if !ok {
		return sentence{}, false
	}
	for _, name := range placeholder.FindAllString(own, -1) {
		if !strings.Contains(english, name) {
			return sentence{}, false
		}
	}
	return sentence{placeholder.Split(english, -1), placeholder.FindAllString(english, -1), own}, true
}

// values are what stands in a text between the literals of a sentence, each at
// least one byte and as short as can be. There are some 230 forms to try for a
// text: expressions would take many times as long.
func (s *sentence) values(text string) (values []string, ok bool) {
	rest, ok := strings.CutPrefix(text, s.literals[0])
	last := len(s.literals) - 1
	if !ok || last == 0 {
		return nil, ok && rest == ""
	}
	rest, ok = strings.CutSuffix(rest, s.literals[last])
	for _, literal := range s.literals[1:last] {
		if rest == "" {
			return nil, false
		}
		at := 1 + strings.Index(rest[1:], literal)
		if at == 0 {
			return nil, false
		}
		values, rest = append(values, rest[:at]), rest[at+len(literal):]
	}
	return append(values, rest), ok && rest != ""
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
	for i := range forms {
		s := &forms[i]
		values, ok := s.values(text)
		if !ok {
			continue
		}
		pairs := make([]string, 0, 2*len(s.names))
		for i, name := range s.names {
			pairs = append(pairs, name, value(values[i]))
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
