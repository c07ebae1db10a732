package testset

import (
	"encoding/json"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/record"
	"spanseal/internal/retest"
)

// Certified is the record of a set's first link that is certified, as its
// certificate carries it.
func Certified(t TB, set *certify.PaperSet) *retest.Certified {
	t.Helper()
	for _, l := range set.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		data, err := json.Marshal(set.Record(l))
		if err != nil {
			t.Fatal(err)
		}
		c, err := retest.ParseRecord(data)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	t.Fatal("no link is certified")
	return nil
}

// Risen is the certified measurement made again five years later, with every
// loss higher by so much.
func Risen(c *retest.Certified, by string) retest.Side {
	s := c.Side()
	s.Readings = nil
	for _, r := range c.Readings {
		r.Time, r.Origin.SHA256 = r.Time.AddDate(5, 0, 0), strings.Repeat("5e", 32)
		if r.Quantity == record.InsertionLoss {
			r.Value = r.Value.Add(dec(by))
		}
		s.Readings = append(s.Readings, r)
	}
	return s
}
