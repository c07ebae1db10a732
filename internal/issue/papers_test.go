//go:build unix

package issue

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"golang.org/x/sys/unix"

	"spanseal/internal/fault"
	"spanseal/internal/label"
	"spanseal/internal/seal"
)

// TestShare: one worker takes the pieces in order and stops at the first that fails; what
// was done is told.
func TestShare(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	broken := errors.New("broken")
	for _, c := range []struct {
		name    string
		n, stop int
		how     func(cancel func()) error
		want    func(error) bool
		done    []int
		told    string
	}{
		{"all", 3, 3, nil, func(err error) bool { return err == nil }, []int{0, 1, 2}, "1/3 2/3 3/3"},
		{"none", 0, 0, nil, func(err error) bool { return err == nil }, nil, ""},
		{"the second fails", 4, 1, func(func()) error { return broken }, func(err error) bool { return err == broken }, []int{0, 1}, "1/4"},
		{"the second panics", 4, 1, func(func()) error { panic("out of range") }, func(err error) bool {
			var f *fault.Error
			return errors.As(err, &f) && f.Value == "out of range"
		}, []int{0, 1}, "1/4"},
		{"cancelled at the second", 4, 1, func(cancel func()) error { cancel(); return nil }, func(err error) bool { return errors.Is(err, context.Canceled) }, []int{0, 1}, "1/4 2/4"},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		var done []int
		var told []string
		r := &Request{Progress: func(done, total int) { told = append(told, fmt.Sprintf("%d/%d", done, total)) }}
		err := r.share(ctx, c.n, func() func(int) error {
			return func(i int) error {
				if done = append(done, i); i == c.stop {
					return c.how(cancel)
				}
				return nil
			}
		})
		cancel()
		if !c.want(err) || !slices.Equal(done, c.done) || strings.Join(told, " ") != c.told {
			t.Errorf("%s: %v, done %v, told %v", c.name, err, done, told)
		}
	}
}

// TestShareAmongWorkers: there are as many workers as processors or pieces, whichever is
// less, and of two pieces that fail the first is told, whichever fails first.
func TestShareAmongWorkers(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(2))
	for _, c := range []struct{ pieces, workers int32 }{{1, 1}, {2, 2}, {5, 2}} {
		var workers atomic.Int32
		if err := (&Request{}).share(context.Background(), int(c.pieces), func() func(int) error {
			workers.Add(1)
			return func(int) error { return nil }
		}); err != nil || workers.Load() != c.workers {
			t.Errorf("%d pieces: %d workers, %v", c.pieces, workers.Load(), err)
		}
	}
	for first := range 2 {
		var begun, failed [2]chan struct{}
		for i := range 2 {
			begun[i], failed[i] = make(chan struct{}), make(chan struct{})
		}
		err := (&Request{}).share(context.Background(), 2, func() func(int) error {
			return func(i int) error {
				close(begun[i])
				<-begun[1-i]
				if i != first {
					<-failed[first]
				}
				defer close(failed[i])
				return fmt.Errorf("piece %d", i)
			}
		})
		if err == nil || err.Error() != "piece 0" {
			t.Errorf("piece %d failed first: %v", first, err)
		}
	}
}

// TestStamped: what is signed is stamped, and what cannot be signed is not.
func TestStamped(t *testing.T) {
	broken := errors.New("the card was taken out")
	asked := 0
	stamp := func(cms []byte) ([]byte, error) { asked++; return append(cms, "-stamped"...), nil }
	got, err := stamped(func(d [32]byte) ([]byte, error) { return d[:2], nil }, stamp)([32]byte{'a', 'b'})
	if string(got) != "ab-stamped" || err != nil || asked != 1 {
		t.Errorf("%q, %v", got, err)
	}
	got, err = stamped(func([32]byte) ([]byte, error) { return []byte("half"), broken }, stamp)([32]byte{})
	if got != nil || err != broken || asked != 1 {
		t.Errorf("not signed: %q, %v, asked %d times", got, err, asked)
	}
}

