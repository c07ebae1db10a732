//go:build unix

package issue

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"spanseal/internal/label"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// call is one call to the disk: what is asked, from which lines of the package, and
// the how many-th of its kind it is, from one.
type call struct {
	what, from string
	n          int
}

// faulty is a disk of which one call fails. It counts what it opened, and writes down
// every call.
type faulty struct {
	disk
	fail  call // by its number, or the first from its place where that is 0
	errno error
	// done lets the call be done before it says that it failed, as a share does
	// whose answer is lost.
	done bool

	mu     sync.Mutex
	failed bool // it did
	open   int  // folders, files and locks
	calls  []call
	count  map[string]int
}

// fault is the error of the call that fails, else nil.
func (d *faulty) fault(what string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.count == nil {
		d.count = map[string]int{}
	}
	d.count[what]++
	c := call{what, from(), d.count[what]}
	d.calls = append(d.calls, c)
	if d.failed || what != d.fail.what || c.n != d.fail.n && (d.fail.n > 0 || c.from != d.fail.from) {
		return nil
	}
	d.failed = true
	return &fs.PathError{Op: what, Path: "a faulty disk", Err: d.errno}
}

// from names the lines of this package, without its tests, that led to a call.
func from() string {
	var pcs [200]uintptr
	frames := runtime.CallersFrames(pcs[:runtime.Callers(3, pcs[:])])
	var lines []string
	for {
		f, more := frames.Next()
		if strings.HasPrefix(f.Function, "spanseal/internal/issue.") && !strings.HasSuffix(f.File, "_test.go") {
			lines = append(lines, fmt.Sprintf("%s:%d", filepath.Base(f.File), f.Line))
		}
		if !more {
			return strings.Join(lines, " ")
		}
	}
}

func (d *faulty) opened(n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.open += n
}

func (d *faulty) hold(path, holder string) (func(), error) {
	if err := d.fault("lock"); err != nil {
		return nil, err
	}
	release, err := d.disk.hold(path, holder)
	if err != nil {
		return nil, err
	}
	d.opened(1)
	return func() { release(); d.opened(-1) }, nil
}

func (d *faulty) folder(path string) (folder, error) {
	if err := d.fault("open folder"); err != nil {
		return nil, err
	}
	f, err := d.disk.folder(path)
	if err != nil {
		return nil, err
	}
	d.opened(1)
	return faultyFolder{f, d}, nil
}

func (d *faulty) lstat(path string) (fs.FileInfo, error) {
	if err := d.fault("lstat"); err != nil {
		return nil, err
	}
	return d.disk.lstat(path)
}

func (d *faulty) create(path string) (file, error) {
	if err := d.fault("create"); err != nil {
		return nil, err
	}
	f, err := d.disk.create(path)
	if err != nil {
		return nil, err
	}
	d.opened(1)
	return faultyFile{f, d}, nil
}

