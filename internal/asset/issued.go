package asset

import (
	"fmt"
	"io"
	"path"

	"spanseal/internal/form"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// A revision is what an issued one has to be handed over. Its signatures are not checked:
// who hands it over need not trust it, and whoever receives it verifies it.
type revision struct {
	number int
	at     string // of its issue, as COBie writes a time
	papers map[string]paper
	sums   map[string]string // SHA-256, by file
}

// paper is what results.json says of the papers of a link.
type paper struct {
	Link       string `json:"link"`
	Verdict    string `json:"verdict"`
	File       string `json:"file"`
	Superseded struct {
		File string `json:"file"`
	} `json:"superseded_paper"`
}

// What is read of a revision at most, in bytes: its manifest, and a link of its results.
const (
	maxManifest = 256 << 20
	maxLink     = 64 << 20
)

// open reads manifest and results of a revision.
func open(issued string, n int) (*revision, error) {
	dir, err := plain.Open(issued)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	in := func(name string) string { return path.Join(seal.RevisionFolder(n), name) }
	raw, err := dir.ReadUpTo(in(seal.ManifestName), maxManifest)
	if err != nil {
		return nil, plain.Cause(err)
	}
	m, err := seal.ParseManifest(raw)
	if err != nil {
		return nil, err
	}
	r := &revision{number: n, papers: map[string]paper{}, sums: map[string]string{}}
	// ISO 8601 without the offset: the sheets have local times (recalled).
	if r.at = m.Issued; len(r.at) > len("2026-11-25T15:00:00") {
		r.at = r.at[:len("2026-11-25T15:00:00")]
	}
	for _, f := range m.Files {
		r.sums[f.Path] = f.SHA256
	}
	file, err := dir.File(in("results.json"))
	if err != nil {
		return nil, plain.Cause(err)
	}
	defer file.Close()
	return r, form.ResultsReader{
		MaxLink: maxLink, MaxMember: maxLink,
		Member: func(string) any { return nil },
		Link: func(decode func(any) error, _ func() int64) error {
			var p paper
			if err := decode(&p); err != nil {
				return err
			}
			for _, name := range []string{p.File, p.Superseded.File} {
				if name != "" && r.sums[name] == "" {
					return fmt.Errorf("its manifest does not list %s", name)
				}
			}
			r.papers[p.Link] = p
			return nil
		},
	}.Read(io.Reader(file))
}
