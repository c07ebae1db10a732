package method

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// columns are those of the schedule that say how a link is measured.
var columns = []struct {
	name  string
	field field.Field
}{
	{"reference", field.ReferenceMethod}, {"test_cords", field.TestCords}, {"launch", field.Launch}, {"software", field.Software}, {"group_index", field.GroupIndex},
}

// Terms reads what of a link departs from the job, nil where nothing does: text gives
// what stands in a column of its row, and fault complains of it.
func Terms(link *record.Link, require *record.Require, text func(column string) string, fault func(column, code, message, want, fix string)) *record.Terms {
	wrong := func(column, code, message, want, fix string) { fault(column, code, message, want, fix) }
	var said Said
	take := func(to *Said, column string, f field.Field) {
		if t := text(column); t != "" {
			if want := to.Take(f, t); want != "" {
				wrong(column, "unknown-value", fmt.Sprintf("%q is not understood as %s", t, f.Noun()), want, "")
			}
		}
	}
	for _, c := range columns {
		take(&said, c.name, c.field)
	}
	var again Said // by the name that files of readings have for it
	take(&again, "reference_method", field.ReferenceMethod)
	if said.Reference != "" && again.Reference != "" && said.Reference != again.Reference {
		wrong("reference_method", "method-contradicts", fmt.Sprintf("link %q has reference %s and reference_method %s", link.ID, said.Reference, again.Reference), "", "keep one of the two columns")
	}
	if again.Reference != "" {
		said.Reference = again.Reference
	}
	if misfit := Misfit(said.Reference, link.MatedPairs); misfit != "" {
		pairs := fmt.Sprintf("%d mated pairs", link.MatedPairs)
		if link.MatedPairs == 1 {
			pairs = "1 mated pair"
		}
		wrong("mated_pairs", "method-contradicts", fmt.Sprintf("link %q has %s, and %s", link.ID, pairs, misfit), "",
			"correct reference or mated_pairs; both ends of the link count")
	}
	var t record.Terms
	if said.Method != (record.Method{}) {
		t.Method = &said.Method
	}
	t.Witness = text("witness")
	link.Exempt, t.NotAt = exemptions(link.Exempt)
	for nm := range t.NotAt {
		if required := require.Wavelengths[link.Mode]; link.Mode != "" && !slices.Contains(required, nm) {
			wrong("exempt", "exempt-from-nothing", fmt.Sprintf("link %q is exempt from %d nm, at which the job does not require it to be measured", link.ID, nm),
				"want one of "+strings.Trim(fmt.Sprint(required), "[]")+" nm", "correct the wavelength, or remove the exemption")
		}
	}
	if t.Method == nil && t.Witness == "" && t.NotAt == nil {
		return nil
	}
	return &t
}

// ofWavelengths is an exemption from wavelengths, with its reason.
var ofWavelengths = regexp.MustCompile(`^(\d{3,4}(?: ?nm)?(?:\s*(?:,|and|&)\s*\d{3,4}(?: ?nm)?)*)\s*:\s*(\S.*)$`)

var wavelength = regexp.MustCompile(`\d{3,4}`)

// exemptions reads what a schedule exempts: parts between "|", each "1550: reason" for
// a wavelength, "1310, 1550 nm: reason" for several, and any other text the reason for
// measuring in one direction only.
func exemptions(text string) (direction string, notAt map[int]string) {
	var others []string
	for part := range strings.SplitSeq(text, "|") {
		m := ofWavelengths.FindStringSubmatch(strings.TrimSpace(part))
		if m == nil {
			others = append(others, part)
			continue
		}
		for _, digits := range wavelength.FindAllString(m[1], -1) {
			nm, _ := quantity.Whole(digits)
			if notAt == nil {
				notAt = map[int]string{}
			}
			notAt[nm] = m[2]
		}
	}
	return strings.TrimSpace(strings.Join(others, "|")), notAt
}
