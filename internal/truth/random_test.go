package truth

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"
)

// dice throws a job together. Everything is invented.
type dice struct {
	*rand.Rand
	j    *job
	good bool // a job as it should be, nearly
}

// bad is one in n, of what goes wrong; far less of a good job.
func (d *dice) bad(n int) bool {
	if d.good {
		n *= 12
	}
	return d.one(n)
}

// usual is the first, or any of the others where the job is not a good one.
func (d *dice) usual(list ...string) string {
	if d.good && !d.one(9) {
		return list[0]
	}
	return d.of(list...)
}

// one in n
func (d *dice) one(n int) bool { return d.IntN(n) == 0 }

func (d *dice) of(list ...string) string { return list[d.IntN(len(list))] }

// hundredths writes n as a decimal with two digits, or at times with three.
func (d *dice) hundredths(n int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := fmt.Sprintf("%s%d.%02d", sign, n/100, n%100)
	if d.one(6) {
		s += d.of("0", "5", "4", "9")
	}
	return s
}

var wavelengths = map[string][]int{"multimode": {850, 1300}, "singlemode": {1310, 1383, 1490, 1550, 1625}}

// random makes job number n.
func random(n uint64) *job {
	d := &dice{rand.New(rand.NewPCG(n, 14)), &job{}, n%2 == 1}
	j := d.j
	*j = job{
		Title: "Reading rooms", Order: "PO-7718", Zone: d.of("Europe/Dublin", "UTC", "America/Chicago"), Lang: d.of("en", "es", "de"),
		People: []person{{"mo", "M. Okafor", "fibre technician", "2027-06-30"}, {"sv", "S. Varga", "helper", ""}, {"ti", "T. Idris", "fibre technician", "2026-11-17"}},
		Instruments: []instrument{
			{"LS-4", "light source", "40117", "2026-03-03", "2027-03-03", ""},
			{"PM-9", "power meter", "22803", "2026-03-03", "2027-03-04", d.of("0.12", "0.2", "")},
			{"PM-3", "power meter", "22811", "2025-11-01", "2026-11-17", d.of("0.15", "")},
			{"PM-5 calibrated 3 May", "power meter", "22899", d.of("2026-11-18", "2026-11-19"), "2027-11-18", ""},
			{"PM-8", "power meter", "22955", "2026-03-03", "2027-03-03", d.of("", "0.4")},
			{"PM-6", "power meter", "22900", d.of("", "2026-01-02"), "", "0.3"},
			{"PM-7", "power meter", "22901", "", d.of("", "2027-01-02"), ""},
		},
		Cables:    []cable{{"C1", "24 strand", "88-2041"}, {"C2", "spare", ""}},
		Reference: d.of("one-cord", "one-cord", "two-cord", "three-cord"), Cords: "standard",
		Decision: d.of("simple", "simple", "guarded"), Marginal: d.of("", "", "0.05", "0.3"), U: d.of("", "", "0.2", "0.13"),
		Wavelengths: map[string][]int{"multimode": {850, 1300}, "singlemode": {1310, 1550}},
		Directions:  d.of("both", "both", "both", "either"), Reflectance: d.of("optional", "optional", "required"),
		Estimate: d.of("", "", "0.10"), Face: d.bad(4), Questions: map[string]question{},
	}
	if j.Decision == "guarded" {
		j.Guard = d.of("", "1", "0.5", "1.5")
	}
	if d.one(3) {
		j.Wavelengths["singlemode"] = []int{1310, 1383, 1550}
	}
	if d.one(6) {
		j.Wavelengths["singlemode"] = []int{1490, 1625}
	}
	if d.one(5) {
		j.Questions["bend"] = question{"note", "0.5"}
	}
	if d.one(5) {
		j.Questions["reference-age"] = question{d.of("fatal", "note", "off"), d.of("", "4", "0.5")}
	}
	if d.one(5) {
		j.Questions["identical-results"] = question{"note", "2"}
	}
	if d.one(8) {
		j.Questions["calibration"] = question{d.of("note", "off"), ""}
	}
	if d.one(8) {
		j.Questions["direction-difference"] = question{"fatal", "0.1"}
	}
	d.sets()
	d.links()
	d.made()
	d.readings()
	d.optional()
	j.number()
	return j
}

