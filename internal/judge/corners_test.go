package judge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// loss returns a reading like the clean job's first.
func loss(f *record.Facts, nm int, way record.Direction, q record.Quantity, value string) record.Reading {
	r := f.Readings[0]
	r.WavelengthNM, r.Direction, r.Quantity, r.Value = nm, way, q, dec(value)
	return r
}

// asked returns the questions of a code, each once, in order.
func asked(j *judge.Judgement, code string) (out []string) {
	for _, l := range j.Results() {
		for _, f := range l.Findings {
			if f.Code == code && !slices.Contains(out, said(f.Question)) {
				out = append(out, said(f.Question))
			}
		}
	}
	return out
}

func limitsOf(l *judge.LinkResult, q record.Quantity) (out []string) {
	for _, f := range l.Findings {
		if f.Kind == judge.KindLimit && f.Quantity == q {
			out = append(out, strings.TrimSpace(fmt.Sprint(f.WavelengthNM, " ", f.Direction, " ", f.Measured.Short(), " of ", f.Limit.Short())))
		}
	}
	return out
}

// TestNoLimit: a reading that no set, or not every set, has a figure for is
// asked about, naming what is missing.
func TestNoLimit(t *testing.T) {
	for _, c := range []struct {
		name, fibre string
		sets        []string
		nm          int
		want        []string
		verdict     judge.Verdict
	}{
		{"the only set lacks a value", "OS7", []string{"tia-568.3-e"}, 1310, []string{
			"No limit applies: set tia-568.3-e has no cable figure for OS7 at 1310 nm. Which limit should apply?",
			"No limit applies: set tia-568.3-e has no cable figure for OS7 at 1550 nm. Which limit should apply?",
		}, judge.Incomplete},
		{"no set is about such links", "OS2", []string{"itu-t-g.652.d"}, 1310, []string{
			"No limit applies: no limit set of this job covers OS2 with 2 mated pairs and 2 splices at 1310 nm. Which limit should apply?",
			"No limit applies: no limit set of this job covers OS2 with 2 mated pairs and 2 splices at 1550 nm. Which limit should apply?",
		}, judge.Incomplete},
		{"one of two sets lacks a value", "OS2", []string{"tia-568.3-e", "tia-568.3-d"}, 1310, []string{
			"Not every set judges this reading: set tia-568.3-d has no cable figure for OS2 at 1310 nm. Is that as agreed?",
			"Not every set judges this reading: set tia-568.3-d has no cable figure for OS2 at 1550 nm. Is that as agreed?",
		}, judge.Pass},
	} {
		f := clean()
		f.Links[0].Fibre, f.Job.Policy.Limits = c.fibre, c.sets
		j := judged(t, f, builtIn(t))
		if got := asked(j, "no-limit"); !slices.Equal(got, c.want) || j.Result(0).Verdict != c.verdict {
			t.Errorf("%s: %v, asked %q", c.name, j.Result(0).Verdict, got)
		}
		n := 0 // once for both directions and their average
		for _, x := range j.Result(0).Findings {
			if x.Code == "no-limit" {
				n++
			}
		}
		if n != len(c.want) {
			t.Errorf("%s: asked %d times", c.name, n)
		}
	}
}

