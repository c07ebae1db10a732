package jobfile

import (
	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// readWarranty reads the term of the warranty, and its windows where there are any.
func readWarranty(d *strict.YAML, n *yaml.Node, j *record.Job) {
	var w record.Warranty
	d.Object(n, "warranty", strict.Keys{
		"months":                 strict.Must(d.Count("warranty.months", 1, 1200, &j.WarrantyMonths)),
		"registration":           strict.Opt(d.Text("warranty.registration", &w.Registration)),
		"registered":             strict.Opt(d.Date("warranty.registered", &w.Registered)),
		"register_within_days":   strict.Opt(d.Count("warranty.register_within_days", 1, 10_000, &w.RegisterDays)),
		"discover_within_months": strict.Opt(d.Count("warranty.discover_within_months", 1, 1200, &w.DiscoverMonths)),
		"report_within_days":     strict.Opt(d.Count("warranty.report_within_days", 1, 10_000, &w.ReportDays)),
		"retain_years":           strict.Opt(d.Count("warranty.retain_years", 1, 100, &w.RetainYears)),
	})
	if w != (record.Warranty{}) {
		w.Months = j.WarrantyMonths
		j.Warranty = &w
	}
}

// checkWarranty complains of windows that count from a day which nobody gives.
func checkWarranty(d *strict.YAML, j *record.Job, places Places) {
	if w := j.Warranty; w != nil && j.Completed.IsZero() {
		d.List.Add(diag.Problem{Code: "missing-key", Place: places.Of("job.warranty"),
			Message: "the warranty windows count from the completion date, but the job gives none", Fix: "add completed: under job"})
	}
}
