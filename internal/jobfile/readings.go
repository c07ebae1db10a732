package jobfile

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/mapping"
	"spanseal/internal/plain"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// readMapping reads one entry of readings.
func (r *reader) readMapping(d *strict.YAML, n *yaml.Node) {
	m := mapping.New()
	m.Place = d.At(n)
	before := r.list.Errors()
	ks := m.Keys(d)
	ks["files"] = strict.Must(func(n *yaml.Node) {
		m.Place = d.At(n)
		d.Text("files", &m.Files)(n)
		m.Files = path.Clean(m.Files)
		if _, err := path.Match(m.Files, ""); err != nil || !strings.HasPrefix(m.Files, "readings/") {
			d.Fault(n, "bad-pattern", fmt.Sprintf("%q names no files of readings/", m.Files), `want a name or a pattern such as "readings/day1*.csv"`, "")
			m.Files = ""
		}
	})
	ks["evidence_only"] = strict.Opt(d.Yes("evidence_only", &m.EvidenceOnly))
	ks["mapping"] = strict.Opt(func(n *yaml.Node) {}) // read first, see below
	if shared := valueOf(n, "mapping"); shared != nil {
		r.readShared(d, shared, m)
	}
	d.Object(n, "an entry of readings", ks)
	m.Check(d, n)
	m.Faulty = r.list.Errors() > before
	r.Mappings = append(r.Mappings, m)
}

// readShared reads a mapping file; what the entry itself says comes after it
// and so wins.
func (r *reader) readShared(d *strict.YAML, n *yaml.Node, m *mapping.Mapping) {
	name, ok := d.Scalar(n, "mapping")
	if !ok {
		return
	}
	var data []byte
	switch {
	case r.folder.Exists(name):
		if data = r.folder.Read(name, table.MaxYAML); data == nil {
			return
		}
	case r.Company != nil:
		var err error
		switch data, err = r.readBeside(name, table.MaxYAML); {
		case errors.Is(err, fs.ErrNotExist):
			d.Fault(n, "missing-file", fmt.Sprintf("there is no file %q in the job folder or beside %s", name, r.Company.File), "want the name of a mapping file", "")
			return
		case err != nil:
			d.Fault(n, "missing-file", fmt.Sprintf("the mapping file %q beside %s cannot be read: %v", name, r.Company.File, plain.Cause(err)), "want the name of a mapping file", "")
			return
		}
	default:
		d.Fault(n, "missing-file", fmt.Sprintf("there is no file %q in the job folder", name), "want the name of a mapping file", "")
		return
	}
	f := source.New(name, data)
	if !r.probing && !r.folder.Kept(name) {
		r.folder.Keep(f)
	}
	shared := &strict.YAML{File: f, List: r.list}
	if top := shared.Root(); top != nil {
		shared.Object(top, name, m.Keys(shared))
	}
}

// valueOf returns the value of a key, or nil.
func valueOf(n *yaml.Node, key string) *yaml.Node {
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				return n.Content[i+1]
			}
		}
	}
	return nil
}
