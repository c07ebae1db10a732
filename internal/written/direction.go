package written

import (
	"regexp"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/record"
)

// Direction reads the ways in which the trade writes a direction: A-B, AB,
// A>B, A to B, AtoB, and in other languages A vers B, A nach B, A hacia B.
func Direction(f field.Field, text string, named map[string]string) (record.Direction, bool) {
	if d, ok := named[text]; ok {
		return record.Direction(d), true
	}
	switch text {
	case "A-B", "AB", "A->B", "A>B", "A→B", "A to B", "A–B", "a-b", "ab":
		return record.AB, f == field.Direction
	case "B-A", "BA", "B->A", "B>A", "B→A", "B to A", "B–A", "b-a", "ba":
		return record.BA, f == field.Direction
	case "A", "a":
		return record.AB, f == field.End
	case "B", "b":
		return record.BA, f == field.End
	}
	if m := writtenOut.FindStringSubmatch(text); m != nil && !strings.EqualFold(m[1], m[2]) {
		if strings.EqualFold(m[1], "A") {
			return record.AB, f == field.Direction
		}
		return record.BA, f == field.Direction
	}
	return "", false
}

var writtenOut = regexp.MustCompile(`(?i)^([AB])\s*(?:to|vers|nach|hacia|[-=–—]*[>→]|[-–—])?\s*([AB])$`)

// WantDirection says which directions, or ends, are read.
func WantDirection(f field.Field) string {
	if f == field.End {
		return "want A or B, the end that the light entered"
	}
	return "want A-B or B-A"
}
