package manual

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/spf13/cobra"

	"spanseal/internal/outside"
)

// tree is a program with one command, whose texts have whatever means something to
// Markdown or to roff.
func tree() *cobra.Command {
	nothing := func(*cobra.Command, []string) {}
	root := &cobra.Command{Use: "spanseal", Short: "certify fibre links"}
	sub := &cobra.Command{Use: "measure FILE", Short: "read a file", Run: nothing,
		Long: `Reads FILE. A * stands for any text, as in *.csv or loss_db_1310 and loss_db_1550,
and <0.05 for a bound.
.csv files begin a line; so does an apostrophe:
'quoted' text. A back\slash stays.

  first   one of a list
  second  another_one with *stars*

After the list.`}
	sub.Flags().String("file-name", "", "the `NAME` of a file")
	hidden := &cobra.Command{Use: "secret", Short: "not listed", Hidden: true, Run: nothing}
	root.AddCommand(sub, hidden)
	return root
}

const last = "\n# EXIT STATUS\n\n0 if all is well\n"

// TestPages: each command that is listed has a page, whose head says what man(7) wants of
// .TH: the title, the section, the date and the source.
func TestPages(t *testing.T) {
	dir := t.TempDir()
	if err := Pages(tree(), dir, last); err != nil {
		t.Fatal(err)
	}
	names, err := filepath.Glob(filepath.Join(dir, "*"))
	for i := range names {
		names[i] = filepath.Base(names[i])
	}
	if want := []string{"spanseal-measure.1", "spanseal.1"}; err != nil || !slices.Equal(names, want) {
		t.Errorf("%v, want %v; %v", names, want, err)
	}
	raw, err := os.ReadFile(filepath.Join(dir, "spanseal-measure.1"))
	if want := ".TH \"SPANSEAL-MEASURE\" \"1\" \"Nov 2026\" \"spanseal\" \"spanseal\"\n"; err != nil || !strings.Contains(string(raw), want) {
		t.Errorf("no %q, %v:\n%.300s", want, err, raw)
	}
}

// TestManShowsTheText has man show a page, and warn of what roff(7) would not have: every
// character of a text comes out, and what is indented stays in its lines.
func TestManShowsTheText(t *testing.T) {
	man, dir := outside.Program(t, "man"), t.TempDir()
	if err := Pages(tree(), dir, last); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(man, "--warnings", "--encoding=UTF-8", "--local-file", filepath.Join(dir, "spanseal-measure.1"))
	c.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "MANWIDTH=100", "MAN_KEEP_FORMATTING=")
	var warned strings.Builder
	c.Stderr = &warned
	out, err := c.Output()
	if err != nil || warned.Len() > 0 {
		t.Fatalf("%v %s", err, warned.String())
	}
	flat := strings.Join(strings.Fields(string(out)), " ")
	for _, want := range []string{"A * stands for any text, as in *.csv or loss_db_1310 and loss_db_1550, and <0.05 for a bound. .csv files begin a line;",
		"'quoted' text. A back\\slash stays.", "After the list.", "EXIT STATUS 0 if all is well", "--file-name"} {
		if !strings.Contains(flat, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	for _, line := range []string{"       first   one of a list\n", "       second  another_one with *stars*\n"} {
		if !strings.Contains(string(out), line) {
			t.Errorf("no line %q in\n%s", line, out)
		}
	}
}

// TestCompletions writes one for each shell, by the name under which it is looked for.
func TestCompletions(t *testing.T) {
	dir := t.TempDir()
	if err := Completions(tree(), dir); err != nil {
		t.Fatal(err)
	}
	for name, begins := range map[string]string{"spanseal.bash": "# bash completion", "_spanseal": "#compdef spanseal", "spanseal.fish": "# fish completion", "spanseal.ps1": "# powershell completion"} {
		if raw, err := os.ReadFile(filepath.Join(dir, name)); err != nil || !strings.HasPrefix(string(raw), begins) {
			t.Errorf("%s: %.40q, %v", name, raw, err)
		}
	}
	if err := Completions(tree(), filepath.Join(dir, "not", "there")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("into no folder: %v", err)
	}
}

// TestTopics: a topic is the page beside its files; one that is mistyped is found, one of
// several words is none.
func TestTopics(t *testing.T) {
	files := fstest.MapFS{}
	for _, topic := range topics {
		files[topic.file] = &fstest.MapFile{Data: []byte("about " + topic.name + "\n")}
	}
	dir := t.TempDir()
	if err := Topics(files, dir); err != nil {
		t.Fatal(err)
	}
	for file, want := range map[string]string{"wording.md": "about wording\n", "job-folder.txt": "about job-folder\n"} {
		if raw, err := os.ReadFile(filepath.Join(dir, file)); string(raw) != want {
			t.Errorf("%s: %q, %v", file, raw, err)
		}
	}
	if page, err := Topic(files, "papers"); string(page) != "about papers\n" {
		t.Errorf("%q, %v", page, err)
	}
	if _, err := Topic(files, "paper"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a topic that is none: %v", err)
	}
	for _, c := range [][2]string{{"paper", "papers"}, {"limitsets", "limit-sets"}, {"zebra", ""}, {"papers wording", ""}} {
		if got := NearTopic(strings.Fields(c[0])); got != c[1] {
			t.Errorf("%s: %q, want %q", c[0], got, c[1])
		}
	}
	if lines := strings.Split(TopicList(), "\n"); len(lines) != len(topics) || !strings.HasPrefix(lines[0], "  job-folder   the files of a job") {
		t.Errorf("%q", lines)
	}
}
