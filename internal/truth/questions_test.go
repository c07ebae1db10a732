package truth

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"regexp"
	"slices"
	"strings"
	"time"
)

// said is one statement as a receiver finds it, and what it is about.
type said struct {
	Code string
	Args map[string]any
	Text string

	link    *link // nil: about the job
	finding map[string]any
	cited   []*reading // that the finding rests on, of the model
}

// checker recomputes what a statement claims, and says what is untrue.
type checker func(j *job, s *said) error

func untrue(format string, args ...any) error { return fmt.Errorf(format, args...) }

var errNot = errors.New("that is not so")

func is(ok bool) error {
	if ok {
		return nil
	}
	return errNot
}

func (s *said) text(name string) string {
	v, _ := s.Args[name].(string)
	return v
}

// whole is a whole number; it is -1 where there is none.
func (s *said) whole(name string) int { return wholeOf(s.Args[name]) }

func wholeOf(v any) int {
	n := -1
	if _, err := fmt.Sscan(fmt.Sprint(v), &n); err != nil {
		return -1
	}
	return n
}

func (s *said) amount(name string) (n int, of string) {
	m, _ := s.Args[name].(map[string]any)
	if m == nil {
		return -1, ""
	}
	of, _ = m["of"].(string)
	return wholeOf(m["n"]), of
}

// decimal reads an argument that is a number; what is none is no number of any job.
func (s *said) decimal(name string) *big.Rat {
	if r, ok := new(big.Rat).SetString(s.text(name)); ok {
		return r
	}
	return num(-987654321)
}

func same(x, y *big.Rat) bool { return x.Cmp(y) == 0 }

// names is a list of names: the first, and how many more.
func names(v any) (first []string, more int) {
	if m, ok := v.(map[string]any); ok {
		v, more = m["first"], wholeOf(m["more"])
	}
	for _, n := range list(v) {
		text, _ := n.(string)
		first = append(first, text)
	}
	return first, more
}

// namesAll reports whether a list of names stands for these: all of them where
// they are few, else the first and a count.
func namesAll(v any, want []string) bool {
	first, more := names(v)
	return len(first) > 0 && len(first)+more == len(want) && slices.Equal(first, want[:len(first)])
}

// moment reports whether an argument is the time that the file has.
func (j *job) moment(arg, text string) bool {
	from, _, ok := j.when(text)
	if !ok {
		return false
	}
	if len(text) == len(time.DateOnly) {
		return arg == text
	}
	t, err := time.Parse(time.RFC3339, arg)
	return err == nil && t.Equal(from) && t.Format("15:04") == from.Format("15:04")
}

func day(text string) string { return text[:min(len(text), len(time.DateOnly))] }

// all asks the same of every reading that is cited, of which there must be one.
func (s *said) all(so func(r *reading) bool) error {
	if len(s.cited) == 0 {
		return untrue("no reading is named that it is about")
	}
	for _, r := range s.cited {
		if !so(r) {
			return untrue("not so of %s row %d", r.File, r.Row)
		}
	}
	return nil
}

// about is all, of readings that the instrument took, or the source of.
func (s *said) about(id string, so func(r *reading) bool) error {
	return s.all(func(r *reading) bool { return (r.Instrument == id || r.Source == id) && so(r) })
}

// terminationAt are those of a link at an end as a statement names it.
func (j *job) terminationsAt(l *link, end string) (out []*made) {
	if end == "splice" {
		end = ""
	}
	for i := range j.Made {
		if m := &j.Made[i]; m.Link == l.ID && m.End == end {
			out = append(out, m)
		}
	}
	return out
}

// lastLook is the inspection of a face with the latest time.
func (j *job) lastLook(l *link, end string) (last *look) {
	for i := range j.Seen {
		if k := &j.Seen[i]; k.Link == l.ID && k.End == end && (last == nil || k.Time > last.Time) {
			last = k
		}
	}
	return last
}

// isBefore reports that all of one time was before the begin of another.
func (j *job) isBefore(x, y string) bool {
	_, to, ok := j.when(x)
	from, _, known := j.when(y)
	return ok && known && to.Before(from)
}

// finishedAt is when the last termination of an end was finished.
func (j *job) finishedAt(l *link, end string) (last string) {
	for _, m := range j.terminationsAt(l, end) {
		if last == "" || m.Finished != "" && j.isBefore(last, m.Finished) {
			last = m.Finished
		}
	}
	return last
}

// lookFailed reports whether the last inspection of the face that is there now did
// not pass, by the criterion that is named.
func (j *job) lookFailed(s *said) bool {
	last := j.lastLook(s.link, s.text("end"))
	return last != nil && last.Result == "fail" && s.text("criterion") == last.Criterion+":"+last.Edition && !j.isBefore(last.Time, j.finishedAt(s.link, s.text("end")))
}

// wordPassed reports whether the last termination of an end says that its face passed.
func (j *job) wordPassed(l *link, end string) bool {
	var last *made
	for _, m := range j.terminationsAt(l, end) {
		from, _, ok := j.when(m.Finished)
		if last != nil {
			if before, _, known := j.when(last.Finished); known && (!ok || from.Before(before)) {
				continue
			}
		}
		last = m
	}
	return last != nil && last.Face == "pass"
}

// lookedSince reports whether the face was inspected once it was finished.
func (j *job) lookedSince(m *made) bool {
	return slices.ContainsFunc(j.Seen, func(i look) bool {
		return i.Link == m.Link && i.End == m.End && m.End != "" && m.Finished != "" && !j.isBefore(i.Time, m.Finished)
	})
}

// passedSince reports whether a later record of the same end says that the face
// passed: later by its time, or further down where the times do not tell.
func (j *job) passedSince(m *made) bool {
	below := false
	for i := range j.Made {
		o := &j.Made[i]
		if o == m {
			below = true
			continue
		}
		if o.Link != m.Link || o.End != m.End || o.End == "" || o.Face != "pass" {
			continue
		}
		was, _, known := j.when(m.Finished)
		now, _, both := j.when(o.Finished)
		if known && both && !was.Equal(now) {
			if now.After(was) {
				return true
			}
		} else if below {
			return true
		}
	}
	return false
}

