package truth

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The order of ANSI/TIA-598-D for numbers 1 to 12, as a public encyclopedia's page on
// TIA-598-C quotes it; 13 to 24 have a black tracer, black a yellow one (recalled).
var tia598 = strings.Fields("blue orange green brown slate white red black yellow violet rose aqua " +
	"blue/black orange/black green/black brown/black slate/black white/black red/black black/yellow yellow/black violet/black rose/black aqua/black")

// spoken are other words for colours that random jobs write.
var spoken = map[string]string{"Blau": "blue", "BK": "black", "verde": "green", "gray": "slate"}

func (c *colours) write(p func(string, ...any)) {
	if c.Title == "" {
		return
	}
	per := ""
	if c.PerTube > 0 {
		per = fmt.Sprintf(", fibres_per_tube: %d", c.PerTube)
	}
	if c.Sequence == nil {
		p("colours: {table: ansi-tia-598%s}", per)
	} else {
		p("colours: {title: %q, sequence: [%s]%s}", c.Title, strings.Join(c.Sequence, ", "), per)
	}
}

// paint gives the job a colour table, and links colours and tubes that fit or do not.
// It has dice of its own, so that the rest of the job is as it was without.
func paint(n uint64, j *job) {
	d := rand.New(rand.NewPCG(n, 598))
	if d.IntN(3) > 0 {
		return
	}
	j.Colours = colours{Title: "ANSI/TIA-598-D"}
	if d.IntN(3) == 0 {
		j.Colours = colours{Title: "Harbour colours", Sequence: []string{"green", "yellow", "white", "sea blue"}}
	}
	j.Colours.PerTube = []int{0, 2, 12}[d.IntN(3)]
	for i := range j.Links {
		l := &j.Links[i]
		l.Colour = []string{"", "blue", "Blau", "BK", "sea blue", "sky", "verde with black tracer", "gray"}[d.IntN(8)]
		l.Tube = []string{"", "1", "2", "blue", "north"}[d.IntN(5)]
	}
}

// of are number and colour of a link's tube and strand, 0 and "" where nobody knows.
func (c *colours) of(l *link) (strand int, colour string, tube int, tubeColour string) {
	at := func(n int) string {
		list := c.Sequence
		if list == nil {
			list = tia598
		}
		if n < 1 || n > len(list) {
			return ""
		}
		return list[n-1]
	}
	strand, _ = strconv.Atoi(l.Strand)
	tube, _ = strconv.Atoi(l.Tube)
	if c.PerTube > 0 {
		for tube = 1; strand > c.PerTube; tube++ {
			strand -= c.PerTube
		}
	}
	return strand, at(strand), tube, at(tube)
}

// hue is the text of a hue that a statement gives.
func hue(v any) string {
	m, _ := v.(map[string]any)
	args, _ := m["args"].(map[string]any)
	name, _ := args["colour"].(string)
	switch m["code"] {
	case "hue.plain":
		seen("hue.plain")
		return name
	case "hue.traced":
		seen("hue.traced")
		return fmt.Sprint(name, "/", args["tracer"])
	}
	return ""
}

// named reports whether a text of a schedule has a word for a colour of the table.
func (c *colours) named(text string) bool {
	_, known := spoken[strings.Fields(text + " x")[0]]
	return known || text == "blue" || text == "sea blue" || slices.Contains(c.Sequence, text)
}

// wrong reports whether the text names another colour than the table's.
func (c *colours) wrong(text, want string) bool {
	if text == want || !c.named(text) {
		return false
	}
	first := strings.Fields(text)[0]
	if first == "sea" { // of a table that has no such colour, the word that it knows
		first = "blue"
	}
	if means := spoken[first]; means != "" {
		first = means
	}
	name, tracer, _ := strings.Cut(want, "/")
	return first != name || strings.Contains(text, "black tracer") && tracer != "black"
}

var colourCheckers = map[string]checker{
	"colour-code.strand": func(j *job, s *said) error {
		_, colour, _, _ := j.Colours.of(s.link)
		return is(colour != "" && hue(s.Args["wanted"]) == colour && s.text("given") == s.link.Colour && s.text("strand") == s.link.Strand && s.text("table") == j.Colours.Title && j.Colours.wrong(s.link.Colour, colour))
	},
	"colour-code.tube": func(j *job, s *said) error {
		_, _, tube, colour := j.Colours.of(s.link)
		return is(colour != "" && hue(s.Args["wanted"]) == colour && s.text("given") == s.link.Tube && s.text("tube") == fmt.Sprint(tube) && s.text("table") == j.Colours.Title && j.Colours.wrong(s.link.Tube, colour))
	},
	"colour-code.tube-number": func(j *job, s *said) error {
		_, _, tube, _ := j.Colours.of(s.link)
		return is(s.whole("tube") == tube && s.whole("per") == j.Colours.PerTube && tube > 0 && s.text("given") == s.link.Tube && s.text("given") != fmt.Sprint(tube) && s.text("strand") == s.link.Strand)
	},
	"colour-code.unknown": func(j *job, s *said) error {
		return is(s.text("table") == j.Colours.Title && s.text("given") == s.link.Colour && s.link.Colour != "" && !j.Colours.named(s.link.Colour))
	},
}

// TestColoursPlanted makes what is asked about colours false; each must be caught.
func TestColoursPlanted(t *testing.T) {
	j := &job{Colours: colours{Title: "ANSI/TIA-598-D", PerTube: 12}}
	l := &link{Strand: "34", Tube: "2", Colour: "Blau"} // fibre 10 of tube 3
	red := map[string]any{"code": "hue.plain", "args": map[string]any{"colour": "violet"}}
	for _, test := range []struct {
		code string
		args map[string]any
		bad  map[string]any
	}{
		{"colour-code.strand", map[string]any{"strand": "34", "given": "Blau", "wanted": red, "table": "ANSI/TIA-598-D"}, map[string]any{"wanted": map[string]any{"code": "hue.plain", "args": map[string]any{"colour": "rose"}}, "given": "rot", "strand": "10"}},
		{"colour-code.tube-number", map[string]any{"strand": "34", "given": "2", "tube": 3, "per": 12}, map[string]any{"tube": 2, "per": 6, "given": "1"}},
	} {
		say := func() error { return colourCheckers[test.code](j, &said{Args: test.args, link: l}) }
		if err := say(); err != nil {
			t.Errorf("%s: %v", test.code, err)
		}
		for name, value := range test.bad {
			was := test.args[name]
			if test.args[name] = value; say() == nil {
				t.Errorf("%s: %s %v was not caught", test.code, name, value)
			}
			test.args[name] = was
		}
	}
}
