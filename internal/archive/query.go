package archive

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"spanseal/internal/record"
)

// Query is what is looked for: every term must fit.
//
// A term is a plain word, which fits a part of any text, or key:value (see
// [Keys]) or a heading of the schedule's own, in which a space and _ are the same.
// Capitals make no difference. Values of link, job, number, serial, instrument, key,
// revision, label, asset, trunk, closure, tray, latitude, longitude and reference fit as a whole, values
// of the other texts a part;
// in all of them, and in words, * stands for any run of characters. Dates are a day, a month
// or a year, or two of them with .. between, or one with .. before or behind.
//
// The terms about how it was measured (serial, instrument, technician,
// measured) must fit one and the same reading, so that
// "serial:22803 measured:2026-11-16..2026-11-18" finds what rests on that
// instrument between those days, and not what was measured with it on others.
type Query struct {
	words   []string // folded
	set     []setTerm
	reading []readingTerm
	link    []linkTerm
	own     []string // headings, as they were typed
}

type (
	setTerm     func(*Revision) bool
	readingTerm func(*Revision, method) bool
	linkTerm    func(*Revision, row) bool
)

// SearchKey is one word before a colon.
type SearchKey struct{ Name, Of string }

// Keys are the keys of a query, with what each is about.
var Keys = []SearchKey{
	{"link", "link name"}, {"number", "certificate number"}, {"verdict", "pass, marginal, fail or incomplete; several with commas"},
	{"job", "the job's number"}, {"title", "the job's title"}, {"site", "site name"}, {"customer", "customer name"}, {"order", "the customer's order"},
	{"contractor", "contractor name"}, {"invoice", "the invoice"}, {"issued", "date of issue"}, {"revision", "number of the revision, or current"},
	{"signer", "who signed the set"}, {"key", "the signing key's id"},
	{"label", "the label on the link"}, {"drawing", "the drawing"}, {"asset", "its number in the owner's register"}, {"room", "the room"},
	{"trunk", "the trunk that contains the link"}, {"closure", "the closure"}, {"tray", "the tray"}, {"colour", "the colour of the strand"}, {"latitude", "degrees as in the schedule"}, {"longitude", "degrees as in the schedule"}, {"notes", "the notes"},
	{"reference", "reference method: one-cord, two-cord, three-cord"}, {"launch", "the launch, such as encircled flux"}, {"software", "software of the instrument"},
	{"stage", "test stage"}, {"witness", "witness name"},
	{"inspection", "an inspection of an end face: its criterion, edition, result or person"}, {"original", "an instrument's own file"},
	{"serial", "serial number of a meter or light source"}, {"instrument", "its id in the job"}, {"technician", "who measured"}, {"measured", "day of measurement"},
}

// ParseQuery reads the terms of a query.
func ParseQuery(terms []string) (*Query, error) {
	q := &Query{}
	for _, t := range terms {
		key, value, keyed := strings.Cut(t, ":")
		switch {
		case strings.TrimSpace(t) == "":
		case !keyed:
			q.words = append(q.words, strings.ToLower(t))
		case value == "":
			return nil, fmt.Errorf("%q has nothing after the colon", t)
		default:
			if err := q.add(strings.ToLower(key), value); err != nil {
				return nil, err
			}
		}
	}
	return q, nil
}

