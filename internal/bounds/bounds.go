// Package bounds stops JSON that is larger or fuller than its reader asked for.
//
// encoding/json reads whatever it is given: a text of any length is held, and
// an empty object of three bytes becomes a structure of a hundred. A file that
// somebody sent may so take a thousand times its size in memory. Its depth is
// bounded by encoding/json itself, at 10,000.
package bounds

import (
	"encoding/json"
	"errors"
	"io"
)

// ErrTooLarge reports JSON that is larger or fuller than was asked for.
var ErrTooLarge = errors.New("it is larger or fuller than any that spanseal writes")

// Window lets a decoder read a stream of JSON value by value, and never hold a
// large one. Each value that is decoded, and each token, has at most Most bytes;
// it may be set anew between two of them.
type Window struct {
	Most    int64
	from    io.Reader
	decoder *json.Decoder
	read    int64
	total   int64
	skipped int
}

// maxSkipped is how many members and elements of a stream are skipped: each
// takes its time, however short it is.
const maxSkipped = 1_000_000

// chunk is how far a decoder may read ahead of the value that it is at.
const chunk = 64 << 10

// Decode returns a decoder of a stream of at most so many bytes, whose values
// have at most so many each. Both report [ErrTooLarge].
func Decode(from io.Reader, total, most int64) (*json.Decoder, *Window) {
	w := &Window{Most: most, from: from, total: total}
	w.decoder = json.NewDecoder(w)
	return w.decoder, w
}

// Read passes on what the decoder may see.
func (w *Window) Read(p []byte) (int, error) {
	if w.read > w.total || w.read-w.decoder.InputOffset() > w.Most+chunk {
		return 0, ErrTooLarge
	}
	n, err := w.from.Read(p[:min(len(p), chunk)])
	w.read += int64(n)
	return n, err
}

// Discard reads a value that nobody asked for, of a list or an object one element
// after another.
func (w *Window) Discard() error {
	d := w.decoder
	t, err := d.Token()
	open, nested := t.(json.Delim)
	if w.skipped++; w.skipped > maxSkipped {
		return ErrTooLarge
	}
	if err != nil || !nested {
		return err
	}
	var element discarded
	for d.More() {
		if open == '{' {
			if _, err := d.Token(); err != nil {
				return err
			}
		}
		if err := d.Decode(&element); err != nil {
			return err
		}
		if w.skipped++; w.skipped > maxSkipped {
			return ErrTooLarge
		}
	}
	_, err = d.Token()
	return err
}

// discarded takes any value and keeps nothing of it.
type discarded struct{}

func (*discarded) UnmarshalJSON([]byte) error { return nil }

// Values counts the members and elements of a JSON text, those of its parts
// included, without reading it. A text that is no JSON has some number.
func Values(text []byte) int {
	n, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case !quoted && (c == ',' || c == '{' || c == '['):
			n++
		}
	}
	return n
}

// Unmarshal is [json.Unmarshal] of a text of at most so many values.
func Unmarshal(text []byte, values int, to any) error {
	if Values(text) > values {
		return ErrTooLarge
	}
	return json.Unmarshal(text, to)
}
