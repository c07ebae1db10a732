package judge_test

import (
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/templates"
)

var long = flag.Bool("long", false, "also run what takes minutes: questions of jobs of 10,000 links, of many seeds")

// plant is a kind of cable plant and how it is measured. The figures are common
// practice, recalled: nothing published gives the scatter of field readings.
type plant struct {
	name        string
	mode        record.Mode
	fibre       string
	from, to    int // length, m
	pairs       int
	wavelengths []int
	glass       []float64 // dB/km at each
	every       float64   // km between splices; 0: none
}

var plants = []plant{
	{"short", record.Singlemode, "OS2", 20, 90, 2, []int{1310, 1550}, []float64{0.335, 0.195}, 0},
	{"campus", record.Singlemode, "OS2", 90, 1800, 2, []int{1310, 1550}, []float64{0.335, 0.195}, 0},
	{"multimode", record.Multimode, "OM3", 40, 300, 2, []int{850, 1300}, []float64{2.4, 0.6}, 0},
	{"long", record.Singlemode, "OS2", 4000, 45000, 2, []int{1310, 1550, 1625}, []float64{0.335, 0.195, 0.2175}, 4},
}

const (
	connection    = 0.18 // mean loss of a connection, dB
	connectionSD  = 0.07
	colour        = 0.08 // of a connection's loss, from one wavelength to the other
	spliceMean    = 0.04
	fibreSD       = 0.02  // of the glass of a link, from fibre to fibre
	mating        = 0.02  // of the cord, each time it is plugged, dB
	reading       = 0.008 // of the instrument, dB
	referenceSD   = 0.02  // of a day's reference at a wavelength in a direction, dB
	linksOfTeam   = 400
	linksOfDay    = 100
	minutesOfLink = 2
)

// honest makes a job of n links as they are measured: nothing is wrong with it.
func honest(p *plant, n int, seed uint64) *record.Facts {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	f := clean()
	f.Links, f.Readings, f.Job.Instruments, f.Job.People = nil, nil, nil, nil
	f.Job.Policy.Limits = []string{"rates"}
	f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{p.mode: p.wavelengths}
	seconds := r.IntN(3) > 0 // some instruments tell minutes only
	var offsets map[string]float64
	length := 0
	for i := range n {
		team, ofTeam := i/linksOfTeam, i%linksOfTeam
		if ofTeam == 0 {
			f.Job.Instruments = append(f.Job.Instruments, record.Instrument{ID: fmt.Sprintf("PM-%d", team), Kind: "power meter", Serial: fmt.Sprint(22800 + team),
				Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3), Uncertainty: ptr("0.12")})
			f.Job.People = append(f.Job.People, record.Person{ID: fmt.Sprintf("p%d", team), Name: fmt.Sprintf("Technician %d", team)})
		}
		if i%linksOfDay == 0 {
			offsets = map[string]float64{}
		}
		if i%12 == 0 { // a cable
			length = p.from + r.IntN(p.to-p.from)
		}
		l := record.Link{ID: fmt.Sprintf("C%03d-%02d", i/12+1, i%12+1), Fibre: p.fibre, Mode: p.mode, Length: quantity.Int(length), MatedPairs: p.pairs,
			EndA: record.End{Connector: "LC", Polish: "UPC"}, EndB: record.End{Connector: "LC", Polish: "UPC"}}
		km := float64(length) / 1000
		spliced := 0.0
		if p.every > 0 {
			l.Splices = int(km / p.every)
			for range l.Splices {
				spliced += max(0, spliceMean*(1+r.NormFloat64()))
			}
		}
		connections := 0.0
		for range p.pairs {
			connections += max(0.02, connection+connectionSD*r.NormFloat64())
		}
		own := 1 + fibreSD*r.NormFloat64()
		f.Links = append(f.Links, l)
		day := noon.AddDate(0, 0, ofTeam/linksOfDay).Add(-4 * time.Hour)
		at := day.Add(time.Duration(15+minutesOfLink*(i%linksOfDay)) * time.Minute)
		for _, way := range []record.Direction{record.AB, record.BA} {
			plugged := mating * r.NormFloat64()
			for k, nm := range p.wavelengths {
				key := fmt.Sprint(way, nm)
				if _, ok := offsets[key]; !ok {
					offsets[key] = referenceSD * r.NormFloat64()
				}
				loss := p.glass[k]*own*km + spliced + connections*(1+colour*r.NormFloat64()) + plugged + offsets[key] + reading*r.NormFloat64()
				when := at
				if seconds {
					when = at.Add(time.Duration(1+r.IntN(10)) * time.Second)
				}
				at = at.Add(time.Duration(12) * time.Second)
				if !seconds {
					when = when.Truncate(time.Minute)
				}
				f.Readings = append(f.Readings, record.Reading{
					Link: l.ID, Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Value: hundredths(loss), Fate: record.Used,
					Instrument: f.Job.Instruments[team].ID, Person: f.Job.People[team].ID, Time: when, ReferenceTime: day,
					Origin: record.Origin{File: fmt.Sprintf("readings/team-%d.csv", team), Row: len(f.Readings) + 2},
				})
			}
		}
	}
	return f
}

