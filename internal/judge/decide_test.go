package judge

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/evidence"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/statement"
)

func number(s string) *quantity.Decimal {
	if s == "" {
		return nil
	}
	d := quantity.Must(s)
	return &d
}

// parsed is a set of limits of its own, with a heading before this text.
func parsed(t *testing.T, text string) *limits.Set {
	t.Helper()
	set, problems := limits.Parse(source.New("own.yaml", []byte("id: own\ntitle: Own\nowner: o\nedition: e\nprovenance: read\n"+text)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	return set
}

// TestDecide: which limit decides, by what margin, and what that means by the terms of the
// job. What is met exactly is met; a margin as wide as the band is not marginal, and one as
// wide as the guard band is enough (JCGM 106:2012, 8.3). Bands are about losses in dB.
func TestDecide(t *testing.T) {
	const loss, mean, splice, face, orl, length = record.InsertionLoss, record.TwoWayAverage, record.SpliceLoss, record.Reflectance, record.OpticalReturnLoss, record.Length
	type job struct{ decision, factor, marginal string }
	simple, guarded := job{decision: "simple"}, job{decision: "guarded"}
	band := func(j job, width string) job { j.marginal = width; return j }
	factor := func(j job, r string) job { j.factor = r; return j }
	for _, c := range []struct {
		name     string
		job      job
		quantity record.Quantity
		bound    string // "at_most 2", "at_least 40", "between 7 20"
		measured string
		u        string
		want     string // limit, margin, verdict; then the guard band and the question, if any
		computed bool   // the probability
	}{
		{"at most", simple, loss, "at_most 2", "1.5", "", "2 0.5 pass", false},
		{"at most, exactly", simple, loss, "at_most 2", "2.00", "", "2 0 pass", false},
		{"at most, over", simple, loss, "at_most 2", "2.001", "", "2 -0.001 fail", false},
		{"at least", simple, orl, "at_least 40", "45", "", "40 5 pass", false},
		{"at least, exactly", simple, orl, "at_least 40", "40", "", "40 0 pass", false},
		{"at least, under", simple, orl, "at_least 40", "39.9", "", "40 -0.1 fail", false},
		{"between, nearer to the lower", simple, loss, "between 7 20", "8", "", "7 1 pass", false},
		{"between, nearer to the upper", simple, loss, "between 7 20", "19", "", "20 1 pass", false},
		{"between, in the middle", simple, loss, "between 7 20", "13.5", "", "20 6.5 pass", false},
		{"between, at the lower", simple, loss, "between 7 20", "7", "", "7 0 pass", false},
		{"between, under", simple, loss, "between 7 20", "6", "", "7 -1 fail", false},
		{"between, over", simple, loss, "between 7 20", "21", "", "20 -1 fail", false},
		{"nearer than the uncertainty", simple, loss, "at_most 2", "1.881", "0.12", "2 0.119 marginal", true},
		{"as near as the uncertainty", simple, loss, "at_most 2", "1.88", "0.12", "2 0.12 pass", true},
		{"at the limit, with an uncertainty", simple, loss, "at_most 2", "2", "0.12", "2 0 marginal", true},
		{"an uncertainty of nothing", simple, loss, "at_most 2", "2", "0", "2 0 pass", false},
		{"within the band of the job", band(simple, "0.5"), loss, "at_most 2", "1.51", "0.12", "2 0.49 marginal", true},
		{"as near as the band of the job", band(simple, "0.5"), loss, "at_most 2", "1.50", "0.12", "2 0.5 pass", true},
		{"nearer than the uncertainty, beyond the band of the job", band(simple, "0.05"), loss, "at_most 2", "1.90", "0.12", "2 0.1 pass", true},
		{"a mean within the band of the job", band(simple, "0.5"), mean, "at_most 2", "1.51", "", "2 0.49 marginal", false},
		{"a splice within the band of the job", band(simple, "0.5"), splice, "at_most 2", "1.51", "", "2 0.49 marginal", false},
		{"a reflectance has no band", band(simple, "0.5"), face, "at_most -35", "-35.1", "", "-35 0.1 pass", false},
		{"nor has a return loss", band(simple, "0.5"), orl, "at_least 40", "40.1", "", "40 0.1 pass", false},
		{"a length in metres", band(simple, "0.5"), length, "at_most 300", "299.9", "0.12", "300 0.1 pass", true},
		{"a length, exactly", guarded, length, "at_most 300", "300", "0.12", "300 0 pass", true},
		{"a length, over", simple, length, "at_most 300", "300.1", "", "300 -0.1 fail", false},
		{"guarded, without an uncertainty", guarded, loss, "at_most 2", "1", "", "2 1 incomplete no-uncertainty", false},
		{"guarded, a mean without one", guarded, mean, "at_most 2", "1", "", "2 1 incomplete no-uncertainty", false},
		{"guarded, a splice without one", guarded, splice, "at_most 2", "1", "", "2 1 incomplete no-uncertainty", false},
		{"guarded, over without one", guarded, loss, "at_most 2", "2.1", "", "2 -0.1 fail", false},
		{"guarded, a reflectance", guarded, face, "at_most -35", "-35", "", "-35 0 pass", false},
		{"guarded, by less than the uncertainty", guarded, loss, "at_most 2", "1.881", "0.12", "2 0.119 fail 0.12", true},
		{"guarded, by as much", guarded, loss, "at_most 2", "1.88", "0.12", "2 0.12 pass 0.12", true},
		{"guarded, within the band of the job", band(guarded, "0.5"), loss, "at_most 2", "1.51", "0.12", "2 0.49 marginal 0.12", true},
		{"guarded, beyond it", band(guarded, "0.5"), loss, "at_most 2", "1.50", "0.12", "2 0.5 pass 0.12", true},
		{"guarded by half, by less", factor(guarded, "0.5"), loss, "at_most 2", "1.941", "0.12", "2 0.059 fail 0.06", true},
		{"guarded by half, by as much", factor(guarded, "0.5"), loss, "at_most 2", "1.94", "0.12", "2 0.06 marginal 0.06", true},
		{"guarded by half, beyond the uncertainty", factor(guarded, "0.5"), loss, "at_most 2", "1.88", "0.12", "2 0.12 pass 0.06", true},
		{"guarded, over", guarded, loss, "at_most 2", "2.1", "0.12", "2 -0.1 fail", true},
		{"guarded, at the lower of two", guarded, loss, "between 7 20", "7.1", "0.12", "7 0.1 fail 0.12", true},
	} {
		b := &jobJudge{policy: &record.Policy{Decision: c.job.decision, Marginal: number(c.job.marginal)}}
		if c.job.factor != "" {
			b.policy.GuardFactor = quantity.Must(c.job.factor)
		}
		bound := strings.Fields(c.bound)
		w := &Working{Bound: bound[0], Limit: quantity.Must(bound[len(bound)-1])}
		if len(bound) > 2 {
			w.Lower = number(bound[1])
		}
		f := Finding{Matter: &Matter{Quantity: c.quantity, Unit: c.quantity.Unit()}, Measured: number(c.measured), Uncertainty: number(c.u), Working: w}
		b.decide(&f)
		got := fmt.Sprintf("%s %s %s", f.Limit.Short(), f.Margin.Short(), f.Verdict)
		if f.Guard != nil {
			got += " " + f.Guard.Short()
		}
		if f.Question.Code != "" {
			got += " " + f.Question.Code
		}
		if computed := f.Probability != -1; got != c.want || computed != c.computed || computed && (f.Probability <= 0 || f.Probability > 1) {
			t.Errorf("%s: %s, probability %v, want %s", c.name, got, f.Probability, c.want)
		}
	}
}

// TestOrderOfFindings: limits first, then what must be there, estimates and evidence; each
// by quantity, wavelength, direction and event. The worst decides the link, and the loss
// with the smallest margin is the one that is shown.
func TestOrderOfFindings(t *testing.T) {
	finding := func(kind FindingKind, q record.Quantity, nm int, way record.Direction, event, margin string, v Verdict) Finding {
		return Finding{Matter: &Matter{Kind: kind, Quantity: q, WavelengthNM: nm, Direction: way, Event: event}, Margin: number(margin), Verdict: v}
	}
	shown := finding(KindLimit, record.InsertionLoss, 1625, record.AB, "", "0.01", Pass)
	shown.Readings = []record.Reading{{Shown: "<0.05"}}
	want := []Finding{
		finding(KindLimit, record.InsertionLoss, 1310, record.AB, "", "0.30", Pass),
		finding(KindLimit, record.InsertionLoss, 1310, record.BA, "", "0.20", Pass),
		finding(KindLimit, record.TwoWayAverage, 1310, record.TwoWay, "", "0.20", Pass),
		finding(KindLimit, record.InsertionLoss, 1550, record.AB, "", "0.25", Pass),
		shown, // a number that only stands for what was shown is not the worst
		finding(KindLimit, record.SpliceLoss, 1310, record.TwoWay, "1", "0.05", Pass),
		finding(KindLimit, record.SpliceLoss, 1310, record.TwoWay, "2", "0.06", Marginal),
		finding(KindLimit, record.Reflectance, 1310, record.AB, "", "0.1", Pass),
		finding(KindRequired, record.InsertionLoss, 850, record.AB, "", "0.01", Pass),
		finding(KindRequired, "", 1550, record.BA, "", "", Incomplete),
		finding(KindEstimate, "", 0, "", "", "0.02", Pass),
		finding(KindEvidence, "", 0, "", "", "", Pass),
	}
	// Of two margins that are alike the first counts: that of B to A, not of the mean.
	const worst = 1
	for shift := range want {
		r := &LinkResult{Findings: slices.Concat(want[shift:], want[:shift])}
		finish(r)
		for i := range want {
			if r.Findings[i].Matter != want[i].Matter {
				t.Fatalf("from the %d. on: at %d stands %+v", shift, i, *r.Findings[i].Matter)
			}
		}
		if r.Worst != worst || r.WorstFinding() != &r.Findings[worst] || r.Verdict != Incomplete {
			t.Errorf("from the %d. on: %d is the worst, %s", shift, r.Worst, r.Verdict)
		}
		var open []Verdict
		for _, f := range r.Open() {
			open = append(open, f.Verdict)
		}
		if !slices.Equal(open, []Verdict{Incomplete, Marginal}) {
			t.Errorf("from the %d. on: open are %v", shift, open)
		}
	}
	for _, at := range []struct {
		findings []Finding
		want     int
	}{{nil, -1}, {want[5:], -1}, {want[4:5], -1}, {want[4:], -1}, {want[3:], 0}, {want[2:], 0}, {[]Finding{{Matter: &Matter{Kind: KindLimit, Quantity: record.InsertionLoss}}}, -1}} {
		r := &LinkResult{Findings: slices.Clone(at.findings)}
		if finish(r); r.Worst != at.want || (r.WorstFinding() == nil) != (at.want < 0) {
			t.Errorf("of %d findings: %d is the worst", len(at.findings), r.Worst)
		}
	}
}

// TestSettled: links that were judged elsewhere are counted as those of a job are, and
// none of their questions has an answer astray.
func TestSettled(t *testing.T) {
	of := func(id string, measured bool, v Verdict) LinkResult {
		return LinkResult{Brief: Brief{Link: &record.Link{ID: id}, Measured: measured, Verdict: v},
			Findings: []Finding{{Matter: &Matter{Kind: KindEvidence, Question: statement.New("not-measured")}, Verdict: v}}}
	}
	j := Settled(of("A", true, Pass), of("B", true, Marginal), of("C", true, Incomplete), of("D", false, Incomplete), of("E", true, Fail), of("F", true, Pass))
	if want := (Counts{Scheduled: 6, Measured: 5, Certified: 3, Marginal: 1, Failed: 1, Incomplete: 2}); j.Counts != want {
		t.Errorf("%+v, want %+v", j.Counts, want)
	}
	for i, id := range []string{"A", "B", "C", "D", "E", "F"} {
		if j.Links[i].Link.ID != id || j.Result(i).Link.ID != id {
			t.Errorf("link %d is %s", i, j.Links[i].Link.ID)
		}
	}
	if asked, answered := j.QuestionCounts(); asked != 1 || answered != 0 {
		t.Errorf("%d asked, %d answered", asked, answered)
	}
	n := 0
	for range j.Results() {
		n++
		break // whoever has seen enough
	}
	if n != 1 || j.Conforms() || j.AnswersAstray() != nil {
		t.Errorf("%d links, conforms %t, astray %v", n, j.Conforms(), j.AnswersAstray())
	}
	if none := Settled(); none.Conforms() {
		t.Error("a job of no links conforms")
	}
	if good := Settled(of("A", true, Pass), of("B", true, Marginal)); !good.Conforms() {
		t.Error("a job of good links does not conform")
	}
	if asked, answered := (&Judgement{}).QuestionCounts(); asked != 0 || answered != 0 {
		t.Errorf("of no links: %d asked, %d answered", asked, answered)
	}
}

// TestOnReel: a loss on the reel is held against that of the shipping record at its
// wavelength, in its direction if the record has it; a tenth is allowed here.
func TestOnReel(t *testing.T) {
	read := func(stage record.Stage, nm int, way record.Direction, value string) record.Reading {
		return record.Reading{Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Value: quantity.Must(value), Fate: record.OtherStage, Method: &record.Method{Stage: stage}}
	}
	with := func(r record.Reading, change func(*record.Reading)) record.Reading {
		change(&r)
		return r
	}
	shipped := func(way record.Direction, value string) record.Reading { return read(record.Shipped, 1310, way, value) }
	reel := func(way record.Direction, value string) record.Reading { return read(record.OnReel, 1310, way, value) }
	for _, c := range []struct {
		name   string
		stages []record.Reading // those that count are among them
		want   string           // reel and shipping record, for each that is asked about
	}{
		{"a tenth more", []record.Reading{shipped(record.AB, "0.71"), reel(record.AB, "0.781")}, ""},
		{"just over it", []record.Reading{shipped(record.AB, "0.71"), reel(record.AB, "0.7811")}, "0.7811 0.71"},
		{"just over it, less", []record.Reading{shipped(record.AB, "0.71"), reel(record.AB, "0.6389")}, "0.6389 0.71"},
		{"in its direction, which stands first", []record.Reading{shipped(record.AB, "0.71"), shipped(record.BA, "0.20"), reel(record.AB, "0.90")}, "0.9 0.71"},
		{"in its direction, which stands second", []record.Reading{shipped(record.AB, "0.71"), shipped(record.BA, "0.20"), reel(record.BA, "0.20")}, ""},
		{"in its direction, asked about", []record.Reading{shipped(record.AB, "0.20"), shipped(record.BA, "0.71"), reel(record.BA, "0.20")}, "0.2 0.71"},
		{"in no direction of the record", []record.Reading{shipped(record.AB, "0.71"), reel(record.BA, "0.90")}, "0.9 0.71"},
		{"at another wavelength", []record.Reading{read(record.Shipped, 1550, record.AB, "0.71"), reel(record.AB, "0.90")}, ""},
		{"at two wavelengths", []record.Reading{read(record.Shipped, 1550, record.AB, "0.30"), shipped(record.AB, "0.71"), reel(record.AB, "0.90"), read(record.OnReel, 1550, record.AB, "0.50")}, "0.9 0.71; 0.5 0.3"},
		{"no record", []record.Reading{reel(record.AB, "0.90")}, ""},
		{"a number that only stands for what was shown", []record.Reading{shipped(record.AB, "0.71"), with(reel(record.AB, "0.90"), func(r *record.Reading) { r.Shown = "<0.90" })}, ""},
		{"as of the record", []record.Reading{with(shipped(record.AB, "0.71"), func(r *record.Reading) { r.Shown = "<0.71" }), reel(record.AB, "0.90")}, ""},
		{"a reflectance", []record.Reading{shipped(record.AB, "0.71"), with(reel(record.AB, "-50"), func(r *record.Reading) { r.Quantity = record.Reflectance })}, ""},
		{"one that was replaced", []record.Reading{shipped(record.AB, "0.71"), with(reel(record.AB, "0.90"), func(r *record.Reading) { r.Fate = record.Superseded })}, ""},
		{"where the reading on the reel is the one that counts", []record.Reading{shipped(record.AB, "0.71"), with(reel(record.AB, "0.90"), func(r *record.Reading) { r.Fate = record.Used })}, "0.9 0.71"},
		{"where that of the record is the one that counts", []record.Reading{with(shipped(record.AB, "0.71"), func(r *record.Reading) { r.Fate = record.Used }), reel(record.AB, "0.90")}, "0.9 0.71"},
		{"after placing", []record.Reading{shipped(record.AB, "0.71"), read(record.Placed, 1310, record.AB, "0.90")}, ""},
	} {
		b := &jobJudge{facts: &record.Facts{}, policy: &record.Policy{}, asks: map[string]evidence.Setting{"reel-loss": {Weight: evidence.Fatal, Threshold: quantity.Int(10)}}}
		d := &linkJudge{worker: &worker{jobJudge: b}, link: &record.Link{}, out: &LinkResult{}}
		for _, r := range c.stages {
			if r.Fate == record.Used {
				d.out.Readings = append(d.out.Readings, r)
			} else {
				d.out.Stages = append(d.out.Stages, r)
			}
		}
		d.onReel()
		var got []string
		for _, f := range d.out.Findings {
			got = append(got, fmt.Sprintf("%s %s", f.Question.Args[2].(statement.Number).Short(), f.Question.Args[3].(statement.Number).Short()))
		}
		if text := strings.Join(got, "; "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
	}
}

// TestLater: of two records of an end the one counts that was finished later; where that
// does not tell, the one that stands later.
func TestLater(t *testing.T) {
	noon := time.Date(2026, 11, 18, 12, 0, 0, 0, time.UTC)
	made := func(hours, row int) *record.Termination {
		m := &record.Termination{Origin: record.Origin{Row: row}}
		if hours != 0 {
			m.Finished = noon.Add(time.Duration(hours) * time.Hour)
		}
		return m
	}
	for _, c := range []struct {
		name string
		x, y *record.Termination
		want bool
	}{
		{"finished later, stands before", made(2, 3), made(1, 4), true},
		{"finished before, stands later", made(1, 4), made(2, 3), false},
		{"finished at one time, stands later", made(1, 4), made(1, 3), true},
		{"finished at one time, stands before", made(1, 3), made(1, 4), false},
		{"the same", made(1, 3), made(1, 3), false},
		{"finished nobody knows when, stands later", made(0, 4), made(2, 3), true},
		{"finished nobody knows when, stands before", made(0, 3), made(2, 4), false},
		{"the other finished nobody knows when, stands later", made(2, 4), made(0, 3), true},
		{"the other finished nobody knows when, stands before", made(2, 3), made(0, 4), false},
	} {
		if got := later(c.x, c.y); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
}

// TestEachWavelength: the loss of a link at a wavelength is the mean of both directions; a
// number that only stands for what was shown has no mean, and the higher of the two is
// taken, which the link does not exceed as far as anybody knows.
func TestEachWavelength(t *testing.T) {
	read := func(nm int, way record.Direction, value, shown string, m *record.Method) record.Reading {
		return record.Reading{Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Value: quantity.Must(value), Shown: shown, Method: m}
	}
	three := &record.Method{Reference: record.ThreeCord}
	for _, c := range []struct {
		name     string
		readings []record.Reading
		want     string
	}{
		{"both directions", []record.Reading{read(1310, record.AB, "0.50", "", nil), read(1310, record.BA, "0.60", "", nil)}, "1310 0.55"},
		{"one direction", []record.Reading{read(1310, record.AB, "0.50", "", nil)}, "1310 0.5"},
		{"two wavelengths", []record.Reading{read(1310, record.AB, "0.50", "", nil), read(1550, record.AB, "0.40", "", nil)}, "1310 0.5; 1550 0.4"},
		{"by two methods", []record.Reading{read(1310, record.AB, "0.50", "", nil), read(1310, record.BA, "0.40", "", three)}, "1310 0.5; 1310 0.4"},
		{"a reflectance between", []record.Reading{read(1310, record.AB, "0.50", "", nil), {Quantity: record.Reflectance, WavelengthNM: 1310, Value: quantity.Int(-50)}, read(1310, record.BA, "0.60", "", nil)}, "1310 0.55"},
		{"the first shown", []record.Reading{read(1310, record.AB, "0.05", "<0.05", nil), read(1310, record.BA, "0.60", "", nil)}, "1310 0.6 shown"},
		{"the first shown, the higher", []record.Reading{read(1310, record.AB, "0.70", "<0.70", nil), read(1310, record.BA, "0.60", "", nil)}, "1310 0.7 shown"},
		{"the second shown", []record.Reading{read(1310, record.AB, "0.60", "", nil), read(1310, record.BA, "0.05", "<0.05", nil)}, "1310 0.6 shown"},
		{"the second shown, the higher", []record.Reading{read(1310, record.AB, "0.60", "", nil), read(1310, record.BA, "0.70", "<0.70", nil)}, "1310 0.7 shown"},
		{"one alone, shown", []record.Reading{read(1310, record.AB, "0.05", "<0.05", nil)}, "1310 0.05 shown"},
		{"no loss", []record.Reading{{Quantity: record.Length, Value: quantity.Int(300)}}, ""},
	} {
		b := &jobJudge{policy: &record.Policy{Reference: record.OneCord}}
		var got []string
		for _, one := range b.eachWavelength(c.readings) {
			text := fmt.Sprintf("%d %s", one.nm, one.loss.Short())
			if one.shown {
				text += " shown"
			}
			got = append(got, text)
		}
		if text := strings.Join(got, "; "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
	}
}

// TestConnections: a population is held against the limits that are about it, as far as
// their set has a figure for it.
func TestConnections(t *testing.T) {
	set := parsed(t, `
values:
  mean: {unit: dB, rows: [{value: 0.2, wavelength_nm: 1310}]}
  most: 0.5 dB
limits:
  - {id: mean, quantity: group_mean, at_most: [{rate: mean}]}
  - {id: splices, quantity: group_mean, of: splice_loss, at_most: 0.1 dB}
  - {id: median, quantity: group_percentile, percentile: 50, at_most: [{rate: most}]}
  - {id: all, quantity: group_percentile, percentile: 100, at_most: [{rate: most}]}
`)
	type loss struct {
		value string
		pairs int
		shown bool
	}
	single := func(values ...string) (out []loss) {
		for _, v := range values {
			out = append(out, loss{v, 1, false})
		}
		return out
	}
	for _, c := range []struct {
		name   string
		of     record.Quantity
		nm     int
		losses []loss
		want   string
	}{
		{"none", record.InsertionLoss, 1310, nil, ""},
		{"none but what was shown", record.InsertionLoss, 1310, []loss{{"0.05", 1, true}}, ""},
		{"the mean exactly, and the highest", record.InsertionLoss, 1310, single("0.10", "0.30", "0.20", "0.20", "0.20"), "mean 0.200000 pass; median 0.20 pass; all 0.30 pass"},
		{"the mean just over", record.InsertionLoss, 1310, single("0.10", "0.31", "0.20", "0.20", "0.20"), "mean 0.202000 fail; median 0.20 pass; all 0.31 pass"},
		{"no figure for the mean", record.InsertionLoss, 1550, single("0.10", "0.20", "0.30", "0.40", "0.50"), "median 0.30 pass; all 0.50 pass"},
		{"one over the highest", record.InsertionLoss, 1550, single("0.10", "0.20", "0.30", "0.40", "0.51"), "not-shown.few; all 0.51 fail"},
		{"most over the median", record.InsertionLoss, 1550, single("0.10", "0.20", "0.60", "0.60", "0.51"), "median 0.51 fail; all 0.60 fail"},
		{"two together within it", record.InsertionLoss, 1550, append(single("0.10", "0.20", "0.30", "0.40", "0.40"), loss{"0.45", 2, false}), "median 0.30 pass; all 0.45 pass"},
		{"two together within it exactly", record.InsertionLoss, 1550, append(single("0.10", "0.20", "0.30", "0.40", "0.40"), loss{"0.50", 2, false}), "median 0.30 pass; all 0.50 pass"},
		{"two together over it", record.InsertionLoss, 1550, append(single("0.10", "0.20", "0.30", "0.40", "0.40"), loss{"0.51", 2, false}), "median 0.30 pass; not-shown.each"},
		{"what was shown, over the highest", record.InsertionLoss, 1310, append(single("0.10", "0.20", "0.30", "0.20", "0.20"), loss{"0.60", 1, true}), "mean 0.200000 pass; not-shown.few; all 0.60 fail"},
		{"of splices", record.SpliceLoss, 1310, single("0.10", "0.11"), "splices 0.105000 fail"},
		{"of splices, exactly", record.SpliceLoss, 1310, single("0.09", "0.11"), "splices 0.100000 pass"},
	} {
		var p Connections
		for _, l := range c.losses {
			p.Add(quantity.Must(l.value), l.pairs, l.shown)
		}
		for _, used := range []map[*limits.Value]bool{nil, {}} { // nobody wants to know, or somebody
			var got []string
			for _, f := range p.Judge(set, c.of, &limits.Situation{Mode: record.Singlemode, WavelengthNM: c.nm}, used) {
				if f.Kind == KindLimit {
					got = append(got, fmt.Sprintf("%s %s %s", f.Working.LimitID, f.Measured, f.Verdict))
					if !f.Margin.Equal(f.Limit.Sub(*f.Measured)) || f.Probability != -1 {
						t.Errorf("%s: %s of %s by %s, probability %v", c.name, f.Measured, f.Limit, f.Margin, f.Probability)
					}
				} else {
					got = append(got, f.Question.Code)
					if f.Verdict != Incomplete || f.Probability != -1 {
						t.Errorf("%s: %s is %s, probability %v", c.name, f.Code, f.Verdict, f.Probability)
					}
				}
			}
			if text := strings.Join(got, "; "); text != c.want {
				t.Errorf("%s: %q, want %q", c.name, text, c.want)
			}
			if used != nil && (len(used) > 0) != (c.want != "") {
				t.Errorf("%s: %d values were used", c.name, len(used))
			}
		}
	}
}
