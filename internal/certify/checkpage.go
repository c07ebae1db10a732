package certify

import (
	"strings"

	"spanseal/internal/seal"
)

// checkTexts is what the keys of check.html's texts begin with.
const checkTexts = "check."

// PageWords are the texts of check.html in the language of the papers.
func (s *PaperSet) PageWords() seal.PageWords {
	w := s.words
	words := seal.PageWords{Language: w.Language, Decimal: w.Mark, Texts: map[string]string{}}
	for key, e := range w.Texts {
		if name, ok := strings.CutPrefix(key, checkTexts); ok {
			words.Texts[name] = e.Text
		}
	}
	return words
}
