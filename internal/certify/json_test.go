package certify

import (
	"bytes"
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

// TestIndent holds the indentation against that of encoding/json.
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
		got, err := encode(v)
		if err != nil {
			t.Fatal(err)
		}
		var want bytes.Buffer
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		if err := e.Encode(v); err != nil {
			t.Fatal(err)
		}
		if string(got) != want.String() {
			t.Errorf("got\n%s\nwant\n%s", got, want.Bytes())
		}
	})
}