// hundredths is a loss as an instrument prints it.
func hundredths(loss float64) quantity.Decimal {
	return quantity.Must(fmt.Sprintf("%.2f", loss))
}

var ratesBook = sync.OnceValues(func() (*limits.Book, *diag.List) {
	sub, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		panic(err)
	}
	book, problems := limits.NewBook(sub)
	problems.Join(book.Add(source.New("rates.yaml", []byte(`
id: rates
title: A limit at every wavelength
owner: test
edition: "1"
provenance: read
values:
  cable:
    unit: dB/km
    rows:
      - {value: 0.5, mode: singlemode}
      - {value: 3.5, mode: multimode}
  mated_pair: {unit: dB, value: 0.75}
  splice: {unit: dB, value: 0.3}
limits:
  - id: link-loss
    quantity: insertion_loss
    at_most:
      - {rate: cable, amount: length_km}
      - {rate: mated_pair, amount: mated_pairs}
      - {rate: splice, amount: splices}
`))))
	return book, problems
})

// rates is a book with a limit at every wavelength of the plants.
func rates(t *testing.T) *limits.Book {
	t.Helper()
	book, problems := ratesBook()
	report(t, problems)
	return book
}

// askedAbout lists the questions of a job by code, with the links that each is about; ""
// is the job as a whole.
func askedAbout(t *testing.T, f *record.Facts) map[string]map[string]bool {
	t.Helper()
	j, problems := judge.Judge(f, rates(t))
	report(t, problems)
	out := map[string]map[string]bool{}
	note := func(link string, findings []judge.Finding) {
		for i := range findings {
			if q := findings[i].Question; !q.IsZero() {
				if out[q.Code] == nil {
					out[q.Code] = map[string]bool{}
				}
				out[q.Code][link] = true
			}
		}
	}
	note("", j.Questions)
	for _, l := range j.Results() {
		note(l.Link.ID, l.Findings)
	}
	return out
}

// TestFalseQuestions: fewer than one link in a thousand of honest jobs is asked
// about, by any question. A question about a whole job counts as one link.
func TestFalseQuestions(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	sizes := []struct{ links, seeds int }{{100, 12}, {1000, 1}}
	if *long {
		sizes = []struct{ links, seeds int }{{100, 300}, {1000, 30}, {10_000, 5}}
	}
	for i := range plants {
		p := &plants[i]
		for _, size := range sizes {
			rate(t, p, size.links, size.seeds)
		}
	}
	if !*long {
		rate(t, &plants[0], 10_000, 1)
	}
}

func rate(t *testing.T, p *plant, links, seeds int) {
	t.Helper()
	about, by := 0, map[string]int{}
	for seed := range uint64(seeds) {
		f := honest(p, links, seed+1)
		there := map[string]bool{}
		whole := 0
		for code, names := range askedAbout(t, f) {
			by[code] += len(names)
			for name := range names {
				if name == "" {
					whole++
				} else {
					there[name] = true
				}
			}
		}
		about += len(there) + whole
	}
	all := links * seeds
	t.Logf("%-10s %6d links, %3d seeds: %d of %d asked %v", p.name, links, seeds, about, all, by)
	if about*1000 >= all && about > 0 {
		t.Errorf("%s: %d of %d links are asked about", p.name, about, all)
	}
}

// fault is something wrong that is planted in an honest job, and the questions of
// which one must find it.
type fault struct {
	name  string
	plant string
	least int // of a hundred jobs that it must be found in
	codes []string
	// do plants it, and names the link that it is about, or "" for the job.
	do func(r *rand.Rand, f *record.Facts) string
}

// of changes the readings of a link.
func of(f *record.Facts, link string, change func(r *record.Reading)) {
	for i := range f.Readings {
		if r := &f.Readings[i]; r.Link == link {
			change(r)
		}
	}
}

func every(f *record.Facts, change func(r *record.Reading)) {
	for i := range f.Readings {
		change(&f.Readings[i])
	}
}

func some(r *rand.Rand, f *record.Facts) *record.Link { return &f.Links[r.IntN(len(f.Links))] }

// copyOf gives a link the losses of another, and its times where they are copied too.
func copyOf(f *record.Facts, from, to string, times bool) {
	var was []record.Reading
	of(f, from, func(r *record.Reading) { was = append(was, *r) })
	i := 0
	of(f, to, func(r *record.Reading) {
		if r.Value = was[i].Value; times {
			r.Time = was[i].Time
		}
		i++
	})
}

