// Package statistics sums up the losses of a judged job, by what might make them
// differ: fibre, connector, person, instrument and panel.
//
// A figure is given where the losses show it, and no other: a spread of ten and
// more, a percentile that is not the largest loss. Losses are in dB.
package statistics

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"spanseal/internal/chance"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Group is the losses of one kind of link at one wavelength.
type Group struct {
	// By is "all", "fibre", "connector", "person", "instrument" or "panel".
	By           string `json:"by"`
	Name         string `json:"name"`
	WavelengthNM int    `json:"wavelength_nm"`
	N            int    `json:"n"`     // losses
	Links        int    `json:"links"` // that they are of

	// Mean to Worst are insertion loss in dB. SD is that of a sample, nil for fewer
	// than ten losses. Percentiles are nearest ranks, nil where that rank is the
	// largest loss: for fewer than 20 losses, and fewer than 34.
	Mean   float64  `json:"mean"`
	SD     *float64 `json:"sd,omitempty"`
	Median float64  `json:"median"`
	P95    *float64 `json:"p95,omitempty"`
	P97    *float64 `json:"p97,omitempty"`
	Worst  float64  `json:"worst"`

	// FirstTime is the share of links all of whose losses passed when first
	// measured, Marginal the share of links that are marginal; 0 to 1.
	FirstTime float64 `json:"first_time"`
	Marginal  float64 `json:"marginal"`

	// Grades that the job agreed, and whether connections of this type are
	// within them, as a population; of groups by connector only.
	Grades []Grade `json:"grades,omitempty"`
	// StandsOut says how the group differs from the rest, where it does.
	StandsOut statement.Statement `json:"stands_out,omitzero"`
}

// Grade is one population set and whether a group is within it. The loss for
// each connection includes its share of glass and splices, so that a grade
// that is not met may still be met by the connections alone.
type Grade struct {
	SetID string `json:"set"`
	Title string `json:"title"`
	Met   bool   `json:"met"`
}

// groupKey tells groups apart.
type groupKey struct {
	by, name   string
	wavelength int
}

var groupOrder = []string{"all", "fibre", "connector", "person", "instrument", "panel"}

// tally gathers one group.
type tally struct {
	key     groupKey
	losses  []float64
	shares  []float64                      // of the limit, where there is one
	perPair map[measured]*quantity.Decimal // of links whose connections are counted
	mode    record.Mode
	links   map[int]bool
}

// measured is a link, by its number, and how its loss was: by another reference
// method it holds other connections.
type measured struct {
	link int
	by   record.ReferenceMethod
}

// What losses must be there for a figure to say anything. The numbers are ours:
// a spread of fewer is chance, and so few need no summing up.
const (
	leastDeviation  = 10
	leastStatistics = 8 // of the whole job
)

// Of sums up the insertion losses of a job by fibre, connector, person,
// instrument and panel, each at each wavelength. Of fewer than eight there is
// nothing to sum up.
func Of(facts *record.Facts, j *judge.Judgement, book *limits.Book) []Group {
	tallies := map[groupKey]*tally{}
	first := make([]bool, len(j.Links))
	for i, l := range j.Results() {
		first[i] = FirstTime(l)
		shares := limitShares(l)
		for k := range l.Readings {
			r := &l.Readings[k]
			if r.Quantity != record.InsertionLoss || r.Shown != "" {
				continue
			}
			for _, name := range groupNames(&facts.Job, l.Link, r) {
				name.wavelength = r.WavelengthNM
				t := tallies[name]
				if t == nil {
					t = &tally{key: name, mode: l.Link.Mode, links: map[int]bool{}, perPair: map[measured]*quantity.Decimal{}}
					tallies[name] = t
				}
				t.links[i] = true
				t.losses = append(t.losses, chance.Float(r.Value))
				if s, ok := shares[r]; ok {
					t.shares = append(t.shares, s)
				}
				if name.by == "connector" {
					of := measured{i, facts.Job.Policy.MethodOf(r).Reference}
					if o := t.perPair[of]; o != nil {
						*o = o.Add(r.Value).Half()
					} else if judge.Counted(of.by, l.Link) > 0 {
						loss := r.Value
						t.perPair[of] = &loss
					}
				}
			}
		}
	}
	losses := 0
	for key, t := range tallies {
		if key.by == "all" {
			losses += len(t.losses)
		}
	}
	if losses < leastStatistics {
		return nil
	}
	out := make([]Group, 0, len(tallies))
	for _, t := range tallies {
		g := t.sum(j, first)
		if t.key.by == "connector" {
			g.Grades = grades(book, facts, t)
		}
		if all := tallies[groupKey{"all", "", t.key.wavelength}]; t.key.by != "all" {
			g.StandsOut = t.standsOut(all)
		}
		out = append(out, g)
	}
	slices.SortFunc(out, func(x, y Group) int {
		return cmp.Or(cmp.Compare(slices.Index(groupOrder, x.By), slices.Index(groupOrder, y.By)),
			strings.Compare(x.Name, y.Name), cmp.Compare(x.WavelengthNM, y.WavelengthNM))
	})
	return out
}

