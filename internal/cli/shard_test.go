package cli_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/cli"
	"spanseal/internal/seal"
)

// Three shards, joined, give the bytes of one run.
func TestShardsJoin(t *testing.T) {
	job := bigJob(t, 20)
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	issue := func(out string, more ...string) string {
		return must(t, cli.ExitOK, append([]string{"issue", job, "--date", "2026-11-26", "--out", filepath.Join(job, out)}, more...)...)
	}
	refused := func(want string, more ...string) {
		t.Helper()
		code, _, stderr := run(t, append([]string{"issue", job, "--out", filepath.Join(job, "joined"), "--join"}, more...)...)
		if code != cli.ExitRefused || !strings.Contains(stderr, want) {
			t.Errorf("exit code %d, want 3 with %q:\n%s", code, want, stderr)
		}
	}
	issue("whole")
	refused("there are no shards to join", "--date", "2026-11-26")
	for _, i := range []int{3, 1} {
		if out, want := issue("joined", "--shard", fmt.Sprintf("%d/3", i)), fmt.Sprintf("made shard %d/3: %d documents\n", i, []int{6, 7, 7}[i-1]); out != want {
			t.Errorf("got %q, want %q", out, want)
		}
	}
	refused("shard 2 of 3 is not there\n     = fix: make it: --shard 2/3", "--date", "2026-11-26")
	issue("joined", "--shard", "2/3")
	refused("shard 1 of 3 was made from other files, or with another date or reason", "--date", "2026-11-25")
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "other.p12"), "--name", "R. Lindqvist")
	refused("shard 1 of 3 was made with another key, ", "--date", "2026-11-26", "--key", filepath.Join(job, "other.p12"))

	attackShards(t, job)
	issue("joined", "--join")
	if diff := cmp.Diff(tree(t, filepath.Join(job, "whole")), tree(t, filepath.Join(job, "joined"))); diff != "" {
		t.Errorf("one run (-) and three shards (+) give other bytes:\n%s", diff)
	}
	if code, _, stderr := run(t, "issue", job, "--shard", "1/3"); code != cli.ExitUsage || !strings.Contains(stderr, "shards must agree on the date") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	for _, bad := range []string{"4/3", "0/3", "3", "/3", "a/b"} {
		if code, _, _ := run(t, "issue", job, "--date", "2026-11-26", "--shard", bad); code != cli.ExitUsage {
			t.Errorf("--shard %s: exit code %d, want 2", bad, code)
		}
	}
}

