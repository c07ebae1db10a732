//go:build unix

package issue

import (
	"context"
	"errors"
	"flag"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"syscall"
	"testing"

	"spanseal/internal/label"
	"spanseal/internal/seal"
)

// faulty is a disk of which one call fails: of one kind, the n-th from one.
type faulty struct {
	disk
	what   string
	n      int
	failed bool // it did
	errno  error

	mu    sync.Mutex
	calls map[string]int
	// done lets the call be done before it says that it failed, as a share does
	// whose answer is lost.
	done bool
}

func (d *faulty) fails(what string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.calls[what]++
	if what != d.what || d.calls[what] != d.n {
		return nil
	}
	d.failed = true
	return &fs.PathError{Op: what, Path: "a faulty disk", Err: d.errno}
}

func (d *faulty) hold(path, holder string) (func(), error) {
	if err := d.fails("lock"); err != nil {
		return nil, err
	}
	return d.disk.hold(path, holder)
}

func (d *faulty) folder(path string) (folder, error) {
	if err := d.fails("open folder"); err != nil {
		return nil, err
	}
	f, err := d.disk.folder(path)
	return faultyFolder{f, d}, err
}

func (d *faulty) lstat(path string) (fs.FileInfo, error) {
	if err := d.fails("lstat"); err != nil {
		return nil, err
	}
	return d.disk.lstat(path)
}

func (d *faulty) create(path string) (file, error) {
	if err := d.fails("create"); err != nil {
		return nil, err
	}
	f, err := d.disk.create(path)
	if err != nil {
		return nil, err
	}
	return faultyFile{f, d}, nil
}

func (d *faulty) change(what string, do func() error) error {
	err := d.fails(what)
	if err == nil || d.done {
		err = errors.Join(do(), err)
	}
	return err
}

func (d *faulty) mkdir(path string) error {
	return d.change("mkdir", func() error { return d.disk.mkdir(path) })
}
func (d *faulty) mkdirAll(path string) error {
	return d.change("mkdir -p", func() error { return d.disk.mkdirAll(path) })
}
func (d *faulty) rename(from, to string) error {
	return d.change("rename", func() error { return d.disk.rename(from, to) })
}
func (d *faulty) flush(dir string) error {
	return d.change("flush", func() error { return d.disk.flush(dir) })
}
func (d *faulty) flushDir(dir string) error {
	return d.change("flush the folder", func() error { return d.disk.flushDir(dir) })
}

type faultyFolder struct {
	folder
	d *faulty
}

func (f faultyFolder) Open(name string) (fs.File, error) {
	if err := f.d.fails("open"); err != nil {
		return nil, err
	}
	return f.folder.Open(name)
}

func (f faultyFolder) ReadDir(name string) ([]fs.DirEntry, error) {
	if err := f.d.fails("list"); err != nil {
		return nil, err
	}
	return f.folder.ReadDir(name)
}

type faultyFile struct {
	file
	d *faulty
}

func (f faultyFile) Write(p []byte) (int, error) {
	if err := f.d.fails("write"); err != nil {
		n, _ := f.file.Write(p[:len(p)/2]) // a disk fills up half-way
		return n, err
	}
	return f.file.Write(p)
}

func (f faultyFile) Stat() (fs.FileInfo, error) {
	if err := f.d.fails("stat"); err != nil {
		return nil, err
	}
	return f.file.Stat()
}

func (f faultyFile) Close() error { return errors.Join(f.file.Close(), f.d.fails("close")) }

// contents are the files below a folder.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		files[path] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

var long = flag.Bool("long", false, "also run what takes minutes: a fault at every call, not at three of a kind")

// some are numbers from 1 to n, the first and the last among them: all, or so many.
func some(n, most int) []int {
	if n <= most {
		most = n
	}
	if n == 0 {
		return nil
	}
	list := []int{1}
	if n == 1 {
		return list
	}
	for i := 1; i < most; i++ {
		list = append(list, 1+i*(n-1)/(most-1))
	}
	return list
}

