package propose

import (
	"slices"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// findTimes takes a column of dates for the time, where no heading names one.
func (p *proposer) findTimes() {
	free := func(c *proposed) bool { return c.Field == field.None && c.Wavelength == 0 && c.name != "" }
	named := func(f field.Field) bool {
		return slices.ContainsFunc(p.columns, func(c proposed) bool { return c.Field == f })
	}
	if !named(field.Date) && !named(field.Time) {
		for i := range p.columns {
			c := &p.columns[i]
			if !free(c) || len(c.values) == 0 {
				continue
			}
			if c.all(table.AsDay) || c.all(table.AsMoment) || written.FitsISO(c.values) || len(written.FormsOf(c.values)) > 0 {
				if c.Field = field.Time; c.all(table.AsDay) {
					c.Field = field.Date
				}
				p.need("whether %q is when the reading was taken, as the draft says", c.name)
				break
			}
		}
	}
	if !named(field.Date) || named(field.Time) {
		return
	}
	for i := range p.columns { // the hours of those days, as a workbook shows them
		if c := &p.columns[i]; free(c) && c.all(table.AsHour) {
			c.Field = field.Time
			p.need("whether %q is the hour of that day, as the draft says", c.name)
			return
		}
	}
}

// isStoredTime recognises a moment as spreadsheets store it.
func isStoredTime(s string) bool {
	_, err := quantity.ParseStored(s)
	_, ok := written.StoredTime(s, false)
	return ok || err == nil
}

// timeForm proposes the one form that fits every time of the sample. Where days
// and months could change places, it asks.
func (p *proposer) timeForm() {
	var values []string
	date, clock := p.column(field.Date), p.column(field.Time)
	if k, ok := p.keyed[field.Date]; ok && date == nil { // it holds for every row
		date = &proposed{values: []string{k.value}}
		if clock != nil {
			date.values = slices.Repeat(date.values, len(clock.values))
		}
	}
	switch {
	case date != nil && clock != nil && len(date.values) == len(clock.values):
		for i, day := range date.values {
			values = append(values, day+" "+clock.values[i])
		}
	case clock != nil:
		values = clock.values
	case date != nil:
		values = date.values
	}
	if p.isSheet {
		values = slices.DeleteFunc(slices.Clone(values), isStoredTime)
	}
	if len(values) == 0 || written.FitsISO(values) {
		return
	}
	switch fits := written.FormsOf(values); {
	case len(fits) == 1:
		p.setConstant("time_format", fits[0])
		p.saw("times such as %q, all of which fit %s only", values[0], fits[0])
		return
	case len(fits) > 1:
		p.need("the order of day and month in %q: time_format: %s", values[0], strings.Join(fits, " or "))
		return
	}
	for _, c := range written.ClockForms {
		if written.FitsForm(c, values, written.Clock{Year: 2000, Month: 1, Day: 1}) {
			p.setConstant("time_format", c)
			p.need("the day: add date: 2026-11-18, or give preamble a pattern with {date}")
			return
		}
	}
	p.need("time_format of %q, such as DD.MM.YYYY HH:mm", values[0])
}
