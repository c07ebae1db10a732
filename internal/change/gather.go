package change

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/statement"
)

// section is where a statement stands in the list.
type section int

const (
	jobPart section = iota
	setPart
	filePart
	orderPart
	newLinks
	goneLinks
	verdictPart
	linkPart
	terminationPart
	readingPart
	limitPart
	questionPart
)

// gathering collects statements: what many links have in common is said once.
type gathering struct {
	groups []*gathered
	index  map[string]*gathered
	crowds map[string]*crowd
	moved  bool      // the links are in another order
	ways   [2]fields // how readings were made, by the old job and by the new one
}

// gathered is a statement, and the links that it is about.
type gathered struct {
	part  section
	code  string
	args  []statement.Argument // behind the links
	links []string             // nil where it is not about links
	crowd *crowd
}

// crowd is statements that differ in their values only. Where they are too many
// to be read, one says how many links they are about.
type crowd struct {
	most   int
	groups int
	links  map[string]bool
	say    func(links statement.Amount) statement.Statement
	said   bool
}

// tell adds a statement that is not about links.
func (g *gathering) tell(p section, code string, args ...statement.Argument) {
	g.groups = append(g.groups, &gathered{part: p, code: code, args: args})
}

// links adds a link to the statement that has its links first, then these arguments.
func (g *gathering) links(p section, link, code string, args ...statement.Argument) *gathered {
	key := code
	for _, a := range args {
		key += "\x00" + keyOf(a)
	}
	one := g.index[key]
	if one == nil {
		one = &gathered{part: p, code: code, args: args}
		if g.index == nil {
			g.index = map[string]*gathered{}
		}
		g.index[key] = one
		g.groups = append(g.groups, one)
	}
	if n := len(one.links); n == 0 || one.links[n-1] != link {
		one.links = append(one.links, link)
	}
	return one
}

// crowded adds a link to a statement of which there may be very many.
func (g *gathering) crowded(key string, most int, say func(statement.Amount) statement.Statement, p section, link, code string, args ...statement.Argument) {
	one := g.links(p, link, code, args...)
	c := g.crowds[key]
	if c == nil {
		c = &crowd{most: most, links: map[string]bool{}, say: say}
		if g.crowds == nil {
			g.crowds = map[string]*crowd{}
		}
		g.crowds[key] = c
	}
	c.links[link] = true
	if one.crowd == nil {
		one.crowd = c
		c.groups++
	}
}

// keyOf tells arguments apart.
func keyOf(v statement.Argument) string {
	switch v := v.(type) {
	case statement.Name:
		return string(v)
	case statement.Word:
		return v.Code
	case statement.Statement:
		return v.Key() + v.Text
	case statement.List:
		keys := make([]string, len(v))
		for i, one := range v {
			keys[i] = keyOf(one)
		}
		return strings.Join(keys, "\x01")
	case interface{ MarshalJSON() ([]byte, error) }:
		b, err := v.MarshalJSON()
		if err != nil {
			panic(err) // every value that is made here encodes
		}
		return string(b)
	}
	panic("change: an argument that is not told apart")
}

// list is everything that was gathered, in order.
func (g *gathering) list() (out []statement.Statement) {
	slices.SortStableFunc(g.groups, func(a, b *gathered) int { return cmp.Compare(a.part, b.part) })
	for _, one := range g.groups {
		if c := one.crowd; c != nil && c.groups > c.most {
			if !c.said {
				out, c.said = append(out, c.say(statement.Amount{N: len(c.links), Of: "link"})), true
			}
			continue
		}
		args := one.args
		if one.links != nil {
			args = slices.Concat([]statement.Argument{statement.Few(one.links)}, args)
		}
		out = append(out, statement.New(one.code, args...))
	}
	return out
}
