package statistics_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/judge/testjob"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statistics"
)

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

var (
	builtIn, report, clean = testjob.Book, testjob.Report, testjob.Clean
	noon                   = testjob.Noon
)

func judged(t testing.TB, f *record.Facts, book *limits.Book) *judge.Judgement {
	t.Helper()
	j, problems := judge.Judge(f, book)
	report(t, problems)
	return j
}

// many is a job of n links like the clean one, with losses as good work has them.
func many(n int) *record.Facts {
	f, rng := clean(), rand.New(rand.NewPCG(3, 1))
	link, readings := f.Links[0], f.Readings
	f.Links, f.Readings = nil, nil
	for i := range n {
		l := link
		l.ID = fmt.Sprintf("P%02d-%03d", i/144+1, i%144+1)
		f.Links = append(f.Links, l)
		connections := 0.5 + 0.5*rng.Float64()
		for _, r := range readings {
			r.Link, r.Time = l.ID, r.Time.Add(time.Duration(i)*5*time.Minute)
			r.Value = quantity.Scaled(int64(100*(connections+0.03*rng.NormFloat64())), 2)
			f.Readings = append(f.Readings, r)
		}
	}
	return f
}

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
		l.ID = fmt.Sprintf("N-%02d", i)
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
	groups := statistics.Of(f, judged(t, f, book), book)
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
	// Ten connections of two within every attenuation grade show none of them. Only
	// what was agreed is said.
	for _, agreed := range [][]string{nil, {"iec-61755-1-grade-b"}} {
		f.Job.Policy.Limits = append([]string{"tia-568.3-e"}, agreed...)
		want := 0
		if agreed != nil {
			want = 1
		}
		for _, g := range statistics.Of(f, judged(t, f, book), book) {
			if g.By != "connector" {
				continue
			}
			if len(g.Grades) != want || want > 0 && (g.Grades[0].SetID != agreed[0] || g.Grades[0].Met) {
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
		groups := statistics.Of(f, judged(t, f, book), book)
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

// TestFirstTime: a link passed first time where its earlier readings passed
// too.
func TestFirstTime(t *testing.T) {
	for earlier, want := range map[string]float64{"2.2248": 1, "2.2249": 0} {
		f := clean()
		r := f.Readings[0]
		r.Fate, r.Value, r.Time = record.Superseded, dec(earlier), r.Time.Add(-time.Hour)
		f.Readings = append(f.Readings, r)
		book := builtIn(t)
		for _, g := range statistics.Of(f, judged(t, f, book), book) {
			if g.By == "all" && g.FirstTime != want {
				t.Errorf("%s dB before: %v", earlier, g.FirstTime)
			}
		}
	}
}

// TestStandsOut: a person whose links use far more of their limit than the rest
// is pointed at, and nobody where all work alike.
func TestStandsOut(t *testing.T) {
	book := builtIn(t)
	for _, more := range []string{"0", "0.6"} {
		f := many(200)
		f.Job.People = append(f.Job.People, record.Person{ID: "xy", Name: "X. Yilmaz"})
		for i := range f.Readings {
			if r := &f.Readings[i]; r.Quantity == record.InsertionLoss && r.Link < "P01-030" {
				r.Person, r.Value = "xy", r.Value.Add(dec(more))
			}
		}
		found := map[string]bool{}
		for _, g := range statistics.Of(f, judged(t, f, book), book) {
			if !g.StandsOut.IsZero() && g.By == "person" {
				found[g.Name] = true
			}
		}
		if len(found) > 1 || found["X. Yilmaz"] != (more != "0") {
			t.Errorf("%s dB more: %v", more, found)
		}
	}
}

// BenchmarkOf sums up 10,000 links.
func BenchmarkOf(b *testing.B) {
	f, book := many(10_000), builtIn(b)
	j := judged(b, f, book)
	for b.Loop() {
		statistics.Of(f, j, book)
	}
}
