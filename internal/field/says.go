package field

import "regexp"

// Says is what a column of an export says of its own that is no field of ours, by its
// heading: it may contradict what the job says.
type Says int

const (
	SaysNothing Says = iota
	SaysVerdict
	SaysLimit
	SaysMargin
	SaysMethod
	SaysCords
	SaysCount
)

// SaysOf reads a heading whose words are parted by spaces.
func SaysOf(heading string) Says {
	switch {
	case ofCords.MatchString(heading):
		return SaysCords
	case ofMargin.MatchString(heading):
		return SaysMargin
	case ofLimit.MatchString(heading):
		return SaysLimit
	case ofVerdict.MatchString(heading):
		return SaysVerdict
	case ofMethod.MatchString(heading):
		return SaysMethod
	}
	return SaysNothing
}

// SpeaksOfMethod reports whether a text names the reference method or the cords.
func SpeaksOfMethod(text string) bool { return ofMethod.MatchString(text) || ofCords.MatchString(text) }

var (
	ofVerdict = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:result|verdict|status|pass ?/ ?fail|p ?/ ?f|pass|bewertung|ergebnis|résultat|resultado|judg(?:e)?ment)(?:$|[^\pL])`)
	ofLimit   = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:limits?|allowances?|budgets?|thresholds?|max(?:imum)?|grenzwert|limite|límite)(?:$|[^\pL])`)
	ofMargin  = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:margin|headroom|reserve|marge|margen)(?:$|[^\pL])`)
	ofMethod  = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:ref(?:erence)? ?method|reference|ref|test ?method|method|methode|méthode|método|referenzmethode)(?:$|[^\pL])`)
	ofCords   = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:test ?cords?|ref(?:erence)? ?cords?|cords?|jumpers?|patch ?cords?|launch|prüfschnur|messkabel)(?:$|[^\pL])`)
	// Failed finds the words of a verdict that something failed.
	Failed = regexp.MustCompile(`(?i)^(?:\*?fail(?:ed|ure)?\*?|f|nok|not ok|n\.?i\.?o\.?|no|bad|échec|fallo|nicht bestanden|rejected?|✗|✘|x)$`)
)

// UnitColumn heads columns that give the unit of each row's number.
var UnitColumn = regexp.MustCompile(`(?i)^(?:units?|uom|einheit(?:en)?|unités?|unidad(?:es)?)$`)
