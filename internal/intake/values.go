package intake

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/series"
	"spanseal/internal/source"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// Evidence is never edited. What is wrong in it is left out by the mapping, and
// what is right stands in a file of its own.
const leaveOut = "leave the row out under ignore_rows, and give the right one in a new file of readings/"

// noReading is the way out of every cell that holds no number.
const noReading = `if the text means "no reading", list it under not_measured in the file's readings entry; otherwise ` + leaveOut

// value reads a measured field of a row; ok is false where there is none or
// it is wrong.
func (a *assembler) value(row *table.Row, f field.Field, s *mapping.Slot) (quantity.Decimal, bool) {
	text := a.text(row, s)
	if text == "" {
		if s.Column >= 0 {
			a.unanswered = append(a.unanswered, unanswered{f, ""})
		}
		return quantity.Decimal{}, false
	}
	if slices.Contains(a.m.NotMeasured, text) {
		a.silent++
		a.m.Use("not_measured", text)
		a.unanswered = append(a.unanswered, unanswered{f, text})
		return quantity.Decimal{}, false
	}
	mark := a.mark
	if s.Mark != 0 {
		mark = s.Mark
	}
	if v, ok := a.beyond(row, f, s, text, mark); ok {
		return v, true
	}
	v, err := a.number(text, mark, s.Unit)
	if err != nil {
		if v, ok := a.worst(row, f, s, text, mark); ok {
			return a.signed(row, f, s, text, v)
		}
		a.notNumber(row, f, s, text, err)
		return v, false
	}
	return a.signed(row, f, s, text, v)
}

// unanswered is a measured field of a row that has no number: its cell is empty,
// or holds a text that means so.
type unanswered struct {
	field field.Field
	text  string
}

// signed brings a number to our units and signs.
func (a *assembler) signed(row *table.Row, f field.Field, s *mapping.Slot, text string, v quantity.Decimal) (quantity.Decimal, bool) {
	switch {
	case f == field.Length:
		v, _ = quantity.Metres(v, s.Unit)
	case f == field.Loss && a.m.LossIs == "negative", f == field.Reflectance && a.m.ReflectanceIs == "positive":
		v = v.Neg()
	}
	if !a.inRange(row, s.Column, f, v, text) {
		return v, false
	}
	a.remember(row, f, s, text, v)
	return v, true
}

// number reads a number with the file's marks. A unit behind it is let pass if
// it is the column's own.
func (a *assembler) number(text string, mark rune, unit quantity.Unit) (quantity.Decimal, error) {
	if a.t.Stored() {
		if v, err := quantity.ParseStored(text); err == nil {
			return v, nil
		}
	}
	v, err := quantity.ParseMark(text, mark)
	if err == nil {
		return v, nil
	}
	if strings.ContainsAny(text, "eE") { // 3.5E-01
		if v, err := quantity.ParseStored(strings.Replace(text, string(mark), ".", 1)); err == nil {
			return v, nil
		}
	}
	body := text
	if unit != "" && len(text) > len(unit) && strings.EqualFold(text[len(text)-len(unit):], string(unit)) {
		body = strings.TrimRight(text[:len(text)-len(unit)], " \u00a0")
	}
	if a.m.Thousands != 0 {
		var ok bool
		if body, ok = written.WithoutThousands(body, a.m.Thousands, mark); !ok {
			return v, err
		}
	}
	if body == text {
		return v, err
	}
	return quantity.ParseMark(body, mark)
}

