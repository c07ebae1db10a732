package cli

import (
	"fmt"
	"io/fs"
	"slices"
	"strings"

	"spanseal/internal/near"
	"spanseal/templates"
)

// topic is a page on files that a person edits, printed by "help". The page is the one
// that lies beside the files of its kind, so there is one text and not two.
type topic struct{ name, about, file string }

var topics = []topic{
	{"job-folder", "the files of a job, and what each column is for", "job/README.txt"},
	{"limit-sets", "limit sets of your own, and their tests", "limits/README.md"},
	{"papers", "how papers and labels look: logo, typefaces, measures, sections", "documents/README.md"},
	{"wording", "what papers say, and in which language", "wording/README.md"},
	{"schemas", "what editors and programs can know of all these files", "schema/README.md"},
}

// topicPage prints the page of a topic, if there is one of the name.
func (a *app) topicPage(name string) (found bool, err error) {
	i := slices.IndexFunc(topics, func(t topic) bool { return t.name == name })
	if i < 0 {
		return false, nil
	}
	page, err := fs.ReadFile(templates.Files, topics[i].file)
	if err != nil {
		return true, err
	}
	_, err = a.out.Write(page)
	return true, err
}

// nearTopic is the topic that a mistyped word was meant for, or "".
func nearTopic(words []string) string {
	if len(words) != 1 {
		return ""
	}
	var names []string
	for _, t := range topics {
		names = append(names, t.name)
	}
	return near.Word(words[0], names)
}

// topicList names the topics, a line each.
func topicList() string {
	var b strings.Builder
	for _, t := range topics {
		fmt.Fprintf(&b, "  %-12s %s\n", t.name, t.about)
	}
	return strings.TrimSuffix(b.String(), "\n")
}
