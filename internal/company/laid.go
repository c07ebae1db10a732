package company

import (
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/source"
)

// whole are the groups that are one thing.
var whole = []string{"job.contractor", "job.warranty", "colours", "schedule", "originals"}

// needed are the groups in which something must stand: what is missing there is missing
// in the job, also if it does not have the group. The first is the whole file.
var needed = []string{"", "job", "judge"}

// byID are the lists of which a job takes single entries.
var byID = []string{"people", "instruments"}

// Laid is a job laid over a company file.
type Laid struct {
	Top *yaml.Node
	// From are the nodes that were taken, each with the company file.
	From map[*yaml.Node]*source.File
	// Pay is what the company file says of pay, or nil. It is laid under the pay of the
	// job, wherever that stands.
	Pay *yaml.Node

	file  *source.File
	asked map[*yaml.Node]bool // entries of which the job names the id
}

// Lay lays the nodes of a job over those of a company file. The pay of a job that has
// a file for it is not laid here: see [Laid.OverPay].
func Lay(job, firm *yaml.Node, file *source.File) *Laid {
	l := &Laid{From: map[*yaml.Node]*source.File{}, file: file, asked: map[*yaml.Node]bool{}}
	l.mark(firm)
	if at := find(firm, "pay"); at >= 0 {
		l.Pay = firm.Content[at+1]
		firm = &yaml.Node{Kind: yaml.MappingNode, Tag: firm.Tag, Line: firm.Line, Column: firm.Column, Style: firm.Style,
			Content: slices.Concat(firm.Content[:at], firm.Content[at+2:])}
		l.From[firm] = file
	}
	l.Top = l.over(job, firm, "")
	return l
}

// OverPay lays what is said of pay, nil for nothing, over the company's.
func (l *Laid) OverPay(pay *yaml.Node) *yaml.Node {
	switch {
	case l.Pay == nil:
		return pay
	case pay == nil || silent(pay):
		return l.Pay
	}
	firm := l.Pay
	if own, theirs := text(pay, "currency"), text(firm, "currency"); own != "" && own != theirs {
		if at := find(firm, "items"); at >= 0 {
			firm = &yaml.Node{Kind: yaml.MappingNode, Content: slices.Concat(firm.Content[:at], firm.Content[at+2:])}
		}
	}
	return l.over(pay, firm, "pay")
}

// mark notes that a node and all below it are the company's.
func (l *Laid) mark(n *yaml.Node) {
	l.From[n] = l.file
	for _, c := range n.Content {
		l.mark(c)
	}
}

// over lays what a job says of a key over what the company says.
func (l *Laid) over(job, firm *yaml.Node, path string) *yaml.Node {
	group := firm.Kind == yaml.MappingNode && !slices.Contains(whole, path)
	switch {
	case silent(job) && !(group && slices.Contains(needed, path)):
		return firm
	case job.Kind == yaml.SequenceNode && firm.Kind == yaml.SequenceNode && slices.Contains(byID, path):
		return l.entries(job, firm)
	case !group || job.Kind != yaml.MappingNode && !silent(job):
		return job
	}
	laid := blankGroup(job)
	if laid.Style = job.Style; silent(job) {
		laid.Style = firm.Style
	}
	// The company's come first: a rate of the job is read behind the company's currency.
	for i := 0; i+1 < len(firm.Content); i += 2 {
		if key := firm.Content[i].Value; find(job, key) < 0 && find(firm, key) == i {
			laid.Content = append(laid.Content, firm.Content[i], l.over(blankGroup(job), firm.Content[i+1], join(path, key)))
		}
	}
	for i := 0; i+1 < len(job.Content); i += 2 {
		k, v := job.Content[i], job.Content[i+1]
		if at := find(firm, k.Value); at >= 0 && k.Kind == yaml.ScalarNode && find(job, k.Value) == i {
			if taken := l.over(v, firm.Content[at+1], join(path, k.Value)); taken != v {
				if taken == firm.Content[at+1] {
					k = firm.Content[at]
				}
				v = taken
			}
		}
		laid.Content = append(laid.Content, k, v)
	}
	return laid
}

// blankGroup stands at a node and says nothing.
func blankGroup(at *yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Line: at.Line, Column: at.Column}
}

// entries are those of the job, and those of the company that it does not list.
func (l *Laid) entries(job, firm *yaml.Node) *yaml.Node {
	laid := *job
	laid.Content = nil
	said := map[string]bool{}
	for _, n := range job.Content {
		id := text(n, "id")
		if said[id] = true; id != "" && onlyID(n) {
			if at := slices.IndexFunc(firm.Content, func(f *yaml.Node) bool { return text(f, "id") == id }); at >= 0 {
				n = firm.Content[at]
				l.asked[n] = true
			}
		}
		laid.Content = append(laid.Content, n)
	}
	for _, n := range firm.Content {
		if id := text(n, "id"); id == "" || !said[id] {
			laid.Content = append(laid.Content, n)
		}
	}
	return &laid
}

// Keep drops from a list of which a job takes single entries those that it did not take,
// so that its entries have the numbers that they have in the job.
func (l *Laid) Keep(list string, taken func(id string) bool) {
	if i := find(l.Top, list); i >= 0 && l.Top.Content[i+1].Kind == yaml.SequenceNode {
		kept := *l.Top.Content[i+1]
		kept.Content = slices.DeleteFunc(slices.Clone(kept.Content), func(n *yaml.Node) bool { return !taken(text(n, "id")) })
		l.From[&kept] = l.From[l.Top.Content[i+1]]
		l.Top.Content[i+1] = &kept
	}
}

// silent reports that a node says nothing: it is empty, or all that it has is.
func silent(n *yaml.Node) bool {
	if n.Kind != yaml.MappingNode {
		return n.Kind == yaml.ScalarNode && n.Tag == "!!null"
	}
	for i := 1; i < len(n.Content); i += 2 {
		if !silent(n.Content[i]) {
			return false
		}
	}
	return true
}

// onlyID reports an entry that says nothing but its id.
func onlyID(n *yaml.Node) bool {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value != "id" && !silent(n.Content[i+1]) {
			return false
		}
	}
	return true
}

// find is where the key of a group stands among its nodes, or −1.
func find(group *yaml.Node, key string) int {
	if group.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(group.Content); i += 2 {
			if group.Content[i].Value == key {
				return i
			}
		}
	}
	return -1
}

// text is the single value of a key, or "".
func text(group *yaml.Node, key string) string {
	if at := find(group, key); at >= 0 && group.Content[at+1].Kind == yaml.ScalarNode {
		return group.Content[at+1].Value
	}
	return ""
}
