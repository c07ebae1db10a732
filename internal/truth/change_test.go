package truth

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"math/big"
	"reflect"
	"slices"
	"strings"
	"time"
)

// between is two revisions that follow each other: their inputs, and what was issued.
type between struct {
	was, now     *job
	wasIs, nowIs *issued
}

// plainValue is an argument of any type as a plain text, without its unit: a name,
// a number, a day, a moment as the files write it. What is not given is "".
func (b *between) plainValue(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
	case string:
		return v
	case map[string]any:
		for _, name := range []string{"number", "count", "nm", "day", "word", "text"} {
			if v[name] != nil {
				return fmt.Sprint(v[name])
			}
		}
		if m, ok := v["moment"].(string); ok {
			if t, err := time.Parse(time.RFC3339, m); err == nil {
				return t.Format("2006-01-02 15:04")
			}
			return m
		}
		if l := list(v["list"]); l != nil {
			var out []string
			for _, one := range l {
				out = append(out, b.plainValue(one))
			}
			return strings.Join(out, " ")
		}
	}
	return fmt.Sprint(v)
}

// withoutIssue are results without what differs from one revision to the next in any
// case.
func withoutIssue(results map[string]any) map[string]any {
	out := maps.Clone(results)
	delete(out, "revision")
	delete(out, "issued")
	return out
}

// shows reports whether a value is what a reading has: its number, or the text.
func (b *between) shows(v any, r *reading) bool {
	if r.Shown != "" {
		return b.plainValue(v) == r.Shown
	}
	return alike(b.plainValue(v), r.Value)
}

// confirmed is who confirmed a set and when, or "".
func (j *job) confirmed(id string) (by string) {
	for _, c := range j.Confirmed {
		if c.Set == id && !c.Other {
			by = c.By + ", " + c.On
		}
	}
	return by
}

func (j *job) item(id string) *item {
	for i := range j.Items {
		if it := &j.Items[i]; it.Line == id || it.Line == "" && it.Title == id {
			return it
		}
	}
	return nil
}

// answers checks the answers to a question, then and now; each is the name of an
// argument, or "" where there is none.
func (b *between) answers(s *said, was, now string) error {
	q, _ := s.Args["question"].(map[string]any)
	key := fmt.Sprint(q["code"], q["args"])
	one := func(j *job, is *issued, id, arg string) error {
		findings := list(is.results["questions"])
		if id != "" {
			findings = list(is.links[id]["findings"])
		}
		for _, raw := range findings {
			f := raw.(map[string]any)
			if m, _ := f["question"].(map[string]any); m == nil || fmt.Sprint(m["code"], m["args"]) != key {
				continue
			}
			a := j.answerTo(j.link(id), f)
			if arg == "" {
				return isSo(a == nil)
			}
			said, _ := s.Args[arg].(map[string]any)
			args, _ := said["args"].(map[string]any)
			return isSo(a != nil && args["text"] == a.Text && args["person"] == j.nameOf(a.Who) && args["day"] == a.Day)
		}
		return isSo(arg == "") // not asked, and so not answered
	}
	check := func(id string) error {
		return errors.Join(one(b.was, b.wasIs, id, was), one(b.now, b.nowIs, id, now))
	}
	if s.Args["links"] == nil {
		return check("")
	}
	return each(s, check)
}

// alike compares a value of a statement with one of the model.
func alike(said, model string) bool {
	if said == model {
		return true
	}
	if said == "" || model == "" {
		return false
	}
	x, ok := new(big.Rat).SetString(said)
	y, both := new(big.Rat).SetString(model)
	return ok && both && same(x, y)
}

// fromTo checks old and new values against the models.
func (b *between) fromTo(s *said, was, now string) error {
	old, new := b.plainValue(s.Args["old"]), b.plainValue(s.Args["new"])
	if !alike(old, was) || !alike(new, now) || alike(was, now) {
		return untrue("it is %q → %q", was, now)
	}
	return nil
}

