package intake

import (
	"path/filepath"
	"strings"
	"sync"

	"pgregory.net/rapid"

	"spanseal/internal/diag"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// baseFacts is what the base job says, read once.
var baseFacts = sync.OnceValue(func() *record.Facts {
	facts, list := Read(filepath.Join(corpus, "base"), Options{})
	if list.Errors() > 0 {
		panic(printProblems(list))
	}
	return facts
})

// readMemory reads one file of readings into the base job, without a folder.
// The mapping is the text of an entry of readings without its files, or "".
func readMemory(tb rapid.TB, name string, raw []byte, entry string) (*record.Facts, *diag.List) {
	tb.Helper()
	r := newReader()
	r.facts.Job, r.facts.Links = baseFacts().Job, baseFacts().Links
	for i, l := range r.facts.Links {
		r.index[l.ID] = int32(i)
		r.names.Add(l.ID)
	}
	m := mapping.New()
	if entry != "" {
		d := &strict.YAML{File: source.New("mapping.yaml", []byte(entry)), List: r.list}
		d.Object(d.Root(), "mapping.yaml", m.Keys(d))
		if r.list.Errors() > 0 {
			tb.Fatal(printProblems(r.list))
		}
	}
	r.readRaw(source.New(name, raw), m)
	r.settle()
	return r.facts, r.list
}

func memoryDocument(name string, raw []byte) *strict.YAML {
	return &strict.YAML{File: source.New(name, raw), List: &diag.List{}}
}

// lines joins lines, as a file has them.
func lines(s ...string) []byte { return []byte(strings.Join(s, "\n") + "\n") }
