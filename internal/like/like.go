// Package like makes a new job folder from an older one of the same firm.
//
// What is the firm's manner, or the receiver's, is kept: contractor, people,
// instruments, limits and policy, how exports are read, pay items, papers, the company
// file, and the files that these name. What was said of the older job's own work is
// emptied, so that nothing of it can stand on a new paper unsaid: number, title, site,
// customer and dates, links, cables and trunks, readings and what was made, answers,
// declarations, aliases, what was agreed as optional, what was billed and released, and in the
// entries of readings whatever holds for one day, one link or one measurement. Keys
// that the older job had stay behind, blank. [Copy.Points] lists what must still be
// said, in the order in which it is filled in.
//
// The key file is not copied. Remarks and the form of job.yaml stay where nothing had
// to be emptied. job.yaml has at most 2 MB; of a schedule 1 MB is looked at for its
// heading; the files copied have at most 20 MB each.
package like

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/plain"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

const (
	largestYAML = 2_000_000
	largestFile = 20_000_000
)

// NewFile is one file of the new folder.
type NewFile struct {
	Name string // forward slashes
	Data []byte
}

// Copy is what a new folder is made of.
type Copy struct {
	Files  []NewFile // besides what every new folder has; job.yaml first
	Points []diag.Unsaid

	firm     string // the name of a company file that is not among the files
	schedule string // the name of the schedule
	drafted  bool
	old      *plain.Folder
	top      *yaml.Node
}

