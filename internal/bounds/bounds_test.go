package bounds

import (
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
)

func TestValues(t *testing.T) {
	for _, test := range []struct {
		text string
		want int
	}{
		{`7`, 0}, {`{}`, 1}, {`[1,2,3]`, 3}, {`{"a":{"b":[]}}`, 3}, {`"{[,"`, 0}, {`"a\"{[,"`, 0}, {`"a\\",[`, 2}, {``, 0}, {`"\`, 0},
	} {
		if got := Values([]byte(test.text)); got != test.want {
			t.Errorf("%s: %d, want %d", test.text, got, test.want)
		}
	}
	var list []int
	if err := Unmarshal([]byte(`[1,2,3]`), 3, &list); err != nil || len(list) != 3 {
		t.Errorf("%v, %v", list, err)
	}
	if err := Unmarshal([]byte(`[1,2,3]`), 2, &list); !errors.Is(err, ErrTooLarge) {
		t.Errorf("three values are read where two are allowed: %v", err)
	}
}

// endless is a reader that never ends, and says how much was taken of it.
type endless struct {
	text  string
	taken int64
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.text[(e.taken+int64(i))%int64(len(e.text))]
	}
	e.taken += int64(len(p))
	return len(p), nil
}

// TestWindow: whatever never ends is given up on soon, and what is many small
// values is read to the total.
func TestWindow(t *testing.T) {
	const total, most = 4 << 20, 1 << 20
	for _, test := range []struct {
		name, head, more string
		far              int64 // how much may be taken
	}{
		{"a text", `"`, "a", most + 3*chunk},
		{"a number", ``, "1", most + 3*chunk},
		{"a list in a list", `[`, "[0],", total + 3*chunk},
		{"depth", ``, "[", most + 3*chunk},
		{"elements", `[`, `{"a":"b"},`, total + 3*chunk},
		{"members", `{`, `"a":{"b":1},`, total + 3*chunk},
		{"blanks", ``, " ", most + 3*chunk},
	} {
		t.Run(test.name, func(t *testing.T) {
			from := &endless{text: test.more}
			_, w := Decode(io.MultiReader(strings.NewReader(test.head), from), total, most)
			if err := w.Discard(); err == nil {
				t.Error("it came to an end")
			}
			if from.taken > test.far {
				t.Errorf("%d bytes were taken, want at most %d", from.taken, test.far)
			}
		})
	}
	d, _ := Decode(strings.NewReader(`{"a":[1,{"b":"`+strings.Repeat("b", 3*chunk)+`"}],"c":2}`), 1<<20, 4*chunk)
	var v any
	if err := d.Decode(&v); err != nil {
		t.Error(err)
	}
	d, w := Decode(strings.NewReader(`[1,"`+strings.Repeat("b", 8*chunk)+`"]`), 1<<20, 1<<20)
	if _, err := d.Token(); err != nil {
		t.Fatal(err)
	}
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	w.Most = chunk
	if err := d.Decode(&v); !errors.Is(err, ErrTooLarge) {
		t.Errorf("a value of eight chunks is read where one is allowed: %v", err)
	}
	var raw json.RawMessage
	d, w = Decode(strings.NewReader(`[{"a":1},2,["x"]] 7`), 100, 100)
	if err := w.Discard(); err != nil {
		t.Error(err)
	}
	if err := d.Decode(&raw); err != nil || string(raw) != "7" {
		t.Errorf("behind what was skipped stands %s, %v", raw, err)
	}
}