func (a *assembler) notNumber(row *table.Row, f field.Field, s *mapping.Slot, text string, err error) {
	code := "not-a-number"
	if errors.Is(err, quantity.ErrTooLong) {
		code = "too-many-digits"
	}
	if a.onlyCounted(row, s.Column, code) {
		return
	}
	p := diag.Problem{Code: code, Message: fmt.Sprintf("%q is not a number", text), Fix: noReading}
	switch {
	case errors.Is(err, quantity.ErrTooLong):
		p.Message = fmt.Sprintf("%q has too many digits", text)
		p.Want = fmt.Sprintf("want at most %d before and after the mark", quantity.MaxDigits)
	case a.mark == ',':
		p.Want = "want digits with at most one decimal comma, such as 0,35"
	default:
		p.Want = "want digits with at most one decimal point, such as 0.35"
	}
	switch {
	case a.otherMark(text):
		p.Fix = "set decimal (or thousands) in the file's readings entry; if this cell alone is wrong, " + leaveOut
	case a.m.Thousands == 0 && written.ThousandsIn(text, a.mark) != 0:
		p.Fix = fmt.Sprintf("set thousands: %q in the file's readings entry; if this cell alone is wrong, %s", string(written.ThousandsIn(text, a.mark)), leaveOut)
	case written.IsBound(text) && (lossLike(f) || f == field.Received):
		p.Message = fmt.Sprintf("%q is a bound on the side where the worst is not known", text)
		p.Want, p.Fix = "", fmt.Sprintf("if it means beyond the range of the instrument, add to the file's readings entry: over_range: [%q]", text)
	case strings.HasPrefix(text, "#"):
		p.Message = fmt.Sprintf("%q is a spreadsheet's error, not a number", text)
	}
	if p.Fix == noReading && !strings.ContainsFunc(text, unicode.IsDigit) && !strings.HasPrefix(text, "#") {
		p.Patch = &diag.Patch{Intro: `if these texts mean "no reading", paste into the file's readings entry; otherwise ` + leaveOut, Head: "not_measured:", Line: "- " + strconv.Quote(text)}
	}
	a.explain(&p, row, f, s, true)
	a.fault(row, s.Column, p)
}

// otherMark reports that text would be a number with the other decimal mark.
func (a *assembler) otherMark(text string) bool {
	other := ','
	if a.mark == ',' {
		other = '.'
	}
	_, err := quantity.ParseMark(text, other)
	return err == nil
}

// inRange refuses what cannot be.
func (a *assembler) inRange(row *table.Row, column int, f field.Field, v quantity.Decimal, text string) bool {
	lo, hi, fix := 0, 0, ""
	switch f {
	case field.Loss, field.SpliceLoss, field.LossPerKm:
		lo, hi = -field.MaxLoss, field.MaxLoss
	case field.Reflectance:
		lo, hi, fix = -field.MaxLoss, 0, "reflectance is negative; if a file writes it without the sign, set reflectance_is: positive"
	case field.ReturnLoss, field.OpticalReturnLoss:
		lo, hi, fix = 0, field.MaxLoss, "return loss is positive; if the column holds reflectance, map it as reflectance_db"
	case field.Reference, field.Received:
		lo, hi = field.MinPower, field.MaxPower
	case field.Length:
		lo, hi = 0, field.MaxLength
	}
	if !v.Less(field.Bounds[lo]) && !field.Bounds[hi].Less(v) {
		return true
	}
	unit := field.Units[f][0]
	p := diag.Problem{Code: "out-of-range", Message: fmt.Sprintf("%s of %s cannot be", withArticle(f.Noun()), text),
		Want: fmt.Sprintf("want %d to %d %s", lo, hi, unit), Fix: fix}
	for i := range a.groups {
		if a.groups[i][f].Column == column && column >= 0 && len(p.Also) == 0 && !a.full(p.Code) {
			p.Also = a.mapsField(i, f)
		}
	}
	if fix == "" {
		p.Fix = "correct the unit or the sign in the file's readings entry; if this cell alone is wrong, " + leaveOut
	}
	a.fault(row, column, p)
	return false
}

func withArticle(noun string) string {
	if strings.ContainsRune("aeiou", rune(noun[0])) {
		return "an " + noun
	}
	return "a " + noun
}

// wavelength reads whole nanometres; 0 after a problem.
func (a *assembler) wavelength(row *table.Row, s *mapping.Slot) int {
	text := a.text(row, s)
	if a.r.survey {
		nm, _ := a.nanometres(text, s)
		return nm
	}
	if text == "" {
		a.missing(row, field.Wavelength, s, "wavelength", "nanometres, such as 1310")
		return 0
	}
	nm, ok := a.nanometres(text, s)
	if !ok {
		p := diag.Problem{Code: "not-a-wavelength", Message: fmt.Sprintf("%q is not a wavelength", text), Want: "want whole nanometres, such as 1310"}
		a.explain(&p, row, field.Wavelength, s, false)
		a.fault(row, s.Column, p)
		return 0
	}
	if nm < field.MinWavelength || nm > field.MaxWavelength {
		p := diag.Problem{Code: "out-of-range", Message: fmt.Sprintf("a wavelength of %d nm cannot be", nm),
			Want: fmt.Sprintf("want %d to %d nm", field.MinWavelength, field.MaxWavelength)}
		a.explain(&p, row, field.Wavelength, s, false)
		a.fault(row, s.Column, p)
		return 0
	}
	return nm
}

