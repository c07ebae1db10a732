package like

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/source"
)

// emptied are the parts of job.yaml that were said of the older job alone.
var emptied = []string{"answers", "declared", "aliases", "cables", "trunks"}

// asked are the members of job that each job says itself; the first four it must.
var asked = []string{"number", "title", "site", "customer", "invoice", "completed", "deadline", "stage", "witness"}

// once are the keys of an entry of readings that hold for one day, one link or one
// measurement.
var once = []string{"link", "cable", "strand", "event", "note", "date", "time", "reference_date", "reference_time", "reference", "reference_dbm",
	"length", "length_m", "length_km", "length_ft", "length_kft", "doubled_hour"}

// billing are the keys of pay that say what was billed of the older job.
var billing = []string{"billed", "period", "releases"}

// job is the new job.yaml: the lines of the old one where nothing is emptied.
func (c *Copy) job(old *source.File) ([]byte, error) {
	var b bytes.Buffer
	lines := strings.Split(strings.TrimRight(string(old.Text), "\n"), "\n")
	flow := c.top.Style&yaml.FlowStyle != 0
	from := make([]int, 0, len(c.top.Content)/2+1) // the line where each part begins, with the remarks above it
	for i := 0; i < len(c.top.Content); i += 2 {
		n := c.top.Content[i].Line - 1
		for !flow && n > 0 && strings.HasPrefix(lines[n-1], "#") {
			n--
		}
		from = append(from, n)
	}
	from = append(from, len(lines))
	if !flow {
		for _, line := range lines[:from[0]] {
			fmt.Fprintln(&b, line)
		}
	}
	for i := 0; i+1 < len(c.top.Content); i += 2 {
		k, v := c.top.Content[i], c.top.Content[i+1]
		name := k.Value
		if slices.Contains(emptied, name) {
			if n := len(v.Content); n > 0 && (name == "cables" || name == "trunks") {
				c.say(folder.Job, name+": those of this job")
			}
			continue
		}
		if c.drafted && (name == "readings" || name == "schedule") {
			fmt.Fprintf(&b, "# The older job had:\n")
			for _, line := range lines[k.Line-1 : from[i/2+1]] {
				fmt.Fprintln(&b, strings.TrimRight("# "+line, " "))
			}
			continue
		}
		part := lines[from[i/2]:from[i/2+1]]
		keep, whole := cut(part, from[i/2], c.dropped(name, v))
		changed := c.change(name, v)
		if v.Kind == yaml.MappingNode && changed && len(v.Content) == 0 {
			continue
		}
		if !flow && (!changed || whole && name != "job") {
			for _, line := range keep {
				fmt.Fprintln(&b, line)
			}
			continue
		}
		if !flow {
			for _, line := range part[:k.Line-1-from[i/2]] {
				fmt.Fprintln(&b, line)
			}
			k.HeadComment, k.FootComment, v.FootComment = "", "", ""
		}
		text, err := encode(&yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Content: []*yaml.Node{k, v}})
		if err != nil {
			return nil, err
		}
		if name == "job" {
			text = bytes.ReplaceAll(text, []byte(": ''"), []byte(": ")) // blanks between braces
		}
		b.Write(text)
		b.WriteString("\n")
	}
	text := append(bytes.TrimRight(b.Bytes(), "\n"), '\n')
	if c.reads(text) {
		return text, nil
	}
	// Its lines do not part as its values do. What it says is kept, not how.
	whole := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map"}
	for i := 0; i+1 < len(c.top.Content); i += 2 {
		if name := c.top.Content[i].Value; !slices.Contains(emptied, name) && !(c.drafted && (name == "readings" || name == "schedule")) {
			whole.Content = append(whole.Content, c.top.Content[i], c.top.Content[i+1])
		}
	}
	return encode(whole)
}