// fieldOf is a field of a model's struct by the name that a statement has for it.
func fieldOf(v any, fields map[string]string, name string) (string, error) {
	f, ok := fields[name]
	if !ok {
		return "", untrue("no field %q is compared", name)
	}
	x := reflect.ValueOf(v).Elem().FieldByName(f)
	switch x.Kind() {
	case reflect.Slice:
		return strings.Join(x.Interface().([]string), " "), nil
	case reflect.Bool:
		return map[bool]string{true: "yes", false: "no"}[x.Bool()], nil
	}
	return fmt.Sprint(x.Interface()), nil
}

var (
	jobFields        = map[string]string{"pay_currency": "Currency", "pay_retainage_percent": "Retainage", "pay_billed": "Billed", "pay_period_from": "From", "pay_period_to": "To", "title": "Title", "customer_order": "Order", "invoice": "Invoice", "stage": "Stage", "uncertainty_db": "U", "marginal_db": "Marginal", "limits": "Limits"}
	personFields     = map[string]string{"name": "Name", "role": "Role", "valid_until": "Until"}
	instrumentFields = map[string]string{"kind": "Kind", "serial": "Serial", "calibrated": "Calibrated", "due": "Due", "uncertainty_db": "U"}
	itemFields       = map[string]string{"line": "Line", "title": "Title", "unit": "Unit", "fibre": "Fibre", "cable": "Cable", "rate": "Rate", "retroactive": "Retro"}
	releaseFields    = map[string]string{"percent": "Percent", "amount": "Amount", "reason": "Reason"}
	cableFields      = map[string]string{"description": "Description", "reel": "Reel"}
	linkFields       = map[string]string{"cable": "Cable", "strand": "Strand", "from": "From", "to": "To", "fibre": "Fibre", "length_m": "Length", "mated_pairs": "Pairs", "splices": "Splices", "end_a_text": "EndA", "end_b_text": "EndB", "reference": "Ref"}
	lookFields       = map[string]string{"criterion": "Criterion", "edition": "Edition", "cleaning": "Cleaning", "result": "Result", "person": "Person", "time": "Time"}
	madeFields       = map[string]string{"kind": "Kind", "estimate_db": "Estimate", "end_face": "Face", "person": "Person", "finished": "Finished", "lot": "Lot", "closure": "Closure", "tray": "Tray", "shut": "Shut"}
)

func (b *between) field(s *said, was, now any, fields map[string]string) error {
	if reflect.ValueOf(was).IsNil() || reflect.ValueOf(now).IsNil() {
		return untrue("it is not there")
	}
	x, err := fieldOf(was, fields, s.text("field"))
	y, err2 := fieldOf(now, fields, s.text("field"))
	if err := errors.Join(err, err2); err != nil {
		return err
	}
	return b.fromTo(s, strings.ReplaceAll(x, " ", sep(s)), strings.ReplaceAll(y, " ", sep(s)))
}

// sep is what parts the words of a code.
func sep(s *said) string {
	if s.text("field") == "end_face" {
		return "_"
	}
	return " "
}

func (j *job) release(day string) *release {
	for i := range j.Releases {
		if j.Releases[i].Day == day {
			return &j.Releases[i]
		}
	}
	return nil
}

func (j *job) cable(id string) *cable {
	for i := range j.Cables {
		if j.Cables[i].ID == id {
			return &j.Cables[i]
		}
	}
	return nil
}

// each asks the same of every link that a statement names. Where it names the
// first of many, of these.
func each(s *said, so func(id string) error) error {
	first, _ := names(s.Args["links"])
	if len(first) == 0 {
		return untrue("no link is named")
	}
	for _, id := range first {
		if err := so(id); err != nil {
			return fmt.Errorf("%s: %w", id, err)
		}
	}
	return nil
}

// subjects are the readings that a statement is of: quantity, wavelength, way, event.
func subjects(v any) (out []string) {
	m, _ := v.(map[string]any)
	if l := list(m["list"]); l != nil {
		for _, one := range l {
			out = append(out, subjects(one)...)
		}
		return out
	}
	nm, key := 0, [3]string{}
	for _, p := range list(m["phrase"]) {
		switch p := p.(type) {
		case string:
			key[2] = p
		case map[string]any:
			if p["nm"] != nil {
				nm = wholeOf(p["nm"])
			}
			switch p["group"] {
			case "quantity":
				key[0] = p["word"].(string)
			case "way":
				key[1] = p["word"].(string)
			}
		}
	}
	return []string{fmt.Sprint(key[0], nm, key[1], key[2])}
}

