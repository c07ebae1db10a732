// Package archive finds certificates in a tree of jobs, and forgets nothing
// that a manifest says.
//
// An archive is any folder with issued revisions somewhere below it. A
// revision is a folder that holds manifest.json; of each, the manifest, its
// signature and results.json are read, and nothing else. The manifest's
// signature is checked against the key that it names, and results.json against
// the manifest: where one does not fit, the revision is found all the same and
// carries its [Revision.Doubts]. Whether the signer is to be believed, and
// whether the papers are as issued, is not asked here; that is package verify.
//
// # Names
//
// Hidden folders and symbolic links are not followed. Below a folder with a
// job.yaml only its folder issued is looked into, so that the thousands of
// files of a job's evidence and papers cost nothing.
//
// # Bounds
//
// A manifest is read up to 64 MB, an index up to 256 MB. Of results.json a link
// and the part about the job have at most 1 MB each (for the rest see package form);
// 500,000 links with 64 MB of names and what receivers call them, 1000 columns of these, 5,000,000 uses, and of different
// instruments, people, uses and sets of uses 100,000 each. The lists of an entry
// of the index have 1000 elements and one for each eight of its bytes. Results
// beyond that are doubted, an index is read as if there were none.
//
// # The index
//
// Reading a thousand results takes minutes, so what they say is kept in one
// file, .spanseal-index in the archive unless another place is named. It is a
// cache: it may be deleted at any time, and is never needed to find anything.
// An entry counts while size and time of the three files are the same; where
// only the manifest's time differs and its SHA-256 does not, nothing is read
// again. The file is written beside its place and renamed.
//
//	index    = "spanseal index 3\n" entry* crc
//	entry    = length bytes
//	crc      = CRC-32 (IEEE 802.3) of all before, little-endian, 4 bytes
//	text     = length bytes                  UTF-8
//	length, count, nat = unsigned LEB128;  int, day = the same, zigzag
//
// The bytes of an entry:
//
//	text path
//	stamp × 3  manifest.json, manifest.p7s, results.json
//	32 bytes   SHA-256 of manifest.json
//	text × 18  job, title, site, customer, order, contractor, invoice, issued,
//	           signer, previous, name of the signer, reason, "specimen" or "";
//	           the job's reference, launch, software, stage and witness
//	nat revision, text* doubts
//	text*      changes
//	text*      columns: keys of names, and headings of schedules
//	(text id, text kind, text serial)*       instruments
//	(text id, text name)*                    people
//	(nat instrument, nat source, nat person, day)*   uses; 0 is none, n is the n-th
//	(nat*)*                                  sets of uses
//	count link*                              in schedule order
//	link       = text name, nat verdict, nat set, text file, (nat column, text)* names
//	stamp      = int size, int nanoseconds since 1970
//
// x* is a count and then so many x; a day counts from 1970-01-01, and one below
// the year 1 is none. The file of a link is "" where it is the one that its
// name and verdict give.
package archive