// TestSampled: the press learns from papers spread over the schedule, the first among
// them.
func TestSampled(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	for links, want := range map[int]int{1: 1, sampled: sampled, 2 * sampled: sampled} {
		papers := 0
		set := sets(t, links, func(text string) ([][]bool, error) { papers++; return label.Encode(text) })(signer)
		if _, err := (&Request{Set: set, Signer: signer}).press(); err != nil || papers != want {
			t.Errorf("of %d links %d are drawn, want %d: %v", links, papers, want, err)
		}
	}
}

// TestPapersThatCannotBeMade: whichever paper cannot be made, that is said and nothing is
// left. Here no symbol can be encoded any more from the n-th on.
func TestPapersThatCannotBeMade(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	broken := errors.New("no symbol")
	symbols, most := 0, 0
	fresh := sets(t, 1, func(text string) ([][]bool, error) {
		if symbols++; symbols > most {
			return nil, broken
		}
		return label.Encode(text)
	})
	for _, run := range []struct {
		name string
		do   func(Request) error
	}{
		{"a revision", func(r Request) error { _, err := Write(context.Background(), r); return err }},
		{"a shard", func(r Request) error {
			n, err := Shard(context.Background(), r, 1, 1)
			if n != 1 && err == nil || n != 0 && err != nil {
				t.Errorf("a shard of %d papers, %v", n, err)
			}
			return err
		}},
	} {
		all := 0
		for most = 1000; most >= 0; most-- {
			dir := filepath.Join(t.TempDir(), "issued")
			symbols = 0
			err := run.do(Request{Folder: dir, Set: fresh(signer), Signer: signer, Holder: "a test", Bundle: true, on: &faulty{disk: local{}}})
			if most == 1000 {
				if all, most = symbols, symbols; err != nil || all == 0 {
					t.Fatalf("%s: %d symbols, %v", run.name, all, err)
				}
				continue
			}
			if left := contents(t, dir); !errors.Is(err, broken) || left != nil {
				t.Errorf("%s, after %d of %d symbols: %v, and %d files stay", run.name, most, all, err, len(left))
			}
		}
	}
}

// TestSpecimenIsMarked: papers that are no specimen are never written unsigned, and a
// specimen is of no revision but the first.
func TestSpecimenIsMarked(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	set := sets(t, 1, label.Encode)(signer)
	set.Revision = 7
	r := Request{Folder: filepath.Join(t.TempDir(), "issued"), Set: set, Holder: "a test"}
	func() {
		defer func() {
			if got := recover(); got != "issue: papers that are no specimen would be written unsigned" {
				t.Errorf("%v", got)
			}
		}()
		Specimen(context.Background(), r)
	}()
	if left := contents(t, r.Folder); left != nil {
		t.Errorf("%d files are there", len(left))
	}
	set.Specimen = true
	if _, err := Specimen(context.Background(), r); err != nil || set.Revision != 1 {
		t.Errorf("revision %d, %v", set.Revision, err)
	}
}

// TestNoBundleOfACancelledRun: when the papers are made and somebody cancels, no bundle is
// signed any more.
func TestNoBundleOfACancelledRun(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sets(t, 2, label.Encode)
	for _, c := range []struct {
		name   string
		max    int
		at     int64 // cancelled with the n-th signature after the papers; 0: before it
		signed int64 // after the papers
	}{{"before it is begun", 0, 0, 0}, {"after the whole, which is too large", 1, 1, 1}} {
		ctx, cancel := context.WithCancel(context.Background())
		var papers atomic.Bool // workers sign side by side
		var signed atomic.Int64
		r := Request{Folder: filepath.Join(t.TempDir(), "issued"), Set: fresh(signer), Signer: signer, Holder: "a test", Bundle: true, MaxSize: c.max, on: &faulty{disk: local{}}}
		r.Progress = func(done, total int) {
			if papers.Store(done == total); done == total && c.at == 0 {
				cancel()
			}
		}
		r.Stamp = func(cms []byte) ([]byte, error) {
			if papers.Load() && signed.Add(1) == c.at {
				cancel()
			}
			return cms, nil
		}
		if _, err := Write(ctx, r); !errors.Is(err, context.Canceled) || signed.Load() != c.signed {
			t.Errorf("%s: %v, %d signatures", c.name, err, signed.Load())
		}
		cancel()
	}
}

