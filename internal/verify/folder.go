package verify

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"spanseal/internal/fault"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// ErrNothing reports a folder in which there is nothing to check.
var ErrNothing = errors.New("the folder holds neither a revision nor a PDF file")

// Folder checks a folder: one revision (it holds a manifest, or looks as if it
// should), a job or its folder "issued" (all revisions and their chain), or any
// other folder of PDF files, each for itself.
func Folder(dir string, trust *Trust) (*Report, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	name := "."
	if isRevision(abs) {
		abs, name = filepath.Dir(abs), filepath.Base(abs)
	} else if info, err := os.Lstat(filepath.Join(abs, "issued")); err == nil && info.IsDir() {
		abs = filepath.Join(abs, "issued")
	}
	files, err := plain.Open(abs)
	if err != nil {
		return nil, err
	}
	defer files.Close()
	return folder(files, name, trust)
}

// isRevision reports whether a folder is a revision. One whose manifest was
// taken away must not pass for a handful of papers: what else is gone would
// go unnoticed.
func isRevision(dir string) bool {
	has := func(names ...string) bool {
		for _, name := range names {
			if _, err := os.Lstat(filepath.Join(dir, name)); err == nil {
				return true
			}
		}
		return false
	}
	return has(seal.ManifestName, seal.ManifestSignature) ||
		isNumbered(filepath.Base(dir)) && has("summary.pdf", summaryName, "results.csv")
}

// folder checks the revision of that name, or all of fsys for ".".
func folder(fsys fs.FS, name string, trust *Trust) (*Report, error) {
	r := &Report{}
	if name != "." {
		rev, err := trust.revision(fsys, name, "", r)
		if err != nil {
			return nil, err
		}
		if rev != nil {
			trust.chain(fsys, rev, r, false)
			noteSuccessor(fsys, rev, r)
		}
		r.sort()
		return r, nil
	}
	numbers, err := revisions(fsys)
	if err != nil {
		return nil, err
	}
	if len(numbers) == 0 {
		return trust.loose(fsys)
	}
	if err := unchecked(fsys, r, numbers[len(numbers)-1]); err != nil {
		return nil, err
	}
	for _, n := range numbers {
		name := seal.RevisionFolder(n)
		rev, err := trust.revision(fsys, name, name, r)
		if err != nil {
			return nil, err
		}
		if rev != nil {
			trust.chain(fsys, rev, r, true)
			noteSuccessor(fsys, rev, r)
		}
	}
	r.sort()
	return r, nil
}

// revisions returns the numbers of the folders r1, r2, ... in order.
func revisions(fsys fs.FS) ([]int, error) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, err
	}
	var ns []int
	for _, e := range entries {
		if n, ok := seal.RevisionNumber(e.Name()); ok && e.IsDir() {
			ns = append(ns, n)
		}
	}
	slices.Sort(ns)
	return ns, nil
}

// lookedPast are the names below issued/ that a run of ours leaves there while it
// writes, or when it is killed.
var lookedPast = regexp.MustCompile(`^\.(lock|r[0-9]+-(partial|shards))$`)

// unchecked names what lies beside the revisions and is none of them: a paper, or
// a folder with the look of a revision, is not to pass for a part of what was
// checked.
func unchecked(fsys fs.FS, r *Report, latest int) error {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := e.Name()
		item := Item{Path: name, Kind: KindFile, State: Unchecked}
		switch {
		case isNumbered(name) && e.IsDir() || lookedPast.MatchString(name) || e.IsDir() && ofRevision(entries, name):
			continue // time-stamps are looked at with their revision
		case isNumberBelow(name, latest):
			continue // what follows it says that it is missing
		case byDesktop(fsys, name, e):
			item.State = Intact
			item.note(leftByDesktop)
		case e.IsDir():
			item.note("it is beside the revisions and was not checked: the folder of a revision is named r1, r2 and so on")
		case !e.Type().IsRegular():
			item.note(errNotPlain.Error() + ", and not looked at")
		case strings.EqualFold(path.Ext(name), ".pdf"):
			item.note("it is beside the revisions and was not checked: no manifest lists it; verify it by itself")
		default:
			item.State = Intact
			item.note("it is beside the revisions, is not part of them and was not checked")
		}
		r.Files++
		r.add(item)
	}
	return nil
}

// ofRevision reports whether a folder is that of the time-stamps of one of the
// revisions.
func ofRevision(entries []fs.DirEntry, name string) bool {
	return slices.ContainsFunc(entries, func(e fs.DirEntry) bool {
		return e.IsDir() && isNumbered(e.Name()) && name == seal.StampsFolder(e.Name())
	})
}