// glassLoss is the least that glass loses, dB/km: our own figures, which the guide
// prints.
func glassLoss(mode string, nm int) *big.Rat {
	switch {
	case mode == "multimode":
		return rat(map[int]string{850: "1.8", 910: "1.5", 953: "1.5", 1300: "0.35", 1310: "0.35"}[nm])
	case nm >= 1550 && nm <= 1625:
		return rat("0.14")
	}
	return rat(map[int]string{1300: "0.29", 1310: "0.29", 1383: "0.24", 1490: "0.18"}[nm])
}

// glassRise is the most that singlemode glass loses more at a longer wavelength than
// at a shorter one, dB/km: our own figures.
var glassRise = map[[2]int]string{
	{1310, 1490}: "-0.06", {1310, 1550}: "-0.10", {1310, 1625}: "-0.06", {1490, 1550}: "0", {1490, 1625}: "0.03", {1550, 1625}: "0.05",
}

// bendExcess is by how much a loss at a longer wavelength is more than one at a
// shorter one and the glass explain, or nil for wavelengths that are not compared.
func bendExcess(l *link, short *reading, nm int, loss *big.Rat) *big.Rat {
	figure, ok := glassRise[[2]int{short.NM, nm}]
	if !ok {
		return nil
	}
	return sub(sub(loss, rat(short.Value)), mul(rat(figure), l.km()))
}

// round is a number to so many places, half away from zero.
func round(x *big.Rat, places int) string { return x.FloatString(places) }

func (j *job) lossesAt(l *link, nm int) (out []*reading) {
	for _, r := range j.losses(l.ID) {
		if r.NM == nm {
			out = append(out, r)
		}
	}
	return out
}

func find(rs []*reading, so func(r *reading) bool) *reading {
	if i := slices.IndexFunc(rs, so); i >= 0 {
		return rs[i]
	}
	return nil
}

