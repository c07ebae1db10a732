package issue

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// past is what the folder holds before a run, and what of it may be repeated:
// nothing that is not signed by a key that is believed.
type past struct {
	next      int                   // the number of the revision to write
	history   []certify.HistoryLine // of the finished ones, oldest first
	manifest  string                // SHA-256 of the latest manifest.json, or ""
	path      string                // where that lies, or ""
	latest    *seal.Manifest        // what it says, or nil
	issued    time.Time             // when the latest was, or the zero time
	manifests []*seal.Manifest      // of all, in order
	results   string                // where the latest results.json lies, or ""
}

// DamagedError reports an earlier revision that is not as it was issued. A
// revision is not built on one.
type DamagedError struct {
	Path string
	Err  error
}

func (e *DamagedError) Error() string { return fmt.Sprintf("%s: %v", e.Path, e.Err) }
func (e *DamagedError) Unwrap() error { return e.Err }

// StrangerError reports an earlier revision that is as it was signed, by a key
// that nobody has vouched for.
type StrangerError struct {
	Path     string // of its manifest
	Revision int
	By       *seal.SignedBy
}

func (e *StrangerError) Error() string {
	return fmt.Sprintf("%s: signed by %s with another key, %s", e.Path, seal.CommonName(e.By.Certificate), e.By.KeyID)
}

// OtherJobError reports revisions of another job in the folder.
type OtherJobError struct{ Path, Job, Now string }

func (e *OtherJobError) Error() string {
	return fmt.Sprintf("%s: a revision of the job %s, and this is the job %s", e.Path, e.Job, e.Now)
}

// BackdatedError reports a date of issue before that of the revision that it
// would follow. A day stands for its noon, so what is earlier on the same day
// is not.
type BackdatedError struct {
	Path       string // of the manifest that says when the one before was issued
	Before, At time.Time
}

func (e *BackdatedError) Error() string {
	return fmt.Sprintf("%s: issued %s, and this revision would be dated %s", e.Path, record.DateOf(e.Before), record.DateOf(e.At))
}

// UnchangedError reports a revision that would say nothing new.
type UnchangedError struct {
	Path     string // of the manifest of the one before
	Revision int    // its number
}

func (e *UnchangedError) Error() string {
	return fmt.Sprintf("%s: nothing differs from r%d: the same inputs, results and signer", e.Path, e.Revision)
}

// The sizes up to which parts of earlier revisions are read, in bytes.
const (
	maxManifest  = 64 << 20
	maxSignature = 256 << 10
)

// predecessor is one earlier revision in the chain.
type predecessor struct {
	path     string // of its manifest
	manifest *seal.Manifest
	by       *seal.SignedBy
	sum      string // SHA-256 of its manifest.json
	issued   time.Time
}

// readPast reads the finished revisions and checks what a new one repeats of
// them: each manifest against its signature and the one before, the results of
// the latest against its manifest. A revision that a key signed of which nobody
// knows is a question; see Request.Believes.
func (r *Request) readPast() (*past, error) {
	dir, err := r.disk().folder(r.Folder)
	if errors.Is(err, fs.ErrNotExist) {
		return &past{next: 1}, nil
	}
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	numbers, err := revisionsIn(dir, r.Folder)
	if err != nil {
		return nil, err
	}
	p := &past{next: 1}
	var chain []predecessor
	for _, n := range numbers {
		l, err := r.readLink(dir, n, chain)
		if err != nil {
			return nil, err
		}
		chain = append(chain, l)
		m := l.manifest
		changes, err := read(m.Changes)
		if err != nil {
			return nil, &DamagedError{l.path, err}
		}
		p.history = append(p.history, certify.HistoryLine{Number: n, Issued: record.DateOf(l.issued), Reason: m.Reason, Changes: changes})
		p.manifests = append(p.manifests, m)
		p.path, p.issued, p.latest, p.manifest, p.next = l.path, l.issued, m, l.sum, n+1
	}
	if err := r.vouched(chain); err != nil {
		return nil, err
	}
	if p.latest != nil {
		p.results = filepath.Join(r.Folder, seal.RevisionFolder(p.latest.Revision), resultsName)
		err = r.checkListed(dir, p.latest, resultsName)
	}
	return p, err
}

const resultsName = "results.json"

// checkResults holds the results of the latest revision against its manifest.
func (r *Request) checkResults(p *past) error {
	dir, err := r.disk().folder(r.Folder)
	if err != nil {
		return err
	}
	defer dir.Close()
	return r.checkListed(dir, p.latest, resultsName)
}