// isNumbered reports whether a name is that of a revision's folder.
func isNumbered(name string) bool {
	_, ok := seal.RevisionNumber(name)
	return ok
}

// isNumberBelow reports whether a name is that of a revision before another.
func isNumberBelow(name string, latest int) bool {
	n, ok := seal.RevisionNumber(name)
	return ok && n < latest
}

// loose checks every PDF file of a folder that holds no revision.
func (t *Trust) loose(fsys fs.FS) (*Report, error) {
	r := &Report{}
	var names []string
	var left []Item
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil || d.IsDir() || !strings.EqualFold(path.Ext(p), ".pdf"):
		case byDesktop(fsys, p, d):
			left = append(left, Item{Path: p, Kind: KindFile, State: Intact, Notes: []string{leftByDesktop}})
		case d.Type().IsRegular():
			names = append(names, p)
		default: // never opened, and not passed over in silence
			r.add(Item{Path: p, Kind: KindFile, State: Unchecked, Notes: []string{errNotPlain.Error() + ", and not looked at"}})
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	if len(names) == 0 && len(r.Items) == 0 {
		return nil, ErrNothing
	}
	r.add(left...)
	r.Files = len(names) + len(left)
	papers := make([]*paper, len(names))
	err = inParallel(len(names), func(i int) error {
		data, err := readFile(fsys, names[i])
		if err == nil {
			papers[i] = t.paper(names[i], data)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, p := range papers {
		p.note("there is no manifest in this folder: it was not checked whether documents are missing")
		if text := p.unaccompanied(papers); text != "" {
			p.note(text)
		}
		r.add(p.Item)
	}
	r.sort()
	return r, nil
}

// unaccompanied says which papers that a summary lists are not among those that
// were found, or "". Papers may be sent one by one, so that is no fault.
func (p *paper) unaccompanied(found []*paper) string {
	if p.Claim == nil || len(p.summary.Links) == 0 {
		return ""
	}
	here := map[string]bool{}
	for _, f := range found {
		if c := f.Claim; c != nil && c.Job == p.Claim.Job && c.Revision == p.Claim.Revision {
			here[c.Link] = true
		}
	}
	var gone []string
	for _, l := range p.summary.Links {
		if !here[l.Link] {
			gone = append(gone, l.Link)
		}
	}
	if len(gone) == 0 {
		return ""
	}
	return fmt.Sprintf("%s lists %d documents; not here: %s", p.Path, len(p.summary.Links), someOf(gone))
}

// revision is one issued folder.
type revision struct {
	name     string // of the folder, as it stands in fsys
	prefix   string // before paths in the report, or ""
	manifest *seal.Manifest
	by       *seal.SignedBy
	papers   map[string]*paper

	byHash sync.Once
	hashes map[string]string // to the first path that has it
}

// manifestParts are the two files without which a revision cannot be checked,
// and what it means that one is missing.
var manifestParts = [2]struct {
	name, missing string
	most          int64
}{
	{seal.ManifestName, "without this list nobody can tell what belongs here", maxManifest},
	{seal.ManifestSignature, "without this signature nobody can tell who made " + seal.ManifestName, maxSignature},
}

func (v *revision) path(name string) string { return path.Join(v.prefix, name) }

// revision checks the manifest of a revision and every file against it. It
// returns nil where the manifest cannot be used.
func (t *Trust) revision(fsys fs.FS, name, prefix string, r *Report) (*revision, error) {
	v := &revision{name: name, prefix: prefix, papers: map[string]*paper{}}
	var parts [2][]byte
	usable := true
	for i, part := range manifestParts {
		item := Item{Path: v.path(part.name), Kind: KindManifest, State: Intact}
		data, err := readUpTo(fsys, path.Join(name, part.name), part.most)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			item.fault(Missing, part.missing+"; copy the folder again, whole, or ask whoever issued it")
		case errors.Is(err, errNotPlain):
			item.fault(Changed, err.Error())
		case err != nil:
			return nil, err
		}
		if item.State != Intact {
			usable = false
			r.add(item)
		}
		parts[i] = data
	}
	if !usable {
		return nil, t.rest(fsys, name, prefix, r)
	}
	r.Files += 2
	item := Item{Path: v.path(seal.ManifestName), Kind: KindManifest, State: Intact}
	var err error
	v.manifest, v.by, err = seal.VerifyManifest(parts[0], parts[1])
	if err != nil {
		item.fault(Changed, err.Error())
		r.add(item)
		return nil, t.rest(fsys, name, prefix, r)
	}
	t = t.stamped(fsys, v, r)
	t.signedBy(&item, v.by, v.by.SigningTime)
	if !somewhere(day(v.manifest), v.by.SigningTime) {
		item.fault(Changed, fmt.Sprintf("it says that it was issued on %s, its signature %s", day(v.manifest), v.by.SigningTime.Format(time.DateOnly)))
	}
	if n := seal.RevisionFolder(v.manifest.Revision); isNumbered(name) && name != n {
		item.fault(Changed, fmt.Sprintf("the manifest is of revision %s, the folder is named %s", n, name))
	}
	r.add(item)
	if err := t.files(fsys, v, r); err != nil {
		return nil, err
	}
	return v, nil
}

// rest checks the papers of a revision whose manifest cannot be used, each for
// itself.
func (t *Trust) rest(fsys fs.FS, name, prefix string, r *Report) error {
	inside, err := fs.Sub(fsys, name)
	if err != nil {
		return err
	}
	loose, err := t.loose(inside)
	if errors.Is(err, ErrNothing) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, i := range loose.Items {
		i.Path = path.Join(prefix, i.Path)
		r.add(i)
	}
	r.Files += loose.Files
	return nil
}

func readManifest(fsys fs.FS, name string) (data, signature []byte, err error) {
	if data, err = readUpTo(fsys, path.Join(name, seal.ManifestName), maxManifest); err == nil {
		signature, err = readUpTo(fsys, path.Join(name, seal.ManifestSignature), maxSignature)
	}
	return data, signature, err
}

// The sizes up to which the parts of a manifest are read, in bytes.
const (
	maxManifest  = 64 << 20
	maxSignature = 256 << 10
)

// mostRead bounds what is held of one file, so that nobody's folder can fill
// the memory. Of a longer one the beginning is read, which nobody signed.
const mostRead = 1 << 28

// errNotPlain reports a folder, a pipe or a device where a file should be.
// Opening it might never end.
var errNotPlain = errors.New("not a plain file")

// open opens a plain file.
func open(fsys fs.FS, name string) (fs.File, error) {
	switch info, err := fs.Lstat(fsys, name); {
	case errors.Is(err, plain.ErrLink): // a folder on the way to it
		return nil, errNotPlain
	case err == nil && !info.Mode().IsRegular(): // nor a link to one elsewhere
		return nil, errNotPlain
	}
	return fsys.Open(name)
}

func readFile(fsys fs.FS, name string) ([]byte, error) { return readUpTo(fsys, name, mostRead) }

func readUpTo(fsys fs.FS, name string, most int64) ([]byte, error) {
	f, err := open(fsys, name)
	if err != nil {
		return nil, err
	}
	return readOpen(f, most)
}

// readOpen reads a file and closes it.
func readOpen(f fs.File, most int64) ([]byte, error) {
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	var data bytes.Buffer
	data.Grow(int(min(info.Size(), most)) + bytes.MinRead)
	_, err = data.ReadFrom(io.LimitReader(f, most))
	return data.Bytes(), err
}

// files compares the folder with the manifest and looks into its papers.
func (t *Trust) files(fsys fs.FS, v *revision, r *Report) error {
	odd := map[string]bool{} // links, pipes and the like: told, and never opened
	err := fs.WalkDir(fsys, v.name, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		p = strings.TrimPrefix(p, v.name+"/")
		_, listed := slices.BinarySearchFunc(v.manifest.Files, p, func(f seal.ManifestFile, p string) int { return strings.Compare(f.Path, p) })
		switch {
		case p == seal.ManifestName || p == seal.ManifestSignature:
		case !listed && byDesktop(fsys, path.Join(v.name, p), d):
			r.Files++
			r.add(Item{Path: v.path(p), Kind: KindFile, State: Intact, Notes: []string{leftByDesktop}})
		case !listed:
			r.Files++
			r.add(Item{Path: v.path(p), Kind: KindFile, State: Added, Faults: []string{"the manifest does not list it"}})
		case !d.Type().IsRegular():
			r.add(Item{Path: v.path(p), Kind: KindFile, State: Changed, Faults: []string{errNotPlain.Error()}})
			odd[p] = true
		}
		return nil
	})
	if err != nil {
		return err
	}
	r.Files += len(v.manifest.Files)
	found := make([]*paper, len(v.manifest.Files))
	err = inParallel(len(found), func(i int) (err error) {
		if f := v.manifest.Files[i]; !odd[f.Path] {
			found[i], err = t.file(fsys, v, f)
		}
		return err
	})
	if err != nil {
		return err
	}
	for i, p := range found {
		if p != nil && p.Kind == KindPaper {
			v.papers[v.manifest.Files[i].Path] = p
		}
	}
	v.compare(fsys)
	for _, p := range found {
		if p != nil && (p.State != Intact || p.Kind == KindPaper) {
			r.add(p.Item)
		}
	}
	return nil
}

// file compares one listed file with the manifest; a paper is opened as well.
func (t *Trust) file(fsys fs.FS, v *revision, f seal.ManifestFile) (*paper, error) {
	p := &paper{Item: Item{Path: v.path(f.Path), Kind: KindFile, State: Intact}}
	full := path.Join(v.name, f.Path)
	info, err := fs.Stat(fsys, full)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		p.fault(Missing, "the manifest lists it")
		return p, nil
	case errors.Is(err, plain.ErrLink): // it, or a folder on the way to it
		p.fault(Changed, errNotPlain.Error())
		return p, nil
	}
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		p.fault(Changed, errNotPlain.Error())
		return p, nil
	}
	// A file of another size is not read, unless it is a paper whose own
	// signature may tell more.
	isPaper := strings.EqualFold(path.Ext(f.Path), ".pdf")
	if info.Size() != f.Size && !isPaper {
		p.fault(Changed, fmt.Sprintf("%d bytes, the manifest says %d", info.Size(), f.Size))
		return p, nil
	}
	h := sha256.New()
	if isPaper {
		opened, err := fsys.Open(full) // a plain file: see above
		if err != nil {
			return nil, err
		}
		data, err := readOpen(opened, mostRead)
		if err != nil {
			return nil, err
		}
		p = t.paper(v.path(f.Path), data)
		v.belongs(p)
		h.Write(data)
	} else if err := copyFile(h, fsys, full); err != nil {
		return nil, err
	}
	if sum := hex.EncodeToString(h.Sum(nil)); sum != f.SHA256 {
		p.fault(Changed, "the manifest has another hash"+v.otherName(sum, f.Path))
	}
	return p, nil
}

