package summary

import "spanseal/internal/layout"

// warranty says by which days the warranty wants what, and what is on record.
func (o *overview) warranty(f *layout.Flow) {
	job, w := &o.Facts.Job, o.words
	windows := job.Warranty
	if windows == nil {
		return
	}
	f.Section(w.Say("warranty.title"), 3)
	fields := []layout.Field{
		{Caption: w.Say("warranty.term"), Value: w.Count("warranty.months", windows.Months, "day", w.Day(job.Completed.AddMonths(windows.Months)))},
		{Caption: w.Say("warranty.registration"), Value: windows.Registration},
	}
	if _, last := o.MeasuredInAll(); windows.RegisterDays > 0 && !last.IsZero() {
		fields = append(fields, layout.Field{Caption: w.Say("warranty.register"), Value: w.Day(last.AddDays(windows.RegisterDays))})
	}
	if n := windows.DiscoverMonths; n > 0 {
		fields = append(fields, layout.Field{Caption: w.Say("warranty.discover"), Value: w.Day(job.Completed.AddMonths(n))})
	}
	if n := windows.ReportDays; n > 0 {
		fields = append(fields, layout.Field{Caption: w.Say("warranty.report"), Value: w.Count("warranty.days", n)})
	}
	if n := windows.RetainYears; n > 0 {
		fields = append(fields, layout.Field{Caption: w.Say("warranty.retain"), Value: w.Day(job.Completed.AddMonths(12 * n))})
	}
	f.Fields(3, fields...)
	for _, said := range o.WarrantyFacts() {
		f.Paragraph(f.Body, 1, w.State(said))
	}
}
