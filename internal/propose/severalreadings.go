package propose

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
)

// pairs recognises columns whose cells hold several values, such as 0.35/0.22,
// and says how the draft reads them.
func (p *proposer) pairs(said map[field.Field]string) (each []string) {
	for _, mark := range []string{"/", "|", ";", "&", "+"} {
		if mark == p.cellMark() {
			continue
		}
		n := 0
		var columns []*proposed
		for i := range p.columns {
			c := &p.columns[i]
			parts := c.parts(mark)
			if parts < 2 || c.name == "" || c.taken && c.Field != field.Wavelength {
				continue
			}
			if n == 0 {
				n = parts
			}
			if parts == n {
				columns = append(columns, c)
			}
		}
		if n == 0 || n > mapping.MaxParts {
			continue
		}
		if each = p.pairsOf(mark, n, columns, said); each != nil {
			p.split = mark
			p.setConstant("split", strconv.Quote(mark))
			p.saw("%d values in a cell, separated by %q", n, mark)
			return each
		}
	}
	return nil
}

func (p *proposer) pairsOf(mark string, n int, columns []*proposed, said map[field.Field]string) (each []string) {
	var wave *proposed
	for _, c := range columns {
		if c.Field == field.Wavelength {
			wave = c
		}
	}
	items := make([][]string, n)
	for _, c := range columns {
		if c == wave {
			continue
		}
		if c.Field == field.None && len(c.Wavelengths) == 0 && wave == nil {
			continue
		}
		if !c.Field.Measured() {
			if c.Field != field.None {
				continue
			}
			c.Field = field.Loss
			p.need("whether %q holds the loss, as the draft says", c.name)
		}
		fu, ok := p.valueField(c)
		if !ok {
			continue
		}
		c.taken = true
		for k := range n {
			item := []string{fmt.Sprintf("part: %d", k+1)}
			switch {
			case len(c.Wavelengths) == n:
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelengths[k]))
			case wave != nil:
				item = append(item, "wavelength_nm: "+strconv.Quote("{"+wave.bare()+"}"))
				wave.taken = true
				said[field.Wavelength] = wave.name
			case c.Wavelength > 0:
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelength))
			}
			if c.Direction != "" && said[field.Direction] == "" {
				item = append(item, "direction: "+c.Direction)
			} else if c.BothWays && n == 2 && said[field.Direction] == "" {
				item = append(item, "direction: "+[]string{"A-B", "B-A"}[k])
			} else if k == 0 && said[field.Direction] == "" && said[field.End] == "" {
				p.need("the direction of the values in %q: add direction: A-B or B-A to each item that is of one", c.name)
			}
			item = append(item, fu.Name()+": "+c.ref)
			items[k] = append(items[k], "{"+strings.Join(item, ", ")+"}")
		}
		if len(c.Wavelengths) != n && wave == nil && c.Wavelength == 0 && said[field.Wavelength] == "" {
			p.need("the wavelength of each value in %q: add wavelength_nm: 1310 to its item of each", c.name)
		}
	}
	for _, list := range items {
		each = append(each, list...)
	}
	return each
}

// severalLinks groups the columns of a row that holds readings of several links:
// Fibre 1, Loss 1, Fibre 2, Loss 2.
func (p *proposer) severalLinks(said map[field.Field]string) (each []string) {
	type member struct {
		tag  string
		link *proposed
	}
	var links []member
	for i := range p.columns {
		if c := &p.columns[i]; c.Field == field.Link && !c.taken && c.name != "" {
			links = append(links, member{c.tag(), c})
		}
	}
	if len(links) < 2 || len(links) > mapping.MaxParts {
		return nil
	}
	for i, m := range links {
		if m.tag == "" || slices.ContainsFunc(links[:i], func(o member) bool { return o.tag == m.tag }) {
			return nil
		}
	}
	var lines []string
	for _, m := range links {
		found := false
		for i := range p.columns {
			c := &p.columns[i]
			if !c.Field.Measured() || c.taken || c.tag() != m.tag {
				continue
			}
			fu, ok := p.valueField(c)
			if !ok {
				continue
			}
			item := []string{"link: " + strconv.Quote("{"+m.link.bare()+"}")}
			if c.Wavelength > 0 {
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelength))
			}
			if c.Direction != "" {
				item = append(item, "direction: "+c.Direction)
			}
			lines = append(lines, strings.Join(append(item, fu.Name()+": "+c.ref), ", "))
			found = true
		}
		if !found {
			return nil
		}
	}
	for _, m := range links {
		m.link.taken = true
		for i := range p.columns {
			if c := &p.columns[i]; c.Field.Measured() && c.tag() == m.tag {
				c.taken = true
			}
		}
	}
	said[field.Link], p.several = "several", true
	p.saw("%d links in a row", len(links))
	for _, l := range lines {
		each = append(each, "{"+l+"}")
	}
	return each
}

var wordIn = regexp.MustCompile(`[\pL\pN]+`)

// tag is what a heading says beside its field, wavelength, unit and way: a
// number or a word that tells columns of the same kind apart.
func (p *proposed) tag() string {
	name := strings.ToLower(field.Joined.Replace(field.WithoutUnit(p.name)))
	name = field.AToB.ReplaceAllString(field.BToA.ReplaceAllString(name, " "), " ")
	var rest []string
	for _, w := range wordIn.FindAllString(name, -1) {
		if nm, ok := quantity.Whole(w); ok && nm >= field.MinWavelength && nm <= field.MaxWavelength {
			continue
		}
		if s := field.SenseOf(w); s.Field == p.Field || w == "nm" || w == "db" || w == "no" || w == "dbm" {
			continue
		}
		if exp := field.Words[p.Field]; exp != nil && exp.MatchString(w) {
			continue
		}
		rest = append(rest, w)
	}
	return strings.Join(rest, " ")
}

// places are what parts of a name stand under, from the largest to the smallest.
var places = regexp.MustCompile(`(?i)^(?:building|room|rack|cabinet|closure|frame|odf|panel|patch panel|shelf|tray|cassette|module|slot|row|port|position|pos|gebäude|raum|schrank|feld|einschub|kassette|bâtiment|salle|baie|tiroir|plateau|edificio|sala|armario|bandeja|puerto)(?: ?(?:no|nr|id|name|number|#)\.?)?$`)

// linkOfPlaces makes the name of a link of the columns that say where it ends,
// where no column names it.
func (p *proposer) linkOfPlaces(said map[field.Field]string) string {
	var parts []string
	var names []string
	for i := range p.columns {
		if c := &p.columns[i]; !c.taken && places.MatchString(c.name) && c.empty+len(c.values) > 0 {
			parts = append(parts, "{"+c.bare()+"}")
			names = append(names, strconv.Quote(c.name))
			c.taken = true
			p.parts = append(p.parts, c)
		}
	}
	if len(parts) < 2 {
		for _, c := range p.parts {
			c.taken = false
		}
		p.parts = nil
		return ""
	}
	said[field.Link] = strings.Join(parts, "/")
	p.need("whether links.csv makes its names of %s as the draft says: with / between them", strings.Join(names, ", "))
	return "link: " + strconv.Quote(said[field.Link])
}
