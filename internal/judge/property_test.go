package judge_test

import (
	"encoding/json"
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestFalseAlarms: over clean jobs of 1,000 links with measurement noise no
// question is asked about any link, and none about the job. The log has the
// rate over ten such jobs.
func TestFalseAlarms(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	book := builtIn(t)
	const jobs, links = 10, 1000
	asked := map[string]int{}
	readings := 0
	for seed := range uint64(jobs) {
		f := generated(links, seed+1)
		readings += len(f.Readings)
		j := judged(t, f, book)
		for _, l := range j.Results() {
			for _, f := range l.Findings {
				if !f.Question.IsZero() {
					asked[f.Code]++
				}
			}
			if !l.Verdict.Certifiable() {
				t.Errorf("%s is %v", l.Link.ID, l.Verdict)
			}
		}
		for _, f := range j.Questions {
			asked[f.Code]++
		}
	}
	total := 0
	for code, n := range asked {
		total += n
		t.Logf("%s: %d", code, n)
	}
	t.Logf("%d questions over %d links with %d readings: a rate of %.4f a link", total, jobs*links, readings, float64(total)/(jobs*links))
	if total > 0 {
		t.Error("a clean job raised a question")
	}
}

// drawn is a link and how it is measured, at random.
func drawn(t *rapid.T) *record.Facts {
	f := clean()
	l := &f.Links[0]
	l.Length = quantity.Int(rapid.IntRange(0, 60_000).Draw(t, "metres"))
	l.MatedPairs = rapid.IntRange(0, 9).Draw(t, "pairs")
	l.Splices = rapid.IntRange(0, 30).Draw(t, "splices")
	l.EndA.SplicedOn, l.EndB.SplicedOn = rapid.Bool().Draw(t, "A"), rapid.Bool().Draw(t, "B")
	f.Job.Policy.Reference = rapid.SampledFrom([]record.ReferenceMethod{record.OneCord, record.TwoCord, record.ThreeCord}).Draw(t, "reference")
	f.Job.Policy.TestCords = rapid.SampledFrom([]record.TestCords{record.StandardCords, record.ReferenceCords}).Draw(t, "cords")
	f.Job.Policy.Limits = []string{rapid.SampledFrom([]string{"tia-568.3-e", "iso-11801-1-2017", "iso-11801-2002", "iso-14763-3-2014", "mil-std-2042-6b", "100gbase-er4"}).Draw(t, "set")}
	f.Job.Policy.Decision = rapid.SampledFrom([]string{"simple", "guarded"}).Draw(t, "decision")
	for i := range f.Readings {
		f.Readings[i].Value = quantity.Scaled(int64(rapid.IntRange(-100, 3000).Draw(t, "loss")), 2)
	}
	return f
}

func limitOf(t *rapid.T, f *record.Facts, j *judge.Judgement) quantity.Decimal {
	w := j.Result(0).WorstFinding()
	if w == nil {
		t.Fatalf("no limit for %+v", f.Links[0])
	}
	return w.Working.Limit
}

// TestLimitsGrow: adding a connection or a splice, or a longer link, never
// gives a lower limit.
func TestLimitsGrow(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		before := limitOf(t, f, mustJudge(t, f, book))
		l := &f.Links[0]
		switch rapid.IntRange(0, 3).Draw(t, "grow") {
		case 0:
			l.MatedPairs++
		case 1:
			l.Splices++
		case 2:
			l.EndA.SplicedOn = true
		case 3:
			l.Length = l.Length.Add(quantity.Scaled(int64(rapid.IntRange(0, 30_000_000).Draw(t, "mm")), 3))
		}
		if after := limitOf(t, f, mustJudge(t, f, book)); after.Less(before) {
			t.Fatalf("limit fell from %s to %s", before, after)
		}
	})
}

func mustJudge(t *rapid.T, f *record.Facts, book *limits.Book) *judge.Judgement {
	j, problems := pure(t, f, book)
	if j == nil {
		t.Fatal(problems.Sorted())
	}
	return j
}

// TestWorseNeverBetter: a higher loss never gets a better verdict of its
// finding.
func TestWorseNeverBetter(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		before := verdicts(mustJudge(t, f, book))
		r := &f.Readings[rapid.IntRange(0, 3).Draw(t, "which")]
		r.Value = r.Value.Add(quantity.Scaled(int64(rapid.IntRange(0, 500).Draw(t, "more")), 2))
		after := verdicts(mustJudge(t, f, book))
		if len(after) != len(before) {
			t.Fatalf("%d findings, then %d", len(before), len(after))
		}
		for i := range after {
			if after[i] < before[i] {
				t.Fatalf("finding %d went from %v to %v", i, before[i], after[i])
			}
		}
	})
}

// verdicts of the limit findings, which stand in a fixed order.
func verdicts(j *judge.Judgement) (out []judge.Verdict) {
	for _, f := range j.Result(0).Findings {
		if f.Kind == judge.KindLimit {
			out = append(out, f.Verdict)
		}
	}
	return out
}

// TestOrderOfRows: the order of rows never matters.
func TestOrderOfRows(t *testing.T) {
	book := builtIn(t)
	f := generated(300, 7)
	for i := range f.Readings { // some retests, some faults
		if i%17 == 0 {
			r := f.Readings[i]
			r.Fate, r.Origin.File = record.Superseded, "readings/earlier.csv"
			f.Readings = append(f.Readings, r)
		}
		if i%31 == 0 {
			f.Readings[i].Value = dec("4.00")
		}
	}
	want, err := json.Marshal(judged(t, f, book))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 5 {
		rng.Shuffle(len(f.Readings), func(i, k int) { f.Readings[i], f.Readings[k] = f.Readings[k], f.Readings[i] })
		got, err := json.Marshal(judged(t, f, book))
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got, want) {
			t.Fatal("another order of rows gave another judgement")
		}
	}
}

// TestSecondImplementation works the allowance of the two current cabling
// standards out by another way, in fractions and with the figures written here
// once more (limits of the collected tables), and compares.
func TestSecondImplementation(t *testing.T) {
	book := builtIn(t)
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		set := rapid.SampledFrom([]string{"tia-568.3-e", "iso-11801-1-2017"}).Draw(t, "standard")
		f.Job.Policy.Limits = []string{set}
		l := &f.Links[0]
		end := "0.75"
		if f.Job.Policy.TestCords == record.ReferenceCords && set == "tia-568.3-e" {
			end = "0.50"
		}
		ends := min(l.MatedPairs, 2)
		counted := max(l.MatedPairs-map[record.ReferenceMethod]int{record.OneCord: 0, record.TwoCord: 1, record.ThreeCord: 2}[f.Job.Policy.Reference], 0)
		inner := l.MatedPairs - ends
		outer := max(counted-inner, 0)
		want := new(big.Rat)
		for _, term := range [][2]string{
			{"0.4", l.Length.String()}, {"0.75", fmt.Sprint(1000 * inner)}, {end, fmt.Sprint(1000 * outer)}, {"0.3", fmt.Sprint(1000 * l.AllSplices())},
		} {
			rate, _ := new(big.Rat).SetString(term[0])
			amount, _ := new(big.Rat).SetString(term[1])
			want.Add(want, rate.Mul(rate, amount).Mul(rate, big.NewRat(1, 1000)))
		}
		got, _ := new(big.Rat).SetString(limitOf(t, f, mustJudge(t, f, book)).String())
		if got.Cmp(want) != 0 {
			t.Fatalf("%s: %s, want %s", set, got.FloatString(6), want.FloatString(6))
		}
	})
}
