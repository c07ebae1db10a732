package judge_test

import (
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// TestEachByItsMethod: every loss is held against a limit that is worked out for its own
// reference method (connections inside: N, N-1, N-2, IEC 61280-4-1 and -4-2, recalled),
// and losses that hold other connections each have no average and no difference.
func TestEachByItsMethod(t *testing.T) {
	three := &record.Method{Reference: record.ThreeCord, TestCords: record.StandardCords}
	f := clean()
	f.Links[0].MatedPairs = 3
	for i := range f.Readings {
		if r := &f.Readings[i]; r.Direction == record.BA {
			r.Method, r.Value = three, dec("0.90")
		} else {
			r.Value = dec("0.20")
		}
	}
	f.Job.Policy.Questions = map[string]record.Question{"direction-difference": {Weight: "fatal"}}
	l := judged(t, f, builtIn(t)).Result(0)
	counted := map[record.Direction]int{}
	for i := range l.Findings {
		one := &l.Findings[i]
		if one.Code == "direction-difference" || one.Quantity == record.TwoWayAverage {
			t.Errorf("%s of two methods", one.Code)
		}
		if one.Kind == judge.KindLimit && one.Quantity == record.InsertionLoss {
			counted[one.Direction] = one.Working.PairsCounted
		}
	}
	if counted[record.AB] != 3 || counted[record.BA] != 1 {
		t.Errorf("connections inside the loss: %v, want 3 from A and 1 from B", counted)
	}
	if notes := judge.References(&f.Job.Policy, l.Link, l.Readings); len(notes) != 2 {
		t.Errorf("references: %v", notes)
	}
}

// TestStagesAreNotJudged: what was measured at another stage stands beside what counts,
// in the order of the work, and is over no limit.
func TestStagesAreNotJudged(t *testing.T) {
	f := clean()
	for _, stage := range []record.Stage{record.Spliced, record.OnReel} {
		r := f.Readings[0]
		r.Value, r.Fate, r.Method = dec("9.99"), record.OtherStage, &record.Method{Reference: record.OneCord, TestCords: record.StandardCords, Stage: stage}
		f.Readings = append(f.Readings, r)
	}
	replaced := f.Readings[len(f.Readings)-1]
	replaced.Fate, replaced.Time = record.Superseded, replaced.Time.AddDate(0, 0, -1)
	f.Readings = append(f.Readings, replaced)
	l := judged(t, f, builtIn(t)).Result(0)
	if l.Verdict != judge.Pass || len(l.Superseded) != 0 || len(l.Stages) != 3 {
		t.Fatalf("%s, %d superseded, %d of other stages", l.Verdict, len(l.Superseded), len(l.Stages))
	}
	for i, want := range []record.Stage{record.OnReel, record.OnReel, record.Spliced} {
		if got := l.Stages[i].Method.Stage; got != want {
			t.Errorf("stage %d is %s, want %s", i, got, want)
		}
	}
}
