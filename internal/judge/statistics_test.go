package judge_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
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
	// Ten connections of two within every attenuation grade show none of them. Only
	// what was agreed is said.
	for _, agreed := range [][]string{nil, {"iec-61755-1-grade-b"}} {
		f.Job.Policy.Limits = append([]string{"tia-568.3-e"}, agreed...)
		want := 0
		if agreed != nil {
			want = 1
		}
		for _, g := range judge.Statistics(f, judged(t, f, book), book) {
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

// several makes links like the first, each of so many connections, with these
// losses A-B and B-A at 1310 nm.
func several(pairs int, losses ...string) *record.Facts {
	f := clean()
	link, way := f.Links[0], f.Readings[:2]
	f.Links, f.Readings = nil, nil
	f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{record.Singlemode: {1310}}
	f.Job.Policy.Questions = map[string]record.Question{"identical-results": {Weight: "off"}, "direction-copied": {Weight: "off"}, "connection-count": {Weight: "off"}, "pace": {Weight: "off"}}
	for i, loss := range losses {
		l := link
		l.ID, l.MatedPairs, l.EndA, l.EndB = fmt.Sprintf("B-%03d", i+1), pairs, record.End{}, record.End{}
		f.Links = append(f.Links, l)
		for k, by := range []string{"0.02", "-0.02"} { // the average is the loss
			r := way[k]
			r.Link, r.Value = l.ID, dec(loss).Add(dec(by))
			f.Readings = append(f.Readings, r)
		}
	}
	return f
}

// sameOf is n losses, the last few of which are worse.
func sameOf(n int, loss string, worse int, than string) []string {
	return slices.Concat(slices.Repeat([]string{loss}, n-worse), slices.Repeat([]string{than}, worse))
}

// TestGrades: grade B (IEC 61755-1, from memory) is a mean of at most 0.12 dB and
// at most 0.25 dB for 97 %. The mean may rest on links of several connections, the
// percentile on single ones only.
func TestGrades(t *testing.T) {
	book := builtIn(t)
	for _, c := range []struct {
		name             string
		pairs            int
		losses           []string
		mean, percentile string // verdict and number, or the code of what is asked
	}{
		{"98 single connections, one too few", 1, sameOf(98, "0.12", 0, ""), "pass 98", "not-shown.few"},
		{"99 single connections", 1, sameOf(99, "0.12", 0, ""), "pass 99", "pass 99"},
		{"99 with one over", 1, sameOf(99, "0.11", 1, "0.30"), "pass 99", "not-shown.few"},
		{"157 with one over", 1, sameOf(157, "0.11", 1, "0.30"), "pass 157", "pass 157"},
		{"three in a hundred over", 1, sameOf(100, "0.10", 3, "0.30"), "pass 100", "not-shown.few"},
		{"four in a hundred over", 1, sameOf(100, "0.10", 4, "0.30"), "pass 100", "fail 100"},
		{"one of five over", 1, sameOf(5, "0.05", 1, "0.30"), "pass 5", "fail 5"},
		{"two connections each, a thousand links", 2, sameOf(1000, "0.20", 0, ""), "pass 2000", "not-shown.averages"},
		{"the mean of single connections too high", 1, sameOf(99, "0.13", 0, ""), "fail 99", "pass 99"},
		{"the mean of links of three too high", 3, sameOf(10, "0.37", 0, ""), "fail 30", "not-shown.averages"},
	} {
		f := several(c.pairs, c.losses...)
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iec-61755-1-grade-b")
		j := judged(t, f, book)
		got := map[record.Quantity]string{record.GroupPercentile: "nothing", record.GroupMean: "nothing"}
		for _, x := range j.Questions {
			if w := x.Working; x.Kind == judge.KindLimit {
				got[x.Quantity] = fmt.Sprint(x.Verdict, " ", x.Population)
				share := x.Quantity == record.GroupPercentile
				if w.SetID != "iec-61755-1-grade-b" || w.Of != record.InsertionLoss || (w.Percentile != nil) != share || share && !w.Percentile.Equal(dec("97")) {
					t.Errorf("%s: %s is said to be of %s of the set %s, percentile %v", c.name, x.Quantity, w.Of, w.SetID, w.Percentile)
				}
			} else if x.Code == "not-shown" {
				got[record.GroupPercentile] = x.Question.Code
			} else if x.Code == "not-judged" {
				t.Errorf("%s: asked twice", c.name)
			}
		}
		if got[record.GroupMean] != c.mean || got[record.GroupPercentile] != c.percentile {
			t.Errorf("%s: mean %s, percentile %s; want %s, %s", c.name, got[record.GroupMean], got[record.GroupPercentile], c.mean, c.percentile)
		}
		if want := strings.HasPrefix(c.mean, "pass") && strings.HasPrefix(c.percentile, "pass"); j.Conforms() != want {
			t.Errorf("%s: conforms %v", c.name, !want)
		}
	}
}

// TestMeanCountsConnections: a link of four connections counts four times, one of two
// twice.
func TestMeanCountsConnections(t *testing.T) {
	f := several(2, "0.10", "0.90")
	f.Links[1].MatedPairs = 4
	f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iec-61755-1-grade-b")
	for _, x := range judged(t, f, builtIn(t)).Questions {
		if x.Kind == judge.KindLimit && (x.Measured.Round(4).String() != "0.1667" || x.Population != 6) { // 1.00 dB over six
			t.Errorf("%s of %d", x.Measured, x.Population)
		}
	}
}

// TestEveryConnection: percentile 100 of ISO/IEC 11801-1 (from memory, 0.75 dB) is
// about every connection, and several within it together are so one by one.
func TestEveryConnection(t *testing.T) {
	for _, c := range []struct {
		name   string
		pairs  int
		losses []string
		want   string
	}{
		{"single ones", 1, []string{"0.20", "0.74"}, "pass"},
		{"a single one over", 1, []string{"0.20", "0.76"}, "fail"},
		{"several within it together", 3, []string{"0.60", "0.75"}, "pass"},
		{"several over it together", 3, []string{"0.60", "0.76"}, "not-shown.each"},
	} {
		f := several(c.pairs, c.losses...)
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iso-11801-1-connections")
		var got string
		for _, x := range judged(t, f, builtIn(t)).Questions {
			if x.Question.Code == "not-shown.each" {
				got += x.Question.Code
			} else if x.Kind == judge.KindLimit && x.Working.LimitID == "all" {
				got += x.Verdict.String()
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestEnough: the sizes of samples of which 0 to 4 may be out and that still show
// 95 % with 95 % confidence are those of Wilks (1941, 1942) as they are used for
// one-sided tolerance limits: 59, 93, 124, 153 and 181; for 99 % of none 299
// (recalled). The first follow from 0.95^59 = 0.0485 and 0.99^299 = 0.0495.
func TestEnough(t *testing.T) {
	for over, want := range []int{59, 93, 124, 153, 181} {
		if got := judge.Enough(over, 0.95); got != want {
			t.Errorf("%d out: %d, want %d", over, got, want)
		}
	}
	if got := judge.Enough(0, 0.99); got != 299 {
		t.Errorf("99 %%: %d", got)
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
