package archive

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"spanseal/internal/record"
	"spanseal/internal/seal"
)

const resultsName = "results.json"

// The sizes up to which files are read, in bytes.
const (
	maxManifest = 64 << 20
	maxResults  = 1 << 30
)

// resultsFormat is the form of results.json that is known here. This reading
// of it owes nothing to the code that wrote it.
const resultsFormat = "spanseal-results/1"

// resultsFile holds the members of results.json by which links are found.
type resultsFile struct {
	Format   string `json:"format"`
	Job      string `json:"job"`
	Title    string `json:"title"`
	Revision int    `json:"revision"`
	Specimen bool   `json:"specimen"`
	About    struct {
		Site        record.Party        `json:"site"`
		Customer    record.Party        `json:"customer"`
		Contractor  record.Party        `json:"contractor"`
		Invoice     string              `json:"invoice"`
		Instruments []record.Instrument `json:"instruments"`
		People      []record.Person     `json:"people"`
	} `json:"about"`
	Links []resultsLink `json:"links"`
}

type resultsLink struct {
	Link        string       `json:"link"`
	Verdict     string       `json:"verdict"`
	Certificate string       `json:"certificate"`
	File        string       `json:"file"`
	Uses        []resultsUse `json:"measured_with"`
}

type resultsUse struct {
	Instrument string      `json:"instrument"`
	Source     string      `json:"source"`
	Person     string      `json:"person"`
	Day        record.Date `json:"day"`
}

// read reads a revision. old, which may be nil, is what was known of it.
func (a *Archive) read(place string, old *Revision) *Revision {
	dir := filepath.Join(a.Dir, filepath.FromSlash(place))
	r := &Revision{Path: place, stamps: a.stamps(place)}
	data, err := slurp(filepath.Join(dir, seal.ManifestName), maxManifest)
	if err != nil {
		r.doubt("manifest.json cannot be read: %s", reason(err))
		return r
	}
	r.SHA256 = seal.NewManifestFile("", data).SHA256
	if old != nil && old.SHA256 == r.SHA256 && slices.Equal(old.stamps[1:], r.stamps[1:]) {
		same := *old // touched, not changed
		same.stamps = r.stamps
		return &same
	}
	m, err := seal.ParseManifest(data)
	if err != nil {
		r.doubt("manifest.json is not one: %v", err)
		return r
	}
	r.Job, r.Number, r.Issued, r.SignerKey = m.Job, m.Revision, m.Issued, m.Signer.String()
	r.previous, r.Reason, r.Changes = m.Previous, m.Reason, m.Changes
	if signature, err := slurp(filepath.Join(dir, seal.ManifestSignature), maxManifest); err != nil {
		r.doubt("manifest.p7s cannot be read: %s", reason(err))
	} else if _, by, err := seal.VerifyManifest(data, signature); err != nil {
		r.doubt("the manifest is not as it was signed: %v", err)
	} else {
		r.Signer = seal.CommonName(by.Certificate)
	}
	r.readResults(filepath.Join(dir, resultsName), m)
	return r
}

func (r *Revision) doubt(format string, args ...any) {
	r.Doubts = append(r.Doubts, fmt.Sprintf(format, args...))
}

