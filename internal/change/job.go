package change

import (
	"slices"
	"strings"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// lists are the lists of things of a job, and what a change of one is called.
var lists = map[string]string{
	"people":      "change.person",
	"instruments": "change.instrument",
	"cables":      "change.cable",
	"trunks":      "change.trunk",
	"pay.items":   "change.item",
	releases:      "change.release",
}

// releases are known by their days.
const releases = "pay.releases"

// name is what a thing is called.
func (t *thing) name() statement.Argument { return called(t.list, t.id) }

func called(list, id string) statement.Argument {
	if day, err := record.ParseDate(id); err == nil && list == releases {
		return statement.Day(day)
	}
	return statement.Name(id)
}

// checks is where the job says something about evidence checks, by code.
const checks = "judge.questions."

// heads compares everything but the links.
func (g *gathering) heads(old, now *head, older bool) error {
	was, hadThings, err := flatten(old.About)
	if err != nil {
		return err
	}
	is, things, err := flatten(now.About)
	if err != nil {
		return err
	}
	was = append(fields{{"number", old.Job}, {"title", old.Title}}, was...)
	is = append(fields{{"number", now.Job}, {"title", now.Title}}, is...)
	g.ways = [2]fields{was.ways(), is.ways()}
	for _, d := range differ(was, is) {
		code, check := strings.CutPrefix(d.name, checks)
		switch {
		case older && was.get(d.name) == nil && !slices.Contains([]string{"invoice", "site.address", "customer.address", "customer.order", "contractor.address", "contractor.licence"}, d.name):
			// the older form does not have it
		case check:
			code, name, _ := strings.Cut(code, ".")
			g.tell(jobPart, "change.check", statement.Word{Group: "check_name", Code: code}, word(name), value(name, d.old), value(name, d.now))
		default:
			g.tell(jobPart, "change.job", word(d.name), value(d.name, d.old), value(d.name, d.now))
		}
	}
	g.things(hadThings, things, older)
	if err := g.sets(old.Sets, now.Sets); err != nil {
		return err
	}
	if !older {
		g.files(old.Files, now.Files)
		g.asked(old.Questions, now.Questions)
	}
	return nil
}

// things compares what stands in lists.
func (g *gathering) things(old, now []thing, older bool) {
	number(old)
	number(now)
	find := func(in []thing, t thing) *thing {
		for i := range in {
			if in[i].list == t.list && in[i].id == t.id {
				return &in[i]
			}
		}
		return nil
	}
	for _, t := range now {
		code, known := lists[t.list]
		was := find(old, t)
		switch {
		case older && t.list != "people" && t.list != "instruments":
		case was == nil && known:
			g.tell(jobPart, code+"-new", t.name())
		case was == nil:
			was = &thing{}
			fallthrough
		default:
			g.thing(t.list, t.id, code, was.fields, t.fields)
		}
	}
	for _, t := range old {
		if find(now, t) == nil {
			if code, known := lists[t.list]; known {
				g.tell(jobPart, code+"-gone", t.name())
			} else {
				g.thing(t.list, t.id, "", t.fields, nil)
			}
		}
	}
}

// thing compares one thing of a list. Of a list that has no codes of its own, such
// as one that a later form adds, it is the job that changed.
func (g *gathering) thing(list, id, code string, old, now fields) {
	for _, d := range differ(old, now) {
		if code != "" {
			g.tell(jobPart, code, called(list, id), word(d.name), value(d.name, d.old, list), value(d.name, d.now, list))
		} else {
			g.tell(jobPart, "change.job", word(list+" "+id+" "+d.name), value(d.name, d.old), value(d.name, d.now))
		}
	}
}

// number tells things of one id in one list apart, such as pay items without a line.
func number(things []thing) {
	seen := map[string]int{}
	for i := range things {
		key := things[i].list + "\x00" + things[i].id
		if seen[key]++; seen[key] > 1 {
			things[i].id += strings.Repeat("'", seen[key]-1)
		}
	}
}

// confirmation is what a set's confirmation says besides its note: "confirmed" has it.
// The edition has a statement of its own.
var confirmation = []string{"edition", "confirmation.code", "confirmation.text", "confirmation.args.by", "confirmation.args.day", "confirmation.args.sha256"}

// sets compares the limit sets that judged.
func (g *gathering) sets(old, now []limitSet) error {
	find := func(in []limitSet, id string) *limitSet {
		for i := range in {
			if in[i].key.ID == id {
				return &in[i]
			}
		}
		return nil
	}
	for _, s := range now {
		was := find(old, s.key.ID)
		if was == nil {
			g.tell(setPart, "change.set-added", statement.Name(s.key.ID))
			continue
		}
		before, _, err := flatten(was.raw)
		if err != nil {
			return err
		}
		after, _, err := flatten(s.raw)
		if err != nil {
			return err
		}
		if was.key.Edition != s.key.Edition {
			g.tell(setPart, "change.set-edition", statement.Name(s.key.ID), statement.Name(was.key.Edition), statement.Name(s.key.Edition))
		}
		for _, d := range differ(before, after, confirmation...) {
			g.tell(setPart, "change.set", statement.Name(s.key.ID), word(d.name), value(d.name, d.old), value(d.name, d.now))
		}
	}
	for _, s := range old {
		if find(now, s.key.ID) == nil {
			g.tell(setPart, "change.set-removed", statement.Name(s.key.ID))
		}
	}
	return nil
}

// files compares the files of readings.
func (g *gathering) files(old, now []inputFile) {
	find := func(in []inputFile, name string) *inputFile {
		for i := range in {
			if in[i].File == name {
				return &in[i]
			}
		}
		return nil
	}
	for _, f := range now {
		switch was := find(old, f.File); {
		case was == nil:
			g.tell(filePart, "change.file-new", statement.Name(f.File))
		case was.SHA256 != f.SHA256:
			g.tell(filePart, "change.file", statement.Name(f.File))
		}
	}
	for _, f := range old {
		if find(now, f.File) == nil {
			g.tell(filePart, "change.file-gone", statement.Name(f.File))
		}
	}
}

// asked compares the questions about the job as a whole.
func (g *gathering) asked(old, now []finding) {
	added, settled := apart(questions(old), questions(now))
	for _, q := range added {
		g.tell(questionPart, "change.asked-new", q)
	}
	for _, q := range settled {
		g.tell(questionPart, "change.asked-settled", q)
	}
	for _, a := range answered(old, now) {
		g.tell(questionPart, "change.asked-"+a.code, a.args...)
	}
}
