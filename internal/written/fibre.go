package written

import (
	"fmt"
	"regexp"
	"strings"

	"spanseal/internal/record"
)

// Fibres by the names of ISO/IEC 11801-1 and of the recommendations ITU-T G.65x,
// and older ones by those of IEEE Std 802.3 (table 38-2, clause 68): the core in
// µm and the modal bandwidth in MHz·km at 850 nm, or the grade (all from memory).
var (
	multimodeFibre  = regexp.MustCompile(`^(OM[1-5]|G\.651(\.1)?|62\.5/160|50/400|FDDI)$`)
	singlemodeFibre = regexp.MustCompile(`^(OS1|OS1a|OS2|G\.65[2-7](\.[A-E][1-3]?)?)$`)
	onlyDiameters   = regexp.MustCompile(`^([89]|10|50|62\.5|100)/1(25|40)\b`)
)

// Fibre reads the kind of a fibre and so its mode, or says why it cannot.
func Fibre(text string) (name string, mode record.Mode, why string) {
	name = strings.ToUpper(strings.TrimSpace(strings.TrimPrefix(strings.ToUpper(text), "ITU-T")))
	name = strings.Replace(name, ",", ".", 1) // 62,5/160
	if name == "OS1A" {
		name = "OS1a"
	}
	switch {
	case multimodeFibre.MatchString(name):
		return name, record.Multimode, ""
	case singlemodeFibre.MatchString(name):
		return name, record.Singlemode, ""
	case onlyDiameters.MatchString(name):
		return name, "", fmt.Sprintf("%q is the diameters of core and cladding, which several kinds of fibre share", text)
	}
	return name, "", fmt.Sprintf("%q is not a kind of fibre", text)
}

// ways of making an end, by the words of the schedule; true where a fusion
// splice stands behind the connector.
var ways = map[string]bool{
	"spliced-on": true, "splice-on": true, "spliced": true, "pigtail": true,
	"factory": false, "field": false, "field-polished": false, "": false,
}

var connector = regexp.MustCompile(`^([A-Za-z][A-Za-z0-9-]{0,11})(?:/(PC|UPC|APC))?$`)

// End reads what an end of a link is, such as "spliced-on LC/UPC" or "factory LC";
// "none" is an end without a connector. It says why it cannot, and what is wanted.
func End(text string) (e record.End, why, want string) {
	if e.Text = text; text == "" || text == "none" {
		return e, "", ""
	}
	words := strings.Fields(text)
	way := strings.ToLower(strings.Join(words[:len(words)-1], "-"))
	spliced, known := ways[way]
	m := connector.FindStringSubmatch(words[len(words)-1])
	switch {
	case !known:
		return e, fmt.Sprintf("%q does not say how the connector was made", text), "want spliced-on, pigtail, factory or field before the connector"
	case m == nil:
		return e, fmt.Sprintf("%q does not name a connector", text), "want a connector such as LC/UPC or SC/APC; the polish is PC, UPC or APC"
	}
	e.SplicedOn, e.Connector, e.Polish = spliced, strings.ToUpper(m[1]), m[2]
	return e, "", ""
}
