package issue

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"time"

	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// A revision may be made by several machines that share a disk. Each runs
// [Shard] and makes the papers of its share of the links, all with the same
// inputs, key and date; then one runs [Write] with Join, which makes the rest.
// The bytes are those of one run.
//
//	issued/.r2-shards/1-of-3/    papers, shard.json and shard.p7s
//
// Whoever can write on that disk could put papers there. So shard.json is signed
// with the key that signs the papers (shard.p7s, CMS over its SHA-256), and what
// it does not list, or lists with another hash, never gets into a revision.

// shardFormat names the form of shard.json.
const shardFormat = "spanseal-shard/1"

// shardName is the list of what a shard holds.
const shardName = "shard.json"

// shardSignature is the signature of that list.
const shardSignature = "shard.p7s"

// shardList is shard.json.
type shardList struct {
	Format string              `json:"format"`
	Inputs string              `json:"inputs"` // digest of what all shards must have in common
	Index  int                 `json:"index"`  // from one
	Of     int                 `json:"of"`
	Files  []seal.ManifestFile `json:"files"`
}

// shards is where the shards of a revision lie.
func (r *Request) shards(n int) string {
	return filepath.Join(r.Folder, "."+seal.RevisionFolder(n)+"-shards")
}

// shardFolder is the name of a shard's folder.
func shardFolder(index, of int) string { return fmt.Sprintf("%d-of-%d", index, of) }

// ShardError reports shards that do not make a revision together.
type ShardError struct {
	Index, Of int // the one to make, or to make again; 0 where it is about all
	Problem   string
	Damaged   bool // what is there is not as it was made
}

func (e *ShardError) Error() string { return e.Problem }

// Shard makes the papers of one of so many shares of the links, index from
// one. It returns how many papers it made, none with an error. A shard that already
// exists is made again.
func Shard(ctx context.Context, r Request, index, of int) (papers int, err error) {
	r.Folder = filepath.Clean(r.Folder)
	if err := realFolder(r.disk(), r.Folder); err != nil {
		return 0, err
	}
	past, err := r.readPast()
	if err != nil {
		return 0, err
	}
	if err := r.prepare(past); err != nil {
		return 0, err
	}
	inputs, err := r.inputs(past)
	if err != nil {
		return 0, err
	}
	dir, name := r.shards(past.next), shardFolder(index, of)
	if err := realFolder(r.disk(), dir); err != nil {
		return 0, err
	}
	made, err := makeFolder(r.disk(), r.Folder)
	if err != nil {
		return 0, err
	}
	defer func() {
		if err == nil {
			return
		}
		r.disk().remove(dir) // only where no other shard is in it, nor a revision beside it
		if made {
			r.disk().remove(r.Folder)
		}
	}()
	if err := r.disk().mkdirAll(dir); err != nil {
		return 0, err
	}
	release, err := r.disk().hold(filepath.Join(dir, name+lockName), r.Holder)
	if err != nil {
		return 0, err
	}
	defer release()
	if err := r.disk().removeAll(filepath.Join(dir, "."+name+"-partial")); err != nil {
		return 0, err
	}
	d, err := begin(r.disk(), dir, name)
	if err != nil {
		return 0, err
	}
	defer d.discard()

	press, err := r.press()
	if err != nil {
		return 0, err
	}
	links := r.links()
	links = links[len(links)*(index-1)/of : len(links)*index/of]
	if err := r.print(ctx, press, d, links); err != nil {
		return 0, err
	}
	slices.SortFunc(d.files, func(a, b seal.ManifestFile) int { return cmp.Compare(a.Path, b.Path) })
	list, err := json.MarshalIndent(shardList{Format: shardFormat, Inputs: inputs, Index: index, Of: of, Files: d.files}, "", "  ")
	if err != nil {
		return 0, err
	}
	signature, err := r.Signer.SignCMS(sha256.Sum256(list), r.Set.Issued)
	if err != nil {
		return 0, err
	}
	if err := errors.Join(d.write(shardName, list), d.write(shardSignature, signature)); err != nil {
		return 0, err
	}
	if err := r.disk().removeAll(d.final); err != nil {
		return 0, err
	}
	if _, err := d.publish(); err != nil { // a shard that a power cut takes is made again
		return 0, err
	}
	return len(links), nil
}

