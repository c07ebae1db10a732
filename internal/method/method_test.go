package method_test

import (
	"testing"

	"spanseal/internal/field"
	"spanseal/internal/method"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestReference reads reference methods as the trade writes them. The names by
// the number of cords are those of IEC 61280-4-1 (recalled); jumper is the word
// of older instruments (common practice).
func TestReference(t *testing.T) {
	for text, want := range map[string]record.ReferenceMethod{
		"1 jumper": record.OneCord, "one-cord": record.OneCord, "One test cord": record.OneCord, "1-jumper reference": record.OneCord,
		"Reference method: 2 jumper": record.TwoCord, "two cord": record.TwoCord, "3 jumpers": record.ThreeCord, "three-test-cord": record.ThreeCord,
		"21 jumpers": "", "cord 2": "", "Method B": "", "": "",
	} {
		if got, ok := method.Reference(text); got != want || ok != (want != "") {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestTake reads each field in the ways in which people write it.
func TestTake(t *testing.T) {
	index := quantity.Must("1.4677")
	for _, c := range []struct {
		field field.Field
		text  string
		want  record.Method // zero: it is not understood
	}{
		{field.TestCords, "Reference grade", record.Method{TestCords: record.ReferenceCords}},
		{field.TestCords, "standard", record.Method{TestCords: record.StandardCords}},
		{field.TestCords, "TRC-01", record.Method{}},
		{field.Launch, "EF", record.Method{Launch: record.EncircledFlux}},
		{field.Launch, "mandrel 25 mm", record.Method{Launch: "mandrel 25 mm"}},
		{field.Stage, "On reel", record.Method{Stage: record.OnReel}},
		{field.Stage, "after splicing", record.Method{Stage: record.Spliced}},
		{field.Stage, "midway", record.Method{}},
		{field.Software, "4.12.0", record.Method{Software: "4.12.0"}},
		{field.GroupIndex, "1.4677", record.Method{GroupIndex: &index}},
		{field.GroupIndex, "1,4677", record.Method{GroupIndex: &index}},
		{field.GroupIndex, "14677", record.Method{}},
	} {
		var got method.Said
		if want := got.Take(c.field, c.text); (want != "") != (c.want == record.Method{}) || got.Key() != c.want.Key() {
			t.Errorf("%s %q: %s, want %s (%s)", c.field, c.text, got.Key(), c.want.Key(), want)
		}
	}
}

// TestNarrowerWins lays what a row, a file, a link and a job say over each other.
func TestNarrowerWins(t *testing.T) {
	job := &record.Policy{Reference: record.OneCord, TestCords: record.StandardCords, Launch: record.EncircledFlux}
	link := &record.Terms{Method: &record.Method{Reference: record.ThreeCord, Software: "of the link"}}
	file := method.Said{Method: record.Method{TestCords: record.ReferenceCords, Software: "of the file"}}
	row := method.Said{Method: record.Method{Reference: record.TwoCord}}
	var ways method.Ways
	got := ways.Of(job, link, row, file)
	want := record.Method{Reference: record.TwoCord, TestCords: record.ReferenceCords, Launch: record.EncircledFlux, Software: "of the file"}
	if got == nil || *got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if again := ways.Of(job, link, row, file); again != got {
		t.Error("readings made alike do not share their method")
	}
	for name, m := range map[string]*record.Method{
		"nothing is said":      ways.Of(job, nil),
		"what the job says":    ways.Of(job, nil, method.Said{Method: record.Method{Reference: record.OneCord}}),
		"a link says the same": ways.Of(job, &record.Terms{Method: &record.Method{TestCords: record.StandardCords}}),
	} {
		if m != nil {
			t.Errorf("%s: %+v, want the job's own", name, m)
		}
	}
}

// TestMisfit: a method leaves no more connections outside than a link has.
func TestMisfit(t *testing.T) {
	for _, c := range []struct {
		reference record.ReferenceMethod
		pairs     int
		misfits   bool
	}{{record.OneCord, 0, false}, {record.TwoCord, 0, true}, {record.TwoCord, 1, false}, {record.ThreeCord, 1, true}, {record.ThreeCord, 2, false}, {"", 0, false}} {
		if got := method.Misfit(c.reference, c.pairs); (got != "") != c.misfits {
			t.Errorf("%s with %d: %q", c.reference, c.pairs, got)
		}
	}
}
