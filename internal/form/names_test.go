package form

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// windowsDevices are the names that Windows keeps for devices, with whatever
// extension (Microsoft, "Naming Files, Paths, and Namespaces", from memory).
var windowsDevices = []string{"CON", "PRN", "AUX", "NUL", "COM0", "COM1", "COM9", "LPT0", "LPT1", "LPT9"}

// fits says what a file name does that some system refuses, or "": the rules of
// Windows, whose are the tightest, and of POSIX's portable set (IEEE 1003.1,
// 3.265).
func fits(name string) string {
	switch {
	case name == "" || len(name) > 80:
		return fmt.Sprintf("%d bytes", len(name))
	case !regexp.MustCompile(`^[A-Za-z0-9._-]+$`).MatchString(name):
		return "a character beyond the portable set"
	case strings.HasPrefix(name, "."):
		return "hidden"
	case strings.HasSuffix(name, "."):
		return "a point at the end, which Windows drops"
	}
	stem, _, _ := strings.Cut(name, ".")
	for _, d := range windowsDevices {
		if strings.EqualFold(stem, d) {
			return "a device of Windows"
		}
	}
	return ""
}

// TestFileNamesFitEverySystem draws names that make trouble somewhere.
func TestFileNamesFitEverySystem(t *testing.T) {
	for _, name := range []string{"A-12", "con", "Con.1", "NUL.txt.pdf", "com1", "LPT9.x", "COM¹", "a/b", `a\b`, "..", ".", "...", " ", "a ", "a.", ".a", "a:b", "a*?<>|\"b",
		"Ä-1", "A\u0308-1", "水", strings.Repeat("a", 300), strings.Repeat("水", 300), "-", "aux" + strings.Repeat(".x", 60), "con.", "con ", "a\u202eb"} {
		got := FileName(name)
		if fault := fits(got + ".pdf"); fault != "" {
			t.Errorf("%q becomes %q: %s", name, got, fault)
		}
		if again := FileName(name); again != got {
			t.Errorf("%q becomes %q and %q", name, got, again)
		}
	}
	piece := rapid.SampledFrom([]string{"a", "A", "1", "-", "_", ".", " ", "/", `\`, ":", "con", "NUL", "com1", "é", "e\u0301", "水", "*", strings.Repeat("x", 40)})
	rapid.Check(t, func(t *rapid.T) {
		name := strings.Join(rapid.SliceOfN(piece, 1, 8).Draw(t, "name"), "")
		if fault := fits(FileName(name) + ".pdf"); fault != "" {
			t.Errorf("%q becomes %q: %s", name, FileName(name), fault)
		}
	})
}

// TestFileNamesStayApart: links of one job never share a file, not even where
// the system does not tell capitals apart.
func TestFileNamesStayApart(t *testing.T) {
	piece := rapid.SampledFrom([]string{"a", "A", "b", "é", "É", "/", ".", "con", "CON", "_"})
	id := rapid.Map(rapid.SliceOfN(piece, 1, 4), func(p []string) string { return strings.Join(p, "") })
	rapid.Check(t, func(t *rapid.T) {
		judged := &judge.Judgement{}
		for _, name := range rapid.SliceOfNDistinct(id, 1, 40, rapid.ID[string]).Draw(t, "links") {
			judged.Links = append(judged.Links, judge.Brief{Link: &record.Link{ID: name}})
		}
		taken := map[string]string{}
		for link, parts := range fileNames(judged) {
			name := parts.In(1)
			folded := strings.ToLower(name)
			if other, twice := taken[folded]; twice {
				t.Errorf("%q and %q both become %q", link, other, name)
			}
			taken[folded] = link
			if fault := fits(name + ".pdf"); fault != "" {
				t.Errorf("%q becomes %q: %s", link, name, fault)
			}
		}
	})
}

// TestPathsStayShort: within the 260 characters of old Windows paths a job may
// lie 160 deep.
func TestPathsStayShort(t *testing.T) {
	longest := "issued/r100/nonconformance/" + FileName(strings.Repeat("/", 400)) + "-" + digest("x") + ".pdf"
	if len(longest) > 260-160+20 {
		t.Errorf("%d characters: %s", len(longest), longest)
	}
}
