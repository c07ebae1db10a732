package judge

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// shelf keeps the readings of the links in the schedule, those of each side by
// side, in an eighth of the memory that they take as they are, and without
// pointers, which the collector would follow again and again.
type shelf struct {
	slips []slip
	ends  []int32 // of the slips of each link
	// What readings have in common, each with nothing in it that tells them apart.
	shared []record.Reading
	rare   []rare
	zones  []*time.Location
}

// slip is what tells a reading from those that share the rest.
type slip struct {
	seconds     int64 // of Unix time
	value       quantity.Packed
	nanoseconds int32
	shared      uint32 // in shelf.shared
	rare        uint32 // in shelf.rare, from one; 0 for nothing
	row, column uint32
	zone        uint8 // in shelf.zones, from one; 0 for no time
}

// rare is what few readings have, or what does not fit on a slip.
type rare struct {
	alias, note, cell   string
	shown               string
	reference, received *quantity.Decimal
	odd                 *record.Reading // the value, time and place that do not fit
}

// shelve copies the readings of all links in the schedule.
func shelve(facts *record.Facts) *shelf {
	links := make(map[string]int32, len(facts.Links))
	for i := range facts.Links {
		links[facts.Links[i].ID] = int32(i)
	}
	rs := facts.Readings
	s := &shelf{ends: make([]int32, len(facts.Links))}
	for i := range rs {
		if k, ok := links[rs[i].Link]; ok {
			s.ends[k]++
		}
	}
	at := int32(0)
	for k, n := range s.ends {
		s.ends[k], at = at, at+n // where they begin, for now
	}
	order := make([]int32, at)
	for i := range rs {
		if k, ok := links[rs[i].Link]; ok {
			order[s.ends[k]] = int32(i)
			s.ends[k]++
		}
	}
	s.slips = make([]slip, 0, at)
	known := map[record.Reading]uint32{}
	for _, end := range s.ends {
		of := order[len(s.slips):end]
		slices.SortStableFunc(of, func(i, k int32) int { return inOrder(&rs[i], &rs[k]) })
		for _, i := range of {
			s.slips = append(s.slips, s.slip(&rs[i], known))
		}
	}
	return s
}

// slip writes one reading down. What is common to readings is kept once; known
// finds it again.
func (s *shelf) slip(r *record.Reading, known map[record.Reading]uint32) slip {
	out := slip{row: uint32(r.Origin.Row), column: uint32(r.Origin.Column)}
	value, fits := quantity.Pack(&r.Value)
	out.value = value
	fits = fits && r.Origin.Row == int(out.row) && r.Origin.Column == int(out.column)
	if !r.Time.IsZero() {
		out.seconds, out.nanoseconds = r.Time.Unix(), int32(r.Time.Nanosecond())
		zone := s.zoneOf(r.Time)
		out.zone = uint8(zone + 1)
		fits = fits && zone >= 0
	}
	extra := rare{alias: r.Alias, note: r.Note, cell: r.Origin.Cell, shown: r.Shown, reference: r.Reference, received: r.Received}
	if !fits {
		odd := *r
		extra.odd = &odd
	}
	if extra != (rare{}) {
		s.rare = append(s.rare, extra)
		out.rare = uint32(len(s.rare))
	}
	common := *r
	common.Link, common.Value, common.Time, common.Alias, common.Note, common.Shown = "", quantity.Decimal{}, time.Time{}, "", "", ""
	common.Reference, common.Received = nil, nil
	common.Origin.Row, common.Origin.Column, common.Origin.Cell = 0, 0, ""
	if zone := s.zoneOf(r.ReferenceTime); zone >= 0 {
		common.ReferenceTime = r.ReferenceTime.In(s.zones[zone])
	}
	at, ok := known[common]
	if !ok {
		at = uint32(len(s.shared))
		s.shared = append(s.shared, common)
		known[common] = at
	}
	out.shared = at
	return out
}

// zoneOf finds the zone in which a time is told, or adds it; −1 where there are
// too many. A file with offsets gives each of its times a location of its own.
func (s *shelf) zoneOf(t time.Time) int {
	if i := slices.Index(s.zones, t.Location()); i >= 0 {
		return i
	}
	name, offset := t.Zone()
	i := slices.IndexFunc(s.zones, func(z *time.Location) bool {
		n, o := t.In(z).Zone()
		return n == name && o == offset && z.String() == t.Location().String()
	})
	if i < 0 && len(s.zones) < math.MaxUint8 {
		i = len(s.zones)
		s.zones = append(s.zones, t.Location())
	}
	return i
}

func (s *shelf) slipsOf(k int) []slip {
	from := int32(0)
	if k > 0 {
		from = s.ends[k-1]
	}
	return s.slips[from:s.ends[k]]
}

// reading writes a slip out again.
func (s *shelf) reading(p *slip, link string) record.Reading {
	r := s.shared[p.shared]
	r.Link = link
	var extra rare
	if p.rare > 0 {
		extra = s.rare[p.rare-1]
	}
	r.Alias, r.Note, r.Shown, r.Origin.Cell, r.Reference, r.Received = extra.alias, extra.note, extra.shown, extra.cell, extra.reference, extra.received
	if odd := extra.odd; odd != nil {
		r.Value, r.Time, r.Origin.Row, r.Origin.Column = odd.Value, odd.Time, odd.Origin.Row, odd.Origin.Column
		return r
	}
	r.Value, r.Origin.Row, r.Origin.Column = *p.value.Unpack(), int(p.row), int(p.column)
	if p.zone > 0 {
		r.Time = time.Unix(p.seconds, int64(p.nanoseconds)).In(s.zones[p.zone-1])
	}
	return r
}

// readingsOf are those of link k of the schedule that count, and those that
// later ones replaced.
func (s *shelf) readingsOf(k int, link string) (used, superseded []record.Reading) {
	slips := s.slipsOf(k)
	if len(slips) == 0 {
		return nil, nil
	}
	rs := make([]record.Reading, len(slips))
	n := 0
	for i := range slips {
		rs[i] = s.reading(&slips[i], link)
		if rs[i].Fate != record.Superseded {
			n++
		}
	}
	if n > 0 {
		used = rs[:n:n]
	}
	if n < len(rs) {
		superseded = rs[n:]
	}
	return used, superseded
}

// inOrder sorts the readings of a link: those that count by quantity, event,
// wavelength and direction, then the others by time.
func inOrder(x, y *record.Reading) int {
	switch late := x.Fate == record.Superseded; {
	case late != (y.Fate == record.Superseded):
		if late {
			return 1
		}
		return -1
	case late:
		return earlier(x, y)
	}
	return cmp.Or(
		cmp.Compare(quantityRank[x.Quantity], quantityRank[y.Quantity]),
		strings.Compare(x.Event, y.Event),
		cmp.Compare(x.WavelengthNM, y.WavelengthNM),
		cmp.Compare(directionRank[x.Direction], directionRank[y.Direction]),
		earlier(x, y),
	)
}

// earlier orders readings by time, and by place and value where that is not
// enough, so that the order of rows in memory never matters.
func earlier(x, y *record.Reading) int {
	return cmp.Or(x.Time.Compare(y.Time), strings.Compare(x.Origin.File, y.Origin.File),
		cmp.Compare(x.Origin.Row, y.Origin.Row), cmp.Compare(x.Origin.Column, y.Origin.Column), x.Value.Cmp(y.Value))
}
