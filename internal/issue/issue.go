// Package issue writes a revision of a job: all or nothing, in parallel, with
// its manifest.
//
// # One revision
//
// Revisions lie side by side in one folder, r1, r2 and so on. [Write] makes
// the next one in a hidden folder beside them (".r2-partial"), flushes it to
// the disk and renames it. Whatever stops a run, be it a full disk, a signal
// or the mains, leaves the finished revisions as they were; the next run
// removes the hidden folder. A revision is never changed afterwards.
//
// Two runs cannot write at once: a lock file (".lock") is held meanwhile, and
// the second run says who holds it.
//
// # What is in it
//
//	certificates/, nonconformance/   one PDF a link
//	summary.pdf, labels.pdf          and, with pay items, statement.pdf
//	bundle.pdf                       all papers in one, where asked for
//	results.csv, results.json        every reading, limit, margin and verdict
//	evidence/                        the originals, byte for byte
//	check.html                       the page that checks a label
//	manifest.json, manifest.p7s      see package seal
//
// The manifest holds the SHA-256 of the manifest before it, so that the
// revisions form a chain, and what changed since, told by comparing the two
// results.json.
//
// The same facts, key and date give the same bytes, however many processors
// there are.
package issue

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// Request is what to issue.
type Request struct {
	// Folder is where the revisions lie; it is made where missing.
	Folder string
	// Set makes the documents. Write fills in its number, history and changes.
	Set *certify.Set
	// Signer signs documents and manifest, at the set's time of issue.
	Signer *seal.Signer
	// Stamp, where given, adds a time-stamp to each CMS signature; see
	// [seal.Stamp]. It is called by all workers. Stamped papers are not the
	// same on a second run.
	Stamp func(cms []byte) ([]byte, error)
	// CheckPage is check.html; nil leaves it out.
	CheckPage []byte
	// Holder says who is writing, for whoever finds the folder locked.
	Holder string
	// Bundle adds one PDF of everything, for those who print it all; in parts
	// of at most MaxSize bytes where that is not 0.
	Bundle  bool
	MaxSize int
	// Larger, where given, is told of each part that is larger all the same: a
	// single paper is not split.
	Larger func(name string, bytes int)
	// Join takes the papers of the links from shards instead of making them;
	// see [Shard].
	Join bool
	// Again issues a revision in which nothing is new.
	Again bool
	// Progress, where given, is told how many documents are made. It is called
	// from one goroutine at a time.
	Progress func(done, total int)
}

// Revision is what was written.
type Revision struct {
	Number         int
	Dir            string
	Certificates   int
	Nonconformance int
	Changes        []string // since the revision before; nil for the first
}

// Write issues the next revision. With an error nothing has changed on disk.
func Write(ctx context.Context, r Request) (rev *Revision, err error) {
	made, err := makeFolder(r.Folder)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil && made {
			os.Remove(r.Folder) // only where nothing else is in it
		}
	}()
	release, err := hold(filepath.Join(r.Folder, lockName), r.Holder)
	if err != nil {
		return nil, err
	}
	defer release()
	if err := sweep(r.Folder); err != nil {
		return nil, err
	}
	past, err := readPast(r.Folder)
	if err != nil {
		return nil, err
	}

	if err := r.prepare(past); err != nil {
		return nil, err
	}
	d, err := begin(r.Folder, revision(past.next))
	if err != nil {
		return nil, err
	}
	defer d.discard()
	if r.Join {
		if err := r.join(d, past); err != nil {
			return nil, err
		}
	}
	if err := r.papers(ctx, d, !r.Join); err != nil {
		return nil, err
	}
	if err := r.files(d); err != nil {
		return nil, err
	}
	if err := r.manifest(d, past); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil { // the last moment to stop
		return nil, err
	}
	if err := d.publish(); err != nil {
		return nil, err
	}
	if r.Join {
		os.RemoveAll(r.shards(past.next)) // what is left of it does no harm
	}
	set := r.Set
	certified := set.Judgement.Counts.Certified
	return &Revision{
		Number:         past.next,
		Dir:            d.final,
		Certificates:   certified,
		Nonconformance: len(set.Judgement.Links) - certified,
		Changes:        set.Changes,
	}, nil
}

// prepare tells the set what became known from the past.
func (r *Request) prepare(past *past) (err error) {
	set := r.Set
	if at := past.issued; set.Issued.Before(at) && record.DateOf(set.Issued).Before(record.DateOf(at)) {
		return &BackdatedError{Path: past.path, Before: at, At: set.Issued}
	}
	set.Revision, set.History = past.next, past.history
	if past.results != "" {
		err = compare(past.results, set)
	}
	if err == nil && past.latest != nil && !r.Again && r.repeats(past.latest) {
		return &UnchangedError{Path: past.path, Revision: past.latest.Revision}
	}
	return err
}