// questions are the checkers of what is asked.
var questions = map[string]checker{
	"not-judged": notJudged,
	"shown": func(j *job, s *said) error {
		m, _ := s.Args["subject"].(map[string]any)
		return s.all(func(r *reading) bool {
			way, _ := m["way"].(string)
			event, _ := m["event"].(string)
			return r.Shown != "" && r.Shown == s.text("shown") && same(s.decimal("value"), rat(r.Value)) && r.Quantity == m["quantity"] && r.NM == wholeOf(m["nm"]) && r.Way == way && r.Event == event
		})
	},
	"expected-orl": func(j *job, s *said) error {
		return s.all(func(r *reading) bool {
			if r.Quantity != "optical_return_loss" || !same(s.decimal("measured"), rat(r.Value)) || s.whole("nm") != r.NM {
				return false
			}
			expected := j.returnLoss(s.link, r)
			measured, _ := rat(r.Value).Float64()
			most, _ := j.threshold("expected-orl", "1").Float64()
			return s.text("expected") == fmt.Sprintf("%.1f", expected) && measured > expected+most-0.001
		})
	},
	"not-measured": func(j *job, s *said) error { return is(len(j.losses(s.link.ID)) == 0) },
	"missing-wavelength": func(j *job, s *said) error {
		return is(slices.Contains(j.Wavelengths[modeOf(s.link.Fibre)], s.whole("nm")) && len(j.lossesAt(s.link, s.whole("nm"))) == 0)
	},
	"missing-direction.way": func(j *job, s *said) error {
		at := j.lossesAt(s.link, s.whole("nm"))
		way := s.text("way")
		return is(!j.oneWay(s.link) && slices.Contains(j.Wavelengths[modeOf(s.link.Fibre)], s.whole("nm")) && len(at) > 0 && (way == "A-B" || way == "B-A") &&
			find(at, func(r *reading) bool { return r.Way == way || r.Way == "" }) == nil)
	},
	"missing-direction.splice": func(j *job, s *said) error {
		ways := ""
		for _, r := range j.counting(s.link.ID) {
			if r.Quantity == "splice_loss" && r.Event == s.text("splice") && r.NM == s.whole("nm") {
				ways += r.Way
			}
		}
		return is(!j.oneWay(s.link) && ways == map[string]string{"A": "A-B", "B": "B-A"}[s.text("end")])
	},
	"missing-reflectance": func(j *job, s *said) error {
		return is(j.Reflectance == "required" && (s.text("end") == "A" || s.text("end") == "B") && find(j.counting(s.link.ID), func(r *reading) bool {
			return r.Quantity == "reflectance" && r.Way[:1] == s.text("end")
		}) == nil)
	},
	"direction-exempt": func(j *job, s *said) error {
		return is(s.text("reason") != "" && s.text("reason") == strings.TrimRight(s.link.Exempt, "."))
	},
	"no-date": func(j *job, s *said) error { return s.all(func(r *reading) bool { return r.Time == "" }) },
	"unknown-instrument.none": func(j *job, s *said) error {
		return s.all(func(r *reading) bool { return r.Instrument == "" })
	},
	"unknown-instrument.unlisted": func(j *job, s *said) error {
		id := s.text("instrument")
		return s.about(id, func(*reading) bool { return id != "" && j.instrument(id) == nil })
	},
	"calibration.no-dates": calibration(func(in *instrument, s *said, day string) bool { return in.Calibrated == "" && in.Due == "" }),
	"calibration.no-due":   calibration(func(in *instrument, s *said, day string) bool { return in.Calibrated != "" && in.Due == "" }),
	"calibration.no-start": calibration(func(in *instrument, s *said, day string) bool { return in.Calibrated == "" && in.Due != "" }),
	"calibration.overdue": calibration(func(in *instrument, s *said, day string) bool {
		return in.Due != "" && s.text("due") == in.Due && s.text("day") == day && day > in.Due
	}),
	"calibration.early": calibration(func(in *instrument, s *said, day string) bool {
		return in.Calibrated != "" && s.text("calibrated") == in.Calibrated && s.text("day") == day && day != "" && day < in.Calibrated
	}),
	"unknown-person.none": func(j *job, s *said) error { return s.all(func(r *reading) bool { return r.Person == "" }) },
	"unknown-person.unlisted": func(j *job, s *said) error {
		return s.all(func(r *reading) bool {
			return r.Person != "" && r.Person == s.text("person") && j.person(r.Person) == nil
		})
	},
	"expired-qualification": func(j *job, s *said) error {
		return s.all(func(r *reading) bool {
			p := j.person(r.Person)
			return p != nil && p.Name == s.text("person") && p.Until != "" && p.Until == s.text("until") && day(r.Time) == s.text("day") && s.text("day") > p.Until
		})
	},
	"reference-age.younger": func(j *job, s *said) error {
		return s.all(func(r *reading) bool {
			ref, _, ok := j.when(r.Reference)
			_, at, both := j.when(r.Time)
			return ok && both && j.moment(s.text("reference"), r.Reference) && j.moment(s.text("reading"), r.Time) && ref.After(at)
		})
	},
	"reference-age.old": func(j *job, s *said) error {
		most := j.threshold("reference-age", "12")
		hours, _ := most.Float64()
		return s.all(func(r *reading) bool {
			_, ref, ok := j.when(r.Reference)
			at, _, both := j.when(r.Time)
			return ok && both && j.moment(s.text("reference"), r.Reference) && same(s.decimal("hours"), most) && at.Sub(ref).Hours() > hours
		})
	},
	"before-finished": func(j *job, s *said) error {
		var finished time.Time
		for _, m := range j.terminationsAt(s.link, s.text("end")) {
			if t, _, ok := j.when(m.Finished); ok && j.moment(s.text("finished"), m.Finished) {
				finished = t
			}
		}
		return s.all(func(r *reading) bool {
			_, at, ok := j.when(r.Time)
			return ok && at.Before(finished)
		})
	},
	"before-shut": func(j *job, s *said) error {
		var shut time.Time
		for _, m := range j.terminationsAt(s.link, "splice") {
			if t, _, ok := j.when(m.Shut); ok && t.After(shut) && j.moment(s.text("shut"), m.Shut) {
				shut = t
			}
		}
		return s.all(func(r *reading) bool {
			_, at, ok := j.when(r.Time)
			return ok && at.Before(shut)
		})
	},
	"negative-loss": func(j *job, s *said) error {
		return s.all(func(r *reading) bool {
			return r.Quantity == "insertion_loss" && add(j.atMost(r), j.threshold("negative-loss", "0")).Sign() < 0
		})
	},
	"below-glass": func(j *job, s *said) error {
		least := mul(glassLoss(modeOf(s.link.Fibre), s.whole("nm")), s.link.km())
		if !same(s.decimal("length"), rat(s.link.Length)) || s.text("least") != round(least, 2) {
			return untrue("glass loses %s dB", round(least, 2))
		}
		return s.all(func(r *reading) bool {
			return r.Quantity == "insertion_loss" && r.NM == s.whole("nm") && add(j.atMost(r), j.threshold("below-glass", "0.05")).Cmp(least) < 0
		})
	},
	"length-difference": func(j *job, s *said) error {
		scheduled := rat(s.link.Length)
		return s.all(func(r *reading) bool {
			by := new(big.Rat).Abs(sub(rat(r.Value), scheduled))
			most := add(mul(mul(j.threshold("length-difference", "5"), big.NewRat(1, 100)), scheduled), num(10)) // 10 m: the guide's slack
			return r.Quantity == "length" && same(s.decimal("measured"), rat(r.Value)) && same(s.decimal("scheduled"), scheduled) && by.Cmp(most) > 0
		})
	},
	"bend": func(j *job, s *said) error {
		at := func(nm int) *reading {
			return find(j.losses(s.link.ID), func(r *reading) bool { return r.NM == nm && r.Way == s.text("way") })
		}
		long, short := at(s.whole("nm")), at(s.whole("short"))
		if long == nil || short == nil || long.Shown != "" || short.Shown != "" {
			return untrue("no such readings")
		}
		excess := bendExcess(s.link, short, long.NM, rat(long.Value))
		if excess == nil || s.text("excess") != round(excess, 2) {
			return untrue("glass does not explain so much")
		}
		return is(s.whole("nm") > s.whole("short") && same(s.decimal("loss"), rat(long.Value)) && same(s.decimal("base"), rat(short.Value)) &&
			same(s.decimal("length"), rat(s.link.Length)) && excess.Cmp(j.threshold("bend", "0.2")) > 0 && modeOf(s.link.Fibre) == "singlemode")
	},
	"direction-difference": func(j *job, s *said) error {
		at := j.lossesAt(s.link, s.whole("nm"))
		if len(at) != 2 || at[0].Way == at[1].Way {
			return untrue("the loss was not read in both directions")
		}
		if at[0].Shown != "" || at[1].Shown != "" {
			return untrue("of a text")
		}
		by := new(big.Rat).Abs(sub(rat(at[0].Value), rat(at[1].Value)))
		return is(same(by, s.decimal("difference")) && by.Cmp(j.threshold("direction-difference", "0.5")) > 0)
	},
	"connection-count.spliced": func(j *job, s *said) error {
		return is(s.pairsOf() && s.whole("ends") == s.link.splicedEnds() && s.link.splicedEnds() > s.link.Pairs)
	},
	"connection-count.three-cord": func(j *job, s *said) error {
		return is(s.pairsOf() && slices.Contains(j.references(s.link), "three-cord") && s.link.Pairs < 2)
	},
	"connection-count.ends": func(j *job, s *said) error {
		return is(s.pairsOf() && s.link.EndA != "none" && s.link.EndB != "none" && s.link.Pairs < 2)
	},
	"connection-count.no-connector": func(j *job, s *said) error {
		ends := connectors(s.link)
		return is(s.pairsOf() && s.whole("ends") == ends && s.link.Pairs > ends && s.link.Pairs <= 2)
	},
	"splice-count.fewer": func(j *job, s *said) error {
		n, _ := s.amount("scheduled")
		return is(n == s.link.Splices && s.whole("recorded") == j.spliceRecords(s.link) && s.whole("recorded") < n && s.whole("recorded") > 0)
	},
	"splice-count.more": func(j *job, s *said) error {
		n, _ := s.amount("scheduled")
		return is(n == s.link.Splices && s.whole("recorded") == j.spliceRecords(s.link) && s.whole("recorded") > n)
	},
	"loosened.splices": func(j *job, s *said) error {
		n, _ := s.amount("scheduled")
		recorded := s.whole("recorded")
		if n != s.link.Splices || recorded != j.spliceRecords(s.link) || recorded >= n || recorded == 0 {
			return errNot
		}
		return j.loosened(s, s.decimal("measured"), s.decimal("limit"), func(l *link) { l.Splices = recorded })
	},
	"loosened.pairs": func(j *job, s *said) error {
		ends := connectors(s.link)
		if !s.pairsOf() || s.whole("ends") != ends || s.link.Pairs <= ends || s.link.Pairs > 2 {
			return errNot
		}
		return j.loosened(s, s.decimal("measured"), s.decimal("limit"), func(l *link) { l.Pairs = ends })
	},
	"loosened.length": func(j *job, s *said) error {
		measured := find(j.counting(s.link.ID), func(r *reading) bool { return r.Quantity == "length" && same(rat(r.Value), s.decimal("measured")) })
		if measured == nil || !same(s.decimal("scheduled"), rat(s.link.Length)) || rat(measured.Value).Cmp(rat(s.link.Length)) >= 0 {
			return errNot
		}
		return j.loosened(s, s.decimal("loss"), s.decimal("limit"), func(l *link) { l.Length = measured.Value })
	},
	"connection-count.two-cord": func(j *job, s *said) error {
		return is(slices.Contains(j.references(s.link), "two-cord") && s.link.Pairs == 0)
	},
	"duplicate-rows.reading": func(j *job, s *said) error {
		a, b := j.row(s.Args["row"]), j.row(s.Args["other"])
		return is(a != nil && b != nil && a != b && a.Link == s.link.ID && b.Link == a.Link && a.of() == b.of() && same(rat(a.Value), rat(b.Value)) && a.Time != "" && a.Time == b.Time)
	},
	"duplicate-rows.file": func(j *job, s *said) error {
		return is(s.text("file") != s.text("other") && j.content(s.text("file")) != "" && j.content(s.text("file")) == j.content(s.text("other")))
	},
	"end-face.failed": func(j *job, s *said) error {
		return is(slices.ContainsFunc(j.terminationsAt(s.link, s.text("end")), func(m *made) bool { return m.Face == "fail" && !j.passedSince(m) && !j.lookedSince(m) }))
	},
	"end-face.not-inspected": func(j *job, s *said) error {
		return is(j.Face && slices.ContainsFunc(j.terminationsAt(s.link, s.text("end")), func(m *made) bool {
			return (m.Face == "not inspected" || m.Face == "") && !j.passedSince(m) && !j.lookedSince(m) && !j.EveryFace
		}))
	},
	"end-face.unrecorded": func(j *job, s *said) error {
		return is(j.Face && len(j.terminationsAt(s.link, s.text("end"))) == 0 && s.link.end(s.text("end")) != "none" && j.lastLook(s.link, s.text("end")) == nil)
	},
	"original.missing": func(j *job, s *said) error {
		var want []string
		for _, r := range j.losses(s.link.ID) {
			if !slices.ContainsFunc(j.Traces, func(t trace) bool {
				return t.Link == r.Link && (t.NM == 0 || t.NM == r.NM) && (t.Way == "" || t.Way == r.Way)
			}) {
				want = append(want, fmt.Sprint(r.NM, r.Way))
			}
		}
		var got []string
		for _, v := range list(s.Args["subjects"]) {
			if m, ok := v.(map[string]any); ok && m["quantity"] == "insertion_loss" {
				way, _ := m["way"].(string)
				got = append(got, fmt.Sprint(wholeOf(m["nm"]), way))
			}
		}
		slices.Sort(want)
		slices.Sort(got)
		return is(j.EveryTrace && len(want) > 0 && slices.Equal(want, got))
	},
	"inspection.missing": func(j *job, s *said) error {
		return is(j.EveryFace && s.link.end(s.text("end")) != "none" && j.lastLook(s.link, s.text("end")) == nil)
	},
	"inspection.outdated": func(j *job, s *said) error {
		last, all := j.lastLook(s.link, s.text("end")), j.terminationsAt(s.link, s.text("end"))
		if last == nil {
			return errNot
		}
		at := strings.TrimSuffix(last.Time, " 00:00") // the stroke of midnight is taken for the day
		// The last to be finished: of a day and an hour of that day either may be.
		return is(j.EveryFace && j.moment(s.text("inspected"), at) && slices.ContainsFunc(all, func(m *made) bool {
			return j.moment(s.text("finished"), m.Finished) && j.isBefore(at, m.Finished) &&
				!slices.ContainsFunc(all, func(o *made) bool { return j.isBefore(m.Finished, o.Finished) })
		}))
	},
	"inspection.failed": func(j *job, s *said) error {
		return is(j.lookFailed(s) && !j.wordPassed(s.link, s.text("end")))
	},
	"inspection.contradicts": func(j *job, s *said) error {
		return is(j.lookFailed(s) && j.wordPassed(s.link, s.text("end")))
	},
	"no-termination": func(j *job, s *said) error {
		return is(j.Estimate != "" && len(j.terminationsAt(s.link, s.text("end"))) == 0 && spliced(s.link.end(s.text("end"))))
	},
	"no-uncertainty": func(j *job, s *said) error {
		if j.Decision != "guarded" {
			return untrue("acceptance is not guarded")
		}
		return s.all(func(r *reading) bool { return j.uncertainty(r) == nil })
	},
	"no-limit.which": func(j *job, s *said) error {
		if err := j.gaps(s); err != nil {
			return err
		}
		return is(s.unlimited(j, func(s *set) bool { return true }))
	},
	"no-limit.unjudged": func(j *job, s *said) error { return j.gaps(s) },
	"application.no-figure": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && s.text("value") == "discrete_reflectance" && len(a.Reflectance) > 0 && a.reflectance(modeOf(s.link.Fibre)) == nil)
	},
	"application.no-figure-fibre": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && s.text("fibre") == s.link.Fibre && s.text("value") == "channel_loss" && a.channel(s.link.Fibre) == nil)
	},
	"application.average": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && a.Average && !a.any() && a.between(s.Args["nm"]) && !j.hasBoth(s.link, a))
	},
	"application.loss": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && !a.Average && !a.any() && a.between(s.Args["nm"]) && find(j.losses(s.link.ID), func(r *reading) bool { return r.NM >= a.From && r.NM <= a.To }) == nil)
	},
	"application.average-any": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && a.Average && a.any() && !slices.ContainsFunc(j.losses(s.link.ID), func(r *reading) bool { return bothWays(j.lossesAt(s.link, r.NM)) }))
	},
	"application.loss-any": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && !a.Average && a.any() && len(j.losses(s.link.ID)) == 0)
	},
	"application.fibre": func(j *job, s *said) error {
		a := s.application(j)
		return is(a != nil && s.text("fibre") == s.link.Fibre && (a.channel(s.link.Fibre) == nil || !slices.Contains(a.Modes, modeOf(s.link.Fibre))))
	},
	"population": func(j *job, s *said) error {
		n := 0
		for i := range j.Links {
			if l := &j.Links[i]; modeOf(l.Fibre) == s.text("mode") && j.inside(l, s.whole("nm")) > 0 {
				at := j.lossesAt(l, s.whole("nm"))
				if len(at) > 0 && !slices.ContainsFunc(at, func(r *reading) bool { return r.Shown != "" }) { // both directions are of the same connections
					n += j.inside(l, s.whole("nm"))
				}
			}
		}
		if s.text("of") == "single_connection" { // of a percentile; where all are limited, each of them
			if by := j.set(fmt.Sprint(s.finding["set"])); by == nil || by.Percent == "" {
				return untrue("no percentile is limited")
			} else if by.Percent != "100" {
				single, _ := j.connectionsAt(s.text("mode"), s.whole("nm"))
				n = len(single)
			}
			return is(n > 0 && n == s.whole("n"))
		}
		return is(s.text("of") == "insertion_loss" && n > 0 && n == s.whole("n"))
	},
	"identical-results": func(j *job, s *said) error {
		var alike []string
		mine := j.fingerprint(s.link.ID)
		for _, l := range j.Links {
			if j.fingerprint(l.ID) == mine {
				alike = append(alike, l.ID)
			}
		}
		if find(j.losses(s.link.ID), func(r *reading) bool { return r.Shown != "" }) != nil {
			return untrue("there is a text among the losses")
		}
		return is(len(alike) > 1 && len(j.losses(s.link.ID)) > 0 && namesAll(s.Args["links"], alike))
	},
	"near-miss-names.letter": func(j *job, s *said) error {
		id, letter := s.text("link"), s.text("letter")
		digit := map[string]string{"O": "0", "o": "0", "I": "1", "l": "1"}[letter]
		if digit == "" || id != s.link.ID || !strings.Contains(id, letter) {
			return errNot
		}
		pattern := func(name string) string {
			return regexp.MustCompile(`[0-9]`).ReplaceAllString(name, "9")
		}
		meant := pattern(strings.NewReplacer("O", "0", "o", "0", "I", "1", "l", "1").Replace(id))
		var others []string
		for i := range j.Links {
			switch l := j.Links[i].ID; {
			case l != id && pattern(l) == pattern(id):
				return untrue("%s is written like it", l)
			case pattern(l) == meant:
				others = append(others, l)
			}
		}
		return is(len(others) >= 3 && namesAll(s.Args["others"], others))
	},
	"calibration-interval": func(j *job, s *said) error {
		in := j.instrument(s.text("instrument"))
		if in == nil || in.Calibrated != s.text("calibrated") || in.Due != s.text("due") {
			return untrue("the job gives it other days")
		}
		if !slices.ContainsFunc(j.Readings, func(r reading) bool { return r.Instrument == in.ID || r.Source == in.ID }) {
			return untrue("nothing was measured with it")
		}
		from, err := time.Parse(time.DateOnly, in.Calibrated)
		if err != nil {
			return err
		}
		months, _ := s.decimal("months").Float64()
		// The first day of the month behind that in which the interval ends, counted by hand.
		n := int(from.Month()) - 1 + int(months) + 1
		first := fmt.Sprintf("%04d-%02d-01", from.Year()+n/12, n%12+1)
		return is(same(s.decimal("months"), j.threshold("calibration-interval", "12")) && in.Due >= first)
	},
	"two-instruments": func(j *job, s *said) error {
		name := func(r *reading) string {
			if p := j.person(r.Person); p != nil {
				return p.Name
			}
			return r.Person
		}
		// The stays that are named: of readings of the person, one at or around the moment.
		at, err := time.Parse(time.RFC3339, s.text("at"))
		if err != nil {
			return err
		}
		there := func(link, meter string) bool {
			before, after := false, false
			for i := range j.Readings {
				r := &j.Readings[i]
				t, _, ok := j.when(r.Time)
				if !ok || r.Link != link || r.Instrument != meter || name(r) != s.text("person") {
					continue
				}
				by := t.Sub(at)
				before = before || by <= 0 && by >= -time.Hour
				after = after || by >= 0 && by <= time.Hour
			}
			return before && after
		}
		return is(s.whole("n") > 0 && s.text("instrument") != s.text("other-instrument") && s.text("link") != s.text("other") &&
			there(s.text("link"), s.text("instrument")) && there(s.text("other"), s.text("other-instrument")))
	},
	"direction-copied": func(j *job, s *said) error {
		same, all := j.alike(func(x, y *reading) bool { return x.NM == y.NM && x.Way == "A-B" && y.Way == "B-A" }, "")
		return is(same >= 8 && same == s.whole("n") && all == s.whole("all"))
	},
	"wavelength-copied": func(j *job, s *said) error {
		for _, mode := range []string{"singlemode", "multimode"} {
			same, all := j.alike(func(x, y *reading) bool { return x.NM == s.whole("short") && y.NM == s.whole("long") && x.Way == y.Way }, mode)
			if same >= 8 && same == s.whole("n") && all == s.whole("all") {
				return nil
			}
		}
		return errNot
	},
	"wavelengths-swapped": func(j *job, s *said) error {
		sum, n := new(big.Rat), 0
		for i := range j.Links {
			if l := &j.Links[i]; modeOf(l.Fibre) == "multimode" {
				for _, x := range j.lossesAt(l, s.whole("short")) {
					for _, y := range j.lossesAt(l, s.whole("long")) {
						if x.Way == y.Way && x.Shown == "" && y.Shown == "" {
							sum, n = add(sum, sub(rat(y.Value), rat(x.Value))), n+1
						}
					}
				}
			}
		}
		if n < 8 || n != s.whole("n") {
			return untrue("%d pairs", n)
		}
		mean, _ := mul(sum, big.NewRat(1, int64(n))).Float64()
		return is(mean >= 0.05 && s.text("more") == fmt.Sprintf("%.2f", mean) && s.whole("short") == 850)
	},
	"near-miss-names.alike": func(j *job, s *said) error {
		first, more := names(s.Args["links"])
		if more > 0 || len(first) < 2 || !slices.Contains(first, s.link.ID) {
			return errNot
		}
		for _, n := range first {
			if j.link(n) == nil || misread(n) != misread(first[0]) {
				return untrue("%q is not easily taken for %q", n, first[0])
			}
		}
		return nil
	},
	"polarity.unknown": func(j *job, s *said) error {
		return is(s.text("link") == s.link.ID && s.text("pair") == s.link.Pair && (j.partner(s.link) == nil || j.partner(s.link) == s.link))
	},
	"polarity.other":     pair(func(j *job, s *said, p *link) bool { return j.partner(p) != s.link }),
	"polarity.unchecked": pair(func(j *job, s *said, p *link) bool { return j.partner(p) == s.link && s.link.Polarity == "" }),
	"polarity.disagree": pair(func(j *job, s *said, p *link) bool {
		word := func(t string) string {
			if t == "" {
				return "none"
			}
			return t
		}
		return j.partner(p) == s.link && s.link.Polarity != p.Polarity && s.text("polarity") == word(s.link.Polarity) && s.text("other") == word(p.Polarity)
	}),
	"polarity.straight": pair(func(j *job, s *said, p *link) bool {
		return j.partner(p) == s.link && s.link.Polarity == "straight" && p.Polarity == "straight" && s.text("polarity") == "straight"
	}),
	"same-moment": func(j *job, s *said) error {
		var there []string
		for _, l := range j.Links {
			if slices.ContainsFunc(j.Readings, func(r reading) bool {
				return r.Link == l.ID && r.Instrument == s.text("instrument") && r.Time != "" && j.moment(s.text("at"), r.Time)
			}) {
				there = append(there, l.ID)
			}
		}
		return is(len(there) > 1 && slices.Contains(there, s.link.ID) && namesAll(s.Args["links"], there))
	},
	"pace": func(j *job, s *said) error {
		from, err := time.Parse(time.RFC3339, s.text("from"))
		if err != nil {
			return err
		}
		to := from.Add(time.Duration(s.whole("seconds")) * time.Second)
		there := map[string]bool{}
		for _, r := range j.Readings {
			if at, _, ok := j.when(r.Time); ok && r.Instrument == s.text("instrument") && !at.Before(from) && !at.After(to) && j.link(r.Link) != nil {
				there[r.Link] = true
			}
		}
		if len(there) < s.whole("n") {
			return untrue("%d links were measured in that time", len(there))
		}
		return nil
	},
}

