package crosscheck

import (
	"encoding/json"
	"fmt"
	"iter"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/chance"
	"spanseal/internal/evidence"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// asks puts the questions about a job into words: the code, the arguments as the record
// has them, and behind a bar the links that each is asked of.
func asks(t *testing.T, f *record.Facts) (out []string) {
	t.Helper()
	settings, problems := evidence.Settings(&f.Job)
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	in := Input{
		Facts: f, Settings: settings,
		Counting: func(link int) (rs []record.Reading) {
			for _, r := range f.Readings {
				if r.Link == f.Links[link].ID && r.Fate == record.Used {
					rs = append(rs, r)
				}
			}
			return rs
		},
		All: func(link int) iter.Seq[*record.Reading] {
			return func(yield func(*record.Reading) bool) {
				for i := range f.Readings {
					if r := &f.Readings[i]; r.Link == f.Links[link].ID && !yield(r) {
						return
					}
				}
			}
		},
		Difference: func(of chance.Wavelengths) *quantity.Decimal {
			d := quantity.Must("-1.5") // dB/km of multimode glass, made up: 850 nm loses more
			return &d
		},
	}
	for i := range f.Links {
		in.Digests = append(in.Digests, chance.DigestOf(in.Counting(i)))
	}
	for _, q := range Questions(in) {
		text := q.Question.Code
		for _, a := range q.Question.Args {
			b, err := json.Marshal(a)
			if err != nil {
				t.Fatal(err)
			}
			text += " " + strings.ReplaceAll(string(b), `"`, "")
		}
		for k, i := range q.Links {
			text += []string{" | ", " "}[min(k, 1)] + f.Links[i].ID
		}
		out = append(out, text)
	}
	return out
}

// schedule is a job of links with these names.
func schedule(names ...string) *record.Facts {
	f := &record.Facts{}
	for _, name := range names {
		f.Links = append(f.Links, record.Link{ID: name, Mode: record.Multimode, Length: quantity.Int(200)})
	}
	return f
}

func same(t *testing.T, name string, f *record.Facts, want ...string) {
	t.Helper()
	if got := asks(t, f); !slices.Equal(got, want) {
		t.Errorf("%s:\n%s\nwant\n%s", name, strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestNames: names that a tired eye takes for one another are asked about together, once,
// in the order of the schedule; what differs by a digit does not look alike.
func TestNames(t *testing.T) {
	const alike = "near-miss-names.alike "
	for _, c := range []struct {
		names string // by commas
		want  []string
	}{
		{"A-10,A-11,B-10,A-1,A-100,A-101", nil},
		{"A-1,a-1", []string{alike + "[A-1,a-1] | A-1 a-1"}}, // by capitals and by looks, which is one question
		{"A-1,A\u20131", []string{alike + "[A-1,A\u20131] | A-1 A\u20131"}},
		{"A-1,A 1", []string{alike + "[A-1,A 1] | A-1 A 1"}},
		{"A-1,A_1", []string{alike + "[A-1,A_1] | A-1 A_1"}},
		{"A-1,A.1", nil},
		{"A-1,A1", nil},
		{"A-1,A-01,A-001", []string{alike + "[A-1,A-01,A-001] | A-1 A-01 A-001"}},
		{"1-A,01-A", []string{alike + "[1-A,01-A] | 1-A 01-A"}},
		{"A-0,A-", nil}, // a lone nought is a number
		{"A-00,A-0", []string{alike + "[A-00,A-0] | A-00 A-0"}},
		{"A-0B,A-B", nil},        // as is one before a letter
		{"A-10,A-1,A-1000", nil}, // noughts behind another digit are not leading
		{"A-1001,A-101", nil},
		{"A-1-02,A-1-2", []string{alike + "[A-1-02,A-1-2] | A-1-02 A-1-2"}},
		{"A-1O,A-10", []string{alike + "[A-1O,A-10] | A-1O A-10"}},
		{"A-1o,A-10", []string{alike + "[A-1o,A-10] | A-1o A-10"}},
		{"A-I0,A-10", []string{alike + "[A-I0,A-10] | A-I0 A-10"}},
		{"A-l0,A-10", []string{alike + "[A-l0,A-10] | A-l0 A-10"}},
		{"A-L0,A-10", nil},
		{"A-S0,A-50", nil},
		{"A-O3,A-03,A-3", []string{alike + "[A-03,A-3] | A-03 A-3", alike + "[A-O3,A-03,A-3] | A-O3 A-03 A-3"}},
		{"B-1,A-1,b-1,a-1", []string{alike + "[B-1,b-1] | B-1 b-1", alike + "[A-1,a-1] | A-1 a-1"}},
		{"B-1,A-1,a-1,b-1", []string{alike + "[B-1,b-1] | B-1 b-1", alike + "[A-1,a-1] | A-1 a-1"}},
		{"A-1,a-1,A_1,a_1,A-01", []string{alike + "{first:[A-1,a-1,A_1,a_1],more:1} | A-1 a-1 A_1 a_1 A-01"}},
		{"C-11,C-12,C-13,C-1O", []string{"near-miss-names.letter C-1O O [C-11,C-12,C-13] | C-1O"}},
		{"C-11,C-12,C-1O", nil}, // two may be what is odd
		{"C-11,C-12,C-13,C-1O,C-2O", nil},
		{"C-11,C-12,C-13,C-10,C-1O", []string{alike + "[C-10,C-1O] | C-10 C-1O", "near-miss-names.letter C-1O O [C-11,C-12,C-13,C-10] | C-1O"}},
		{"D-12,D-13,D-14,D-lI", []string{"near-miss-names.letter D-lI l [D-12,D-13,D-14] | D-lI"}},
		{"\u00c4-11,\u00c4-12,\u00c4-13,\u00c4-1o", []string{"near-miss-names.letter \u00c4-1o o [\u00c4-11,\u00c4-12,\u00c4-13] | \u00c4-1o"}},
		{"C-11,C-12,C-13,C-1,C-X1", nil},
	} {
		same(t, c.names, schedule(strings.Split(c.names, ",")...), c.want...)
	}
}

// TestPairs: the two strands of a pair name each other, by name or by strand within their
// cable, and are both crossed; whatever else the schedule says of them is asked about.
func TestPairs(t *testing.T) {
	type strand struct{ id, cable, strand, pair, polarity string }
	for _, c := range []struct {
		name    string
		strands []strand
		want    []string
	}{
		{"no pairs", []strand{{"P", "", "", "", ""}, {"Q", "", "", "", "straight"}}, nil},
		{"by name", []strand{{"P", "", "", "Q", "crossed"}, {"Q", "", "", "P", "crossed"}}, nil},
		{"in capitals", []strand{{"P", "", "", "Q", "Crossed"}, {"Q", "", "", "P", "CROSSED"}}, nil},
		{"by strand", []strand{{"P", "K1", "1", "2", "crossed"}, {"Q", "K1", "2", "1", "crossed"}}, nil},
		{"by strand and by name", []strand{{"P", "K1", "1", "2", "crossed"}, {"Q", "K1", "2", "P", "crossed"}}, nil},
		{"a name before a strand", []strand{{"P", "K1", "1", "2", "crossed"}, {"Q", "K1", "2", "", ""}, {"2", "K2", "7", "P", "crossed"}}, nil},
		{"by a strand of another cable", []strand{{"P", "K1", "1", "2", "crossed"}, {"Q", "K2", "2", "1", "crossed"}}, []string{"polarity.unknown P 2 | P", "polarity.unknown Q 1 | Q"}},
		{"by name, and back by a strand of another cable", []strand{{"P", "K1", "1", "Q", "crossed"}, {"Q", "K2", "2", "1", "crossed"}}, []string{"polarity.other P Q | P", "polarity.unknown Q 1 | Q"}},
		{"with nobody", []strand{{"P", "", "", "R", "crossed"}}, []string{"polarity.unknown P R | P"}},
		{"with itself", []strand{{"P", "K1", "1", "P", "crossed"}, {"Q", "K1", "2", "2", "crossed"}}, []string{"polarity.unknown P P | P", "polarity.unknown Q 2 | Q"}},
		{"with one that names a third", []strand{{"P", "", "1", "Q", "crossed"}, {"Q", "", "2", "R", "crossed"}, {"R", "", "3", "Q", "crossed"}}, []string{"polarity.other P Q | P"}},
		{"with one that names none", []strand{{"P", "K1", "1", "Q", "crossed"}, {"Q", "K1", "2", "", "crossed"}}, []string{"polarity.other P Q | P"}},
		{"with one that names none, where links have no strands", []strand{{"P", "", "", "Q", "crossed"}, {"Q", "", "", "", "crossed"}}, []string{"polarity.other P Q | P"}},
		{"unchecked", []strand{{"P", "", "", "Q", ""}, {"Q", "", "", "P", ""}}, []string{"polarity.unchecked P Q | P", "polarity.unchecked Q P | Q"}},
		{"one checked", []strand{{"P", "", "", "Q", "crossed"}, {"Q", "", "", "P", ""}}, []string{"polarity.disagree P Q crossed none | P", "polarity.unchecked Q P | Q"}},
		{"unlike", []strand{{"P", "", "", "Q", "Crossed"}, {"Q", "", "", "P", "straight"}}, []string{"polarity.disagree P Q crossed straight | P", "polarity.disagree Q P straight crossed | Q"}},
		{"straight", []strand{{"P", "", "", "Q", "straight"}, {"Q", "", "", "P", "straight"}}, []string{"polarity.straight P Q straight | P", "polarity.straight Q P straight | Q"}},
	} {
		f := &record.Facts{}
		for _, s := range c.strands {
			f.Links = append(f.Links, record.Link{ID: s.id, Cable: s.cable, Strand: s.strand, Pair: s.pair, Polarity: s.polarity})
		}
		same(t, c.name, f, c.want...)
	}
}

// TestFiles: files that are byte for byte the same are asked about, each beside the first;
// of a file whose bytes nobody kept nothing is known.
func TestFiles(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []record.Account
		want  []string
	}{
		{"two that differ", []record.Account{{File: "a.csv", SHA256: "77"}, {File: "b.csv", SHA256: "78"}}, nil},
		{"three alike, another between", []record.Account{{File: "a.csv", SHA256: "77"}, {File: "b.csv", SHA256: "78"}, {File: "c.csv", SHA256: "77"}, {File: "d.csv", SHA256: "77"}},
			[]string{"duplicate-rows.file a.csv c.csv", "duplicate-rows.file a.csv d.csv"}},
		{"two without a digest", []record.Account{{File: "a.csv"}, {File: "b.csv"}}, nil},
	} {
		f := schedule("A-1")
		f.Accounts = c.files
		same(t, c.name, f, c.want...)
	}
}

// measured gives every link of a job its losses at 850 nm and 1300 nm from both ends: those
// of the first, and of each next one more by the steps.
func measured(f *record.Facts, first [4]string, steps [4]string) {
	for i := range f.Links {
		for k, at := range []struct {
			nm  int
			way record.Direction
		}{{850, record.AB}, {850, record.BA}, {1300, record.AB}, {1300, record.BA}} {
			value := quantity.Must(first[k]).Add(quantity.Must(steps[k]).Mul(quantity.Int(i)))
			f.Readings = append(f.Readings, record.Reading{Link: f.Links[i].ID, Quantity: record.InsertionLoss, WavelengthNM: at.nm, Direction: at.way, Value: value, Fate: record.Used})
		}
	}
}

// TestCopies: what package chance finds to be copied, swapped or the same is asked about,
// with how many it is of; losses that did not count play no part.
func TestCopies(t *testing.T) {
	nine := []string{"P", "Q", "R", "S", "T", "U", "V", "W", "X"}
	for _, c := range []struct {
		name   string
		names  []string
		first  [4]string
		steps  [4]string
		change func(f *record.Facts)
		want   []string
	}{
		{"honest", nine, [4]string{"0.90", "0.97", "0.61", "0.52"}, [4]string{"0.03", "0.05", "0.01", "0.04"}, nil, nil},
		{"one direction like the other", nine, [4]string{"0.90", "0.90", "0.60", "0.60"}, [4]string{"0.05", "0.05", "0.03", "0.03"}, nil, []string{"direction-copied 18 18"}},
		{"one wavelength like the other", nine, [4]string{"0.90", "0.77", "0.90", "0.77"}, [4]string{"0.05", "0.09", "0.05", "0.09"}, nil, []string{"wavelength-copied 850 1300 18 18"}},
		// A difference of 0.212 and of 0.217 dB: 0.21 dB on average, not 0.215.
		{"two wavelengths swapped", nine, [4]string{"0.600", "0.650", "0.812", "0.867"}, [4]string{"0.030", "0.070", "0.030", "0.070"}, nil, []string{"wavelengths-swapped 850 1300 0.21 18"}},
		{"two links the same", nine, [4]string{"0.90", "0.97", "0.61", "0.52"}, [4]string{"0.03", "0.05", "0.01", "0.04"}, func(f *record.Facts) {
			for k := range 4 {
				f.Readings[4*7+k].Value = f.Readings[4*2+k].Value
			}
		}, []string{"identical-results [R,W] | R W"}},
		{"but one of them was measured again", nine, [4]string{"0.90", "0.97", "0.61", "0.52"}, [4]string{"0.03", "0.05", "0.01", "0.04"}, func(f *record.Facts) {
			for k := range 4 {
				r := f.Readings[4*2+k]
				r.Link, r.Fate = "W", record.Superseded
				f.Readings = append(f.Readings, r)
			}
		}, nil},
	} {
		f := schedule(c.names...)
		measured(f, c.first, c.steps)
		if c.change != nil {
			c.change(f)
		}
		same(t, c.name, f, c.want...)
	}
}

// TestIntervals: an instrument in use, meter or source, whose calibration is said to last
// longer than the job allows is asked about: longer than to the end of the month in which
// the months are over (common practice).
func TestIntervals(t *testing.T) {
	on := func(y int, m time.Month, d int) record.Date { return record.NewDate(y, m, d) }
	for _, c := range []struct {
		name            string
		months          string
		calibrated, due record.Date
		of              func(*record.Reading)
		want            bool
	}{
		{"a year", "", on(2026, 3, 3), on(2027, 3, 3), nil, false},
		{"to the end of its month", "", on(2026, 3, 3), on(2027, 3, 31), nil, false},
		{"a day longer", "", on(2026, 3, 3), on(2027, 4, 1), nil, true},
		{"over the end of a year", "", on(2025, 12, 31), on(2026, 12, 31), nil, false},
		{"and a day longer", "", on(2025, 12, 1), on(2027, 1, 1), nil, true},
		{"to the end of a February", "", on(2027, 2, 1), on(2028, 2, 29), nil, false},
		{"and a day longer", "", on(2027, 2, 28), on(2028, 3, 1), nil, true},
		{"half a year from the last of a month, to the end of a shorter one", "6", on(2026, 8, 31), on(2027, 2, 28), nil, false},
		{"and a day longer", "6", on(2026, 8, 31), on(2027, 3, 1), nil, true},
		{"two years where the job allows them", "24", on(2026, 3, 3), on(2028, 3, 31), nil, false},
		{"of a source", "", on(2026, 3, 3), on(2028, 3, 3), func(r *record.Reading) { r.Instrument, r.Source = "PM-8", "PM-9" }, true},
		{"of one that measured what was replaced", "", on(2026, 3, 3), on(2028, 3, 3), func(r *record.Reading) { r.Fate = record.Superseded }, true},
		{"of one that measured nothing", "", on(2026, 3, 3), on(2028, 3, 3), func(r *record.Reading) { r.Instrument = "PM-8" }, false},
		{"not said from when", "", record.Date{}, on(2028, 3, 3), nil, false},
		{"not said until when", "", on(2026, 3, 3), record.Date{}, nil, false},
	} {
		f := schedule("A-1")
		f.Job.Instruments = []record.Instrument{{ID: "PM-9", Calibrated: c.calibrated, Due: c.due}}
		f.Readings = []record.Reading{{Link: "A-1", Instrument: "PM-9", Fate: record.Used}}
		if c.of != nil {
			c.of(&f.Readings[0])
		}
		months := "12"
		if c.months != "" {
			d := quantity.Must(c.months)
			months, f.Job.Policy.Questions = c.months, map[string]record.Question{"calibration-interval": {Threshold: &d}}
		}
		var want []string
		if c.want {
			want = []string{fmt.Sprintf("calibration-interval PM-9 %s %s %s", c.calibrated, c.due, months)}
		}
		same(t, c.name, f, want...)
	}
}

// TestMoments: what times say of instruments and people over a job. A channel is a fibre
// that an instrument measures at one moment.
func TestMoments(t *testing.T) {
	noon := time.Date(2026, 11, 18, 12, 0, 0, 0, time.UTC)
	// read adds a reading of each of the links, so many thousandths of a second after noon.
	read := func(f *record.Facts, person, instrument string, ms int, links ...string) {
		for _, link := range links {
			f.Readings = append(f.Readings, record.Reading{Link: link, Person: person, Instrument: instrument, Time: noon.Add(time.Duration(ms) * time.Millisecond)})
		}
	}
	twins := func(f *record.Facts) {
		f.Links[0].Pair, f.Links[0].Polarity, f.Links[1].Pair, f.Links[1].Polarity = "Q", "crossed", "P", "crossed"
	}
	channels := func(n int) func(*record.Facts) {
		return func(f *record.Facts) {
			f.Job.Instruments = []record.Instrument{{ID: "PM-8"}, {ID: "PM-9", Channels: n}}
		}
	}
	const at = "2026-11-18T12:00:07Z"
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   []string
	}{
		{"two links at two moments", func(f *record.Facts) {
			read(f, "mo", "PM-9", 7000, "P")
			read(f, "mo", "PM-9", 8000, "Q")
		}, nil},
		{"two links at one moment", func(f *record.Facts) { read(f, "mo", "PM-9", 7000, "Q", "P") }, []string{"same-moment PM-9 [P,Q] " + at + " | P Q"}},
		{"twice at two links", func(f *record.Facts) {
			read(f, "mo", "PM-9", 9000, "P", "Q")
			read(f, "mo", "PM-9", 7000, "P", "Q", "P")
		}, []string{"same-moment PM-9 [P,Q] " + at + " | P Q", "same-moment PM-9 [P,Q] 2026-11-18T12:00:09Z | P Q"}},
		{"one link read twice at one moment", func(f *record.Facts) { read(f, "mo", "PM-9", 7000, "P", "P") }, nil},
		{"at one minute", func(f *record.Facts) { read(f, "mo", "PM-9", 60_000, "P", "Q") }, nil},
		{"at a part of a second", func(f *record.Facts) { read(f, "mo", "PM-9", 60_500, "P", "Q") }, []string{"same-moment PM-9 [P,Q] 2026-11-18T12:01:00Z | P Q"}},
		{"on one day", func(f *record.Facts) { read(f, "mo", "PM-9", 12*3600*1000, "P", "Q") }, nil},
		{"at no time", func(f *record.Facts) {
			read(f, "mo", "PM-9", 7000, "P", "Q")
			for i := range f.Readings {
				f.Readings[i].Time = time.Time{}
			}
			read(f, "mo", "PM-9", 9000, "R")
		}, nil},
		{"by no instrument", func(f *record.Facts) { read(f, "mo", "", 7000, "P", "Q") }, nil},
		{"by two instruments of two people", func(f *record.Facts) {
			read(f, "mo", "PM-9", 7000, "P")
			read(f, "jl", "PM-8", 7000, "Q")
		}, nil},
		{"a pair of strands", func(f *record.Facts) {
			twins(f)
			read(f, "mo", "PM-9", 7000, "P", "Q")
		}, nil},
		{"a pair of strands and a third", func(f *record.Facts) {
			twins(f)
			read(f, "mo", "PM-9", 7000, "P", "Q", "R")
		}, []string{"same-moment PM-9 [P,Q,R] " + at + " | P Q R"}},
		{"two fibres, of an instrument with one channel", func(f *record.Facts) {
			channels(1)(f)
			read(f, "mo", "PM-9", 7000, "P", "Q")
		}, []string{"same-moment PM-9 [P,Q] " + at + " | P Q"}},
		{"two fibres, of an instrument with two", func(f *record.Facts) {
			channels(2)(f)
			read(f, "mo", "PM-9", 7000, "P", "Q")
		}, nil},
		{"three fibres, of an instrument with two", func(f *record.Facts) {
			channels(2)(f)
			read(f, "mo", "PM-9", 7000, "P", "Q", "R")
		}, []string{"same-moment PM-9 [P,Q,R] " + at + " | P Q R"}},
		{"three fibres, of an instrument with three", func(f *record.Facts) {
			channels(3)(f)
			read(f, "mo", "PM-9", 7000, "P", "Q", "R")
		}, nil},
		{"eleven links in ten seconds", func(f *record.Facts) {
			for i := range 11 {
				read(f, "mo", "PM-9", 7000+1000*i, f.Links[i].ID)
			}
		}, []string{"pace PM-9 10 " + at + " 10"}},
		{"by an instrument with two channels", func(f *record.Facts) {
			channels(2)(f)
			for i := range 20 {
				read(f, "mo", "PM-9", 7000+1000*i, f.Links[i].ID)
			}
		}, nil},
		{"and twenty-one", func(f *record.Facts) {
			channels(2)(f)
			for i := range 21 {
				read(f, "mo", "PM-9", 7000+1000*i, f.Links[i].ID)
			}
		}, []string{"pace PM-9 20 " + at + " 20"}},
		{"one person at two instruments, rows out of order", func(f *record.Facts) {
			f.Job.People = []record.Person{{ID: "mo", Name: "M. Okafor"}}
			read(f, "mo", "PM-9", 9000, "P")
			read(f, "mo", "PM-8", 8000, "Q")
			read(f, "mo", "PM-9", 7000, "P")
		}, []string{"two-instruments M. Okafor PM-8 Q PM-9 P 2026-11-18T12:00:08Z 1"}},
		{"whom the job does not name", func(f *record.Facts) {
			read(f, "mo", "PM-9", 7000, "P")
			read(f, "mo", "PM-9", 9000, "P")
			read(f, "mo", "PM-8", 8000, "Q")
		}, []string{"two-instruments mo PM-8 Q PM-9 P 2026-11-18T12:00:08Z 1"}},
		{"nobody knows who", func(f *record.Facts) {
			read(f, "", "PM-9", 7000, "P")
			read(f, "", "PM-9", 9000, "P")
			read(f, "", "PM-8", 8000, "Q")
		}, nil},
		{"three meters, and two overlaps", func(f *record.Facts) {
			read(f, "mo", "PM-9", 7000, "P")
			read(f, "mo", "PM-9", 99_000, "P")
			read(f, "mo", "PM-8", 8000, "Q")
			read(f, "mo", "PM-7", 98_000, "R")
		}, []string{"two-instruments mo PM-8 Q PM-9 P 2026-11-18T12:00:08Z 2"}},
	} {
		f := schedule(strings.Split("P Q R S T U V W X Y Z A1 B1 C1 D1 E1 F1 G1 H1 J1 K1", " ")...)
		c.change(f)
		same(t, c.name, f, c.want...)
	}
}

// TestOrderOfQuestions: the order of questions does not depend on that of rows: instruments
// and people come by name, and positions of trunks behind pairs.
func TestOrderOfQuestions(t *testing.T) {
	f := schedule("P", "Q", "q", "R", "S")
	f.Links[0].Pair = "P"
	f.Links[1].Array = &record.Array{Trunk: "T1", Position: 1, FarPosition: 2}
	f.Job.Trunks = []record.Trunk{{ID: "T1", Fibres: 12, Method: "ours", Far: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}}
	at := time.Date(2026, 11, 18, 12, 0, 7, 0, time.UTC)
	for _, of := range [][2]string{{"PM-9", "R"}, {"PM-9", "P"}, {"PM-8", "S"}, {"PM-8", "Q"}} {
		for _, person := range []string{"ti", "mo"} {
			f.Readings = append(f.Readings, record.Reading{Link: of[1], Person: person, Instrument: of[0], Time: at})
		}
	}
	want := []string{
		"near-miss-names.alike [Q,q] | Q q", "polarity.unknown P P | P", "array-position.far T1 1 2 1 ours | Q",
		"same-moment PM-8 [Q,S] 2026-11-18T12:00:07Z | Q S", "same-moment PM-9 [P,R] 2026-11-18T12:00:07Z | P R",
		"two-instruments mo PM-8 Q PM-9 P 2026-11-18T12:00:07Z 4", "two-instruments ti PM-8 Q PM-9 P 2026-11-18T12:00:07Z 4",
	}
	same(t, "as they stand", f, want...)
	slices.Reverse(f.Readings)
	same(t, "turned round", f, want...)
}