// optional is what the owner agreed need not be measured: mostly the splices.
func (d *dice) optional() {
	j := d.j
	if !d.one(6) {
		one := agreed{Quantity: "splice_loss", By: "Port Ansel Council", Reason: "the spans are short"}
		if d.one(6) {
			one.Links = []string{j.Links[0].ID, j.Links[len(j.Links)-1].ID}
		}
		j.Optional = append(j.Optional, one)
	}
	if d.one(5) {
		j.Optional = append(j.Optional, agreed{Quantity: "reflectance", By: "M. Okafor", Reason: "no meter on site"})
	}
	if d.one(8) {
		j.Optional = append(j.Optional, agreed{Set: "own-a", Limit: "splice", By: "the engineer", Reason: "measured at the reel"})
	}
}

func (d *dice) sets() {
	j := d.j
	j.Sets = []set{d.cabling("own-a", "Port Ansel rules"), d.cabling("own-b", "Harbour rules"), d.cabling("own-c", "Bellweather rules"), d.application("app-x", "Wide Band X"), d.application("app-y", "Slow Band Y")}
	if d.one(12) {
		j.Sets[0].Only = d.of("multimode", "singlemode")
	}
	mean := d.cabling("own-m", "Rules of means")
	mean.Mean = d.of("0.30", "0.5")
	j.Sets = append(j.Sets, mean)
	j.Limits = []string{"sets/own-a.yaml"}
	if d.one(5) {
		j.Limits = append(j.Limits, mean.Path)
	}
	if d.one(3) {
		j.Limits = append(j.Limits, "sets/own-b.yaml")
	}
}

func (d *dice) cabling(id, standard string) set {
	s := set{ID: id, Path: "sets/" + id + ".yaml", Title: "Rules " + id, Standard: standard, Edition: d.of("2024", "2026"), Pair: d.of("0.75", "0.5", "0.3"), Splice: d.of("0.3", "0.15"), Over: d.of("", "Clean every connection.")}
	for _, fibre := range []string{"OS2", "G.657.A1", "OM3"} {
		for _, nm := range wavelengths[modeOf(fibre)] {
			if !d.bad(9) && (id == "own-a" || !d.one(6)) {
				s.Cable = append(s.Cable, glass{fibre, d.of("0.4", "0.35", "1.0", "2.225"), nm})
			}
		}
	}
	if len(s.Cable) == 0 {
		s.Cable = []glass{{"OS2", "0.4", 1310}}
	}
	if !d.one(3) {
		s.Reflectance = []ofMode{{"singlemode", d.of("-35", "-40.5")}}
		if d.one(2) {
			s.Reflectance = append(s.Reflectance, ofMode{"multimode", "-20"})
		}
	}
	return s
}

func (d *dice) application(id, title string) set {
	s := set{ID: id, Path: "sets/" + id + ".yaml", Title: title, Standard: "Band standard", Edition: "1", Application: true, Average: d.one(3)}
	switch d.IntN(3) {
	case 0:
		s.From, s.To, s.Modes = 840, 860, []string{"multimode"}
	case 1:
		s.From, s.To, s.Modes = 1260, 1360, []string{"singlemode"}
	default:
		s.From, s.To, s.Modes = 1480, 1565, []string{"singlemode", "multimode"}
	}
	s.Channel = []glass{{Fibre: d.of("OS2", "OM3"), Value: d.of("1.9", "6.2", "0.8")}}
	if d.one(2) {
		s.Channel = append(s.Channel, glass{Fibre: "G.657.A1", Value: "3.1"})
	}
	if d.one(3) {
		s.Reflectance = []ofMode{{d.of("singlemode", "multimode"), "-26"}}
	}
	return s
}