// nanometres reads 1310, 1310 nm, 1310.0 as programs write it that know no
// whole numbers, and 1.31 µm.
func (a *assembler) nanometres(text string, s *mapping.Slot) (int, bool) {
	body := strings.TrimSuffix(strings.TrimSuffix(text, "nm"), "NM")
	factor := 1
	if s.Unit == quantity.Micrometre && body == text {
		factor = 1000
	}
	for _, micrometre := range []string{"µm", "μm", "um"} { // the micro sign, the letter mu, and without either
		if rest, ok := strings.CutSuffix(body, micrometre); ok {
			body, factor = rest, 1000
		}
	}
	body = strings.TrimRight(body, " \u00a0")
	if nm, ok := quantity.Whole(body); ok && factor == 1 {
		return nm, true
	}
	mark := a.mark
	if s.Mark != 0 {
		mark = s.Mark
	}
	v, err := a.number(body, mark, "")
	if v = v.Mul(quantity.Int(factor)); err != nil || !v.Round(0).Equal(v) {
		return 0, false
	}
	return quantity.Whole(v.Fixed(0))
}

func (a *assembler) missing(row *table.Row, f field.Field, s *mapping.Slot, what, such string) {
	if a.onlyCounted(row, s.Column, "missing-cell") {
		return
	}
	p := diag.Problem{Code: "missing-cell", Message: "this row has no " + what, Want: "want " + such}
	a.explain(&p, row, f, s, false)
	a.fault(row, s.Column, p)
}

// direction reads A-B or B-A, from a direction or from the end that the light
// entered; "" after a problem, or where what was measured needs none.
func (a *assembler) direction(row *table.Row, g *mapping.ReadingSlots) record.Direction {
	f := field.Direction
	text := a.text(row, &g[field.Direction])
	if text == "" {
		f = field.End
		text = a.text(row, &g[field.End])
	}
	if text == "" {
		if need := g.NeedsDirection(); need == field.None {
			return record.NoWay
		} else if a.r.survey {
			return record.AB
		}
		if f = field.Direction; !g[f].Given() && g[field.End].Given() {
			f = field.End
		}
		a.missing(row, f, &g[f], f.String(), strings.TrimPrefix(written.WantDirection(f), "want "))
		return ""
	}
	d, ok := written.Direction(f, text, a.m.Directions)
	if ok && len(a.m.Directions) > 0 {
		a.m.Use("directions", text)
	}
	if !ok && a.r.survey {
		return record.AB
	}
	if !ok {
		p := diag.Problem{Code: "unknown-direction", Message: fmt.Sprintf("%q is not a direction", text), Want: written.WantDirection(f),
			Fix: "list under directions what each text means, in the file's readings entry"}
		if f == field.End {
			p.Message = fmt.Sprintf("%q is not an end", text)
		}
		a.explain(&p, row, f, &g[f], false)
		a.fault(row, g[f].Column, p)
	}
	return d
}

// name reads an id or another short text.
func (a *assembler) name(row *table.Row, s *mapping.Slot) string {
	text := a.text(row, s)
	if at := strings.IndexFunc(text, source.IsControlInName); at >= 0 {
		a.fault(row, s.Column, table.ControlFault("name", text, at))
		return ""
	}
	return a.keep(text)
}

// note reads a remark; line breaks in it become spaces.
func (a *assembler) note(row *table.Row, s *mapping.Slot) string {
	text := a.text(row, s)
	if at := strings.IndexFunc(text, source.IsControl); at >= 0 {
		a.fault(row, s.Column, table.ControlFault("remark", text, at))
		return ""
	}
	if strings.ContainsAny(text, "\n\r\t") {
		text = strings.Join(strings.Fields(text), " ")
	}
	return a.keep(text)
}