// TestUnboundReflectance: a reflectance that the job requires, or that an
// application which the link must carry limits by count, does not pass for want
// of a figure. Clause 124 of IEEE 802.3 (400GBASE-DR4, from memory) counts ten
// reflections at most.
func TestUnboundReflectance(t *testing.T) {
	const apcOnly = "{id: p, title: P, owner: P, edition: '1', provenance: read, values: {face: {unit: dB, rows: [{value: -60, polish: APC}]}, loss: 3 dB}, limits: [" +
		"{id: loss, quantity: insertion_loss, where: {wavelength_nm: [1310, 1550]}, at_most: [{rate: loss}]}, {id: face, quantity: reflectance, where: {polish: APC}, at_most: [{rate: face}]}]}"
	const lossOnly = "{id: p, title: P, owner: P, edition: '1', provenance: read, values: {loss: 3 dB}, limits: [{id: loss, quantity: insertion_loss, at_most: [{rate: loss}]}]}"
	const noRow = "{id: p, title: P, owner: P, edition: '1', provenance: read, values: {face: {unit: dB, rows: [{value: -60, polish: APC}]}, loss: 3 dB}, limits: [" +
		"{id: loss, quantity: insertion_loss, at_most: [{rate: loss}]}, {id: face, quantity: reflectance, at_most: [{rate: face}]}]}"
	for _, c := range []struct {
		name, set, application string
		pairs                  int
		required               string
		want                   []string
		verdict                judge.Verdict
		unbound                int // readings
	}{
		{"eleven reflections", lossOnly, "400gbase-dr4", 11, "optional", []string{"400GBASE-DR4 has no discrete reflectance figure for 11 reflections above −55 dB. How should it be judged?"}, judge.Incomplete, 1},
		{"ten reflections", lossOnly, "400gbase-dr4", 10, "optional", nil, judge.Pass, 0},
		{"required, and the set limits other faces", apcOnly, "", 2, "required", []string{
			"No reflectance was measured at end B. When will it be?",
			"No limit applies: no limit set of this job covers the reflectance of end A at 1310 nm. Which limit should apply?",
		}, judge.Incomplete, 1},
		{"the set limits other faces", apcOnly, "", 2, "optional", nil, judge.Pass, 1},
		{"the set lacks a row", noRow, "", 2, "optional", []string{"Not every set judges this reading: set p has no face figure for end A at 1310 nm. Is that as agreed?"}, judge.Pass, 1},
	} {
		book := own(t, "limits/p.yaml", c.set)
		f := clean()
		f.Job.Policy.Limits = []string{"p"}
		f.Job.Policy.Require.Reflectance = c.required
		l := &f.Links[0]
		l.MatedPairs, l.EndA.SplicedOn, l.EndB.SplicedOn = c.pairs, false, false
		if c.application != "" {
			l.Applications = []string{c.application}
		}
		value := "-49.5"
		if c.required == "required" {
			value = "-14"
		}
		f.Readings = append(f.Readings, loss(f, 1310, record.AB, record.Reflectance, value))
		j := judged(t, f, book)
		var got []string
		for _, x := range j.Result(0).Findings {
			if x.Kind == judge.KindRequired {
				got = append(got, said(x.Question))
			}
		}
		if !slices.Equal(got, c.want) || j.Result(0).Verdict != c.verdict || len(j.Result(0).Unbound()) != c.unbound {
			t.Errorf("%s: %v, asked %q, unbound %v", c.name, j.Result(0).Verdict, got, j.Result(0).Unbound())
		}
		if c.application != "" && j.Result(0).Carries[0].Within != (c.want == nil) {
			t.Errorf("%s: within %v", c.name, !(c.want == nil))
		}
	}
}

// TestRequiredReflectance: where one way is enough, only the ends that light
// entered need a reflectance.
func TestRequiredReflectance(t *testing.T) {
	for _, c := range []struct {
		directions string
		with       []record.Reading
		want       int
	}{
		{"both", nil, 2}, {"either", nil, 1},
	} {
		f := clean()
		f.Job.Policy.Require.Reflectance, f.Job.Policy.Require.Directions = "required", c.directions
		if c.directions == "either" {
			f.Readings = []record.Reading{f.Readings[0], f.Readings[2]}
		}
		if got := asked(judged(t, f, builtIn(t)), "missing-reflectance"); len(got) != c.want {
			t.Errorf("%s, none measured: %q", c.directions, got)
		}
		f.Readings = append(f.Readings, loss(f, 1310, record.AB, record.ReturnLoss, "45"))
		if got := asked(judged(t, f, builtIn(t)), "missing-reflectance"); len(got) != c.want-1 {
			t.Errorf("%s, end A measured: %q", c.directions, got)
		}
	}
}