func (d *faulty) change(what string, do func() error) error {
	err := d.fault(what)
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
func (d *faulty) removeAll(path string) error {
	return d.change("remove", func() error { return d.disk.removeAll(path) })
}

// The disk of a test need not outlive a power cut, and to wait for it takes time.
func (d *faulty) flush(string) error    { return d.fault("flush") }
func (d *faulty) flushDir(string) error { return d.fault("flush the folder") }

type faultyFolder struct {
	folder
	d *faulty
}

func (f faultyFolder) Open(name string) (fs.File, error) {
	if err := f.d.fault("open"); err != nil {
		return nil, err
	}
	opened, err := f.folder.Open(name)
	if err != nil {
		return nil, err
	}
	f.d.opened(1)
	return faultyReading{opened, f.d}, nil
}

func (f faultyFolder) ReadDir(name string) ([]fs.DirEntry, error) {
	if err := f.d.fault("list"); err != nil {
		return nil, err
	}
	return f.folder.ReadDir(name)
}

func (f faultyFolder) Close() error {
	f.d.opened(-1)
	return errors.Join(f.folder.Close(), f.d.fault("close folder"))
}

// faultyReading is a file that is read.
type faultyReading struct {
	fs.File
	d *faulty
}

func (f faultyReading) Stat() (fs.FileInfo, error) {
	if err := f.d.fault("stat what is read"); err != nil {
		return nil, err
	}
	return f.File.Stat()
}

func (f faultyReading) Read(p []byte) (int, error) {
	if err := f.d.fault("read"); err != nil {
		return 0, err
	}
	return f.File.Read(p)
}

func (f faultyReading) Close() error {
	f.d.opened(-1)
	return f.File.Close()
}

// faultyFile is a file that is written.
type faultyFile struct {
	file
	d *faulty
}

func (f faultyFile) Write(p []byte) (int, error) {
	if err := f.d.fault("write"); err != nil {
		n, _ := f.file.Write(p[:len(p)/2]) // a disk fills up half-way
		return n, err
	}
	return f.file.Write(p)
}

func (f faultyFile) Stat() (fs.FileInfo, error) {
	if err := f.d.fault("stat"); err != nil {
		return nil, err
	}
	return f.file.Stat()
}

func (f faultyFile) Close() error {
	f.d.opened(-1)
	return errors.Join(f.file.Close(), f.d.fault("close"))
}

// contents are the files and folders below a folder, by their paths in it; nil where it
// is not there.
func contents(t *testing.T, dir string) map[string]string {
	t.Helper()
	var files map[string]string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if path == dir && errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
		if files == nil {
			files = map[string]string{}
		}
		name, _ := filepath.Rel(dir, path)
		if e.IsDir() {
			files[name] = "a folder"
			return nil
		}
		data, err := os.ReadFile(path)
		files[name] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

var long = flag.Bool("long", false, "also run what takes minutes: a fault at every call, not at the first from each place")

// TestEveryFault lets each call to the disk fail in turn: of a first revision and of one
// that follows, of a shard, of the joining of shards, of a specimen; the first call from
// each place of the package, or with -long all of them. A run that says it failed says why
// and has changed nothing. It may say nothing only if it has written what a run writes
// that never failed, and no more could be done. None leaves a file open.
func TestEveryFault(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // the same calls in the same order
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sets(t, 1, label.Encode)
	request := func(dir string, on disk) Request {
		set := fresh(signer)
		facts := *set.Facts
		facts.Kept = []record.KeptFile{{Name: "trace.sor", SHA256: seal.NewManifestFile("", []byte("trace")).SHA256, Size: 5, Copy: func(to io.Writer) error {
			_, err := io.WriteString(to, "trace")
			return err
		}}}
		set.Facts = &facts
		return Request{Folder: dir, Set: set, Signer: signer, Holder: "a test", Bundle: true, CheckPage: []byte("<p>check</p>"), on: on}
	}
	write := func(dir string, on disk) error {
		_, err := Write(context.Background(), request(dir, on))
		return err
	}
	second := func(dir string, on disk) error {
		r, one := request(dir, on), 1
		r.Again, r.Set.Reason, r.Set.Facts.Job.Pay.Billed = true, "a test", &one
		rev, err := Write(context.Background(), r)
		if d, ok := on.(*faulty); ok && err == nil && (rev.Unflushed != nil) != (d.failed && d.fail.what == "flush the folder") {
			t.Errorf("unflushed: %v", rev.Unflushed)
		}
		return err
	}
	shard := func(dir string, on disk) error {
		n, err := Shard(context.Background(), request(dir, on), 1, 1)
		if n != 1 && err == nil || n != 0 && err != nil {
			t.Errorf("a shard of %d papers, %v", n, err)
		}
		return err
	}
	specimen := func(dir string, on disk) error {
		r := request(dir, on)
		r.Set.Specimen = true
		at, err := Specimen(context.Background(), r)
		if err == nil && at != filepath.Join(dir, "specimen") {
			t.Errorf("the specimen lies in %s", at)
		}
		return err
	}
	join := func(dir string, on disk) error {
		r := request(dir, on)
		r.Join = true
		_, err := Write(context.Background(), r)
		return err
	}
	left := func(name string) func(string, disk) error { // by a run that was killed
		return func(dir string, _ disk) error { return os.MkdirAll(filepath.Join(dir, name, "certificates"), 0o755) }
	}
	all := func(all ...func(string, disk) error) func(string, disk) error {
		return func(dir string, on disk) (err error) {
			for _, do := range all {
				err = errors.Join(err, do(dir, on))
			}
			return err
		}
	}
	swept := func(files map[string]string, and string) map[string]string { // without what the next run sweeps away
		left := maps.Clone(files)
		maps.DeleteFunc(left, func(name, _ string) bool {
			return strings.Contains(name, "-partial") || and != "" && strings.HasPrefix(name, and)
		})
		return left
	}
	type place struct {
		call
		done bool
	}
	seen := map[place]bool{} // in all runs
	changes := []string{"mkdir", "mkdir -p", "rename", "remove", "flush", "flush the folder"}
	for _, run := range []struct {
		name       string
		before, do func(dir string, on disk) error
		errno      error
		done       bool
		replaces   bool     // what was there may be gone
		of         []string // kinds of calls that have to be there; with done only these fail
	}{
		{"a first revision", all(), write, syscall.EIO, false, false, []string{"lock", "open folder", "list", "lstat", "create", "write", "stat", "close", "mkdir", "mkdir -p", "rename", "flush", "flush the folder"}},
		{"a second revision", all(write, left(".r2-partial")), second, syscall.ENOSPC, false, false, []string{"open", "read", "stat what is read", "close folder", "remove"}},
		{"an answer lost", all(write, left(".r2-partial")), second, syscall.EIO, true, false, changes},
		{"a shard", all(), shard, syscall.EIO, false, false, changes},
		{"a shard beside others", all(write, left(".r2-shards/2-of-2")), func(dir string, on disk) error {
			r := request(dir, on)
			r.Again = true
			n, err := Shard(context.Background(), r, 1, 2)
			if n != 0 {
				t.Errorf("a shard of %d papers, %v", n, err)
			}
			return err
		}, syscall.EIO, true, false, changes},
		{"the joining of shards", all(shard), join, syscall.EIO, false, false, []string{"open", "read", "list"}},
		{"a specimen", all(), specimen, syscall.EIO, false, false, []string{"mkdir", "rename"}},
		{"another specimen", all(specimen, left(".specimen-partial")), specimen, syscall.EIO, true, true, changes},
	} {
		t.Run(run.name, func(t *testing.T) {
			folder := func() string {
				dir := filepath.Join(t.TempDir(), "issued")
				if err := run.before(dir, &faulty{disk: local{}}); err != nil {
					t.Fatal(err)
				}
				return dir
			}
			base := folder()
			before := contents(t, base)
			fresh := func() string {
				dir := filepath.Join(t.TempDir(), "issued")
				if before != nil {
					if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
						t.Fatal(err)
					}
				}
				return dir
			}
			sound, whole := &faulty{disk: local{}}, fresh()
			if err := run.do(whole, sound); err != nil || sound.open != 0 {
				t.Fatalf("%v, and %d stay open", err, sound.open)
			}
			want := contents(t, whole)
			for _, what := range run.of {
				if sound.count[what] == 0 {
					t.Errorf("there is no call to %s: %v", what, sound.count)
				}
			}
			failed := 0
			for _, c := range sound.calls {
				if run.done && !slices.Contains(run.of, c.what) {
					continue
				}
				if !*long {
					c.n = 0
				}
				if c.n == 0 && seen[place{c, run.done}] {
					continue
				}
				seen[place{c, run.done}] = true
				failed++
				dir := fresh()
				d := &faulty{disk: local{}, fail: c, errno: run.errno, done: run.done}
				err := run.do(dir, d)
				after := contents(t, dir)
				var shard *ShardError // says what is damaged, whatever the cause
				switch {
				case !d.failed:
					t.Fatalf("%+v did not fail: %v", c, err)
				case d.open != 0:
					t.Errorf("%+v: %d stay open", c, d.open)
				case err != nil && !errors.Is(err, run.errno) && !(errors.As(err, &shard) && shard.Damaged && shard.Index == 1):
					t.Errorf("%+v: %v, want %v", c, err, run.errno)
				case err != nil && !run.replaces && !maps.Equal(swept(before, ""), swept(after, "")):
					t.Errorf("%+v: %v, and the folder holds %v, before %v", c, err, slices.Sorted(maps.Keys(after)), slices.Sorted(maps.Keys(before)))
				case err == nil && !slices.Contains([]string{"remove", "close folder", "flush the folder"}, c.what) && !(run.done && c.what == "rename"):
					t.Errorf("%+v: nothing is said", c)
				case err == nil && (c.what == "remove" && !maps.Equal(swept(want, ".r1-shards"), swept(after, ".r1-shards")) || c.what != "remove" && !maps.Equal(want, after)):
					t.Errorf("%+v: nothing is said, and the folder holds %v, want %v", c, slices.Sorted(maps.Keys(after)), slices.Sorted(maps.Keys(want)))
				}
			}
			t.Logf("%d calls, %d of them failed", len(sound.calls), failed)
			if err := run.do(base, local{}); err != nil || !maps.Equal(want, contents(t, base)) {
				t.Errorf("on the disk of this machine: %v", err)
			}
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
