package certify

import (
	"strings"

	"spanseal/internal/seal"
)

// checkTexts is what the keys of check.html's texts begin with.
const checkTexts = "check."

// PageWords are the texts of check.html in the language of the papers.
func (s *Set) PageWords() seal.PageWords {
	w := s.words
	words := seal.PageWords{Language: w.language, Decimal: w.mark, Texts: map[string]string{}}
	for key, e := range w.texts {
		if name, ok := strings.CutPrefix(key, checkTexts); ok {
			words.Texts[name] = e.text
		}
	}
	return words
}