// TestMissingDirections names the direction that is missing.
func TestMissingDirections(t *testing.T) {
	f := clean()
	f.Readings = []record.Reading{f.Readings[1], f.Readings[2]}
	want := []string{
		"No loss was measured at 1310 nm, A to B. When will it be?",
		"No loss was measured at 1550 nm, B to A. When will it be?",
	}
	j := judged(t, f, builtIn(t))
	if got := asked(j, "missing-direction"); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	// A-B at one wavelength and B-A at another have no average.
	if got := limitsOf(j.Result(0), record.TwoWayAverage); got != nil {
		t.Errorf("averages %v", got)
	}
	// A loss without a direction stands for neither.
	unstated := clean()
	unstated.Readings[1].Direction = record.NoWay
	if got, want := asked(judged(t, unstated, builtIn(t)), "missing-direction"), []string{"No loss was measured at 1310 nm, B to A. When will it be?"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestAverages: two ways average where they are of one thing, and carry the
// larger uncertainty.
func TestAverages(t *testing.T) {
	for _, other := range []string{"0.05", "0.20"} {
		f := clean()
		f.Job.Instruments = append(f.Job.Instruments, f.Job.Instruments[0])
		f.Job.Instruments[1].ID, f.Job.Instruments[1].Uncertainty = "PM-2", ptr(other)
		f.Readings[1].Instrument = "PM-2"
		l := judged(t, f, builtIn(t)).Result(0)
		if got := limitsOf(l, record.TwoWayAverage); !slices.Equal(got, []string{"1310 two-way 0.985 of 2.2248", "1550 two-way 0.92 of 2.2248"}) {
			t.Errorf("averages %v", got)
		}
		for _, x := range l.Findings {
			if x.Quantity == record.TwoWayAverage && x.WavelengthNM == 1310 {
				want := dec("0.12")
				if want.Less(dec(other)) {
					want = dec(other)
				}
				if !x.Uncertainty.Equal(want) || len(x.Readings) != 2 {
					t.Errorf("U %s with one of %s", x.Uncertainty, other)
				}
			}
		}
	}
	book := own(t, "s.yaml", "id: s\ntitle: s\nedition: \"1\"\nowner: o\nprovenance: read\nlimits:\n  - {id: splice, quantity: splice_loss, at_most: 0.1 dB}\n")
	for _, c := range []struct {
		directions string
		events     [2]string
		want       []string
	}{
		{"both", [2]string{"S1", "S1"}, []string{"1550 two-way 0.07 of 0.1"}},
		{"both", [2]string{"S1", "S2"}, nil},
		{"either", [2]string{"S1", "S1"}, []string{"1550 two-way 0.07 of 0.1"}},
		{"either", [2]string{"S1", "S2"}, []string{"1550 A-B 0.08 of 0.1", "1550 B-A 0.06 of 0.1"}},
	} {
		f := clean()
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "s")
		f.Job.Policy.Require.Directions = c.directions
		for i, way := range []record.Direction{record.AB, record.BA} {
			r := loss(f, 1550, way, record.SpliceLoss, []string{"0.08", "0.06"}[i])
			r.Event = c.events[i]
			f.Readings = append(f.Readings, r)
		}
		var got []string
		for _, g := range limitsOf(judged(t, f, book).Result(0), record.SpliceLoss) {
			if strings.HasSuffix(g, "of 0.1") {
				got = append(got, g)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s, %v: %v, want %v", c.directions, c.events, got, c.want)
		}
	}
}

// TestPairs: strands are paired by id, or by strand within their cable; what is
// paired may be measured at one moment.
func TestPairs(t *testing.T) {
	for _, c := range []struct {
		name                 string
		pairA, pairB         string
		cableB               string
		polarity, sameMoment int
	}{
		{"not paired", "", "", "C1", 0, 1},
		{"by id", "N-B", "A-12", "C1", 0, 0},
		{"by strand", "2", "1", "C1", 0, 0},
		{"by strand, another cable", "2", "1", "C2", 2, 1},
		{"one side only", "N-B", "", "C1", 1, 0},
		{"the other side only", "", "1", "C1", 1, 0},
	} {
		f := clean()
		for i := range f.Readings {
			f.Readings[i].Time = f.Readings[i].Time.Add(7 * time.Second)
		}
		copies(f, 1, letters, 0)
		for i, pair := range []string{c.pairA, c.pairB} {
			f.Links[i].Cable, f.Links[i].Strand, f.Links[i].Pair = "C1", fmt.Sprint(i+1), pair
			if pair != "" {
				f.Links[i].Polarity = "crossed"
			}
		}
		f.Links[1].Cable = c.cableB
		j := judged(t, f, builtIn(t))
		if got := len(asked(j, "polarity")); got != c.polarity {
			t.Errorf("%s: polarity %q", c.name, asked(j, "polarity"))
		}
		if got := len(asked(j, "same-moment")); (got > 0) != (c.sameMoment > 0) {
			t.Errorf("%s: same moment %q", c.name, asked(j, "same-moment"))
		}
	}
}

// TestDuplicateRows: an earlier reading is a retest unless time, subject and
// value are all the same.
func TestDuplicateRows(t *testing.T) {
	for name, change := range map[string]func(r *record.Reading){
		"same":       func(*record.Reading) {},
		"time":       func(r *record.Reading) { r.Time = r.Time.Add(-time.Minute) },
		"no time":    func(r *record.Reading) { r.Time = time.Time{} },
		"value":      func(r *record.Reading) { r.Value = dec("0.93") },
		"wavelength": func(r *record.Reading) { r.WavelengthNM = 1490 },
		"direction":  func(r *record.Reading) { r.Direction = record.NoWay },
		"quantity":   func(r *record.Reading) { r.Quantity = record.SpliceLoss },
		"event":      func(r *record.Reading) { r.Event = "S1" },
	} {
		f := clean()
		r := f.Readings[0]
		r.Fate = record.Superseded
		change(&r)
		f.Readings = append(f.Readings, r)
		if got := len(asked(judged(t, f, builtIn(t)), "duplicate-rows")); (got > 0) != (name == "same") {
			t.Errorf("%s: asked %d", name, got)
		}
	}
}

// TestLengthClasses: links of one kind that an application tells apart by
// length are tried apart. 25GBASE-ER allows 15 dB to 30 km and 18 dB beyond.
func TestLengthClasses(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = []string{"25gbase-er"}
	f.Job.Policy.Require.Wavelengths = nil
	first, reading := f.Links[0], f.Readings[0]
	f.Links, f.Readings = nil, nil
	want := map[string]bool{"25000": false, "30000": false, "30000.1": true, "40000": true, "40000.1": false}
	for metres := range want {
		l, r := first, reading
		l.ID, l.Length = "L"+metres, dec(metres)
		r.Link, r.Value = l.ID, dec("16")
		f.Links, f.Readings = append(f.Links, l), append(f.Readings, r)
	}
	for _, l := range judged(t, f, builtIn(t)).Results() {
		metres := l.Link.ID[1:]
		within := map[string]bool{}
		for _, c := range l.Carries {
			within[c.Title] = c.Within
		}
		if within["25GBASE-ER"] != want[metres] || within["50GBASE-ER"] != want[metres] {
			t.Errorf("%s m: %v", metres, within)
		}
	}
}

// TestOrderOfApplications: by standard, then by speed.
func TestOrderOfApplications(t *testing.T) {
	var titles []string
	for _, c := range judged(t, clean(), builtIn(t)).Result(0).Carries {
		titles = append(titles, c.Title)
	}
	want := []string{"100BASE-LX10", "1000BASE-LX", "10GBASE-LR", "25GBASE-LR", "40GBASE-LR4", "50GBASE-LR", "100GBASE-LR4", "200GBASE-LR4", "400GBASE-LR8"}
	at := 0
	for _, w := range want {
		i := slices.Index(titles, w)
		if i < at {
			t.Errorf("%s is out of order in %v", w, titles)
		}
		at = i
	}
	if i := slices.Index(titles, "16GFC, 1310 nm"); i < slices.Index(titles, "400GBASE-LR8") || i < slices.Index(titles, "8GFC, 1310 nm") {
		t.Errorf("%v", titles)
	}
}

// TestReflectionsCount: IEEE 802.3 (from memory) limits each reflection by how
// many are above −55 dB; ends that measure no more do not count. 400GBASE-DR4
// has −37 dB for one and −42 dB for two.
func TestReflectionsCount(t *testing.T) {
	for _, c := range []struct {
		a    string
		q    record.Quantity
		want []string
	}{
		{"-50", record.Reflectance, []string{"1310 A-B -50 of -42"}},
		{"50", record.ReturnLoss, []string{"1310 A-B -50 of -42"}},
		{"-55", record.Reflectance, []string{"1310 A-B -55 of -37"}},
		{"56", record.ReturnLoss, []string{"1310 A-B -56 of -37"}},
	} {
		f := clean()
		f.Job.Policy.Limits = []string{"400gbase-dr4"}
		f.Readings = append(f.Readings, loss(f, 1310, record.AB, c.q, c.a))
		if got := limitsOf(judged(t, f, builtIn(t)).Result(0), record.Reflectance); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v", c.a, got)
		}
	}
}

// TestReturnLossLimits hold for reflectances too, and for nothing else.
func TestReturnLossLimits(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = []string{"tia-568.3-e", "iec-61755-1-return-loss-2"}
	f.Readings = append(f.Readings, loss(f, 1310, record.AB, record.Reflectance, "-45"), loss(f, 1550, record.AB, record.ReturnLoss, "44.9"))
	l := judged(t, f, builtIn(t)).Result(0)
	if got := limitsOf(l, record.ReturnLoss); !slices.Equal(got, []string{"1310 A-B 45 of 45", "1550 A-B 44.9 of 45"}) || l.Verdict != judge.Fail {
		t.Errorf("%v %v", l.Verdict, got)
	}
}

// TestWorst is the loss with the smallest margin wherever it stands.
func TestWorst(t *testing.T) {
	for i := range 4 {
		f := clean()
		f.Readings[i].Value = dec("1.10")
		l := judged(t, f, builtIn(t)).Result(0)
		if w := l.WorstFinding(); w.WavelengthNM != f.Readings[i].WavelengthNM || w.Direction != f.Readings[i].Direction {
			t.Errorf("reading %d: worst is %d nm %s", i, w.WavelengthNM, w.Direction)
		}
	}
}

// TestApplicationAsLimit: an application named among the limits binds every
// link as an application does: its figure is not held against averages.
func TestApplicationAsLimit(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = []string{"10gbase-lr"}
	l := judged(t, f, builtIn(t)).Result(0)
	if got := limitsOf(l, record.TwoWayAverage); got != nil {
		t.Errorf("averages %v", got)
	}
	if got := limitsOf(l, record.InsertionLoss); !slices.Equal(got, []string{"1310 A-B 0.94 of 6.2", "1310 B-A 1.03 of 6.2"}) {
		t.Errorf("losses %v", got)
	}
	if !l.Carries[0].Required || l.Carries[0].ID != "10gbase-lr" || len(l.Carries[0].Findings) != 3 {
		t.Errorf("%+v", l.Carries[0])
	}
}

// TestReferenceAge: neither a reference of the same minute nor one exactly as
// old as allowed is asked about.
func TestReferenceAge(t *testing.T) {
	for age, want := range map[time.Duration]int{0: 0, -time.Second: 1, 12 * time.Hour: 0, 12*time.Hour + time.Second: 1} {
		f := clean()
		f.Readings[0].ReferenceTime = f.Readings[0].Time.Add(-age)
		if got := asked(judged(t, f, builtIn(t)), "reference-age"); len(got) != want {
			t.Errorf("%v: %q", age, got)
		}
	}
}

// TestSameMoment names all links of one moment.
func TestSameMoment(t *testing.T) {
	f := clean()
	for i := range f.Readings {
		f.Readings[i].Time = f.Readings[i].Time.Add(7 * time.Second)
	}
	copies(f, 2, letters, 0)
	want := []string{
		"PM-9 measured A-12, N-B and N-C at the same moment, 18\u00a0Nov\u00a02026\u00a012:00:07. How is that possible?",
		"PM-9 measured A-12, N-B and N-C at the same moment, 18\u00a0Nov\u00a02026\u00a012:01:07. How is that possible?",
		"PM-9 measured A-12, N-B and N-C at the same moment, 18\u00a0Nov\u00a02026\u00a012:02:07. How is that possible?",
		"PM-9 measured A-12, N-B and N-C at the same moment, 18\u00a0Nov\u00a02026\u00a012:03:07. How is that possible?",
	}
	if got := asked(judged(t, f, builtIn(t)), "same-moment"); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
}

// TestDirectionDifference looks at each wavelength, measured both ways or not.
func TestDirectionDifference(t *testing.T) {
	f := clean()
	f.Readings = slices.Delete(f.Readings, 0, 1)
	f.Readings[2].Value = dec("0.10")
	if got := asked(judged(t, f, builtIn(t)), "direction-difference"); !slices.Equal(got, []string{"The two directions differ by 0.78 dB at 1550 nm. Why?"}) {
		t.Errorf("%q", got)
	}
}

// TestUnits: a length has no uncertainty and no band in dB.
func TestUnits(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = append(f.Job.Policy.Limits, "10gbase-lr")
	f.Job.Policy.Marginal = ptr("0.5")
	f.Readings = append(f.Readings, loss(f, 0, record.NoWay, record.Length, "9999.9"))
	f.Job.Policy.Questions = map[string]record.Question{"below-glass": {Weight: "off"}}
	for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
		if x.Quantity == record.Length && (x.Verdict != judge.Pass || x.Unit != quantity.Metre || x.Uncertainty != nil || !x.Margin.Equal(dec("0.1"))) {
			t.Errorf("%+v", x)
		}
	}
}

