//go:build unix

package issue

import (
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"
	"testing"

	"golang.org/x/sys/unix"

	"spanseal/internal/plain"
)

// descriptors are the files that this process has open, where the system tells.
func descriptors(t *testing.T) int {
	t.Helper()
	if runtime.GOOS != "linux" {
		return 0
	}
	open, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Fatal(err)
	}
	return len(open)
}

// nothingOpen fails a test if what it does leaves files open. Without the collector, which
// would close what nobody refers to.
func nothingOpen(t *testing.T, do func()) {
	t.Helper()
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	f, err := os.Open(os.Args[0]) // the first file of a process opens more
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	before := descriptors(t)
	if do(); descriptors(t) > before {
		t.Errorf("%d files are open, %d before", descriptors(t), before)
	}
}

// TestLockRefused: what cannot be locked is refused, is as it was, and stays closed; a
// file that somebody removes or exchanges while we lock it is not taken for the lock.
func TestLockRefused(t *testing.T) {
	const text = "somebody's"
	file := func(path string) error { return os.WriteFile(path, []byte(text), 0o644) }
	var locks int
	lock := func(os *os.File) error { locks++; return lockFile(os) }
	for _, c := range []struct {
		name   string
		make   func(path string) error
		lock   func(path string) func(*os.File) error // nil: the system's
		want   func(path string, err error) bool      // nil: it is taken
		locks  int
		length int // of what stands there afterwards, -1 for nothing
	}{
		{"nothing", func(string) error { return nil }, nil, nil, 1, -1},
		{"a stale lock", file, nil, nil, 1, -1},
		{"a folder", func(path string) error { return os.Mkdir(path, 0o755) }, nil, func(path string, err error) bool {
			var link *LinkError
			return errors.As(err, &link) && link.Path == path && link.Err == plain.ErrLink
		}, 0, -1},
		{"a link", func(path string) error { return errors.Join(file(path+"-there"), os.Symlink(path+"-there", path)) }, nil, func(path string, err error) bool {
			var link *LinkError
			return errors.As(err, &link) && link.Path == path && link.Err == plain.ErrLink
		}, 0, len(text)},
		{"another name of a file", func(path string) error { return errors.Join(file(path+"-there"), os.Link(path+"-there", path)) }, nil, func(path string, err error) bool {
			return err != nil && err.Error() == path+": it is a link to a file that has another name too, and links are not followed"
		}, 1, len(text)},
		{"the system refuses", file, func(string) func(*os.File) error { return func(*os.File) error { return syscall.ENOLCK } }, func(path string, err error) bool {
			return errors.Is(err, syscall.ENOLCK) && err.Error() == "lock "+path+": "+syscall.ENOLCK.Error()
		}, 0, len(text)},
		{"somebody has it", func(path string) error { return os.WriteFile(path, []byte(" a\n"+strings.Repeat("b", 300)), 0o644) },
			func(string) func(*os.File) error { return func(*os.File) error { return errHeld } }, func(path string, err error) bool {
				var busy *BusyError
				return errors.As(err, &busy) && *busy == BusyError{path, "a\n" + strings.Repeat("b", 197)}
			}, 0, 303},
		{"removed in between", file, func(path string) func(*os.File) error {
			return func(f *os.File) error {
				if locks == 0 {
					os.Remove(path)
				}
				return lock(f)
			}
		}, nil, 2, -1},
		{"exchanged in between", file, func(path string) func(*os.File) error {
			return func(f *os.File) error {
				if locks == 0 {
					os.Rename(path, path+"-there")
					file(path)
				}
				return lock(f)
			}
		}, nil, 2, len(text)},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), lockName)
			if err := c.make(path); err != nil {
				t.Fatal(err)
			}
			locks = 0
			ask := lock
			if c.lock != nil {
				ask = c.lock(path)
			}
			nothingOpen(t, func() {
				release, err := holdBy(path, "process 2", ask)
				switch {
				case c.want == nil && err == nil:
					if data, err := os.ReadFile(path); string(data) != "process 2\n" {
						t.Errorf("the lock says %q, %v", data, err)
					}
					release()
					if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
						t.Errorf("the lock stays: %v", err)
					}
				case c.want == nil || err == nil || !c.want(path, err):
					t.Errorf("%T %v", err, err)
				}
			})
			there := -1
			for _, name := range []string{path, path + "-there"} {
				if data, err := os.ReadFile(name); err == nil {
					there = len(data)
				}
			}
			if locks != c.locks || there != c.length {
				t.Errorf("locked %d times, %d bytes stand there", locks, there)
			}
		})
	}
	if _, err := hold(filepath.Join(t.TempDir(), "nowhere", lockName), "process 2"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("below a folder that is not there: %v", err)
	}
}

// TestLockThatCannotBeWritten: a lock that cannot say who holds it is none. A process of
// its own, which may write no file at all, asks for it.
func TestLockThatCannotBeWritten(t *testing.T) {
	const asked = "SPANSEAL_TEST_LOCK"
	if path := os.Getenv(asked); path != "" {
		signal.Ignore(syscall.SIGXFSZ)
		var limit unix.Rlimit
		if err := unix.Getrlimit(unix.RLIMIT_FSIZE, &limit); err != nil {
			t.Fatal(err)
		}
		if err := unix.Setrlimit(unix.RLIMIT_FSIZE, &unix.Rlimit{Max: limit.Max}); err != nil {
			t.Fatal(err)
		}
		defer unix.Setrlimit(unix.RLIMIT_FSIZE, &limit) // the coverage is written at the end
		nothingOpen(t, func() {
			if _, err := hold(path, "process 2"); !errors.Is(err, syscall.EFBIG) {
				t.Errorf("%v", err)
			}
		})
		return
	}
	c := exec.Command(os.Args[0], "-test.run", "^TestLockThatCannotBeWritten$", "-test.v")
	c.Env = append(os.Environ(), asked+"="+filepath.Join(t.TempDir(), lockName))
	if out, err := c.CombinedOutput(); err != nil || !strings.Contains(string(out), "--- PASS") {
		t.Errorf("%v\n%s", err, out)
	}
}