func (d *dice) links() {
	j := d.j
	n := 1 + d.IntN(4)
	switch d.IntN(5) {
	case 0:
		n += d.IntN(5)
	case 1:
		if d.one(3) {
			n = 12 // for the pace

		}
	}
	names := []string{"A-07", "A-08", "A-10", "B-1", "B-2", "C 3", "C-4", "D-15", "E-1", "E-2", "E-3", "E-4"}
	if d.one(4) {
		names[3+d.IntN(2)] = d.of("A-1O", "a-07", "A-7", "A_08")
	}
	for i := range n {
		pairs := d.IntN(4)
		if d.good {
			pairs = 2 + d.IntN(2)
		}
		l := link{ID: names[i], Cable: d.of("C1", "C2", ""), Strand: fmt.Sprint(i + 1), From: fmt.Sprint("panel R port ", i+1), To: fmt.Sprint("panel C port ", i+1),
			Fibre: d.of("OS2", "OS2", "OS2", "G.657.A1", "OM3"), Length: d.usual("312", "312", "1250.5", "80", "5000", "402.25"), Pairs: pairs, Splices: d.IntN(3),
			EndA: d.of("factory LC/UPC", "spliced-on LC/UPC", "factory SC/APC", "none"), EndB: d.of("factory LC/UPC", "spliced-on LC/UPC", "none")}
		if d.one(3) {
			l.Limits = []string{d.of("sets/own-b.yaml", "sets/own-c.yaml", "sets/own-a.yaml")}
		}
		if d.bad(4) || d.one(9) {
			l.Applications = []string{d.of("sets/app-x.yaml", "sets/app-y.yaml")}
		}
		if d.bad(7) {
			l.Exempt = d.of("end B is inside a locked cage", "end B is flooded.")
		}
		j.Links = append(j.Links, l)
	}
	for i := 0; i+1 < n; i += 2 {
		if !d.one(4) {
			continue
		}
		a, b := &j.Links[i], &j.Links[i+1]
		a.Pair, b.Pair = b.ID, a.ID
		if a.Cable == b.Cable && a.Cable != "" && d.one(2) {
			a.Pair = b.Strand
		}
		a.Polarity, b.Polarity = d.of("crossed", "crossed", "straight", ""), d.of("crossed", "crossed", "straight", "")
		switch d.IntN(6) {
		case 0:
			b.Pair = ""
		case 1:
			a.Pair = "Z-9"
		case 2:
			a.Pair = a.ID
		}
	}
}

func (d *dice) made() {
	for i := range d.j.Links {
		l := &d.j.Links[i]
		for _, end := range []string{"A", "B", ""} {
			for d.bad(3) {
				m := made{Link: l.ID, End: end, Kind: "splice", Face: d.usual("pass", "pass", "fail", "not inspected"), Person: d.of("mo", "sv"), Estimate: d.of("0.03", "0.12", ""), Lot: d.of("L-5", "L-6"),
					Finished: d.of("2026-11-16 13:13", "2026-11-17 10:00", "2026-11-18 11:00", "2026-11-18", "")}
				if end != "" {
					m.Kind = d.of("spliced-on connector", "connector")
				} else {
					m.Face = ""
				}
				d.j.Made = append(d.j.Made, m)
			}
		}
	}
}

// day1 is when all links are measured, in turn.
const (
	day1 = "readings/day1.csv"
	day2 = "readings/day2.csv"
)