// TestLengths: the glass shows each wavelength a length of its own; each is
// held against the limit, the longest decides, the difference is no question.
func TestLengths(t *testing.T) {
	f := clean()
	f.Links[0].Applications, f.Links[0].Length = []string{"10gbase-lr"}, dec("10000")
	f.Job.Policy.Questions = map[string]record.Question{"below-glass": {Weight: "off"}}
	f.Readings = append(f.Readings, loss(f, 1550, record.AB, record.Length, "10000.1"), loss(f, 1310, record.AB, record.Length, "9999.9"))
	l := judged(t, f, builtIn(t)).Result(0)
	var got []string
	for _, x := range l.Findings {
		if x.Quantity == record.Length && x.Kind == judge.KindLimit {
			got = append(got, fmt.Sprintf("%d %s %s", x.WavelengthNM, x.Measured, x.Verdict))
		}
	}
	want := []string{"1310 9999.9 pass", "1550 10000.1 fail"}
	if !slices.Equal(got, want) || l.Verdict != judge.Fail || l.Carries[0].Within {
		t.Errorf("%v %q, want %q", l.Verdict, got, want)
	}
	for _, x := range l.Findings {
		if x.Kind == judge.KindEvidence {
			t.Errorf("asks %q", said(x.Question))
		}
	}
}

