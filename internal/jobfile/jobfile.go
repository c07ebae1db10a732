// Package jobfile reads job.yaml, strictly, and tells where each of its values stands.
//
// [Read] reads it, the company file that it names and is laid over, pay.yaml, which may
// hold what stands under pay, and the mapping files that its entries of readings share.
// Whatever is not meant to be there is a problem at its place. [Contents.Take] settles,
// once all else of the job is read, what the job took from the company file. What the codes of questions, the ids of limit sets and the
// names of links stand for is for others to say: [PlaceOf] finds for them where the
// value stands that they complain of.
package jobfile

import (
	"fmt"
	"regexp"

	"gopkg.in/yaml.v3"

	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/mapping"
	"spanseal/internal/near"
	"spanseal/internal/original"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// Read reads job.yaml and pay.yaml, and keeps job.yaml and the mapping files as
// evidence.
func Read(in *folder.JobFolder, list *diag.List) *Contents {
	r := newReader(in, list)
	if data := in.Read(folder.Job, table.MaxYAML); data != nil {
		f := source.New(folder.Job, data)
		in.Keep(f)
		r.parse(f)
	}
	r.readPay()
	return r.Contents
}

// hashLike is the beginning of a SHA-256 that tells one file from another.
var hashLike = regexp.MustCompile(`^[0-9a-f]{8,64}$`)

func (r *reader) parse(f *source.File) {
	r.File = f
	d := &strict.YAML{File: r.File, List: r.list}
	top := d.Root()
	if top == nil {
		return
	}
	r.Parsed = true
	top = r.layOver(d, top)
	j := &r.Job
	j.Origin = record.Origin{File: f.Name, SHA256: f.SHA256Hex(), Size: int64(len(f.Raw))}
	d.Object(top, folder.Job, r.keys(d))
	if d.Part { // somebody may be named in the file that was not read
		return
	}
	places := Places{d, top}
	checkWarranty(d, j, places)
	for i, v := range j.Declared {
		if _, known := j.Person(v.By); !known && v.By != "" {
			r.list.Add(diag.Problem{Code: "unknown-person", Place: places.Of(fmt.Sprintf("declared.%d.by", i)),
				Message: fmt.Sprintf("%q is not the id of a person of this job", v.By), Fix: "name one of people, or add the person there"})
		}
	}
	if _, known := j.Person(j.Sign.As); j.Sign.As != "" && !known {
		ids := near.New(nil)
		for _, v := range j.People {
			ids.Add(v.ID)
		}
		want := "want the id of one of people"
		if near := ids.To(j.Sign.As); near != "" {
			want = fmt.Sprintf("did you mean %q?", near)
		}
		r.list.Add(diag.Problem{Code: "unknown-person", Place: places.Of("sign.as"),
			Message: fmt.Sprintf("%q is not the id of a person of this job", j.Sign.As), Want: want})
	}
}

// keys are those of job.yaml.
func (r *reader) keys(d *strict.YAML) strict.Keys {
	j := &r.Job
	p := &j.Policy
	p.Decision, p.GuardFactor = "simple", quantity.Int(1)
	p.Require = record.Require{Directions: "both", Reflectance: "optional", Wavelengths: map[record.Mode][]int{
		// The pairs of wavelengths at which IEC 61280-4-1 and -4-2 have installed
		// links measured (from memory); the job may ask for others.
		record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300},
	}}
	j.Documents = record.Documents{Paper: "A4", Language: "en"}

	return strict.Keys{
		company.Key: strict.Opt(func(*yaml.Node) {}), // read first, see layOver
		"job": strict.Must(d.Within("job", strict.Keys{
			"number":     strict.Must(d.Text("job.number", &j.Number)),
			"title":      strict.Must(d.Text("job.title", &j.Title)),
			"site":       strict.Must(readParty(d, "site", &j.Site)),
			"customer":   strict.Must(readParty(d, "customer", &j.Customer)),
			"contractor": strict.Must(readParty(d, "contractor", &j.Contractor)),
			"invoice":    strict.Opt(d.Text("job.invoice", &j.Invoice)),
			"completed":  strict.Opt(d.Date("job.completed", &j.Completed)),
			"deadline":   strict.Opt(d.Date("job.deadline", &j.Deadline)),
			"time_zone":  strict.Opt(r.readZone(d)),
			"warranty":   strict.Opt(func(n *yaml.Node) { readWarranty(d, n, j) }),
			"stage":      strict.Opt(d.Text("job.stage", &j.Stage)),
			"witness":    strict.Opt(readWitness(d, j)),
		})),
		"people": strict.Must(d.Items("people", func(n *yaml.Node) {
			var v record.Person
			d.Object(n, "a person", strict.Keys{
				"id":            strict.Must(d.Text("id", &v.ID)),
				"name":          strict.Must(d.Text("name", &v.Name)),
				"role":          strict.Opt(d.Text("role", &v.Role)),
				"qualification": strict.Opt(d.Text("qualification", &v.Qualification)),
				"valid_until":   strict.Opt(d.Date("valid_until", &v.ValidUntil)),
			})
			if _, twice := j.Person(v.ID); twice && v.ID != "" {
				idTwice(d, n, "person", v.ID)
			}
			j.People = append(j.People, v)
		})),
		"instruments": strict.Must(d.Items("instruments", func(n *yaml.Node) {
			var v record.Instrument
			d.Object(n, "an instrument", strict.Keys{
				"id":             strict.Must(d.Text("id", &v.ID)),
				"kind":           strict.Must(d.Text("kind", &v.Kind)),
				"make":           strict.Opt(d.Text("make", &v.Make)),
				"model":          strict.Opt(d.Text("model", &v.Model)),
				"serial":         strict.Must(d.Text("serial", &v.Serial)),
				"calibrated":     strict.Opt(d.Date("calibrated", &v.Calibrated)),
				"due":            strict.Opt(d.Date("due", &v.Due)),
				"uncertainty_db": strict.Opt(d.Number("uncertainty_db", 0, 10, func(u quantity.Decimal) { v.Uncertainty = &u })),
				"channels":       strict.Opt(d.Count("channels", 1, 10000, &v.Channels)),
			})
			if _, twice := j.Instrument(v.ID); twice && v.ID != "" {
				idTwice(d, n, "instrument", v.ID)
			}
			if !v.Due.IsZero() && v.Due.Before(v.Calibrated) {
				d.Fault(n, "dates-reversed", fmt.Sprintf("instrument %s was due on %s, before it was calibrated on %s", v.ID, v.Due, v.Calibrated), "", "correct one of the dates")
			}
			j.Instruments = append(j.Instruments, v)
		})),
		"cables": strict.Opt(d.Items("cables", func(n *yaml.Node) {
			var v record.Cable
			d.Object(n, "a cable", strict.Keys{
				"id":          strict.Must(d.Text("id", &v.ID)),
				"description": strict.Opt(d.Text("description", &v.Description)),
				"reel":        strict.Opt(d.Text("reel", &v.Reel)),
			})
			if _, twice := j.Cable(v.ID); twice && v.ID != "" {
				idTwice(d, n, "cable", v.ID)
			}
			j.Cables = append(j.Cables, v)
		})),
		"colours": strict.Opt(func(n *yaml.Node) { j.Colours = readColours(d, n) }),
		"trunks":  strict.Opt(d.Items("trunks", func(n *yaml.Node) { readTrunk(d, n, j) })),
		"judge":   strict.Must(d.Within("judge", policyKeys(d, p))),
		"answers": strict.Opt(d.Items("answers", func(n *yaml.Node) {
			var v record.Answer
			one := ""
			d.Object(n, "an answer", strict.Keys{
				"question": strict.Must(d.Text("question", &v.Question)),
				"link":     strict.Opt(d.Text("link", &one)),
				"links":    strict.Opt(d.Texts("links", &v.Links)),
				"text":     strict.Must(d.Text("text", &v.Text)),
				"who":      strict.Must(d.Text("who", &v.Who)),
				"day":      strict.Must(d.Date("day", &v.Day)),
			})
			switch {
			case one != "" && v.Links != nil:
				d.Fault(n, "link-and-links", "the answer has both link and links", "", "list all of them under links")
			case one != "":
				v.Links = []string{one}
			}
			j.Answers = append(j.Answers, v)
		})),
		"sign": strict.Opt(d.Within("sign", strict.Keys{
			"key": strict.Opt(r.readKey(d)),
			"as":  strict.Opt(d.Text("sign.as", &j.Sign.As)),

			"timestamp_url": strict.Opt(d.Text("sign.timestamp_url", &j.Sign.TimestampURL)),
			"timestamp":     strict.Opt(strict.OneOf(d, "sign.timestamp", &j.Sign.Timestamp, "required", "when-reachable")),
		})),
		"documents": strict.Opt(d.Within("documents", strict.Keys{
			"paper":     strict.Opt(strict.OneOf(d, "documents.paper", &j.Documents.Paper, "A4", "letter")),
			"language":  strict.Opt(d.Text("documents.language", &j.Documents.Language)),
			"check_url": strict.Opt(d.Text("documents.check_url", &j.Documents.CheckURL)),
			"name":      strict.Opt(readPattern(d, &j.Documents.Name)),
		})),
		"declared": strict.Opt(d.Items("declared", func(n *yaml.Node) {
			var v record.Declared
			d.Object(n, "a declaration", strict.Keys{
				"file": strict.Must(d.Text("file", &v.File)),
				"was": strict.Must(func(n *yaml.Node) {
					if d.Text("was", &v.Was)(n); v.Was != "" && !hashLike.MatchString(v.Was) {
						d.Fault(n, "bad-value", fmt.Sprintf("%q is not the beginning of a SHA-256", v.Was), "want eight digits or more, such as 9f86d081", "copy it from the message that reports the changed file")
					}
				}),
				"because": strict.Must(d.Text("because", &v.Because)),
				"by":      strict.Must(d.Text("by", &v.By)),
				"on":      strict.Opt(d.Date("on", &v.On)),
			})
			j.Declared = append(j.Declared, v)
		})),
		"pay":       strict.Opt(d.Within("pay", payKeys(d, &j.Pay))),
		"aliases":   strict.Opt(r.readAliases(d)),
		"schedule":  strict.Opt(r.readSchedule(d)),
		"originals": strict.Opt(d.Within("originals", strict.Keys{"files": strict.Must(r.readPatterns(d))})),
		"readings":  strict.Opt(d.Items("readings", func(n *yaml.Node) { r.readMapping(d, n) })),
	}
}

