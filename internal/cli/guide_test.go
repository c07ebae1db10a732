package cli_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// fence is one fenced block of a page: what its info string says, and its text.
type fence struct {
	line       int
	kind, name string
	text       string
}

// fences reads the fenced blocks of a page (CommonMark, 4.5).
func fences(t *testing.T, file string) []fence {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var all []fence
	open := false
	for n, line := range strings.Split(string(data), "\n") {
		info, marked := strings.CutPrefix(line, "```")
		switch {
		case marked && !open:
			kind, name, _ := strings.Cut(info, " ")
			all = append(all, fence{line: n + 1, kind: kind, name: name})
			open = true
		case marked:
			open = false
		case open:
			all[len(all)-1].text += line + "\n"
		}
	}
	if open {
		t.Fatalf("%s: a block is not closed", file)
	}
	return all
}

var endsWith = regexp.MustCompile(`\s*# ends with (\d)$`)

// TestGuide does what the guide says, from top to bottom: it writes the files
// that it shows, runs its commands, and finds in their output what it quotes.
func TestGuide(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	if n := follow(t, "../../examples/guide.md"); n < 10 {
		t.Errorf("%d commands were run: the guide has more", n)
	}
}

// TestKeeping does what the page about keeping says, in the same way.
func TestKeeping(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	if n := follow(t, "../../examples/keeping.md"); n < 7 {
		t.Errorf("%d commands were run: the page has more", n)
	}
}

// follow does what a page says, in a folder of its own, and returns how many commands
// it ran.
func follow(t *testing.T, page string) (commands int) {
	t.Helper()
	blocks := fences(t, page)
	t.Chdir(t.TempDir())
	write := func(name, text string) {
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	read := func(name string) string {
		data, err := os.ReadFile(strings.TrimSpace(name))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	output := ""
	for _, b := range blocks {
		switch b.kind {
		case "csv", "yaml":
			write(b.name, b.text)
		case "copy": // FILE -> FILE
			from, to, _ := strings.Cut(strings.TrimSpace(b.text), " -> ")
			write(to, read(from))
		case "replace": // in the named file: OLD -> NEW
			from, to, _ := strings.Cut(strings.TrimSpace(b.text), " -> ")
			text := read(b.name)
			if strings.Count(text, from) != 1 {
				t.Fatalf("line %d: %q stands %d times in %s", b.line, from, strings.Count(text, from), b.name)
			}
			write(b.name, strings.Replace(text, from, to, 1))
		case "sh":
			output = ""
			for line := range strings.Lines(b.text) {
				want := 0
				line = strings.TrimSpace(line)
				if m := endsWith.FindStringSubmatch(line); m != nil {
					want, _ = strconv.Atoi(m[1])
					line = strings.TrimSuffix(line, m[0])
				}
				args := words(line)
				if args[0] != "spanseal" {
					t.Fatalf("line %d: %q is not a command of ours", b.line, line)
				}
				commands++
				code, stdout, stderr := run(t, args[1:]...)
				if code != want {
					t.Fatalf("line %d: %s ends with %d, want %d\n%s%s", b.line, line, code, want, stdout, stderr)
				}
				output += stdout
			}
		case "text":
			for line := range strings.Lines(b.text) {
				if line = strings.TrimSpace(line); !strings.Contains(output, line) {
					t.Errorf("line %d: the output does not hold %q:\n%s", b.line, line, output)
				}
			}
		default:
			t.Fatalf("line %d: a block of kind %q is not checked by anything", b.line, b.kind)
		}
	}
	return commands
}

// words cuts a command line at its spaces, but not within quotes.
func words(line string) []string {
	var list []string
	for _, w := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1) {
		list = append(list, strings.Trim(w, `"`))
	}
	return list
}
