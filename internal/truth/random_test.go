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
	was  *job // the revision before, of one that follows
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
	d := &dice{rand.New(rand.NewPCG(n, 14)), &job{}, n%2 == 1, nil}
	j := d.j
	*j = job{
		Title: "Reading rooms", Order: "PO-7718", Zone: d.of("Europe/Dublin", "UTC", "America/Chicago"), Lang: d.of("en", "es", "de"),
		People: []person{{"mo", "M. Okafor", "fibre technician", "2027-06-30"}, {"sv", "S. Varga", "helper", ""}, {"ti", "T. Idris", "fibre technician", "2026-11-17"}},
		Instruments: []instrument{
			{"LS-4", "light source", "40117", "2026-03-03", "2027-03-03", ""},
			{"PM-9", "power meter", "22803", "2026-03-03", "2027-03-04", d.of("0.12", "0.2", "")},
			{"PM-3", "power meter", "22811", d.of("2025-11-01", "2025-10-31"), "2026-11-17", d.of("0.15", "")},
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
	d.faces()
	d.readings()
	d.traces()
	d.optional()
	j.methods(n)
	j.number()
	if d.one(3) {
		j.Currency, j.Retainage, j.PayApart = d.of("EUR", "EUR", ""), d.of("", "5", "10"), d.one(2)
		for range 1 + d.IntN(3) {
			j.Items = append(j.Items, d.item())
		}
	}
	for i := range j.Links {
		if !d.one(4) {
			continue
		}
		j.Answers = append(j.Answers, d.answer(d.of("direction-exempt", "bend", "direction-difference", "polarity", "calibration", "unknown-instrument.none", "reference-age.old", "not-measured", "below-glass", "no-limit", "connection-count"), j.Links[i].ID))
	}
	hire(n, j)
	paint(n, j)
	insure(n, j)
	gather(n, j)
	j.terms(n, 1)
	return j
}

// terms are a period and what was billed last, with dice of their own: of revisions
// after the first none, so that each claims all. TestBilledInParts follows one that was.
func (j *job) terms(n uint64, revision int) {
	d := rand.New(rand.NewPCG(n, 23))
	j.Billed, j.From, j.To = "", "", ""
	if len(j.Items) == 0 || d.IntN(3) > 0 {
		return
	}
	if revision > 1 {
		j.Billed = "none"
	}
	if d.IntN(2) == 0 {
		j.From, j.To = "2026-11-01", fmt.Sprintf("2026-11-%d", 20+d.IntN(5))
	}
}

// methods gives links and wavelengths reference methods of their own, with dice of
// their own, so that all else of a job is as it would be.
func (j *job) methods(n uint64) {
	d := rand.New(rand.NewPCG(n, 19))
	refs := []string{"one-cord", "two-cord", "three-cord"}
	if d.IntN(2) == 0 {
		return
	}
	for i := range j.Links {
		l := &j.Links[i]
		if d.IntN(2) == 0 {
			l.Ref = refs[d.IntN(3)]
		}
		for _, nm := range wavelengths[modeOf(l.Fibre)] {
			ref := ""
			if d.IntN(4) == 0 {
				ref = refs[d.IntN(3)]
			}
			for k := range j.Readings {
				if r := &j.Readings[k]; r.Link == l.ID && r.NM == nm {
					r.Ref = ref
				}
			}
		}
	}
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
	if !d.one(4) {
		j.Optional = append(j.Optional, agreed{Quantity: "optical_return_loss", By: "Port Ansel Council", Reason: "no reflectometer"})
	}
	if d.one(8) {
		j.Optional = append(j.Optional, agreed{Set: "own-a", Limit: "splice", By: "the engineer", Reason: "measured at the reel"})
	}
}

func (d *dice) item() item {
	i := item{Line: fmt.Sprint(len(d.j.Items)+1, ".", 1), Title: d.of("Strand tested", "Link tested", "Splice made"), Unit: d.of("strand", "link", "drop", "splice", "termination"), Fibre: d.of("", "OS2"), Cable: d.of("", "", "C1")}
	if d.j.Currency != "" {
		i.Rate = d.of("7.25", "12", "")
	}
	if d.one(4) {
		i.Line, i.Title = "", fmt.Sprint(i.Title, " ", len(d.j.Items)+1)
	}
	return i
}

func (d *dice) answer(question string, links ...string) answer {
	return answer{question, links, d.of("The slack in tray 4 was dressed again.", "Seen, and as it should be.", "Measured again: the same."), d.of("mo", "sv", "E. Brandt"), d.of("2026-11-20", "2026-11-21")}
}

func (d *dice) sets() {
	j := d.j
	j.Sets = []set{d.cabling("own-a", "Port Ansel rules"), d.cabling("own-b", "Harbour rules"), d.cabling("own-c", "Bellweather rules"), d.application("app-x", "Wide Band X"), d.application("app-y", "Slow Band Y")}
	if d.one(12) {
		j.Sets[0].Only = d.of("multimode", "singlemode")
	}
	mean := d.cabling("own-m", "Rules of means")
	mean.Mean = d.of("0.30", "0.5")
	mean.Percent, mean.PercentMost = d.of("40", "50", "75", "100", ""), d.of("0.4", "0.8", "1.5")
	j.Sets = append(j.Sets, mean)
	j.Limits = []string{"sets/own-a.yaml"}
	for _, id := range []string{"own-a", "own-b"} {
		if d.one(4) {
			j.Confirmed = append(j.Confirmed, confirmed{Set: id, By: d.of("R. Lindqvist", "E. Brandt"), On: d.of("2026-11-20", "2026-11-25"), Note: d.of("", "copy bought in 2024", "second printing."), Other: d.one(4)})
		}
	}
	if d.one(5) {
		j.Limits = append(j.Limits, mean.Path)
	}
	if d.one(3) {
		j.Limits = append(j.Limits, "sets/own-b.yaml")
	}
}

func (d *dice) cabling(id, standard string) set {
	s := set{ID: id, Path: "sets/" + id + ".yaml", Low: d.one(4), Title: "Rules " + id, Standard: standard, Edition: d.of("2024", "2026"), Pair: d.of("0.75", "0.5", "0.3"), Splice: d.of("0.3", "0.15"), Over: d.of("", "Clean every connection.")}
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
	if d.one(3) {
		s.From, s.To = 0, 0
	}
	if d.one(3) {
		s.Least = d.of("0.25", "0.5", "1.2")
	}
	if d.one(3) {
		s.Reach = d.of("300", "1000", "4000")
	}
	if d.one(3) {
		s.ORL, s.Glass = d.of("28", "32.5"), d.one(2)
	}
	s.Bare = s.Least != "" && d.one(3)
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
		if i > 0 && names[i][:2] == names[i-1][:2] && d.one(3) { // of one series, as rowOf writes them
			id, strand, from, to := l.ID, l.Strand, l.From, l.To
			l = j.Links[i-1]
			l.ID, l.Strand, l.From, l.To = id, strand, from, to
			l.Limits, l.Applications = slices.Clone(l.Limits), slices.Clone(l.Applications)
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
		if d.one(3) {
			b.Polarity = a.Polarity
		}
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
					m.Closure, m.Tray = d.of("", "K4"), d.of("", "2")
					m.Shut = d.of("", "2026-11-17 10:30", "2026-11-18 11:30", "2026-11-18")
				}
				d.j.Made = append(d.j.Made, m)
			}
		}
	}
}

