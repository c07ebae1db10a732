// Package colour knows which colour a fibre and a tube have by their numbers, and what
// there is to ask where a schedule has another.
//
// A table is a YAML file: id, title, provenance, the sequence of colours from number
// one, each "blue" or, with a tracer, "blue/black"; and under words what else each
// colour is called. [Parse] reads one, [Of] applies a job's colours to a link.
//
// A number is digits only. With a number of fibres per tube, strands are counted
// through the cable: strand 34 at twelve a tube is fibre 10 of tube 3. Without one, a
// strand's number is its own in its tube. Beyond the end of the sequence nothing has a
// colour.
package colour

import (
	"strconv"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Table is one that comes with the program.
type Table struct {
	ID         string              `yaml:"id"`
	Title      string              `yaml:"title"`
	Provenance string              `yaml:"provenance"`
	Sequence   []string            `yaml:"sequence"`
	Words      map[string][]string `yaml:"words"`
}

// Parse reads a table of ours, which tests hold to be right.
func Parse(data []byte) (*Table, error) {
	var t Table
	d := yaml.NewDecoder(strings.NewReader(string(data)))
	d.KnownFields(true)
	return &t, d.Decode(&t)
}

// Settle gives a job's colours what the table says: its title and sequence, unless the
// job has its own, and its words.
func (t *Table) Settle(c *record.Colours) {
	if c.Table == t.ID {
		c.Title, c.Sequence = t.Title, nil
		for _, text := range t.Sequence {
			c.Sequence = append(c.Sequence, record.ParseHue(text))
		}
	}
	if c.Words == nil {
		c.Words = map[string]string{}
	}
	for name, more := range t.Words {
		c.Words[name] = name
		for _, word := range more {
			c.Words[word] = name
		}
	}
}

// Of applies the job's colours to a link; ok is false where nothing is known by them.
func Of(c *record.Colours, l *record.Link) (code record.Coded, ok bool) {
	if c == nil {
		return code, false
	}
	strand, tube := number(l.Strand), number(l.Tube)
	if c.PerTube > 0 && strand > 0 {
		tube, strand = (strand-1)/c.PerTube+1, (strand-1)%c.PerTube+1
	}
	code = record.Coded{Fibre: strand, Colour: hue(c, strand), Tube: tube, Hue: hue(c, tube)}
	return code, !code.Colour.IsZero() || !code.Hue.IsZero()
}

func hue(c *record.Colours, n int) record.Hue {
	if n < 1 || n > len(c.Sequence) {
		return record.Hue{}
	}
	return c.Sequence[n-1]
}

// number reads digits; it is 0 for any other text.
func number(text string) int {
	if len(text) > 6 || strings.TrimLeft(text, "0123456789") != "" {
		return 0
	}
	n, _ := strconv.Atoi(text)
	return n
}

// Questions are what there is to ask about the colours of a link: a colour of the
// schedule that is not the number's, or that nobody knows, and a tube that the
// strand's number contradicts.
func Questions(c *record.Colours, l *record.Link) (ask []statement.Statement) {
	code, ok := Of(c, l)
	if !ok {
		return nil
	}
	given := func(part, number, text string, want record.Hue) {
		if text == "" || want.IsZero() {
			return
		}
		switch has := read(c, text); {
		case has.IsZero():
			ask = append(ask, statement.New("colour-code.unknown", statement.Name(text), statement.Name(c.Title)))
		case has.Name != want.Name || has.Tracer != "" && has.Tracer != want.Tracer:
			ask = append(ask, statement.New("colour-code."+part, statement.Name(number), statement.Name(text), Said(want), statement.Name(c.Title)))
		}
	}
	if l.Names != nil {
		given("strand", l.Strand, l.Colour, code.Colour)
	}
	switch n := number(l.Tube); {
	case l.Tube == "":
	case n > 0 && n != code.Tube:
		ask = append(ask, statement.New("colour-code.tube-number", statement.Name(l.Strand), statement.Name(l.Tube), statement.Count(code.Tube), statement.Count(c.PerTube)))
	case n == 0 && !read(c, l.Tube).IsZero(): // a tube may have a name that is no colour
		given("tube", strconv.Itoa(code.Tube), l.Tube, code.Hue)
	}
	return ask
}

// Said is a hue as it is said.
func Said(h record.Hue) statement.Statement {
	name := statement.Word{Group: "colour", Code: h.Name}
	if h.Tracer == "" {
		return statement.New("hue.plain", name)
	}
	return statement.New("hue.traced", name, statement.Word{Group: "colour", Code: h.Tracer})
}

// read reads the colour that somebody wrote: as the sequence has it, or by the known
// words in it, of which the second names the tracer.
func read(c *record.Colours, text string) (h record.Hue) {
	text = strings.ToLower(text)
	for _, one := range c.Sequence {
		if strings.ToLower(one.String()) == text {
			return one
		}
	}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
		name, known := c.Words[word]
		for _, one := range c.Sequence {
			if strings.ToLower(one.Name) == word {
				name, known = one.Name, true
			}
		}
		switch {
		case !known:
		case h.Name == "":
			h.Name = name
		case h.Tracer == "":
			h.Tracer = name
		}
	}
	return h
}
