package judge_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"spanseal/internal/arrange"
	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// pure judges a job, and fails where that changes the job, or where a reading of the
// schedule is not among those of its link. Every test that judges calls it.
func pure(t interface {
	Helper()
	Fatalf(string, ...any)
}, f *record.Facts, book *limits.Book) (*judge.Judgement, *diag.List) {
	t.Helper()
	was := *f
	was.Links, was.Readings, was.Terminations, was.Accounts = slices.Clone(f.Links), slices.Clone(f.Readings), slices.Clone(f.Terminations), slices.Clone(f.Accounts)
	j, problems := judge.Judge(f, book)
	if !reflect.DeepEqual(*f, was) {
		t.Fatalf("judging changed the job\n%+v\nwas\n%+v", *f, was)
	}
	if j == nil {
		return j, problems
	}
	read := map[string][]record.Reading{}
	for _, r := range f.Readings {
		read[r.Link] = append(read[r.Link], r)
	}
	for _, got := range j.Results() {
		back := slices.Concat(got.Readings, got.Stages, got.Superseded)
		for _, r := range read[got.Link.ID] {
			k := slices.IndexFunc(back, func(b record.Reading) bool { return reflect.DeepEqual(b, r) })
			if k < 0 {
				t.Fatalf("%s: %+v is not among %+v", got.Link.ID, r, back)
			}
			back = slices.Delete(back, k, k+1)
		}
		if len(back) > 0 {
			t.Fatalf("%s: nobody read %+v", got.Link.ID, back)
		}
	}
	return j, problems
}

// oddJobs change a job of one link into others that are as odd as jobs can be.
var oddJobs = []struct {
	name   string
	change func(*record.Facts)
}{
	{"as it is", func(*record.Facts) {}},
	{"digits that no instrument has", func(f *record.Facts) {
		f.Readings[0].Value, f.Readings[1].Value = dec("0.300000000000000001"), dec("123456789012345678.5")
		f.Links[0].Length = dec("312.000000000000001")
	}},
	{"zeros of both kinds and a negative", func(f *record.Facts) {
		f.Readings[0].Value, f.Readings[1].Value, f.Readings[2].Value = dec("-0.00"), dec("0"), dec("-0.02")
	}},
	{"times in more zones than there are", func(f *record.Facts) {
		for i := range 600 {
			r := f.Readings[i%4]
			r.Event, r.Quantity = fmt.Sprint(i), record.SpliceLoss
			r.Time = r.Time.In(time.FixedZone(fmt.Sprint("Z", i), 60*i))
			r.ReferenceTime = r.Time.Add(-time.Hour)
			f.Readings = append(f.Readings, r)
		}
	}},
	{"a time of day with parts of a second, and none", func(f *record.Facts) {
		f.Readings[0].Time = f.Readings[0].Time.Add(123456789 * time.Nanosecond)
		f.Readings[1].Time, f.Readings[2].ReferenceTime = time.Time{}, time.Time{}
	}},
	{"places far down and far right", func(f *record.Facts) {
		f.Readings[0].Origin.Row, f.Readings[1].Origin.Column, f.Readings[2].Origin.Row = 1<<40, 1<<33, -1
	}},
	{"what few readings have", func(f *record.Facts) {
		f.Readings[0].Alias, f.Readings[0].Note, f.Readings[1].Origin.Cell = "A 7", "wet", "Sheet1!B7"
		f.Readings[1].Reference, f.Readings[1].Received = ptr("-20.01"), ptr("-20.31")
	}},
	{"more readings than a byte counts", func(f *record.Facts) {
		for i := range 400 {
			r := f.Readings[i%4]
			r.Quantity, r.Event, r.Value = record.SpliceLoss, fmt.Sprintf("%03d", i), quantity.Scaled(int64(i), 3)
			f.Readings = append(f.Readings, r)
		}
	}},
	{"earlier readings in between, rows out of order", func(f *record.Facts) {
		for i := range 4 {
			r := f.Readings[3-i]
			r.Fate, r.Time, r.Origin.Row = record.Superseded, r.Time.Add(-time.Duration(i%2+1)*time.Hour), 40-i
			f.Readings = append([]record.Reading{r}, f.Readings...)
		}
	}},
	{"a link that nobody scheduled, and one without readings", func(f *record.Facts) {
		r := f.Readings[0]
		r.Link = "not of this job"
		f.Readings = append([]record.Reading{r}, f.Readings...)
		l := f.Links[0]
		l.ID = "Z-99"
		f.Links = append([]record.Link{l}, f.Links...)
	}},
	{"guarded, with applications that are met and not", func(f *record.Facts) {
		f.Job.Policy.Decision, f.Job.Policy.Uncertainty = "guarded", ptr("0.12")
		f.Links[0].Applications = []string{"10gbase-lr", "1000base-lx"}
		f.Readings[0].Value = dec("6.25")
	}},
	{"a guard of many digits", func(f *record.Facts) {
		f.Job.Policy.Decision, f.Job.Policy.Uncertainty, f.Job.Policy.GuardFactor = "guarded", ptr("0.123456"), dec("0.654321")
	}},
}

// TestJudgeChangesNothing: a job is the same after it was judged, down to what its
// pointers lead to, whatever order its rows have.
func TestJudgeChangesNothing(t *testing.T) {
	for _, c := range oddJobs {
		t.Run(c.name, func(t *testing.T) {
			is, was := clean(), clean()
			c.change(is)
			c.change(was)
			pure(t, is, builtIn(t))
			if !reflect.DeepEqual(is, was) {
				t.Errorf("judging changed the job\n%+v\nwas\n%+v", is, was)
			}
			arrange.Sort(is)
			arrange.Sort(was)
			pure(t, is, builtIn(t))
			if !reflect.DeepEqual(is, was) {
				t.Errorf("judging changed the arranged job\n%+v\nwas\n%+v", is, was)
			}
		})
	}
}

// TestArranged: arranged or not, a job is judged the same, and the readings of one that
// is arranged are not copied.
func TestArranged(t *testing.T) {
	jobs := map[string]*record.Facts{"many links": generated(300, 7)}
	for i := range jobs["many links"].Links {
		if i%7 == 0 {
			jobs["many links"].Links[i].Applications = []string{"10gbase-lr"}
		}
	}
	slices.Reverse(jobs["many links"].Readings)
	for _, c := range oddJobs {
		jobs[c.name] = clean()
		c.change(jobs[c.name])
	}
	for name, f := range jobs {
		t.Run(name, func(t *testing.T) {
			j, _ := pure(t, f, builtIn(t))
			want, _ := json.Marshal(j)
			n := len(f.Readings)
			arrange.Sort(f)
			if j, _ = pure(t, f, builtIn(t)); len(f.Readings) != n {
				t.Fatalf("%d readings of %d", len(f.Readings), n)
			}
			if got, _ := json.Marshal(j); string(got) != string(want) {
				t.Errorf("arranged, it is judged\n%s\nelse\n%s", got, want)
			}
			if &f.Readings[0] != &j.Result(slices.IndexFunc(j.Links, func(b judge.Brief) bool { return b.Measured })).Readings[0] {
				t.Error("arranged readings are copied")
			}
		})
	}
}