// reads reports that a new job.yaml has the parts that it should have.
func (c *Copy) reads(text []byte) bool {
	var doc yaml.Node
	if err := yaml.Unmarshal(text, &doc); err != nil {
		return false
	}
	var want, got []string
	for i := 0; i+1 < len(c.top.Content); i += 2 {
		name, v := c.top.Content[i].Value, c.top.Content[i+1]
		if !slices.Contains(emptied, name) && !(c.drafted && (name == "readings" || name == "schedule")) && !(v.Kind == yaml.MappingNode && len(v.Content) == 0) {
			want = append(want, name)
		}
	}
	if len(doc.Content) > 0 {
		top := doc.Content[0]
		for i := 0; i+1 < len(top.Content); i += 2 {
			if v := top.Content[i+1]; v.Kind != yaml.MappingNode || len(v.Content) > 0 {
				got = append(got, top.Content[i].Value)
			}
		}
	}
	return slices.Equal(want, got)
}

// member is a key of a group and its value, and what stands behind it, nil for nothing.
type member struct{ k, v, next *yaml.Node }

// dropped are the members that change takes out of a part.
func (c *Copy) dropped(name string, v *yaml.Node) (all []member) {
	add := func(group, behind *yaml.Node, is func(k, v *yaml.Node) bool) {
		for i := 0; group.Kind == yaml.MappingNode && i+1 < len(group.Content); i += 2 {
			if m := (member{group.Content[i], group.Content[i+1], behind}); is(m.k, m.v) {
				if i+2 < len(group.Content) {
					m.next = group.Content[i+2]
				}
				if group.Style&yaml.FlowStyle != 0 || i == 0 { // not lines of their own
					m.k = nil
				}
				all = append(all, m)
			}
		}
	}
	switch name {
	case "judge":
		add(v, nil, func(k, _ *yaml.Node) bool { return k.Value == "optional" })
	case "pay":
		add(v, nil, func(k, _ *yaml.Node) bool { return slices.Contains(billing, k.Value) })
	case "readings":
		entries := items(v)
		for i, n := range entries {
			var behind *yaml.Node
			if i+1 < len(entries) {
				behind = entries[i+1]
			}
			add(n, behind, isOnce)
		}
	}
	return all
}

// isOnce reports a member of an entry of readings that holds for one day, one link or
// one measurement.
func isOnce(k, v *yaml.Node) bool { return isLiteral(v) && slices.Contains(once, k.Value) }

// isLiteral reports a value that is no column.
func isLiteral(v *yaml.Node) bool {
	return v.Kind == yaml.ScalarNode && !strings.Contains(v.Value, "{")
}

// cut takes the lines of members out of a part, whose first line has the number from,
// counted from zero. It reports whether it could: a member may share its lines.
func cut(part []string, from int, members []member) ([]string, bool) {
	out := slices.Clone(part)
	gone := map[int]bool{}
	for _, m := range members {
		if m.k == nil {
			return part, false
		}
		first, end := m.k.Line-1-from, len(part)
		if m.next != nil {
			end = m.next.Line - 1 - from
		}
		last := lastLine(m.v) - 1 - from
		if last < first || last >= end || m.next != nil && end <= first {
			return part, false
		}
		for _, line := range part[last+1 : end] {
			if text := strings.TrimSpace(line); text != "" && text[0] != '#' { // the end of a text, or a bracket
				return part, false
			}
		}
		for n := first; n <= last; n++ {
			gone[n] = true
		}
	}
	out = out[:0]
	for n, line := range part {
		if !gone[n] {
			out = append(out, line)
		}
	}
	return out, true
}

// lastLine is the line in which the last value of a node begins.
func lastLine(n *yaml.Node) int {
	last := n.Line
	for _, v := range n.Content {
		last = max(last, lastLine(v))
	}
	return last
}