import (
	"cmp"
	"context"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// Archive is what is known of every revision below a folder.
type Archive struct {
	Dir       string
	Revisions []*Revision // by path
	// Unread are folders that could not be looked into.
	Unread []Doubt
	// Kept says why the index could not be written, or is nil.
	Kept error
	// Read counts the revisions that were read afresh, not from the index.
	Read int
}

// Doubt is something that does not fit, in one sentence without a full stop.
type Doubt struct {
	Path string `json:"path"` // relative to the archive, forward slashes
	Text string `json:"text"`
}

// Revision is one issued set.
type Revision struct {
	Path     string // of its folder, relative to the archive, forward slashes
	Job      string
	Number   int
	Issued   string // RFC 3339
	Title    string
	Site     string
	Customer string
	Order    string
	// Contractor is who made the work, Signer whose key signed the manifest.
	Contractor, Signer string
	SignerKey          string
	Invoice            string
	Specimen           bool
	// Reason and Changes say why it was issued and what differs from the
	// revision before, as the manifest has it.
	Reason  string
	Changes []string
	// Doubts say what does not fit between manifest, signature and results.
	Doubts []string
	// Superseded is the number of the newest revision that follows this one
	// in the archive, or 0. OtherKey says that another key signed that one: a
	// new key of the firm, or a stranger's; `spanseal verify` tells which.
	Superseded int
	OtherKey   bool

	SHA256      string // of manifest.json
	previous    string // SHA-256 of the manifest before, or ""
	stamps      stamps
	instruments []record.Instrument // id, kind and serial only
	people      []record.Person     // id and name only
	uses        []method
	sets        [][]int                 // of uses
	columns     []string                // of the names of links
	ways        [len(methodKeys)]string // of the job, for links that have none of their own
	links       []byte                  // encoded, see the package comment
	count       int                     // of links
}

// stamp tells whether a file is the one that was read.
type stamp struct{ size, modified int64 }

// stamps are those of the files in read, in its order.
type stamps [3]stamp

var read = [len(stamps{})]string{seal.ManifestName, seal.ManifestSignature, resultsName}

// method is one way of measuring; instrument, source and person are positions
// from one in the revision's lists, 0 for none.
type method struct {
	instrument, source, person int
	day                        record.Date
}

// Options are what a caller may choose.
type Options struct {
	// Index is the file of the index; "" stands for IndexName in the archive.
	Index string
	// NoIndex reads everything and keeps nothing.
	NoIndex bool
	// Progress, where given, is told how many revisions that the index does
	// not know are read. It is called from one goroutine at a time.
	Progress func(done, total int)
}

// IndexName is the file in an archive that holds its index.
const IndexName = ".spanseal-index"

// Open looks through an archive, reading only what the index does not know.
func Open(ctx context.Context, dir string, o Options) (*Archive, error) {
	a := &Archive{Dir: dir}
	places, err := a.walk(ctx)
	if err != nil {
		return nil, err
	}
	file := cmp.Or(o.Index, filepath.Join(dir, IndexName))
	var known map[string]*Revision
	if !o.NoIndex {
		known = readIndex(file)
	}
	var todo []int
	a.Revisions = make([]*Revision, len(places))
	for i, p := range places {
		if old := known[p]; old != nil && old.stamps == a.stamps(p) {
			a.Revisions[i] = old
		} else {
			todo = append(todo, i)
		}
	}
	if err := a.readAll(ctx, places, todo, known, o.Progress); err != nil {
		return nil, err
	}
	if !o.NoIndex && (len(todo) > 0 || len(known) != len(places)) {
		a.Kept = writeIndex(file, a.Revisions)
	}
	a.supersede()
	return a, nil
}

// stamps of a revision's files; zero for one that is not there.
func (a *Archive) stamps(revision string) (s stamps) {
	for i, name := range read {
		info, err := os.Lstat(filepath.Join(a.Dir, filepath.FromSlash(revision), name))
		if err == nil && info.Mode().IsRegular() {
			s[i] = stamp{info.Size(), info.ModTime().UnixNano()}
		}
	}
	return s
}

// readAll reads the revisions of the places in todo, a worker a processor.
func (a *Archive) readAll(ctx context.Context, places []string, todo []int, known map[string]*Revision, progress func(done, total int)) error {
	a.Read = len(todo)
	work := make(chan int)
	var mu sync.Mutex
	var wg sync.WaitGroup
	done := 0
	for range min(runtime.GOMAXPROCS(0), len(todo)) {
		wg.Go(func() {
			for i := range work {
				a.Revisions[i] = a.readGuarded(places[i], known[places[i]])
				mu.Lock()
				if done++; progress != nil {
					progress(done, len(todo))
				}
				mu.Unlock()
			}
		})
	}
	for _, i := range todo {
		if ctx.Err() != nil {
			break
		}
		work <- i
	}
	close(work)
	wg.Wait()
	return ctx.Err()
}

// walk lists the folders of revisions, sorted.
func (a *Archive) walk(ctx context.Context) ([]string, error) {
	var places []string
	var into func(rel string) error
	into = func(rel string) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		entries, err := os.ReadDir(filepath.Join(a.Dir, filepath.FromSlash(rel)))
		if err != nil {
			if rel == "." {
				return err
			}
			a.Unread = append(a.Unread, Doubt{rel, "the folder cannot be read: " + plain.Cause(err).Error()})
			return nil
		}
		has := func(name string) bool {
			_, found := slices.BinarySearchFunc(entries, name, func(e fs.DirEntry, n string) int { return strings.Compare(e.Name(), n) })
			return found
		}
		if has(seal.ManifestName) {
			places = append(places, rel)
			return nil
		}
		job := has("job.yaml") && has("issued")
		for _, e := range entries {
			if !e.IsDir() || strings.HasPrefix(e.Name(), ".") || job && e.Name() != "issued" {
				continue
			}
			if err := into(path.Join(rel, e.Name())); err != nil {
				return err
			}
		}
		return nil
	}
	err := into(".")
	slices.Sort(places)
	return places, err
}

// supersede marks every revision that another one follows: the one whose
// manifest names its hash, or a later one of the job in the same folder.
func (a *Archive) supersede() {
	type place struct{ folder, job string }
	newest := map[place]*Revision{}
	next := map[string]*Revision{} // by the hash of the revision before
	for _, r := range a.Revisions {
		r.Superseded, r.OtherKey = 0, false
		p := place{path.Dir(r.Path), r.Job}
		if newest[p] == nil || newest[p].Number < r.Number {
			newest[p] = r
		}
		if r.previous != "" && (next[r.previous] == nil || next[r.previous].Number < r.Number) {
			next[r.previous] = r
		}
	}
	for _, r := range a.Revisions {
		last := r
		for f := next[r.SHA256]; f != nil && f.Number > last.Number; f = next[f.SHA256] { // numbers rise, so this ends
			last = f
		}
		if n := newest[place{path.Dir(r.Path), r.Job}]; n.Number > last.Number {
			last = n
		}
		if last.Number > r.Number {
			r.Superseded, r.OtherKey = last.Number, last.SignerKey != r.SignerKey
		}
	}
}

// Doubts are all that does not fit, by path.
func (a *Archive) Doubts() []Doubt {
	all := slices.Clone(a.Unread)
	for _, r := range a.Revisions {
		for _, d := range r.Doubts {
			all = append(all, Doubt{r.Path, d})
		}
	}
	slices.SortStableFunc(all, func(x, y Doubt) int { return strings.Compare(x.Path, y.Path) })
	return all
}
