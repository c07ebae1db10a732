package crosscheck

import (
	"slices"
	"strings"
	"unicode"

	"spanseal/internal/statement"
)

// lookAlikes asks about names of the schedule that are easily mixed up, and about a
// letter where names like it have a digit.
func (c *check) lookAlikes() {
	asked := map[string]bool{}
	for _, alike := range []func(rune) rune{unicode.ToLower, twin} {
		same := map[string][]int{}
		var order []string
		for i := range c.Links {
			k := blur(c.Links[i].ID, alike)
			if same[k] == nil {
				order = append(order, k)
			}
			same[k] = append(same[k], i)
		}
		for _, k := range order {
			if which := same[k]; len(which) > 1 {
				question := statement.New("near-miss-names.alike", c.linksOf(which))
				if key := question.Key(); !asked[key] {
					asked[key] = true
					c.ask(question, which...)
				}
			}
		}
	}
	c.lettersForDigits()
}

// fewestShaped is how many names must have a digit where one has a letter.
const fewestShaped = 3

// lettersForDigits asks about names such as A-1O among and others, where
// no other name is written so.
func (c *check) lettersForDigits() {
	shapes := map[string][]int{}
	for i := range c.Links {
		k := shape(c.Links[i].ID)
		shapes[k] = append(shapes[k], i)
	}
	for i := range c.Links {
		id := c.Links[i].ID
		meant := strings.Map(twinOnly, id)
		if meant == id || len(shapes[shape(id)]) > 1 {
			continue
		}
		others := shapes[shape(meant)]
		if len(others) < fewestShaped {
			continue
		}
		runes := []rune(id)
		at := slices.IndexFunc(runes, func(r rune) bool { return twinOnly(r) != r })
		c.ask(statement.New("near-miss-names.letter", statement.Name(id), statement.Name(string(runes[at])), c.linksOf(others)), i)
	}
}

// shape is a name with the same mark for every digit.
func shape(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return '0'
		}
		return r
	}, name)
}

// twin turns a letter that looks like a digit into the digit, and others into small
// ones.
func twin(r rune) rune {
	if d := twinOnly(r); d != r {
		return d
	}
	return unicode.ToLower(r)
}

func twinOnly(r rune) rune {
	switch r {
	case 'O', 'o':
		return '0'
	case 'I', 'l':
		return '1'
	}
	return r
}

// blur makes names alike that a tired eye takes for one another: kinds of dash
// and space, the letters that alike makes the same, and leading zeros.
func blur(name string, alike func(rune) rune) string {
	var out strings.Builder
	digits := false
	runes := []rune(name)
	for i, r := range runes {
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) || r == '_' {
			r = '-'
		}
		runes[i] = alike(r)
	}
	for i, r := range runes {
		if r == '0' && !digits && i+1 < len(runes) && unicode.IsDigit(runes[i+1]) {
			continue
		}
		digits = unicode.IsDigit(r)
		out.WriteRune(r)
	}
	return out.String()
}
