package cli_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/cli"
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
		if out, want := issue("joined", "--shard", fmt.Sprintf("%d/3", i)), fmt.Sprintf("made shard %d/3: %d papers\n", i, []int{6, 7, 7}[i-1]); out != want {
			t.Errorf("got %q, want %q", out, want)
		}
	}
	refused("shard 2 of 3 is not there\n     = mend: make it: --shard 2/3", "--date", "2026-11-26")
	issue("joined", "--shard", "2/3")
	refused("shard 1 of 3 was made from other files, or with another key, date or reason", "--date", "2026-11-25")

	damaged := filepath.Join(job, "joined", ".r1-shards", "2-of-3", "certificates", "L-00010.pdf")
	data, err := os.ReadFile(damaged)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(damaged, data[:len(data)-1], 0o644); err != nil {
		t.Fatal(err)
	}
	refused("shard 2 of 3 is damaged: certificates/L-00010.pdf", "--date", "2026-11-26")
	issue("joined", "--shard", "2/3") // made again

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
