package crosscheck

import (
	"cmp"
	"strings"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// pairs asks where the two strands of a pair do not agree.
func (c *check) pairs() {
	type strand struct{ cable, name string }
	byID, byStrand := map[string]int{}, map[strand]int{}
	links := c.Links
	for i := range links {
		l := &links[i]
		byID[l.ID] = i
		byStrand[strand{l.Cable, l.Strand}] = i
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
		case !pairedWith(p, l):
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

// pairedWith reports whether the schedule pairs a link with another: by its name, or by
// its strand within one cable. A link that has no pair is paired with none, not with
// those that have no strand.
func pairedWith(l, other *record.Link) bool {
	return l.Pair != "" && (l.Pair == other.ID || l.Pair == other.Strand && l.Cable == other.Cable)
}

func polarityOf(text string) statement.Word {
	return statement.Word{Group: "polarity", Code: cmp.Or(strings.ToLower(text), "none")}
}
