package jobfile

import (
	"fmt"
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
func payKeys(d *strict.Document, p *record.Pay) strict.Keys {
	return strict.Keys{
		"currency":          strict.Opt(d.Text("pay.currency", &p.Currency)),
		"retainage_percent": strict.Opt(d.Number("retainage_percent", 0, 100, func(v quantity.Decimal) { p.Retainage = &v })),
		"billed":            strict.Opt(readBilled(d, p)),
		"items": strict.Must(d.Items("pay.items", func(n *yaml.Node) {
			var v record.PayItem
			d.Object(n, "a pay item", strict.Keys{
				"line":  strict.Opt(d.Text("line", &v.Line)),
				"title": strict.Must(d.Text("title", &v.Title)),
				"unit":  strict.Must(strict.OneOf(d, "unit", &v.Unit, record.PayTermination, record.PaySplice, record.PayStrand, record.PayLink, record.PayDrop, record.PayLump)),
				"fibre": strict.Opt(d.Text("fibre", &v.Fibre)),
				"cable": strict.Opt(d.Text("cable", &v.Cable)),
				"rate":  strict.Opt(d.Number("rate", 0, 1_000_000_000, func(r quantity.Decimal) { v.Rate = &r })),
			})
			if v.Rate != nil && p.Currency == "" {
				d.Fault(n, "missing-key", "a rate needs a currency", "", "add currency to pay, above items, such as currency: EUR")
			}
			p.Items = append(p.Items, v)
		})),
	}
}

// readBilled reads r1, or none.
func readBilled(d *strict.Document, p *record.Pay) func(*yaml.Node) {
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
	d := &strict.Document{File: source.New(payFile, data), List: r.list}
	pay := &r.Job.Pay
	if len(pay.Items) > 0 {
		r.list.Add(diag.Problem{Code: "duplicate-key", Place: PlacesIn(r.File).Of("pay"), Message: "the pay items stand in job.yaml and in pay.yaml",
			Fix: "keep those of pay.yaml, which is not handed over as evidence, and take pay: out of job.yaml"})
		return
	}
	if top := d.Root(); top != nil {
		if r.laid != nil {
			d.Others, top = r.laid.From, r.laid.OverPay(top)
		}
		d.Object(top, payFile, payKeys(d, pay))
	}
}
