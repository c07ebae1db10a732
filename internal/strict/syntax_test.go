package strict

import "testing"

// TestUnclosed finds quotes that a line opens and does not close, and no others.
func TestUnclosed(t *testing.T) {
	for _, c := range []struct {
		name, line string
		at         int
	}{
		{"closed", `title: "Reading rooms"`, -1},
		{"open", `title: "Reading rooms`, 7},
		{"single", `name: 'M. Okafor, role: x`, 6},
		{"an apostrophe in a text", `name: O'Brien's`, -1},
		{"doubled single quote", `name: 'O''Brien'`, -1},
		{"escaped quote", `name: "a \" b"`, -1},
		{"escaped at the end", `name: "a \"`, 6},
		{"inches in a text", `note: a 19" rack`, -1},
		{"in a list", `  - ["---", "OL]`, 12},
		{"in braces", `{name: "a", b: "c}`, 15},
		{"behind a remark", `name: a # it is "so`, -1},
		{"a dash in a word", `date: 2026-11-18`, -1},
	} {
		if got := unclosed(c.line); got != c.at {
			t.Errorf("%s: %d, want %d", c.name, got, c.at)
		}
	}
}

// TestCutRemark tells what may be the rest of a text from remarks.
func TestCutRemark(t *testing.T) {
	for remark, want := range map[string]bool{"#2 Ltd": true, "# 2": true, "#B": true, "# as on the order": false, "#": false, "## heading": false} {
		if cutRemark.MatchString(remark) != want {
			t.Errorf("%q may be the rest of a text: %t", remark, !want)
		}
	}
}