func calibration(so func(in *instrument, s *said, day string) bool) checker {
	return func(j *job, s *said) error {
		id := s.text("instrument")
		in := j.instrument(id)
		return s.about(id, func(r *reading) bool { return in != nil && so(in, s, day(r.Time)) })
	}
}

func pair(so func(j *job, s *said, p *link) bool) checker {
	return func(j *job, s *said) error {
		p := j.partner(s.link)
		return is(p != nil && p != s.link && s.text("link") == s.link.ID && s.text("pair") == p.ID && so(j, s, p))
	}
}

// partner is the strand that a link names: by its name, or by its strand in the
// same cable.
func (j *job) partner(l *link) *link {
	if l.Pair == "" {
		return nil
	}
	if p := j.link(l.Pair); p != nil {
		return p
	}
	for i := range j.Links {
		if p := &j.Links[i]; p.Cable == l.Cable && p.Strand == l.Pair {
			return p
		}
	}
	return nil
}

// atMost is the most that a loss may be, with its uncertainty.
func (j *job) atMost(r *reading) *big.Rat {
	if u := j.uncertainty(r); u != nil {
		return add(rat(r.Value), u)
	}
	return rat(r.Value)
}

func (s *said) pairsOf() bool {
	n, of := s.amount("pairs")
	return n == s.link.Pairs && of == "mated_pair"
}

