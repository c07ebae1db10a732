// Package manual makes what a package of the program holds beside it: manual pages and
// completions from the tree of commands, and the pages of topics, which explain the files
// that a person edits. A topic's page is the one that lies beside the files of its kind,
// so there is one text and not two.
package manual

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"spanseal/internal/near"
)

// manDate is that of every manual page: it must not hang on the day of the
// build.
var manDate = time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)

// Pages writes a manual page of each command into a folder, with a last part, in
// Markdown, that all have. The texts of the tree are changed for it, so the tree is of no
// other use.
func Pages(root *cobra.Command, dir, last string) error {
	root.InitDefaultHelpCmd()
	forManual(root, last)
	return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "spanseal", Manual: "spanseal", Date: &manDate}, dir)
}

// Completions writes what bash, zsh, fish and PowerShell read to complete command lines.
func Completions(root *cobra.Command, dir string) error {
	for name, write := range map[string]func(string) error{
		"spanseal.bash": func(f string) error { return root.GenBashCompletionFileV2(f, true) },
		"_spanseal":     root.GenZshCompletionFile,
		"spanseal.fish": func(f string) error { return root.GenFishCompletionFile(f, true) },
		"spanseal.ps1":  root.GenPowerShellCompletionFileWithDesc,
	} {
		if err := write(filepath.Join(dir, name)); err != nil {
			return err
		}
	}
	return nil
}

// forManual turns the texts of a tree of commands into the Markdown that the
// generator of manual pages wants: indented lines are kept as they are, and
// characters with a meaning in Markdown are plain.
func forManual(c *cobra.Command, last string) {
	c.DisableAutoGenTag = true
	var b strings.Builder
	indented := false
	for line := range strings.Lines(c.Long) {
		if in := strings.HasPrefix(line, "  "); in != indented {
			indented = in
			b.WriteByte('\n')
		}
		if indented {
			b.WriteString("    " + strings.TrimPrefix(line, "  "))
		} else {
			b.WriteString(strings.NewReplacer("*", `\*`, "_", `\_`, "<", `\<`).Replace(line))
		}
	}
	c.Long = b.String() + last
	for _, sub := range c.Commands() {
		forManual(sub, last)
	}
}

// topics by name; files are below templates.
var topics = []struct{ name, about, file string }{
	{"job-folder", "the files of a job, and what each column is for", "job/README.txt"},
	{"company", "a file above the jobs, for what is the same in all of them", "company/README.md"},
	{"limit-sets", "limit sets of your own, and their tests", "limits/README.md"},
	{"papers", "how documents and labels look: logo, typefaces, measures, sections", "documents/README.md"},
	{"wording", "what documents say, and in which language", "wording/README.md"},
	{"schemas", "descriptions of all these files, for editors and programs", "schema/README.md"},
}

func topicNames() (names []string) {
	for _, t := range topics {
		names = append(names, t.name)
	}
	return names
}

// Topic is the page of a topic. It is [fs.ErrNotExist] where there is none.
func Topic(templates fs.FS, name string) ([]byte, error) {
	i := slices.Index(topicNames(), name)
	if i < 0 {
		return nil, fs.ErrNotExist
	}
	return fs.ReadFile(templates, topics[i].file)
}

// NearTopic is the topic that mistyped words were meant for, or "".
func NearTopic(words []string) string {
	if len(words) != 1 {
		return ""
	}
	return near.Word(words[0], topicNames())
}

// TopicList names the topics, a line each.
func TopicList() string {
	var b strings.Builder
	for _, t := range topics {
		fmt.Fprintf(&b, "  %-12s %s\n", t.name, t.about)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// Topics writes the page of each topic into a folder.
func Topics(templates fs.FS, dir string) error {
	for _, t := range topics {
		page, err := Topic(templates, t.name)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, t.name+filepath.Ext(t.file)), page, 0o644); err != nil {
			return err
		}
	}
	return nil
}
