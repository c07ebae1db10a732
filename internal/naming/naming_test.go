package naming_test

import (
	"errors"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"spanseal/internal/naming"
	"spanseal/internal/record"
)

var link = &record.Link{ID: "A-12", Cable: "C1", Tube: "2", Strand: "5", Names: &record.Names{Label: "H/5", Asset: "PA-00417"}}

func TestNames(t *testing.T) {
	for _, c := range []struct{ name, pattern, want, missing, fault string }{
		{"whole", "{job}-{link}-r{revision}", "BL-1-A-12-r3", "", ""},
		{"text alone", "paper", "paper", "", ""},
		{"twice", "{revision}{revision} {link}", "33 A-12", "", ""},
		{"cable, tube, strand", "{cable}.{tube}.{strand}", "C1.2.5", "", ""},
		{"the owner's id", "{asset}", "PA-00417", "", ""},
		{"missing", "{drawing}-{link}", "-A-12", "drawing", ""},
		{"a slash", "{label}", "H/5", "", `a file name cannot contain '/'`},
		{"a colon", "{link}: r", "A-12: r", "", `a file name cannot contain ':'`},
		{"a device", "con", "con", "", "Windows reserves it for a device"},
		{"a device with an extension", "Nul.{link}", "Nul.A-12", "", "Windows reserves it for a device"},
		{"no device", "con{link}", "conA-12", "", ""},
		{"a point at the end", "{link}.", "A-12.", "", "a name may not begin with a point or space, nor end with one"},
		{"hidden", ".{link}", ".A-12", "", "a name may not begin with a point or space, nor end with one"},
		{"right to left", "{link}\u202e", "A-12\u202e", "", `a file name cannot contain '\u202e'`},
		{"not composed", "A\u0308{link}", "A\u0308A-12", "", "it has a letter and its accent as two characters: type them as one"},
		{"accents", "Prüfung {link}", "Prüfung A-12", "", ""},
		{"just short enough", strings.Repeat("x", 96) + "{revision}", strings.Repeat("x", 96) + "3", "", ""},
		{"too long", strings.Repeat("x", 97) + "{revision}", strings.Repeat("x", 97) + "3", "", "it has 101 bytes; at most 100 fit"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := naming.Parse(c.pattern)
			if err != nil {
				t.Fatal(err)
			}
			name, missing := p.Of("BL-1", link)
			if got := name.In(3); got != c.want || missing != c.missing || name.Fault() != c.fault {
				t.Errorf("%q, %q missing, %q; want %q, %q, %q", got, missing, name.Fault(), c.want, c.missing, c.fault)
			}
		})
	}
}

func TestPatternsThatAreNone(t *testing.T) {
	for _, c := range []struct{ name, pattern, word string }{
		{"no such word", "{job}-{lnk}", "lnk"},
		{"no word", "{}", ""},
		{"opened only", "{job", ""},
		{"closed only", "job}", ""},
		{"within another", "{{job}}", "{job"},
		{"a space", "{ job }", " job "},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := naming.Parse(c.pattern)
			var fault *naming.PatternError
			if !errors.As(err, &fault) || fault.Word != c.word || fault.Message == "" {
				t.Errorf("%v, want a fault of %q", err, c.word)
			}
		})
	}
}

// TestNamesFit: a name without a fault is one for every system: the rules of Windows
// (Microsoft, "Naming Files, Paths, and Namespaces", from memory), whose are the tightest;
// and two names that some system takes for one have one key.
func TestNamesFit(t *testing.T) {
	piece := rapid.SampledFrom([]string{"a", "A", "é", "e\u0301", "/", `\`, ":", ".", " ", "con", "NUL", "com1", "lpt¹", "\x00", "\u200b", "\u202e", "水", "*", "?", "|", "-", "{link}", "{revision}", strings.Repeat("x", 40)})
	rapid.Check(t, func(t *rapid.T) {
		draw := func(label string) naming.PaperName {
			p, err := naming.Parse(strings.Join(rapid.SliceOfN(piece, 1, 6).Draw(t, label), ""))
			if err != nil {
				t.Fatal(err)
			}
			name, _ := p.Of("BL-1", link)
			return name
		}
		a, b := draw("pattern"), draw("other")
		if a.Fault() != "" || b.Fault() != "" {
			return
		}
		for revision := 1; revision < 2000; revision *= 7 {
			file := a.In(revision) + ".pdf"
			stem, _, _ := strings.Cut(file, ".")
			stem = strings.TrimRight(stem, " ")
			for _, device := range []string{"CON", "NUL", "COM1", "LPT¹"} {
				if strings.EqualFold(stem, device) {
					t.Errorf("%q is a device", file)
				}
			}
			if strings.ContainsAny(file, "<>:\"/\\|?*\x00\u202e\u200b") || strings.TrimLeft(file, " .") != file || strings.TrimRight(a.In(revision), " .") != a.In(revision) || len(file) > 104 || !utf8.ValidString(file) {
				t.Errorf("%q is no name for every system", file)
			}
			if strings.EqualFold(file, b.In(revision)+".pdf") && a.Key() != b.Key() {
				t.Errorf("%q and %q are one file, and have two keys", a.In(revision), b.In(revision))
			}
		}
	})
}

// FuzzParse: whatever is written, a pattern is refused or makes names.
func FuzzParse(f *testing.F) {
	for _, pattern := range []string{"", "{job}-{link}-r{revision}", "{", "}", "{{", "a{b}c", "\xff{link}"} {
		f.Add(pattern)
	}
	f.Fuzz(func(t *testing.T, pattern string) {
		p, err := naming.Parse(pattern)
		if err != nil {
			return
		}
		name, _ := p.Of("BL-1", link)
		if p.IsZero() != (pattern == "") || !strings.Contains(pattern, "{") && name.In(1) != pattern {
			t.Errorf("%q makes %q", pattern, name.In(1))
		}
		_, _ = name.Fault(), name.Key()
	})
}
