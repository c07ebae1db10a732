package intake

import (
	"fmt"
	"regexp"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/folder"
	"spanseal/internal/mapping"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// readJob reads job.yaml into the facts and the mappings.
func (r *reader) readJob() {
	if data := r.folder.Read(folder.Job, table.MaxYAML); data != nil {
		f := source.New(folder.Job, data)
		r.folder.Keep(f)
		r.parseJob(f)
	}
}

// hashLike is the beginning of a SHA-256 that tells one file from another.
var hashLike = regexp.MustCompile(`^[0-9a-f]{8,64}$`)

func (r *reader) parseJob(f *source.File) {
	r.job = f
	d := &strict.Document{File: r.job, List: r.list}
	top := d.Root()
	if top == nil {
		return
	}
	r.mapped = true
	j := &r.facts.Job
	j.Origin = origin(r.job)
	p := &j.Policy
	p.Decision, p.GuardFactor = "simple", quantity.Int(1)
	p.Require = record.Require{Directions: "both", Reflectance: "optional", Wavelengths: map[record.Mode][]int{
		// The pairs of wavelengths at which IEC 61280-4-1 and -4-2 have installed
		// links measured (from memory); the job may ask for others.
		record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300},
	}}
	j.Documents = record.Documents{Paper: "A4", Language: "en"}

	d.Object(top, folder.Job, strict.Keys{
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
			"warranty":   strict.Opt(d.Within("warranty", strict.Keys{"months": strict.Must(d.Count("warranty.months", 1, 1200, &j.WarrantyMonths))})),
			"stage":      strict.Opt(d.Text("job.stage", &j.Stage)),
			"witness":    strict.Opt(d.Text("job.witness", &j.Witness)),
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
		"judge": strict.Must(d.Within("judge", policyKeys(d, p))),
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
				d.Fault(n, "link-and-links", "the answer has both link and links", "", "name all of them under links")
			case one != "":
				v.Links = []string{one}
			}
			j.Answers = append(j.Answers, v)
		})),
		"sign": strict.Opt(d.Within("sign", strict.Keys{
			"key": strict.Opt(d.Text("sign.key", &j.Sign.Key)),
			"as":  strict.Opt(d.Text("sign.as", &j.Sign.As)),

			"timestamp_url": strict.Opt(d.Text("sign.timestamp_url", &j.Sign.TimestampURL)),
			"timestamp":     strict.Opt(strict.OneOf(d, "sign.timestamp", &j.Sign.Timestamp, "required", "when-reachable")),
		})),
		"documents": strict.Opt(d.Within("documents", strict.Keys{
			"paper":     strict.Opt(strict.OneOf(d, "documents.paper", &j.Documents.Paper, "A4", "letter")),
			"language":  strict.Opt(d.Text("documents.language", &j.Documents.Language)),
			"check_url": strict.Opt(d.Text("documents.check_url", &j.Documents.CheckURL)),
		})),
		"declared": strict.Opt(d.Items("declared", func(n *yaml.Node) {
			var v record.Declared
			d.Object(n, "a declaration", strict.Keys{
				"file": strict.Must(d.Text("file", &v.File)),
				"was": strict.Must(func(n *yaml.Node) {
					if d.Text("was", &v.Was)(n); v.Was != "" && !hashLike.MatchString(v.Was) {
						d.Fault(n, "bad-value", fmt.Sprintf("%q is not the beginning of a SHA-256", v.Was), "want eight digits or more, such as 9f86d081", "copy it from the message that says that the file differs")
					}
				}),
				"because": strict.Must(d.Text("because", &v.Because)),
				"by":      strict.Must(d.Text("by", &v.By)),
				"on":      strict.Opt(d.Date("on", &v.On)),
			})
			j.Declared = append(j.Declared, v)
		})),
		"pay":      strict.Opt(d.Within("pay", payKeys(d, &j.Pay))),
		"aliases":  strict.Opt(r.readAliases(d)),
		"schedule": strict.Opt(r.readSchedule(d)),
		"readings": strict.Opt(d.Items("readings", func(n *yaml.Node) { r.readMapping(d, n) })),
	})
	for i, v := range j.Declared {
		if _, known := j.Person(v.By); !known && v.By != "" {
			r.list.Add(diag.Problem{Code: "unknown-person", Place: PlaceOf(r.job, fmt.Sprintf("declared.%d.by", i)),
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
		r.list.Add(diag.Problem{Code: "unknown-person", Place: PlaceOf(r.job, "sign.as"),
			Message: fmt.Sprintf("%q is not the id of a person of this job", j.Sign.As), Want: want})
	}
}

func idTwice(d *strict.Document, n *yaml.Node, what, id string) {
	d.Fault(n, "duplicate-id", fmt.Sprintf("%s %q is listed twice", what, id), "", "give each its own id, or remove one")
}

func readParty(d *strict.Document, what string, p *record.Party) func(*yaml.Node) {
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

func policyKeys(d *strict.Document, p *record.Policy) strict.Keys {
	wavelengths := func(m record.Mode) strict.Key {
		return strict.Opt(func(n *yaml.Node) {
			var list []int
			d.Items("wavelengths_nm", func(n *yaml.Node) {
				var v int
				d.Count("wavelength", field.MinWavelength, field.MaxWavelength, &v)(n)
				list = append(list, v)
			})(n)
			p.Require.Wavelengths[m] = list
		})
	}
	decimal := func(to **quantity.Decimal) func(quantity.Decimal) {
		return func(v quantity.Decimal) { *to = &v }
	}
	return strict.Keys{
		"limits":           strict.Must(d.Texts("judge.limits", &p.Limits)),
		"reference":        strict.Must(strict.OneOf(d, "judge.reference", &p.Reference, record.OneCord, record.TwoCord, record.ThreeCord)),
		"test_cords":       strict.Must(strict.OneOf(d, "judge.test_cords", &p.TestCords, record.StandardCords, record.ReferenceCords)),
		"decision":         strict.Opt(strict.OneOf(d, "judge.decision", &p.Decision, "simple", "guarded")),
		"guard_factor":     strict.Opt(d.Number("guard_factor", 0, 10, func(v quantity.Decimal) { p.GuardFactor = v })),
		"retest_change_db": strict.Opt(d.Number("retest_change_db", 0, 10, decimal(&p.RetestChange))),
		"marginal_db":      strict.Opt(d.Number("marginal_db", 0, 10, decimal(&p.Marginal))),
		"uncertainty_db":   strict.Opt(d.Number("uncertainty_db", 0, 10, decimal(&p.Uncertainty))),
		"require": strict.Opt(d.Within("judge.require", strict.Keys{
			"wavelengths_nm": strict.Opt(d.Within("wavelengths_nm", strict.Keys{
				"singlemode": wavelengths(record.Singlemode),
				"multimode":  wavelengths(record.Multimode),
			})),
			"directions":  strict.Opt(strict.OneOf(d, "require.directions", &p.Require.Directions, "both", "either")),
			"reflectance": strict.Opt(strict.OneOf(d, "require.reflectance", &p.Require.Reflectance, "optional", "required")),
		})),
		"optional": strict.Opt(d.Items("judge.optional", func(n *yaml.Node) {
			at := d.At(n)
			v := record.Agreed{Origin: record.Origin{File: at.File, Row: at.Line, Column: at.Column}}
			d.Object(n, "an agreement", strict.Keys{
				"set":      strict.Opt(d.Text("set", &v.Set)),
				"limit":    strict.Opt(d.Text("limit", &v.Limit)),
				"quantity": strict.Opt(strict.OneOf(d, "quantity", &v.Quantity, record.SpliceLoss, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss, record.TwoWayAverage)),
				"links":    strict.Opt(d.Texts("links", &v.Links)),
				"by":       strict.Must(d.Text("by", &v.By)),
				"reason":   strict.Must(d.Text("reason", &v.Reason)),
			})
			switch {
			case v.Set == "" && v.Quantity == "":
				d.Fault(n, "missing-key", "the agreement names neither a set nor a quantity", "", "say what need not be measured, such as quantity: splice_loss")
			case v.Limit != "" && v.Set == "":
				d.Fault(n, "missing-key", "the agreement names a limit without its set", "", "add set: and the id of the set")
			}
			p.Optional = append(p.Optional, v)
		})),
		"termination": strict.Opt(d.Within("judge.termination", strict.Keys{
			"estimate_db_at_most": strict.Opt(d.Number("estimate_db_at_most", 0, 10, decimal(&p.EstimateAtMost))),
			"end_face_required":   strict.Opt(d.Yes("end_face_required", &p.EndFaceRequired)),
		})),
		"questions": strict.Opt(func(n *yaml.Node) { readQuestions(d, n, p) }),
	}
}

// readQuestions reads weights and thresholds of evidence checks. Their codes are
// package judge's to know.
func readQuestions(d *strict.Document, n *yaml.Node, p *record.Policy) {
	ks := strict.Keys{}
	if n.Kind == yaml.MappingNode {
		p.Questions = map[string]record.Question{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			code := n.Content[i].Value
			ks[code] = strict.Opt(func(n *yaml.Node) {
				var q record.Question
				d.Object(n, "question "+code, strict.Keys{
					"weight":    strict.Opt(strict.OneOf(d, "weight", &q.Weight, "fatal", "note", "off")),
					"threshold": strict.Opt(d.Number("threshold", -1_000_000, 1_000_000, func(v quantity.Decimal) { q.Threshold = &v })),
				})
				p.Questions[code] = q
			})
		}
	}
	d.Object(n, "judge.questions", ks)
}

// payKeys reads the order's pay items.
func payKeys(d *strict.Document, p *record.Pay) strict.Keys {
	return strict.Keys{
		"currency":          strict.Opt(d.Text("pay.currency", &p.Currency)),
		"retainage_percent": strict.Opt(d.Number("retainage_percent", 0, 100, func(v quantity.Decimal) { p.Retainage = &v })),
		"items": strict.Must(d.Items("pay.items", func(n *yaml.Node) {
			var v record.PayItem
			d.Object(n, "a pay item", strict.Keys{
				"line":  strict.Opt(d.Text("line", &v.Line)),
				"title": strict.Must(d.Text("title", &v.Title)),
				"unit":  strict.Must(strict.OneOf(d, "unit", &v.Unit, record.PayTermination, record.PaySplice, record.PayStrand, record.PayLink, record.PayDrop)),
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
	pay := &r.facts.Job.Pay
	if len(pay.Items) > 0 {
		r.list.Add(diag.Problem{Code: "duplicate-key", Place: PlaceOf(r.job, "pay"), Message: "the pay items stand in job.yaml and in pay.yaml",
			Fix: "keep those of pay.yaml, which is not handed over as evidence, and take pay: out of job.yaml"})
		return
	}
	if top := d.Root(); top != nil {
		d.Object(top, payFile, payKeys(d, pay))
	}
}

func (r *reader) readZone(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		j := &r.facts.Job
		if s, ok := d.Scalar(n, "job.time_zone"); ok {
			if loc := mapping.ZoneNamed(d, n, s); loc != nil {
				j.TimeZone, j.Location = s, loc
				return
			}
		}
		r.zoneSaid = true // a wrong zone need not be called a missing one in every row
	}
}

// readAliases reads the names that the files use for a link's id.
func (r *reader) readAliases(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.MappingNode {
			d.Fault(n, "wrong-type", "aliases is "+strict.KindOf(n)+", not a list of names", `want "name in the file": id in links.csv`, "")
			return
		}
		r.aliases, r.aliasPlace, r.aliasUsed = map[string]string{}, map[string]diag.Place{}, map[string]bool{}
		ks := strict.Keys{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			alias, place := n.Content[i].Value, d.At(n.Content[i])
			ks[alias] = strict.Opt(func(n *yaml.Node) {
				if id, ok := d.Scalar(n, "aliases"); ok {
					r.aliases[alias], r.aliasPlace[alias] = id, place
				}
			})
		}
		d.Object(n, "aliases", ks)
	}
}

// PlaceOf returns where a value of job.yaml stands, by its path: keys joined by
// points, items of lists by number from zero, such as "judge.limits[1]" or
// "documents.language". An empty path, or one that is not there, gives the
// nearest group that is, down to the file as a whole. Whoever acts on a value
// of the facts later than intake can so complain at its place; the file is
// rebuilt from [record.Facts.Originals] by [JobSource].
func PlaceOf(job *source.File, path string) diag.Place { return placesIn(job).of(path) }

// jobPlaces finds the values of job.yaml again.
type jobPlaces struct {
	d   *strict.Document
	top *yaml.Node // nil where there is none
}

func placesIn(job *source.File) (p jobPlaces) {
	if job != nil {
		p.d = &strict.Document{File: job, List: &diag.List{}}
		p.top = p.d.Root()
	}
	return p
}

// of is PlaceOf.
func (p jobPlaces) of(path string) diag.Place {
	place, n := diag.Place{File: folder.Job}, p.top
	if n == nil {
		return place
	}
	for _, step := range strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' }) {
		var next *yaml.Node
		switch n.Kind {
		case yaml.MappingNode:
			for i := 0; i+1 < len(n.Content); i += 2 {
				if n.Content[i].Value == step {
					next = n.Content[i+1]
					break
				}
			}
		case yaml.SequenceNode:
			var i int
			if _, err := fmt.Sscan(step, &i); err == nil && i >= 0 && i < len(n.Content) {
				next = n.Content[i]
			}
		}
		if next == nil {
			break
		}
		n = next
		place = p.d.At(n)
	}
	return place
}

// PlaceOfAnswer is where one link of an answer stands in job.yaml, both counted from
// zero, or with no such link its question.
func PlaceOfAnswer(job *source.File, answer, link int) diag.Place {
	return placesIn(job).ofAnswer(answer, link)
}

func (p jobPlaces) ofAnswer(answer, link int) diag.Place {
	path := fmt.Sprintf("answers[%d]", answer)
	whole := p.of(path)
	if link >= 0 {
		for _, key := range []string{fmt.Sprintf(".links[%d]", link), ".link"} {
			if p := p.of(path + key); p != whole {
				return p
			}
		}
	}
	return p.of(path + ".question")
}

// JobSource returns job.yaml as it was read, or nil.
func JobSource(f *record.Facts) *source.File {
	for _, o := range f.Originals {
		if o.Name == folder.Job {
			return source.New(folder.Job, o.Data)
		}
	}
	return nil
}