// time reads an instant from a time, a date, or both; the zero time if none is
// given.
func (a *assembler) time(row *table.Row, g *mapping.ReadingSlots, date, clock field.Field) time.Time {
	s, f := &g[clock], clock
	text, day := a.text(row, s), a.text(row, &g[date])
	switch {
	case day == "":
	case text == "":
		s, f, text, day = &g[date], date, day, ""
	case g[date].Mark == 0 || s.Mark != 0: // both by the file, or both by the mapping
		text, day = day+" "+text, ""
	}
	if text == "" || a.r.survey || slices.Contains(a.m.NotMeasured, text) {
		return time.Time{}
	}
	if memo := &a.lastTime[clock]; memo.text == text && memo.day == day {
		return memo.time
	}
	w, err := a.wallTime(text, day, s.Mark != 0)
	var t time.Time
	if err == nil {
		a.rememberTime(row, s, w)
		t, err = a.instant(w)
	}
	if err != nil {
		a.notTime(row, g, date, f, s, text, err)
		return time.Time{}
	}
	a.lastTime[clock] = timeMemo{strings.Clone(text), strings.Clone(day), t}
	return t
}

// wallTime reads a text with the mapping's format, or as ISO 8601, or as a
// spreadsheet stores it. day is the mapping's date for an hour of the file, or
// "".
func (a *assembler) wallTime(text, day string, constant bool) (w written.Clock, err error) {
	switch {
	case a.m.TimeFormat != nil && !constant:
		var on written.Clock
		if day != "" {
			if on, err = written.ParseISO(day); err != nil {
				return w, err
			}
		}
		w, err = a.m.TimeFormat.Parse(text, on)
	case day != "":
		w, err = written.ParseISO(day + " " + text)
	default:
		w, err = written.ParseISO(text)
	}
	if err != nil && a.t.Stored() {
		if stored, ok := written.StoredTime(text, table.Since1904(a.t)); ok {
			return stored, nil
		}
	}
	return w, err
}

func (a *assembler) notTime(row *table.Row, g *mapping.ReadingSlots, date, f field.Field, s *mapping.Slot, text string, err error) {
	if a.t.Stored() { // as a person sees it
		text = written.ShowMoment(text, table.Since1904(a.t))
	}
	p := diag.Problem{Code: "not-a-time", Message: fmt.Sprintf("%q is not a time", text)}
	switch {
	case a.m.TimeFormat != nil && s.Mark == 0:
		p.Want = "want " + a.m.TimeFormat.Text + ", as time_format says"
	default:
		p.Want = "want year-month-day and hour:minute, such as 2026-11-18 09:32"
	}
	p.Fix = "give its form under time_format in the file's readings entry; if this cell alone is wrong, " + leaveOut
	forms := written.FormsOf([]string{text})
	if len(forms) > 0 {
		p.Fix = "if all times of the file have this form, set in its readings entry: time_format: " + strings.Join(forms, " or ")
	}
	if a.m.TimeFormat != nil {
		p.Fix = "correct time_format; if this cell alone is wrong, " + leaveOut
	}
	switch {
	case errors.Is(err, written.ErrAmbiguous):
		p.Code = "which-date"
		p.Message = fmt.Sprintf("the order of day and month in %q is not clear", text)
		p.Want = ""
		p.Fix = "set in the file's readings entry time_format: " + cmp.Or(strings.Join(forms, " or "), "DD.MM.YYYY HH:mm, MM/DD/YYYY h:mm AM or the like")
	case errors.Is(err, written.ErrNoDay):
		p.Code = "no-date"
		p.Message = fmt.Sprintf("%q is an hour without a day", text)
		p.Want = ""
		p.Fix = "map a date, or give the file one in its readings entry, such as date: 2026-11-18"
	case errors.Is(err, written.ErrNoSuch):
		p.Code = "no-such-time"
		p.Message = fmt.Sprintf("%q is no day and hour of any calendar", text)
		p.Fix = leaveOut
	case errors.Is(err, written.ErrTwice):
		p.Code = "clock-change"
		p.Message = fmt.Sprintf("%q occurred twice in %s, because the clocks were put back", text, a.zone)
		p.Want = ""
		p.Fix = "say in the file's readings entry which of the two it was, by the offset of that hour only: " + a.doubled(text, s, row, g, date)
	case errors.Is(err, written.ErrSkipped):
		p.Code = "clock-change"
		p.Message = fmt.Sprintf("%q did not exist in %s: the clocks were put forward over it", text, a.zone)
		p.Want = ""
		p.Because = append(p.Because, "the instrument's clock was not put forward, so its later times are an hour off too")
		p.Fix = "if the clock stood on one offset all along, say it in the file's readings entry, such as time_zone: +00:00"
	case errors.Is(err, written.ErrNoZone):
		if a.r.zoneSaid {
			a.wrong = append(a.wrong, wrong{s.Column, "no-time-zone"})
			return
		}
		a.r.zoneSaid = true
		p.Code = "no-time-zone"
		p.Message = fmt.Sprintf("%q is a local time, and the job does not say of which zone", text)
		p.Want = ""
		p.Fix = "add time_zone to job in job.yaml, such as Europe/Dublin"
	}
	a.explain(&p, row, f, s, false)
	if a.m.TimeFormat != nil && s.Mark == 0 && p.Code == "not-a-time" {
		p.Also = append(p.Also, a.m.Says("time_format", "the mapping gives the form here")...)
	}
	a.fault(row, s.Column, p)
}

