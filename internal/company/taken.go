package company

import (
	"bytes"
	"fmt"
	"slices"

	"gopkg.in/yaml.v3"
)

// TakenName is the file that a revision keeps of what a job took.
const TakenName = "company-taken.yaml"

// private are the keys that are not handed over.
var private = []string{"pay", "sign.key"}

// Taken is what a job took.
type Taken struct {
	// YAML is a company file that gives the same job the same, but for what is private.
	YAML []byte
	// Keys name what was taken, private or not, for a person.
	Keys []string
	// Idle are the entries that the job did not take, each as list and id.
	Idle [][2]string
}

// Taken writes what the job took. Of the lists of which a job takes single entries it
// has those whose id the job names in the list, and those that are to be kept. The
// name is that by which the job knows the file.
func (l *Laid) Taken(name string, keep func(list, id string) bool) Taken {
	var t Taken
	left := l.left(l.Top, "", keep, &t)
	if l.Pay != nil {
		t.Keys = append(t.Keys, "pay")
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, "# What this job took from %s: all that job.yaml does not say itself, but for pay items\n# and the place of the key. Named %s beside job.yaml, it gives the job the same again.\n", name, name)
	if left == nil {
		b.WriteString("{}\n")
	} else {
		e := yaml.NewEncoder(&b)
		e.SetIndent(2)
		if err := e.Encode(left); err != nil {
			panic(err) // these nodes were read from YAML
		}
	}
	t.YAML = b.Bytes()
	return t
}

// left copies what is the company's of a node, or returns nil.
func (l *Laid) left(n *yaml.Node, path string, keep func(list, id string) bool, t *Taken) *yaml.Node {
	theirs := l.From[n] != nil
	note := func(format string, args ...any) {
		t.Keys = append(t.Keys, fmt.Sprintf(format, args...))
	}
	switch {
	case slices.Contains(byID, path) && n.Kind == yaml.SequenceNode:
		out := &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq"}
		all := 0
		for _, item := range n.Content {
			if l.From[item] == nil {
				continue
			}
			all++
			id := text(item, "id")
			if !l.asked[item] && !keep(path, id) {
				t.Idle = append(t.Idle, [2]string{path, id})
				continue
			}
			out.Content = append(out.Content, bare(item))
		}
		if len(out.Content) == 0 {
			return nil
		}
		note("%d of %d %s", len(out.Content), all, path)
		return out
	case n.Kind == yaml.MappingNode && (!theirs || path == "" || holdsPrivate(path)):
		out := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Style: n.Style}
		for i := 0; i+1 < len(n.Content); i += 2 {
			at := join(path, n.Content[i].Value)
			v := n.Content[i+1]
			if slices.Contains(private, at) {
				if l.From[v] != nil && at != "pay" { // of pay it is said by the caller
					t.Keys = append(t.Keys, at)
				}
				continue
			}
			if left := l.left(v, at, keep, t); left != nil {
				out.Content = append(out.Content, bare(n.Content[i]), left)
			}
		}
		if len(out.Content) == 0 {
			return nil
		}
		return out
	case theirs:
		note("%s", path)
		return bare(n)
	}
	return nil
}

// holdsPrivate reports that a private key stands in a group.
func holdsPrivate(path string) bool {
	return slices.ContainsFunc(private, func(p string) bool { return len(p) > len(path) && p[:len(path)] == path && p[len(path)] == '.' })
}

// bare copies a node without its remarks, which are nobody else's to read.
func bare(n *yaml.Node) *yaml.Node {
	out := &yaml.Node{Kind: n.Kind, Style: n.Style, Tag: n.Tag, Value: n.Value}
	for _, c := range n.Content {
		out.Content = append(out.Content, bare(c))
	}
	return out
}
