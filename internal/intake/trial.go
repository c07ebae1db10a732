package intake

import (
	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// Trial is what an entry of readings makes of one table.
type Trial struct {
	Facts    *record.Facts
	Account  record.Account
	AsRead   []AsRead // its first rows
	Problems *diag.List
}

// Try reads a table of a file by the draft of an entry of readings, which is YAML: a list of
// one item. Any name is a link, and times without a zone are UTC. show is how many rows
// are shown as read.
func Try(name string, entry []byte, f *source.File, t table.Table, show int) *Trial {
	r := newReader()
	r.anyLink = true
	r.facts.Job.TimeZone = "UTC"
	r.showRows = show
	d := &strict.Document{File: source.New(name, entry), List: r.list}
	m := mapping.New()
	if top := d.Root(); top != nil {
		ks := m.Keys(d)
		ks["files"] = strict.Opt(func(*yaml.Node) {})
		d.Object(top.Content[0], "the draft", ks)
	}
	account := record.Account{File: name}
	if r.list.Errors() == 0 {
		r.assemble(t, m, f, &account)
	}
	return &Trial{Facts: r.facts, Account: account, AsRead: r.asRead, Problems: r.list}
}
