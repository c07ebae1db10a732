package summary_test

import (
	"slices"
	"strings"
	"testing"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
)

// TestStatement counts by hand: 21 links of OS2 with two spliced-on ends each,
// one of them failed; 6 of OM4, one never measured.
func TestStatement(t *testing.T) {
	o := testset.NewSettings()
	o.Before = map[string]judge.Verdict{"A-01": judge.Pass, "A-02": judge.Marginal, "A-03": judge.Fail,
		"A-07": judge.Pass, "Z-09": judge.Pass, "Z-10": judge.Fail} // one that fails now, and one that is on the schedule no more
	f := testset.Library()
	f.Terminations = append(f.Terminations, f.Terminations[0]) // made over again: paid once
	set := testset.New(t, f, o)
	d, err := summary.Quantities(set)
	if err != nil {
		t.Fatal(err)
	}
	lines := testset.Drawn(t, set.Paper(), d).Lines(1)
	text := strings.Join(lines, "\n")
	// Before, this issue, to date: 6 + 34 = 40, 6 × 18.50 = 111.00, 40 × 18.50 = 740.00;
	// 3 + 17 = 20, 3 × 7.25 = 21.75, 20 × 7.25 = 145.00; 0 + 5 = 5, 5 × 6.10 = 30.50; in all
	// 132.75, 782.75 and 915.50. 10 % of 132.75 is 13.28, of 782.75 is 78.28.
	for _, want := range []string{"42  42  6  34  40", "21  21  3  17  20", "6  5  0  5  5", "40  18.50  111.00  629.00  740.00", "20  7.25  21.75  123.25  145.00", "5  6.10  0.00  30.50  30.50",
		"132.75  782.75  915.50", "−13.28  −78.28  −91.56", "119.47  704.47  823.94", "25 of 27", "Z-09"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
	// What the revision before states goes before what its links have now.
	o.Earlier = &form.Earlier{Revision: 1, Items: []form.ResultPayItem{{Line: "1.1", Unit: record.PayTermination, Accepted: 44}, {Line: "1.2", Unit: record.PayTermination, Fibre: "OS2", Accepted: 7}}}
	if d, err = summary.Quantities(testset.New(t, f, o)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"42  42  44  −4  40", "40  18.50  814.00  −74.00  740.00", "21  21  3  17  20"} {
		if text := strings.Join(testset.Drawn(t, set.Paper(), d).Lines(1), "\n"); !strings.Contains(text, want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
	for _, not := range []string{"CONFORM", "Z-10"} { // what is counted is no verdict
		if strings.Contains(text, not) {
			t.Errorf("the statement says %q", not)
		}
	}
}

// TestClaimIsRepeated: a correction in which no accepted quantity differs repeats those that
// it replaces; one that was billed is not claimed again, and what is printed adds up.
func TestClaimIsRepeated(t *testing.T) {
	zero := 0
	paid := []form.ResultPayItem{{Line: "1.1", Unit: record.PayTermination, Accepted: 40, Before: &zero}, {Line: "1.2", Unit: record.PayStrand, Fibre: "OS2", Accepted: 20, Before: &zero},
		{Line: "1.3", Unit: record.PayStrand, Fibre: "OM4", Accepted: 5, Before: &zero}}
	rate := quantity.Must("18.505")
	for _, c := range []struct {
		name   string
		billed *int
		paid   []form.ResultPayItem
		want   []string
		not    string
	}{
		{"nothing differs", nil, paid, []string{"42  42  0  40  40  18.505  740.20", "21  21  0  20  20  7.25  145.00", "No accepted quantity differs from revision 1", "This statement repeats the quantities of revision 1"}, "the last one that was billed"},
		{"it was billed", new(1), paid, []string{"42  42  40  0  40", "40  18.505  740.20  0.00  740.20", "billed. Nothing"}, "repeats the quantities"},
		{"one was billed", new(int), nil, []string{"42  42  0  40  40", "No earlier statement of this job was billed."}, "repeats the quantities"},
		{"another number was accepted", nil, append(slices.Clone(paid[:2]), form.ResultPayItem{Line: "1.3", Unit: record.PayStrand, Fibre: "OM4", Accepted: 4, Before: &zero}),
			[]string{"42  42  40  0  40", "6  5  4  1  5"}, "repeats the quantities"},
		{"results of an earlier program", nil, []form.ResultPayItem{{Line: "1.1", Unit: record.PayTermination, Accepted: 40}, {Line: "1.2", Unit: record.PayStrand, Fibre: "OS2", Accepted: 20},
			{Line: "1.3", Unit: record.PayStrand, Fibre: "OM4", Accepted: 5}}, []string{"42  42  40  0  40"}, "repeats the quantities"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := testset.NewSettings()
			o.Revision = 2
			if c.paid != nil {
				o.Earlier = &form.Earlier{Revision: 1, Items: c.paid}
			}
			f := testset.Library()
			f.Job.Pay.Billed = c.billed
			f.Job.Pay.Items = slices.Clone(f.Job.Pay.Items)
			f.Job.Pay.Items[0].Rate = &rate
			set := testset.New(t, f, o)
			d, err := summary.Quantities(set)
			if err != nil {
				t.Fatal(err)
			}
			text := strings.Join(testset.Drawn(t, set.Paper(), d).Lines(1), "\n")
			for _, want := range c.want {
				if !strings.Contains(text, want) {
					t.Errorf("%q is missing in\n%s", want, text)
				}
			}
			if strings.Contains(text, c.not) {
				t.Errorf("%q stands in\n%s", c.not, text)
			}
		})
	}
}

// TestPeriod: the period stands on the paper, and what was measured after it is named.
func TestPeriod(t *testing.T) {
	for _, c := range []struct {
		name string
		to   int
		want string
	}{
		{"all of it within", 30, ""},
		{"all of it later", 1, "Measured after this period, which ends 1 Nov 2026: A-01, A-02, A-03, A-04, A-05, A-06, A-08, A-09, A-10, A-11, A-12, A-13 and 13 more."},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := testset.Library()
			f.Job.Pay.Period = record.Period{From: record.NewDate(2026, 11, 1), To: record.NewDate(2026, 11, c.to)}
			set := testset.New(t, f, testset.NewSettings())
			d, err := summary.Quantities(set)
			if err != nil {
				t.Fatal(err)
			}
			text := strings.Join(strings.Fields(strings.Join(testset.Drawn(t, set.Paper(), d).Texts(), " ")), " ")
			if !strings.Contains(text, "period of this statement") || !strings.Contains(text, c.want) || c.want == "" && strings.Contains(text, "Measured after") {
				t.Errorf("%q is missing in\n%s", c.want, text)
			}
		})
	}
}

