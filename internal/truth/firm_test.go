package truth

import (
	"bytes"
	"slices"
	"testing"

	"gopkg.in/yaml.v3"
)

// hire lets some jobs take what is not their own from a company file: all that is said
// on their papers is the same.
func hire(n uint64, j *job) { j.Firm = n%5 == 2 }

// parted divides a job.yaml into one that names a company file, and that file. Of
// people and instruments the job says the ids, so that it takes all of them.
func parted(t testing.TB, text string) (job, firm string) {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	word := func(s string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s} }
	group := func() *yaml.Node { return &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"} }
	own, theirs := group(), group()
	own.Content = append(own.Content, word("company"), word("house/company.yaml"))
	// share moves some members of a group to the company's.
	share := func(key string, v *yaml.Node, which func(string) bool) {
		left, taken := group(), group()
		for i := 0; i+1 < len(v.Content); i += 2 {
			to := left
			if which(v.Content[i].Value) {
				to = taken
			}
			to.Content = append(to.Content, v.Content[i], v.Content[i+1])
		}
		own.Content = append(own.Content, word(key), left)
		theirs.Content = append(theirs.Content, word(key), taken)
	}
	top := doc.Content[0]
	for i := 0; i+1 < len(top.Content); i += 2 {
		key, v := top.Content[i].Value, top.Content[i+1]
		switch key {
		case "people", "instruments":
			ids := &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"}
			for _, entry := range v.Content {
				for k := 0; k+1 < len(entry.Content); k += 2 {
					if entry.Content[k].Value == "id" {
						ids.Content = append(ids.Content, &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Content: entry.Content[k : k+2]})
					}
				}
			}
			own.Content = append(own.Content, word(key), ids)
			theirs.Content = append(theirs.Content, word(key), v)
		case "job":
			share(key, v, func(s string) bool { return slices.Contains([]string{"contractor", "time_zone"}, s) })
		case "judge":
			share(key, v, func(s string) bool { return s != "optional" })
		case "documents", "readings", "colours":
			theirs.Content = append(theirs.Content, word(key), v)
		default:
			own.Content = append(own.Content, word(key), v)
		}
	}
	print := func(n *yaml.Node) string {
		var b bytes.Buffer
		e := yaml.NewEncoder(&b)
		e.SetIndent(2)
		if err := e.Encode(n); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	return print(own), print(theirs)
}
