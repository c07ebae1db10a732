package intake

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// names finds the near miss of a name among known ones. It never decides that
// two names are the same: that is the person's to say.
type names struct {
	all []string
	// An index is made when the first name is missed: most jobs never need it.
	indexed int                 // how many of all it holds
	plain   map[string]string   // by what is left without case, marks and padding
	looks   map[string]string   // by how a careless eye reads it
	digits  map[string][]string // by the digits in it
}

func newNames(all []string) *names { return &names{all: all} }

func (n *names) add(s string) { n.all = append(n.all, s) }

func (n *names) index() {
	if n.plain == nil {
		n.plain, n.looks, n.digits = map[string]string{}, map[string]string{}, map[string][]string{}
	}
	for _, s := range n.all[n.indexed:] {
		if p := plain(s); p != "" && n.plain[p] == "" {
			n.plain[p] = s
		}
		if p := looks.Replace(s); n.looks[p] == "" {
			n.looks[p] = s
		}
		d := digitsOf(s)
		n.digits[d] = append(n.digits[d], s)
	}
	n.indexed = len(n.all)
}

// looks replaces what is easily read as one another.
var looks = strings.NewReplacer("l", "1", "I", "1", "|", "1", "O", "0", "o", "0", "S", "5", "\u2013", "-", "\u2212", "-", "\u00a0", " ")

// near returns the known name that s most probably means, or "". Names that
// differ in a digit are neighbours rather than slips, so A-13 is not near to
//
func (n *names) near(s string) string {
	n.index()
	if hit := n.plain[plain(s)]; hit != "" {
		return hit
	}
	if hit := n.looks[looks.Replace(s)]; hit != "" {
		return hit
	}
	a := []rune(strings.ToLower(s))
	if len(a) > 64 {
		return ""
	}
	best, least := "", 1+len(a)/5 // one slip in a short name, more in a longer one
	for _, name := range first(n.digits[digitsOf(s)], 1000) {
		b := []rune(strings.ToLower(name))
		if diff := len(a) - len(b); diff > least || -diff > least {
			continue
		}
		if d := slips(a, b); d <= least && d < max(len(a), len(b)) && (best == "" || d < least) {
			best, least = name, d
		}
	}
	return best
}

// digitsOf returns the digits of a name.
func digitsOf(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
}

// plain is a name without case, spaces, punctuation and zero padding, the ways
// in which one name is most often written as two.
func plain(s string) string {
	var b strings.Builder
	digits, padding := false, 0
	for _, r := range s {
		switch {
		case unicode.IsDigit(r):
			if r == '0' && !digits {
				padding++
				continue
			}
			padding, digits = 0, true
			b.WriteRune(r)
			continue
		case padding > 0:
			b.WriteByte('0')
		}
		padding, digits = 0, false
		if unicode.IsLetter(r) {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	if padding > 0 {
		b.WriteByte('0')
	}
	return b.String()
}

// slips counts the fewest insertions, deletions, replacements and swaps of
// neighbours that turn a into b (optimal string alignment).
func slips(a, b []rune) int {
	before, row := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		next := make([]int, len(b)+1)
		next[0] = i + 1
		for j := range b {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			next[j+1] = min(row[j]+cost, row[j+1]+1, next[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, row = row, next
	}
	return row[len(b)]
}

// isControl reports characters that have no place in a text of a job: they are
// invisible and could steer a terminal, or show a name in another order than it
// is written.
func isControl(r rune) bool {
	switch {
	case r == '\n', r == '\r', r == '\t':
		return false
	case r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0x2028, r == 0x2029, r == utf8.RuneError:
		return true
	}
	return unicode.IsControl(r)
}

// isControlInName is isControl for names, which have one line.
func isControlInName(r rune) bool { return r == '\n' || r == '\r' || r == '\t' || isControl(r) }

// invalidUTF8 returns where text stops being UTF-8; ok when it never does.
func invalidUTF8(text []byte) (at int, ok bool) {
	if utf8.Valid(text) {
		return 0, true
	}
	for at < len(text) {
		r, size := utf8.DecodeRune(text[at:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		at += size
	}
	return at, false
}

func notUTF8(f *source.File, at int, mend string) diag.Problem {
	place := diag.AtLine(f, f.Position(at), 1)
	place.Excerpt = strings.ToValidUTF8(place.Excerpt, "\uFFFD")
	return diag.Problem{Code: "not-utf-8", Place: place, Message: "the file is not UTF-8 text from here on", Want: "this byte starts no UTF-8 character", Mend: mend}
}