func more(r *record.Reading, by string) { r.Value = r.Value.Add(dec(by)) }

var faults = []fault{
	{"2 km on the schedule as 6 km", "campus", 95, []string{"below-glass"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		of(f, l.ID, func(q *record.Reading) {
			q.Value = hundredths(map[int]float64{1310: 0.335, 1550: 0.195}[q.WavelengthNM]*2 + 0.36)
		})
		l.Length = dec("6000")
		return l.ID
	}},
	{"another link measured, half as long", "long", 90, []string{"below-glass"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		of(f, l.ID, func(q *record.Reading) { q.Value = q.Value.Half().Round(2) })
		return l.ID
	}},
	{"a reference taken through 0.6 dB too much", "short", 80, []string{"negative-loss", "below-glass"}, func(r *rand.Rand, f *record.Facts) string {
		every(f, func(q *record.Reading) { more(q, "-0.6") })
		return f.Links[r.IntN(len(f.Links))].ID
	}},
	{"a bend of 1 dB at 1550 nm, on the shortest link", "long", 80, []string{"bend"}, func(r *rand.Rand, f *record.Facts) string {
		l := &f.Links[0] // the shortest
		for i := range f.Links {
			if f.Links[i].Length.Less(l.Length) {
				l = &f.Links[i]
			}
		}
		of(f, l.ID, func(q *record.Reading) {
			if q.WavelengthNM > 1500 {
				more(q, "1.0")
			}
		})
		return l.ID
	}},
	{"a bend of 0.4 dB at 1550 nm", "short", 90, []string{"bend"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		of(f, l.ID, func(q *record.Reading) {
			if q.WavelengthNM == 1550 {
				more(q, "0.4")
			}
		})
		return l.ID
	}},
	{"a bend that shows at 1625 nm only, 1.5 dB", "long", 75, []string{"bend"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		of(f, l.ID, func(q *record.Reading) {
			if q.WavelengthNM == 1625 {
				more(q, "1.5")
			}
		})
		return l.ID
	}},
	{"a dirty end, 0.7 dB in one direction", "campus", 95, []string{"direction-difference"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		of(f, l.ID, func(q *record.Reading) {
			if q.Direction == record.BA {
				more(q, "0.7")
			}
		})
		return l.ID
	}},
	{"two links copied, times and all", "short", 95, []string{"identical-results", "same-moment"}, func(r *rand.Rand, f *record.Facts) string {
		k := r.IntN(len(f.Links) - 1)
		copyOf(f, f.Links[k].ID, f.Links[k+1].ID, true)
		return f.Links[k].ID
	}},
	{"a link copied from the one before", "campus", 95, []string{"identical-results"}, func(r *rand.Rand, f *record.Facts) string {
		k := r.IntN(len(f.Links) - 1)
		copyOf(f, f.Links[k].ID, f.Links[k+1].ID, false)
		return f.Links[k].ID
	}},
	{"a link copied from any other", "campus", 15, []string{"identical-results"}, func(r *rand.Rand, f *record.Facts) string {
		k := r.IntN(len(f.Links) - 40)
		copyOf(f, f.Links[k].ID, f.Links[k+40].ID, false)
		return f.Links[k].ID
	}},
	{"six links copied from one", "short", 95, []string{"identical-results"}, func(r *rand.Rand, f *record.Facts) string {
		for k := range 6 {
			copyOf(f, f.Links[3].ID, f.Links[15*k+5].ID, false)
		}
		return f.Links[3].ID
	}},
	{"one direction copied to the other over the job", "short", 95, []string{"direction-copied"}, func(r *rand.Rand, f *record.Facts) string {
		at := map[string]quantity.Decimal{}
		every(f, func(q *record.Reading) {
			key := fmt.Sprint(q.Link, q.WavelengthNM)
			if q.Direction == record.AB {
				at[key] = q.Value
			} else {
				q.Value = at[key]
			}
		})
		return ""
	}},
	{"one direction copied to the other on nine links of ten", "campus", 95, []string{"direction-copied"}, func(r *rand.Rand, f *record.Facts) string {
		at := map[string]quantity.Decimal{}
		every(f, func(q *record.Reading) {
			key := fmt.Sprint(q.Link, q.WavelengthNM)
			if q.Direction == record.AB {
				at[key] = q.Value
			} else if q.Link[len(q.Link)-1] != '7' {
				q.Value = at[key]
			}
		})
		return ""
	}},
	{"one wavelength copied to the other over the job", "short", 95, []string{"wavelength-copied"}, func(r *rand.Rand, f *record.Facts) string {
		at := map[string]quantity.Decimal{}
		every(f, func(q *record.Reading) {
			key := q.Link + string(q.Direction)
			if q.WavelengthNM == 1310 {
				at[key] = q.Value
			} else {
				q.Value = at[key]
			}
		})
		return ""
	}},
	{"wavelengths swapped on a multimode job", "multimode", 95, []string{"wavelengths-swapped"}, func(r *rand.Rand, f *record.Facts) string {
		every(f, func(q *record.Reading) { q.WavelengthNM = 2150 - q.WavelengthNM })
		return ""
	}},
	{"wavelengths swapped on a long job", "long", 95, []string{"bend", "below-glass"}, func(r *rand.Rand, f *record.Facts) string {
		every(f, func(q *record.Reading) {
			if q.WavelengthNM < 1600 {
				q.WavelengthNM = 2860 - q.WavelengthNM
			}
		})
		return f.Links[r.IntN(len(f.Links))].ID
	}},
	{"one person on two instruments at once", "campus", 95, []string{"two-instruments"}, func(r *rand.Rand, f *record.Facts) string {
		second := f.Job.Instruments[0]
		second.ID = "PM-77"
		f.Job.Instruments = append(f.Job.Instruments, second)
		half := f.Links[50].ID // which another meter measures at the times of the first
		k := 0
		for i := range f.Readings {
			q := &f.Readings[i]
			if q.Link >= half {
				q.Instrument, q.Time = "PM-77", f.Readings[k].Time
				k++
			}
		}
		return ""
	}},
	{"a letter O in the place of a zero, beside the right name", "short", 100, []string{"near-miss-names.alike"}, func(r *rand.Rand, f *record.Facts) string {
		l := f.Links[9]
		l.ID = "COO1-10"
		f.Links = append(f.Links, l)
		return l.ID
	}},
	{"a letter O in the place of a zero", "short", 100, []string{"near-miss-names.letter"}, func(r *rand.Rand, f *record.Facts) string {
		was := f.Links[9].ID
		f.Links[9].ID = "C001-1O"
		of(f, was, func(q *record.Reading) { q.Link = "C001-1O" })
		return "C001-1O"
	}},
	{"readings made up at a desk, four seconds apart", "short", 100, []string{"pace"}, func(r *rand.Rand, f *record.Facts) string {
		for i := range f.Readings {
			f.Readings[i].Time = noon.Add(time.Duration(i+1) * time.Second)
		}
		return ""
	}},
	{"a meter out of calibration", "campus", 100, []string{"calibration.overdue"}, func(r *rand.Rand, f *record.Facts) string {
		f.Job.Instruments[0].Due = record.NewDate(2026, 11, 17)
		return f.Links[r.IntN(len(f.Links))].ID
	}},
	{"a reference of the day before", "campus", 100, []string{"reference-age.old"}, func(r *rand.Rand, f *record.Facts) string {
		every(f, func(q *record.Reading) { q.ReferenceTime = q.ReferenceTime.AddDate(0, 0, -1) })
		return f.Links[r.IntN(len(f.Links))].ID
	}},
	{"measured before the end was finished", "campus", 100, []string{"before-finished"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		f.Terminations = []record.Termination{{Link: l.ID, End: "B", EndFace: record.EndFacePass, Finished: noon.AddDate(0, 0, 9)}}
		return l.ID
	}},
	{"a file twice", "campus", 100, []string{"duplicate-rows.file"}, func(r *rand.Rand, f *record.Facts) string {
		f.Accounts = []record.Account{{File: "readings/a.csv", SHA256: "77"}, {File: "readings/b.csv", SHA256: "77"}}
		return ""
	}},
	{"one direction left out", "campus", 100, []string{"missing-direction.way"}, func(r *rand.Rand, f *record.Facts) string {
		l := some(r, f)
		f.Readings = slices.DeleteFunc(f.Readings, func(q record.Reading) bool { return q.Link == l.ID && q.Direction == record.BA })
		return l.ID
	}},
}

// TestPlantedFaults tells how often what is wrong in a job of a hundred links is
// asked about.
func TestPlantedFaults(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	seeds := 8
	if *long {
		seeds = 200
	}
	if len(faults) < 15 {
		t.Errorf("%d kinds of fault", len(faults))
	}
	for i := range faults {
		c := &faults[i]
		p := &plants[slices.IndexFunc(plants, func(p plant) bool { return p.name == c.plant })]
		found := 0
		for seed := range uint64(seeds) {
			f := honest(p, 100, 1000+seed)
			about := c.do(rand.New(rand.NewPCG(seed, 7)), f)
			for code, names := range askedAbout(t, f) {
				if names[about] && slices.ContainsFunc(c.codes, func(want string) bool { return code == want }) {
					found++
					break
				}
			}
		}
		t.Logf("%-60s %-10s found in %3d of %d jobs (at least %d %%)", c.name, c.plant, found, seeds, c.least)
		if found*100 < c.least*seeds {
			t.Errorf("%s: found in %d of %d jobs, want %d %%", c.name, found, seeds, c.least)
		}
	}
}
