package field

import (
	"regexp"
	"strings"

	"spanseal/internal/quantity"
)

// HeadingUnit reads a unit that stands in a heading in brackets, such as
// "Loss (dB)" or "Länge [km]", or alone in a row of units.
func HeadingUnit(s string) (unit quantity.Unit, ok bool) {
	s = strings.TrimSpace(s)
	if open := strings.LastIndexAny(s, "(["); open >= 0 && (strings.HasSuffix(s, ")") || strings.HasSuffix(s, "]")) {
		s = s[open+1 : len(s)-1]
	}
	return UnitNamed(s)
}

// UnitNamed reads a unit, in capitals or small letters.
func UnitNamed(s string) (quantity.Unit, bool) {
	s = strings.NewReplacer("um", "µm", "μm", "µm").Replace(strings.ToLower(s)) // as keyboards without it, or with the Greek letter, write the micro sign
	for _, u := range []quantity.Unit{quantity.DB, quantity.DBm, quantity.DBPerKm, quantity.Metre, quantity.Kilometre, quantity.Foot, quantity.Kilofoot, quantity.Nanometre, quantity.Micrometre} {
		if strings.EqualFold(strings.TrimSpace(s), string(u)) {
			return u, true
		}
	}
	return "", false
}

// Bracketed is the text in brackets at the end of a heading, such as "dB" of
// "Loss (dB)" or "mW" of "Power [mW]"; "" where there is none.
func Bracketed(name string) string {
	name = strings.TrimSpace(name)
	open := strings.LastIndexAny(name, "([")
	if open <= 0 || !strings.HasSuffix(name, ")") && !strings.HasSuffix(name, "]") {
		return ""
	}
	return strings.TrimSpace(name[open+1 : len(name)-1])
}

// UnitText is what a heading says of its unit, if that stands at its end.
func UnitText(name string) string {
	if text := Bracketed(name); text != "" {
		return text
	}
	if m := trailing.FindStringSubmatch(strings.TrimSpace(name)); m != nil {
		return m[1]
	}
	return ""
}

var (
	// OtherUnits are those that exports head columns with and that no field has:
	// powers and ratios that are not in decibels, and parts and multiples of our
	// own (ISO 80000-1, 6.5.4).
	OtherUnits = regexp.MustCompile(`^(?:[munpkM\x{b5}\x{3bc}]?W|[mcdun\x{b5}\x{3bc}]dB[mr]?|dB[\x{b5}\x{3bc}u]|dBu?W|dBr|Np|%|\x{2030}|[cmunpM\x{b5}\x{3bc}]m|um|in|mi|yd|nmi|inch|inches|miles?|[mun\x{b5}\x{3bc}]?s|[MGT]?Hz|\x{b0}C|[mk]?V|[mun\x{b5}\x{3bc}]?A)$`)
	// OtherThanUnits say of which reading a column is, so they are none.
	OtherThanUnits = regexp.MustCompile(`(?i)^(?:\d{3,4}(?:\s*nm)?|[AB]\s*(?:to|vers|nach|hacia|[-–→>]*)\s*[AB]|[AB])$`)
)

// trailing are such units at the end of a heading without brackets, as in
// "Loss mdB"; the shorter ones could be words.
var trailing = regexp.MustCompile(`(?i)(?:^|[\s_,])([mun\x{b5}\x{3bc}]W|[mc]dB|dB[\x{b5}\x{3bc}u]|dBr|%|\x{2030})$`)
