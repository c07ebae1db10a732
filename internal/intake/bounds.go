package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
)

var (
	// overRange are the texts by which meters say that there was more loss, or
	// less light, than they can measure. They serve the draft of a mapping only.
	overRange = regexp.MustCompile(`(?i)^(?:o\.?l\.?|over(?:[ -]?(?:range|load|flow))?|out of range|ovr|ovfl|lo|low|under(?:[ -]?range)?|[>≥]\s*\d+(?:[.,]\d+)?(?:\s*dB)?)$`)
	boundText = regexp.MustCompile(`^([<>≤≥]=?)\s*(\S.*)$`)
)

// isBound reports a text such as "<0.05".
func isBound(text string) bool {
	m := boundText.FindStringSubmatch(text)
	return m != nil && strings.ContainsAny(m[2][:1], "+-\u22120123456789")
}

// boundOf reads a bound such as "<0.05": which way it goes, and its number.
func (a *assembler) boundOf(text string, mark rune, unit quantity.Unit) (more bool, v quantity.Decimal, ok bool) {
	m := boundText.FindStringSubmatch(text)
	if m == nil {
		return false, v, false
	}
	v, err := a.number(m[2], mark, unit)
	return strings.ContainsAny(m[1], ">≥"), v, err == nil
}

// lossLike are the fields whose number grows with the loss; of received power it
// falls.
func lossLike(f field) bool { return f == fLoss || f == fLossPerKm || f == fSpliceLoss }

// beyond reads a cell that says that the instrument could measure no more: as
// the number that it gives, or else as the most that a loss can be here. Such a
// reading counts, and fails.
func (a *assembler) beyond(row *row, f field, s *slot, text string, mark rune) (v quantity.Decimal, ok bool) {
	if !slices.Contains(a.m.overRange, text) || !lossLike(f) && f != fReceived {
		return v, false
	}
	a.m.use("over_range", text)
	more, v, has := a.boundOf(text, mark, s.unit)
	switch {
	case has && more == (f != fReceived):
	case f == fReceived:
		v = bounds[minPower]
	default:
		v = bounds[maxLoss]
	}
	a.over = a.over || f == fReceived
	a.shown = text
	a.bound(row, s, fmt.Sprintf("%q is beyond the instrument's range, counted as %s %s", text, v, unitOf(f)),
		"over-range", fmt.Sprintf("%q is beyond the range of the instrument, as over_range says; it is counted as %s %s, and no certificate can rest on it", text, v, unitOf(f)),
		"find the fault of the link and measure it again; a later reading counts instead")
	return v, true
}

// worst reads a bound of which the worst case is known: a loss of less than
// 0.05 dB is at most that.
func (a *assembler) worst(row *row, f field, s *slot, text string, mark rune) (v quantity.Decimal, ok bool) {
	more, v, ok := a.boundOf(text, mark, s.unit)
	if !ok {
		return v, false
	}
	least := false // the bound is the least that can be
	switch f {
	case fReceived, fReturnLoss, fOpticalReturnLoss:
		least = true
	case fReflectance:
		least = a.m.reflIs == "positive"
	case fLoss:
		least = a.m.lossIs == "negative"
	case fLossPerKm, fSpliceLoss:
	default:
		return v, false
	}
	if more != least {
		return v, false
	}
	a.shown = text
	a.bound(row, s, fmt.Sprintf("%q is a bound, counted as %s %s", text, v, unitOf(f)),
		"bound", fmt.Sprintf("%q is a bound; %s %s is counted, the worst that it can be", text, v, unitOf(f)), "")
	return v, true
}

// bound notes with the reading that its number is a bound, and asks.
func (a *assembler) bound(row *row, s *slot, note, code, message, mend string) {
	a.boundNotes = append(a.boundNotes, note)
	p := diag.Problem{Severity: diag.Question, Code: code, Place: diag.Place{File: a.file.Name}, Message: message, Mend: mend}
	if !a.r.list.Full(p.Severity, code, a.file.Name) {
		p.Place = a.t.place(row, s.column)
	}
	a.r.list.Add(p)
}