// of finds the reading of a subject that counts.
func (j *job) of(id, subject string) *reading {
	return find(j.counting(id), func(r *reading) bool { return r.of() == subject })
}

// readings asks the same of each reading that a statement is of, then and now.
func (b *between) readings(s *said, so func(was, now *reading) error) error {
	return each(s, func(id string) error {
		all := subjects(s.Args["of"])
		if len(all) == 0 {
			return untrue("no reading is named")
		}
		for _, subject := range all {
			if err := so(b.was.of(id, subject), b.now.of(id, subject)); err != nil {
				return fmt.Errorf("%s: %w", subject, err)
			}
		}
		return nil
	})
}

// eachOf asks the same of each reading that the parts of a statement are of: several of one
// quantity, each of them once.
func (b *between) eachOf(s *said, name, code string, so func(part *said, was, now *reading) error) error {
	return each(s, func(id string) error {
		parts, seen := list(s.Args[name]), map[string]bool{}
		for _, raw := range parts {
			m, _ := raw.(map[string]any)
			args, _ := m["args"].(map[string]any)
			part := &said{Code: code, Args: args}
			of := subjects(part.Args["of"])
			if m["code"] != code || len(of) != 1 {
				return untrue("%v is no part", raw)
			}
			subject := s.text("quantity") + of[0]
			if seen[subject] {
				return untrue("%s stands there twice", subject)
			}
			seen[subject] = true
			if err := so(part, b.was.of(id, subject), b.now.of(id, subject)); err != nil {
				return fmt.Errorf("%s: %w", subject, err)
			}
		}
		return is(len(parts) > 1)
	})
}

func both(was, now *reading) error {
	if was == nil || now == nil {
		return untrue("there is no such reading")
	}
	return nil
}

// endOf is the end that a termination is at, and the how manieth it is there.
func endOf(v any) (end string, n int) {
	m, _ := v.(map[string]any)
	n = 1
	for _, p := range list(m["phrase"]) {
		if p, ok := p.(map[string]any); ok {
			if w, ok := p["word"].(string); ok {
				end = w
			}
			if p["count"] != nil {
				n = wholeOf(p["count"])
			}
		}
	}
	return end, n
}

// asks are the questions of a link, or of the job, as results have them.
func asks(findings []any) (out []string) {
	for _, f := range findings {
		if q, _ := f.(map[string]any)["question"].(map[string]any); q != nil {
			out = append(out, fmt.Sprint(q["code"], q["args"]))
		}
	}
	return out
}

func (b *between) asked(s *said, id string, added bool) error {
	q, _ := s.Args["question"].(map[string]any)
	key := fmt.Sprint(q["code"], q["args"])
	findings := func(is *issued) []any {
		if id == "" {
			return list(is.results["questions"])
		}
		return list(is.links[id]["findings"])
	}
	was, now := slices.Contains(asks(findings(b.wasIs)), key), slices.Contains(asks(findings(b.nowIs)), key)
	return is(was != added && now == added)
}

func (s *said) listed(was, now bool, gone bool) error { return is(was == gone && now != gone) }

func (j *job) hasFile(name string) bool { return slices.Contains(j.Files, name) }

// setIn finds a set among those that results list.
func setIn(is *issued, id string) map[string]any {
	for _, s := range list(is.results["sets"]) {
		if s := s.(map[string]any); s["id"] == id {
			return s
		}
	}
	return nil
}

var changes map[string]func(b *between, s *said) error

func init() { changes = changeCheckers() }