func copyFile(w io.Writer, fsys fs.FS, name string) error {
	f, err := fsys.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// otherName finds the listed file that has the hash: exchanged files.
func (v *revision) otherName(sum, not string) string {
	v.byHash.Do(func() {
		v.hashes = map[string]string{}
		for _, f := range slices.Backward(v.manifest.Files) {
			v.hashes[f.SHA256] = f.Path
		}
	})
	if other := v.hashes[sum]; other != "" && other != not {
		return "; it holds what belongs in " + other
	}
	return ""
}

// belongs checks that a paper is of this revision, job and signer.
func (v *revision) belongs(p *paper) {
	if p.Signer != nil && p.Signer.KeyID != v.by.KeyID {
		p.fault(Changed, "signed by another key than the manifest")
	}
	if c := p.Claim; c != nil {
		if c.Revision != v.manifest.Revision {
			p.fault(Changed, fmt.Sprintf("a document of revision r%d", c.Revision))
		}
		if c.Issued != day(v.manifest) {
			p.fault(Changed, fmt.Sprintf("a document issued on %s, the manifest on %s", c.Issued, day(v.manifest)))
		}
		if c.Job != v.manifest.Job {
			p.fault(Changed, fmt.Sprintf("a document of the job %s", c.Job))
		}
	}
}

// chain follows the revisions from v back to the first. All says that every
// revision ought to be here, as in a job's own folder.
func (t *Trust) chain(fsys fs.FS, v *revision, r *Report, all bool) {
	item := Item{Path: v.path(seal.ManifestName), Kind: KindChain, State: Intact}
	m, by := v.manifest, v.by
	for m.Revision > 1 {
		name := seal.RevisionFolder(m.Revision - 1)
		data, signature, err := readManifest(fsys, name)
		if err != nil {
			// Only a folder is looked at as a revision, so nothing else stands for one.
			info, err := fs.Lstat(fsys, name)
			switch gone := err != nil || !info.IsDir(); {
			case gone && all:
				r.add(Item{Path: name, Kind: KindChain, State: Missing, Faults: []string{fmt.Sprintf(
					"r%d was issued after it and names it; copy the whole folder of revisions again, or ask whoever issued them", m.Revision)}})
			case gone:
				item.note(name + " is not here; the revisions were not followed back to r1")
			default: // what is wrong with it is said where it is looked at
				item.note(fmt.Sprintf("the tie to %s was not checked: its manifest cannot be used", name))
			}
			break
		}
		if h := sha256.Sum256(data); hex.EncodeToString(h[:]) != m.Previous {
			item.fault(Changed, fmt.Sprintf("the manifest of %s is not the one that r%d was issued after", name, m.Revision))
			break
		}
		earlier, earlierBy, err := seal.VerifyManifest(data, signature)
		if err != nil {
			item.fault(Changed, fmt.Sprintf("%s: %s", name, err))
			break
		}
		if earlier.Job != m.Job || earlier.Revision != m.Revision-1 {
			item.fault(Changed, fmt.Sprintf("%s is of the job %s, revision %d", name, earlier.Job, earlier.Revision))
			break
		}
		if runsBack(earlier, m) {
			item.fault(Changed, fmt.Sprintf("r%d is dated %s, before %s, which it follows and which is dated %s", m.Revision, day(m), name, day(earlier)))
		}
		for _, text := range evidenceChanges(earlier, m) {
			item.note(text)
		}
		if earlierBy.KeyID != by.KeyID {
			item.note(fmt.Sprintf("%s was signed by another key, %s", name, earlierBy.KeyID))
		}
		m, by = earlier, earlierBy
		if all {
			break // the earlier revision has a report of its own
		}
	}
	if item.State != Intact || len(item.Notes) > 0 {
		r.add(item)
	}
}

// evidenceChanges says which files of readings and of instruments of the earlier of two revisions
// the later one does not have as they were, and which other inputs are others,
// such as job.yaml and a job's own wording. One that only has another name is
// the same.
func evidenceChanges(earlier, later *seal.Manifest) (texts []string) {
	const evidence, readings, originals = "evidence/", "evidence/readings/", "originals/"
	now, was := map[string]string{}, map[string]string{}
	sums, before := map[string]bool{}, map[string]bool{}
	for _, f := range later.Files {
		now[f.Path], sums[f.SHA256] = f.SHA256, true
	}
	var others []string
	for _, f := range earlier.Files {
		was[f.Path], before[f.SHA256] = f.SHA256, true
		name, ok := strings.CutPrefix(f.Path, evidence)
		_, there := now[f.Path]
		kept := strings.HasPrefix(f.Path, readings) || strings.HasPrefix(f.Path, originals)
		switch {
		case !ok && !kept || sums[f.SHA256]:
		case !kept && there:
			others = append(others, name)
		case !kept:
			others = append(others, name+" (gone)")
		case there:
			texts = append(texts, fmt.Sprintf("the evidence changed: %s of r%d is not that of r%d; job.yaml among the evidence may declare why", name, later.Revision, earlier.Revision))
		default:
			texts = append(texts, fmt.Sprintf("the evidence changed: r%d has %s no more, on which r%d rests; job.yaml among the evidence may declare why", later.Revision, name, earlier.Revision))
		}
	}
	for _, f := range later.Files {
		if name, ok := strings.CutPrefix(f.Path, evidence); ok && was[f.Path] == "" && !before[f.SHA256] {
			others = append(others, name+" (new)")
		}
	}
	if others != nil {
		texts = append(texts, fmt.Sprintf("r%d was made from other inputs than r%d: %s", later.Revision, earlier.Revision, someOf(others)))
	}
	return texts
}

// someOf names things, the first of many.
func someOf(names []string) string {
	const named = 8
	if more := len(names) - named; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:named], ", "), more)
	}
	return strings.Join(names, ", ")
}

