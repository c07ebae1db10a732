package mapping

import (
	"fmt"
	"regexp"
	"strings"

	"spanseal/internal/field"
)

// Pattern is text with the names of fields in braces, such as
// "Link: {link} ({direction})". A name stands for any text, * for any text that
// is of no interest; runs of spaces match one another.
//
// A text may fit in more than one way: A_1_2 fits {link}_{event} as A and 1_2,
// or as A_1 and 2. The way in which names take little is tried first, then the
// one in which they take much.
type Pattern struct {
	Text         string
	little, much *regexp.Regexp
	Fields       []field.InUnit
}

var brace = regexp.MustCompile(`\{[^{}]*\}|\*|\s+`)

// NewPattern reads a pattern; the error says what is wrong with it.
func NewPattern(text string) (*Pattern, error) {
	p := &Pattern{Text: text}
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
			p.Fields = append(p.Fields, fu)
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

// Match returns the text of each of the pattern's fields.
func (p *Pattern) Match(s string) ([]string, bool) { return find(p.little, s) }

// MatchMuch is match the other way.
func (p *Pattern) MatchMuch(s string) ([]string, bool) { return find(p.much, s) }

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

// PerWavelength reports a pattern that gives reference powers by wavelength.
func (p *Pattern) PerWavelength() bool {
	powers := 0
	for i, fu := range p.Fields {
		switch {
		case fu.Field == field.Wavelength:
		case fu.Field == field.Reference && i > 0 && p.Fields[i-1].Field == field.Wavelength:
			powers++
		default:
			return false
		}
	}
	return powers > 0 && len(p.Fields) == 2*powers
}
