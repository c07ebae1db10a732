package crosscheck

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"spanseal/internal/chance"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// visit is one reading of an instrument at a link.
type visit struct {
	at         time.Time
	link       int
	instrument string
}

// times asks about instruments that were at two links at once, about a pace of work
// that nobody keeps up, and about people who were at two instruments at once.
func (c *check) times() {
	visits, people := map[string][]visit{}, map[string]map[string]bool{}
	for i := range c.Links {
		for r := range c.All(i) {
			if !r.Time.IsZero() && !record.DayOnly(r.Time) && r.Instrument != "" {
				visits[r.Instrument] = append(visits[r.Instrument], visit{r.Time, i, r.Instrument})
				if r.Person != "" {
					if people[r.Person] == nil {
						people[r.Person] = map[string]bool{}
					}
					people[r.Person][r.Instrument] = true
				}
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(visits)) {
		vs := visits[name]
		slices.SortStableFunc(vs, func(x, y visit) int { return x.at.Compare(y.at) })
		if bySecond(vs) {
			c.sameMoment(name, vs)
		}
		if question := c.pace(name, vs); !question.IsZero() {
			c.ask(question)
		}
	}
	for _, person := range slices.Sorted(maps.Keys(people)) {
		if len(people[person]) < 2 {
			continue
		}
		if question := c.atTwo(person); !question.IsZero() {
			c.ask(question)
		}
	}
}

// bySecond reports whether an instrument's times hold seconds. Times to the
// minute are often shared by two links.
func bySecond(vs []visit) bool {
	return slices.ContainsFunc(vs, func(v visit) bool { return v.at.Second() != 0 || v.at.Nanosecond() != 0 })
}

// channels is how many fibres an instrument measures at one moment.
func (c *check) channels(instrument string) int {
	if in := c.instruments[instrument]; in != nil {
		return max(1, in.Channels)
	}
	return 1
}

func (c *check) sameMoment(instrument string, vs []visit) {
	channels := c.channels(instrument)
	for from := 0; from < len(vs); {
		to := from + 1
		for to < len(vs) && vs[to].at.Equal(vs[from].at) {
			to++
		}
		var which []int // in the order of the schedule, as visits of one moment are
		for _, v := range vs[from:to] {
			if !slices.Contains(which, v.link) {
				which = append(which, v.link)
			}
		}
		if len(which) > max(2, channels) || len(which) == 2 && channels == 1 && !areTwins(&c.Links[which[0]], &c.Links[which[1]]) {
			c.ask(statement.New("same-moment", statement.Name(instrument), c.linksOf(which), statement.Moment(vs[from].at)), which...)
		}
		from = to
	}
}

// areTwins reports whether the schedule pairs two strands.
func areTwins(x, y *record.Link) bool {
	return pairedWith(x, y) || pairedWith(y, x)
}

// paceOver is over how many links the pace of work is taken, for each fibre that
// the instrument measures at one moment.
const paceOver = 10

// pace returns what there is to ask about the fastest run of an instrument: the
// first in which it was at more than ten different links.
func (c *check) pace(instrument string, vs []visit) statement.Statement {
	// Paired strands that were ever measured at one moment count as one.
	twin := map[int]int{}
	for i := 1; i < len(vs); i++ {
		if x, y := vs[i-1], vs[i]; x.link != y.link && x.at.Equal(y.at) && areTwins(&c.Links[x.link], &c.Links[y.link]) {
			twin[max(x.link, y.link)] = min(x.link, y.link)
		}
	}
	unit := func(v visit) int {
		if first, ok := twin[v.link]; ok {
			return first
		}
		return v.link
	}
	over := paceOver * c.channels(instrument)
	seconds := c.Settings["pace"].Threshold
	least := time.Duration(chance.Float(seconds) * float64(time.Second) * paceOver)
	if !bySecond(vs) {
		least -= time.Minute // what times to the minute may hide
	}
	there := map[int]int{}
	for first, last := 0, 0; last < len(vs); last++ {
		there[unit(vs[last])]++
		for len(there) > over {
			if took := vs[last].at.Sub(vs[first].at); took < least {
				return statement.New("pace", statement.Name(instrument), statement.Count(over), statement.Moment(vs[first].at), statement.Count(took/time.Second))
			}
			if k := unit(vs[first]); there[k] == 1 {
				delete(there, k)
			} else {
				there[k]--
			}
			first++
		}
	}
	return statement.Statement{}
}

// stay is the readings of one instrument at one link without another in between.
type stay struct {
	link       int
	instrument string
	from, to   time.Time
}

// longestPause is what may lie between two readings of one stay; fewestAlike is how
// many stays must share a minute to be no chance where times have no seconds.
const (
	longestPause = 10 * time.Minute
	fewestAlike  = 3
)

// atTwo returns what there is to ask about somebody who read two instruments at two
// links at the same time.
func (c *check) atTwo(person string) statement.Statement {
	var vs []visit
	for i := range c.Links {
		for r := range c.All(i) {
			if r.Person == person && r.Instrument != "" && !r.Time.IsZero() && !record.DayOnly(r.Time) {
				vs = append(vs, visit{r.Time, i, r.Instrument})
			}
		}
	}
	slices.SortStableFunc(vs, func(x, y visit) int { return x.at.Compare(y.at) })
	exact := bySecond(vs)
	var stays []*stay
	at := map[string]*stay{} // the stay of each instrument
	for _, v := range vs {
		s := at[v.instrument]
		if s == nil || s.link != v.link || v.at.Sub(s.to) > longestPause {
			s = &stay{v.link, v.instrument, v.at, v.at}
			at[v.instrument] = s
			stays = append(stays, s)
		}
		s.to = v.at
	}
	var first [2]*stay
	both, overlaps, alike := 0, 0, 0
	var there []*stay // that are not over when the next begins
	for _, s := range stays {
		there = slices.DeleteFunc(there, func(o *stay) bool { return o.to.Before(s.from) })
		for _, o := range there {
			if o.instrument == s.instrument || o.link == s.link || areTwins(&c.Links[o.link], &c.Links[s.link]) {
				continue
			}
			end := s.to
			if o.to.Before(end) {
				end = o.to
			}
			switch {
			case exact || s.from.Before(end): // for more than a moment, or the moment is known
				overlaps++
			case o.from.Equal(s.from):
				alike++
			default:
				continue
			}
			if both++; both == 1 {
				first = [2]*stay{o, s}
			}
		}
		there = append(there, s)
	}
	if overlaps == 0 && alike < fewestAlike {
		return statement.Statement{}
	}
	slices.SortFunc(first[:], func(x, y *stay) int { return cmp.Compare(x.instrument, y.instrument) })
	at2 := first[0].from
	if at2.Before(first[1].from) {
		at2 = first[1].from
	}
	name := person
	if p := c.people[person]; p != nil {
		name = p.Name
	}
	return statement.New("two-instruments", statement.Name(name), statement.Name(first[0].instrument), statement.Name(c.Links[first[0].link].ID),
		statement.Name(first[1].instrument), statement.Name(c.Links[first[1].link].ID), statement.Moment(at2), statement.Count(both))
}