// row is the reading that stands in a row.
func (j *job) row(v any) *reading {
	m, _ := v.(map[string]any)
	if m == nil {
		return nil
	}
	for i := range j.Readings {
		if r := &j.Readings[i]; r.File == m["file"] && r.Row == wholeOf(m["row"]) {
			return r
		}
	}
	return nil
}

func (j *job) content(file string) string {
	var b strings.Builder
	for _, r := range j.Readings {
		if r.File == file {
			r.File, r.Row = "", 0
			fmt.Fprintln(&b, r)
		}
	}
	return b.String()
}

// alike counts pairs of losses of one link, and those of them that are the same.
func (j *job) alike(pair func(x, y *reading) bool, mode string) (same, all int) {
	for i := range j.Links {
		l := &j.Links[i]
		if mode != "" && modeOf(l.Fibre) != mode {
			continue
		}
		for _, x := range j.losses(l.ID) {
			for _, y := range j.losses(l.ID) {
				if x.Shown == "" && y.Shown == "" && pair(x, y) {
					all++
					if rat(x.Value).Cmp(rat(y.Value)) == 0 {
						same++
					}
				}
			}
		}
	}
	return same, all
}

func (j *job) fingerprint(id string) string {
	var out []string
	for _, r := range j.losses(id) {
		out = append(out, r.of()+rat(r.Value).String())
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

// misread is a name as a tired eye takes it.
func misread(name string) string {
	name = strings.ToLower(strings.NewReplacer("O", "0", "o", "0", "I", "1", "l", "1", "_", "-", " ", "-").Replace(name))
	parts := strings.Split(name, "-")
	for i := range parts {
		parts[i] = strings.TrimLeft(parts[i], "0")
	}
	return strings.Join(parts, "-")
}

// application is the one that a statement names by its title, of those that bind.
func (s *said) application(j *job) *set {
	for _, a := range j.sets(s.link) {
		if a.Application && a.Title == s.text("application") {
			return a
		}
	}
	return nil
}

// between reports whether an argument is the wavelengths of the application.
func (a *set) between(v any) bool {
	l := list(v)
	if len(l) != 1 {
		return false
	}
	m, _ := l[0].(map[string]any)
	return m != nil && wholeOf(m["from"]) == a.From && wholeOf(m["to"]) == a.To
}

// bothWays reports whether there are two numbers, of which a mean can be made.
func bothWays(at []*reading) bool {
	return len(at) == 2 && at[0].Way != at[1].Way && at[0].Shown == "" && at[1].Shown == ""
}

// returnLoss is the optical return loss that glass and reflectances allow: the glass
// scatters back k + 10·lg((1 − 10^(−αL/5)) / (2a·Δz)), where a = α·ln(10)/10 and Δz is half of
// what light passes in 1 ns in the glass (common practice); what is at the far
// end comes back through the link twice.
func (j *job) returnLoss(l *link, r *reading) float64 {
	k, alpha, index := 0.0, 0.0, 0.0
	for value, into := range map[string]*float64{glassScatters: &k, glassLoses: &alpha, glassIndex: &index} {
		*into, _ = rat(value).Float64()
	}
	km, _ := l.km().Float64()
	a, dz := alpha*math.Ln10/10, 299792.458e-9/(2*index)
	back := math.Pow(10, k/10) * (1 - math.Pow(10, -alpha*km/5)) / (2 * a * dz)
	loss := 0.0
	for _, o := range j.losses(l.ID) {
		if o.NM == r.NM {
			loss, _ = rat(o.Value).Float64()
		}
	}
	for _, o := range j.counting(l.ID) {
		if o.Quantity == "reflectance" && o.NM == r.NM {
			db, _ := rat(o.Value).Float64()
			if o.Way != r.Way {
				db -= 2 * loss
			}
			back += math.Pow(10, db/10)
		}
	}
	return -10 * math.Log10(back)
}

func (j *job) hasBoth(l *link, a *set) bool {
	for nm := a.From; nm <= a.To; nm++ {
		if bothWays(j.lossesAt(l, nm)) {
			return true
		}
	}
	return false
}

// limits reports whether a set has a limit for what the finding is about: a loss or
// a reflectance at its wavelength, on its link.
func (s *said) limits(j *job, by *set) bool {
	nm := wholeOf(s.finding["wavelength_nm"])
	if s.finding["quantity"] == "reflectance" {
		return by.reflectance(modeOf(s.link.Fibre)) != nil
	}
	if by.Application && by.Average {
		return j.allowed(by, s.link, nm) != nil && bothWays(j.lossesAt(s.link, nm))
	}
	return j.allowed(by, s.link, nm) != nil
}

// unlimited reports whether none of the sets that bind the link has a limit.
func (s *said) unlimited(j *job, of func(*set) bool) bool {
	for _, by := range j.sets(s.link) {
		if of(by) && s.limits(j, by) {
			return false
		}
	}
	return true
}

// gaps checks each gap that a question lists.
func (j *job) gaps(s *said) error {
	gaps := list(s.Args["gaps"])
	if len(gaps) == 0 {
		return untrue("no gap is named")
	}
	for _, g := range gaps {
		m, _ := g.(map[string]any)
		in := &said{link: s.link, finding: s.finding}
		in.Code, _ = m["code"].(string)
		in.Args, _ = m["args"].(map[string]any)
		check := gapCheckers[in.Code]
		if check == nil {
			return untrue("no checker of %q", in.Code)
		}
		if err := check(j, in); err != nil {
			return fmt.Errorf("%s: %w", in.Code, err)
		}
		seen(in.Code)
	}
	return nil
}

var gapCheckers = map[string]checker{
	"gap.value": func(j *job, s *said) error {
		by := j.set(s.text("set"))
		value := "cable"
		if by != nil && by.Application {
			value = "channel_loss"
		}
		return is(by != nil && slices.Contains(j.sets(s.link), by) && s.text("value") == value && s.text("fibre") == s.link.Fibre &&
			s.whole("nm") == wholeOf(s.finding["wavelength_nm"]) && j.allowed(by, s.link, s.whole("nm")) == nil && (by.Only == "" || by.Only == modeOf(s.link.Fibre)))
	},
	"gap.value-end": func(j *job, s *said) error {
		by := j.set(s.text("set"))
		return is(by != nil && slices.Contains(j.sets(s.link), by) && s.text("value") == "discrete_reflectance" && s.text("end") == s.finding["end"] &&
			s.whole("nm") == wholeOf(s.finding["wavelength_nm"]) && by.reflectance(modeOf(s.link.Fibre)) == nil)
	},
	"gap.none": func(j *job, s *said) error {
		n, of := s.amount("splices")
		return is(s.pairsOf() && n == s.link.Splices+s.link.splicedEnds() && of == "splice" && s.text("fibre") == s.link.Fibre &&
			s.whole("nm") == wholeOf(s.finding["wavelength_nm"]) && s.unlimited(j, func(*set) bool { return true }))
	},
	"gap.none-end": func(j *job, s *said) error {
		return is(s.text("end") == s.finding["end"] && s.whole("nm") == wholeOf(s.finding["wavelength_nm"]) && s.unlimited(j, func(*set) bool { return true }))
	},
}

// advice claims little; what it rests on must be so all the same.
var advice = map[string]checker{
	"advice.guard": func(j *job, s *said) error {
		return is(j.Decision == "guarded" && s.margin().Sign() >= 0 && same(s.decimal("guard"), s.guard(j)) && s.margin().Cmp(s.guard(j)) < 0)
	},
	"advice.owner": func(j *job, s *said) error {
		by := j.set(s.set())
		return is(by != nil && by.Over != "" && s.text("text") == by.Over && s.margin().Sign() < 0)
	},
	"advice.bend": over(func(j *job, s *said) bool {
		return slices.ContainsFunc(j.losses(s.link.ID), func(r *reading) bool {
			excess := bendExcess(s.link, r, wholeOf(s.finding["wavelength_nm"]), s.number("measured"))
			return excess != nil && (r.Way == s.finding["direction"] || s.finding["direction"] == "two-way") && excess.Cmp(j.threshold("bend", "0.2")) > 0
		})
	}),
	"advice.clean":     over(nil),
	"advice.reference": over(nil),
	"advice.seat": over(func(j *job, s *said) bool {
		// Two faces of silica, n = 1.47, with air between: Fresnel's formula, 0.3 dB.
		r := math.Pow(0.47/2.47, 2)
		return s.link.Pairs > 0 && s.text("loss") == fmt.Sprintf("%.1f", -20*math.Log10(1-r))
	}),
	"advice.rework": over(func(j *job, s *said) bool { return s.link.Splices+s.link.splicedEnds() > 0 }),
	"advice.splice": of("splice_loss", nil),
	"advice.mode-field": of("splice_loss", func(j *job, s *said) bool {
		var both []*reading
		for _, r := range s.cited {
			if r.Quantity == "splice_loss" {
				both = append(both, r)
			}
		}
		if len(both) != 2 {
			return false
		}
		by := sub(rat(both[0].Value), rat(both[1].Value))
		// The step of an OTDR at a splice is 10·lg(w1/w2) either way, and fibres of
		// such mode fields lose 20·lg((w1/w2 + w2/w1)/2) (Marcuse 1977).
		d, _ := by.Float64()
		q := math.Pow(10, d/2/10)
		return same(s.decimal("difference"), new(big.Rat).Abs(by)) && s.text("least") == fmt.Sprintf("%.2f", 20*math.Log10((q+1/q)/2))
	}),
	"advice.face": of("reflectance", func(j *job, s *said) bool {
		return s.text("end") == s.finding["end"] && s.finding["direction"].(string)[:1] == s.text("end")
	}),
	"advice.polish":     of("reflectance", nil),
	"advice.reflection": of("optical_return_loss", nil),
	"advice.length":     of("length", nil),
	"advice.attenuator": of("insertion_loss two_way_average", func(j *job, s *said) bool { return s.low(j) && s.margin().Sign() < 0 }),
	"advice.splice-again": func(j *job, s *said) error {
		return is(j.Estimate != "" && slices.ContainsFunc(j.Made, func(m made) bool {
			return m.Link == s.link.ID && m.Estimate != "" && rat(m.Estimate).Cmp(rat(j.Estimate)) > 0
		}))
	},
}

// over is of a loss that is over what is allowed, not short of what is needed.
func over(so checkerOf) checker {
	return of("insertion_loss two_way_average", func(j *job, s *said) bool { return !s.low(j) && (so == nil || so(j, s)) })
}

type checkerOf func(j *job, s *said) bool

// of is advice about a quantity that misses its limit, or its guard.
func of(quantities string, so checkerOf) checker {
	return func(j *job, s *said) error {
		q, _ := s.finding["quantity"].(string)
		if !slices.Contains(strings.Fields(quantities), q) {
			return untrue("the finding is about %s", q)
		}
		if s.margin().Sign() >= 0 && (j.Decision != "guarded" || s.margin().Cmp(s.guard(j)) >= 0) {
			return untrue("nothing is missed")
		}
		return is(so == nil || so(j, s))
	}
}

// number is one of the finding, which is recomputed by itself.
func (s *said) number(name string) *big.Rat {
	text, _ := s.finding[name].(string)
	if text == "" {
		return new(big.Rat)
	}
	return rat(text)
}

func (s *said) margin() *big.Rat { return s.number("margin") }

func (s *said) set() string {
	w, _ := s.finding["set"].(string)
	return w
}

// guard is r·U of the least certain reading.
func (s *said) guard(j *job) *big.Rat {
	most := new(big.Rat)
	for _, r := range s.cited {
		if u := j.uncertainty(r); u != nil && u.Cmp(most) > 0 {
			most = u
		}
	}
	if j.Guard != "" {
		most = mul(most, rat(j.Guard))
	}
	return most
}