// TestManyAlike: links that are not accepted for one reason share a row when they are
// many, each by its name.
func TestManyAlike(t *testing.T) {
	f := testset.Library()
	f.Readings = nil
	set := testset.New(t, f, testset.NewSettings())
	d, err := summary.Quantities(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, set.Paper(), d)
	text := strings.Join(strings.Fields(strings.Join(r.Texts(), " ")), " ")
	if strings.Count(text, "no reading in any file") != 1 || r.PageNumber() != 1 {
		t.Errorf("%d pages\n%s", r.PageNumber(), text)
	}
	for i := range f.Links {
		if id := f.Links[i].ID; !strings.Contains(text, id) {
			t.Errorf("%s is not named", id)
		}
	}
}

// TestNotAcceptedGoesOn: of a part of a large job the statement names every link that is
// not accepted, on as many pages as that takes, and none below the foot of one.
func TestNotAcceptedGoesOn(t *testing.T) {
	f := testset.Estate(1200)
	f.Job.Pay = record.Pay{Currency: "EUR", Items: []record.PayItem{{Line: "1", Title: "Link tested", Unit: record.PayLink}}}
	first := f.Links[0].ID
	f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link != first })
	set := testset.New(t, f, testset.NewSettings())
	d, err := summary.Quantities(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, set.Paper(), d)
	said, foot := strings.Join(r.Texts(), " "), set.Paper().Height-9
	for _, l := range f.Links[1:] {
		if !strings.Contains(said, strings.ReplaceAll(l.ID, " ", "\u00a0")) {
			t.Fatalf("link %s is not named", l.ID)
		}
	}
	for _, m := range r.Marks {
		if m.Kind == page.TextMark && m.Box.Y+m.Box.H > foot {
			t.Fatalf("page %d: %q is below the foot", m.Page, m.Text)
		}
	}
}