// TestSignature: a paper says who signs it, why and when, and has room for what is put there.
func TestSignature(t *testing.T) {
	signer := newSigner(t, "R. Lindqvist")
	set := sets(t, 1, label.Encode)(signer)
	r := &Request{Set: set, Signer: signer}
	press, err := r.press()
	if err != nil {
		t.Fatal(err)
	}
	plain := r.printer(press, nil).signature("a reason")
	if plain.Name != "R. Lindqvist" || plain.Reason != "a reason" || !plain.When.Equal(issued) || plain.Reserve != signer.MaxCMS() {
		t.Errorf("%+v", plain)
	}
	cms, err := plain.Sign([32]byte{1})
	if by, bad := seal.VerifyCMS(cms, [32]byte{1}); err != nil || bad != nil || by.KeyID != signer.KeyID() {
		t.Errorf("%+v, %v, %v", by, err, bad)
	}
	r.Stamp = func(cms []byte) ([]byte, error) { return append(cms, "-stamped"...), nil }
	with := r.printer(press, nil).signature("a reason")
	if cms, err := with.Sign([32]byte{1}); with.Reserve != signer.MaxCMS()+seal.MaxTimestamp || err != nil || !strings.HasSuffix(string(cms), "-stamped") {
		t.Errorf("room for %d bytes, %v", with.Reserve, err)
	}
	set.Specimen = true
	if p := (&Request{Set: set}).printer(press, nil); p.signature("a reason") != nil || p.reserve != 0 {
		t.Error("a specimen is signed")
	}
}

// TestFolderStays: when a run comes to nothing, a folder that it made goes, one that was
// there stays, and a link in its place is refused however it is written.
func TestFolderStays(t *testing.T) {
	signer := newSigner(t, "R. Lindqvist")
	fresh := sets(t, 1, label.Encode)
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	for name, run := range map[string]func(Request) error{
		"a revision": func(r Request) error { _, err := Write(cancelled, r); return err },
		"a shard":    func(r Request) error { _, err := Shard(cancelled, r, 1, 1); return err },
		"a specimen": func(r Request) error {
			r.Set.Specimen = true
			_, err := Specimen(cancelled, r)
			return err
		},
	} {
		dir := t.TempDir()
		link := filepath.Join(dir, "link")
		if err := os.Symlink(dir, link); err != nil {
			t.Fatal(err)
		}
		for _, there := range []bool{false, true} {
			issued := filepath.Join(dir, "issued")
			if there {
				if err := os.Mkdir(issued, 0o755); err != nil {
					t.Fatal(err)
				}
			}
			if err := run(Request{Folder: issued, Set: fresh(signer), Signer: signer, Holder: "a test"}); !errors.Is(err, context.Canceled) {
				t.Errorf("%s: %v", name, err)
			}
			if left := contents(t, issued); len(left) > 1 || (left != nil) != there {
				t.Errorf("%s: there %t, and then %v", name, there, left)
			}
		}
		var refused *LinkError
		if err := run(Request{Folder: link + string(filepath.Separator), Set: fresh(signer), Signer: signer, Holder: "a test"}); !errors.As(err, &refused) || refused.Path != link {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestPermissions: what is issued may be read by all and written by its owner, as far as the
// system lets him.
func TestPermissions(t *testing.T) {
	defer unix.Umask(unix.Umask(0))
	dir := t.TempDir()
	d := local{}
	f, err := d.create(filepath.Join(dir, "file"))
	if err != nil {
		t.Fatal(err)
	}
	f.Close()
	release, err := d.hold(filepath.Join(dir, "lock"), "a test")
	if err != nil {
		t.Fatal(err)
	}
	defer release()
	if err := errors.Join(d.mkdir(filepath.Join(dir, "folder")), d.mkdirAll(filepath.Join(dir, "all", "folders"))); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]fs.FileMode{"file": 0o644, "lock": 0o644, "folder": 0o755, "all": 0o755, "all/folders": 0o755} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Mode().Perm() != want {
			t.Errorf("%s: %v, %v, want %v", name, info.Mode(), err, want)
		}
	}
	if _, err := d.create(filepath.Join(dir, "file")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("a file that is there is made: %v", err)
	}
}
