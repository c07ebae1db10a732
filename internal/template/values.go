package template

import (
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
)

// Values reads what the keys of a template stand for, and collects what is
// wrong with it.
type Values struct {
	Template
	Problems *diag.List
}

// ReadValues is ReadOver for a template whose values are to be read.
func ReadValues(base, over fs.FS, name string, problems *diag.List) Values {
	return Values{ReadOver(base, over, name, problems), problems}
}

// Refuse says what a key should hold.
func (v Values) Refuse(key, want string) {
	e := v.Template[key]
	v.Problems.Add(diag.Problem{Code: "bad-value", Place: e.Place, Message: fmt.Sprintf("%s: %q is not possible here", key, e.Text), Want: want,
		Fix: "correct the value"})
}

// RefuseOne refuses the first of several keys that the job's own file changed,
// or the first.
func (v Values) RefuseOne(want string, keys ...string) {
	for _, key := range keys {
		if v.Template[key].Own {
			v.Refuse(key, want)
			return
		}
	}
	v.Refuse(keys[0], want)
}

// Text is the text of a key.
func (v Values) Text(key string) string { return v.Template[key].Text }

// Number reads a number from least to most.
func (v Values) Number(key string, least, most float64) float64 {
	return v.NumberOr(key, least, most, "")
}

// NumberOr is Number where a word may stand instead, which the way out names.
func (v Values) NumberOr(key string, least, most float64, word string) float64 {
	n, err := strconv.ParseFloat(v.Template[key].Text, 64)
	if err != nil || !(n >= least && n <= most) {
		want := fmt.Sprintf("want a number from %g to %g", least, most)
		if word != "" {
			want += ", or " + word
		}
		v.Refuse(key, want)
	}
	return n
}

// OneOf reads one of a few words.
func (v Values) OneOf(key string, words ...string) string {
	if text := v.Text(key); slices.Contains(words, text) {
		return text
	}
	v.Refuse(key, "want "+strings.Join(words, " or "))
	return words[0]
}

// Choice reads a list whose items are all known, each at most once.
func (v Values) Choice(key string, known []string) []string {
	var chosen []string
	for _, item := range v.Template[key].List {
		problem := ""
		switch {
		case !slices.Contains(known, item.Text):
			problem = "is not known"
		case slices.Contains(chosen, item.Text):
			problem = "occurs here twice"
		}
		if problem != "" {
			v.Problems.Add(diag.Problem{Code: "bad-value", Place: item.Place, Message: fmt.Sprintf("%s: %q %s", key, item.Text, problem),
				Want: "want some of " + strings.Join(known, ", "), Fix: "correct the name, or remove it"})
			continue
		}
		chosen = append(chosen, item.Text)
	}
	return chosen
}

// Keeping refuses a choice that lacks something. A name that is not known may be
// meant for it, and is refused already.
func (v Values) Keeping(key string, chosen, needed []string) []string {
	if len(chosen) < len(v.Template[key].List) {
		return chosen
	}
	var lacking []string
	for _, name := range needed {
		if !slices.Contains(chosen, name) {
			lacking = append(lacking, name)
		}
	}
	if len(lacking) > 0 {
		v.Problems.Add(diag.Problem{Code: "missing-section", Place: v.Template[key].Place, Message: fmt.Sprintf("%s: %s cannot be left out", key, strings.Join(lacking, ", ")),
			Want: "want at least " + strings.Join(needed, ", ") + ", in any order", Fix: "add what is missing; to change a heading, write your own in wording/"})
	}
	return chosen
}