// TestEveryFault lets each call to the disk fail in turn, of a first revision
// and of one that follows. A run that says it failed has changed nothing; one
// that says it did not has written the whole; and the next run goes on from
// there.
func TestEveryFault(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // the same calls in the same order
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sets(t, 1, label.Encode)
	write := func(dir string, on disk) (*Written, error) {
		set := fresh(signer)
		set.Reason = "a test"
		return Write(context.Background(), Request{Folder: dir, Set: set, Signer: signer, Again: true, Holder: "a test", on: on})
	}
	base := t.TempDir()
	if _, err := write(base, local{}); err != nil {
		t.Fatal(err)
	}
	for _, kind := range []struct {
		name  string
		first bool // there is no revision yet
		errno error
		done  bool
	}{{"a full disk", false, syscall.ENOSPC, false}, {"a broken disk, at the first revision", true, syscall.EIO, false}, {"an answer lost", false, syscall.EIO, true}} {
		t.Run(kind.name, func(t *testing.T) {
			was := 2
			if kind.first {
				was = 1
			}
			folder := func() string {
				dir := filepath.Join(t.TempDir(), "issued")
				if !kind.first {
					if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
						t.Fatal(err)
					}
				}
				return dir
			}
			sound := &faulty{disk: local{}, calls: map[string]int{}}
			if _, err := write(folder(), sound); err != nil {
				t.Fatal(err)
			}
			for _, what := range []string{"lock", "open folder", "list", "lstat", "open", "create", "write", "stat", "close", "mkdir", "mkdir -p", "rename", "flush", "flush the folder"} {
				all := sound.calls[what]
				if all == 0 {
					t.Errorf("there is no call to %s: %v", what, sound.calls)
				}
				most := 3
				switch {
				case testing.Short():
					most = 1
				case *long, what == "open folder": // a few, each for another reason
					most = all
				case what == "write":
					most = 8
				}
				for _, n := range some(all, most) {
					dir := folder()
					before := map[string]string{}
					if !kind.first {
						before = contents(t, dir)
					}
					d := &faulty{disk: local{}, calls: map[string]int{}, what: what, n: n, errno: kind.errno, done: kind.done}
					rev, err := write(dir, d)
					if !d.failed {
						t.Fatalf("%s %d of %d did not fail: %v", what, n, all, err)
					}
					next, nextErr := Next(dir)
					if nextErr != nil {
						t.Fatal(nextErr)
					}
					switch {
					case err != nil:
						after := map[string]string{}
						if _, err := os.Stat(dir); err == nil {
							after = contents(t, dir)
						}
						if next != was || !maps.Equal(before, after) {
							t.Errorf("%s %d of %d: %v, and the folder holds %d files, %d before", what, n, all, err, len(after), len(before))
						}
					case next != was+1 || rev.Number != was:
						t.Errorf("%s %d of %d: nothing is said, and revision %d is next", what, n, all, next)
					case what == "flush the folder" && (rev.Unflushed == nil || rev.Unflushed.Never):
						t.Errorf("%s %d of %d: it is not said", what, n, all)
					}
					if _, err := write(dir, local{}); err != nil {
						t.Errorf("%s %d of %d: the next run: %v", what, n, all, err)
					}
				}
			}
			t.Log(sound.calls)
		})
	}
}

// TestShareThatFlushesNoFolders: where a file system cannot flush a folder, the
// revision is written and that is said.
func TestShareThatFlushesNoFolders(t *testing.T) {
	for _, test := range []struct {
		errno syscall.Errno
		never bool
	}{{syscall.EINVAL, true}, {syscall.ENOTSUP, true}, {syscall.EIO, false}} {
		dir := t.TempDir()
		d, err := begin(&unflushing{local{}, test.errno}, dir, "r1")
		if err != nil {
			t.Fatal(err)
		}
		unflushed, err := d.publish()
		if n, _ := Next(dir); err != nil || n != 2 || unflushed == nil || unflushed.Never != test.never {
			t.Errorf("%v: %v, %v, and revision %d is next", test.errno, unflushed, err, n)
		}
	}
}

// unflushing is a disk whose folders cannot be flushed.
type unflushing struct {
	disk
	errno syscall.Errno
}

func (u *unflushing) flushDir(dir string) error {
	return &fs.PathError{Op: "sync", Path: dir, Err: u.errno}
}