// Read reads an older job. With drafted, its entries of readings and what it says of its
// schedule stand in the new job.yaml as remarks only, since others will be put there.
// The list holds why it cannot be read.
func Read(dir string, drafted bool) (*Copy, *diag.List) {
	list := &diag.List{}
	old, err := plain.Open(dir)
	if err != nil {
		list.Add(diag.Problem{Code: "no-job-folder", Place: diag.Place{File: filepath.ToSlash(dir)}, Message: "the older job cannot be opened: " + plain.Cause(err).Error(), Fix: "name the folder of a job"})
		return nil, list
	}
	defer old.Close()
	data, err := old.ReadUpTo(folder.Job, largestYAML)
	if err != nil {
		list.Add(diag.Problem{Code: "cannot-read", Place: diag.Place{File: path.Join(filepath.ToSlash(dir), folder.Job)}, Message: "the older job cannot be read: " + plain.Cause(err).Error(), Fix: "name the folder of a job"})
		return nil, list
	}
	file := source.New(path.Join(filepath.ToSlash(dir), folder.Job), bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n")))
	d := &strict.YAML{File: file, List: list}
	top := d.Root()
	if top != nil && top.Kind != yaml.MappingNode {
		d.Fault(top, "wrong-type", "job.yaml is "+strict.KindOf(top)+", not a group of keys and values", "", "")
	}
	if list.Errors() > 0 {
		return nil, list
	}
	c := &Copy{old: old, top: top, drafted: drafted, schedule: folder.Links}
	text, err := c.job(file)
	if err != nil {
		panic(err) // these nodes were read from YAML
	}
	c.Files = append(c.Files, NewFile{folder.Job, text})
	c.tables()
	c.named(dir)
	c.sayRest()
	return c, list
}

// Write writes the files into a folder that has those of every new job already.
func (c *Copy) Write(dir string) error {
	for _, f := range c.Files {
		name := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			return err
		}
		mode := fs.FileMode(0o644)
		if f.Name == "pay.yaml" { // it is not handed over
			mode = 0o600
		}
		if err := os.WriteFile(name, f.Data, mode); err != nil {
			return err
		}
	}
	if c.schedule != folder.Links { // which would be read instead
		if err := os.Remove(filepath.Join(dir, folder.Links)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	if c.firm != "" {
		if _, problem := company.Find(dir, c.firm); problem != nil {
			c.Points = slices.Insert(c.Points, min(1, len(c.Points)), diag.Unsaid{File: folder.Job, Text: fmt.Sprintf("company: there is no %s above the new folder: move the folder, or copy the file", c.firm)})
		}
	}
	return nil
}

func (c *Copy) say(file, text string) {
	c.Points = append(c.Points, diag.Unsaid{File: file, Text: text})
}

// take copies a file of the older job, if it is there and can be copied.
func (c *Copy) take(name string) bool {
	if !fs.ValidPath(name) || slices.ContainsFunc(c.Files, func(f NewFile) bool { return f.Name == name }) {
		return false
	}
	data, err := c.old.ReadUpTo(name, largestFile)
	if err != nil {
		return false
	}
	c.Files = append(c.Files, NewFile{name, data})
	return true
}

// named copies what job.yaml names, and the papers' templates.
func (c *Copy) named(dir string) {
	for _, n := range items(at(c.top, "judge", "limits")) {
		if ext := path.Ext(n.Value); ext == ".yaml" || ext == ".yml" {
			c.take(n.Value)
		}
	}
	for _, n := range items(at(c.top, "readings")) {
		if m := at(n, "mapping"); m != nil {
			c.take(m.Value)
		}
	}
	c.take("confirmed.yaml")
	for _, dir := range []string{"documents", "wording"} {
		_ = fs.WalkDir(c.old, dir, func(name string, e fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return nil
			case e.Type().IsRegular():
				c.take(name)
			}
			return nil
		})
	}
	if i := slices.IndexFunc(c.Files, func(f NewFile) bool { return f.Name == "documents/style.yaml" }); i >= 0 {
		d := &strict.YAML{File: source.New("style.yaml", c.Files[i].Data), List: &diag.List{}}
		if style := d.Root(); style != nil {
			c.takeNamed(style)
		}
	}
	if n := at(c.top, company.Key); n != nil && n.Value != "" {
		f, problem := company.Find(dir, n.Value)
		switch {
		case problem == nil && f.Name == n.Value: // in the older job itself
			c.take(n.Value)
		default:
			c.firm = n.Value
		}
	}
	if c.take("pay.yaml") {
		f := &c.Files[len(c.Files)-1]
		d := &strict.YAML{File: source.New("pay.yaml", f.Data), List: &diag.List{}}
		if pay := d.Root(); pay != nil && drop(pay, billing...) {
			if data, err := encode(pay); err == nil {
				f.Data = data
			}
		}
	}
}

// takeNamed copies the pictures and typefaces that a style names.
func (c *Copy) takeNamed(n *yaml.Node) {
	if n.Kind == yaml.ScalarNode && slices.Contains([]string{".png", ".jpg", ".jpeg", ".ttf", ".otf", ".ttc"}, strings.ToLower(path.Ext(n.Value))) {
		c.take(n.Value)
	}
	for _, v := range n.Content {
		c.takeNamed(v)
	}
}

// sayRest lists what is not of job.yaml's own keys.
func (c *Copy) sayRest() {
	key := at(c.top, "sign", "key")
	switch {
	case key == nil && c.firm != "":
	case key != nil && strings.HasPrefix(key.Value, "../"): // beside both jobs, if these lie beside each other
		c.say(folder.Job, "sign: whether the key is at "+key.Value+" from here too")
	default:
		name := "signer.p12"
		if key != nil && key.Value != "" {
			name = key.Value
		}
		c.say(name, "the key is not copied: put it there, or state in job.yaml under sign where it is")
	}
	if !c.drafted {
		c.say("readings/", "what the instruments exported")
	}
}

// at is the value below keys, or nil.
func at(n *yaml.Node, keys ...string) *yaml.Node {
	for _, key := range keys {
		var next *yaml.Node
		if n != nil && n.Kind == yaml.MappingNode {
			for i := 0; i+1 < len(n.Content); i += 2 {
				if n.Content[i].Value == key {
					next = n.Content[i+1]
					break
				}
			}
		}
		n = next
	}
	return n
}

// drop takes keys out of a group, and reports whether one was there.
func drop(n *yaml.Node, keys ...string) bool {
	if n.Kind != yaml.MappingNode {
		return false
	}
	var kept []*yaml.Node
	for i := 0; i+1 < len(n.Content); i += 2 {
		if !slices.Contains(keys, n.Content[i].Value) {
			kept = append(kept, n.Content[i], n.Content[i+1])
		}
	}
	dropped := len(kept) < len(n.Content)
	n.Content = kept
	return dropped
}

// items are those of a list.
func items(n *yaml.Node) []*yaml.Node {
	if n == nil || n.Kind != yaml.SequenceNode {
		return nil
	}
	return n.Content
}

// errNone is that of a schedule from which no heading is told.
var errNone = errors.New("no heading")
