// Package naming names the papers of links by a pattern such as
// {job}-{link}-r{revision}, and tells which names no system takes.
//
// A word in braces stands for what the job or the schedule says under it; all else is
// part of the name. What the words stand for is taken as it is: a name that Windows, macOS
// or Linux does not take is a fault for a person to mend, and is never changed in silence.
// Names are compared as those systems may: without regard to case, and in Unicode's form
// NFC. Packages that take the names of today ask nothing here.
package naming

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/record"
)

// Words are those that may stand in braces, in the order in which they are told.
var Words = []string{"job", "link", "revision", "cable", "tube", "strand", "label", "drawing", "asset"}

// Longest is how many bytes a name has at most, without its extension: with folders
// around it, it stays within the 260 characters of old Windows paths.
const Longest = 100

// A PatternError reports a pattern that is none; Word is one in braces that is not known.
type PatternError struct{ Message, Word string }

func (e *PatternError) Error() string { return e.Message }

// part is a text, or a word that stands for one.
type part struct{ text, word string }

// Pattern makes names. The zero Pattern makes none.
type Pattern struct{ parts []part }

// Parse reads a pattern. Its error is a [*PatternError].
func Parse(pattern string) (p Pattern, err error) {
	for rest := pattern; rest != ""; {
		text, behind, opened := strings.Cut(rest, "{")
		if strings.Contains(text, "}") {
			return Pattern{}, &PatternError{Message: "a brace is closed that was not opened"}
		}
		if text != "" {
			p.parts = append(p.parts, part{text: text})
		}
		if !opened {
			break
		}
		word, after, closed := strings.Cut(behind, "}")
		if !closed {
			return Pattern{}, &PatternError{Message: "a brace is opened and not closed"}
		}
		known := false
		for _, w := range Words {
			known = known || w == word
		}
		if !known {
			return Pattern{}, &PatternError{fmt.Sprintf("{%s} is not known here", word), word}
		}
		p.parts, rest = append(p.parts, part{word: word}), after
	}
	return p, nil
}

// IsZero reports a pattern that makes no names.
func (p Pattern) IsZero() bool { return len(p.parts) == 0 }

// PaperName is a name for each revision: all but the number of that is known.
type PaperName []string // what stands before, between and behind the numbers

// Of names the paper of a link. Missing is a word for which the link has nothing, or "".
func (p Pattern) Of(job string, l *record.Link) (name PaperName, missing string) {
	var b strings.Builder
	for _, one := range p.parts {
		text := one.text
		switch one.word {
		case "":
		case "revision":
			name = append(name, b.String())
			b.Reset()
			continue
		default:
			if text = value(one.word, job, l); text == "" && missing == "" {
				missing = one.word
			}
		}
		b.WriteString(text)
	}
	return append(name, b.String()), missing
}

func value(word, job string, l *record.Link) string {
	switch word {
	case "job":
		return job
	case "link":
		return l.ID
	case "cable":
		return l.Cable
	case "tube":
		return l.Tube
	case "strand":
		return l.Strand
	}
	given, _ := l.Given()
	for _, n := range given {
		if n.Key == word {
			return n.Text
		}
	}
	return ""
}

// In is the name in a revision.
func (n PaperName) In(revision int) string { return strings.Join(n, strconv.Itoa(revision)) }

// highest is a revision whose number is as long as any will be.
const highest = 9999

// Key is the same for names that some system takes for one.
func (n PaperName) Key() string {
	return strings.ToLower(strings.ToUpper(norm.NFC.String(n.In(highest))))
}

// forbidden are characters that Windows takes in no name: naming conventions of its file
// systems; the slash no system takes.
const forbidden = `<>:"/\|?*`

// reserved are the device names that Windows keeps for itself, with or without an
// extension.
var reserved = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])( *\..*)?$`)

// Fault says why no such file can be made everywhere, or "".
func (n PaperName) Fault() string {
	name := n.In(highest)
	bad := strings.IndexFunc(name, func(r rune) bool {
		return strings.ContainsRune(forbidden, r) || r == utf8.RuneError || !unicode.IsPrint(r)
	})
	switch {
	case name == "":
		return "it is empty"
	case len(name) > Longest:
		return fmt.Sprintf("it has %d bytes; at most %d fit", len(name), Longest)
	case bad >= 0:
		r, _ := utf8.DecodeRuneInString(name[bad:])
		return fmt.Sprintf("a file name cannot contain %q", r)
	case strings.HasPrefix(name, "."), strings.HasPrefix(name, " "), strings.HasSuffix(name, " "), strings.HasSuffix(name, "."):
		return "a name may not begin with a point or space, nor end with one"
	case !norm.NFC.IsNormalString(name):
		return "it has a letter and its accent as two characters: type them as one"
	case reserved.MatchString(name):
		return "Windows reserves it for a device"
	}
	return ""
}