// readLink reads the revision of that number and holds it against its signature
// and the chain so far.
func (r *Request) readLink(dir folder, n int, chain []predecessor) (l predecessor, err error) {
	at := func(name string) string { return filepath.Join(r.Folder, seal.RevisionFolder(n), name) }
	damaged := func(name string, err error) (predecessor, error) { return l, &DamagedError{at(name), plain.Cause(err)} }
	data, err := readUpTo(dir, path.Join(seal.RevisionFolder(n), seal.ManifestName), maxManifest)
	if err != nil {
		return damaged(seal.ManifestName, err)
	}
	signature, err := readUpTo(dir, path.Join(seal.RevisionFolder(n), seal.ManifestSignature), maxSignature)
	if err != nil {
		return damaged(seal.ManifestSignature, err)
	}
	l = predecessor{path: at(seal.ManifestName), sum: seal.NewManifestFile("", data).SHA256}
	if l.manifest, l.by, err = seal.VerifyManifest(data, signature); err != nil {
		return damaged(seal.ManifestName, err)
	}
	m := l.manifest
	l.issued, _ = time.Parse(time.RFC3339, m.Issued) // a manifest with another time is none
	before := predecessor{manifest: &seal.Manifest{Job: m.Job}}
	if len(chain) > 0 {
		before = chain[len(chain)-1]
	}
	switch {
	case m.Job != r.Set.Facts.Job.Number:
		return l, &OtherJobError{l.path, m.Job, r.Set.Facts.Job.Number}
	case m.Revision != n:
		err = fmt.Errorf("this is revision %d, and the folder is named r%d", m.Revision, n)
	case n != before.manifest.Revision+1:
		err = fmt.Errorf("this is revision %d, and revision %d is not there", n, before.manifest.Revision+1)
	case m.Previous != before.sum:
		err = errors.New("it does not follow the revision before it")
	case l.issued.Before(before.issued) && record.DateOf(l.issued).Before(record.DateOf(before.issued)):
		err = fmt.Errorf("it is dated %s, before the revision that it follows, %s", record.DateOf(l.issued), record.DateOf(before.issued))
	}
	if err != nil {
		return damaged(seal.ManifestName, err)
	}
	return l, nil
}

// vouched asks about the revisions since the last one that this signer signed.
// That one names the hash of the one before it, and so on to the first: by
// signing it, the signer vouched for them.
func (r *Request) vouched(chain []predecessor) error {
	for _, l := range slices.Backward(chain) {
		if l.by.KeyID == r.Signer.KeyID() {
			return nil
		}
		if r.Believes == nil || !r.Believes(l.path, l.manifest.Revision, l.by) {
			return &StrangerError{l.path, l.manifest.Revision, l.by}
		}
	}
	return nil
}

// checkListed holds a file of a revision against its manifest.
func (r *Request) checkListed(dir folder, m *seal.Manifest, name string) error {
	rev := seal.RevisionFolder(m.Revision)
	fault := func(err error) error {
		return &DamagedError{filepath.Join(r.Folder, rev, filepath.FromSlash(name)), plain.Cause(err)}
	}
	f, err := dir.Open(path.Join(rev, name))
	if err != nil {
		return fault(err)
	}
	defer f.Close()
	sum := sha256.New()
	size, err := io.Copy(sum, f)
	if err != nil {
		return fault(err)
	}
	if !slices.Contains(m.Files, seal.ManifestFile{Path: name, Size: size, SHA256: hex.EncodeToString(sum.Sum(nil))}) {
		return fault(errors.New("it is not as it was issued"))
	}
	return nil
}

// readUpTo reads a plain file of bounded size.
func readUpTo(dir fs.FS, name string, most int64) ([]byte, error) {
	f, err := dir.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return nil, errors.Join(err, plain.ErrNotRegular)
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("it has more than %d bytes", most)
	}
	return data, err
}

// revisionsIn returns the numbers of the finished revisions in a folder,
// ascending. What has the name of one and is none is refused: passed over, its
// number would be given out again.
func revisionsIn(dir fs.ReadDirFS, place string) ([]int, error) {
	entries, err := dir.ReadDir(".")
	if err != nil {
		return nil, err
	}
	var ns []int
	for _, e := range entries {
		n, ok := seal.RevisionNumber(e.Name())
		switch {
		case !ok:
			continue
		case e.Type().IsRegular():
			return nil, &LinkError{filepath.Join(place, e.Name()), errNoFolder}
		case !e.IsDir():
			return nil, &LinkError{filepath.Join(place, e.Name()), plain.ErrLink}
		}
		ns = append(ns, n)
	}
	slices.Sort(ns)
	return ns, nil
}

// Next returns the number that the next revision in a folder has. A folder
// that is not there yet gets its first. With an error it is 0.
func Next(dir string) (int, error) {
	if err := realFolder(local{}, dir); err != nil {
		return 0, err
	}
	f, err := plain.Open(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return 1, nil
	}
	if err != nil {
		return 0, err
	}
	defer f.Close()
	ns, err := revisionsIn(f, dir)
	if err != nil {
		return 0, err
	}
	if len(ns) == 0 {
		return 1, nil
	}
	return ns[len(ns)-1] + 1, nil
}