// traces keeps files of the instrument, of most losses.
func (d *dice) traces() {
	if !d.one(5) {
		return
	}
	d.j.EveryTrace = true
	for _, r := range d.j.Readings {
		if r.Quantity != "insertion_loss" || r.Way == "" || d.one(9) {
			continue
		}
		t := trace{File: fmt.Sprintf("traces/%s_%d_%s.sor", r.Link, r.NM, strings.ReplaceAll(r.Way, "-", "")), Link: r.Link, NM: r.NM, Way: r.Way}
		if d.one(6) {
			t.File, t.Listed = fmt.Sprintf("traces/listed/%04d.bin", len(d.j.Traces)), true
			if d.one(3) {
				t.Way = ""
			}
		}
		if !slices.ContainsFunc(d.j.Traces, func(o trace) bool { return o.File == t.File }) {
			d.j.Traces = append(d.j.Traces, t)
		}
	}
}

// faces inspects end faces, each for the first time in November at an hour of its own.
func (d *dice) faces() {
	if !d.one(4) {
		return
	}
	d.j.EveryFace = d.one(2)
	for i := range d.j.Links {
		for _, end := range []string{"A", "B"} {
			at := time.Date(2026, 11, 16, 12, 0, 0, 0, time.UTC)
			for _, cleaning := range []string{"before", "after"} {
				if at = at.Add(time.Duration(1+d.IntN(30)) * time.Hour); d.one(6) {
					continue
				}
				d.j.Seen = append(d.j.Seen, look{d.j.Links[i].ID, end, "IEC 61300-3-35", d.of("2015", "2022"), cleaning, d.usual("pass", "pass", "pass", "fail"), d.of("mo", "sv", ""), at.Format("2006-01-02 15:04")})
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
				switch {
				case d.bad(25):
					r.Shown, r.Value = "OL", "100"
				case d.bad(40):
					r.Shown, r.Value = ">40", "40"
				case d.bad(60):
					r.Shown, r.Value = "<0.05", "0.05"
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
				if d.one(20) {
					r := r
					r.Quantity, r.Shown, r.Value = "optical_return_loss", "", d.of("27.5", "32.5", "36", "48.2")
					put(r)
				}
				if d.one(4) {
					r.Shown = ""
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
		if d.bad(25) { // no loss, and something else
			mine = slices.DeleteFunc(mine, func(r reading) bool { return r.Quantity == "insertion_loss" })
			if d.one(2) {
				l.Applications = []string{d.of("sets/app-x.yaml", "sets/app-y.yaml")}
			}
			if len(mine) == 0 {
				put(reading{File: day1, Link: l.ID, Quantity: "length", Value: l.Length, Instrument: meter, Person: person})
			}
		}
		if alike {
			for k := range mine {
				for _, o := range last {
					if o.of() == mine[k].of() {
						mine[k].Value, mine[k].Shown = o.Value, o.Shown
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
		case d.one(14) || r.Shown != "" && d.one(2):
			r.File, r.Time, r.Value, r.Shown = day2, clock(), d.hundredths(30+d.IntN(120)), ""
			r.Note = d.of("", "", "after cleaning", "bend removed.")
			if r.Quantity != "insertion_loss" {
				continue
			}
			if d.one(30) {
				r.Shown, r.Value = "OL", "100"
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
	if d.one(16) {
		j.twice()
	}
	if !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == day1 }) {
		j.Files = slices.DeleteFunc(j.Files, func(f string) bool { return f == day1 })
	}
}

// twice puts a copy of the first file beside it, where each of its readings has a time
// and so may stand there twice.
func (j *job) twice() {
	const name = "readings/day1 copy.csv"
	if !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == day1 }) || slices.Contains(j.Files, name) || slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == day1 && r.Time == "" }) {
		return
	}
	for _, r := range slices.Clone(j.Readings) {
		if r.File == day1 {
			r.File = name
			j.Readings = append(j.Readings, r)
		}
	}
	j.Files = append(j.Files, name)
}

// rewrite alters a file on which the revision before rests, and declares it.
func (d *dice) rewrite() {
	j := d.j
	if len(j.Files) == 0 {
		return
	}
	f := j.Files[d.IntN(len(j.Files))]
	if !d.was.hasFile(f) {
		return
	}
	was := sum(d.was.file(f))
	var rows []int
	for i, r := range j.Readings {
		if r.File == f {
			rows = append(rows, i)
		}
	}
	if len(rows) == 0 { // all that it holds were read by another name
		return
	}
	i := rows[d.IntN(len(rows))]
	switch d.IntN(5) {
	case 0:
		was := j.Readings[i]
		if slices.ContainsFunc(j.Readings, func(r reading) bool {
			return r.File != f && r.Link == was.Link && r.of() == was.of() && r.Time == was.Time
		}) {
			return // of two values of one moment nobody can say which is later
		}
		for k := range j.Readings {
			if r := &j.Readings[k]; r.File == f && r.Link == was.Link && r.of() == was.of() { // of one moment there is one
				r.Value, r.Shown = "0.77", ""
				if r.Quantity == "reflectance" {
					r.Value = "-44.4"
				}
			}
		}
	case 1:
		j.Readings = slices.Delete(j.Readings, i, i+1)
	case 2, 3: // another order moves the others
		r := j.Readings[i]
		j.Readings = slices.Insert(slices.Delete(j.Readings, i, i+1), rows[0], r)
	default:
		if len(j.Files) > 1 {
			j.Readings = slices.DeleteFunc(j.Readings, func(r reading) bool { return r.File == f })
		}
	}
	if sum(j.file(f)) == was {
		return
	}
	j.Declared = append(slices.DeleteFunc(j.Declared, func(o declared) bool { return o.File == f }),
		declared{f, was[:12+d.IntN(53)], d.of("the export was cut off", "two rows were mixed up"), d.of("mo", "mo", "ti"), d.of("2026-11-24", "")})
}

// reply answers some questions that the revision before asks, and takes back or
// alters other answers.
func (d *dice) reply(before *issued) {
	j := d.j
	if n := len(j.Answers); n > 0 {
		switch d.IntN(3) {
		case 0:
			j.Answers = j.Answers[:n-1]
		case 1:
			j.Answers[0].Text, j.Answers[0].Who = "It was looked at again.", "mo"
		}
	}
	ask := func(link string, findings []any) {
		for _, f := range findings {
			f := f.(map[string]any)
			q, _ := f["question"].(map[string]any)
			if q == nil || f["kind"] == "limit" || !d.one(3) {
				continue
			}
			code := q["code"].(string)
			if d.one(2) {
				code, _, _ = strings.Cut(code, ".")
			}
			a := d.answer(code)
			if link != "" {
				a.Links = []string{link}
			}
			j.Answers = append(j.Answers, a)
		}
	}
	ask("", list(before.results["questions"]))
	for i := range j.Links {
		if is := before.links[j.Links[i].ID]; is != nil && d.one(2) {
			ask(j.Links[i].ID, list(is["findings"]))
		}
	}
}

// next makes the revision that follows one: a few things change, or nothing does.
func next(j *job, n uint64, before *issued) *job {
	d := &dice{rand.New(rand.NewPCG(n, 15)), j.copy(), true, j}
	j = d.j
	file, later := fmt.Sprintf("readings/day%d.csv", n), fmt.Sprintf("readings/later%d.csv", n)
	if d.one(20) {
		if j.Billed == "" {
			j.From, j.To = "", "" // which want it said
		}
		return j
	}
	for range 1 + d.IntN(3) {
		switch d.IntN(27) {
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
			if p := j.person("ti"); p != nil {
				p.Until = d.of("2027-11-17", "")
			}
			if p := j.person("sv"); p != nil {
				p.Name = d.of("S. Varga", "S. Vargas")
			}
		case 5:
			if id := d.of("xx", "sv"); j.person(id) == nil {
				j.People = append(j.People, person{id, "X. Xu", "helper", ""})
			} else {
				j.People = slices.DeleteFunc(j.People, func(p person) bool { return p.ID == id })
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
			for i := len(j.Links) - 1; i > 0; i-- {
				gone := j.Links[i].ID // what was read once stays evidence
				if !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.Link == gone }) {
					j.Links = slices.Delete(j.Links, i, i+1)
					j.Made = slices.DeleteFunc(j.Made, func(m made) bool { return m.Link == gone })
					j.Seen = slices.DeleteFunc(j.Seen, func(i look) bool { return i.Link == gone })
					for k := range j.Answers {
						j.Answers[k].Links = slices.DeleteFunc(j.Answers[k].Links, func(l string) bool { return l == gone })
					}
					j.Answers = slices.DeleteFunc(j.Answers, func(a answer) bool { return a.Links != nil && len(a.Links) == 0 })
					break
				}
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
				} else {
					m.Closure, m.Shut = d.of("", "K4", "K5"), d.of("", "2026-11-17 10:30")
				}
			}
			if d.one(2) {
				j.Made = append(j.Made, made{Link: j.Links[0].ID, End: "B", Kind: "connector", Face: "pass", Person: "mo", Finished: "2026-11-16 13:13"})
			}
		case 25:
			if len(j.Seen) > 0 {
				i := &j.Seen[d.IntN(len(j.Seen))]
				i.Edition, i.Result, i.Person = d.of("2015", "2022"), d.of("pass", "fail"), d.of("mo", "sv")
				if d.one(2) {
					j.Seen = j.Seen[:len(j.Seen)-1]
				}
			}
		case 13:
			j.U, j.Marginal = d.of("", "0.25"), d.of("", "0.1")
			j.Questions["bend"] = question{"off", ""}
		case 14:
			if len(j.Made) > 1 {
				j.Made = j.Made[:len(j.Made)-1]
			}
			j.Cables[0].Reel = d.of("88-2041", "88-2042")
			if len(j.Cables) > 1 && j.Cables[1].ID == "C2" {
				j.Cables = append(j.Cables[:1:1], cable{"C3", "new", ""})
			}
		case 15:
			if id := d.of("PM-7", "PM-9b"); j.instrument(id) == nil {
				j.Instruments = append(j.Instruments, instrument{id, "power meter", "22977", "2026-03-03", "2027-03-03", "0.12"})
			} else {
				j.Instruments = slices.DeleteFunc(j.Instruments, func(in instrument) bool { return in.ID == id })
			}
		case 16, 17:
			d.rewrite()
		case 18, 23, 24:
			d.reply(before)
		case 19:
			switch {
			case len(j.Items) == 0 || d.one(3):
				j.Items = append(j.Items, d.item())
			case d.one(2):
				if j.Items = j.Items[1:]; len(j.Items) == 0 {
					j.Currency, j.Retainage = "", ""
				}
			default:
				j.Items[0].Unit, j.Items[0].Cable = d.of("strand", "splice", "drop"), d.of("", "C1")
				if j.Currency != "" {
					j.Items[0].Rate = d.of("8.5", "12")
				}
			}
		case 20:
			j.twice()
		case 21: // a file under another name is the same
			if i := slices.Index(j.Files, day2); i >= 0 && j.file(day2) == d.was.file(day2) {
				j.Files[i] = "readings/evening.csv"
				for k := range j.Readings {
					if j.Readings[k].File == day2 {
						j.Readings[k].File = j.Files[i]
					}
				}
			}
		case 22: // measured at another wavelength too, or for the first time
			at := time.Date(2026, 11, 21, 11, 0, 0, 0, time.UTC)
			l := &j.Links[d.IntN(len(j.Links))]
			nm := wavelengths[modeOf(l.Fibre)][1]
			if slices.ContainsFunc(j.Readings, func(r reading) bool { return r.Link == l.ID && r.NM == nm && r.Time == "" }) {
				continue // nothing would tell which of the two is the later
			}
			ref := "" // the readings of a wavelength are made alike
			for _, r := range j.Readings {
				if r.Link == l.ID && r.NM == nm && r.Quantity == "insertion_loss" {
					ref = r.Ref
				}
			}
			for _, way := range []string{"A-B", "B-A"} {
				j.Readings = append(j.Readings, reading{File: later, Ref: ref, Link: l.ID, Quantity: "insertion_loss", NM: wavelengths[modeOf(l.Fibre)][1], Way: way, Value: d.hundredths(30 + d.IntN(60)), Source: "LS-4",
					Instrument: "PM-9", Person: "mo", Reference: "2026-11-21 09:30", Time: at.Add(time.Duration(len(j.Readings)) * time.Minute).Format("2006-01-02 15:04:05")})
			}
			if !slices.Contains(j.Files, later) {
				j.Files = append(j.Files, later)
			}
		default: // measured again, in a new file
			at := time.Date(2026, 11, 20, 10, 0, 0, 0, time.UTC).Add(time.Duration(len(j.Readings)) * time.Minute) // another time where this is done twice
			for _, r := range j.copy().Readings {
				if r.Quantity == "insertion_loss" && r.Time != "" && d.one(3) {
					r.File, r.Time, r.Reference = file, at.Format("2006-01-02 15:04:05"), "2026-11-20 09:30"
					if !d.one(4) {
						r.Value, r.Shown = d.hundredths(20+d.IntN(90)), ""
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
	j.Files = slices.DeleteFunc(j.Files, func(f string) bool {
		return !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.File == f })
	})
	j.number()
	j.terms(n, 2)
	return j
}
