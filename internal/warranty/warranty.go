// Package warranty knows by which day a warranty wants what, and whether a day is in or
// out of its window.
//
// It states facts with their days and decides nothing: whether cover is given is for
// whoever gives it. A window of days ends so many days after the day from which it is
// counted, a term of months or years on the same day of its last month; the last day is
// in. Days are calendar days of the job's zone.
package warranty

import (
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// window is the word for a day that must not be after the last one.
func window(day, last record.Date) statement.Word {
	if day.After(last) {
		return statement.Word{Group: "window", Code: "out"}
	}
	return statement.Word{Group: "window", Code: "in"}
}

// Job says what a job's record shows: when it was registered, and until when that is to
// be; and what falsified data do. It is nothing for a job without windows.
func Job(job *record.Job, measured record.Date) (said []statement.Statement) {
	w := job.Warranty
	if w == nil {
		return nil
	}
	last := measured.AddDays(w.RegisterDays)
	switch days := statement.Count(w.RegisterDays); {
	case w.RegisterDays == 0 && w.Registered.IsZero():
	case w.RegisterDays == 0 || measured.IsZero():
		if !w.Registered.IsZero() {
			said = append(said, statement.New("warranty.registered", statement.Day(w.Registered)))
		}
	case w.Registered.IsZero():
		said = append(said, statement.New("warranty.not-registered", statement.Day(last), days, statement.Day(measured)))
	default:
		said = append(said, statement.New("warranty.registered-by", statement.Day(w.Registered), statement.Day(last), days, statement.Day(measured), window(w.Registered, last)))
	}
	return append(said, statement.New("warranty.falsified"))
}

// ClaimDays are the days of a claim, zero where nobody states one.
type ClaimDays struct{ Discovered, Reported, Compared record.Date }

// Claimed says of a claim which windows its days are in, by what the job's record shows.
// Completed is the day from which the terms count.
func Claimed(w *record.Warranty, completed record.Date, c ClaimDays) (said []statement.Statement) {
	if w == nil {
		return nil
	}
	done := statement.Day(completed)
	if !completed.IsZero() {
		until := completed.AddMonths(w.Months)
		if c.Discovered.IsZero() {
			said = append(said, statement.New("retest.warranty.not-discovered", statement.Day(until), statement.Count(w.Months), done))
		} else {
			said = append(said, statement.New("retest.warranty.term", statement.Day(c.Discovered), statement.Day(until), statement.Count(w.Months), done, window(c.Discovered, until)))
		}
		if n := w.DiscoverMonths; n > 0 && !c.Discovered.IsZero() {
			until := completed.AddMonths(n)
			said = append(said, statement.New("retest.warranty.discovery", statement.Day(c.Discovered), statement.Day(until), statement.Count(n), done, window(c.Discovered, until)))
		}
	}
	if n := w.ReportDays; n > 0 && !c.Discovered.IsZero() {
		last := c.Discovered.AddDays(n)
		if c.Reported.IsZero() {
			said = append(said, statement.New("retest.warranty.not-reported", statement.Day(last), statement.Count(n), statement.Day(c.Discovered)))
		} else {
			said = append(said, statement.New("retest.warranty.reporting", statement.Day(c.Reported), statement.Day(last), statement.Count(n), statement.Day(c.Discovered), window(c.Reported, last)))
		}
	}
	if n := w.RetainYears; n > 0 && !completed.IsZero() {
		until := completed.AddMonths(12 * n)
		said = append(said, statement.New("retest.warranty.retention", statement.Day(until), statement.Count(n), done, statement.Day(c.Compared), window(c.Compared, until)))
	}
	return said
}
