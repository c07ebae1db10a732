package asset

import (
	"bytes"
	"encoding/json"

	"spanseal/internal/quantity"
)

// geoJSON is the links with coordinates as one FeatureCollection (RFC 7946), a feature a
// line. A position is longitude, then latitude (section 3.1.1); the coordinates are taken
// to be of WGS 84 (section 4), which names no other system.
func (e *Export) geoJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteString(`{"type":"FeatureCollection","features":[`)
	parted := ""
	for r := range e.links(placed) {
		b.WriteString(parted + "\n" + `{"type":"Feature","id":`)
		parted = ","
		if err := encode(&b, e.Facts.Job.Number+"/"+r.Link.ID); err != nil {
			return nil, err
		}
		b.WriteString(`,"geometry":{"type":"Point","coordinates":[` + r.Link.Longitude.String() + "," + r.Link.Latitude.String() + `]},"properties":{`)
		for i, m := range e.members(r) {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := encode(&b, m.key); err != nil {
				return nil, err
			}
			b.WriteByte(':')
			if err := encode(&b, m.value); err != nil {
				return nil, err
			}
		}
		b.WriteString("}}")
	}
	b.WriteString("\n]}\n")
	return b.Bytes(), nil
}

// encode writes a value. The digits of a decimal are a number of JSON as they are (RFC
// 8259, section 6), and no float is made of them.
func encode(b *bytes.Buffer, value any) error {
	if d, ok := value.(quantity.Decimal); ok {
		b.WriteString(d.String())
		return nil
	}
	j := json.NewEncoder(b)
	j.SetEscapeHTML(false)
	if err := j.Encode(value); err != nil {
		return err
	}
	b.Truncate(b.Len() - 1) // the line feed
	return nil
}