// inputs is a digest of everything that the papers of a revision hang on.
func (r *Request) inputs(past *past) (string, error) {
	h := sha256.New()
	fmt.Fprintf(h, "%s\n%s\n%q %d\n%s\n", r.Signer.Fingerprint(), r.Set.Issued.Format(time.RFC3339), r.Set.Reason, r.Set.Later, past.manifest)
	if err := r.Set.WriteResults(h); err != nil {
		return "", err
	}
	for _, o := range r.Set.Facts.Originals {
		fmt.Fprintf(h, "%q %s\n", o.Name, o.SHA256)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// join copies the papers of all shards into the unfinished revision.
func (r *Request) join(d *unfinished, past *past) error {
	dir := r.shards(past.next)
	if err := realFolder(r.disk(), dir); err != nil {
		return err
	}
	shards, err := r.disk().folder(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return errNoShards
	}
	if err != nil {
		return err
	}
	defer shards.Close()
	lists, err := r.readShards(shards, dir)
	if err != nil {
		return err
	}
	inputs, err := r.inputs(past)
	if err != nil {
		return err
	}
	for i, l := range lists {
		switch {
		case l.Of != lists[0].Of:
			return &ShardError{Problem: fmt.Sprintf("there are shards of %d and shards of %d in %s", lists[0].Of, l.Of, dir)}
		case l.Index != i+1:
			return missing(i+1, l.Of)
		case l.Inputs != inputs:
			return &ShardError{l.Index, l.Of, fmt.Sprintf("shard %d of %d was made from other files, or with another date or reason", l.Index, l.Of), false}
		}
		for _, f := range l.Files {
			data, err := readUpTo(shards, path.Join(shardFolder(l.Index, l.Of), f.Path), f.Size)
			if err != nil || seal.NewManifestFile(f.Path, data) != f {
				return damagedShard(l.Index, l.Of, f.Path)
			}
			if err := d.write(f.Path, data); err != nil {
				return err
			}
		}
	}
	if n := len(lists); n < lists[0].Of {
		return missing(n+1, lists[0].Of)
	}
	return nil
}

var errNoShards = &ShardError{Problem: "there are no shards to join"}

func missing(index, of int) error {
	return &ShardError{Index: index, Of: of, Problem: fmt.Sprintf("shard %d of %d is not there", index, of)}
}

func damagedShard(index, of int, what string) error {
	return &ShardError{index, of, fmt.Sprintf("shard %d of %d is damaged: %s", index, of, what), true}
}

// shardNumbers are those of a shard, of the name of its folder.
var shardNumbers = regexp.MustCompile(`^([1-9][0-9]{0,8})-of-([1-9][0-9]{0,8})$`)

// readShards reads the lists of all finished shards, by index, and holds each
// against its signature and the name of its folder.
func (r *Request) readShards(shards folder, dir string) ([]shardList, error) {
	entries, err := shards.ReadDir(".")
	if err != nil {
		return nil, err
	}
	var lists []shardList
	for _, e := range entries {
		m := shardNumbers.FindStringSubmatch(e.Name())
		if m == nil {
			continue // a lock, or what a killed run left
		}
		if !e.IsDir() {
			return nil, &LinkError{filepath.Join(dir, e.Name()), cmp.Or(linkOf(e), errNoFolder)}
		}
		index, _ := strconv.Atoi(m[1])
		of, _ := strconv.Atoi(m[2])
		l, err := r.readShard(shards, index, of)
		if err != nil {
			return nil, err
		}
		lists = append(lists, *l)
	}
	if lists == nil {
		return nil, errNoShards
	}
	slices.SortFunc(lists, func(a, b shardList) int { return cmp.Compare(a.Index, b.Index) })
	return lists, nil
}

// linkOf is plain.ErrLink where an entry is one, else nil.
func linkOf(e fs.DirEntry) error {
	if e.Type().IsRegular() {
		return nil
	}
	return plain.ErrLink
}

// readShard reads one list. Of what is not signed by the key that is to sign the
// revision nothing is believed.
func (r *Request) readShard(shards folder, index, of int) (*shardList, error) {
	name := shardFolder(index, of)
	data, err := readUpTo(shards, path.Join(name, shardName), maxManifest)
	if err != nil {
		return nil, damagedShard(index, of, fmt.Sprintf("%s: %v", shardName, plain.Cause(err)))
	}
	signature, err := readUpTo(shards, path.Join(name, shardSignature), maxSignature)
	if err != nil {
		return nil, damagedShard(index, of, fmt.Sprintf("%s: %v", shardSignature, plain.Cause(err)))
	}
	by, err := seal.VerifyCMS(signature, sha256.Sum256(data))
	if err != nil {
		return nil, damagedShard(index, of, fmt.Sprintf("%s: %v", shardName, err))
	}
	if by.KeyID != r.Signer.KeyID() {
		return nil, &ShardError{index, of, fmt.Sprintf("shard %d of %d was made with another key, %s, by %s", index, of, by.KeyID, seal.CommonName(by.Certificate)), false}
	}
	var l shardList
	if err := json.Unmarshal(data, &l); err != nil || l.Format != shardFormat || l.Index != index || l.Of != of {
		return nil, damagedShard(index, of, shardName+": it is not the list of this shard")
	}
	return &l, nil
}
