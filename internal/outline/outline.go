// Package outline drafts a job folder from exports: how to read them, links.csv, the
// people and the instruments that they name. It fills in nothing that the exports do not
// say, and lists what a person must still say, in the order in which it is filled in;
// what it concluded is listed too.
//
// # links.csv
//
// A link is what a row of an export gives a value of, or lacks one of. Names that count up
// make one row, K1-01..K1-24, if their other cells are the same or count along. Concluded
// are:
//
//	cable, strand  from the columns of the export; else from names such as K1-01, if all
//	               names of the series have a mark before the number and the first number
//	               begins a tube of twelve: 1, 13, 25 ...
//	length_m       the least that was measured, if all lengths of the row are within 2 % of it
//	from, to       from columns whose headings name end A and end B, if they agree
//	fibre          from a column that holds kinds of fibre and nothing else
//
// The fibre is never told from the wavelengths, which give its mode and not its grade. Mated
// pairs, splices and ends are left empty.
package outline

import (
	"bytes"
	"fmt"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/propose"
	"spanseal/internal/strict"
)

// Sample is an export, and the path at which a person named it.
type Sample struct {
	Path string
	Raw  []byte
}

// name is that of the sample in readings/.
func (s *Sample) name() string { return filepath.Base(s.Path) }

// Draft is what a job folder may be made of.
type Draft struct {
	Samples   []Sample
	Proposals []*propose.Proposal // one for each sample
	survey    *intake.Survey
	rows      []row
	seen      seen
}

// showRows is how many rows of a table are looked through for places and kinds of fibre.
const showRows = 20_000

// New drafts from exports. The list holds why it cannot.
func New(samples []Sample) (*Draft, *diag.List) {
	d, files, list := entries(samples)
	if d == nil {
		return nil, list
	}
	d.survey = intake.Look(files, showRows)
	d.schedule()
	return d, list
}

// Entries drafts how to read the exports and nothing else: it has no links, people or
// instruments, for the files are not gone through.
func Entries(samples []Sample) (*Draft, *diag.List) {
	d, _, list := entries(samples)
	return d, list
}

func entries(samples []Sample) (*Draft, []intake.Drafted, *diag.List) {
	d, list := &Draft{Samples: samples}, &diag.List{}
	first := map[string]string{}
	var files []intake.Drafted
	for i := range samples {
		s := &samples[i]
		if other, twice := first[strings.ToLower(s.name())]; twice {
			list.Add(diag.Problem{Code: "names-differ-in-case", Place: diag.Place{File: filepath.ToSlash(s.Path)}, Message: "another export has the same name: " + filepath.ToSlash(other),
				Fix: "rename one of the two: both go into readings/"})
			continue
		}
		first[strings.ToLower(s.name())] = s.Path
		p, problems := propose.Propose(filepath.ToSlash(s.Path), s.Raw)
		list.Join(problems)
		if p == nil {
			continue
		}
		d.Proposals = append(d.Proposals, p)
		files = append(files, intake.Drafted{Name: s.name(), Raw: s.Raw, Entry: []byte(p.Entry)})
	}
	if list.Errors() > 0 {
		return nil, nil, list
	}
	return d, files, list
}

// Readings is the list of entries, as it may be put at the end of job.yaml.
func (d *Draft) Readings() string { return propose.Join(d.Proposals) }

// These lines of the job that spanseal new writes are replaced by what the exports name, or
// emptied where they hold an example of what was agreed.
const (
	personLine = "  - {id: t1, name: }"
	meterLine  = "  - {id: PM1, kind: power meter, serial: , calibrated: , due: }"
	sourceLine = "  - {id: LS1, kind: light source, serial: , calibrated: , due: }"
	signLine   = "sign: {key: signer.p12, as: t1}"
)

// agreed are keys of judge whose values in that job are examples.
var agreed = []string{"  limits: [tia-568.3-e]", "  reference: one-cord", "  test_cords: standard"}

// Job is a new job.yaml with what the exports name, and the entries of readings.
func (d *Draft) Job(blank []byte) []byte {
	var b bytes.Buffer
	for line := range strings.Lines(string(blank)) {
		text := strings.TrimRight(line, "\n")
		for _, example := range agreed {
			if after, is := strings.CutPrefix(text, example+" "); is {
				key, value, _ := strings.Cut(example, ":")
				text = key + ":" + strings.Repeat(" ", len(value)+1) + after
			}
		}
		at := func(start string) bool { return strings.HasPrefix(text, start) }
		rest := func(start string) string { return strings.TrimPrefix(text, start) }
		switch {
		case at(personLine) && len(d.people()) > 0:
			for i, who := range d.people() {
				name := " "
				if strings.Contains(who, " ") { // that is one
					name = " " + strict.Quote(who)
				}
				fmt.Fprintf(&b, "  - {id: %s, name:%s}%s\n", strict.Quote(who), name, only(i == 0, rest(personLine)))
			}
		case at(signLine) && len(d.people()) > 0:
			fmt.Fprintf(&b, "sign: {key: signer.p12, as: }%s\n", rest(signLine))
		case at(meterLine) && len(d.instruments()) > 0:
			for i, of := range d.instruments() {
				fmt.Fprintf(&b, "  - {id: %s, kind: %s, serial: , calibrated: , due: }%s\n", strict.Quote(of.id), of.kind, only(i == 0, rest(meterLine)))
			}
		case at(sourceLine) && len(d.instruments()) > 0:
			fmt.Fprintf(&b, "  # - {id: LS1, kind: light source, serial: , calibrated: , due: }%s\n", rest(sourceLine))
		default:
			b.WriteString(text + "\n")
		}
	}
	b.WriteString(d.Tail())
	return b.Bytes()
}