func changeCheckers() map[string]func(b *between, s *said) error {
	type check = func(b *between, s *said) error
	return map[string]check{
		"change.none": func(b *between, s *said) error {
			return is(reflect.DeepEqual(b.was, b.now) || reflect.DeepEqual(withoutIssue(b.wasIs.results), withoutIssue(b.nowIs.results)))
		},
		"change.job": func(b *between, s *said) error {
			return b.field(s, b.was, b.now, jobFields)
		},
		"change.person": func(b *between, s *said) error {
			return b.field(s, b.was.person(s.text("id")), b.now.person(s.text("id")), personFields)
		},
		"change.person-new": func(b *between, s *said) error {
			return s.listed(b.was.person(s.text("id")) != nil, b.now.person(s.text("id")) != nil, false)
		},
		"change.person-gone": func(b *between, s *said) error {
			return s.listed(b.was.person(s.text("id")) != nil, b.now.person(s.text("id")) != nil, true)
		},
		"change.instrument": func(b *between, s *said) error {
			return b.field(s, b.was.instrument(s.text("id")), b.now.instrument(s.text("id")), instrumentFields)
		},
		"change.instrument-new": func(b *between, s *said) error {
			return s.listed(b.was.instrument(s.text("id")) != nil, b.now.instrument(s.text("id")) != nil, false)
		},
		"change.instrument-gone": func(b *between, s *said) error {
			return s.listed(b.was.instrument(s.text("id")) != nil, b.now.instrument(s.text("id")) != nil, true)
		},
		"change.trunk":      func(b *between, s *said) error { return is(len(b.was.Trunks) > 0 && s.text("id") == "T1") },
		"change.trunk-new":  func(b *between, s *said) error { return is(len(b.was.Trunks) == 0 && len(b.now.Trunks) > 0) },
		"change.trunk-gone": func(b *between, s *said) error { return is(len(b.was.Trunks) > 0 && len(b.now.Trunks) == 0) },
		"change.cable": func(b *between, s *said) error {
			return b.field(s, b.was.cable(s.text("id")), b.now.cable(s.text("id")), cableFields)
		},
		"change.cable-new": func(b *between, s *said) error {
			return s.listed(b.was.cable(s.text("id")) != nil, b.now.cable(s.text("id")) != nil, false)
		},
		"change.cable-gone": func(b *between, s *said) error {
			return s.listed(b.was.cable(s.text("id")) != nil, b.now.cable(s.text("id")) != nil, true)
		},
		"change.item": func(b *between, s *said) error {
			return b.field(s, b.was.item(s.text("id")), b.now.item(s.text("id")), itemFields)
		},
		"change.item-new": func(b *between, s *said) error {
			return s.listed(b.was.item(s.text("id")) != nil, b.now.item(s.text("id")) != nil, false)
		},
		"change.item-gone": func(b *between, s *said) error {
			return s.listed(b.was.item(s.text("id")) != nil, b.now.item(s.text("id")) != nil, true)
		},
		"change.release": func(b *between, s *said) error {
			return b.field(s, b.was.release(s.text("day")), b.now.release(s.text("day")), releaseFields)
		},
		"change.release-new": func(b *between, s *said) error {
			return s.listed(b.was.release(s.text("day")) != nil, b.now.release(s.text("day")) != nil, false)
		},
		"change.release-gone": func(b *between, s *said) error {
			return s.listed(b.was.release(s.text("day")) != nil, b.now.release(s.text("day")) != nil, true)
		},
		"change.answer":            func(b *between, s *said) error { return b.answers(s, "old", "new") },
		"change.answer-new":        func(b *between, s *said) error { return b.answers(s, "", "answer") },
		"change.answer-gone":       func(b *between, s *said) error { return b.answers(s, "answer", "") },
		"change.asked-answer":      func(b *between, s *said) error { return b.answers(s, "old", "new") },
		"change.asked-answer-new":  func(b *between, s *said) error { return b.answers(s, "", "answer") },
		"change.asked-answer-gone": func(b *between, s *said) error { return b.answers(s, "answer", "") },
		"change.check": func(b *between, s *said) error {
			of := func(j *job) string {
				q := j.Questions[s.text("check")]
				return map[string]string{"weight": q.Weight, "threshold": q.Threshold}[s.text("field")]
			}
			return b.fromTo(s, of(b.was), of(b.now))
		},
		"change.set-added": func(b *between, s *said) error {
			return s.listed(setIn(b.wasIs, s.text("set")) != nil, setIn(b.nowIs, s.text("set")) != nil, false)
		},
		"change.set-removed": func(b *between, s *said) error {
			return s.listed(setIn(b.wasIs, s.text("set")) != nil, setIn(b.nowIs, s.text("set")) != nil, true)
		},
		"change.set-edition": func(b *between, s *said) error {
			was, now := b.was.set(s.text("set")), b.now.set(s.text("set"))
			return is(was != nil && now != nil && was.Edition == s.text("old") && now.Edition == s.text("new") && was.Edition != now.Edition)
		},
		"change.set": func(b *between, s *said) error {
			was, now := b.was.set(s.text("set")), b.now.set(s.text("set"))
			old, new := b.plainValue(s.Args["old"]), b.plainValue(s.Args["new"])
			if was == nil || now == nil || old == new {
				return errNot
			}
			switch s.text("field") {
			case "low_count":
				return is(fmt.Sprint(setIn(b.wasIs, was.ID)["low_count"]) == old && fmt.Sprint(setIn(b.nowIs, now.ID)["low_count"]) == new)
			case "confirmed":
				return is(b.was.confirmed(was.ID) == old && b.now.confirmed(now.ID) == new)
			case "sha256":
				return is(digest(was.yaml()) == old && digest(now.yaml()) == new)
			}
			return untrue("no field %q is compared", s.text("field"))
		},
		"change.file": func(b *between, s *said) error {
			return is(b.was.content(s.text("file")) != b.now.content(s.text("file")) && b.was.hasFile(s.text("file")) && b.now.hasFile(s.text("file")))
		},
		"change.file-new": func(b *between, s *said) error {
			return s.listed(b.was.hasFile(s.text("file")), b.now.hasFile(s.text("file")), false)
		},
		"change.file-gone": func(b *between, s *said) error {
			return s.listed(b.was.hasFile(s.text("file")), b.now.hasFile(s.text("file")), true)
		},
		"change.order": func(b *between, s *said) error {
			order := func(j, other *job) (out []string) {
				for _, l := range j.Links {
					if other.link(l.ID) != nil {
						out = append(out, l.ID)
					}
				}
				return out
			}
			return is(!slices.Equal(order(b.was, b.now), order(b.now, b.was)))
		},
		"change.link-new": func(b *between, s *said) error {
			return each(s, func(id string) error {
				return is(b.was.link(id) == nil && b.now.link(id) != nil && b.nowIs.links[id]["verdict"] == s.text("verdict"))
			})
		},
		"change.link-gone": func(b *between, s *said) error {
			return each(s, func(id string) error {
				return is(b.was.link(id) != nil && b.now.link(id) == nil && b.wasIs.links[id]["verdict"] == s.text("verdict"))
			})
		},
		"change.verdict": func(b *between, s *said) error {
			return each(s, func(id string) error {
				return is(b.wasIs.links[id]["verdict"] == s.text("old") && b.nowIs.links[id]["verdict"] == s.text("new") && s.text("old") != s.text("new"))
			})
		},
		"change.link": func(b *between, s *said) error {
			return each(s, func(id string) error { return b.field(s, b.was.link(id), b.now.link(id), linkFields) })
		},
		"change.termination": func(b *between, s *said) error {
			end, n := endOf(s.Args["of"])
			return each(s, func(id string) error {
				was, now := b.was.terminationsAt(&link{ID: id}, end), b.now.terminationsAt(&link{ID: id}, end)
				if len(was) < n || len(now) < n {
					return errNot
				}
				return b.field(s, was[n-1], now[n-1], madeFields)
			})
		},
		"change.inspection": func(b *between, s *said) error {
			end, n := endOf(s.Args["of"])
			return each(s, func(id string) error {
				was, now := b.was.looksAt(id, end), b.now.looksAt(id, end)
				if len(was) < n || len(now) < n {
					return errNot
				}
				return b.field(s, was[n-1], now[n-1], lookFields)
			})
		},
		"change.inspection-new":   looksOf(1),
		"change.inspection-gone":  looksOf(-1),
		"change.termination-new":  countOf(1),
		"change.termination-gone": countOf(-1),
		"change.reading": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				if err := both(was, now); err != nil {
					return err
				}
				at := b.now.row(s.Args["from"])
				if at == nil || at.of() != now.of() || at.Link != now.Link || !same(rat(at.Value), rat(now.Value)) {
					return untrue("it stands in %s row %d", now.File, now.Row)
				}
				if !b.shows(s.Args["old"], was) || !b.shows(s.Args["new"], now) || was.Shown == now.Shown && same(rat(was.Value), rat(now.Value)) {
					return untrue("it is %s%s → %s%s", was.Value, was.Shown, now.Value, now.Shown)
				}
				return nil
			})
		},
		"change.origin": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				return errors.Join(both(was, now), is(was != nil && now != nil && same(rat(was.Value), rat(now.Value)) && was.File == s.text("old") && now.File == s.text("new") && was.File != now.File))
			})
		},
		"change.row": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				x, y := b.was.row(s.Args["old"]), b.now.row(s.Args["new"])
				return is(was != nil && now != nil && x != nil && y != nil && same(rat(was.Value), rat(now.Value)) && x.of() == was.of() && y.of() == now.of() && x.Row != y.Row && x.Link == was.Link && y.Link == now.Link)
			})
		},
		"change.rows": func(b *between, s *said) error {
			n, of := s.amount("links")
			moved := map[string]bool{}
			for _, l := range b.now.Links {
				for _, r := range b.now.counting(l.ID) {
					if was := b.was.of(l.ID, r.of()); was != nil && r.File == s.text("file") && was.File == r.File && was.Row != r.Row && same(rat(was.Value), rat(r.Value)) {
						moved[l.ID] = true
					}
				}
			}
			return is(of == "link" && n == len(moved))
		},
		"change.readings-changed": func(b *between, s *said) error {
			return b.eachOf(s, "changes", "value.step", func(part *said, was, now *reading) error {
				if err := both(was, now); err != nil {
					return err
				}
				if now.File != s.text("file") {
					return untrue("it is in %s", now.File)
				}
				if !b.shows(part.Args["old"], was) || !b.shows(part.Args["new"], now) || was.Shown == now.Shown && same(rat(was.Value), rat(now.Value)) {
					return untrue("it is %s%s → %s%s", was.Value, was.Shown, now.Value, now.Shown)
				}
				return nil
			})
		},
		"change.readings-new": func(b *between, s *said) error {
			return b.eachOf(s, "readings", "value.read", func(part *said, was, now *reading) error {
				return is(was == nil && now != nil && b.shows(part.Args["value"], now))
			})
		},
		"change.readings-gone": func(b *between, s *said) error {
			return b.eachOf(s, "readings", "value.read", func(part *said, was, now *reading) error {
				return is(now == nil && was != nil && b.shows(part.Args["value"], was))
			})
		},
		"change.reading-new": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				return is(was == nil && now != nil && b.shows(s.Args["new"], now))
			})
		},
		"change.reading-gone": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				return is(now == nil && was != nil && b.shows(s.Args["old"], was))
			})
		},
		"change.reading-field": func(b *between, s *said) error {
			return b.readings(s, func(was, now *reading) error {
				if s.text("field") == "reference" { // of the reading, its link or the job
					return b.fromTo(s, b.was.reference(b.was.link(was.Link), was.NM), b.now.reference(b.now.link(now.Link), now.NM))
				}
				return b.field(s, was, now, map[string]string{"person": "Person", "instrument": "Instrument", "source": "Source", "note": "Note", "time": "Time", "reference_time": "Reference"})
			})
		},
		"change.superseded-new": func(b *between, s *said) error {
			return each(s, func(id string) error {
				return is(slices.ContainsFunc(b.now.Readings, func(r reading) bool {
					return r.Link == id && slices.Contains(subjects(s.Args["of"]), r.of()) && b.shows(s.Args["value"], &r) && !slices.ContainsFunc(b.was.Readings, func(o reading) bool {
						return o.Link == id && o.of() == r.of() && o.File == r.File && same(rat(o.Value), rat(r.Value))
					})
				}))
			})
		},
		"change.superseded-gone": func(b *between, s *said) error {
			return each(s, func(id string) error {
				return is(slices.ContainsFunc(b.was.Readings, func(r reading) bool {
					return r.Link == id && slices.Contains(subjects(s.Args["of"]), r.of()) && b.shows(s.Args["value"], &r) && !slices.ContainsFunc(b.now.Readings, func(o reading) bool {
						return o.Link == id && o.of() == r.of() && o.File == r.File && same(rat(o.Value), rat(r.Value))
					})
				}))
			})
		},
		"change.limit": func(b *between, s *said) error {
			return each(s, func(id string) error {
				for _, subject := range subjects(s.Args["of"]) {
					of := func(j *job) string {
						l, by := j.link(id), j.set(s.text("set"))
						for nm := 800; nm < 1700 && l != nil; nm++ {
							for _, q := range []string{"insertion_loss", "two_way_average"} {
								for _, way := range []string{"A-B", "B-A", ""} {
									if fmt.Sprint(q, nm, way, "") == subject {
										if v := j.allowed(by, l, nm); v != nil {
											return v.FloatString(9)
										}
									}
								}
							}
							if strings.HasPrefix(subject, fmt.Sprint("splice_loss", nm)) {
								return by.Splice
							}
						}
						return ""
					}
					if err := b.fromTo(s, of(b.was), of(b.now)); err != nil {
						return fmt.Errorf("%s: %w", subject, err)
					}
				}
				return nil
			})
		},
		"change.question-new": func(b *between, s *said) error { return each(s, func(id string) error { return b.asked(s, id, true) }) },
		"change.question-settled": func(b *between, s *said) error {
			return each(s, func(id string) error { return b.asked(s, id, false) })
		},
		"change.asked-new":     func(b *between, s *said) error { return b.asked(s, "", true) },
		"change.asked-settled": func(b *between, s *said) error { return b.asked(s, "", false) },
	}
}

