package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"spanseal/internal/quantity"
)

// Names are what receivers call a link and where it lies, as the schedule has it.
// Nothing is judged by them.
type Names struct {
	Label   string `json:"label,omitempty"`   // as on the cable or the port
	Drawing string `json:"drawing,omitempty"` // number, and sheet
	Asset   string `json:"asset,omitempty"`   // in the owner's register
	Room    string `json:"room,omitempty"`
	Closure string `json:"closure,omitempty"`
	Tray    string `json:"tray,omitempty"`
	Colour  string `json:"colour,omitempty"` // of the strand
	// Latitude and Longitude are degrees as written, north and east positive (ISO 6709);
	// both or neither are given.
	Latitude  *quantity.Decimal `json:"latitude,omitempty"`
	Longitude *quantity.Decimal `json:"longitude,omitempty"`
	Notes     string            `json:"notes,omitempty"`
	// Further are the columns that we do not know, in the order of the file.
	Further Further `json:"further,omitempty"`
}

// NameKeys are the names in the order in which they are told, by their keys in JSON,
// without the further columns.
var NameKeys = []string{"label", "drawing", "asset", "room", "closure", "tray", "colour", "latitude", "longitude", "notes"}

// GivenName is one that is given: a key of NameKeys or the heading of a further column, and
// its text.
type GivenName struct{ Key, Text string }

// Given are the names that are given, in the order of NameKeys, and the further ones
// after them; none of nil.
func (n *Names) Given() (given, further []GivenName) {
	if n == nil {
		return nil, nil
	}
	texts := [...]string{n.Label, n.Drawing, n.Asset, n.Room, n.Closure, n.Tray, n.Colour, degrees(n.Latitude), degrees(n.Longitude), n.Notes}
	for i, text := range texts {
		if text != "" {
			given = append(given, GivenName{NameKeys[i], text})
		}
	}
	return given, n.Further
}

func degrees(d *quantity.Decimal) string {
	if d == nil {
		return ""
	}
	return d.String()
}

// Further are texts under headings of the schedule's own, each heading once. In JSON
// they are an object whose members are in the order of the file.
type Further []GivenName

func (f Further) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false) // whoever encodes the record decides
	b.WriteByte('{')
	for i, n := range f {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := e.Encode(n.Key); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := e.Encode(n.Text); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func (f *Further) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	t, err := d.Token()
	if err != nil || t == nil {
		return err
	}
	if t != json.Delim('{') {
		return errors.New("further columns are not an object")
	}
	for *f = nil; d.More(); {
		key, err := d.Token()
		if err != nil {
			return err
		}
		value, err := d.Token()
		if err != nil {
			return err
		}
		text, ok := value.(string)
		if !ok {
			return fmt.Errorf("further column %q is not a text", key)
		}
		*f = append(*f, GivenName{key.(string), text})
	}
	return nil
}
