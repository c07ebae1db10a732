package form

import (
	"bytes"
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

// TestIndent holds the indentation against that of encoding/json: the same lines
// as far as they are broken, and the same content however they are.
func TestIndent(t *testing.T) {
	var value func(depth int) *rapid.Generator[any]
	value = func(depth int) *rapid.Generator[any] {
		kinds := []*rapid.Generator[any]{
			rapid.Just[any](nil), rapid.Bool().AsAny(), rapid.Int().AsAny(), rapid.String().AsAny(),
			rapid.SampledFrom([]any{`"`, `\`, `\"`, "{", "[],:", "<&>", "\u2028"}),
		}
		if depth > 0 {
			inner := value(depth - 1)
			kinds = append(kinds, rapid.SliceOfN(inner, 0, 4).AsAny(), rapid.MapOfN(rapid.String(), inner, 0, 4).AsAny())
		}
		return rapid.OneOf(kinds...)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := value(4).Draw(t, "value")
		var compact, want, back bytes.Buffer
		if err := newEncoder(&compact).Encode(v); err != nil {
			t.Fatal(err)
		}
		if err := json.Indent(&want, compact.Bytes(), "", "  "); err != nil {
			t.Fatal(err)
		}
		const all = 9
		if got := indent(nil, compact.Bytes(), 0, all); string(got) != want.String() {
			t.Errorf("got\n%s\nwant\n%s", got, want.Bytes())
		}
		got := indent(nil, compact.Bytes(), 0, rapid.IntRange(0, 4).Draw(t, "levels"))
		if err := json.Compact(&back, got); err != nil || back.String()+"\n" != compact.String() {
			t.Errorf("%v: got\n%s\nof\n%s", err, got, compact.Bytes())
		}
	})
}

func TestEncode(t *testing.T) {
	got, err := Encode(map[string]any{"a": []any{}, "b": []any{map[string]any{"c": []int{1, 2}, "d": "x, {y}: z"}, 3}, "e": map[string]any{"f": map[string]int{"g": 1}}})
	if err != nil {
		t.Fatal(err)
	}
	const want = `{
  "a": [],
  "b": [
    {"c": [1, 2], "d": "x, {y}: z"},
    3
  ],
  "e": {
    "f": {"g": 1}
  }
}
`
	if string(got) != want {
		t.Errorf("got\n%s", got)
	}
}
