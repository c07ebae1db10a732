package intake

import (
	"fmt"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// strand is a link by its place in a cable, as instruments know it that know no
// names of links.
type strand struct{ cable, number string }

// strandKey makes 011 and 11 the same: a strand's number is a number.
func strandKey(cable, text string) strand {
	if n, ok := quantity.Whole(text); ok {
		text = strconv.Itoa(n)
	}
	return strand{cable, text}
}

// twice marks what two links of the schedule share.
const twice = -1

// indexStrands notes every link by its strand, with and without its cable.
func (r *reader) indexStrands() {
	r.strands = map[strand]int32{}
	for i, l := range r.facts.Links {
		if l.Strand == "" {
			continue
		}
		keys := []strand{strandKey(l.Cable, l.Strand)}
		if l.Cable != "" {
			keys = append(keys, strandKey("", l.Strand))
		}
		for _, k := range keys {
			if _, seen := r.strands[k]; seen {
				r.strands[k] = twice
			} else {
				r.strands[k] = int32(i)
			}
		}
	}
}

// linkByStrand finds the link of a row that gives a strand, and perhaps a cable,
// instead of a link.
func (a *assembler) linkByStrand(row *table.Row, g *mapping.ReadingSlots) (id string, index int32, alias string) {
	cable, number := a.text(row, &g[field.Cable]), a.text(row, &g[field.Strand])
	if number == "" {
		a.missing(row, field.Strand, &g[field.Strand], "link and no strand", "the name of a link in "+a.r.scheduled+", or the number of its strand")
		return "", 0, ""
	}
	if a.r.strands == nil {
		a.r.indexStrands()
	}
	what := fmt.Sprintf("strand %q", number)
	if cable != "" {
		what += fmt.Sprintf(" of cable %q", cable)
	}
	i, ok := a.r.strands[strandKey(cable, number)]
	switch {
	case ok && i != twice:
		return a.r.facts.Links[i].ID, i, ""
	case a.r.anyLink:
		name := strings.TrimSpace(cable + " " + number)
		if a.r.survey {
			name = strings.TrimPrefix(cable+"-"+number, "-")
		}
		if id, index, alias = a.linkNamed(row, &g[field.Strand], name); id != "" {
			l := a.r.link(index)
			l.Cable, l.Strand = strings.Clone(cable), strings.Clone(number)
		}
		return id, index, alias
	}
	p := diag.Problem{Code: "unknown-link", Message: "no link of " + a.r.scheduled + " has " + what, Fix: "correct cable and strand in " + a.r.scheduled + ", or give the cable in the file's readings entry, such as cable: C1"}
	if ok {
		p.Code, p.Message = "which-link", "two links of "+a.r.scheduled+" have "+what
		p.Fix = "map the cable too, or give each link its own cable and strand in " + a.r.scheduled
	}
	if _, _, _, isLink := a.r.findLink(number); isLink {
		p.Want, p.Fix = "this is the name of a link", "map the column as link, under columns in the file's readings entry"
	}
	a.explain(&p, row, field.Strand, &g[field.Strand], false)
	a.fault(row, g[field.Strand].Column, p)
	return "", 0, ""
}