// groupNames lists the groups that a reading belongs to.
func groupNames(job *record.Job, l *record.Link, r *record.Reading) []groupKey {
	out := []groupKey{{by: "all"}}
	add := func(by, name string) {
		k := groupKey{by: by, name: name}
		if name != "" && !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	add("fibre", l.Fibre)
	for _, e := range []record.End{l.EndA, l.EndB} {
		if e.Connector != "" {
			name := e.Connector
			if e.Polish != "" {
				name += "/" + e.Polish
			}
			if e.SplicedOn {
				name += ", spliced on"
			}
			add("connector", name)
		}
	}
	name := r.Person
	if p, ok := job.Person(r.Person); ok {
		name = p.Name
	}
	add("person", name)
	add("instrument", r.Instrument)
	add("panel", panel(l.From))
	add("panel", panel(l.To))
	return out
}

// panel is a place without its port: "panel R1 port 11" is at "panel R1".
func panel(place string) string {
	if i := strings.LastIndex(strings.ToLower(place), " port "); i >= 0 {
		return place[:i]
	}
	return place
}

// limitShares returns how much of its limit each loss uses up, the tightest of
// the sets that bind it. Shares make links of different lengths comparable.
func limitShares(l *judge.LinkResult) map[*record.Reading]float64 {
	out := map[*record.Reading]float64{}
	for i := range l.Findings {
		f := &l.Findings[i]
		if f.Kind != judge.KindLimit || f.Quantity != record.InsertionLoss || f.Working.Limit.Sign() <= 0 || len(f.Readings) != 1 {
			continue
		}
		r := &f.Readings[0] // shares its memory with l.Readings
		out[r] = max(out[r], chance.Float(*f.Measured)/chance.Float(f.Working.Limit))
	}
	return out
}

// FirstTime tells whether all losses of a link passed when first measured: it is
// certifiable, and no earlier reading was over a limit.
func FirstTime(l *judge.LinkResult) bool {
	return l.Verdict.Certifiable() && !slices.ContainsFunc(l.Superseded, func(s record.Reading) bool { return MissedLimit(l, &s) != nil })
}

// MissedLimit is the tightest limit that an earlier reading of a link was over, as it binds the
// reading that counts now, or nil.
func MissedLimit(l *judge.LinkResult, s *record.Reading) (over *judge.Finding) {
	for i := range l.Findings {
		if f := &l.Findings[i]; binds(f, s) && f.Working.Limit.Less(s.Value) && (over == nil || f.Working.Limit.Less(over.Working.Limit)) {
			over = f
		}
	}
	return over
}

// TightestLimit is the tightest limit that a reading like an earlier one must not be over, or
// nil.
func TightestLimit(l *judge.LinkResult, s *record.Reading) (bound *judge.Finding) {
	for i := range l.Findings {
		if f := &l.Findings[i]; binds(f, s) && (bound == nil || f.Working.Limit.Less(bound.Working.Limit)) {
			bound = f
		}
	}
	return bound
}

func binds(f *judge.Finding, s *record.Reading) bool {
	if s.Method != nil && s.Method.Stage != "" { // of another stage of the work than the findings
		return false
	}
	return f.Kind == judge.KindLimit && f.Quantity == s.Quantity && f.WavelengthNM == s.WavelengthNM && f.Direction == s.Direction && f.Working.Bound != "at_least"
}

// Yield is how many of the links that have a loss at a wavelength passed when first
// measured: the share is FirstTime of the group of all.
type Yield struct {
	WavelengthNM int `json:"wavelength_nm"`
	Links        int `json:"links"`
	First        int `json:"first_time"` // of them
}

// Yields are those of a job, by wavelength.
func Yields(j *judge.Judgement) (out []Yield) {
	for _, l := range j.Results() {
		first, seen := FirstTime(l), map[int]bool{}
		for k := range l.Readings {
			r := &l.Readings[k]
			if r.Quantity != record.InsertionLoss || r.Shown != "" || seen[r.WavelengthNM] {
				continue
			}
			seen[r.WavelengthNM] = true
			i := slices.IndexFunc(out, func(y Yield) bool { return y.WavelengthNM == r.WavelengthNM })
			if i < 0 {
				i, out = len(out), append(out, Yield{WavelengthNM: r.WavelengthNM})
			}
			out[i].Links++
			if first {
				out[i].First++
			}
		}
	}
	slices.SortFunc(out, func(a, b Yield) int { return cmp.Compare(a.WavelengthNM, b.WavelengthNM) })
	return out
}

func (t *tally) sum(j *judge.Judgement, first []bool) Group {
	slices.Sort(t.losses)
	g := Group{By: t.key.by, Name: t.key.name, WavelengthNM: t.key.wavelength, N: len(t.losses), Links: len(t.links)}
	g.Mean = stat.Mean(t.losses, nil)
	if len(t.losses) >= leastDeviation {
		sd := stat.StdDev(t.losses, nil)
		g.SD = &sd
	}
	g.Median = median(t.losses)
	g.P95, g.P97 = nearest(95, t.losses), nearest(97, t.losses)
	g.Worst = t.losses[len(t.losses)-1]
	for i := range t.links {
		if first[i] {
			g.FirstTime++
		}
		if j.Links[i].Verdict == judge.Marginal {
			g.Marginal++
		}
	}
	g.FirstTime /= float64(len(t.links))
	g.Marginal /= float64(len(t.links))
	return g
}

// nearest is a percentile by nearest rank, nil where that is the largest loss, so
// that the sample does not show it.
func nearest(percentile int, sorted []float64) *float64 {
	k := chance.Rank(quantity.Int(percentile), len(sorted))
	if k == len(sorted) {
		return nil
	}
	return &sorted[k-1]
}

func median(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// What makes a group stand out. The figures are ours: enough losses to tell, a
// difference far beyond chance, and large enough to matter.
const (
	leastLosses = 8
	beyond      = 4.0 // standard errors of the difference
	matters     = 0.1 // of the limit
)

// standsOut compares the shares of the limit that a group and the rest of the
// job use up.
func (t *tally) standsOut(all *tally) (out statement.Statement) {
	n, m := len(t.shares), len(all.shares)-len(t.shares)
	if n < leastLosses || m < leastLosses {
		return out
	}
	mean, sd := stat.MeanStdDev(t.shares, nil)
	restMean, restSD := rest(all.shares, t.shares)
	diff := mean - restMean
	if err := math.Sqrt(sd*sd/float64(n) + restSD*restSD/float64(m)); diff < matters || diff < beyond*err {
		return out
	}
	return statement.New("stands-out", statement.Count(math.Round(100*mean)), statement.Count(math.Round(100*restMean)))
}

// rest returns mean and standard deviation of all without part.
func rest(all, part []float64) (mean, sd float64) {
	n := float64(len(all) - len(part))
	var sum, squares float64
	for _, v := range all {
		sum, squares = sum+v, squares+v*v
	}
	for _, v := range part {
		sum, squares = sum-v, squares-v*v
	}
	mean = sum / n
	return mean, math.Sqrt(max(0, squares-n*mean*mean) / (n - 1))
}

// grades tries a group of judge.Connections against the population sets that the job
// agreed.
func grades(book *limits.Book, facts *record.Facts, t *tally) []Grade {
	var out []Grade
	at := limits.Situation{Mode: t.mode, WavelengthNM: t.key.wavelength}
	agreed := facts.Job.Policy.Limits
	var of judge.Connections
	for i := range t.perPair {
		of.Add(*t.perPair[i], judge.Counted(i.by, &facts.Links[i.link]), false)
	}
	for _, set := range book.All() {
		if set.Kind != limits.Population || !slices.Contains(agreed, set.ID) {
			continue
		}
		findings := of.Judge(set, record.InsertionLoss, &at, map[*limits.Value]bool{})
		if len(findings) == 0 {
			continue
		}
		met := !slices.ContainsFunc(findings, func(f judge.Finding) bool { return !f.Verdict.Certifiable() })
		out = append(out, Grade{set.ID, set.Title, met})
	}
	return out
}
