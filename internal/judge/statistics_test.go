package judge_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// TestStatistics: the ten numbers 1 to 10 in hundredths have mean 5.5, sample
// standard deviation √(82.5/9) = 3.0277 and median 5.5. As nearest ranks the
// tenth would be both 95 % and 97 %, the largest, so there is neither.
func TestStatistics(t *testing.T) {
	f := clean()
	f.Readings = f.Readings[:1]
	f.Readings[0].Value = dec("0.01")
	f.Links[0].From, f.Links[0].To, f.Links[0].Length = "panel R1 port 12", "panel C1 port 12", dec("5")
	for i := 2; i <= 10; i++ {
		l, r := f.Links[0], f.Readings[0]
		l.ID = letters(i)
		r.Link, r.Value, r.Time = l.ID, dec(fmt.Sprintf("0.%02d", i)), noon.Add(time.Duration(i)*5*time.Minute)
		f.Links, f.Readings = append(f.Links, l), append(f.Readings, r)
	}
	f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{record.Singlemode: {1310}}
	f.Job.Policy.Require.Directions = "either"
	// One of them failed at first and passed on retest.
	first := f.Readings[3]
	first.Fate, first.Value, first.Time = record.Superseded, dec("3.00"), first.Time.Add(-time.Minute)
	f.Readings = append(f.Readings, first)

	book := builtIn(t)
	groups := judge.Statistics(f, judged(t, f, book), book)
	var names []string
	for _, g := range groups {
		names = append(names, g.By+" "+g.Name)
		if g.N != 10 || g.Links != 10 || g.WavelengthNM != 1310 {
			t.Errorf("%+v", g)
		}
		if g.P95 != nil || g.P97 != nil {
			t.Errorf("%s %s: percentiles of ten losses", g.By, g.Name)
		}
		for what, pair := range map[string][2]float64{
			"mean": {g.Mean, 0.055}, "sd": {*g.SD, 0.030277}, "median": {g.Median, 0.055}, "worst": {g.Worst, 0.10},
			"first time": {g.FirstTime, 0.9}, "marginal": {g.Marginal, 0},
		} {
			if math.Abs(pair[0]-pair[1]) > 1e-6 {
				t.Errorf("%s %s: %s %v, want %v", g.By, g.Name, what, pair[0], pair[1])
			}
		}
	}
	want := "[all  fibre OS2 connector LC/UPC, spliced on person M. Okafor instrument PM-9 panel panel C1 panel panel R1]"
	if got := fmt.Sprint(names); got != want {
		t.Errorf("groups %s, want %s", got, want)
	}
	// 0.005 to 0.05 dB a connection: within every attenuation grade. Only what was
	// agreed is said.
	for _, agreed := range [][]string{nil, {"iec-61755-1-grade-b"}} {
		f.Job.Policy.Limits = append([]string{"tia-568.3-e"}, agreed...)
		for _, g := range judge.Statistics(f, judged(t, f, book), book) {
			if g.By != "connector" {
				continue
			}
			var met []string
			for _, grade := range g.Grades {
				if grade.Met {
					met = append(met, grade.SetID)
				}
			}
			if !slices.Equal(met, agreed) || len(met) != len(g.Grades) {
				t.Errorf("agreed %v: grades %+v", agreed, g.Grades)
			}
		}
	}
}

// TestStatisticsOfFew: nothing is summed up that so few losses do not show. By
// the definition of the nearest rank, ⌈n·p/100⌉ (Hyndman and Fan 1996, definition
// 1), that of 95 % is the largest of n up to n = 19, and that of 97 % up to n = 33.
func TestStatisticsOfFew(t *testing.T) {
	book := builtIn(t)
	for _, c := range []struct {
		n                        int
		any, deviation, p95, p97 bool
	}{{7, false, false, false, false}, {8, true, false, false, false}, {9, true, false, false, false}, {10, true, true, false, false}, {19, true, true, false, false},
		{20, true, true, true, false}, {33, true, true, true, false}, {34, true, true, true, true}} {
		f := clean()
		r := f.Readings[0]
		f.Readings = nil
		for i := range c.n {
			r.Value, r.Time = dec(fmt.Sprintf("0.%03d", i+1)), noon.Add(time.Duration(i)*time.Minute)
			f.Readings = append(f.Readings, r)
		}
		groups := judge.Statistics(f, judged(t, f, book), book)
		if (len(groups) > 0) != c.any {
			t.Errorf("%d losses: %d groups", c.n, len(groups))
		}
		for _, g := range groups {
			if (g.SD != nil) != c.deviation || (g.P95 != nil) != c.p95 || (g.P97 != nil) != c.p97 {
				t.Errorf("%d losses: deviation %v, percentiles %v and %v", c.n, g.SD, g.P95, g.P97)
			}
			if g.P95 != nil && g.Worst <= *g.P95 || g.P97 != nil && g.Worst <= *g.P97 {
				t.Errorf("%d losses: a percentile is the largest", c.n)
			}
		}
	}
}

// TestGrades: grade B (IEC 61755-1, from memory) is a mean of at most 0.12 dB
// and at most 0.25 dB for 97 %; one reading in a hundred may be worse.
func TestGrades(t *testing.T) {
	book := builtIn(t)
	for _, c := range []struct {
		name, most string
		bad        int
		want       judge.Verdict
	}{
		{"all at the mean", "0.24", 0, judge.Pass},
		{"three in a hundred worse", "0.20", 3, judge.Pass},
		{"four in a hundred worse", "0.20", 4, judge.Fail},
		{"mean too high", "0.25", 0, judge.Fail},
	} {
		f := clean()
		r := f.Readings[0]
		f.Readings = nil
		for i := range 100 {
			r.Value = dec(c.most) // of two connections
			if i < c.bad {
				r.Value = dec("0.60")
			}
			f.Readings = append(f.Readings, r)
		}
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iec-61755-1-grade-b")
		j := judged(t, f, book)
		got := judge.Pass
		for _, x := range j.Questions {
			if x.Kind == judge.KindLimit {
				got = max(got, x.Verdict)
				share := x.Quantity == record.GroupPercentile
				if w := x.Working; w.SetID != "iec-61755-1-grade-b" || w.Of != record.InsertionLoss || x.Population != 100 ||
					(w.Percentile != nil) != share || share && !w.Percentile.Equal(dec("97")) {
					t.Errorf("%s: %s is said to be of %d %s of the set %s, percentile %v", c.name, x.Quantity, x.Population, w.Of, w.SetID, w.Percentile)
				}
			}
		}
		if got != c.want || got == judge.Fail && j.Conforms() {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// TestStandsOut: a person whose links use far more of their limit than the rest
// is pointed at, and nobody where all work alike.
func TestStandsOut(t *testing.T) {
	book := builtIn(t)
	for _, more := range []string{"0", "0.6"} {
		f := generated(200, 3)
		f.Job.People = append(f.Job.People, record.Person{ID: "xy", Name: "X. Yilmaz"})
		for i := range f.Readings {
			if r := &f.Readings[i]; r.Quantity == record.InsertionLoss && r.Link < "P01-030" {
				r.Person, r.Value = "xy", r.Value.Add(dec(more))
			}
		}
		found := map[string]bool{}
		for _, g := range judge.Statistics(f, judged(t, f, book), book) {
			if !g.StandsOut.IsZero() && g.By == "person" {
				found[g.Name] = true
			}
		}
		if len(found) > 1 || found["X. Yilmaz"] != (more != "0") {
			t.Errorf("%s dB more: %v", more, found)
		}
	}
}
