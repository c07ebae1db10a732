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
// Nothing in the folder is followed: a link in the place of the folder, the
// lock, a revision or a file of one is refused.
//
// # What is taken from earlier revisions
//
// Their numbers, dates, reasons and changes, and the results of the latest. Each
// manifest is held against its signature and against the one before it, the
// results against their manifest. A revision by a key of which nobody knows is
// refused unless the caller vouches for it; see [Request]. So nothing that was
// not verified is repeated in a new signed paper.
//
// # Readings
//
// A file of readings on which the latest revision rests is the same in the next
// one, by its hash, under whatever name; see [ChangedReadings]. What job.yaml declares
// of one that is not, by the hash of what it was, is handed to the set.
//
// # What is in it
//
//	certificates/, nonconformance/   one PDF a link
//	superseded/                      one PDF for each link with readings that were replaced
//	trunks/                          one PDF a trunk, where the job has any
//	summary.pdf, labels.pdf          and, with pay items, statement.pdf
//	bundle.pdf                       all papers in one, where asked for
//	results.csv, results.json        every reading, limit, margin and verdict
//	results.xlsx                     the same, if a sheet holds that many
//	evidence/                        the originals, byte for byte
//	originals/                       the files that instruments wrote, byte for byte
//	check.html                       the page that checks a label
//	index.html                       the page on which a receiver starts
//	manifest.json, manifest.p7s      see package seal
//
// The manifest holds the SHA-256 of the manifest before it, so that the
// revisions form a chain, and what changed since: see package change.
//
// The same facts, key and date give the same bytes, however many processors
// there are.
package issue

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
	"spanseal/internal/summary"
)

// Request is what to issue.
type Request struct {
	// Folder is where the revisions lie; it is made where missing.
	Folder string
	// Set makes the documents. Write fills in its number, history and changes.
	Set *certify.PaperSet
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
	// of at most MaxSize bytes, or of as many as can be verified where that is 0.
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
	// Believes, where given, is asked about an earlier revision that another
	// key than Signer's signed, unless a later one of Signer's names it.
	Believes func(path string, revision int, by *seal.SignedBy) bool
	// Progress, where given, is told how many documents are made. It is called
	// from one goroutine at a time.
	Progress func(done, total int)

	on disk // nil: this machine's

	differences []statement.Statement // from the revision before
}

func (r *Request) disk() disk {
	if r.on == nil {
		return local{}
	}
	return r.on
}

// Written is the revision that was written.
type Written struct {
	Number         int
	Dir            string
	Certificates   int
	Nonconformance int
	Changes        []statement.Statement // since the revision before, with their English texts; nil for the first
	// WithoutWorkbook says that results.xlsx is left out, since no sheet holds so many
	// results.
	WithoutWorkbook bool
	// Unflushed says why nobody knows whether the revision is on the disk for
	// good, or is nil: it is there and whole, and the system would not confirm
	// that it outlives a power cut.
	Unflushed *UnflushedError
}

// Write issues the next revision. With an error nothing has changed on disk.
func Write(ctx context.Context, r Request) (rev *Written, err error) {
	r.Folder = filepath.Clean(r.Folder)
	made, err := makeFolder(r.disk(), r.Folder)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil && made {
			r.disk().remove(r.Folder) // only where nothing else is in it
		}
	}()
	release, err := r.disk().hold(filepath.Join(r.Folder, lockName), r.Holder)
	if err != nil {
		return nil, err
	}
	defer release()
	past, err := r.readPast()
	if err != nil {
		return nil, err
	}
	if err := sweep(r.disk(), r.Folder); err != nil {
		return nil, err
	}

	if err := r.prepare(past); err != nil {
		return nil, err
	}
	d, err := begin(r.disk(), r.Folder, seal.RevisionFolder(past.next))
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
	unflushed, err := d.publish()
	if err != nil {
		return nil, err
	}
	if r.Join {
		r.disk().removeAll(r.shards(past.next)) // what is left of it does no harm
	}
	set := r.Set
	certified := set.Judgement.Counts.Certified
	return &Written{
		Number:          past.next,
		Dir:             d.final,
		Certificates:    certified,
		Nonconformance:  len(set.Judgement.Links) - certified,
		Changes:         set.InEnglish(r.differences...),
		Unflushed:       unflushed,
		WithoutWorkbook: !d.has(workbookName),
	}, nil
}