func (q *Query) add(key, value string) error {
	whole, part := pattern(value), strings.ToLower(value)
	of := func(text func(*Revision) string) {
		q.set = append(q.set, func(r *Revision) bool { return contains([]byte(text(r)), part) })
	}
	exactly := func(text func(*Revision) string) {
		q.set = append(q.set, func(r *Revision) bool { return whole.fits(text(r)) })
	}
	instrument := func(text func(record.Instrument) string) {
		q.reading = append(q.reading, func(r *Revision, u method) bool {
			fits := func(n int) bool { return n > 0 && whole.fits(text(r.instruments[n-1])) }
			return fits(u.instrument) || fits(u.source)
		})
	}
	switch key {
	case "job":
		exactly(func(r *Revision) string { return r.Job })
	case "key":
		whole = pattern(strings.ReplaceAll(value, " ", ""))
		exactly(func(r *Revision) string { return strings.ReplaceAll(r.SignerKey, " ", "") })
	case "revision":
		if strings.EqualFold(value, "current") {
			q.set = append(q.set, func(r *Revision) bool { return r.Superseded == 0 })
			return nil
		}
		n := strings.TrimPrefix(part, "r")
		if n == "" || strings.Trim(n, "0123456789*") != "" {
			return fmt.Errorf("%q is not a revision: want its number, such as 2 or r2, or current", value)
		}
		whole = pattern(n)
		exactly(func(r *Revision) string { return fmt.Sprint(r.Number) })
	case "title":
		of(func(r *Revision) string { return r.Title })
	case "site":
		of(func(r *Revision) string { return r.Site })
	case "customer":
		of(func(r *Revision) string { return r.Customer })
	case "order":
		of(func(r *Revision) string { return r.Order })
	case "contractor":
		of(func(r *Revision) string { return r.Contractor })
	case "invoice":
		of(func(r *Revision) string { return r.Invoice })
	case "signer":
		of(func(r *Revision) string { return r.Signer })
	case "issued":
		days, err := parseDays(key, value)
		q.set = append(q.set, func(r *Revision) bool { return days.hold(r.issuedOn()) })
		return err
	case "measured":
		days, err := parseDays(key, value)
		q.reading = append(q.reading, func(_ *Revision, u method) bool { return days.hold(u.day) })
		return err
	case "serial":
		instrument(func(i record.Instrument) string { return i.Serial })
	case "instrument":
		instrument(func(i record.Instrument) string { return i.ID })
	case "technician":
		q.reading = append(q.reading, func(r *Revision, u method) bool {
			return u.person > 0 && (whole.fits(r.people[u.person-1].ID) || contains([]byte(r.people[u.person-1].Name), part))
		})
	case "link":
		q.link = append(q.link, func(_ *Revision, x row) bool { return whole.fitsBytes(x.name) })
	case "number":
		q.set = append(q.set, func(r *Revision) bool { // most jobs cannot have it
			job, first := strings.ToLower(r.Job)+"/", whole[0]
			n := min(len(job), len(first))
			return job[:n] == first[:n]
		})
		q.link = append(q.link, func(r *Revision, x row) bool { n := r.link(x).Number; return n != "" && whole.fits(n) })
	case "verdict":
		var wanted [5]bool // by number; 0 is unknown
		for _, w := range strings.Split(part, ",") {
			n := slices.Index(verdicts, w) + 1
			if n == 0 {
				return fmt.Errorf("%q is not a verdict: want %s", w, strings.Join(verdicts, ", "))
			}
			wanted[n] = true
		}
		q.link = append(q.link, func(_ *Revision, x row) bool { return wanted[x.verdict] })
	case "label", "asset", "trunk", "closure", "tray", "latitude", "longitude":
		q.named(key, whole.fitsBytes)
	case "reference":
		q.method(key, whole.fitsBytes)
	case "launch", "software", "stage", "witness":
		q.method(key, func(text []byte) bool { return contains(text, part) })
	case "inspection", "original":
		q.named(key, func(text []byte) bool { return contains(text, part) })
	default:
		if !slices.Contains(record.NameKeys, key) {
			q.own = append(q.own, key)
		}
		q.named(key, func(text []byte) bool { return contains(text, part) })
	}
	return nil
}

// named adds a term about a name that receivers use, or a column of the schedule's own.
func (q *Query) named(key string, fits func([]byte) bool) {
	q.link = append(q.link, func(r *Revision, x row) bool {
		for _, n := range x.names {
			if sameHeading(r.columns[n.column], key) && fits(n.text) {
				return true
			}
		}
		return false
	})
}

// method adds a term about how links were measured: what a link has of its own, else
// what the job has.
func (q *Query) method(key string, fits func([]byte) bool) {
	i := slices.Index(methodKeys[:], key)
	q.link = append(q.link, func(r *Revision, x row) bool {
		own := false
		for _, n := range x.names {
			if r.columns[n.column] == key {
				if own = true; fits(n.text) {
					return true
				}
			}
		}
		return !own && r.ways[i] != "" && fits([]byte(r.ways[i]))
	})
}

func sameHeading(a, b string) bool {
	return len(a) == len(b) && strings.EqualFold(strings.ReplaceAll(a, "_", " "), strings.ReplaceAll(b, "_", " "))
}