// readResults takes in what results.json says, and holds it against the
// manifest. Links of results that cannot be used are told from the papers that
// the manifest lists.
func (r *Revision) readResults(file string, m *seal.Manifest) {
	listed := func(name string) (seal.ManifestFile, bool) {
		i, ok := slices.BinarySearchFunc(m.Files, name, func(f seal.ManifestFile, n string) int { return strings.Compare(f.Path, n) })
		if !ok {
			return seal.ManifestFile{}, false
		}
		return m.Files[i], true
	}
	data, err := slurp(file, maxResults)
	var res resultsFile
	switch {
	case err != nil:
		r.doubt("results.json cannot be read: %s", reason(err))
	case json.Unmarshal(data, &res) != nil:
		r.doubt("results.json is not JSON of the form that is known")
	case res.Format != resultsFormat:
		r.doubt("results.json is of the form %q, and only %q is known", res.Format, resultsFormat)
	}
	if len(r.Doubts) > 0 && len(res.Links) == 0 {
		r.fromManifest(m)
		return
	}
	switch f, ok := listed(resultsName); {
	case !ok:
		r.doubt("the manifest does not list results.json")
	case f != seal.NewManifestFile(resultsName, data):
		r.doubt("results.json is not the file that the manifest lists")
	}
	if res.Job != m.Job || res.Revision != m.Revision {
		r.doubt("results.json is of job %s, revision %d; the manifest of job %s, revision %d", res.Job, res.Revision, m.Job, m.Revision)
	}
	about := &res.About
	r.Title, r.Specimen, r.Invoice = res.Title, res.Specimen, about.Invoice
	r.Site, r.Customer, r.Order, r.Contractor = about.Site.Name, about.Customer.Name, about.Customer.Order, about.Contractor.Name
	for _, i := range about.Instruments {
		r.instruments = append(r.instruments, record.Instrument{ID: i.ID, Kind: i.Kind, Serial: i.Serial})
	}
	for _, p := range about.People {
		r.people = append(r.people, record.Person{ID: p.ID, Name: p.Name})
	}
	known := newRegister(r)
	unlisted, misnumbered := 0, 0
	for _, l := range res.Links {
		if _, ok := listed(l.File); !ok {
			unlisted++
		}
		if l.Certificate != r.number(l.Link, l.Verdict) {
			misnumbered++
		}
		r.add(Link{Name: l.Link, Verdict: l.Verdict, File: l.File}, known.set(l.Uses))
	}
	if misnumbered > 0 {
		r.doubt("%d links of results.json have another number than job and link give", misnumbered)
	}
	if unlisted > 0 {
		r.doubt("the manifest does not list the papers of %d links that results.json names", unlisted)
	}
}

// fromManifest tells links from the names of their papers.
func (r *Revision) fromManifest(m *seal.Manifest) {
	none := newRegister(r).set(nil)
	for _, f := range m.Files {
		folder, name, _ := strings.Cut(f.Path, "/")
		if name, ok := strings.CutSuffix(name, ".pdf"); ok && (folder == certificates || folder == nonconformance) {
			r.add(Link{Name: name, File: f.Path}, none)
		}
	}
}

// register numbers what the uses of links have in common.
type register struct {
	r           *Revision
	instruments map[string]int // by id, from one
	people      map[string]int
	uses        map[use]int
	sets        map[string]int
}

func newRegister(r *Revision) *register {
	g := &register{r, map[string]int{}, map[string]int{}, map[use]int{}, map[string]int{}}
	for i, x := range r.instruments {
		g.instruments[x.ID] = i + 1
	}
	for i, x := range r.people {
		g.people[x.ID] = i + 1
	}
	return g
}

// instrument numbers an instrument; one that the job does not list is known by
// its id alone.
func (g *register) instrument(id string) int {
	if id != "" && g.instruments[id] == 0 {
		g.r.instruments = append(g.r.instruments, record.Instrument{ID: id})
		g.instruments[id] = len(g.r.instruments)
	}
	return g.instruments[id]
}

func (g *register) person(id string) int {
	if id != "" && g.people[id] == 0 {
		g.r.people = append(g.r.people, record.Person{ID: id, Name: id})
		g.people[id] = len(g.r.people)
	}
	return g.people[id]
}

// set numbers a set of uses, from zero.
func (g *register) set(uses []resultsUse) int {
	var members []int
	for _, x := range uses {
		u := use{g.instrument(x.Instrument), g.instrument(x.Source), g.person(x.Person), x.Day}
		n, ok := g.uses[u]
		if !ok {
			n = len(g.r.uses)
			g.uses[u] = n
			g.r.uses = append(g.r.uses, u)
		}
		members = append(members, n)
	}
	key := fmt.Sprint(members)
	n, ok := g.sets[key]
	if !ok {
		n = len(g.r.sets)
		g.sets[key] = n
		g.r.sets = append(g.r.sets, members)
	}
	return n
}

// slurp reads a plain file of bounded size.
func slurp(name string, limit int64) ([]byte, error) {
	info, err := os.Lstat(name)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, errors.New("it is not a plain file")
	case info.Size() > limit:
		return nil, fmt.Errorf("it has %d bytes; at most %d are read", info.Size(), limit)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data := make([]byte, info.Size())
	if _, err := io.ReadFull(f, data); err != nil && !errors.Is(err, fs.ErrClosed) {
		return nil, err
	}
	return data, nil
}
