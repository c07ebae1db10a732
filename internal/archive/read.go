package archive

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"spanseal/internal/bounds"
	"spanseal/internal/fault"
	"spanseal/internal/form"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

const resultsName = "results.json"

// maxManifest is the size up to which a manifest is read, in bytes. Results are
// read link by link, whatever their size.
const maxManifest = 64 << 20

// A link of results.json is read up to so many bytes, and links and their uses up
// to a number. The tables of our largest jobs have 100,000 links of 7 KB and eight
// uses.
const (
	maxAbout    = 1 << 20
	maxLink     = 1 << 20
	maxLinks    = 500_000
	maxLinkText = 64 << 20
	maxUses     = 5_000_000
	maxColumns  = 1000
	maxDistinct = 100_000 // instruments, people, uses and sets of uses, each
)

// resultsFile holds the members of results.json by which links are found.
type resultsFile struct {
	Format   string
	Job      string
	Title    string
	Revision int
	Specimen bool
	About    resultsAbout
}

type resultsAbout struct {
	Site        record.Party        `json:"site"`
	Customer    record.Party        `json:"customer"`
	Contractor  record.Party        `json:"contractor"`
	Invoice     string              `json:"invoice"`
	Instruments []record.Instrument `json:"instruments"`
	People      []record.Person     `json:"people"`
	Stage       string              `json:"stage"`
	Witness     string              `json:"witness"`
	Policy      record.Method       `json:"judge"` // of it, how readings are made
}

type resultsLink struct {
	Link        string       `json:"link"`
	Verdict     string       `json:"verdict"`
	Certificate string       `json:"certificate"`
	File        string       `json:"file"`
	Uses        []resultsUse `json:"measured_with"`
	Coded       record.Coded `json:"coded"`
	Schedule    struct {
		record.Names
		record.Terms
		Stage string `json:"stage"`
		Trunk string `json:"trunk"`
	} `json:"schedule"`
	Readings    []resultsReading `json:"readings"`
	Inspections []struct {
		End       string `json:"end"`
		Criterion string `json:"criterion"`
		Edition   string `json:"edition"`
		Result    string `json:"result"`
		Person    string `json:"person"`
	} `json:"inspections"`
	Originals []struct {
		File string `json:"file"`
	} `json:"originals"`
	Stages []resultsReading `json:"stages"`
}

type resultsReading struct {
	Method record.Method `json:"method"`
}

// methodKeys are by what a link is found that was not measured as all of the job were.
var methodKeys = [...]string{"reference", "launch", "software", "stage", "witness"}

// methods are what a link or a reading of it says of how it was measured, each once.
func (l *resultsLink) methods() (all []record.GivenName) {
	note := func(key, text string) {
		if one := (record.GivenName{Key: key, Text: text}); text != "" && !slices.Contains(all, one) {
			all = append(all, one)
		}
	}
	of := func(m record.Method) {
		for i, text := range []string{string(m.Reference), m.Launch, m.Software, string(m.Stage)} {
			note(methodKeys[i], text)
		}
	}
	if m := l.Schedule.Method; m != nil && len(l.Readings) == 0 {
		of(*m)
	}
	for _, r := range slices.Concat(l.Readings, l.Stages) {
		of(r.Method)
	}
	note("stage", l.Schedule.Stage)
	note("witness", l.Schedule.Witness)
	return all
}

// around is what is on record beside the readings: inspections, and the files that
// instruments wrote.
func (l *resultsLink) around() (all []record.GivenName) {
	for _, i := range l.Inspections {
		all = append(all, record.GivenName{Key: "inspection", Text: strings.Join([]string{i.Criterion, i.Edition, "end " + i.End, i.Result, i.Person}, " ")})
	}
	for _, f := range l.Originals {
		all = append(all, record.GivenName{Key: "original", Text: f.File})
	}
	return all
}

type resultsUse struct {
	Instrument string      `json:"instrument"`
	Source     string      `json:"source"`
	Person     string      `json:"person"`
	Day        record.Date `json:"day"`
}

// readGuarded is read of what may meet a fault of the program.
func (a *Archive) readGuarded(place string, old *Revision) (r *Revision) {
	if fault.Guard(func() error { r = a.read(place, old); return nil }) != nil {
		r = &Revision{Path: place}
		r.doubt("a fault of the program kept it from being read; please report it")
	}
	return r
}

