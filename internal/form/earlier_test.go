package form_test

import (
	"encoding/json"
	"strings"
	"testing"

	"spanseal/internal/form"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/testset"
)

// TestReadEarlier: what an earlier revision states is taken only if its parts are what it
// says was accepted.
func TestReadEarlier(t *testing.T) {
	const sums = `{"before": "0.00", "this": "0.00", "to_date": "0.00"}`
	statement := func(before, toDate string) string {
		return `{"total": ` + sums + `, "held": ` + sums + `, "released": ` + sums + `, "payable": ` + sums + `, "before": {"items": ` + before + `, "held": "0"}, "to_date": {"items": ` + toDate + `, "held": "1.50"}}`
	}
	const items = `[{"line": "1", "unit": "link", "accepted_to_date": 5, "accepted_before": 2}]`
	for _, c := range []struct{ name, items, statement, want string }{
		{"nothing of pay items", "", "", ""},
		{"items alone", items, "", ""},
		{"parts that add up", items, statement(`[[{"quantity": 2, "rates": ["9"]}]]`, `[[{"quantity": 2, "rates": ["9"]}, {"quantity": 3, "rates": ["9.50"]}]]`), ""},
		{"no statement", items, "null", ""},
		{"a part too few to date", items, statement(`[[{"quantity": 2}]]`, `[[{"quantity": 2}]]`), "the parts of pay item 1"},
		{"a part too few before", items, statement(`[[]]`, `[[{"quantity": 5}]]`), "the parts of pay item 1"},
		{"an item too few", items, statement(`[]`, `[]`), "the parts of pay item 1"},
		{"parts of a cent", items, strings.Replace(statement(`[[{"quantity": 2}]]`, `[[{"quantity": 5}]]`), `"1.50"`, `"1.505"`, 1), "no amount to the cent"},
		{"before is not said", strings.Replace(items, `, "accepted_before": 2`, "", 1), statement(`[[]]`, `[[{"quantity": 5}]]`), "the parts of pay item 1"},
		{"no number", items, statement(`[[{"quantity": 2, "rates": ["nine"]}]]`, `[[{"quantity": 5}]]`), "not a number"},
	} {
		t.Run(c.name, func(t *testing.T) {
			raw := func(s string) json.RawMessage {
				if s == "" {
					return nil
				}
				return json.RawMessage(s)
			}
			e, err := form.ReadEarlier(3, raw(c.items), raw(c.statement), raw(`{"pay": {"retainage_percent": "10", "items": [{"line": "1", "unit": "link", "rate": "9"}]}}`))
			switch {
			case c.want == "" && err != nil, c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
				t.Errorf("want %q, have %v", c.want, err)
			case c.want == "" && (e == nil) != (c.items == ""):
				t.Errorf("%+v", e)
			}
		})
	}
}

// FuzzReadEarlier: whatever an earlier results.json holds is refused, or can be counted
// from: what is claimed then adds up.
func FuzzReadEarlier(f *testing.F) {
	f.Add(`[{"line": "1.1", "unit": "termination", "accepted_to_date": 5, "accepted_before": 2}]`, `null`, `{"pay": {"retainage_percent": "10", "items": [{"unit": "link", "rate": "9"}]}}`, true)
	f.Add(`[{"line": "1.1", "unit": "termination", "accepted_to_date": 40}, {"unit": "link", "accepted_to_date": -1}]`, ``, `{}`, false)
	f.Add(`[{"line": "1.1", "unit": "termination", "accepted_to_date": 2, "accepted_before": 0}]`,
		`{"follows": 1, "before": {"items": [[]], "held": "1"}, "to_date": {"items": [[{"quantity": 3, "rates": ["1", "2.005"]}, {"quantity": -1}]], "held": "7", "releases": [{"day": "2026-11-20", "amount": "8", "reason": "x"}]}}`, `null`, false)
	f.Add(`[{"line": "1.1", "unit": "termination", "accepted_to_date": 0, "accepted_before": 0}]`, `{"before": {"items": [[]], "held": "-7.005"}, "to_date": {"items": [[]], "held": "-7.005"}}`, ``, true)
	library := testset.Library()
	judged := testset.Judged(f, library)
	f.Fuzz(func(t *testing.T, items, statement, about string, said bool) {
		raw := func(s string) json.RawMessage {
			if s == "" {
				return nil
			}
			return json.RawMessage(s)
		}
		e, err := form.ReadEarlier(1, raw(items), raw(statement), raw(about))
		if err != nil {
			return
		}
		facts := *library
		if said {
			facts.Job.Pay.Billed = new(1)
		}
		w := form.Writer{Facts: &facts, Judgement: judged, Revision: 2, Earlier: e}
		w.BillingFaults()
		if s := w.Statement(); !s.Payable.Before.Add(s.Payable.This).Equal(s.Payable.ToDate) || !s.Total.This.Sub(s.Held.This).Add(s.Released.This).Equal(s.Payable.This) {
			t.Errorf("%+v", s)
		}
	})
}

// TestBillingFaults: terms that no statement can be made by are told by their codes, and
// what was billed at the rates and the percentage of an earlier revision counts at those.
func TestBillingFaults(t *testing.T) {
	rate, percent := quantity.Must("20"), quantity.Must("5")
	for _, c := range []struct {
		name   string
		change func(p *record.Pay, e *form.Earlier)
		want   string
	}{
		{"nothing but what was billed", func(*record.Pay, *form.Earlier) {}, ""},
		{"which was billed is not said", func(p *record.Pay, _ *form.Earlier) {
			p.Billed, p.Period = nil, record.Period{From: record.NewDate(2026, 11, 1), To: record.NewDate(2026, 11, 30)}
		}, "billed-unsaid"},
		{"an item is gone", func(p *record.Pay, _ *form.Earlier) { p.Items = p.Items[1:] }, "billed-item-gone"},
		{"an item of which nothing was billed is gone", func(p *record.Pay, e *form.Earlier) { p.Items, e.Items[0].Accepted = p.Items[1:], 0 }, ""},
		{"more is released than is held", func(p *record.Pay, _ *form.Earlier) {
			p.Releases = []record.Release{{Day: record.NewDate(2026, 11, 20), Amount: &rate, Reason: "x"}}
			p.Retainage = nil
		}, "release-exceeds"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := testset.Library()
			f.Job.Pay.Billed = new(1)
			zero := 0
			// 10 x 20 = 200.00, of which 5 % are 10.00.
			e := &form.Earlier{Revision: 1, Items: []form.ResultPayItem{{Line: "1.1", Unit: record.PayTermination, Accepted: 10, Before: &zero}},
				Terms: form.AboutPay{Retainage: &percent, Items: []form.AboutItem{{Line: "1.1", Unit: record.PayTermination, Rate: &rate}}}}
			c.change(&f.Job.Pay, e)
			w := form.Writer{Facts: f, Judgement: testset.Judged(t, f), Revision: 2, Earlier: e}
			var codes []string
			for _, fault := range w.BillingFaults() {
				codes = append(codes, fault.Code)
			}
			if got := strings.Join(codes, " "); got != c.want {
				t.Errorf("want %q, have %q", c.want, got)
			}
			if s := w.Statement(); c.want == "" && e.Items[0].Accepted > 0 && (s.Total.Before.String() != "200.00" || s.Held.Before.String() != "10.00") {
				t.Errorf("%s billed, %s held", s.Total.Before, s.Held.Before)
			}
		})
	}
}
