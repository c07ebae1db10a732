package judge

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"spanseal/internal/statement"
)

// crowd asks what only many links together can show. Questions about the job
// as a whole are returned; those about links join their findings.
func (b *bench) crowd() []Finding {
	b.identical()
	b.lookAlikes()
	b.pairs()
	var out []Finding
	for _, question := range append(b.sameFiles(), b.copies()...) {
		if f, ok := b.raise(question); ok {
			out = append(out, f)
		}
	}
	return append(out, b.times()...)
}

// askEach raises one question about several links at once.
func (b *bench) askEach(which []int, question statement.Statement) {
	for _, i := range which {
		if f, ok := b.raise(question); ok {
			b.links[i].Findings = append(b.links[i].Findings, f)
		}
	}
}

// linksOf names links of the schedule, the first few of them where they are many.
func (b *bench) linksOf(which []int) statement.Value {
	out := make([]string, len(which))
	for i, k := range which {
		out[i] = b.facts.Links[k].ID
	}
	return statement.Few(out)
}

// lookAlikes asks about names of the schedule that are easily mixed up, and about a
// letter where names like it have a digit.
func (b *bench) lookAlikes() {
	asked := map[string]bool{}
	for _, alike := range []func(rune) rune{unicode.ToLower, twin} {
		same := map[string][]int{}
		var order []string
		for i := range b.facts.Links {
			k := blur(b.facts.Links[i].ID, alike)
			if same[k] == nil {
				order = append(order, k)
			}
			same[k] = append(same[k], i)
		}
		for _, k := range order {
			if which := same[k]; len(which) > 1 {
				question := statement.New("near-miss-names.alike", b.linksOf(which))
				if key := question.Key(); !asked[key] {
					asked[key] = true
					b.askEach(which, question)
				}
			}
		}
	}
	b.lettersForDigits()
}

// fewestShaped is how many names must have a digit where one has a letter.
const fewestShaped = 3

// lettersForDigits asks about names such as A-1O among and others, where
// no other name is written so.
func (b *bench) lettersForDigits() {
	shapes := map[string][]int{}
	for i := range b.facts.Links {
		k := shape(b.facts.Links[i].ID)
		shapes[k] = append(shapes[k], i)
	}
	for i := range b.facts.Links {
		id := b.facts.Links[i].ID
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
		b.askEach([]int{i}, statement.New("near-miss-names.letter", statement.Name(id), statement.Name(string(runes[at])), b.linksOf(others)))
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

// pairs asks where the two strands of a pair do not agree.
func (b *bench) pairs() {
	type strand struct{ cable, name string }
	byID, byStrand := map[string]int{}, map[strand]int{}
	paired := false
	links := b.facts.Links
	for i := range links {
		l := &links[i]
		byID[l.ID] = i
		byStrand[strand{l.Cable, l.Strand}] = i
		paired = paired || l.Pair != ""
	}
	if !paired {
		return
	}
	for i := range links {
		l := &links[i]
		if l.Pair == "" {
			continue
		}
		ask := func(what, pair string, args ...statement.Value) {
			b.askEach([]int{i}, statement.New("polarity."+what, append([]statement.Value{statement.Name(l.ID), statement.Name(pair)}, args...)...))
		}
		k, ok := byID[l.Pair]
		if !ok {
			k, ok = byStrand[strand{l.Cable, l.Pair}]
		}
		if !ok || k == i {
			ask("unknown", l.Pair)
			continue
		}
		p := &links[k]
		switch {
		case p.Pair != l.ID && (p.Pair != l.Strand || p.Cable != l.Cable):
			ask("other", p.ID)
		case l.Polarity == "":
			ask("unchecked", p.ID)
		case !strings.EqualFold(l.Polarity, p.Polarity):
			ask("disagree", p.ID, polarity(l.Polarity), polarity(p.Polarity))
		case !strings.EqualFold(l.Polarity, "crossed"):
			ask("straight", p.ID, polarity(l.Polarity))
		}
	}
}

func polarity(text string) statement.Word {
	return statement.Word{Group: "polarity", Code: cmp.Or(strings.ToLower(text), "none")}
}

// sameFiles asks about files of readings that are byte for byte the same.
func (b *bench) sameFiles() []statement.Statement {
	var out []statement.Statement
	first := map[string]string{}
	for _, a := range b.facts.Accounts {
		if other, ok := first[a.SHA256]; ok && a.SHA256 != "" {
			out = append(out, statement.New("duplicate-rows.file", statement.Name(other), statement.Name(a.File)))
		} else {
			first[a.SHA256] = a.File
		}
	}
	return out
}
