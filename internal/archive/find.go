package archive

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"spanseal/internal/record"
)

// Hit is a link whose paper fits a query.
type Hit struct {
	Revision *Revision
	LinkPaper
	set, row int
}

// Use is one way in which a link was measured.
type Use struct {
	Instrument, Source record.Instrument // id, kind and serial; zero where not given
	Person             record.Person     // id and name
	Day                record.Date
}

// Uses are how the readings that count were taken, by day.
func (h *Hit) Uses() []Use {
	r := h.Revision
	var out []Use
	for _, n := range r.sets[h.set] {
		u := r.uses[n]
		x := Use{Day: u.day}
		if u.instrument > 0 {
			x.Instrument = r.instruments[u.instrument-1]
		}
		if u.source > 0 {
			x.Source = r.instruments[u.source-1]
		}
		if u.person > 0 {
			x.Person = r.people[u.person-1]
		}
		out = append(out, x)
	}
	return out
}

// Find returns the links that fit: the newest issue first, the links of one
// revision in schedule order.
func (a *Archive) Find(q *Query) []Hit {
	var hits []Hit
	for _, r := range a.Revisions {
		hits = q.search(r, hits)
	}
	at := make(map[*Revision]time.Time, len(a.Revisions))
	for _, r := range a.Revisions {
		at[r], _ = time.Parse(time.RFC3339, r.Issued)
	}
	slices.SortFunc(hits, func(x, y Hit) int {
		if x.Revision == y.Revision {
			return cmp.Compare(x.row, y.row)
		}
		return cmp.Or(at[y.Revision].Compare(at[x.Revision]), strings.Compare(x.Revision.Job, y.Revision.Job),
			cmp.Compare(y.Revision.Number, x.Revision.Number), strings.Compare(x.Revision.Path, y.Revision.Path))
	})
	return hits
}

// search appends the hits of one revision. What its links have in common is
// asked once, so that a million links cost little more than reading them.
func (q *Query) search(r *Revision, hits []Hit) []Hit {
	for _, fits := range q.set {
		if !fits(r) {
			return hits
		}
	}
	usable := r.among(func(u method) bool {
		return !slices.ContainsFunc(q.reading, func(fits readingTerm) bool { return !fits(r, u) })
	})
	if len(q.reading) == 0 { // links that were never measured are looked for too
		for i := range usable {
			usable[i] = true
		}
	}
	words := r.wordsLeft(q.words)
	rests := make([][]bool, len(words))
	for i, w := range words {
		rests[i] = r.among(func(u method) bool { return r.says(u, w) })
	}
rows:
	for i, x := range r.rows() {
		if !usable[x.set] {
			continue
		}
		for _, fits := range q.link {
			if !fits(r, x) {
				continue rows
			}
		}
		for n, w := range words {
			if rests[n][x.set] || contains(x.name, w) || x.says(w) || strings.Contains(w, "/") && contains([]byte(r.link(x).Number), w) {
				continue
			}
			continue rows
		}
		hits = append(hits, Hit{r, r.link(x), x.set, i})
	}
	return hits
}

// says reports whether a folded word is part of a name that receivers use.
func (x *row) says(word string) bool {
	return slices.ContainsFunc(x.names, func(n naming) bool { return contains(n.text, word) })
}

// among tells which sets hold a use that fits.
func (r *Revision) among(fits func(method) bool) []bool {
	one := make([]bool, len(r.uses))
	for i, u := range r.uses {
		one[i] = fits(u)
	}
	sets := make([]bool, len(r.sets))
	for i, s := range r.sets {
		sets[i] = slices.ContainsFunc(s, func(n int) bool { return one[n] })
	}
	return sets
}

// wordsLeft leaves out the words that fit the revision as a whole.
func (r *Revision) wordsLeft(words []string) []string {
	if len(words) == 0 {
		return nil
	}
	texts := []string{r.Path, r.Job, r.Title, r.Site, r.Customer, r.Order, r.Contractor, r.Invoice, r.Signer}
	return slices.DeleteFunc(slices.Clone(words), func(w string) bool {
		return slices.ContainsFunc(texts, func(text string) bool { return contains([]byte(text), w) })
	})
}

// says reports whether a folded word is part of what names a use.
func (r *Revision) says(u method, word string) bool {
	for _, n := range []int{u.instrument, u.source} {
		if n > 0 && (contains([]byte(r.instruments[n-1].Serial), word) || contains([]byte(r.instruments[n-1].ID), word)) {
			return true
		}
	}
	return u.person > 0 && (contains([]byte(r.people[u.person-1].Name), word) || contains([]byte(r.people[u.person-1].ID), word))
}
