package written

import (
	"regexp"
	"strings"
)

var (
	// OverRange are the texts by which meters say that there was more loss, or
	// less light, than they can measure. They serve the draft of a mapping only.
	OverRange = regexp.MustCompile(`(?i)^(?:o\.?l\.?|over(?:[ -]?(?:range|load|flow))?|out of range|ovr|ovfl|lo|low|under(?:[ -]?range)?|[>≥]\s*\d+(?:[.,]\d+)?(?:\s*dB)?)$`)
	BoundText = regexp.MustCompile(`^([<>≤≥]=?)\s*(\S.*)$`)
)

// IsBound reports a text such as "<0.05".
func IsBound(text string) bool {
	m := BoundText.FindStringSubmatch(text)
	return m != nil && strings.ContainsAny(m[2][:1], "+-\u22120123456789")
}