// countOf is that a link has more terminations at an end than before, or fewer.
func countOf(sign int) func(b *between, s *said) error {
	return func(b *between, s *said) error {
		end, _ := endOf(s.Args["of"])
		return each(s, func(id string) error {
			was, now := b.was.terminationsAt(&link{ID: id}, end), b.now.terminationsAt(&link{ID: id}, end)
			if sign < 0 {
				was, now = now, was
			}
			return is(len(now) > len(was) && slices.ContainsFunc(now, func(m *made) bool { return m.Kind == b.plainValue(s.Args["kind"]) }))
		})
	}
}

// looksAt are the inspections of an end.
func (j *job) looksAt(id, end string) (out []*look) {
	for i := range j.Seen {
		if k := &j.Seen[i]; k.Link == id && k.End == end {
			out = append(out, k)
		}
	}
	return out
}

// looksOf is that a face has more inspections than before, or fewer.
func looksOf(sign int) func(b *between, s *said) error {
	return func(b *between, s *said) error {
		end, _ := endOf(s.Args["of"])
		return each(s, func(id string) error {
			was, now := b.was.looksAt(id, end), b.now.looksAt(id, end)
			if sign < 0 {
				was, now = now, was
			}
			return is(len(now) > len(was) && slices.ContainsFunc(now, func(k *look) bool { return k.Result == b.plainValue(s.Args["result"]) }))
		})
	}
}

// untruths are the changes that are not so.
func (b *between) untruths() (out []error) {
	if len(b.nowIs.changes) == 0 {
		out = append(out, untrue("the manifest lists no change"))
	}
	for _, m := range b.nowIs.changes {
		s := &said{}
		s.Code, _ = m["code"].(string)
		s.Args, _ = m["args"].(map[string]any)
		s.Text, _ = m["text"].(string)
		check := changes[s.Code]
		err := untrue("no checker")
		if check != nil {
			err = check(b, s)
		}
		if err != nil {
			out = append(out, fmt.Errorf("%s %v %q: %w", s.Code, s.Args, s.Text, err))
			continue
		}
		seen(s.Code)
	}
	return out
}

// digest is the begin of the SHA-256 of a file.
func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])[:16]
}
