package judge

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/chance"
	"spanseal/internal/evidence"
	"spanseal/internal/limits"
	"spanseal/internal/optics"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/statement"
)

// TestCalibrated: both the calibration date and the day it is due are valid days, and
// which day is missing is asked before any day is compared.
func TestCalibrated(t *testing.T) {
	march, due, none := record.NewDate(2026, 3, 3), record.NewDate(2027, 3, 3), record.Date{}
	for _, c := range []struct {
		name            string
		calibrated, due record.Date
		day             record.Date
		want            string
		days            int
	}{
		{"between them", march, due, record.NewDate(2026, 11, 18), "", 0},
		{"on the calibration date", march, due, march, "", 0},
		{"the day before", march, due, record.NewDate(2026, 3, 2), "early", 2},
		{"on the day it is due", march, due, due, "", 0},
		{"the day after", march, due, record.NewDate(2027, 3, 4), "overdue", 2},
		{"on no day", march, due, none, "", 0},
		{"no dates", none, none, march, "no-dates", 0},
		{"not said when it is due", march, none, march, "no-due", 0},
		{"not said when it was calibrated", none, due, march, "no-start", 0},
	} {
		code, days := calibrated(&record.Instrument{Calibrated: c.calibrated, Due: c.due}, c.day)
		if code != c.want || len(days) != c.days {
			t.Errorf("%s: %q with %d days, want %q with %d", c.name, code, len(days), c.want, c.days)
		}
	}
}