// TestExtremes: of several readings the highest and the lowest decide what a
// link carries.
func TestExtremes(t *testing.T) {
	for _, c := range []struct {
		first, second string
		want          bool
	}{{"20", "21", true}, {"20", "28.1", false}, {"28.1", "20", false}, {"20", "12.9", false}, {"12.9", "20", false}} {
		f := clean()
		f.Readings[0].Value, f.Readings[1].Value = dec(c.first), dec(c.second)
		f.Readings[2].Value, f.Readings[3].Value = dec("20"), dec("20")
		within := slices.ContainsFunc(judged(t, f, builtIn(t)).Result(0).Carries, func(x judge.Carries) bool { return x.ID == "gpon-class-b+" })
		if within != c.want {
			t.Errorf("%s and %s dB within class B+: %v", c.first, c.second, within)
		}
	}
}

// TestUnmetApplications says what stands between a link and an application.
func TestUnmetApplications(t *testing.T) {
	for id, want := range map[string]string{
		"10gbase-sr": "10GBASE-SR has no figure for OS2. Should it run on this link?",
		"10gbase-er": "10GBASE-ER is judged by the loss at 1530 to 1565 nm. When will it be measured?",
	} {
		f := clean()
		f.Readings = f.Readings[:2]
		f.Job.Policy.Require.Wavelengths[record.Singlemode] = []int{1310}
		f.Links[0].Applications = []string{id}
		j := judged(t, f, builtIn(t))
		if got := asked(j, "application"); !slices.Equal(got, []string{want}) || j.Result(0).Verdict != judge.Incomplete || j.Result(0).Carries[0].Within {
			t.Errorf("%s: %q", id, got)
		}
	}
}

// TestNoConstants: without all three constants of the glass no return loss is
// expected.
func TestNoConstants(t *testing.T) {
	all := []string{"backscatter: -82 dB", "fibre_attenuation: 0.20 dB/km", "group_index: 1.468 1"}
	for i := range all {
		book := own(t, "glass.yaml", "id: reel\nkind: constants\ntitle: t\nstandard: s\nedition: \"1\"\nprovenance: read\nvalues:\n  "+strings.Join(slices.Delete(slices.Clone(all), i, i+1), "\n  ")+"\n")
		f := clean()
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "reel")
		f.Readings = append(f.Readings, loss(f, 1550, record.AB, record.OpticalReturnLoss, "38"))
		if e := judged(t, f, book).Result(0).ExpectedORL; e != nil {
			t.Errorf("without %s: %v", all[i], e)
		}
	}
}

// TestOneOfAKind: one of a thing is said in the singular.
func TestOneOfAKind(t *testing.T) {
	f := clean()
	f.Links[0].MatedPairs = 1
	if got := asked(judged(t, f, builtIn(t)), "connection-count"); len(got) != 1 || !strings.Contains(got[0], "counts 1 mated pair.") {
		t.Errorf("asked %q", got)
	}
}
