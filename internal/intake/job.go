package intake

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

const jobFile = "job.yaml"

// readJob reads job.yaml into the facts and the mappings.
func (r *reader) readJob() {
	if data := r.folder.read(jobFile, maxYAML); data != nil {
		f := source.New(jobFile, data)
		r.folder.keep(f)
		r.parseJob(f)
	}
}

// hashLike is the beginning of a SHA-256 that tells one file from another.
var hashLike = regexp.MustCompile(`^[0-9a-f]{8,64}$`)

func (r *reader) parseJob(f *source.File) {
	r.job = f
	d := &document{file: r.job, list: r.list}
	top := d.root()
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

	d.object(top, jobFile, keys{
		"job": must(d.within("job", keys{
			"number":     must(d.text("job.number", &j.Number)),
			"title":      must(d.text("job.title", &j.Title)),
			"site":       must(d.party("site", &j.Site)),
			"customer":   must(d.party("customer", &j.Customer)),
			"contractor": must(d.party("contractor", &j.Contractor)),
			"invoice":    opt(d.text("job.invoice", &j.Invoice)),
			"completed":  opt(d.date("job.completed", &j.Completed)),
			"deadline":   opt(d.date("job.deadline", &j.Deadline)),
			"time_zone":  opt(r.readZone(d)),
			"warranty":   opt(d.within("warranty", keys{"months": must(d.count("warranty.months", 1, 1200, &j.WarrantyMonths))})),
			"stage":      opt(d.text("job.stage", &j.Stage)),
			"witness":    opt(d.text("job.witness", &j.Witness)),
		})),
		"people": must(d.items("people", func(n *yaml.Node) {
			var v record.Person
			d.object(n, "a person", keys{
				"id":            must(d.text("id", &v.ID)),
				"name":          must(d.text("name", &v.Name)),
				"role":          opt(d.text("role", &v.Role)),
				"qualification": opt(d.text("qualification", &v.Qualification)),
				"valid_until":   opt(d.date("valid_until", &v.ValidUntil)),
			})
			if _, twice := j.Person(v.ID); twice && v.ID != "" {
				d.twice(n, "person", v.ID)
			}
			j.People = append(j.People, v)
		})),
		"instruments": must(d.items("instruments", func(n *yaml.Node) {
			var v record.Instrument
			d.object(n, "an instrument", keys{
				"id":             must(d.text("id", &v.ID)),
				"kind":           must(d.text("kind", &v.Kind)),
				"make":           opt(d.text("make", &v.Make)),
				"model":          opt(d.text("model", &v.Model)),
				"serial":         must(d.text("serial", &v.Serial)),
				"calibrated":     opt(d.date("calibrated", &v.Calibrated)),
				"due":            opt(d.date("due", &v.Due)),
				"uncertainty_db": opt(d.number("uncertainty_db", 0, 10, func(u quantity.Decimal) { v.Uncertainty = &u })),
				"channels":       opt(d.count("channels", 1, 10000, &v.Channels)),
			})
			if _, twice := j.Instrument(v.ID); twice && v.ID != "" {
				d.twice(n, "instrument", v.ID)
			}
			if !v.Due.IsZero() && v.Due.Before(v.Calibrated) {
				d.fault(n, "dates-reversed", fmt.Sprintf("instrument %s was due on %s, before it was calibrated on %s", v.ID, v.Due, v.Calibrated), "", "correct one of the dates")
			}
			j.Instruments = append(j.Instruments, v)
		})),
		"cables": opt(d.items("cables", func(n *yaml.Node) {
			var v record.Cable
			d.object(n, "a cable", keys{
				"id":          must(d.text("id", &v.ID)),
				"description": opt(d.text("description", &v.Description)),
				"reel":        opt(d.text("reel", &v.Reel)),
			})
			if _, twice := j.Cable(v.ID); twice && v.ID != "" {
				d.twice(n, "cable", v.ID)
			}
			j.Cables = append(j.Cables, v)
		})),
		"judge": must(d.within("judge", d.policy(p))),
		"answers": opt(d.items("answers", func(n *yaml.Node) {
			var v record.Answer
			one := ""
			d.object(n, "an answer", keys{
				"question": must(d.text("question", &v.Question)),
				"link":     opt(d.text("link", &one)),
				"links":    opt(d.texts("links", &v.Links)),
				"text":     must(d.text("text", &v.Text)),
				"who":      must(d.text("who", &v.Who)),
				"day":      must(d.date("day", &v.Day)),
			})
			switch {
			case one != "" && v.Links != nil:
				d.fault(n, "link-and-links", "the answer has both link and links", "", "name all of them under links")
			case one != "":
				v.Links = []string{one}
			}
			j.Answers = append(j.Answers, v)
		})),
		"sign": opt(d.within("sign", keys{
			"key": opt(d.text("sign.key", &j.Sign.Key)),
			"as":  opt(d.text("sign.as", &j.Sign.As)),

			"timestamp_url": opt(d.text("sign.timestamp_url", &j.Sign.TimestampURL)),
			"timestamp":     opt(oneOf(d, "sign.timestamp", &j.Sign.Timestamp, "required", "when-reachable")),
		})),
		"documents": opt(d.within("documents", keys{
			"paper":     opt(oneOf(d, "documents.paper", &j.Documents.Paper, "A4", "letter")),
			"language":  opt(d.text("documents.language", &j.Documents.Language)),
			"check_url": opt(d.text("documents.check_url", &j.Documents.CheckURL)),
		})),
		"declared": opt(d.items("declared", func(n *yaml.Node) {
			var v record.Declared
			d.object(n, "a declaration", keys{
				"file": must(d.text("file", &v.File)),
				"was": must(func(n *yaml.Node) {
					if d.text("was", &v.Was)(n); v.Was != "" && !hashLike.MatchString(v.Was) {
						d.fault(n, "bad-value", fmt.Sprintf("%q is not the beginning of a SHA-256", v.Was), "want eight digits or more, such as 9f86d081", "copy it from the message that says that the file differs")
					}
				}),
				"because": must(d.text("because", &v.Because)),
				"by":      must(d.text("by", &v.By)),
				"on":      opt(d.date("on", &v.On)),
			})
			j.Declared = append(j.Declared, v)
		})),
		"pay":      opt(d.within("pay", d.pay(&j.Pay))),
		"aliases":  opt(r.readAliases(d)),
		"schedule": opt(r.readSchedule(d)),
		"readings": opt(d.items("readings", func(n *yaml.Node) { r.readMapping(d, n) })),
	})
	for i, v := range j.Declared {
		if _, known := j.Person(v.By); !known && v.By != "" {
			r.list.Add(diag.Problem{Code: "unknown-person", Place: PlaceOf(r.job, fmt.Sprintf("declared.%d.by", i)),
				Message: fmt.Sprintf("%q is not the id of a person of this job", v.By), Mend: "name one of people, or add the person there"})
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

func (d *document) twice(n *yaml.Node, what, id string) {
	d.fault(n, "duplicate-id", fmt.Sprintf("%s %q is listed twice", what, id), "", "give each its own id, or remove one")
}

func (d *document) party(what string, p *record.Party) func(*yaml.Node) {
	ks := keys{
		"name":    must(d.text(what+".name", &p.Name)),
		"address": opt(d.text(what+".address", &p.Address)),
	}
	switch what {
	case "customer":
		ks["order"] = opt(d.text(what+".order", &p.Order))
	case "contractor":
		ks["licence"] = opt(d.text(what+".licence", &p.Licence))
	}
	return d.within(what, ks)
}

func (d *document) policy(p *record.Policy) keys {
	wavelengths := func(m record.Mode) key {
		return opt(func(n *yaml.Node) {
			var list []int
			d.items("wavelengths_nm", func(n *yaml.Node) {
				var v int
				d.count("wavelength", minWavelength, maxWavelength, &v)(n)
				list = append(list, v)
			})(n)
			p.Require.Wavelengths[m] = list
		})
	}
	decimal := func(to **quantity.Decimal) func(quantity.Decimal) {
		return func(v quantity.Decimal) { *to = &v }
	}
	return keys{
		"limits":           must(d.texts("judge.limits", &p.Limits)),
		"reference":        must(oneOf(d, "judge.reference", &p.Reference, record.OneCord, record.TwoCord, record.ThreeCord)),
		"test_cords":       must(oneOf(d, "judge.test_cords", &p.TestCords, record.StandardCords, record.ReferenceCords)),
		"decision":         opt(oneOf(d, "judge.decision", &p.Decision, "simple", "guarded")),
		"guard_factor":     opt(d.number("guard_factor", 0, 10, func(v quantity.Decimal) { p.GuardFactor = v })),
		"retest_change_db": opt(d.number("retest_change_db", 0, 10, decimal(&p.RetestChange))),
		"marginal_db":      opt(d.number("marginal_db", 0, 10, decimal(&p.Marginal))),
		"uncertainty_db":   opt(d.number("uncertainty_db", 0, 10, decimal(&p.Uncertainty))),
		"require": opt(d.within("judge.require", keys{
			"wavelengths_nm": opt(d.within("wavelengths_nm", keys{
				"singlemode": wavelengths(record.Singlemode),
				"multimode":  wavelengths(record.Multimode),
			})),
			"directions":  opt(oneOf(d, "require.directions", &p.Require.Directions, "both", "either")),
			"reflectance": opt(oneOf(d, "require.reflectance", &p.Require.Reflectance, "optional", "required")),
		})),
		"optional": opt(d.items("judge.optional", func(n *yaml.Node) {
			at := d.at(n)
			v := record.Agreed{Origin: record.Origin{File: at.File, Row: at.Line, Column: at.Column}}
			d.object(n, "an agreement", keys{
				"set":      opt(d.text("set", &v.Set)),
				"limit":    opt(d.text("limit", &v.Limit)),
				"quantity": opt(oneOf(d, "quantity", &v.Quantity, record.SpliceLoss, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss, record.TwoWayAverage)),
				"links":    opt(d.texts("links", &v.Links)),
				"by":       must(d.text("by", &v.By)),
				"reason":   must(d.text("reason", &v.Reason)),
			})
			switch {
			case v.Set == "" && v.Quantity == "":
				d.fault(n, "missing-key", "the agreement names neither a set nor a quantity", "", "say what need not be measured, such as quantity: splice_loss")
			case v.Limit != "" && v.Set == "":
				d.fault(n, "missing-key", "the agreement names a limit without its set", "", "add set: and the id of the set")
			}
			p.Optional = append(p.Optional, v)
		})),
		"termination": opt(d.within("judge.termination", keys{
			"estimate_db_at_most": opt(d.number("estimate_db_at_most", 0, 10, decimal(&p.EstimateAtMost))),
			"end_face_required":   opt(d.yes("end_face_required", &p.EndFaceRequired)),
		})),
		"questions": opt(func(n *yaml.Node) { d.questions(n, p) }),
	}
}

// questions reads weights and thresholds of evidence checks. Their codes are
// package judge's to know.
func (d *document) questions(n *yaml.Node, p *record.Policy) {
	ks := keys{}
	if n.Kind == yaml.MappingNode {
		p.Questions = map[string]record.Question{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			code := n.Content[i].Value
			ks[code] = opt(func(n *yaml.Node) {
				var q record.Question
				d.object(n, "question "+code, keys{
					"weight":    opt(oneOf(d, "weight", &q.Weight, "fatal", "note", "off")),
					"threshold": opt(d.number("threshold", -1_000_000, 1_000_000, func(v quantity.Decimal) { q.Threshold = &v })),
				})
				p.Questions[code] = q
			})
		}
	}
	d.object(n, "judge.questions", ks)
}

// pay reads the order's pay items.
func (d *document) pay(p *record.Pay) keys {
	return keys{
		"currency":          opt(d.text("pay.currency", &p.Currency)),
		"retainage_percent": opt(d.number("retainage_percent", 0, 100, func(v quantity.Decimal) { p.Retainage = &v })),
		"items": must(d.items("pay.items", func(n *yaml.Node) {
			var v record.PayItem
			d.object(n, "a pay item", keys{
				"line":  opt(d.text("line", &v.Line)),
				"title": must(d.text("title", &v.Title)),
				"unit":  must(oneOf(d, "unit", &v.Unit, record.PayTermination, record.PaySplice, record.PayStrand, record.PayLink, record.PayDrop)),
				"fibre": opt(d.text("fibre", &v.Fibre)),
				"cable": opt(d.text("cable", &v.Cable)),
				"rate":  opt(d.number("rate", 0, 1_000_000_000, func(r quantity.Decimal) { v.Rate = &r })),
			})
			if v.Rate != nil && p.Currency == "" {
				d.fault(n, "missing-key", "a rate needs a currency", "", "add currency to pay, above items, such as currency: EUR")
			}
			p.Items = append(p.Items, v)
		})),
	}
}

// payFile may hold what stands under pay in job.yaml. It is no evidence: who gets
// the set does not get it.
const payFile = "pay.yaml"

func (r *reader) readPay() {
	if !r.folder.exists(payFile) {
		return
	}
	data := r.folder.read(payFile, maxYAML)
	if data == nil {
		return
	}
	d := &document{file: source.New(payFile, data), list: r.list}
	pay := &r.facts.Job.Pay
	if len(pay.Items) > 0 {
		r.list.Add(diag.Problem{Code: "duplicate-key", Place: PlaceOf(r.job, "pay"), Message: "the pay items stand in job.yaml and in pay.yaml",
			Mend: "keep those of pay.yaml, which is not handed over as evidence, and take pay: out of job.yaml"})
		return
	}
	if top := d.root(); top != nil {
		d.object(top, payFile, d.pay(pay))
	}
}

func (r *reader) readZone(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		j := &r.facts.Job
		if s, ok := d.scalar(n, "job.time_zone"); ok {
			if loc := d.location(n, s); loc != nil {
				j.TimeZone, j.Location = s, loc
				return
			}
		}
		r.zoneSaid = true // a wrong zone need not be called a missing one in every row
	}
}

// location reads a zone's name of the time zone database, or a fixed offset.
func (d *document) location(n *yaml.Node, s string) *time.Location {
	if off, rest, ok := offset(s); ok && rest == "" {
		return time.FixedZone(s, off)
	}
	// "Local" and "" would make the result depend on the machine.
	loc, err := time.LoadLocation(s)
	if err != nil || s == "" || strings.EqualFold(s, "local") {
		d.fault(n, "unknown-time-zone", fmt.Sprintf("%q is not a time zone", s), "want a name such as Europe/Dublin or America/Chicago, or an offset such as +01:00", "")
		return nil
	}
	return loc
}

// readAliases reads the names that the files use for a link's id.
func (r *reader) readAliases(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.MappingNode {
			d.fault(n, "wrong-type", "aliases is "+kindOf(n)+", not a list of names", `want "name in the file": id in links.csv`, "")
			return
		}
		r.aliases, r.aliasPlace, r.aliasUsed = map[string]string{}, map[string]diag.Place{}, map[string]bool{}
		ks := keys{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			alias, place := n.Content[i].Value, d.at(n.Content[i])
			ks[alias] = opt(func(n *yaml.Node) {
				if id, ok := d.scalar(n, "aliases"); ok {
					r.aliases[alias], r.aliasPlace[alias] = id, place
				}
			})
		}
		d.object(n, "aliases", ks)
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
	d   *document
	top *yaml.Node // nil where there is none
}

func placesIn(job *source.File) (p jobPlaces) {
	if job != nil {
		p.d = &document{file: job, list: &diag.List{}}
		p.top = p.d.root()
	}
	return p
}

// of is PlaceOf.
func (p jobPlaces) of(path string) diag.Place {
	place, n := diag.Place{File: jobFile}, p.top
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
		place = p.d.at(n)
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
		if o.Name == jobFile {
			return source.New(jobFile, o.Data)
		}
	}
	return nil
}
