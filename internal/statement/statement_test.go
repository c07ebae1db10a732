package statement

import (
	"encoding/json"
	"testing"
)

// TestExamples: every code has an example of the right kinds, which is the same
// after it was written and read.
func TestExamples(t *testing.T) {
	for _, e := range Codes() {
		t.Run(e.Code, func(t *testing.T) {
			s := New(e.Code, e.Example...) // panics where a kind is wrong
			if e.Rests == "" {
				t.Error("nothing says what it rests on")
			}
			b, err := json.Marshal(s)
			if err != nil {
				t.Fatal(err)
			}
			var back Statement
			if err := json.Unmarshal(b, &back); err != nil {
				t.Fatal(err)
			}
			if back.Code != s.Code || back.Key() != s.Key() {
				t.Errorf("%s came back as %s", b, back.Key())
			}
		})
	}
}

// TestUnknown: what this program does not know keeps its text.
func TestUnknown(t *testing.T) {
	for _, c := range []struct{ name, json string }{
		{"a text of an earlier form", `"Who measured this?"`},
		{"a code of a later program", `{"code":"later.code","args":{"a":1},"text":"Who measured this?"}`},
		{"arguments of another kind", `{"code":"missing-wavelength","args":{"nm":"x"},"text":"Who measured this?"}`},
		{"arguments missing", `{"code":"missing-wavelength","text":"Who measured this?"}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			var s Statement
			if err := json.Unmarshal([]byte(c.json), &s); err != nil {
				t.Fatal(err)
			}
			if s.Code != "" || s.Text != "Who measured this?" {
				t.Errorf("got %+v", s)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	for _, e := range Codes() {
		b, _ := json.Marshal(New(e.Code, e.Example...))
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var s Statement
		if json.Unmarshal(b, &s) != nil || s.Code == "" {
			return
		}
		var back Statement
		out, err := json.Marshal(s)
		if err != nil || json.Unmarshal(out, &back) != nil || back.Key() != s.Key() {
			t.Errorf("%s came back as %s", out, back.Key())
		}
	})
}
