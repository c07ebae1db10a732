package certify

import (
	"slices"
	"strings"

	"spanseal/internal/judge"
)

// unjudged says in a line what limits of the sets that bind the link judged nothing
// on it, and why. A limit about other links goes without saying where another limit
// of its set judged the same quantity.
func (sh *sheet) unjudged() string {
	w := sh.words
	type group struct{ set, reason string }
	var order []group
	about := map[group][]string{}
	for i := range sh.l.Ledger {
		e := &sh.l.Ledger[i]
		if e.State == judge.Judged && e.Reason.IsZero() || e.State == judge.NotApplicable && slices.ContainsFunc(sh.l.Ledger, func(o judge.LedgerEntry) bool {
			return o.Set == e.Set && o.Quantity == e.Quantity && o.State == judge.Judged
		}) {
			continue
		}
		g := group{e.Set, w.State(e.Reason)}
		if about[g] == nil {
			order = append(order, g)
		}
		if what := w.Term("quantity", string(e.Quantity)); !slices.Contains(about[g], what) {
			about[g] = append(about[g], what)
		}
	}
	var sets []string
	said := map[string][]string{}
	for _, g := range order {
		if said[g.set] == nil {
			sets = append(sets, g.set)
		}
		said[g.set] = append(said[g.set], w.Say("unjudged.about", "about", strings.Join(about[g], ", "), "reason", g.reason))
	}
	if sets == nil {
		return ""
	}
	for i, set := range sets {
		sets[i] = w.Say("unjudged.set", "set", set, "list", strings.Join(said[set], ", "))
	}
	return w.Say("unjudged.line", "list", strings.Join(sets, "; "))
}