// change empties what is the older job's own of a part, and says what must be said.
func (c *Copy) change(name string, v *yaml.Node) bool {
	switch name {
	case "job":
		return c.changeWork(v)
	case "judge":
		agreed := items(at(v, "optional"))
		if !drop(v, "optional") {
			return false
		}
		var what []string
		for _, n := range agreed {
			for _, key := range []string{"limit", "quantity", "set"} {
				if one := at(n, key); one != nil {
					what = append(what, one.Value)
					break
				}
			}
		}
		c.say(folder.Job, fmt.Sprintf("judge: optional: who agrees this time that %s need not be measured", some(what)))
		return true
	case "pay":
		return drop(v, billing...)
	case "readings":
		return c.changeReadings(v)
	}
	return false
}

// changeWork blanks what each job says of its work.
func (c *Copy) changeWork(v *yaml.Node) bool {
	if v.Kind != yaml.MappingNode {
		return false
	}
	blank := func() *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"} }
	text := func(s string) *yaml.Node { return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: s} }
	group := func(keys ...string) *yaml.Node {
		g := &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Style: yaml.FlowStyle}
		for _, key := range keys {
			g.Content = append(g.Content, text(key), blank())
		}
		return g
	}
	had := func(key string) bool { return at(v, key) != nil }
	var names []string
	var content []*yaml.Node
	for i, key := range asked {
		if i > 3 && !had(key) {
			continue
		}
		names = append(names, key)
		value := blank()
		switch {
		case key == "site":
			value = group("name", "address")
		case key == "customer" && at(v, key, "order") != nil:
			value = group("name", "address", "order")
		case key == "customer":
			value = group("name", "address")
		}
		content = append(content, text(key), value)
	}
	if w := at(v, "warranty"); w != nil && w.Kind == yaml.MappingNode && drop(w, "registration", "registered") {
		names = append(names, "warranty: its registration")
	}
	for i := 0; i+1 < len(v.Content); i += 2 {
		if k := v.Content[i]; !slices.Contains(asked, k.Value) {
			content = append(content, k, v.Content[i+1])
		}
	}
	v.Content, v.Style = content, 0
	c.Points = slices.Insert(c.Points, 0, diag.Unsaid{File: folder.Job, Text: "job: " + strings.Join(names, ", ")})
	return true
}

// changeReadings drops what holds for one day, link or measurement.
func (c *Copy) changeReadings(v *yaml.Node) bool {
	changed := false
	var files, gone, still []string
	for _, n := range items(v) {
		if n.Kind != yaml.MappingNode {
			continue
		}
		if f := at(n, "files"); f != nil && !strings.ContainsAny(f.Value, "*?[") {
			files = append(files, f.Value)
		}
		var kept []*yaml.Node
		for i := 0; i+1 < len(n.Content); i += 2 {
			k, value := n.Content[i], n.Content[i+1]
			switch {
			case isOnce(k, value):
				gone = append(gone, k.Value)
				continue
			case isLiteral(value) && (k.Value == "person" || k.Value == "instrument" || k.Value == "source"):
				still = append(still, k.Value+": "+value.Value)
			}
			kept = append(kept, k, value)
		}
		changed = changed || len(kept) < len(n.Content)
		n.Content = kept
	}
	if len(files) > 0 {
		c.say(folder.Job, "readings: files: the names of this job's files, instead of "+some(files))
	}
	if len(gone) > 0 {
		c.say(folder.Job, "readings: "+some(gone)+", which the older job said of its own files")
	}
	if len(still) > 0 {
		c.say(folder.Job, "readings: whether this is true of the new files too: "+some(still))
	}
	return changed
}

// some names a few of several, each once.
func some(all []string) string {
	var once []string
	for _, s := range all {
		if !slices.Contains(once, s) {
			once = append(once, s)
		}
	}
	return diag.Few(once, 4)
}

// encode writes nodes as YAML.
func encode(n *yaml.Node) ([]byte, error) {
	var b bytes.Buffer
	e := yaml.NewEncoder(&b)
	e.SetIndent(2)
	err := e.Encode(n)
	return b.Bytes(), err
}
