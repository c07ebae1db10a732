package cli_test

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/cli"
	"spanseal/internal/verify"
)

const passphrase = "low water at noon"

// run runs the program in this process.
func run(t testing.TB, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	code = cli.Main(cli.System{
		Program: "spanseal", KeyRounds: 1, Args: args,
		Stdin: strings.NewReader(""), Stdout: &out, Stderr: &errs,
		Getenv: func(name string) string {
			switch name {
			case "SPANSEAL_PASSPHRASE":
				return passphrase
			case "SPANSEAL_TIMESTAMP_LOGIN_FILE":
				return login
			}
			return ""
		},
		Now: now,
	})
	return code, out.String(), errs.String()
}

// must runs the program and wants an exit code.
func must(t testing.TB, want int, args ...string) string {
	t.Helper()
	code, stdout, stderr := run(t, args...)
	if code != want {
		t.Fatalf("spanseal %s: exit code %d, want %d\n%s%s", strings.Join(args, " "), code, want, stdout, stderr)
	}
	return stdout
}

// bigJob writes a job of n links with measurement noise, and its key.
func bigJob(t testing.TB, n int) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../testdata/script/cabinet")); err != nil {
		t.Fatal(err)
	}
	noise := rand.New(rand.NewPCG(1, 2))
	links := []byte("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n")
	rows := []byte("link,wavelength_nm,direction,loss_db,source,instrument,person,reference_time,time\n")
	at := time.Date(2026, time.November, 17, 8, 30, 0, 0, time.UTC)
	for i := range n {
		id := fmt.Sprintf("L-%05d", i+1)
		links = fmt.Appendf(links, "%s,cabinet K2 port %d,panel C1 port %d,OM4,%d,2,0,factory LC/PC,factory LC/PC\n", id, i+1, i+1, 60+noise.IntN(60))
		for _, way := range []string{"A-B", "B-A"} {
			for _, nm := range []int{850, 1300} {
				rows = fmt.Appendf(rows, "%s,%d,%s,0.%d,LS-6,PM-9,mo,%s,%s\n", id, nm, way, 400+noise.IntN(400),
					at.Add(-time.Hour).Format("2006-01-02 15:04"), at.Format("2006-01-02 15:04"))
			}
			at = at.Add(2 * time.Minute)
		}
	}
	for name, data := range map[string][]byte{"links.csv": links, "readings/day1.csv": rows} {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// tree is every file below a folder with the digest of its bytes.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := fs.WalkDir(os.DirFS(dir), ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(path)))
		files[path] = fmt.Sprintf("%x", sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// The same inputs, key and date give the same bytes: on another path, and
// however many processors share the work.
func TestIssueIsReproducible(t *testing.T) {
	first := filepath.Join(t.TempDir(), "demo")
	must(t, cli.ExitOK, "demo", first)
	second := filepath.Join(t.TempDir(), "somewhere else", "copy")
	if err := os.CopyFS(second, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	pass := filepath.Join(t.TempDir(), "pass")
	if err := os.WriteFile(pass, []byte("harbour lights\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	issue := func(dir string, processors int) map[string]string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		must(t, cli.ExitOpen, "issue", dir, "--passphrase-file", pass, "--date", "2026-11-26T10:00:00Z", "--again", "--reason", "a test")
		return tree(t, filepath.Join(dir, "issued", "r2"))
	}
	one, eight := issue(first, 1), issue(second, 8)
	if len(one) < 35 {
		t.Errorf("only %d files were issued", len(one))
	}
	if diff := cmp.Diff(one, eight); diff != "" {
		t.Errorf("one processor (-) and eight (+) give other bytes:\n%s", diff)
	}
}

// program is this test's binary under a name that makes it the program.
func program(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "spanseal"+filepath.Ext(self))
	if filepath.Ext(self) == ".test" {
		path = strings.TrimSuffix(path, ".test")
	}
	if err := os.Symlink(self, path); err != nil {
		t.Fatal(err)
	}
	return path
}

// process starts the program in a process of its own.
func process(t *testing.T, program string, args ...string) (*exec.Cmd, *bytes.Buffer) {
	t.Helper()
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), "SPANSEAL_PASSPHRASE="+passphrase)
	var errs bytes.Buffer
	c.Stderr = &errs
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	return c, &errs
}

var revisionOrLeftover = regexp.MustCompile(`^(r[0-9]+|\.r[0-9]+-partial|\.lock)$`)

// whole checks that a folder of revisions holds whole ones and nothing that
// the next run does not clean up, and returns how many there are.
func whole(t *testing.T, job string) int {
	t.Helper()
	trust, err := verify.ReadTrust(time.Time{}, []string{filepath.Join(job, "signer.pem")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(filepath.Join(job, "issued"))
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	n := 0
	for _, e := range entries {
		if !revisionOrLeftover.MatchString(e.Name()) {
			t.Errorf("what is %s?", e.Name())
		}
		if !strings.HasPrefix(e.Name(), "r") {
			continue
		}
		n++
		report, err := verify.Folder(filepath.Join(job, "issued", e.Name()), trust)
		if err != nil || report.Conclusion() != verify.Holds {
			t.Errorf("%s: %v, %+v", e.Name(), err, report)
		}
	}
	return n
}

// A run that is killed at any moment leaves whole revisions only, and the next
// run goes on from them.
func TestKilledRunsLeaveNoHalfRevision(t *testing.T) {
	jobs, kills, links := 1, 10, 20
	switch {
	case testing.Short():
		kills = 3
	case *long:
		jobs, kills = 10, 20 // two hundred
	}
	job, program := bigJob(t, links), program(t)
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	start := time.Now()
	must(t, cli.ExitOK, "issue", job)
	full := time.Since(start)
	moments := rand.New(rand.NewPCG(3, 4))
	for range jobs {
		done := whole(t, job)
		for range kills {
			c, _ := process(t, program, "issue", job, "--again", "--reason", "a test")
			time.Sleep(time.Duration(moments.Int64N(int64(full + full/4))))
			_ = c.Process.Kill() // it may have ended by itself
			_ = c.Wait()
			if n := whole(t, job); n < done || n > done+1 {
				t.Fatalf("%d revisions after a killed run, %d before", n, done)
			} else {
				done = n
			}
		}
		must(t, cli.ExitOK, "issue", job, "--again", "--reason", "a test")
		if n := whole(t, job); n != done+1 {
			t.Errorf("%d revisions after a last run, want %d", n, done+1)
		}
		entries, err := os.ReadDir(filepath.Join(job, "issued"))
		if err != nil || len(entries) != done+1 {
			t.Errorf("leftovers: %v, %v", entries, err)
		}
		if err := os.RemoveAll(filepath.Join(job, "issued")); err != nil {
			t.Fatal(err)
		}
	}
}

// Of several runs at once, each either writes a revision of its own or says
// that another is writing.
func TestRunsAtOnce(t *testing.T) {
	job, program := bigJob(t, 60), program(t)
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	var wg sync.WaitGroup
	var mu sync.Mutex
	written := 0
	for range 4 {
		c, errs := process(t, program, "issue", job, "--again", "--reason", "a test")
		wg.Go(func() {
			err := c.Wait()
			mu.Lock()
			defer mu.Unlock()
			switch {
			case err == nil:
				written++
			case c.ProcessState.ExitCode() != cli.ExitTool || !strings.HasPrefix(errs.String(), "error: another run is issuing this job: process "):
				t.Errorf("%v: %s", err, errs)
			}
		})
	}
	wg.Wait()
	if n := whole(t, job); n != written || n == 0 {
		t.Errorf("%d revisions, and %d runs said that they wrote one", n, written)
	}
}

// A run that is interrupted says so and cleans up after itself.
func TestInterruptedRunLeavesNothing(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // a process cannot send an interrupt to another there
	}
	job, program := bigJob(t, 400), program(t)
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	for _, end := range []struct {
		writing string
		args    []string
		signal  os.Signal
	}{
		{".r1-partial", []string{"--again", "--reason", "a test"}, os.Interrupt},
		{".r1-partial", []string{"--again", "--reason", "a test"}, syscall.SIGHUP}, // its terminal was closed
		{".r1-shards/.1-of-2-partial", []string{"--shard", "1/2", "--date", "2026-11-25"}, os.Interrupt},
	} {
		args := end.args
		c, errs := process(t, program, append([]string{"issue", job}, args...)...)
		writing := filepath.Join(job, "issued", end.writing, "certificates")
		for deadline := time.Now().Add(time.Minute); ; time.Sleep(time.Millisecond) {
			if _, err := os.Stat(writing); err == nil {
				break
			}
			if time.Now().After(deadline) {
				t.Fatalf("%s: the run never began to write", args)
			}
		}
		if err := c.Process.Signal(end.signal); err != nil {
			t.Fatal(err)
		}
		_ = c.Wait()
		if code := c.ProcessState.ExitCode(); code != cli.ExitTool || errs.String() != "error: stopped; nothing was issued\n" {
			t.Errorf("%s, %v: exit code %d: %s", args, end.signal, code, errs)
		}
		if _, err := os.Stat(filepath.Join(job, "issued")); !os.IsNotExist(err) {
			t.Errorf("%s: issued/ is left behind: %v", args, err)
		}
	}
}

// A job folder dragged onto the program is issued, in a window that waits.
func TestDroppedFolder(t *testing.T) {
	job := bigJob(t, 1)
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	var out, errs bytes.Buffer
	code := cli.Main(cli.System{
		Program: "spanseal", KeyRounds: 1, Args: []string{job}, Window: true,
		Stdin: strings.NewReader("\n"), Stdout: &out, Stderr: &errs,
		Getenv: func(string) string { return passphrase }, Now: now,
	})
	if code != cli.ExitOK || !strings.Contains(out.String(), "issued ") || errs.String() != "\npress Enter to close this window " {
		t.Errorf("exit code %d\n%s%s", code, &out, &errs)
	}
}