// link finds the link that a row names, or whose strand it gives; id is "" after
// a problem.
func (a *assembler) link(row *table.Row, g *mapping.ReadingSlots) (id string, index int32, alias string) {
	switch s := &g[field.Link]; {
	case a.text(row, s) != "":
		return a.linkNamed(row, s, a.text(row, s))
	case g[field.Strand].Given():
		return a.linkByStrand(row, g)
	default:
		a.missing(row, field.Link, s, "link", "the name of a link in "+a.r.scheduled)
		return "", 0, ""
	}
}

func (a *assembler) linkNamed(row *table.Row, s *mapping.Slot, text string) (id string, index int32, alias string) {
	if text == a.lastLink.text {
		return a.lastLink.id, a.lastLink.index, a.lastLink.alias
	}
	id, index, viaAlias, ok := a.r.findLink(text)
	if !ok {
		a.unknownLink(row, s, text)
		return "", 0, ""
	}
	if viaAlias {
		alias = a.keep(text)
	}
	a.lastLink.text, a.lastLink.id, a.lastLink.index, a.lastLink.alias = strings.Clone(text), id, index, alias
	return id, index, alias
}

func (a *assembler) unknownLink(row *table.Row, s *mapping.Slot, text string) {
	if a.onlyCounted(row, s.Column, "unknown-link") { // no near miss is looked for
		return
	}
	if at := strings.IndexFunc(text, source.IsControlInName); at >= 0 {
		a.fault(row, s.Column, table.ControlFault("name", text, at))
		return
	}
	p := diag.Problem{Code: "unknown-link", Message: fmt.Sprintf("%q is not a link of %s", text, a.r.scheduled)}
	if near := a.r.names.To(text); near != "" {
		p.Want = fmt.Sprintf("did you mean %q?", near)
		p.Fix = fmt.Sprintf("if they are the same link, add it to aliases in job.yaml: %q: %q", text, near)
		p.Patch = a.r.aliasPatch("if each pair is one link", fmt.Sprintf("%q: %q", text, near))
	} else {
		p.Fix = "add the link to " + a.r.scheduled + ", or leave the row out under ignore_rows"
	}
	if a.faults < 100 && slices.ContainsFunc(a.r.facts.Links, func(l record.Link) bool { return l.Strand == text }) {
		p.Because = append(p.Because, fmt.Sprintf("%s has a strand %s: if the file names strands, map the column as strand, and cable", a.r.scheduled, text))
	}
	if day, is := spreadsheetDay(text, a.t); is {
		p.Because = append(p.Because, day)
		p.Fix = "if you know which link it is, add it to aliases in job.yaml"
	}
	if series.Meant(text) && !a.r.job.Schedule.NoSeries {
		p.Because = append(p.Because, "a name with two points between numbers stands for a series of links in "+a.r.scheduled+"; if it is the name of one link there, set schedule: {series: false} in job.yaml")
	}
	a.explain(&p, row, field.Link, s, false)
	a.fault(row, s.Column, p)
}