// Unknown says which key of a query is neither one of [Keys] nor a heading of any
// schedule in the archive.
func (a *Archive) Unknown(q *Query) error {
	for _, key := range q.own {
		if slices.ContainsFunc(a.Revisions, func(r *Revision) bool {
			return slices.ContainsFunc(r.columns, func(c string) bool { return sameHeading(c, key) })
		}) {
			continue
		}
		var names []string
		for _, k := range Keys {
			names = append(names, k.Name)
		}
		return fmt.Errorf("%q is not a key: want one of %s, or a heading of the schedule's own", key, strings.Join(names, ", "))
	}
	return nil
}

// issuedOn is the day of issue in the zone of the issue.
func (r *Revision) issuedOn() record.Date {
	t, err := time.Parse(time.RFC3339, r.Issued)
	if err != nil {
		return record.Date{}
	}
	return record.DateOf(t)
}

// wildcard is a folded text cut at its stars.
type wildcard []string

func pattern(s string) wildcard { return strings.Split(strings.ToLower(s), "*") }

func (w wildcard) fits(text string) bool {
	if len(w) == 1 && len(text) != len(w[0]) && ascii(text) {
		return false
	}
	text = strings.ToLower(text)
	first, last := w[0], w[len(w)-1]
	if len(w) == 1 {
		return text == first
	}
	if len(text) < len(first)+len(last) || !strings.HasPrefix(text, first) || !strings.HasSuffix(text, last) {
		return false
	}
	text = text[len(first) : len(text)-len(last)]
	for _, middle := range w[1 : len(w)-1] {
		i := strings.Index(text, middle)
		if i < 0 {
			return false
		}
		text = text[i+len(middle):]
	}
	return true
}

// fitsBytes is fits for the many names of links: those that cannot fit are
// told by their length, without a copy.
func (w wildcard) fitsBytes(text []byte) bool {
	if len(w) == 1 && len(text) < 64 && len(text) != len(w[0]) && ascii(string(text)) {
		return false
	}
	return w.fits(string(text))
}

func ascii(s string) bool {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return false
		}
	}
	return true
}

// contains looks for a folded word in a text, whose stars stand for any run of
// characters, without copying where both are ASCII.
func contains(text []byte, word string) bool {
	if strings.Contains(word, "*") {
		rest := strings.ToLower(string(text))
		for piece := range strings.SplitSeq(word, "*") {
			_, after, ok := strings.Cut(rest, piece)
			if !ok {
				return false
			}
			rest = after
		}
		return true
	}
	var buffer [64]byte
	if len(text) > len(buffer) {
		return bytes.Contains(bytes.ToLower(text), []byte(word))
	}
	for i, c := range text {
		if c >= utf8.RuneSelf {
			return bytes.Contains(bytes.ToLower(text), []byte(word))
		}
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		buffer[i] = c
	}
	return strings.Contains(string(buffer[:len(text)]), word)
}

// days is a span, both ends included; a zero end is open.
type days struct{ first, last record.Date }

func (d days) hold(day record.Date) bool {
	return !day.IsZero() && (d.first.IsZero() || !day.Before(d.first)) && (d.last.IsZero() || !day.After(d.last))
}

func parseDays(key, text string) (days, error) {
	from, to, span := strings.Cut(text, "..")
	if !span {
		to = from
	}
	var d days
	var ok1, ok2 bool
	d.first, _, ok1 = period(from)
	_, d.last, ok2 = period(to)
	switch {
	case !ok1 || !ok2 || from == "" && to == "":
		return d, fmt.Errorf("%s:%s is not a date: want 2026-11-18, 2026-11, 2026, or two with .. between", key, text)
	case !d.first.IsZero() && !d.last.IsZero() && d.last.Before(d.first):
		return d, fmt.Errorf("%s:%s ends before it begins", key, text)
	}
	return d, nil
}

// period is the first and last day of a day, a month or a year; of "" it is
// open.
func period(text string) (first, last record.Date, ok bool) {
	if text == "" {
		return first, last, true
	}
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		return record.DateOf(t), record.DateOf(t), true
	}
	if t, err := time.Parse("2006-01", text); err == nil {
		return record.DateOf(t), record.DateOf(t.AddDate(0, 1, -1)), true
	}
	if t, err := time.Parse("2006", text); err == nil {
		return record.DateOf(t), record.DateOf(t.AddDate(1, 0, -1)), true
	}
	return first, last, false
}
