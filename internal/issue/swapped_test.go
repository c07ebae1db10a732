//go:build unix

package issue

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"spanseal/internal/label"
	"spanseal/internal/seal"
)

// swapping is a disk on which somebody adds to the results of the latest revision when
// a folder is opened the n-th time.
type swapping struct {
	local
	dir      string
	n, opens int
}

func (d *swapping) folder(path string) (folder, error) {
	if d.opens++; d.opens == d.n {
		f, err := os.OpenFile(filepath.Join(d.dir, "r1", resultsName), os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			return nil, err
		}
		if _, err := f.WriteString("\n"); err != nil {
			return nil, err
		}
		f.Close()
	}
	return d.local.folder(path)
}

// TestResultsThatChangeWhileTheyAreRead: the results of the revision before are held
// against its manifest before they are read and after, whenever somebody changes them.
func TestResultsThatChangeWhileTheyAreRead(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh := sets(t, 1, label.Encode)
	second := func(n int) (err error) {
		d := &swapping{dir: t.TempDir()}
		for _, d.n = range []int{0, n} {
			set := fresh(signer)
			set.Reason = "a test"
			d.opens = 0
			_, err = Write(context.Background(), Request{Folder: d.dir, Set: set, Signer: signer, Again: true, Holder: "a test", on: d})
		}
		return err
	}
	if err := second(0); err != nil {
		t.Fatal(err)
	}
	const afterReading = 4 // for the fourth time the folder is opened to look once more; what comes later reads no results
	for n := range afterReading {
		var damaged *DamagedError
		if err := second(n + 1); !errors.As(err, &damaged) {
			t.Errorf("changed before a folder was opened for the %d. time: %v", n+1, err)
		}
	}
}

// stuck is a disk on which a folder cannot be removed.
type stuck struct {
	local
	path string
}

func (d stuck) removeAll(path string) error {
	if path == d.path {
		return &os.PathError{Op: "remove", Path: path, Err: os.ErrPermission}
	}
	return d.local.removeAll(path)
}

// TestSpecimenThatCannotBeReplaced: it is said why the earlier specimen stands.
func TestSpecimenThatCannotBeReplaced(t *testing.T) {
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	fresh, dir := sets(t, 1, label.Encode), t.TempDir()
	for _, on := range []disk{local{}, stuck{path: filepath.Join(dir, specimenFolder)}} {
		set := fresh(signer)
		set.Specimen = true
		_, err := Specimen(context.Background(), Request{Folder: dir, Set: set, Holder: "a test", on: on})
		if _, fails := on.(stuck); errors.Is(err, os.ErrPermission) != fails || err != nil && !fails {
			t.Errorf("%T: %v", on, err)
		}
	}
}