// What a shard says is believed only where the key signed it that is to sign the
// revision: whoever can write on the disk that machines share could put papers
// of their own there, with a list that fits.
func attackShards(t *testing.T, job string) {
	t.Helper()
	shards := filepath.Join(job, "joined", ".r1-shards")
	whole := t.TempDir()
	check(t, os.CopyFS(whole, os.DirFS(shards)))
	const paper = "2-of-3/certificates/L-00010.pdf"
	read := func(t *testing.T, name string) []byte {
		data, err := os.ReadFile(filepath.Join(shards, name))
		check(t, err)
		return data
	}
	put := func(t *testing.T, name string, data []byte) {
		check(t, os.WriteFile(filepath.Join(shards, name), data, 0o644))
	}
	// forge puts another paper there and corrects the list.
	forge := func(t *testing.T) (list []byte) {
		was, forged := read(t, paper), read(t, "2-of-3/certificates/L-00011.pdf")
		put(t, paper, forged)
		before, after := seal.NewManifestFile("", was), seal.NewManifestFile("", forged)
		list = bytes.Replace(read(t, "2-of-3/shard.json"), []byte(before.SHA256), []byte(after.SHA256), 1)
		list = bytes.Replace(list, fmt.Appendf(nil, `"size": %d`, before.Size), fmt.Appendf(nil, `"size": %d`, after.Size), -1)
		put(t, "2-of-3/shard.json", list)
		return list
	}
	stranger, err := seal.NewSigner("R. Lindqvist", "", now().AddDate(-1, 0, 0), 10)
	check(t, err)
	for _, a := range []struct {
		name string
		do   func(t *testing.T)
		code int
		says string
	}{
		{"a paper cut short", func(t *testing.T) { data := read(t, paper); put(t, paper, data[:len(data)-1]) }, cli.ExitWrong, "shard 2 of 3 is damaged: certificates/L-00010.pdf"},
		{"a paper changed", func(t *testing.T) { data := read(t, paper); data[len(data)/2] ^= 1; put(t, paper, data) }, cli.ExitWrong, "shard 2 of 3 is damaged: certificates/L-00010.pdf"},
		{"a paper gone", func(t *testing.T) { check(t, os.Remove(filepath.Join(shards, paper))) }, cli.ExitWrong, "shard 2 of 3 is damaged: certificates/L-00010.pdf"},
		{"a paper by a link", func(t *testing.T) {
			check(t, os.Remove(filepath.Join(shards, paper)))
			check(t, os.Symlink(filepath.Join(whole, paper), filepath.Join(shards, paper)))
		}, cli.ExitWrong, "shard 2 of 3 is damaged: certificates/L-00010.pdf"},
		{"another paper, listed", func(t *testing.T) { forge(t) }, cli.ExitWrong, "shard 2 of 3 is damaged: shard.json: "},
		{"another paper, and a list that a stranger signed", func(t *testing.T) {
			cms, err := stranger.SignCMS(sha256.Sum256(forge(t)), now())
			check(t, err)
			put(t, "2-of-3/shard.p7s", cms)
		}, cli.ExitRefused, "shard 2 of 3 was made with another key, " + stranger.KeyID().String() + ", by R. Lindqvist"},
		{"no signature", func(t *testing.T) { check(t, os.Remove(filepath.Join(shards, "2-of-3/shard.p7s"))) }, cli.ExitWrong, "shard 2 of 3 is damaged: shard.p7s: "},
		{"no list", func(t *testing.T) { check(t, os.Remove(filepath.Join(shards, "2-of-3/shard.json"))) }, cli.ExitWrong, "shard 2 of 3 is damaged: shard.json: "},
		{"the list of another shard", func(t *testing.T) {
			check(t, os.RemoveAll(filepath.Join(shards, "2-of-3")))
			check(t, os.CopyFS(filepath.Join(shards, "2-of-3"), os.DirFS(filepath.Join(whole, "3-of-3"))))
		}, cli.ExitWrong, "shard 2 of 3 is damaged: shard.json: it is not the list of this shard"},
		{"no list at all", func(t *testing.T) { put(t, "2-of-3/shard.json", []byte("{")) }, cli.ExitWrong, "shard 2 of 3 is damaged: shard.json: "},
		{"a shard by a link", func(t *testing.T) {
			check(t, os.RemoveAll(filepath.Join(shards, "2-of-3")))
			check(t, os.Symlink(filepath.Join(whole, "2-of-3"), filepath.Join(shards, "2-of-3")))
		}, cli.ExitRefused, "2-of-3: it is a symbolic link"},
		{"a file in the place of a shard", func(t *testing.T) { put(t, "4-of-3", nil) }, cli.ExitRefused, "4-of-3: it is not a folder"},
	} {
		t.Run(a.name, func(t *testing.T) {
			a.do(t)
			code, stdout, stderr := run(t, "issue", job, "--out", filepath.Join(job, "joined"), "--join", "--date", "2026-11-26")
			if code != a.code || stdout != "" || !strings.Contains(stderr, a.says) {
				t.Errorf("exit code %d, want %d and %q:\n%s", code, a.code, a.says, stderr)
			}
			if _, err := os.Lstat(filepath.Join(job, "joined", "r1")); err == nil {
				t.Error("a revision was written")
			}
			check(t, os.RemoveAll(shards))
			check(t, os.CopyFS(shards, os.DirFS(whole)))
		})
	}
	put(t, "2-of-3/certificates/Z-1.pdf", []byte("%PDF")) // what no list names stays out: the bytes are compared below
}
