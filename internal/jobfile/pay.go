package jobfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// payKeys reads the order's pay items.
func payKeys(d *strict.YAML, p *record.Pay) strict.Keys {
	return strict.Keys{
		"currency":          strict.Opt(d.Text("pay.currency", &p.Currency)),
		"retainage_percent": strict.Opt(d.Number("retainage_percent", 0, 100, func(v quantity.Decimal) { p.Retainage = &v })),
		"billed":            strict.Opt(readBilled(d, p)),
		"period":            strict.Opt(readPeriod(d, &p.Period)),
		"releases":          strict.Opt(d.Items("pay.releases", func(n *yaml.Node) { readRelease(d, n, p) })),
		"items": strict.Must(d.Items("pay.items", func(n *yaml.Node) {
			var v record.PayItem
			d.Object(n, "a pay item", strict.Keys{
				"line":        strict.Opt(d.Text("line", &v.Line)),
				"title":       strict.Must(d.Text("title", &v.Title)),
				"unit":        strict.Must(strict.OneOf(d, "unit", &v.Unit, record.PayTermination, record.PayConnector, record.PaySplice, record.PayStrand, record.PayLink, record.PayDrop, record.PayLump)),
				"fibre":       strict.Opt(d.Text("fibre", &v.Fibre)),
				"cable":       strict.Opt(d.Text("cable", &v.Cable)),
				"rate":        strict.Opt(d.Number("rate", 0, 1_000_000_000, func(r quantity.Decimal) { v.Rate = &r })),
				"retroactive": strict.Opt(d.Yes("retroactive", &v.Retroactive)),
			})
			if v.Retroactive && v.Rate == nil {
				d.Fault(n, "missing-key", "retroactive is set, but there is no rate", "", "add rate: with the price of one, or remove retroactive")
			}
			if v.Rate != nil && p.Currency == "" {
				d.Fault(n, "missing-key", "a rate needs a currency", "", "add currency to pay, above items, such as currency: EUR")
			}
			p.Items = append(p.Items, v)
		})),
	}
}

// readBilled reads r1, or none.
func readBilled(d *strict.YAML, p *record.Pay) func(*yaml.Node) {
	return func(n *yaml.Node) {
		text, ok := d.Scalar(n, "pay.billed")
		if !ok {
			return
		}
		number, err := strconv.Atoi(strings.TrimPrefix(text, "r"))
		switch {
		case text == "none":
			p.Billed = new(int)
		case err == nil && strings.HasPrefix(text, "r") && number > 0 && text == "r"+strconv.Itoa(number):
			p.Billed = &number
		default:
			d.Fault(n, "bad-value", fmt.Sprintf("%q is not a revision", text), "want the revision whose statement was billed last, such as r1, or none", "")
		}
	}
}

// readPeriod reads what a statement is for: two days, both within it.
func readPeriod(d *strict.YAML, p *record.Period) func(*yaml.Node) {
	return func(n *yaml.Node) {
		d.Object(n, "pay.period", strict.Keys{
			"from": strict.Must(d.Date("from", &p.From)),
			"to":   strict.Must(d.Date("to", &p.To)),
		})
		if !p.From.IsZero() && !p.To.IsZero() && p.To.Before(p.From) {
			d.Fault(n, "out-of-range", fmt.Sprintf("the period ends %s, before it begins", p.To), "want a day that is not before "+p.From.String(), "")
		}
	}
}

// readRelease reads one release of what was held back. Its day is its name.
func readRelease(d *strict.YAML, n *yaml.Node, p *record.Pay) {
	var v record.Release
	faults := d.List.Len()
	d.Object(n, "a release", strict.Keys{
		"day":     strict.Must(d.Date("day", &v.Day)),
		"percent": strict.Opt(d.Number("percent", 0, 100, func(x quantity.Decimal) { v.Percent = &x })),
		"amount":  strict.Opt(d.Number("amount", 0, 1_000_000_000, func(x quantity.Decimal) { v.Amount = &x })),
		"reason":  strict.Must(d.Text("reason", &v.Reason)),
	})
	switch {
	case d.List.Len() > faults:
	case (v.Percent == nil) == (v.Amount == nil):
		d.Fault(n, "missing-key", "a release is either in percent of what is held or an amount", "", "write percent: or amount:, one of the two")
	case v.Percent != nil && v.Percent.IsZero(), v.Amount != nil && v.Amount.IsZero():
		d.Fault(n, "out-of-range", "a release of nothing", "want more than 0", "")
	case v.Amount != nil && !v.Amount.Round(2).Equal(*v.Amount):
		d.Fault(n, "out-of-range", fmt.Sprintf("an amount of %s cannot be paid", v.Amount), "want two places at most", "")
	case slices.ContainsFunc(p.Releases, func(r record.Release) bool { return r.Day.Equal(v.Day) }):
		d.Fault(n, "duplicate-key", fmt.Sprintf("there is another release of %s", v.Day), "", "put both into one, or give the second a day of its own: a release is known by its day")
	}
	p.Releases = append(p.Releases, v)
}

// payFile may hold what stands under pay in job.yaml. It is no evidence: who gets
// the set does not get it.
const payFile = "pay.yaml"

func (r *reader) readPay() {
	if !r.folder.Exists(payFile) {
		return
	}
	data := r.folder.Read(payFile, table.MaxYAML)
	if data == nil {
		return
	}
	d := &strict.YAML{File: source.New(payFile, data), List: r.list}
	pay := &r.Job.Pay
	if len(pay.Items) > 0 {
		r.list.Add(diag.Problem{Code: "duplicate-key", Place: PlacesIn(r.File).Of("pay"), Message: "there are pay items in both job.yaml and pay.yaml",
			Fix: "keep those in pay.yaml, which is not handed over as evidence, and remove pay: from job.yaml"})
		return
	}
	if top := d.Root(); top != nil {
		if r.laid != nil {
			d.Others, top = r.laid.From, r.laid.OverPay(top)
		}
		d.Object(top, payFile, payKeys(d, pay))
	}
}