func (d *dice) readings() {
	j := d.j
	j.Files = []string{day1}
	at := time.Date(2026, 11, 18, 9, 0, 0, 0, time.UTC)
	pace := time.Duration(40+d.IntN(200)) * time.Second
	if d.one(6) {
		pace = 4 * time.Second
	}
	seconds := !d.one(3)
	clock := func() string {
		if seconds {
			return at.Format("2006-01-02 15:04:05")
		}
		return at.Format("2006-01-02 15:04")
	}
	mixed := d.one(3)
	meter := d.usual("PM-9", "PM-9", "PM-9", "PM-3", "PM-5 calibrated 3 May", "PM-6", "PM-7", "PM-99", "")
	var last []reading
	for i := range j.Links {
		l := &j.Links[i]
		if d.bad(9) {
			continue // not measured
		}
		if d.bad(7) {
			meter = d.of("PM-9", "PM-3", "PM-6", "PM-99")
		}
		nms := slices.Clone(j.Wavelengths[modeOf(l.Fibre)])
		if d.one(4) {
			all := wavelengths[modeOf(l.Fibre)]
			nms = append(nms, all[d.IntN(len(all))])
			slices.Sort(nms)
			nms = slices.Compact(nms)
		}
		base := 20 + d.IntN(200)
		if d.bad(8) {
			base = -30 + d.IntN(50)
		}
		if d.good {
			base = 20 + d.IntN(130)
		}
		alike := last != nil && d.one(6)
		person := d.usual("mo", "mo", "sv", "ti", "xx", "")
		reference := d.usual("2026-11-18 08:30", "2026-11-18 08:30", "2026-11-17 18:05", "2026-11-18 14:00", "2026-11-18", "")
		source := d.usual("LS-4", "LS-4", "LS-4", "", "LS-9")
		var mine []reading
		put := func(r reading) {
			if r.Time == "" {
				r.Time = clock()
			}
			if r.Time == "none" {
				r.Time = ""
			}
			mine = append(mine, r)
		}
		noTime := d.bad(20)
		day := d.bad(15)
		for _, nm := range nms {
			if d.bad(12) {
				continue
			}
			oneWay := d.bad(9)
			for _, way := range []string{"A-B", "B-A"} {
				if oneWay && way == d.of("B-A", "A-B") {
					continue
				}
				r := reading{File: day1, Link: l.ID, Quantity: "insertion_loss", NM: nm, Way: way, Value: d.hundredths(base + d.IntN(25)), Source: source, Instrument: meter, Person: person, Reference: reference}
				if d.bad(15) {
					r.Value = d.hundredths(base + 60)
				}
				if mixed && way == "B-A" {
					r.Instrument = "PM-8"
				}
				if noTime {
					r.Time = "none"
				} else if day {
					r.Time = "2026-11-18"
				}
				put(r)
				if d.one(4) {
					r.Quantity, r.Value = "reflectance", d.usual("-55.0", "-40.52", "-40.5", "-38.2", "-30", "-19.5")
					put(r)
				}
			}
		}
		if d.bad(8) {
			r := reading{File: day1, Link: l.ID, Quantity: "length", Value: d.of("312", "402", "5200.5", "90"), Instrument: meter, Person: person}
			put(r)
		}
		if d.one(8) {
			for _, way := range []string{"A-B", "B-A"} {
				if !d.one(4) {
					put(reading{File: day1, Link: l.ID, Quantity: "splice_loss", NM: 1310, Way: way, Event: "S1", Value: d.of("0.05", "0.62", "-0.10", "0.28"), Instrument: meter, Person: person})
				}
			}
		}
		if alike {
			for k := range mine {
				for _, o := range last {
					if o.of() == mine[k].of() {
						mine[k].Value = o.Value
					}
				}
			}
		}
		if d.one(12) && len(j.Readings) > 0 && !noTime && !day && seconds {
			at = at.Add(-pace) // at the moment of the link before
			for k := range mine {
				mine[k].Time = clock()
			}
		}
		last = mine
		j.Readings = append(j.Readings, mine...)
		at = at.Add(pace)
	}
	// A retest supersedes; the same row twice asks.
	at = time.Date(2026, 11, 19, 10, 0, 0, 0, time.UTC)
	for i := range j.Readings {
		r := j.Readings[i]
		if r.Time == "" || len(r.Time) == len("2026-11-18") {
			continue
		}
		switch {
		case d.one(14):
			r.File, r.Time, r.Value = day2, clock(), d.hundredths(30+d.IntN(120))
			if r.Quantity != "insertion_loss" {
				continue
			}
			r.Reference = "2026-11-19 09:30"
			at = at.Add(time.Minute)
		case d.one(60):
			r.File = day2
		default:
			continue
		}
		j.Readings = append(j.Readings, r)
		if !slices.Contains(j.Files, day2) {
			j.Files = append(j.Files, day2)
		}
	}
	if d.one(16) && len(j.Files) == 1 && !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.Time == "" }) {
		for _, r := range slices.Clone(j.Readings) {
			r.File = "readings/day1 copy.csv"
			j.Readings = append(j.Readings, r)
		}
		j.Files = append(j.Files, "readings/day1 copy.csv")
	}
	if !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == day1 }) {
		j.Files = slices.DeleteFunc(j.Files, func(f string) bool { return f == day1 })
	}
}

