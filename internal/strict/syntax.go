package strict

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// The parser's own words name what it met, often many lines below what is wrong.
// The two commonest faults are looked for by themselves.

// twoColons is a line with a key, a text, and a colon in the text.
var twoColons = regexp.MustCompile(`^(\s*(?:- +)?[^\s"'\[{#][^:"']*: +)([^"'\[{|>&*!\s][^#]*?:(?: .*|))$`)

// colonInText recognises title: Refit: phase 2, where the second colon would make
// the text a key.
func (y *YAML) colonInText(err error, p *diag.Problem) bool {
	if !strings.Contains(err.Error(), "mapping values are not allowed") {
		return false
	}
	m := yamlLine.FindStringSubmatch(strings.SplitN(err.Error(), "\n", 2)[0])
	if m == nil {
		return false
	}
	said, _ := strconv.Atoi(m[1])
	for _, n := range []int{said, said + 1, said - 1} {
		if n < 1 || n > y.File.Lines() {
			continue
		}
		parts := twoColons.FindStringSubmatch(strings.TrimRight(y.File.Line(n), " \r"))
		if parts == nil {
			continue
		}
		p.Place = diag.AtLine(y.File, source.Position{Line: n, Column: utf8.RuneCountInString(parts[1]) + 1}, utf8.RuneCountInString(parts[2]))
		p.Message = fmt.Sprintf("the text %s contains a colon and a space, which YAML reads as a key", parts[2])
		p.Want, p.Fix = "", fmt.Sprintf("put the text in quotes: %s%q", strings.TrimLeft(parts[1], " "), parts[2])
		return true
	}
	return false
}

// openQuote looks for a quote that opens a text and is not closed in its line:
// the parser reads on, and complains wherever the next quote ends the text.
func (y *YAML) openQuote(p *diag.Problem) bool {
	block := -1 // the indentation of a literal text, which ends where a line has no more
	for n := 1; n <= y.File.Lines(); n++ {
		line := strings.TrimRight(y.File.Line(n), " \r")
		indent := len(line) - len(strings.TrimLeft(line, " "))
		if block >= 0 && (line == "" || indent > block) {
			continue
		}
		block = -1
		if strings.HasSuffix(line, "|") || strings.HasSuffix(line, ">") || strings.HasSuffix(line, "|-") || strings.HasSuffix(line, ">-") {
			block = indent
		}
		if at := unclosed(line); at >= 0 {
			p.Place = diag.AtLine(y.File, source.Position{Line: n, Column: utf8.RuneCountInString(line[:at]) + 1}, 1)
			p.Message, p.Want = "a quote opens here and is not closed in this line", ""
			p.Fix = "close it; write a quote inside double quotes as \\\", and inside single quotes twice"
			return true
		}
	}
	return false
}

// unclosed returns where a quoted text opens that a line does not close, or −1.
func unclosed(line string) int {
	opens := true // whether a text may begin here
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case (c == '"' || c == '\'') && opens:
			end := closing(line, i)
			if end < 0 {
				return i
			}
			i, opens = end, false
		case c == '#' && (i == 0 || line[i-1] == ' '):
			return -1
		case c == ' ':
		case c == '[' || c == '{' || c == ',':
			opens = true
		case c == ':' || c == '-':
			opens = i+1 == len(line) || line[i+1] == ' '
		default:
			opens = false
		}
	}
	return -1
}

// closing returns where the text ends that a quote opens, or −1.
func closing(line string, open int) int {
	for i := open + 1; i < len(line); i++ {
		switch {
		case line[open] == '"' && line[i] == '\\':
			i++
		case line[i] != line[open]:
		case line[open] == '\'' && i+1 < len(line) && line[i+1] == '\'':
			i++
		default:
			return i
		}
	}
	return -1
}

var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)`)

func (y *YAML) syntax(err error) {
	p := diag.Problem{Code: "yaml-syntax", Place: diag.Place{File: y.File.Name},
		Fix: "look at this line and its neighbours: a missing space after a colon, a bracket or a quote that is not closed"}
	for n := 1; n <= y.File.Lines(); n++ {
		line := y.File.Line(n)
		if at := len(line) - len(strings.TrimLeft(line, " ")); strings.HasPrefix(line[at:], "\t") {
			p.Place = diag.AtLine(y.File, source.Position{Line: n, Column: at + 1}, 1)
			p.Message, p.Want, p.Fix = "not valid YAML: the indentation contains a tab", "want spaces", ""
			y.List.Add(p)
			return
		}
	}
	if y.colonInText(err, &p) || y.openQuote(&p) {
		y.List.Add(p)
		return
	}
	m := yamlLine.FindStringSubmatch(strings.SplitN(err.Error(), "\n", 2)[0])
	if m == nil {
		m = []string{"", "", err.Error()}
	}
	if line, err := strconv.Atoi(m[1]); err == nil {
		if strings.HasPrefix(m[2], "did not find expected") {
			line++ // yaml.v3 counts lines from zero in errors of its parser, from one in those of its scanner
		}
		p.Place = diag.Place{File: y.File.Name, Line: line, Excerpt: y.File.Line(line)}
	}
	p.Message = "not valid YAML: " + m[2]
	y.List.Add(p)
}
