package crosscheck

import (
	"cmp"
	"strings"

	"spanseal/internal/statement"
)

// pairs asks where the two strands of a pair do not agree.
func (c *check) pairs() {
	type strand struct{ cable, name string }
	byID, byStrand := map[string]int{}, map[strand]int{}
	paired := false
	links := c.Links
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
		ask := func(what, pair string, args ...statement.Argument) {
			c.ask(statement.New("polarity."+what, append([]statement.Argument{statement.Name(l.ID), statement.Name(pair)}, args...)...), i)
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
			ask("disagree", p.ID, polarityOf(l.Polarity), polarityOf(p.Polarity))
		case !strings.EqualFold(l.Polarity, "crossed"):
			ask("straight", p.ID, polarityOf(l.Polarity))
		}
	}
}

func polarityOf(text string) statement.Word {
	return statement.Word{Group: "polarity", Code: cmp.Or(strings.ToLower(text), "none")}
}