// repeats reports whether a revision would say what the one before says: the
// same inputs and results, signed by the same key, in the same papers.
func (r *Request) repeats(m *seal.Manifest) bool {
	if !slices.Equal(r.Set.Changes, []string{noChange}) || m.Signer != r.Signer.KeyID() {
		return false
	}
	evidence, bundle := 0, false
	for _, f := range m.Files {
		if strings.HasPrefix(f.Path, evidenceFolder) {
			evidence++
		}
		bundle = bundle || strings.HasPrefix(f.Path, "bundle")
	}
	for _, o := range r.Set.Facts.Originals {
		if !slices.Contains(m.Files, seal.ManifestFile{Path: evidenceFolder + o.Name, Size: int64(len(o.Data)), SHA256: o.SHA256}) {
			return false
		}
	}
	return evidence == len(r.Set.Facts.Originals) && bundle == r.Bundle
}

// makeFolder makes a folder and says whether it was missing.
func makeFolder(dir string) (made bool, err error) {
	if _, err := os.Stat(dir); err == nil {
		return false, nil
	}
	return true, os.MkdirAll(dir, 0o755)
}

// evidenceFolder is where the originals lie in a revision.
const evidenceFolder = "evidence/"

// files writes what came in, and the page that checks labels.
func (r *Request) files(d *draft) error {
	if r.CheckPage != nil {
		if err := d.write("check.html", r.CheckPage); err != nil {
			return err
		}
	}
	for _, o := range r.Set.Facts.Originals {
		if err := d.write(evidenceFolder+o.Name, o.Data); err != nil {
			return err
		}
	}
	return nil
}

// manifest writes the manifest of all files so far, and its signature.
func (r *Request) manifest(d *draft, past *past) error {
	m := seal.Manifest{
		Job:      r.Set.Facts.Job.Number,
		Revision: past.next,
		Issued:   r.Set.Issued.Format(time.RFC3339),
		Previous: past.manifest,
		Reason:   r.Set.Reason,
		Changes:  r.Set.Changes,
		Files:    d.files,
	}
	data, signature, err := m.Sign(r.Signer, r.Set.Issued)
	if err == nil && r.Stamp != nil {
		signature, err = r.Stamp(signature)
	}
	if err != nil {
		return err
	}
	return errors.Join(d.write(seal.ManifestName, data), d.write(seal.ManifestSignature, signature))
}

// past is what the folder holds before a run.
type past struct {
	next     int                // the number of the revision to write
	history  []certify.Revision // of the finished ones, oldest first
	manifest string             // SHA-256 of the latest manifest.json, or ""
	path     string             // where that lies, or ""
	latest   *seal.Manifest     // what it says, or nil
	issued   time.Time          // when the latest was, or the zero time
	results  string             // where the latest results.json lies, or ""
}

// DamagedError reports an earlier revision that is not as it was issued. A
// revision is not built on one.
type DamagedError struct {
	Path string
	Err  error
}

func (e *DamagedError) Error() string { return fmt.Sprintf("%s: %v", e.Path, e.Err) }
func (e *DamagedError) Unwrap() error { return e.Err }

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

// readPast reads the manifests of the finished revisions, and the latest
// results.
func readPast(dir string) (*past, error) {
	numbers, err := revisions(dir)
	if err != nil {
		return nil, err
	}
	p := &past{next: 1}
	for _, n := range numbers {
		path := filepath.Join(dir, revision(n), seal.ManifestName)
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, &DamagedError{path, unwrapPath(err)}
		}
		m, err := seal.ParseManifest(data)
		switch {
		case err != nil:
			return nil, &DamagedError{path, err}
		case m.Revision != p.next:
			return nil, &DamagedError{path, fmt.Errorf("this is revision %d, and revision %d is not there", m.Revision, p.next)}
		case m.Previous != p.manifest:
			return nil, &DamagedError{path, errors.New("it follows another revision than the one that lies before it")}
		}
		issued, err := time.Parse(time.RFC3339, m.Issued)
		if err != nil {
			return nil, &DamagedError{path, err}
		}
		p.history = append(p.history, certify.Revision{Number: n, Issued: record.DateOf(issued), Reason: m.Reason, Changes: m.Changes})
		p.path, p.issued, p.latest = path, issued, m
		p.manifest, p.next = seal.NewManifestFile(seal.ManifestName, data).SHA256, n+1
		if n == numbers[len(numbers)-1] {
			if p.results, err = checkListed(filepath.Dir(path), m, "results.json"); err != nil {
				return nil, err
			}
		}
	}
	return p, nil
}

// checkListed holds a file of a revision against its manifest and returns where
// it lies.
func checkListed(dir string, m *seal.Manifest, name string) (path string, err error) {
	path = filepath.Join(dir, name)
	f, err := os.Open(path)
	if err != nil {
		return "", &DamagedError{path, unwrapPath(err)}
	}
	defer f.Close()
	sum := sha256.New()
	size, err := io.Copy(sum, f)
	if err != nil {
		return "", &DamagedError{path, unwrapPath(err)}
	}
	if !slices.Contains(m.Files, seal.ManifestFile{Path: name, Size: size, SHA256: hex.EncodeToString(sum.Sum(nil))}) {
		return "", &DamagedError{path, errors.New("it is not as it was issued")}
	}
	return path, nil
}

// unwrapPath drops the path from an error whose path is printed beside it.
func unwrapPath(err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return p.Err
	}
	return err
}
