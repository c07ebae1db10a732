package intake

import (
	"fmt"
	"regexp"
	"strings"

	"spanseal/internal/field"
)

// pattern is text with the names of fields in braces, such as
// "Link: {link} ({direction})". A name stands for any text, * for any text that
// is of no interest; runs of spaces match one another.
//
// A text may fit in more than one way: A_1_2 fits {link}_{event} as A and 1_2,
// or as A_1 and 2. The way in which names take little is tried first, then the
// one in which they take much.
type pattern struct {
	text         string
	little, much *regexp.Regexp
	fields       []field.InUnit
}

var brace = regexp.MustCompile(`\{[^{}]*\}|\*|\s+`)

func newPattern(text string) (*pattern, error) {
	p := &pattern{text: text}
	var b strings.Builder
	b.WriteString(`(?i)^\s*`)
	rest := strings.TrimSpace(text)
	for rest != "" {
		at := brace.FindStringIndex(rest)
		if at == nil {
			b.WriteString(regexp.QuoteMeta(rest))
			break
		}
		b.WriteString(regexp.QuoteMeta(rest[:at[0]]))
		switch piece := rest[at[0]:at[1]]; piece[0] {
		case '{':
			name := piece[1 : len(piece)-1]
			fu, ok := field.ByName[name]
			if !ok || fu.Field.Measured() && fu.Field != field.Reference {
				return nil, fmt.Errorf("{%s} is not a field that a pattern can give", name)
			}
			p.fields = append(p.fields, fu)
			b.WriteString(`(.+?)`)
		case '*':
			b.WriteString(`.*?`)
		default:
			b.WriteString(`\s+`)
		}
		rest = rest[at[1]:]
	}
	b.WriteString(`\s*$`)
	var err error
	if p.little, err = regexp.Compile(b.String()); err == nil {
		p.much, err = regexp.Compile(strings.NewReplacer(`(.+?)`, `(.+)`, `.*?`, `.*`).Replace(b.String()))
	}
	if err != nil {
		return nil, fmt.Errorf("%q is not a pattern", text)
	}
	return p, nil
}

// match returns the text of each of the pattern's fields.
func (p *pattern) match(s string) ([]string, bool) { return find(p.little, s) }

// matchMuch is match the other way.
func (p *pattern) matchMuch(s string) ([]string, bool) { return find(p.much, s) }

func find(exp *regexp.Regexp, s string) ([]string, bool) {
	m := exp.FindStringSubmatch(s)
	if m == nil {
		return nil, false
	}
	for i := range m {
		m[i] = strings.TrimSpace(m[i])
	}
	return m[1:], true
}
