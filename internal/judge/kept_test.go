package judge_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// asFound fails where what a judgement gives back of a link is not what was
// found about it, or comes in another order. Every test that judges calls it.
func asFound(t interface {
	Helper()
	Fatalf(string, ...any)
}, j *judge.Judgement, f *record.Facts, book *limits.Book) {
	t.Helper()
	read := map[string][]record.Reading{}
	for _, r := range f.Readings {
		read[r.Link] = append(read[r.Link], r)
	}
	for i, want := range judge.Unpacked(f, book) {
		got := j.Result(i)
		back := slices.Concat(got.Readings, got.Superseded)
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
		if reflect.DeepEqual(got, want) && reflect.DeepEqual(j.Links[i], want.Brief) {
			continue
		}
		g, _ := json.Marshal(got)
		w, _ := json.Marshal(want)
		t.Fatalf("%s: given back as\n%s\nfound as\n%s", want.Link.ID, g, w)
	}
}

// TestPacked: what does not fit into little memory comes back as well.
func TestPacked(t *testing.T) {
	for _, c := range []struct {
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
	} {
		t.Run(c.name, func(t *testing.T) {
			f := clean()
			c.change(f)
			judged(t, f, builtIn(t))
		})
	}
}

// TestPackedJob: links of many kinds side by side, in more than one packet.
func TestPackedJob(t *testing.T) {
	f := generated(300, 7)
	for i := range f.Readings {
		if i%11 == 0 {
			f.Readings[i].Value = f.Readings[i].Value.Mul(dec("3"))
		}
	}
	for i := range f.Links {
		if i%7 == 0 {
			f.Links[i].Applications = []string{"10gbase-lr"}
		}
	}
	judged(t, f, builtIn(t))
}

// TestReadingsShare: what readings have in common is kept once, also where each
// time of a file brings a time zone of its own.
func TestReadingsShare(t *testing.T) {
	f := clean()
	four := f.Readings
	for i := range 500 {
		r := four[i%4]
		r.Time = r.Time.Add(time.Duration(i) * time.Minute).In(time.FixedZone("", 5*3600+1800))
		r.ReferenceTime = r.ReferenceTime.In(time.FixedZone("", 5*3600+1800))
		r.Note, r.Origin.Row = fmt.Sprint("note ", i), i
		f.Readings = append(f.Readings, r)
	}
	if n := judge.Apart(f); n > 8 {
		t.Errorf("%d kinds of reading, want four of the clock of the job and four of the file's", n)
	}
}
