package profile_test

import (
	"fmt"
	"reflect"
	"testing"

	"spanseal/internal/profile"
	"spanseal/internal/quantity"
	"spanseal/internal/written"
)

func column(cells ...string) profile.Column {
	var c profile.Counter
	for _, text := range cells {
		c.Take(text, quantity.Parse, func(text string) (written.Clock, error) {
			var day int
			_, err := fmt.Sscanf(text, "2026-11-%02d", &day)
			return written.Clock{Year: 2026, Month: 11, Day: day}, err
		})
	}
	return c.Column(3, "loss", []string{"loss"})
}

func TestColumn(t *testing.T) {
	for _, c := range []struct {
		name  string
		cells []string
		want  profile.Column
	}{
		{"nothing", nil, profile.Column{}},
		{"empty cells", []string{"", ""}, profile.Column{Empty: 2}},
		{"numbers by their size", []string{"9", "10", "2.5", "2.5"}, profile.Column{Values: 4, Type: "number", Least: "2.5", Greatest: "10", Distinct: 3}},
		{"numbers and what is none", []string{"1", "2", "OL", "---", "OL"}, profile.Column{Values: 5, Type: "text", Least: "---", Greatest: "OL", Distinct: 4}},
		{"mostly numbers", []string{"1", "2", "3", "OL", "", "OL"}, profile.Column{Values: 5, Empty: 1, Type: "number", Least: "1", Greatest: "3", Distinct: 4, Others: []string{"OL"}, OtherCount: 2}},
		{"days", []string{"2026-11-18", "2026-11-09", "later"}, profile.Column{Values: 3, Type: "time", Least: "2026-11-09", Greatest: "2026-11-18", Distinct: 3, Others: []string{"later"}, OtherCount: 1}},
		{"texts", []string{"b", "a", "b"}, profile.Column{Values: 3, Type: "text", Least: "a", Greatest: "b", Distinct: 2}},
		{"more others than are shown", []string{"1", "2", "3", "4", "a", "b", "c", "d"}, profile.Column{Values: 8, Type: "number", Least: "1", Greatest: "4", Distinct: 8, Others: []string{"a", "b", "c"}, OtherCount: 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.want.Number, c.want.Name, c.want.Fields = 3, "loss", []string{"loss"}
			if got := column(c.cells...); !reflect.DeepEqual(got, c.want) {
				t.Errorf("got  %+v\nwant %+v", got, c.want)
			}
		})
	}
}

// TestBounded: of a column with ever new texts a thousand are kept, and that is said.
func TestBounded(t *testing.T) {
	var cells []string
	for i := range 1500 {
		cells = append(cells, fmt.Sprint(i))
	}
	if got := column(cells[:1000]...); got.Distinct != 1000 || got.AtLeast {
		t.Errorf("a thousand: %d, at least %v", got.Distinct, got.AtLeast)
	}
	if got := column(cells...); got.Distinct != 1000 || !got.AtLeast || got.Greatest != "1499" {
		t.Errorf("more: %d, at least %v, greatest %s", got.Distinct, got.AtLeast, got.Greatest)
	}
}

func TestConstant(t *testing.T) {
	for _, c := range []struct {
		name  string
		cells []string
		want  bool
	}{
		{"the same throughout", []string{"0.00", "0.00"}, true},
		{"once", []string{"0.00"}, false},
		{"with an empty cell", []string{"0.00", "0.00", ""}, false},
		{"two values", []string{"0.00", "0.01"}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := column(c.cells...); got.Constant() != c.want {
				t.Errorf("got %v", got.Constant())
			}
		})
	}
}