// prepare tells the set what became known from the past.
func (r *Request) prepare(past *past) (err error) {
	set := r.Set
	if at := past.issued; set.Issued.Before(at) && record.DateOf(set.Issued).Before(record.DateOf(at)) {
		return &BackdatedError{Path: past.path, Before: at, At: set.Issued}
	}
	set.Revision, set.History = past.next, past.history
	if past.latest != nil {
		if err := r.unchanged(past); err != nil {
			return err
		}
	}
	if past.results != "" {
		err = compare(past.results, past.latest.Revision, set)
		// They were checked before they were read; what was read is what was
		// checked only if they still are the same.
		if changed := r.checkResults(past); changed != nil {
			return changed
		}
	}
	if billed := r.billed(past); err == nil {
		err = billed
	}
	if faults := set.BillingFaults(); err == nil && len(faults) > 0 {
		err = &TermsError{faults[0].Code, faults[0].Message}
	}
	r.differences = set.Changes
	if set.Later > 0 {
		set.Changes = append(set.Changes, statement.New("change.partial", statement.Amount{N: set.Later, Of: "link"}))
	}
	if err == nil && past.latest != nil && !r.Again && r.repeats(past.latest) {
		return &UnchangedError{Path: past.path, Revision: past.latest.Revision}
	}
	return err
}

// repeats reports whether a revision would say what the one before says: the
// same inputs and results, signed by the same key, in the same papers.
func (r *Request) repeats(m *seal.Manifest) bool {
	if !noChange(r.Set.Changes) || m.Signer != r.Signer.KeyID() {
		return false
	}
	evidence, originals, bundle := 0, 0, false
	for _, f := range m.Files {
		if strings.HasPrefix(f.Path, evidenceFolder) {
			evidence++
		}
		if strings.HasPrefix(f.Path, originalsFolder) {
			originals++
		}
		bundle = bundle || strings.HasPrefix(f.Path, "bundle")
	}
	for _, o := range r.Set.Facts.Originals {
		if !slices.Contains(m.Files, seal.ManifestFile{Path: evidenceFolder + o.Name, Size: int64(len(o.Data)), SHA256: o.SHA256}) {
			return false
		}
	}
	for _, k := range r.Set.Facts.Kept {
		if !slices.Contains(m.Files, seal.ManifestFile{Path: originalsFolder + k.Name, Size: k.Size, SHA256: k.SHA256}) {
			return false
		}
	}
	return evidence == len(r.Set.Facts.Originals) && originals == len(r.Set.Facts.Kept) && bundle == r.Bundle
}

// makeFolder makes a folder and says whether it was missing. What stands there
// and is none is refused.
func makeFolder(d disk, dir string) (made bool, err error) {
	if err := realFolder(d, dir); err != nil {
		return false, err
	}
	if _, err := d.lstat(dir); err == nil {
		return false, nil
	} else if !errors.Is(err, fs.ErrNotExist) {
		return false, err
	}
	return true, d.mkdirAll(dir)
}

// evidenceFolder is where the originals lie in a revision.
const evidenceFolder = "evidence/"

// files writes what came in, and the page that checks labels.
func (r *Request) files(d *unfinished) error {
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
	for _, k := range r.Set.Facts.Kept {
		if err := d.stream(originalsFolder+k.Name, k.Copy); err != nil {
			return fmt.Errorf("%s: %w", k.Name, err)
		}
	}
	return d.stream("index.html", func(w io.Writer) error { return summary.WriteStart(w, r.Set, d.files) })
}

// manifest writes the manifest of all files so far, and its signature.
func (r *Request) manifest(d *unfinished, past *past) error {
	changes, err := said(r.Set, r.Set.Changes)
	if err != nil {
		return err
	}
	m := seal.Manifest{
		Job:      r.Set.Facts.Job.Number,
		Revision: past.next,
		Issued:   r.Set.Issued.Format(time.RFC3339),
		Previous: past.manifest,
		Reason:   r.Set.Reason,
		Changes:  changes,
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
