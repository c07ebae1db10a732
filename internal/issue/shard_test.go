//go:build unix

package issue

import (
	"context"
	"crypto/sha256"
	"errors"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/label"
	"spanseal/internal/seal"
)

// TestShardsRefused: shards make a revision only if all are there, of one number, made
// from the same files, by the key that signs it, and as they were made. What is wrong is
// said by the shard that is to be made (again).
func TestShardsRefused(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	other, err := seal.NewSigner("S. Varga", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sets(t, 2, label.Encode)
	request := func(dir string, by *seal.Signer) Request {
		return Request{Folder: dir, Set: fresh(by), Signer: by, Holder: "a test"}
	}
	make := func(t *testing.T, r Request, index, of int) {
		t.Helper()
		if n, err := Shard(context.Background(), r, index, of); err != nil || n != 2/of {
			t.Fatalf("%d papers, %v", n, err)
		}
	}
	all := fresh(signer).Facts.Links
	first, last := all[0].ID, all[1].ID
	base := filepath.Join(t.TempDir(), "issued")
	make(t, request(base, signer), 1, 2)
	make(t, request(base, signer), 2, 2)
	edit := func(name, old, new string) func(*testing.T, string) {
		return func(t *testing.T, shards string) {
			data, err := os.ReadFile(filepath.Join(shards, name))
			if err != nil || !strings.Contains(string(data), old) {
				t.Fatalf("%s: %v", name, err)
			}
			if err := os.WriteFile(filepath.Join(shards, name), []byte(strings.Replace(string(data), old, new, 1)), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	// sign writes another list of shard 2 of 2, signed by the same key.
	sign := func(old, new string) func(*testing.T, string) {
		return func(t *testing.T, shards string) {
			edit("2-of-2/"+shardName, old, new)(t, shards)
			data, err := os.ReadFile(filepath.Join(shards, "2-of-2", shardName))
			if err != nil {
				t.Fatal(err)
			}
			signature, err := signer.SignCMS(sha256.Sum256(data), issued)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(shards, "2-of-2", shardSignature), signature, 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	notThis := ShardError{Index: 2, Of: 2, Damaged: true, Problem: "shard 2 of 2 is damaged: shard.json: it is not the list of this shard"}
	do := func(t *testing.T, all ...error) {
		t.Helper()
		if err := errors.Join(all...); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name   string
		damage func(t *testing.T, shards string)
		want   ShardError
		link   string // at what path of the shards a link is refused
		says   string // why
	}{
		{name: "whole"},
		{name: "a lock, and what a killed run left", damage: func(t *testing.T, shards string) {
			do(t, os.WriteFile(filepath.Join(shards, "1-of-2.lock"), nil, 0o644), os.Mkdir(filepath.Join(shards, ".2-of-2-partial"), 0o755))
		}},
		{name: "the first gone", damage: func(t *testing.T, shards string) { do(t, os.RemoveAll(filepath.Join(shards, "1-of-2"))) },
			want: ShardError{Index: 1, Of: 2, Problem: "shard 1 of 2 is not there"}},
		{name: "the last gone", damage: func(t *testing.T, shards string) { do(t, os.RemoveAll(filepath.Join(shards, "2-of-2"))) },
			want: ShardError{Index: 2, Of: 2, Problem: "shard 2 of 2 is not there"}},
		{name: "all gone", damage: func(t *testing.T, shards string) {
			do(t, os.RemoveAll(filepath.Join(shards, "1-of-2")), os.RemoveAll(filepath.Join(shards, "2-of-2")))
		}, want: ShardError{Problem: "there are no shards to join"}},
		{name: "their folder gone", damage: func(t *testing.T, shards string) { do(t, os.RemoveAll(shards)) }, want: ShardError{Problem: "there are no shards to join"}},
		{name: "a shard of another number", damage: func(t *testing.T, shards string) { make(t, request(filepath.Dir(shards), signer), 1, 1) },
			want: ShardError{Problem: "there are shards of 1 and shards of 2 in "}},
		{name: "of another reason", damage: func(t *testing.T, shards string) {
			r := request(filepath.Dir(shards), signer)
			r.Set.Reason = "another"
			make(t, r, 2, 2)
		}, want: ShardError{Index: 2, Of: 2, Problem: "shard 2 of 2 was made from other files, or with another date or reason"}},
		{name: "by another key", damage: func(t *testing.T, shards string) { make(t, request(filepath.Dir(shards), other), 1, 2) },
			want: ShardError{Index: 1, Of: 2, Problem: "shard 1 of 2 was made with another key, " + other.KeyID().String() + ", by S. Varga"}},
		{name: "a list edited", damage: edit("2-of-2/"+shardName, `"index"`, `"Index"`), want: ShardError{Index: 2, Of: 2, Damaged: true, Problem: "shard 2 of 2 is damaged: shard.json: the "}},
		{name: "a list of another form", damage: sign(`"spanseal-shard/1"`, `"spanseal-shard/2"`), want: notThis},
		{name: "a list of another shard", damage: sign(`"index": 2`, `"index": 1`), want: notThis},
		{name: "a list of more shards", damage: sign(`"of": 2`, `"of": 3`), want: notThis},
		{name: "a list that is none", damage: sign(`{`, `[`), want: notThis},
		{name: "a list of a paper that is larger", damage: sign(`"size": `, `"size": 1`),
			want: ShardError{Index: 2, Of: 2, Damaged: true, Problem: "shard 2 of 2 is damaged: certificates/" + last + ".pdf"}},
		{name: "a list of a paper that is smaller", damage: sign(`"size": `, `"size": 0.0`), want: notThis},
		{name: "a list gone", damage: func(t *testing.T, shards string) { do(t, os.Remove(filepath.Join(shards, "2-of-2", shardName))) },
			want: ShardError{Index: 2, Of: 2, Damaged: true, Problem: "shard 2 of 2 is damaged: shard.json: no such file or directory"}},
		{name: "a signature gone", damage: func(t *testing.T, shards string) { do(t, os.Remove(filepath.Join(shards, "1-of-2", shardSignature))) },
			want: ShardError{Index: 1, Of: 2, Damaged: true, Problem: "shard 1 of 2 is damaged: shard.p7s: no such file or directory"}},
		{name: "two exchanged", damage: func(t *testing.T, shards string) {
			do(t, os.Rename(filepath.Join(shards, "1-of-2"), filepath.Join(shards, "x")), os.Rename(filepath.Join(shards, "2-of-2"), filepath.Join(shards, "1-of-2")),
				os.Rename(filepath.Join(shards, "x"), filepath.Join(shards, "2-of-2")))
		}, want: ShardError{Index: 1, Of: 2, Damaged: true, Problem: "shard 1 of 2 is damaged: " + shardName + ": it is not the list of this shard"}},
		{name: "a paper edited", damage: edit("1-of-2/certificates/"+first+".pdf", "/Type", "/type"),
			want: ShardError{Index: 1, Of: 2, Damaged: true, Problem: "shard 1 of 2 is damaged: certificates/" + first + ".pdf"}},
		{name: "a paper gone", damage: func(t *testing.T, shards string) {
			do(t, os.Remove(filepath.Join(shards, "2-of-2", "certificates", last+".pdf")))
		}, want: ShardError{Index: 2, Of: 2, Damaged: true, Problem: "shard 2 of 2 is damaged: certificates/" + last + ".pdf"}},
		{name: "a file with the name of a shard", damage: func(t *testing.T, shards string) { do(t, os.WriteFile(filepath.Join(shards, "3-of-3"), nil, 0o644)) }, link: "3-of-3", says: "it is not a folder"},
		{name: "a link with the name of a shard", damage: func(t *testing.T, shards string) { do(t, os.Symlink("1-of-2", filepath.Join(shards, "3-of-3"))) }, link: "3-of-3", says: "it is a symbolic link, and links are not followed"},
		{name: "a link in place of their folder", damage: func(t *testing.T, shards string) {
			do(t, os.Rename(shards, shards+"-there"), os.Symlink(filepath.Base(shards)+"-there", shards))
		}, link: ".", says: "it is a symbolic link, and links are not followed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "issued")
			do(t, os.CopyFS(dir, os.DirFS(base)))
			r := request(dir, signer)
			shards := r.shards(1)
			if c.damage != nil {
				c.damage(t, shards)
			}
			r.Join = true
			rev, err := Write(context.Background(), r)
			var refused *ShardError
			var link *LinkError
			switch {
			case c.link != "":
				if !errors.As(err, &link) || link.Path != filepath.Join(shards, c.link) || link.Err.Error() != c.says {
					t.Errorf("%v, want a link at %s", err, c.link)
				}
			case c.want == ShardError{}:
				if err != nil || rev.Certificates != 2 {
					t.Errorf("%+v, %v", rev, err)
				}
				if _, err := os.Stat(shards); !errors.Is(err, fs.ErrNotExist) {
					t.Errorf("the shards stay behind: %v", err)
				}
			case !errors.As(err, &refused) || refused.Index != c.want.Index || refused.Of != c.want.Of || refused.Damaged != c.want.Damaged || !strings.HasPrefix(refused.Error(), c.want.Problem):
				t.Errorf("%+v (%v), want %+v", refused, err, c.want)
			}
			if n, err := Next(dir); err != nil || n == 2 != (c.want == ShardError{} && c.link == "") {
				t.Errorf("revision %d is next: %v", n, err)
			}
		})
	}
}

// TestShardFollowsNoLink: a link in the place of the folder, or of that of the shards, is
// refused before anything is written.
func TestShardFollowsNoLink(t *testing.T) {
	signer := newSigner(t, "R. Lindqvist")
	fresh := sets(t, 1, label.Encode)
	for _, c := range []struct{ name, link string }{{"the folder", "issued"}, {"that of the shards", "issued/.r1-shards"}} {
		dir := t.TempDir()
		there, link := filepath.Join(dir, "there"), filepath.Join(dir, c.link)
		if err := errors.Join(os.MkdirAll(there, 0o755), os.MkdirAll(filepath.Dir(link), 0o755), os.Symlink(there, link)); err != nil {
			t.Fatal(err)
		}
		n, err := Shard(context.Background(), Request{Folder: filepath.Join(dir, "issued"), Set: fresh(signer), Signer: signer, Holder: "a test"}, 1, 1)
		var refused *LinkError
		if !errors.As(err, &refused) || refused.Path != link || n != 0 {
			t.Errorf("%s: %d papers, %v", c.name, n, err)
		}
		if entries, err := os.ReadDir(there); err != nil || len(entries) > 0 {
			t.Errorf("%s: %v, %v", c.name, entries, err)
		}
	}
}

// TestShardAgain: a shard is made again in the place of the one that is there, also of what
// a killed run left, and not while somebody makes it.
func TestShardAgain(t *testing.T) {
	signer := newSigner(t, "R. Lindqvist")
	fresh, dir := sets(t, 1, label.Encode), filepath.Join(t.TempDir(), "issued")
	shard := func() error {
		n, err := Shard(context.Background(), Request{Folder: dir, Set: fresh(signer), Signer: signer, Holder: "a test", on: &faulty{disk: local{}}}, 1, 1)
		if n != 1 && err == nil || n != 0 && err != nil {
			t.Errorf("a shard of %d papers, %v", n, err)
		}
		return err
	}
	if err := shard(); err != nil {
		t.Fatal(err)
	}
	want := contents(t, dir)
	if err := errors.Join(os.MkdirAll(filepath.Join(dir, ".r1-shards", ".1-of-1-partial", "x"), 0o755), os.WriteFile(filepath.Join(dir, ".r1-shards", "1-of-1", "more"), nil, 0o644)); err != nil {
		t.Fatal(err)
	}
	if err := shard(); err != nil || !maps.Equal(want, contents(t, dir)) {
		t.Errorf("again: %v", err)
	}
	release, err := hold(filepath.Join(dir, ".r1-shards", "1-of-1.lock"), "another")
	if err != nil {
		t.Fatal(err)
	}
	var busy *BusyError
	if err := shard(); !errors.As(err, &busy) || busy.Holder != "another" {
		t.Errorf("while somebody makes it: %v", err)
	}
	release()
	if !maps.Equal(want, contents(t, dir)) {
		t.Error("what is there is not as it was")
	}
}
