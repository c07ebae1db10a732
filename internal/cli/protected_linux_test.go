package cli_test

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"spanseal/internal/cli"
)

// nobody is the user without rights (Debian, and most others).
const nobody = 65534

// othersJob is a job of so many links that somebody else may look into, with a
// way to run the program as them.
func othersJob(t *testing.T, links int) (as func(args ...string) (code int, stdout, stderr string), job string) {
	t.Helper()
	if testing.Short() {
		t.Skip("left out: -short")
	}
	as, job = unprivileged(t), bigJob(t, links)
	if err := os.Chmod(filepath.Dir(job), 0o755); err != nil {
		t.Fatal(err)
	}
	return as, job
}

// unprivileged returns a way to run the program as somebody whom the modes of
// files bind: as nobody where the test runs as root, whom they do not.
func unprivileged(t *testing.T) func(args ...string) (code int, stdout, stderr string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, d := range []string{dir, filepath.Dir(dir)} { // made for this user alone
		if err := os.Chmod(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(self) // it lies where nobody else may look
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(dir, "spanseal")
	if err := os.WriteFile(program, data, 0o755); err != nil {
		t.Fatal(err)
	}
	return func(args ...string) (int, string, string) {
		t.Helper()
		c := exec.Command(program, args...)
		c.Env = append(os.Environ(), "SPANSEAL_PASSPHRASE="+passphrase)
		c.Dir = dir
		if os.Geteuid() == 0 {
			c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		}
		var out, errs strings.Builder
		c.Stdout, c.Stderr = &out, &errs
		if err := c.Run(); err != nil && c.ProcessState == nil {
			t.Fatal(err)
		}
		return c.ProcessState.ExitCode(), out.String(), errs.String()
	}
}

// protect takes the right to write from everything below a folder; what is in
// it stays readable.
func protect(t *testing.T, dir string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir():
			t.Cleanup(func() { _ = os.Chmod(path, 0o755) }) // so that it can be removed
			return os.Chmod(path, 0o555)
		}
		if strings.HasSuffix(path, ".p12") {
			if os.Geteuid() == 0 {
				if err := os.Chown(path, nobody, nobody); err != nil {
					return err
				}
			}
			return os.Chmod(path, 0o400) // as keys are kept
		}
		return os.Chmod(path, 0o444)
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestProtectedJob: a job in which nobody may write is judged and verified, is
// issued elsewhere, and otherwise says what is forbidden and leaves no trace.
func TestProtectedJob(t *testing.T) {
	as, job := othersJob(t, 3)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	must(t, cli.ExitOK, "issue", job)
	protect(t, job)
	before := tree(t, job)
	elsewhere := t.TempDir()
	if err := os.Chmod(elsewhere, 0o777); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		name string
		args []string
		code int
		says string // at the beginning of its problems
		fix  string
	}{
		{"check", []string{"check", job}, cli.ExitOK, "", ""},
		{"verify", []string{"verify", job, "--trust", filepath.Join(job, "signer.pem")}, cli.ExitOK, "", ""},
		{"find", []string{"find", job, "L-00001"}, cli.ExitOK, "note: the index could not be kept", ""},
		{"issue", []string{"issue", job, "--again", "--reason", "a test"}, cli.ExitTool, "error: nothing was issued: ", "allow writing there, or choose another folder with --out"},
		{"issue elsewhere", []string{"issue", job, "--out", filepath.Join(elsewhere, "issued")}, cli.ExitOK, "", ""},
		{"specimen", []string{"issue", job, "--specimen"}, cli.ExitTool, "error: nothing was issued: ", "allow writing there"},
		{"shard", []string{"issue", job, "--date", "2026-11-25", "--again", "--reason", "a test", "--shard", "1/2"}, cli.ExitTool, "error: nothing was issued: ", "allow writing there"},
		{"key new", []string{"key", "new", filepath.Join(job, "other.p12"), "--name", "R. Lindqvist"}, cli.ExitTool, "error: ", "that you may write to"},
		{"export", []string{"export", job, "--out", filepath.Join(job, "results.csv")}, cli.ExitTool, "error: ", "that you may write to"},
		{"new", []string{"new", filepath.Join(job, "another")}, cli.ExitTool, "error: ", ""},
		{"demo", []string{"demo", filepath.Join(job, "demo")}, cli.ExitTool, "error: ", ""},
	} {
		code, _, stderr := as(test.args...)
		if code != test.code || !strings.HasPrefix(stderr, test.says) || test.says == "" && stderr != "" || !strings.Contains(stderr, test.fix) {
			t.Errorf("%s: exit code %d, want %d\n%s", test.name, code, test.code, stderr)
		}
		if test.code == cli.ExitTool && !strings.Contains(stderr, "permission denied") {
			t.Errorf("%s: does not say what is forbidden: %s", test.name, stderr)
		}
	}
	after := tree(t, job)
	for name, sum := range after {
		if before[name] != sum {
			t.Errorf("%s is new or was changed", name)
		}
	}
	if len(after) != len(before) {
		t.Errorf("%d files, %d before", len(after), len(before))
	}
}

// TestUnreadableFile: a file that may not be read is a fault of the input, with
// its name and the way out.
func TestUnreadableFile(t *testing.T) {
	as, job := othersJob(t, 2)
	for _, name := range []string{"readings/day1.csv", "links.csv", "job.yaml"} {
		path := filepath.Join(job, filepath.FromSlash(name))
		if err := os.Chmod(path, 0); err != nil {
			t.Fatal(err)
		}
		code, _, stderr := as("check", job)
		if code != cli.ExitRefused || !strings.Contains(stderr, name+": error: ") || !strings.Contains(stderr, "[cannot-read]") {
			t.Errorf("%s: exit code %d\n%s", name, code, stderr)
		}
		if err := os.Chmod(path, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestNoPlainFile: what never ends is not read, and a folder is no paper.
func TestNoPlainFile(t *testing.T) {
	dir := t.TempDir()
	pipe, zero, sparse := filepath.Join(dir, "pipe.pdf"), filepath.Join(dir, "zero.pdf"), filepath.Join(dir, "sparse.pdf")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/zero", zero); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(sparse)
	if err == nil {
		err = errors.Join(f.Truncate(1<<40), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		args []string
		says string
	}{
		{[]string{"verify", pipe}, "pipe.pdf is not a regular file"},
		{[]string{"verify", zero}, "zero.pdf is not a regular file"},
		{[]string{"verify", sparse}, "sparse.pdf is too large to be one: 1048576 MB"},
		{[]string{"compare", pipe, pipe}, "pipe.pdf is not a regular file"},
		{[]string{"compare", dir, dir}, "is a folder"},
	} {
		if code, _, stderr := run(t, test.args...); code != cli.ExitRefused || !strings.Contains(stderr, test.says) {
			t.Errorf("%v: exit code %d\n%s", test.args, code, stderr)
		}
	}
}

// TestForbidden: what may not be read is refused with the place and the way
// out; nothing is called missing, or changed, that was not seen.
func TestForbidden(t *testing.T) {
	as, job := othersJob(t, 1)
	key, revision := filepath.Join(job, "signer.p12"), filepath.Join(job, "issued", "r1")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	must(t, cli.ExitOK, "issue", job)
	paper := filepath.Join(revision, "summary.pdf")
	const allow = "allow reading"
	for _, test := range []struct {
		name   string
		closed string
		args   []string
		code   int
		says   string // what cannot be read
		fix    string
	}{
		{"a paper", paper, []string{"verify", paper}, cli.ExitRefused, paper, allow},
		{"a file of a revision", paper, []string{"verify", revision}, cli.ExitRefused, "summary.pdf", allow},
		{"a folder of a revision", filepath.Join(revision, "evidence"), []string{"verify", job}, cli.ExitRefused, "evidence", allow},
		{"all that was issued", filepath.Join(job, "issued"), []string{"verify", job}, cli.ExitRefused, job, allow},
		{"a folder above", filepath.Join(job, "issued"), []string{"verify", revision}, cli.ExitRefused, revision, allow},
		{"whom to trust", filepath.Join(job, "signer.pem"), []string{"verify", paper, "--trust", filepath.Join(job, "signer.pem")}, cli.ExitRefused, "--trust: ", allow},
		{"a key", key, []string{"key", "show", key}, cli.ExitRefused, key, allow},
		{"an archive", job, []string{"find", job, "L-00001"}, cli.ExitTool, job, allow},
		{"a part of an archive", filepath.Join(job, "issued"), []string{"find", job, "L-00001", "--no-index"}, cli.ExitWrong, "issued", "cannot be read"},
	} {
		info, err := os.Stat(test.closed)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(test.closed, 0); err != nil {
			t.Fatal(err)
		}
		code, _, stderr := as(test.args...)
		if err := os.Chmod(test.closed, info.Mode().Perm()); err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{test.says, test.fix, "permission denied"} {
			if code != test.code || !strings.Contains(stderr, want) || strings.Contains(stderr, "nothing was issued") {
				t.Errorf("%s: exit code %d, want %d and %q\n%s", test.name, code, test.code, want, stderr)
			}
		}
	}
}
