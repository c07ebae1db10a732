package record

import "strings"

// Hue is a colour of a fibre or a tube: a name as its table has it, and that of the
// tracer along it, or "". As a text it is "blue", or "blue/black" with a tracer.
type Hue struct{ Name, Tracer string }

func (h Hue) IsZero() bool { return h == Hue{} }

func (h Hue) String() string {
	if h.Tracer == "" {
		return h.Name
	}
	return h.Name + "/" + h.Tracer
}

// ParseHue reads the text of a hue.
func ParseHue(text string) Hue {
	name, tracer, _ := strings.Cut(text, "/")
	return Hue{strings.TrimSpace(name), strings.TrimSpace(tracer)}
}

func (h Hue) MarshalText() ([]byte, error) { return []byte(h.String()), nil }

func (h *Hue) UnmarshalText(text []byte) error {
	*h = ParseHue(string(text))
	return nil
}

// Colours say which colour a number has, in the job's cables.
type Colours struct {
	// Table is the id of a table that comes with the program, or "" of the job's own.
	Table string `json:"table,omitempty"`
	Title string `json:"title"` // as it is printed
	// PerTube is how many fibres a tube holds, where strands are counted through the
	// cable; 0 where they are counted in their tube.
	PerTube  int   `json:"fibres_per_tube,omitempty"`
	Sequence []Hue `json:"sequence"` // of number one, two, and so on
	// Words are further names of colours, in small letters, and which they mean.
	Words map[string]string `json:"-"`
}

// Coded is which number and colour a strand and its tube have by the job's colours.
// Numbers are 0 and hues zero where they are not known.
type Coded struct {
	Fibre  int `json:"fibre,omitempty"` // in its tube, or in the cable where no tube is known
	Colour Hue `json:"colour,omitzero"`
	Tube   int `json:"tube,omitempty"`
	Hue    Hue `json:"tube_colour,omitzero"`
}
