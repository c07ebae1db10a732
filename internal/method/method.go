// Package method settles how each reading was made, the narrower statement winning.
//
// What a cell, a file, a link or the job says of it is [Said]; its texts are read by
// [Said.Take]. The row is narrower than its file, the file than the link, and the link
// than the job. [Ways] makes of them the method of a reading, one for all that are
// alike. [Exemptions] reads what a schedule exempts from being measured.
package method

import (
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Said is what one place says of how readings were made. What it does not say is zero.
type Said struct{ record.Method }

// The group index of silica fibre is about 1.46 to 1.48 at the wavelengths of this
// trade (recalled); instruments that count the lay of the cable in go below.
var leastIndex, mostIndex = quantity.Must("1.3"), quantity.Must("1.7") // not limits: what no glass has

// longest is how many characters a text may have.
const longest = 200

// Take reads the text of one field. It returns what is wanted where the text says
// something else.
func (s *Said) Take(f field.Field, text string) (want string) {
	switch f {
	case field.ReferenceMethod:
		m, ok := Reference(text)
		if !ok {
			return "want one-cord, two-cord or three-cord"
		}
		s.Reference = m
	case field.TestCords:
		c, ok := Cords(text)
		if !ok {
			return "want standard or reference-grade"
		}
		s.TestCords = c
	case field.Stage:
		stage, ok := Stage(text)
		if !ok {
			return "want reel, placed, spliced or final, or shipped for what the maker's record says"
		}
		s.Stage = stage
	case field.GroupIndex:
		v, err := quantity.Parse(text)
		if strings.Contains(text, ",") {
			v, err = quantity.ParseMark(text, ',')
		}
		if err != nil || v.Less(leastIndex) || mostIndex.Less(v) {
			return "want the group index of refraction, such as 1.4677"
		}
		s.GroupIndex = &v
	case field.Launch:
		if len([]rune(text)) > longest {
			return "want at most 200 characters"
		}
		if s.Launch = text; encircledFlux.MatchString(text) {
			s.Launch = record.EncircledFlux
		}
	case field.Software:
		if len([]rune(text)) > longest {
			return "want at most 200 characters"
		}
		s.Software = text
	}
	return ""
}

var (
	references    = regexp.MustCompile(`(?i)(?:^|[^\pL\d])(one|1|two|2|three|3)[- ]?(?:test[- ]?)?(?:reference[- ]?)?(?:cord|jumper|patch ?cord|lead|cable)s?(?:$|[^\pL])`)
	cords         = regexp.MustCompile(`(?i)(?:^|[^\pL])(reference|standard|normal)(?:[- ]?grade)?(?:$|[^\pL])`)
	encircledFlux = regexp.MustCompile(`(?i)^(?:EF|encircled[- ]flux(?: launch)?)$`)
)

// Reference reads a reference method by the number of its cords, as IEC 61280-4-1
// names them.
func Reference(text string) (record.ReferenceMethod, bool) {
	m := references.FindStringSubmatch(text)
	if m == nil {
		return "", false
	}
	switch strings.ToLower(m[1]) {
	case "one", "1":
		return record.OneCord, true
	case "two", "2":
		return record.TwoCord, true
	}
	return record.ThreeCord, true
}

// Cords reads the grade of the test cords.
func Cords(text string) (record.TestCords, bool) {
	m := cords.FindStringSubmatch(text)
	switch {
	case m == nil:
		return "", false
	case strings.EqualFold(m[1], "reference"):
		return record.ReferenceCords, true
	}
	return record.StandardCords, true
}

// stages are the words of each.
var stages = map[record.Stage]string{
	record.Shipped: "shipped shipping as_shipped", record.OnReel: "reel on_reel on_the_reel", record.Placed: "placed placing after_placing",
	record.Spliced: "spliced splicing after_splicing", record.Final: "final",
}

// Stage reads a stage of the work.
func Stage(text string) (record.Stage, bool) {
	name := field.HeadingName(text)
	for stage, words := range stages {
		if slices.Contains(strings.Fields(words), name) {
			return stage, true
		}
	}
	return "", false
}

// Ways are the methods of a job, each once.
type Ways struct{ known map[string]*record.Method }

// Of is the method of a reading: nil where it is the job's own.
func (w *Ways) Of(job *record.Policy, link *record.Terms, said ...Said) *record.Method {
	var m record.Method
	for _, s := range said {
		m = m.Over(s.Method)
	}
	if link != nil && link.Method != nil {
		m = m.Over(*link.Method)
	}
	if m == (record.Method{}) { // nearly all
		return nil
	}
	m = m.Over(job.Method())
	key := m.Key()
	if key == job.Method().Key() {
		return nil
	}
	one := w.known[key]
	if one == nil {
		if w.known == nil {
			w.known = map[string]*record.Method{}
		}
		one = &m
		w.known[key] = one
	}
	return one
}

// Misfit is what is wrong between a reference method and a number of connections: a
// method cannot leave outside the loss what is not there (IEC 61280-4-1, from memory).
func Misfit(r record.ReferenceMethod, pairs int) string {
	switch {
	case r == record.ThreeCord && pairs < 2:
		return "a three-cord reference leaves two end connections outside the loss"
	case r == record.TwoCord && pairs < 1:
		return "a two-cord reference leaves one end connection outside the loss"
	}
	return ""
}

// fields are those of a reading that say how it was made.
var fields = []field.Field{field.ReferenceMethod, field.TestCords, field.Launch, field.Stage, field.Software, field.GroupIndex}

// Settle reads what a row says of its own and what its file says, whose texts were
// checked where they stand. It complains of what of the row's is not understood.
func Settle(texts func(field.Field) (own, file string), wrong func(f field.Field, text, want string)) (own, file Said) {
	for _, f := range fields {
		ownText, fileText := texts(f)
		if fileText != "" {
			file.Take(f, fileText)
		}
		if ownText == "" {
			continue
		}
		if want := own.Take(f, ownText); want != "" {
			wrong(f, ownText, want)
		}
	}
	return own, file
}

// Contradicts reports whether a text names another reference method than a reading has,
// or another grade of cords where it is about cords.
func Contradicts(text string, aboutCords bool, m record.Method) bool {
	reference, saysMethod := Reference(text)
	cords, saysCords := Cords(text)
	return saysMethod && m.Reference != "" && reference != m.Reference || aboutCords && saysCords && m.TestCords != "" && cords != m.TestCords
}
