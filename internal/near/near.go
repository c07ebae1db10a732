// Package near finds what a mistyped name or word was probably meant for. It never
// decides that two are the same: that is the person's to say.
//
// [Index] are of links, columns and keys, where A-13 is a neighbour of A-12 and no
// slip. A [Word] is one of a few in a list. For both a slip is a letter that is
// inserted, dropped, changed, or swapped with its neighbour.
package near

import (
	"strings"
	"unicode"
)

// Index finds the near miss of a name among known ones.
type Index struct {
	all []string
	// An index is made when the first name is missed: most jobs never need it.
	indexed int                 // how many of all it holds
	plain   map[string]string   // by what is left without case, marks and padding
	looks   map[string]string   // by how a careless eye reads it
	digits  map[string][]string // by the digits in it
}

// New returns the names among which near misses are looked for.
func New(all []string) *Index { return &Index{all: all} }

// Add adds a name.
func (n *Index) Add(s string) { n.all = append(n.all, s) }

func (n *Index) index() {
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

// To returns the known name that s most probably means, or "". Names that
// differ in a digit are neighbours rather than slips, so A-13 is not near to
//
func (n *Index) To(s string) string {
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
	alike := n.digits[digitsOf(s)]
	for _, name := range alike[:min(len(alike), 1000)] {
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

// Word returns the known word that is nearest to a mistyped one, or "" when
// none is near: at most a third of its letters may differ.
func Word(have string, known []string) string {
	const longest = 64 // of a word; what is longer is none
	a := []rune(strings.ToLower(have))
	best, at := "", len(a)/3+1
	for _, k := range known {
		b := []rune(strings.ToLower(k))
		if len(a) > longest || len(b) > longest {
			continue
		}
		if d := slips(a, b); d < at {
			best, at = k, d
		}
	}
	return best
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