// day is that of issue, as a manifest writes it.
func day(m *seal.Manifest) string {
	d, _, _ := strings.Cut(m.Issued, "T")
	return d
}

// runsBack reports whether the later of two revisions is dated before the
// earlier: by the instant and by the day, since a day given alone stands for
// its noon and each is written in a zone of its own.
func runsBack(earlier, later *seal.Manifest) bool {
	a, err1 := time.Parse(time.RFC3339, earlier.Issued)
	b, err2 := time.Parse(time.RFC3339, later.Issued)
	return err1 == nil && err2 == nil && b.Before(a) && day(later) < day(earlier)
}

// inParallel calls f for 0 to n-1 on as many processors as there are, and
// returns the errors by index. A panic in f is one too: it would end the program
// with the exit code of a usage error, and with a stack trace.
func inParallel(n int, f func(i int) error) error {
	errs := make([]error, n)
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				errs[i] = guard(func() error { return f(i) })
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return errors.Join(errs...)
}

// errFault reports a fault of the program that a file has met.
var errFault = errors.New("a fault of the program kept it from being checked; please report it, with the file if you may")

// guard turns a panic into errFault.
func guard(f func() error) error {
	err := fault.Guard(f)
	if panicked := (*fault.Error)(nil); errors.As(err, &panicked) {
		return errFault
	}
	return err
}
