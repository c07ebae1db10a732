package evidence_test

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/evidence"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestChecksAreExplained: a check says what it asks and why, what settles it and
// where it comes from, and the unit of its threshold.
func TestChecksAreExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range evidence.Checks() {
		if c.Title == "" || !strings.HasSuffix(c.Asks, "?") || c.Why == "" || c.Settle == "" || c.Source == "" || (c.Threshold == nil) != (c.Unit == "") {
			t.Errorf("%s is not explained", c.Code)
		}
		if seen[c.Code] {
			t.Errorf("%s is there twice", c.Code)
		}
		seen[c.Code] = true
	}
	if len(seen) == 0 {
		t.Error("no checks")
	}
}

// TestSettings: a check has the weight and threshold of the table unless the job says
// otherwise, each for itself; what the job says of no check, or with no weight, is refused
// at its job.yaml and changes nothing.
func TestSettings(t *testing.T) {
	of := func(weight, threshold string) record.Question {
		q := record.Question{Weight: weight}
		if threshold != "" {
			d := quantity.Must(threshold)
			q.Threshold = &d
		}
		return q
	}
	for _, c := range []struct {
		name    string
		said    map[string]record.Question
		code    string
		want    evidence.Setting
		problem string
	}{
		{"nothing said, and a threshold", nil, "bend", evidence.Setting{Weight: evidence.Note, Threshold: quantity.Must("0.2")}, ""},
		{"nothing said, and no threshold", nil, "no-date", evidence.Setting{Weight: evidence.Fatal}, ""},
		{"nothing said of a check that waits for it", nil, "no-software", evidence.Setting{Weight: evidence.Off}, ""},
		{"a weight", map[string]record.Question{"bend": of("fatal", "")}, "bend", evidence.Setting{Weight: evidence.Fatal, Threshold: quantity.Must("0.2")}, ""},
		{"another weight", map[string]record.Question{"no-date": of("note", "")}, "no-date", evidence.Setting{Weight: evidence.Note}, ""},
		{"not asked", map[string]record.Question{"bend": of("off", "")}, "bend", evidence.Setting{Weight: evidence.Off, Threshold: quantity.Must("0.2")}, ""},
		{"a threshold", map[string]record.Question{"bend": of("", "0.5")}, "bend", evidence.Setting{Weight: evidence.Note, Threshold: quantity.Must("0.5")}, ""},
		{"both", map[string]record.Question{"bend": of("fatal", "0.5")}, "bend", evidence.Setting{Weight: evidence.Fatal, Threshold: quantity.Must("0.5")}, ""},
		{"of another check", map[string]record.Question{"bend": of("fatal", "0.5")}, "pace", evidence.Setting{Weight: evidence.Note, Threshold: quantity.Must("10")}, ""},
		{"no weight", map[string]record.Question{"bend": of("grave", "0.5")}, "bend", evidence.Setting{Weight: evidence.Note, Threshold: quantity.Must("0.5")},
			`job.yaml unknown-weight: the weight of "bend" cannot be "grave" (use fatal, note or off)`},
		{"a slip", map[string]record.Question{"bnd": of("fatal", "")}, "bnd", evidence.Setting{}, `job.yaml unknown-question: "bnd" is not an evidence check (did you mean "bend"?)`},
		{"no check at all", map[string]record.Question{"weather": of("fatal", "")}, "weather", evidence.Setting{}, "job.yaml unknown-question: \"weather\" is not an evidence check (`spanseal explain --code list` lists them all)"},
	} {
		terms, problems := evidence.Settings(&record.Job{Origin: record.Origin{File: "job.yaml"}, Policy: record.Policy{Questions: c.said}})
		var got []string
		for _, p := range problems.Sorted() {
			got = append(got, fmt.Sprintf("%s %s: %s (%s)", p.Place.File, p.Code, p.Message, p.Fix))
		}
		if text := strings.Join(got, "; "); text != c.problem {
			t.Errorf("%s: %q, want %q", c.name, text, c.problem)
		}
		if s := terms[c.code]; s.Weight != c.want.Weight || !s.Threshold.Equal(c.want.Threshold) {
			t.Errorf("%s: %v, want %v", c.name, s, c.want)
		}
		if _, of := terms[c.code]; len(terms) != len(evidence.Checks()) || of != (c.want.Weight != "") {
			t.Errorf("%s: %d terms of %d checks", c.name, len(terms), len(evidence.Checks()))
		}
	}
}

// TestUnknown: every name of the table is known, and the problem of another stands where
// it was written.
func TestUnknown(t *testing.T) {
	for _, c := range evidence.Checks() {
		if p, unknown := evidence.Unknown(c.Code, diag.Place{File: "job.yaml"}); unknown || p.Code != "" {
			t.Errorf("%s: %+v", c.Code, p)
		}
	}
	p, unknown := evidence.Unknown("Bend", diag.Place{File: "job.yaml", Line: 7})
	if !unknown || p.Code != "unknown-question" || p.Place.Line != 7 || p.Fix != `did you mean "bend"?` {
		t.Errorf("%+v", p)
	}
}
