package cli_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/outside"
	"spanseal/internal/statement"
)

// TestManualPages: every command that is listed has a page, man finds nothing
// to warn about, and lists in texts are still lists.
func TestManualPages(t *testing.T) {
	outside.Run(t, "man", "--version")
	dir := t.TempDir()
	must(t, 0, "docs", dir)
	pages, err := filepath.Glob(filepath.Join(dir, "man1", "*.1"))
	if err != nil || len(pages) < 15 {
		t.Fatalf("%d pages, %v", len(pages), err)
	}
	for _, page := range pages {
		c := exec.Command("man", "--warnings", "--encoding=UTF-8", "--local-file", page)
		c.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "MANWIDTH=80", "MAN_KEEP_FORMATTING=")
		var warned strings.Builder
		c.Stderr = &warned
		out, err := c.Output()
		if err != nil || warned.Len() > 0 {
			t.Errorf("%s: %v %s", filepath.Base(page), err, warned.String())
		}
		for _, want := range []string{"NAME", "SYNOPSIS", "EXIT STATUS"} {
			if !strings.Contains(string(out), want) {
				t.Errorf("%s has no part %s", filepath.Base(page), want)
			}
		}
		if filepath.Base(page) == "spanseal-find.1" {
			for _, want := range []string{"       serial      serial number of a meter or light source\n", "* matches any"} {
				if !strings.Contains(string(out), want) {
					t.Errorf("the page of find does not hold %q:\n%s", want, out)
				}
			}
		}
	}
	for name, want := range map[string]string{"job-folder.txt": "links.csv", "limit-sets.md": "provenance", "papers.md": "labels.yaml", "wording.md": "locale", "schemas.md": "limit-tests"} {
		if text, err := os.ReadFile(filepath.Join(dir, "topics", name)); err != nil || !strings.Contains(string(text), want) {
			t.Errorf("topics/%s does not speak of %s, %v", name, want, err)
		}
	}
	again := t.TempDir()
	must(t, 0, "docs", again)
	for _, page := range pages {
		a, _ := os.ReadFile(page)
		b, err := os.ReadFile(filepath.Join(again, "man1", filepath.Base(page)))
		if err != nil || string(a) != string(b) {
			t.Errorf("%s is not the same twice, %v", filepath.Base(page), err)
		}
	}
}

// TestCompletions lets bash itself complete command lines.
func TestCompletions(t *testing.T) {
	outside.Run(t, "bash", "--version")
	dir := t.TempDir()
	must(t, 0, "docs", dir)
	if err := os.CopyFS(filepath.Join(dir, "cabinet"), os.DirFS("../../testdata/script/cabinet")); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		typed string
		want  []string // among what is offered
	}{
		{"spanseal ver", []string{"verify", "version"}},
		{"spanseal key n", []string{"new"}},
		{"spanseal schema ", []string{"job", "limits", "links", "record", "results", "style"}},
		{"spanseal explain cabinet ", []string{"B-01"}},
		{"spanseal check cabinet --form", []string{"--format"}},
	} {
		// What a shell does between a key and its list: words, position, function.
		// The second function stands for the one of the package bash-completion.
		script := `source completions/spanseal.bash
read -ra COMP_WORDS <<< "$1"
[[ $1 == *" " ]] && COMP_WORDS+=("")
COMP_LINE=$1 COMP_POINT=${#1} COMP_CWORD=$((${#COMP_WORDS[@]} - 1)) COMP_TYPE=9 COMP_KEY=9
compopt() { :; }
_get_comp_words_by_ref() { words=("${COMP_WORDS[@]}") cword=$COMP_CWORD cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]}; }
__start_spanseal
printf '%s\n' "${COMPREPLY[@]}"`
		c := exec.Command("bash", "--norc", "--noprofile", "-c", script, "bash", test.typed)
		c.Dir = dir
		out, err := c.CombinedOutput()
		if err != nil {
			t.Errorf("%q: %v\n%s", test.typed, err, out)
			continue
		}
		var offered []string
		for line := range strings.Lines(string(out)) {
			word, _, _ := strings.Cut(strings.TrimSpace(line), " ")
			offered = append(offered, word)
		}
		for _, want := range test.want {
			if !slices.Contains(offered, want) {
				t.Errorf("%q offers %q, want %q among them", test.typed, offered, want)
			}
		}
	}
}

// TestVersion says what built the program, in words and for programs. (A test's
// own binary lists no libraries.)
func TestVersion(t *testing.T) {
	text := must(t, 0, "version")
	for _, want := range []string{"spanseal ", "built    with go"} {
		if !strings.Contains(text, want) {
			t.Errorf("the version does not say %q:\n%s", want, text)
		}
	}
	if text := must(t, 0, "version", "--format", "json"); !strings.Contains(text, `"format": "spanseal-version/1"`) {
		t.Error(text)
	}
}

// TestCodesPage: the contributor's table has a row for every code, with an example
// that has no brace left.
func TestCodesPage(t *testing.T) {
	dir := t.TempDir()
	must(t, 0, "docs", dir)
	page, err := os.ReadFile(filepath.Join(dir, "codes.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range statement.Codes() {
		at := strings.Index(string(page), "\n| `"+e.Code+"` |")
		if at < 0 {
			t.Errorf("%s has no row", e.Code)
			continue
		}
		row, _, _ := strings.Cut(string(page)[at+1:], "\n")
		if cells := strings.Split(row, " | "); len(cells) != 4 || strings.TrimSpace(strings.TrimSuffix(cells[3], "|")) == "" || strings.ContainsAny(cells[3], "{}") {
			t.Errorf("%s: %s", e.Code, row)
		}
	}
}