func idTwice(d *strict.YAML, n *yaml.Node, what, id string) {
	d.Fault(n, "duplicate-id", fmt.Sprintf("%s %q is listed twice", what, id), "", "give each its own id, or remove one")
}

func readParty(d *strict.YAML, what string, p *record.Party) func(*yaml.Node) {
	ks := strict.Keys{
		"name":    strict.Must(d.Text(what+".name", &p.Name)),
		"address": strict.Opt(d.Text(what+".address", &p.Address)),
	}
	switch what {
	case "customer":
		ks["order"] = strict.Opt(d.Text(what+".order", &p.Order))
	case "contractor":
		ks["licence"] = strict.Opt(d.Text(what+".licence", &p.Licence))
	}
	return d.Within(what, ks)
}

func (r *reader) readZone(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		j := &r.Job
		if s, ok := d.Scalar(n, "job.time_zone"); ok {
			if loc := mapping.ZoneNamed(d, n, s); loc != nil {
				j.TimeZone, j.Location = s, loc
				return
			}
		}
		r.WrongZone = true
	}
}

// readPatterns reads one pattern of the instruments' own files, or several.
func (r *reader) readPatterns(d *strict.YAML) func(*yaml.Node) {
	one := func(n *yaml.Node) {
		text, ok := d.Scalar(n, "originals.files")
		if !ok {
			return
		}
		p, err := original.Parse(text)
		if err != nil {
			d.Fault(n, "bad-value", fmt.Sprintf("%q is not a file pattern", text), err.Error(), "")
			return
		}
		r.Originals = append(r.Originals, p)
	}
	return func(n *yaml.Node) {
		if n.Kind == yaml.SequenceNode {
			d.Items("originals.files", one)(n)
			return
		}
		one(n)
	}
}

// readAliases reads the names that the files use for a link's id.
func (r *reader) readAliases(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.MappingNode {
			d.Fault(n, "wrong-type", "aliases is "+strict.KindOf(n)+", not a list of names", `want "name in the file": id in links.csv`, "")
			return
		}
		r.Aliases = map[string]Alias{}
		ks := strict.Keys{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			alias, place := n.Content[i].Value, d.At(n.Content[i])
			ks[alias] = strict.Opt(func(n *yaml.Node) {
				if id, ok := d.Scalar(n, "aliases"); ok {
					r.Aliases[alias] = Alias{id, place}
				}
			})
		}
		d.Object(n, "aliases", ks)
	}
}