// read reads a revision. old, which may be nil, is what was known of it.
func (a *Archive) read(place string, old *Revision) *Revision {
	dir := filepath.Join(a.Dir, filepath.FromSlash(place))
	r := &Revision{Path: place, stamps: a.stamps(place)}
	data, err := slurp(filepath.Join(dir, seal.ManifestName))
	if err != nil {
		r.doubt("manifest.json cannot be read: %s", plain.Cause(err).Error())
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
	r.previous, r.Reason, r.Changes = m.Previous, m.Reason, m.Texts()
	if signature, err := slurp(filepath.Join(dir, seal.ManifestSignature)); err != nil {
		r.doubt("manifest.p7s cannot be read: %s", plain.Cause(err).Error())
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
	known := newRegister(r)
	papers := map[string]bool{}
	var listed *seal.ManifestFile
	for i, f := range m.Files {
		papers[f.Path] = true
		if f.Path == resultsName {
			listed = &m.Files[i]
		}
	}
	unlisted, misnumbered := 0, 0
	f, err := openPlain(file)
	if err != nil {
		r.doubt("results.json cannot be read: %s", plain.Cause(err).Error())
		r.fromManifest(m)
		return
	}
	defer f.Close()
	res, is, err := streamResults(f, func(l *resultsLink) {
		if known.full() {
			return
		}
		if !papers[l.File] {
			unlisted++
		}
		if l.Certificate != r.number(l.Link, l.Verdict) {
			misnumbered++
		}
		if l.Schedule.Colour == "" && !l.Coded.Colour.IsZero() {
			l.Schedule.Colour = l.Coded.Colour.String()
		}
		given, further := l.Schedule.Given()
		if l.Schedule.Trunk != "" {
			given = append(given, record.GivenName{Key: "trunk", Text: l.Schedule.Trunk})
		}
		r.add(LinkPaper{Name: l.Link, Verdict: l.Verdict, File: l.File, Names: slices.Concat(given, l.methods(), l.around(), further)}, known.set(l.Uses))
	})
	if err == nil && known.full() {
		err = errNotResults
	}
	if err != nil {
		r.doubt("results.json %s", err)
		r.links, r.count, r.sets, r.uses, r.instruments, r.people, r.columns = nil, 0, nil, nil, nil, nil, nil
		r.fromManifest(m)
		return
	}
	switch {
	case listed == nil:
		r.doubt("the manifest does not list results.json")
	case *listed != is:
		r.doubt("results.json is not the file that the manifest lists")
	}
	if res.Job != m.Job || res.Revision != m.Revision {
		r.doubt("results.json is of job %s, revision %d; the manifest of job %s, revision %d", res.Job, res.Revision, m.Job, m.Revision)
	}
	if unlisted > 0 {
		r.doubt("the manifest does not list the documents of %d links that results.json names", unlisted)
	}
	if misnumbered > 0 {
		r.doubt("%d links of results.json have another number than job and link give", misnumbered)
	}
	about := &res.About
	r.Title, r.Specimen, r.Invoice = res.Title, res.Specimen, about.Invoice
	r.Site, r.Customer, r.Order, r.Contractor = about.Site.Name, about.Customer.Name, about.Customer.Order, about.Contractor.Name
	r.ways = [...]string{string(about.Policy.Reference), about.Policy.Launch, about.Policy.Software, about.Stage, about.Witness}
	known.describe(about)
}

// streamResults reads a results.json, its links one by one. It returns what the file
// is, as a manifest would list it. Errors are clauses about results.json.
func streamResults(from io.Reader, link func(*resultsLink)) (res resultsFile, is seal.ManifestFile, err error) {
	members := map[string]any{"format": &res.Format, "job": &res.Job, "title": &res.Title, "revision": &res.Revision, "specimen": &res.Specimen, "about": &res.About}
	hash, size := sha256.New(), new(counter)
	n, text, uses := 0, 0, 0
	results := form.ResultsReader{
		MaxMember: maxAbout, MaxLink: maxLink,
		Member: func(name string) any { return members[name] },
		Link: func(decode func(any) error, _ func() int64) error {
			var l resultsLink
			if err := decode(&l); err != nil {
				return err
			}
			n, text, uses = n+1, text+len(l.Link)+len(l.File), uses+len(l.Uses)
			given, further := l.Schedule.Given()
			for _, one := range slices.Concat(given, further, l.around()) {
				text += len(one.Text)
			}
			if n > maxLinks || text > maxLinkText || uses > maxUses {
				return bounds.ErrTooLarge
			}
			link(&l)
			return nil
		},
	}
	err = results.Read(io.TeeReader(from, io.MultiWriter(hash, size)))
	if unknown := (*form.UnknownFormError)(nil); errors.As(err, &unknown) {
		return res, is, fmt.Errorf("is of the form %q, and only %s are known", unknown.Form, strings.Join(form.ResultsForms, " and "))
	}
	if err != nil || res.Format == "" {
		return res, is, errNotResults
	}
	is = seal.ManifestFile{Path: resultsName, Size: int64(*size), SHA256: hex.EncodeToString(hash.Sum(nil))}
	return res, is, nil
}

var errNotResults = errors.New("is not JSON of the form that is known")

// counter counts what is written to it.
type counter int64

func (c *counter) Write(p []byte) (int, error) { *c += counter(len(p)); return len(p), nil }

// fromManifest tells links from the names of their papers.
func (r *Revision) fromManifest(m *seal.Manifest) {
	none := newRegister(r).set(nil)
	for _, f := range m.Files {
		folder, name, _ := strings.Cut(f.Path, "/")
		if name, ok := strings.CutSuffix(name, ".pdf"); ok && (folder == certificates || folder == nonconformance) {
			r.add(LinkPaper{Name: name, File: f.Path}, none)
		}
	}
}

// register numbers what the uses of links have in common.
type register struct {
	r           *Revision
	instruments map[string]int // by id, from one
	people      map[string]int
	uses        map[method]int
	sets        map[string]int
}

func newRegister(r *Revision) *register {
	return &register{r: r, instruments: map[string]int{}, people: map[string]int{}, uses: map[method]int{}, sets: map[string]int{}}
}

// full reports that there is more than any job has.
func (r *register) full() bool {
	return max(len(r.instruments), len(r.people), len(r.uses), len(r.sets)) > maxDistinct || len(r.r.columns) > maxColumns
}

// describe adds what the job says of the instruments and people that were met.
func (r *register) describe(about *resultsAbout) {
	for _, i := range about.Instruments {
		if n := r.instruments[i.ID]; n > 0 {
			r.r.instruments[n-1].Kind, r.r.instruments[n-1].Serial = i.Kind, i.Serial
		}
	}
	for _, p := range about.People {
		if n := r.people[p.ID]; n > 0 {
			r.r.people[n-1].Name = p.Name
		}
	}
}

// instrument numbers an instrument by its id.
func (r *register) instrument(id string) int {
	if id != "" && r.instruments[id] == 0 {
		r.r.instruments = append(r.r.instruments, record.Instrument{ID: id})
		r.instruments[id] = len(r.r.instruments)
	}
	return r.instruments[id]
}

func (r *register) person(id string) int {
	if id != "" && r.people[id] == 0 {
		r.r.people = append(r.r.people, record.Person{ID: id, Name: id})
		r.people[id] = len(r.r.people)
	}
	return r.people[id]
}

// set numbers a set of uses, from zero.
func (r *register) set(uses []resultsUse) int {
	var members []int
	for _, x := range uses {
		u := method{r.instrument(x.Instrument), r.instrument(x.Source), r.person(x.Person), x.Day}
		n, ok := r.uses[u]
		if !ok {
			n = len(r.r.uses)
			r.uses[u] = n
			r.r.uses = append(r.r.uses, u)
		}
		members = append(members, n)
	}
	key := fmt.Sprint(members)
	n, ok := r.sets[key]
	if !ok {
		n = len(r.r.sets)
		r.sets[key] = n
		r.r.sets = append(r.r.sets, members)
	}
	return n
}

// openPlain opens a file that is neither a folder, nor a link, nor a device.
func openPlain(name string) (*os.File, error) {
	dir, err := plain.Open(filepath.Dir(name))
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	return dir.File(filepath.Base(name))
}

// slurp reads a plain file of bounded size.
func slurp(name string) ([]byte, error) { return slurpUpTo(name, maxManifest) }

func slurpUpTo(name string, most int64) ([]byte, error) {
	f, err := openPlain(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("it has more than %d bytes", most)
	}
	return data, err
}