// TestReflections: each mated pair may reflect more than a level, but for one at an end
// that was measured, by whatever reading, and showed no more from there.
func TestReflections(t *testing.T) {
	read := func(q record.Quantity, way record.Direction, value string) record.Reading {
		return record.Reading{Quantity: q, Direction: way, Value: quantity.Must(value)}
	}
	weakA, weakB, strongA := read(record.Reflectance, record.AB, "-56"), read(record.ReturnLoss, record.BA, "56"), read(record.Reflectance, record.AB, "-54")
	for _, c := range []struct {
		name     string
		pairs    int
		readings []record.Reading
		want     int
	}{
		{"not measured", 3, nil, 3},
		{"end A weak", 3, []record.Reading{weakA}, 2},
		{"both ends weak", 3, []record.Reading{weakA, weakB}, 1},
		{"end A strong", 3, []record.Reading{strongA}, 3},
		{"end A strong, end B weak", 3, []record.Reading{strongA, weakB}, 2},
		{"end A strong in one of two readings", 3, []record.Reading{weakA, strongA}, 3},
		{"end A strong in one of two readings, which stands first", 3, []record.Reading{strongA, weakA}, 3},
		{"exactly the level", 3, []record.Reading{read(record.Reflectance, record.AB, "-55")}, 2},
		{"from nobody knows where", 3, []record.Reading{read(record.Reflectance, record.NoWay, "-56")}, 3},
		{"a loss is no reflectance", 3, []record.Reading{read(record.InsertionLoss, record.AB, "-56")}, 3},
		{"nor is that of all of the link", 3, []record.Reading{read(record.OpticalReturnLoss, record.AB, "56")}, 3},
		{"one pair, weak from both ends", 1, []record.Reading{weakA, weakB}, 0},
	} {
		d := &linkJudge{link: &record.Link{MatedPairs: c.pairs}, out: &LinkResult{Readings: c.readings}}
		if got := d.reflections(quantity.Int(-55)); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// TestSplicesAt: a splice that was measured both ways is one, and at each wavelength is
// counted what was measured there.
func TestSplicesAt(t *testing.T) {
	at := func(q record.Quantity, nm int, way record.Direction, event string) subject {
		return subject{quantity: q, wavelength: nm, direction: way, event: event}
	}
	subjects := []subject{
		at(record.SpliceLoss, 1550, record.AB, "S1"), at(record.SpliceLoss, 1550, record.BA, "S1"),
		at(record.Reflectance, 1310, record.AB, "S1"), at(record.SpliceLoss, 1310, record.AB, "S1"), at(record.SpliceLoss, 1310, record.AB, "S2"),
		at(record.SpliceLoss, 1310, record.BA, "S2"), at(record.InsertionLoss, 1625, record.AB, ""),
	}
	for nm, want := range map[int]int{1550: 1, 1310: 2, 1625: 0} {
		if got := splicesAt(subjects, nm); got != want {
			t.Errorf("%d nm: %d splices, want %d", nm, got, want)
		}
	}
}

// TestSeen: from one end the far reflection lies behind the loss of the link, and a
// reading that says no direction is taken to see both at once, which is the worst.
func TestSeen(t *testing.T) {
	read := func(q record.Quantity, nm int, way record.Direction, value string) record.Reading {
		return record.Reading{Quantity: q, WavelengthNM: nm, Direction: way, Value: quantity.Must(value)}
	}
	d := &linkJudge{out: &LinkResult{Readings: []record.Reading{
		read(record.InsertionLoss, 1310, record.AB, "0.5"), read(record.InsertionLoss, 1550, record.AB, "0.25"),
		read(record.Reflectance, 1310, record.AB, "-50"), read(record.ReturnLoss, 1310, record.BA, "45"),
		read(record.Reflectance, 1550, record.AB, "-55"), read(record.Length, 1310, record.AB, "312"),
	}}}
	for way, want := range map[record.Direction][]optics.Reflection{
		record.AB:    {{DB: -50}, {DB: -45, Away: 0.5}},
		record.BA:    {{DB: -50, Away: 0.5}, {DB: -45}},
		record.NoWay: {{DB: -50}, {DB: -45}},
	} {
		r := read(record.OpticalReturnLoss, 1310, way, "40")
		got := d.seen(&r)
		if len(got) != len(want) || got[0] != want[0] || got[1] != want[1] {
			t.Errorf("%q: %v, want %v", way, got, want)
		}
	}
}

// TestUnmet: an application whose limit nothing was measured for says at which
// wavelengths it has to be, or at any, and whether both ways.
func TestUnmet(t *testing.T) {
	for limit, want := range map[string]string{
		"{id: loss, quantity: insertion_loss, at_most: [{rate: most}]}":                                       "application.loss-any",
		"{id: loss, quantity: insertion_loss, where: {wavelength_nm: [1310, 1550]}, at_most: [{rate: most}]}": "application.loss",
		"{id: mean, quantity: two_way_average, at_most: [{rate: most}]}":                                      "application.average-any",
		"{id: mean, quantity: two_way_average, where: {wavelength_nm: 1310}, at_most: [{rate: most}]}":        "application.average",
	} {
		set, problems := limits.Parse(source.New("own.yaml", []byte("id: own\nkind: application\ntitle: t\nowner: o\nedition: e\nprovenance: read\nvalues: {most: 2 dB}\nlimits:\n  - "+limit+"\n")))
		if problems.Len() > 0 {
			t.Fatal(problems.Sorted())
		}
		d := &linkJudge{worker: &worker{}, link: &record.Link{Fibre: "OS2"}, ways: []way{{}}, at: limits.Situation{Fibre: "OS2", Mode: record.Singlemode}}
		if got := d.try(set, nil); got.unmet.Code != want || len(got.rows) > 0 {
			t.Errorf("%s: %q, want %q", limit, got.unmet.Code, want)
		}
	}
}

// TestAdvice: what may help goes by what the link is made of, and by what was measured.
func TestAdvice(t *testing.T) {
	ptr := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	read := func(values ...string) (rs []record.Reading) {
		for _, v := range values {
			rs = append(rs, record.Reading{Quantity: record.SpliceLoss, Value: quantity.Must(v)})
		}
		return rs
	}
	for name, c := range map[string]struct {
		quantity record.Quantity
		link     record.Link
		readings []record.Reading
		want     string
	}{
		"nothing joined":               {record.InsertionLoss, record.Link{}, nil, "advice.clean advice.reference"},
		"connected":                    {record.InsertionLoss, record.Link{MatedPairs: 1}, nil, "advice.clean advice.seat advice.reference"},
		"spliced":                      {record.InsertionLoss, record.Link{Splices: 1}, nil, "advice.clean advice.rework advice.reference"},
		"a splice, one way":            {record.SpliceLoss, record.Link{Splices: 1}, read("0.4"), "advice.splice"},
		"a splice, both ways alike":    {record.SpliceLoss, record.Link{Splices: 1}, read("0.4", "0.38"), "advice.splice"},
		"a splice of unequal fibres":   {record.SpliceLoss, record.Link{Splices: 1}, read("0.9", "-0.1"), "advice.splice advice.mode-field"},
		"a splice of fibres far apart": {record.SpliceLoss, record.Link{Splices: 1}, read("1.9", "-1.1"), "advice.splice advice.mode-field"},
		"a face":                       {record.Reflectance, record.Link{}, nil, "advice.face advice.polish"},
		"a face, as return loss":       {record.ReturnLoss, record.Link{}, nil, "advice.face advice.polish"},
		"all reflections together":     {record.OpticalReturnLoss, record.Link{MatedPairs: 2}, nil, "advice.reflection"},
		"a length":                     {record.Length, record.Link{}, nil, "advice.length"},
		"a mean":                       {record.TwoWayAverage, record.Link{MatedPairs: 1}, nil, "advice.clean advice.seat advice.reference"},
		"spliced at an end":            {record.InsertionLoss, record.Link{EndB: record.End{SplicedOn: true}}, nil, "advice.clean advice.rework advice.reference"},
	} {
		d := &linkJudge{worker: &worker{}, link: &c.link, out: &LinkResult{}}
		c.link.Mode = record.Multimode // which is asked about no bend
		f := &Finding{Matter: &Matter{Quantity: c.quantity}, Working: &Working{Bound: "at_most"}, Measured: ptr("2.5"), Limit: ptr("2"), Margin: ptr("-0.5"), Readings: c.readings}
		var got []string
		for _, s := range d.advice(f, &limits.Limit{}) {
			got = append(got, s.Code)
			// Two faces of index 1.47 in air, (n − 1)²/(n + 1)² = 3.62 % each (Fresnel): 0.32 dB.
			if s.Code == "advice.seat" && fmt.Sprint(s.Args[0]) != "0.3" {
				t.Errorf("%s: %v", name, s.Args)
			}
			// D. Marcuse's loss of two mode fields, −20 log(2 w1 w2/(w1² + w2²)), for a step of
			// 1.5 dB (recalled): the ratio is 1.4125, the loss 0.51 dB.
			if s.Code == "advice.mode-field" && c.readings[0].Value.Short() == "1.9" && fmt.Sprint(s.Args[1]) != "0.51" {
				t.Errorf("%s: %v", name, s.Args)
			}
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// TestAdviceOnTooLittle: where a link loses less than an application needs, light is to
// be taken away; within its guard band it is said how wide that is, and no more.
func TestAdviceOnTooLittle(t *testing.T) {
	for margin, want := range map[string]string{"-0.1": "advice.attenuator", "0": "advice.guard", "0.05": "advice.guard"} {
		by, limit, guard := quantity.Must(margin), quantity.Must("4"), quantity.Must("0.1")
		d := &linkJudge{worker: &worker{}, link: &record.Link{MatedPairs: 2}, out: &LinkResult{}}
		f := &Finding{Matter: &Matter{Quantity: record.InsertionLoss}, Working: &Working{Bound: "at_least"}, Limit: &limit, Margin: &by, Guard: &guard}
		var got []string
		for _, s := range d.advice(f, &limits.Limit{}) {
			got = append(got, s.Code)
		}
		if text := strings.Join(got, " "); text != want {
			t.Errorf("by %s dB: %q, want %q", margin, text, want)
		}
	}
}

// TestBent: a bend is looked for where a loss of single-mode fibre is more than glass
// and a shorter wavelength of the same way explain; a mean is held against both ways.
func TestBent(t *testing.T) {
	glass := quantity.Must("0.1") // dB/km, made up, as is all here
	read := func(q record.Quantity, nm int, way record.Direction, value string) record.Reading {
		return record.Reading{Quantity: q, WavelengthNM: nm, Direction: way, Value: quantity.Must(value)}
	}
	low := func(way record.Direction) record.Reading { return read(record.InsertionLoss, 1310, way, "0.5") }
	for _, c := range []struct {
		name     string
		mode     record.Mode
		way      record.Direction
		value    string
		readings []record.Reading
		want     bool
	}{
		{"2 km explain 0.2 dB and 0.3 dB more are allowed: 1.01 dB is more", record.Singlemode, record.AB, "1.01", []record.Reading{low(record.AB)}, true},
		{"1 dB is not", record.Singlemode, record.AB, "1.00", []record.Reading{low(record.AB)}, false},
		{"multimode fibre is asked about no bend", record.Multimode, record.AB, "1.01", []record.Reading{low(record.AB)}, false},
		{"the other way tells nothing", record.Singlemode, record.AB, "1.01", []record.Reading{low(record.BA)}, false},
		{"but of a mean it does", record.Singlemode, record.TwoWay, "1.01", []record.Reading{low(record.BA)}, true},
		{"as does the same way", record.Singlemode, record.TwoWay, "1.01", []record.Reading{low(record.AB)}, true},
		{"a reflectance is no loss", record.Singlemode, record.AB, "1.01", []record.Reading{read(record.Reflectance, 1310, record.AB, "-50")}, false},
		{"nor does the same wavelength tell anything", record.Singlemode, record.AB, "1.01", []record.Reading{read(record.InsertionLoss, 1550, record.AB, "0.5")}, false},
		{"or a longer one", record.Singlemode, record.AB, "1.01", []record.Reading{read(record.InsertionLoss, 1625, record.AB, "0.1")}, false},
		{"a pair of wavelengths without a figure", record.Singlemode, record.AB, "9", []record.Reading{read(record.InsertionLoss, 850, record.AB, "0.5")}, false},
		{"one reading that tells is enough", record.Singlemode, record.AB, "1.01", []record.Reading{low(record.BA), low(record.AB)}, true},
		{"nothing else was measured", record.Singlemode, record.AB, "9", nil, false},
	} {
		figure := func(short, long int) chance.Wavelengths {
			return chance.Wavelengths{Mode: record.Singlemode, Short: short, Long: long}
		}
		w := &worker{jobJudge: &jobJudge{asks: map[string]evidence.Setting{"bend": {Threshold: quantity.Must("0.3")}}},
			differs: map[chance.Wavelengths]*quantity.Decimal{figure(1310, 1550): &glass, figure(1550, 1550): &glass, figure(1625, 1550): &glass, figure(850, 1550): nil}}
		d := &linkJudge{worker: w, link: &record.Link{Mode: c.mode, Length: quantity.Must("2000")}, out: &LinkResult{Readings: c.readings}}
		measured := quantity.Must(c.value)
		if got := d.bent(&Finding{Matter: &Matter{WavelengthNM: 1550, Direction: c.way}, Measured: &measured}); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
		if _, ok := d.excess(&record.Reading{WavelengthNM: 850}, &record.Reading{WavelengthNM: 1550}); ok {
			t.Error("there is an excess without a figure of the glass")
		}
	}
}

// TestAttempts: a record that names its splice is of that one, and one that names none
// is of the only splice there is.
func TestAttempts(t *testing.T) {
	made := func(end, splice string, attempts int) record.Termination {
		return record.Termination{End: end, Splice: splice, Attempts: attempts}
	}
	for _, c := range []struct {
		name    string
		splices int
		splice  string
		made    []record.Termination
		want    int
	}{
		{"none on record", 1, "", nil, 0},
		{"the only splice", 1, "", []record.Termination{made("", "", 2)}, 2},
		{"the only splice, which a reading names", 1, "1", []record.Termination{made("", "", 2)}, 2},
		{"a named one", 2, "2", []record.Termination{made("", "1", 3), made("", "2", 2)}, 2},
		{"the most of several records of it", 1, "1", []record.Termination{made("", "1", 3), made("", "1", 2)}, 3},
		{"another", 2, "2", []record.Termination{made("", "1", 3)}, 0},
		{"of two records that name none, neither is known to be it", 1, "", []record.Termination{made("", "", 2), made("", "", 3)}, 0},
		{"of two splices, one record that names none is of either", 2, "1", []record.Termination{made("", "", 2)}, 0},
		{"a face is no splice of the span", 1, "", []record.Termination{made("A", "", 3)}, 0},
		{"nor a splice behind a face", 1, "1", []record.Termination{made("A", "1", 3)}, 0},
		{"faces count as no splices", 1, "", []record.Termination{made("A", "", 3), made("", "", 2), made("B", "", 3)}, 2},
	} {
		d := &linkJudge{link: &record.Link{Splices: c.splices}, out: &LinkResult{Terminations: c.made}}
		if got := d.attempts(c.splice); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// TestPopulationOf: a percentile of losses is said to be of single connections; a mean,
// and whatever is no loss of a link, of its own quantity.
func TestPopulationOf(t *testing.T) {
	for _, c := range []struct {
		figure, of record.Quantity
		want       string
	}{
		{record.GroupPercentile, record.InsertionLoss, "single_connection"},
		{record.GroupMean, record.InsertionLoss, string(record.InsertionLoss)},
		{record.GroupPercentile, record.SpliceLoss, string(record.SpliceLoss)},
		{record.GroupMean, record.SpliceLoss, string(record.SpliceLoss)},
	} {
		if got := populationOf(&Finding{Matter: &Matter{Quantity: c.figure}}, c.of); got != c.want {
			t.Errorf("%s of %s: %s", c.figure, c.of, got)
		}
	}
}

// TestSpliceLosses: in the losses of splices counts the average of both ways, and what
// has no way, but not one way alone.
func TestSpliceLosses(t *testing.T) {
	splice := func(event string, way record.Direction, loss string) record.Reading {
		return record.Reading{Quantity: record.SpliceLoss, WavelengthNM: 1550, Event: event, Direction: way, Value: quantity.Must(loss)}
	}
	b := &jobJudge{facts: &record.Facts{Links: []record.Link{{ID: "S-1", Mode: record.Singlemode}}}, policy: &record.Policy{}}
	b.links = make([]LinkResult, 1)
	b.links[0].Readings = []record.Reading{
		{Quantity: record.InsertionLoss, WavelengthNM: 1550, Direction: record.AB, Value: quantity.Must("0.9")}, {Quantity: record.InsertionLoss, WavelengthNM: 1550, Direction: record.BA, Value: quantity.Must("0.9")},
		splice("1", record.AB, "0.10"), splice("1", record.BA, "0.02"), splice("2", "", "0.04"), splice("3", record.AB, "0.30"),
		{Quantity: record.Length, Value: quantity.Int(300)},
	}
	by, order := b.losses()
	of := population{record.SpliceLoss, record.Singlemode, 1550}
	if got := by[of]; len(order) != 1 || got == nil || got.n != 2 || got.sum.Short() != "0.1" {
		t.Errorf("%v: %+v", order, got)
	}
}

// TestOrderOfPopulations: populations come by quantity, kind of fibre and wavelength, not
// in the order of the schedule.
func TestOrderOfPopulations(t *testing.T) {
	read := func(q record.Quantity, nm int) record.Reading {
		return record.Reading{Quantity: q, WavelengthNM: nm, Value: quantity.Must("0.1")}
	}
	b := &jobJudge{facts: &record.Facts{Links: []record.Link{{ID: "S-1", Mode: record.Singlemode, MatedPairs: 2}, {ID: "M-1", Mode: record.Multimode, MatedPairs: 2}}}, policy: &record.Policy{Reference: record.OneCord}}
	b.links = []LinkResult{
		{Readings: []record.Reading{read(record.SpliceLoss, 1310), read(record.InsertionLoss, 1550), read(record.InsertionLoss, 1310)}},
		{Readings: []record.Reading{read(record.InsertionLoss, 1300), read(record.InsertionLoss, 850)}},
	}
	_, got := b.losses()
	want := []population{{record.InsertionLoss, record.Multimode, 850}, {record.InsertionLoss, record.Multimode, 1300},
		{record.InsertionLoss, record.Singlemode, 1310}, {record.InsertionLoss, record.Singlemode, 1550}, {record.SpliceLoss, record.Singlemode, 1310}}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestWithoutFigure: a limit lacks a figure only if it does at every wavelength that it is
// about, and the last of them is named.
func TestWithoutFigure(t *testing.T) {
	set, problems := limits.Parse(source.New("own.yaml", []byte(`
id: own
title: t
owner: o
edition: e
provenance: read
values:
  glass: {unit: dB, rows: [{value: 0.4, wavelength_nm: 1310}]}
limits:
  - {id: any, quantity: insertion_loss, at_most: [{rate: glass}]}
  - {id: some, quantity: insertion_loss, where: {wavelength_nm: [1530-1565]}, at_least: [{rate: glass}]}
  - {id: upper, quantity: insertion_loss, at_most: [{rate: glass}], at_least: 0 dB}
  - {id: lower, quantity: insertion_loss, at_most: 9 dB, at_least: [{rate: glass}]}
`)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	for _, c := range []struct {
		limit       int
		wavelengths []int
		lacks       *work
		value       string
		nm          int
	}{
		{0, []int{1310}, nil, "", 0}, {0, []int{1310, 1550}, nil, "", 0}, {0, []int{1550, 1310}, nil, "", 0}, {0, []int{1550, 1625}, nil, "glass", 1625},
		{0, nil, nil, "glass", 0}, {1, nil, nil, "glass", 1530}, {1, []int{1310}, nil, "glass", 1530}, {1, []int{1310, 1550}, nil, "glass", 1550},
		{2, []int{1550}, nil, "glass", 1550}, {2, []int{1310}, nil, "", 0}, {3, []int{1550}, nil, "glass", 1550}, {3, []int{1310}, nil, "", 0},
		{0, []int{1550}, &work{wavelength: 1490, result: result{missing: "cable"}}, "cable", 1490},
	} {
		if value, nm := (&linkJudge{}).withoutFigure(&set.Limits[c.limit], limits.Situation{}, c.wavelengths, c.lacks); value != c.value || nm != c.nm {
			t.Errorf("limit %d at %v: %q at %d, want %q at %d", c.limit, c.wavelengths, value, nm, c.value, c.nm)
		}
	}
}

// TestSpeed: a title's rate is in Mbit/s, of at most six digits.
func TestSpeed(t *testing.T) {
	for title, want := range map[string]int{"": 0, "BASE": 0, "100BASE-FX": 100, "25GBASE-LR": 25_000, "16GFC": 16_000, "100": 100, "10G": 10_000, "1234567G": 123_456} {
		if got := speed(title); got != want {
			t.Errorf("%q: %d, want %d", title, got, want)
		}
	}
}

// TestTakenOff: only what stands with −1 of it is taken off, whole.
func TestTakenOff(t *testing.T) {
	for amount, want := range map[string]bool{"-1": true, "-1.0": true, "1": false, "-2": false, "0": false} {
		if got := (&WorkedTerm{Amount: quantity.Must(amount)}).TakenOff(); got != want {
			t.Errorf("%s: %t", amount, got)
		}
	}
}

// TestNeedsOf: links are told apart by what some application tells them apart by, be it
// one word in one place.
func TestNeedsOf(t *testing.T) {
	for where, want := range map[string]needs{
		"":                             {},
		"where: {splices: 2}":          {splices: true},
		"where: {connector: LC}":       {ends: true},
		"where: {polish: APC}":         {ends: true},
		"where: {fibre: OS2}":          {},
		"where: {wavelength_nm: 1310}": {},
	} {
		set, problems := limits.Parse(source.New("own.yaml", []byte("id: own\nkind: application\ntitle: t\nowner: o\nedition: e\nprovenance: read\nvalues: {most: 2 dB}\nlimits:\n  - {id: loss, quantity: insertion_loss, at_most: [{rate: most}], "+where+"}\n")))
		if problems.Len() > 0 {
			t.Fatal(where, problems.Sorted())
		}
		if got := needsOf([]*limits.Set{set}); got.splices != want.splices || got.ends != want.ends || len(got.lengths) > 0 || got.length[set] || len(got.levels) > 0 {
			t.Errorf("%q: %+v", where, got)
		}
	}
}

// TestExtremes: one reading without an uncertainty makes all of its slot unsure where a
// guard band was agreed, whichever stands first.
func TestExtremes(t *testing.T) {
	low, high, u := quantity.Must("0.30"), quantity.Must("0.50"), quantity.Must("0.10")
	known := func(v *quantity.Decimal) subject {
		return subject{quantity: record.InsertionLoss, wavelength: 1310, direction: record.AB, value: v, u: &u}
	}
	bare := func(v *quantity.Decimal) subject {
		return subject{quantity: record.InsertionLoss, wavelength: 1310, direction: record.BA, value: v}
	}
	back := func(v *quantity.Decimal) subject {
		return subject{quantity: record.ReturnLoss, wavelength: 1310, direction: record.AB, value: v}
	}
	for _, c := range []struct {
		name        string
		decision    string
		subjects    []subject
		least, most string
		unsure      bool
	}{
		{"simple acceptance", "simple", []subject{known(&low), bare(&high)}, "0.3", "0.5", false},
		{"return loss, as reflectance", "simple", []subject{back(&low), back(&high)}, "-0.5", "-0.3", false},
		{"guarded, both known", "guarded", []subject{known(&high), known(&low)}, "0.2", "0.6", false},
		{"the second not", "guarded", []subject{known(&low), bare(&high)}, "0.2", "0.5", true},
		{"the first not", "guarded", []subject{bare(&high), known(&low)}, "0.2", "0.5", true},
	} {
		d := &linkJudge{worker: &worker{jobJudge: &jobJudge{policy: &record.Policy{Decision: c.decision, GuardFactor: quantity.Int(1)}}}, link: &record.Link{}}
		got := d.slots(c.subjects)
		if len(got) != 1 || got[0].least.Short() != c.least || got[0].most.Short() != c.most || got[0].unsure != c.unsure {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// TestAsks: what can be answered is a question, and no limit's.
func TestAsks(t *testing.T) {
	question := statement.New("not-measured")
	for _, c := range []struct {
		of   Matter
		want bool
	}{
		{Matter{Kind: KindRequired, Question: question}, true}, {Matter{Kind: KindRequired}, false},
		{Matter{Kind: KindLimit, Question: question}, false}, {Matter{Kind: KindLimit}, false},
	} {
		if got := (&Finding{Matter: &c.of}).Asks(); got != c.want {
			t.Errorf("%+v: %t", c.of, got)
		}
	}
}

// TestUngraded: a limit about the whole job that judged nothing is optional where
// somebody agreed to it, and not applicable where no link is of its kind.
func TestUngraded(t *testing.T) {
	loss := func(change func(*limits.Limit)) *limits.Limit {
		l := &limits.Limit{Set: &limits.Set{ID: "own"}, ID: "mean", Quantity: record.GroupMean, Of: record.InsertionLoss}
		if change != nil {
			change(l)
		}
		return l
	}
	ofSplices := func(l *limits.Limit) { l.Of = record.SpliceLoss }
	agreed := func(a record.Agreed) []record.Agreed { return []record.Agreed{a} }
	spliced, multimode := record.Link{Fibre: "OS2", Mode: record.Singlemode, Splices: 1}, record.Link{Fibre: "OM4", Mode: record.Multimode}
	for _, c := range []struct {
		name   string
		limit  *limits.Limit
		agreed []record.Agreed
		links  []record.Link
		state  LedgerState
		reason string
	}{
		{"nothing was read", loss(nil), nil, []record.Link{{}}, Open, "open.unread"},
		{"its set is optional", loss(nil), agreed(record.Agreed{Set: "own"}), []record.Link{{}}, Optional, "optional.agreed"},
		{"for one link alone", loss(nil), agreed(record.Agreed{Set: "own", Links: []string{"A-1"}}), []record.Link{{}}, Open, "open.unread"},
		{"another set is", loss(nil), agreed(record.Agreed{Set: "other"}), []record.Link{{}}, Open, "open.unread"},
		{"another set, and the quantity", loss(nil), agreed(record.Agreed{Set: "other", Quantity: record.InsertionLoss}), []record.Link{{}}, Open, "open.unread"},
		{"the quantity, of whatever set", loss(nil), agreed(record.Agreed{Quantity: record.InsertionLoss}), []record.Link{{}}, Optional, "optional.agreed"},
		{"another quantity", loss(nil), agreed(record.Agreed{Quantity: record.SpliceLoss}), []record.Link{{}}, Open, "open.unread"},
		{"this limit of its set", loss(nil), agreed(record.Agreed{Set: "own", Limit: "mean"}), []record.Link{{}}, Optional, "optional.agreed"},
		{"another limit of its set", loss(nil), agreed(record.Agreed{Set: "own", Limit: "each"}), []record.Link{{}}, Open, "open.unread"},
		{"no link has such a fibre", loss(func(l *limits.Limit) { l.Where.Mode = record.Multimode }), nil, []record.Link{spliced}, NotApplicable, "unjudged.fibre"},
		{"one of two has", loss(func(l *limits.Limit) { l.Where.Mode = record.Multimode }), nil, []record.Link{spliced, multimode}, Open, "open.unread"},
		{"no link has a splice", loss(ofSplices), nil, []record.Link{{}}, NotApplicable, "unjudged.no-splice"},
		{"one of two has a splice", loss(ofSplices), nil, []record.Link{spliced, multimode}, Open, "open.unread"},
		{"a loss asks for no splice", loss(nil), nil, []record.Link{multimode}, Open, "open.unread"},
	} {
		b := &jobJudge{policy: &record.Policy{Optional: c.agreed}, facts: &record.Facts{Links: c.links}}
		state, reason := b.ungraded(c.limit)
		if state != c.state || reason.Code != c.reason {
			t.Errorf("%s: %v, %s", c.name, state, reason.Code)
		}
		if reason.Code == "unjudged.fibre" && reason.Args[0] != statement.Name(c.links[0].Fibre) {
			t.Errorf("%s: %v", c.name, reason.Args)
		}
	}
}

// TestFails: of the limits of loss that are met, the one is named that would be missed
// by most if the link were as its record has it; limits of other kinds, limits that are
// missed already and lower limits are not worked out again.
func TestFails(t *testing.T) {
	set, problems := limits.Parse(source.New("own.yaml", []byte(`
id: own
title: t
owner: o
edition: e
provenance: read
values: {pair: {unit: dB, value: 0.5}, least: 1 dB, two: {unit: dB, rows: [{value: 1, mated_pairs: 2}]}}
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: pair, amount: mated_pairs}]}
  - {id: least, quantity: insertion_loss, at_least: [{rate: least}]}
  - {id: two, quantity: insertion_loss, at_most: [{rate: two}]}
`)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	type of struct {
		kind     FindingKind
		quantity record.Quantity
		verdict  Verdict
		limit    int
		measured string
		guard    string
	}
	met := func(measured string) of {
		return of{KindLimit, record.InsertionLoss, Pass, 0, measured, ""}
	}
	guarded := met("0.45")
	guarded.guard = "0.10"
	average, failed, required, orl, lower, unsaid := met("0.80"), met("0.80"), met("0.80"), met("0.80"), met("0.80"), met("0.80")
	unsaid.limit = 2
	average.quantity, failed.verdict, required.kind, orl.quantity, lower.limit = record.TwoWayAverage, Fail, KindRequired, record.OpticalReturnLoss, 1
	for _, c := range []struct {
		name string
		of   []of
		want string // the loss that is named
	}{
		{"within the 0.5 dB of one pair", []of{met("0.50")}, ""},
		{"over it", []of{met("0.51")}, "0.51"},
		{"over it with its guard band", []of{guarded}, "0.45"},
		{"the mean of two ways", []of{average}, "0.8"},
		{"the worst of several, which stands last", []of{met("0.60"), met("0.70")}, "0.7"},
		{"the worst of several, which stands first", []of{met("0.70"), met("0.60")}, "0.7"},
		{"one that is missed already", []of{failed}, ""},
		{"no limit at all", []of{required}, ""},
		{"another quantity", []of{orl}, ""},
		{"a limit to be reached", []of{lower}, ""},
		{"a limit that says nothing of one pair", []of{unsaid}, ""},
		{"beside one that does", []of{unsaid, met("0.60")}, "0.6"},
		{"none", nil, ""},
	} {
		w := &worker{jobJudge: &jobJudge{asks: map[string]evidence.Setting{}, policy: &record.Policy{}}}
		d := &linkJudge{worker: w, link: &record.Link{}, out: &LinkResult{}, at: limits.Situation{MatedPairs: 2}}
		for _, o := range c.of {
			working, measured := &Working{}, quantity.Must(o.measured)
			f := Finding{Matter: &Matter{Kind: o.kind, Quantity: o.quantity}, Verdict: o.verdict, Measured: &measured, Working: working}
			if o.guard != "" {
				guard := quantity.Must(o.guard)
				f.Guard = &guard
			}
			d.out.Findings = append(d.out.Findings, f)
			d.works = append(d.works, work{limit: &set.Limits[o.limit], result: result{working: working}})
		}
		n := len(d.out.Findings)
		asked := d.fails(func(at *limits.Situation) { at.MatedPairs = 1 }, "loosened.pairs", pairs(2), statement.Count(1))
		got := ""
		if len(d.out.Findings) > n {
			got = d.out.Findings[n].Question.Args[3].(statement.Number).Decimal.Short()
		}
		if got != c.want || asked != (c.want != "") {
			t.Errorf("%s: %q asked %t, want %q", c.name, got, asked, c.want)
		}
	}
}

// TestShown: a finding shows what the instrument showed where it is of one reading.
func TestShown(t *testing.T) {
	bound := record.Reading{Shown: "<0.05"}
	for want, readings := range map[string][]record.Reading{"<0.05": {bound}, "": {bound, bound}} {
		if got := (&Finding{Readings: readings}).Shown(); got != want {
			t.Errorf("of %d readings: %q", len(readings), got)
		}
	}
	if got := (&Finding{}).Shown(); got != "" {
		t.Errorf("of none: %q", got)
	}
}

// TestDirections: two losses of one wavelength, one from each end and measured alike,
// are held against each other; numbers that only stand for what was shown are not.
func TestDirections(t *testing.T) {
	read := func(way record.Direction, value string, change func(*record.Reading)) record.Reading {
		r := record.Reading{Quantity: record.InsertionLoss, WavelengthNM: 1310, Direction: way, Value: quantity.Must(value)}
		if change != nil {
			change(&r)
		}
		return r
	}
	shown := func(r *record.Reading) { r.Shown = "<0.05" }
	longer := func(r *record.Reading) { r.WavelengthNM = 1550 }
	splice := func(r *record.Reading) { r.Quantity = record.SpliceLoss }
	three := func(r *record.Reading) { r.Method = &record.Method{Reference: record.ThreeCord} }
	for _, c := range []struct {
		name string
		x, y record.Reading
		want bool
	}{
		{"0.31 dB apart", read(record.AB, "0.50", nil), read(record.BA, "0.81", nil), true},
		{"the other way round", read(record.AB, "0.81", nil), read(record.BA, "0.50", nil), true},
		{"0.30 dB, which is allowed", read(record.AB, "0.50", nil), read(record.BA, "0.80", nil), false},
		{"of two wavelengths", read(record.AB, "0.50", nil), read(record.BA, "0.81", longer), false},
		{"of one direction", read(record.AB, "0.50", nil), read(record.AB, "0.81", nil), false},
		{"of no direction", read(record.NoWay, "0.50", nil), read(record.BA, "0.81", nil), false},
		{"the first is no number", read(record.AB, "0.05", shown), read(record.BA, "0.81", nil), false},
		{"the second is no number", read(record.AB, "0.81", nil), read(record.BA, "0.05", shown), false},
		{"of splices", read(record.AB, "0.50", splice), read(record.BA, "0.81", splice), false},
		{"of a link and a splice", read(record.AB, "0.50", nil), read(record.BA, "0.81", splice), false},
		{"by two methods", read(record.AB, "0.50", nil), read(record.BA, "0.81", three), false},
	} {
		w := &worker{jobJudge: &jobJudge{asks: map[string]evidence.Setting{"direction-difference": {Threshold: quantity.Must("0.3")}}, policy: &record.Policy{Reference: record.OneCord}}}
		d := &linkJudge{worker: w, link: &record.Link{}, out: &LinkResult{Readings: []record.Reading{c.x, c.y}}}
		if d.directions(); (len(d.out.Findings) == 1) != c.want {
			t.Errorf("%s: %d questions", c.name, len(d.out.Findings))
		}
	}
}

// TestListed: a splice that is within the limit for its attempts is told of if it is
// over one of those that this limit replaces, be it one of several, and over no other.
func TestListed(t *testing.T) {
	for _, c := range []struct {
		name     string
		replaces string
		want     bool
	}{
		{"over the one", "[tight]", true}, {"within the one", "[wide]", false}, {"over one of two", "[wide, tight]", true},
		{"over one of two, told first", "[tight, wide]", true}, {"over one about other fibre", "[other]", false},
		{"no upper limit", "[least]", false}, {"over none, since it replaces none", "[]", true},
	} {
		replaces := ""
		if c.replaces != "[]" {
			replaces = "replaces: " + c.replaces + ", "
		}
		set, problems := limits.Parse(source.New("own.yaml", []byte(`
id: own
title: t
owner: o
edition: e
provenance: read
limits:
  - {id: tight, quantity: splice_loss, at_most: 0.05 dB}
  - {id: wide, quantity: splice_loss, at_most: 0.15 dB}
  - {id: other, quantity: splice_loss, where: {fibre: OM4}, at_most: 0.05 dB}
  - {id: least, quantity: splice_loss, at_least: 0.01 dB}
  - {id: attempts, quantity: splice_loss, `+replaces+`where: {attempts: [3]}, at_most: 0.3 dB}
`)))
		if problems.Len() > 0 {
			t.Fatal(problems.Sorted())
		}
		measured := quantity.Must("0.10")
		d := &linkJudge{worker: &worker{jobJudge: &jobJudge{asks: map[string]evidence.Setting{}}}, link: &record.Link{}, out: &LinkResult{}, at: limits.Situation{Fibre: "OS2", Mode: record.Singlemode}}
		d.listed(&Finding{Matter: &Matter{Quantity: record.SpliceLoss, WavelengthNM: 1310}, Measured: &measured}, &set.Limits[4], 3)
		if got := len(d.out.Findings) == 1; got != c.want {
			t.Errorf("%s: told of %t", c.name, got)
		}
	}
}

// TestTwoWay: the average is of two neighbours of one wavelength and event, from A and
// from B; a number that only stands for what was shown has none.
func TestTwoWay(t *testing.T) {
	read := func(way record.Direction, value string, change func(*record.Reading)) record.Reading {
		r := record.Reading{Quantity: record.SpliceLoss, WavelengthNM: 1310, Direction: way, Event: "1", Value: quantity.Must(value)}
		if change != nil {
			change(&r)
		}
		return r
	}
	first := read(record.AB, "0.10", nil)
	for _, c := range []struct {
		name string
		p, r record.Reading
		want string
	}{
		{"both ways", first, read(record.BA, "0.05", nil), "0.075"},
		{"the second from A too", first, read(record.AB, "0.05", nil), ""},
		{"the first from B too", read(record.BA, "0.10", nil), read(record.BA, "0.05", nil), ""},
		{"of reflectances", read(record.AB, "-50", func(r *record.Reading) { r.Quantity = record.Reflectance }), read(record.BA, "-52", func(r *record.Reading) { r.Quantity = record.Reflectance }), ""},
		{"of a link and a splice", read(record.AB, "0.10", func(r *record.Reading) { r.Quantity = record.InsertionLoss }), read(record.BA, "0.05", nil), ""},
		{"of two wavelengths", first, read(record.BA, "0.05", func(r *record.Reading) { r.WavelengthNM = 1550 }), ""},
		{"of two splices", first, read(record.BA, "0.05", func(r *record.Reading) { r.Event = "2" }), ""},
		{"the first is no number", read(record.AB, "0.10", func(r *record.Reading) { r.Shown = "<0.1" }), read(record.BA, "0.05", nil), ""},
		{"the second is no number", first, read(record.BA, "0.05", func(r *record.Reading) { r.Shown = "<0.05" }), ""},
	} {
		b := &jobJudge{policy: &record.Policy{}}
		got := ""
		if average, ok := b.twoWay([]record.Reading{c.p, c.r}, 1); ok {
			got = average.Short()
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if _, ok := b.twoWay([]record.Reading{c.r}, 0); ok {
			t.Errorf("%s: the first of all has an average", c.name)
		}
	}
}

// TestOfLink: a fault of an answer says what it is about.
func TestOfLink(t *testing.T) {
	for link, want := range map[string]string{"": " about the job as a whole", "A-12": " about link A-12"} {
		if got := ofLink(link); got != want {
			t.Errorf("%q: %q", link, got)
		}
	}
}

// TestLengthClass: a link is in the same class as another where it lies on the same side
// of both ends of every range, which are closed.
func TestLengthClass(t *testing.T) {
	end := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	of := needs{lengths: []*limits.Span{{Min: end("100")}, {Max: end("300")}, {Min: end("300"), Max: end("2000")}}}
	for length, want := range map[string]int{"99.9": 0, "100": 1, "299": 1, "300": 2, "300.1": 3, "2000": 3, "2000.1": 4} {
		d := &linkJudge{worker: &worker{jobJudge: &jobJudge{needs: of}}, link: &record.Link{Length: quantity.Must(length)}}
		if got := d.lengthClass(); got != want {
			t.Errorf("%s m: %d, want %d", length, got, want)
		}
	}
}

// TestPlacesOfParts: a finding that lacks one of its numbers has as many digits as are
// asked for, but for those that tell its verdict.
func TestPlacesOfParts(t *testing.T) {
	number := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	for _, c := range []struct {
		name                    string
		measured, limit, margin *quantity.Decimal
		want                    int
	}{
		{"whole, told by three", number("0.4449"), number("0.5051"), number("0.0602"), 3},
		{"no more than four, whatever is hidden", number("1.000004"), number("1.000005"), number("0.000001"), 4},
		{"without a margin", number("0.4449"), number("0.5051"), nil, 2},
		{"without a limit", number("0.4449"), nil, number("0.0602"), 2},
		{"without a measurement", nil, number("0.5051"), number("0.0602"), 2},
	} {
		f := Finding{Matter: &Matter{}, Working: &Working{Bound: "at_most"}, Measured: c.measured, Limit: c.limit, Margin: c.margin}
		if got := f.Places(2); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// TestPlacesOf: all losses of a paper have the digits that the one needs which needs
// most, and two where none needs more.
func TestPlacesOf(t *testing.T) {
	finding := func(measured, limit, margin string) Finding {
		m, l, by := quantity.Must(measured), quantity.Must(limit), quantity.Must(margin)
		return Finding{Matter: &Matter{}, Working: &Working{Bound: "at_most"}, Measured: &m, Limit: &l, Margin: &by}
	}
	plain, fine := finding("1.10", "2.50", "1.40"), finding("2.2248", "2.2249", "0.0001")
	for _, c := range []struct {
		losses []Finding
		want   int
	}{{nil, 2}, {[]Finding{plain}, 2}, {[]Finding{fine}, 4}, {[]Finding{plain, fine}, 4}, {[]Finding{fine, plain}, 4}} {
		if got := PlacesOf(c.losses); got != c.want {
			t.Errorf("%d losses: %d digits, want %d", len(c.losses), got, c.want)
		}
	}
	if f := (Finding{Matter: &Matter{}}); f.Places(3) != 3 || f.Places(1) != 2 || !f.Said().IsZero() {
		t.Errorf("without a number: %d digits, %v", f.Places(3), f.Said())
	}
	answered := Finding{Matter: &Matter{}, Answer: &Reply{Text: "So it is.", Who: "A. Quill", Day: record.NewDate(2026, 11, 20)}}
	if got := answered.Said().Code; got != "answer" {
		t.Errorf("an answer is %q", got)
	}
}