// Tail is what a draft puts at the end of a job.yaml: the entries of readings, and what
// they need.
func (d *Draft) Tail() string {
	if d.seen.meant {
		return "\nschedule: {series: false}   # a name with two points between numbers is the name of one link\n\n" + d.Readings()
	}
	return "\n" + d.Readings()
}

func only(so bool, text string) string {
	if so {
		return text
	}
	return ""
}

// people are the ids of those who measured.
func (d *Draft) people() (ids []string) {
	for i := range d.survey.Facts.Readings {
		if id := d.survey.Facts.Readings[i].Person; id != "" && !slices.Contains(ids, id) && len(ids) < most {
			ids = append(ids, id)
		}
	}
	return ids
}

// most is how many people or instruments are drafted: of more, the column was taken wrongly.
const most = 50

// instrument is one that the exports name, with its kind if a column says it.
type instrument struct{ id, kind string }

func (d *Draft) instruments() (all []instrument) {
	add := func(id, kind string) {
		if id != "" && !slices.ContainsFunc(all, func(i instrument) bool { return i.id == id }) && len(all) < most {
			all = append(all, instrument{id, kind})
		}
	}
	for i := range d.survey.Facts.Readings {
		r := &d.survey.Facts.Readings[i]
		if kind := ""; r.Instrument != "" {
			if r.Source != "" && r.Source != r.Instrument {
				kind = "power meter"
			}
			add(r.Instrument, kind)
		}
		if r.Source != r.Instrument {
			add(r.Source, "light source")
		}
	}
	return all
}

// mostPoints is how many lines the list has.
const mostPoints = 8

// Points are what must still be said, in the order in which it is filled in.
func (d *Draft) Points() []diag.Unsaid {
	const job, links = "job.yaml", "links.csv"
	points := []diag.Unsaid{{File: job, Text: "job: number, title, site, customer, contractor, time_zone"}}
	who := "people: id and name of everybody who measured or signs"
	if ids := d.people(); len(ids) > 0 {
		who = "people: the name of " + diag.Few(unnamed(ids), 3) + "; sign: who signs"
		if len(unnamed(ids)) == 0 {
			who = "sign: who signs, of people"
		}
	}
	points = append(points, diag.Unsaid{File: job, Text: who})
	with := "instruments: id, kind, serial, calibrated and due of each"
	if all := d.instruments(); len(all) > 0 {
		var ids []string
		for _, i := range all {
			ids = append(ids, i.id)
		}
		with = "instruments: kind, serial, calibrated and due of " + diag.Few(ids, 3)
	}
	points = append(points, diag.Unsaid{File: job, Text: with}, diag.Unsaid{File: job, Text: "judge: limits, reference and test_cords, as agreed; see: spanseal limits list"})
	after := d.linkPoints()
	for i := range after {
		after[i].File = links
	}
	needed := holding(propose.Needed(d.Proposals))
	joined := strings.Join(needed, "; ")
	switch room := mostPoints - len(points) - len(after); {
	case len(needed) > room && len(joined) <= 250:
		points = append(points, diag.Unsaid{File: job, Text: "readings: " + joined})
	case len(needed) > room:
		points = append(points, diag.Unsaid{File: job, Text: fmt.Sprintf("readings: %s, in the comments above the entries", diag.Plural(len(needed), "point"))})
	default:
		for _, n := range needed {
			points = append(points, diag.Unsaid{File: job, Text: "readings: " + n})
		}
	}
	return append(points, after...)
}

// Newcomers are the people and instruments that the exports name and a job.yaml does not:
// what must be added to a job that is made from another. What a company file says of them
// is not looked at, but the job is known to name one.
func (d *Draft) Newcomers(job []byte) (points []diag.Unsaid) {
	var has struct {
		Company             string
		People, Instruments []struct{ ID string }
	}
	if yaml.Unmarshal(job, &has) != nil { // it is reported when the job is read
		return nil
	}
	missing := func(key string, ids []string, known []struct{ ID string }) {
		ids = slices.DeleteFunc(ids, func(id string) bool {
			return slices.ContainsFunc(known, func(one struct{ ID string }) bool { return one.ID == id })
		})
		if len(ids) == 0 {
			return
		}
		text := key + ": the exports name " + diag.Few(ids, 4)
		if has.Company != "" {
			text += "; add who the company file does not have"
			if key == "instruments" {
				text = strings.Replace(text, "add who", "add what", 1)
			}
		} else {
			text += ", not there yet"
		}
		points = append(points, diag.Unsaid{File: "job.yaml", Text: text})
	}
	var with []string
	for _, one := range d.instruments() {
		with = append(with, one.id)
	}
	missing("people", d.people(), has.People)
	missing("instruments", with, has.Instruments)
	return points
}

// holding puts what may hold for a whole file into one sentence.
func holding(needed []string) (rest []string) {
	var keys []string
	for _, n := range needed {
		switch {
		case strings.HasPrefix(n, propose.NeedsTime):
			keys = append(keys, "date: 2026-11-18")
		case strings.HasPrefix(n, propose.NeedsInstrument):
			keys = append(keys, "instrument: ID")
		case strings.HasPrefix(n, propose.NeedsPerson):
			keys = append(keys, "person: ID")
		default:
			rest = append(rest, n)
		}
	}
	if len(keys) == 0 {
		return rest
	}
	return append(rest, "add "+strings.Join(keys, ", ")+" to the entry, each if it is the same in the whole file")
}

// unnamed are ids that are no names.
func unnamed(ids []string) []string {
	return slices.DeleteFunc(slices.Clone(ids), func(id string) bool { return strings.Contains(id, " ") })
}

// File is where a sample goes in the job folder.
func (s *Sample) File() string { return path.Join("readings", s.name()) }
