package wording

import (
	"slices"
	"testing"

	"spanseal/internal/statement"
	"spanseal/internal/template"
)

// TestFirstOf: the first text that is there, or none.
func TestFirstOf(t *testing.T) {
	for _, c := range []struct {
		want  string
		texts []string
	}{{"", nil}, {"", []string{""}}, {"a", []string{"a", "b"}}, {"b", []string{"", "b", "c"}}} {
		if got := FirstOf(c.texts...); got != c.want {
			t.Errorf("%q: %q, want %q", c.texts, got, c.want)
		}
	}
}

// TestDistinct: each text once, in order, without the empty ones and the space around.
func TestDistinct(t *testing.T) {
	for _, c := range []struct{ texts, want []string }{
		{nil, nil}, {[]string{"", " "}, nil}, {[]string{" b", "a", "", "b", "a "}, []string{"b", "a"}},
	} {
		if got := Distinct(c.texts...); !slices.Equal(got, c.want) {
			t.Errorf("%q: %q, want %q", c.texts, got, c.want)
		}
	}
}

// TestFill: names stand for their values, and a value that is a name as well for itself.
func TestFill(t *testing.T) {
	w := &Wording{Texts: template.Template{"a": {Text: "{link} in {room}, {x}"}}}
	if got := w.Say("a", "link", "x", "room", "{link}"); got != "x in {link}, {x}" {
		t.Errorf("%q", got)
	}
}

// TestSayNothing: a key without a text is a fault of the program, and none of the paper.
func TestSayNothing(t *testing.T) {
	defer func() {
		if said := recover(); said != "wording: no text for no.such" {
			t.Errorf("%v", said)
		}
	}()
	(&Wording{}).Say("no.such")
	t.Error("it said something")
}

// TestUpperFirst: a text begins with a capital, of whatever alphabet, and none stays none.
func TestUpperFirst(t *testing.T) {
	for text, want := range map[string]string{"": "", "a b": "A b", "émission": "Émission", "Z": "Z", "1 b": "1 b"} {
		if got := UpperFirst(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	if got := Comma("a", "", "b", "a"); got != "a, b" {
		t.Errorf("%q", got)
	}
}

// TestAbbreviate: what is longer than its short form is shortened, and nothing else.
func TestAbbreviate(t *testing.T) {
	for text, want := range map[string]string{"": "", "0123456789ab": "0123456789ab", "0123456789abc": "01234567…9abc"} {
		if got := Abbreviate(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestPlural: the first count decides, wherever it stands; without one there are many.
func TestPlural(t *testing.T) {
	name, one, two := statement.Name("A"), statement.Count(1), statement.Count(2)
	for _, c := range []struct {
		want string
		args []statement.Argument
	}{
		{".one", []statement.Argument{one, two}}, {".other", []statement.Argument{two, one}}, {".one", []statement.Argument{name, one}},
		{".other", []statement.Argument{name, two, one}}, {".other", []statement.Argument{name}}, {".other", nil}, {".other", []statement.Argument{statement.Count(0)}},
	} {
		if got := plural(c.args); got != c.want {
			t.Errorf("%v: %q, want %q", c.args, got, c.want)
		}
	}
}

// TestSlug: small letters and digits make a key, and nothing else does.
func TestSlug(t *testing.T) {
	for text, want := range map[string]string{"A-Z 09": "a_z_09", " (1) Größe/`{": "1_gr_e", "": "", "–": ""} {
		if got := slug(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
