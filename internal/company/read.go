package company

import (
	"fmt"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/strict"
)

// Own are the keys that are a job's own: a company file that has one is refused.
var Own = []string{
	Key, "answers", "declared", "aliases", "cables", "trunks",
	"job.number", "job.title", "job.site", "job.customer", "job.invoice", "job.completed", "job.deadline", "job.stage", "job.witness",
	"job.warranty.registration", "job.warranty.registered",
	"judge.optional", "pay.billed", "pay.period", "pay.releases",
}

// Read reads the nodes of a company file. What is a job's own is a problem, and left
// out. The result is nil where nothing can be read.
func Read(d *strict.YAML) *yaml.Node {
	top := d.Root()
	switch {
	case top == nil:
		return nil
	case top.Kind != yaml.MappingNode:
		d.Fault(top, "wrong-type", "the company file is "+strict.KindOf(top)+", not a group of keys and values", "want keys of job.yaml, such as people, instruments, judge", "")
		return nil
	}
	refuse(d, top, "")
	return top
}

// refuse takes what is a job's own out of a group.
func refuse(d *strict.YAML, group *yaml.Node, path string) {
	if group.Kind != yaml.MappingNode {
		return
	}
	var kept []*yaml.Node
	for i := 0; i+1 < len(group.Content); i += 2 {
		k, v := group.Content[i], group.Content[i+1]
		name := join(path, k.Value)
		if slices.Contains(Own, name) {
			of := ""
			if path != "" {
				of = fmt.Sprintf(" of %s", path)
			}
			d.Fault(k, "job-only", fmt.Sprintf("%q%s belongs to one job, but several jobs read this file", k.Value, of), "", "state it in job.yaml of that job")
			continue
		}
		refuse(d, v, name)
		kept = append(kept, k, v)
	}
	group.Content = kept
}

// join is the path of a member.
func join(path, key string) string { return strings.TrimPrefix(path+"."+key, ".") }