// next makes the following revision: a few things change.
func next(j *job, n uint64) *job {
	d := &dice{rand.New(rand.NewPCG(n, 15)), j.copy(), true}
	j = d.j
	file := fmt.Sprintf("readings/day%d.csv", len(j.Files)+3)
	for range 1 + d.IntN(3) {
		switch d.IntN(16) {
		case 0:
			j.Order = d.of("PO-7719", "PO-8000")
		case 1:
			j.Title, j.Invoice, j.Stage = d.of("Reading rooms", "Reading halls"), d.of("", "2026-118"), d.of("", "closures shut")
		case 2:
			j.Instruments[2].Due = d.of("2027-11-01", "2026-11-30", "2026-11-16")
		case 3:
			j.Instruments[5].Calibrated, j.Instruments[5].Due = "2026-02-02", d.of("2027-02-02", "")
			j.Instruments[1].Serial = d.of("22803", "22804")
		case 4:
			j.People[2].Until, j.People[1].Name = d.of("2027-11-17", ""), d.of("S. Varga", "S. Vargas")
		case 5:
			j.People = append(j.People, person{"xx", "X. Xu", "helper", ""})
			if n := len(j.People); n > 4 {
				j.People = j.People[:n-1]
			}
		case 6:
			l := &j.Links[d.IntN(len(j.Links))]
			l.Length = d.of("321", "640", l.Length)
			l.To = d.of(l.To, "panel X port 9")
		case 7:
			l := &j.Links[d.IntN(len(j.Links))]
			l.Pairs, l.EndA = d.IntN(3), d.of("factory LC/UPC", "spliced-on LC/UPC")
		case 8:
			if len(j.Limits) > 1 {
				j.Limits = j.Limits[:1]
			} else {
				j.Limits = append(j.Limits, "sets/own-c.yaml")
			}
		case 9:
			j.Sets[0].Pair = d.of("0.6", "0.55", "0.75")
			j.Sets[0].Edition = d.of(j.Sets[0].Edition, "2025")
		case 10:
			gone := j.Links[len(j.Links)-1].ID // what was read once stays evidence
			if len(j.Links) > 2 && !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.Link == gone }) {
				j.Links = j.Links[:len(j.Links)-1]
				j.Made = slices.DeleteFunc(j.Made, func(m made) bool { return m.Link == gone })
			}
		case 11:
			j.Links = append(j.Links, link{ID: fmt.Sprint("N-", len(j.Links)), Cable: "C1", Strand: "40", From: "panel R", To: "panel N", Fibre: "OS2", Length: "312", Pairs: 2, EndA: "factory LC/UPC", EndB: "factory LC/UPC"})
			if d.one(2) {
				slices.Reverse(j.Links)
			}
		case 12:
			if len(j.Made) > 0 {
				m := &j.Made[d.IntN(len(j.Made))]
				m.Lot, m.Person = d.of("L-5", "L-6", "L-7"), d.of("mo", "sv")
				if m.End != "" {
					m.Face = d.of("pass", "fail")
				}
			}
			if d.one(2) {
				j.Made = append(j.Made, made{Link: j.Links[0].ID, End: "B", Kind: "connector", Face: "pass", Person: "mo", Finished: "2026-11-16 13:13"})
			}
		case 13:
			j.U, j.Marginal = d.of("", "0.25"), d.of("", "0.1")
			j.Questions["bend"] = question{"off", ""}
		case 14:
			if len(j.Made) > 1 {
				j.Made = j.Made[:len(j.Made)-1]
			}
			j.Cables[0].Reel = d.of("88-2041", "88-2042")
			if d.one(3) {
				j.Cables = append(j.Cables[:1:1], cable{"C3", "new", ""})
			}
		default: // measured again, in a new file
			at := time.Date(2026, 11, 20, 10, 0, 0, 0, time.UTC)
			for _, r := range j.copy().Readings {
				if r.Quantity == "insertion_loss" && r.Time != "" && d.one(3) {
					r.File, r.Time, r.Reference = file, at.Format("2006-01-02 15:04:05"), "2026-11-20 09:30"
					if !d.one(4) {
						r.Value = d.hundredths(20 + d.IntN(90))
					}
					r.Person = d.of(r.Person, "sv")
					at = at.Add(time.Minute)
					j.Readings = append(j.Readings, r)
					if !slices.Contains(j.Files, file) {
						j.Files = append(j.Files, file)
					}
				}
			}
		}
	}
	ids := map[string]bool{}
	for i := range j.Links {
		ids[strings.ToLower(j.Links[i].ID)] = true
	}
	j.Files = slices.DeleteFunc(j.Files, func(f string) bool {
		return !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == f })
	})
	j.number()
	return j
}
