package issue_test

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/issue"
	"spanseal/internal/record"
)

// TestChangedReadings: what job.yaml does not declare is named with its first row, what
// is the same under another name is not, and a damaged revision is no ground to stand on.
func TestChangedReadings(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	if changes, err := issue.ChangedReadings(folder, o.facts); err != nil || changes != nil {
		t.Fatalf("before anything is issued: %v, %v", changes, err)
	}
	if _, err := issue.Write(context.Background(), o.request(t, folder)); err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(o.facts.Originals, func(f record.Original) bool { return strings.HasPrefix(f.Name, "readings/") })
	for _, c := range []struct {
		name   string
		change func(f *record.Original)
		row    int
		what   string
	}{
		{"nothing", func(*record.Original) {}, 0, ""},
		{"another name", func(f *record.Original) { f.Name = "readings/other.csv" }, 0, ""},
		{"the third row", func(f *record.Original) {
			rows := strings.SplitAfter(string(f.Data), "\n")
			rows[2] = strings.ToUpper(rows[2][:1]) + "x" + rows[2][1:]
			f.Data, f.SHA256 = []byte(strings.Join(rows, "")), "another"
		}, 3, "r1 used other rows of this file: row 3 differs"},
		{"all of it", func(f *record.Original) { f.Name, f.SHA256 = "readings/other.csv", "another" }, 0, "r1 used this file, but it is gone"},
	} {
		facts := *o.facts
		facts.Originals = slices.Clone(facts.Originals)
		c.change(&facts.Originals[at])
		changes, err := issue.ChangedReadings(folder, &facts)
		switch {
		case err != nil || len(changes) != min(len(c.what), 1):
			t.Errorf("%s: %v, %v", c.name, changes, err)
		case c.what != "" && (changes[0].Row != c.row || changes[0].What != c.what || changes[0].Name != o.facts.Originals[at].Name || changes[0].Revision != 1):
			t.Errorf("%s: %+v", c.name, changes[0])
		}
	}
	manifest := filepath.Join(folder, "r1", "manifest.json")
	if err := os.WriteFile(manifest, []byte("{}"), 0o644); err != nil {
		t.Fatal(err)
	}
	var damaged *issue.DamagedError
	if _, err := issue.ChangedReadings(folder, o.facts); !errors.As(err, &damaged) || damaged.Path != manifest {
		t.Errorf("damaged: %v", err)
	}
	remove(t, manifest)
	if _, err := issue.ChangedReadings(folder, o.facts); !errors.As(err, &damaged) || damaged.Path != manifest || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("gone: %v", err)
	}
	if err := os.Symlink("r1", filepath.Join(folder, "r2")); err != nil {
		t.Fatal(err)
	}
	var link *issue.LinkError
	if _, err := issue.ChangedReadings(folder, o.facts); !errors.As(err, &link) || link.Path != filepath.Join(folder, "r2") {
		t.Errorf("a link: %v", err)
	}
}

// TestNextFollowsNoLink: a link in the place of the folder is refused, and one that is
// not there is empty.
func TestNextFollowsNoLink(t *testing.T) {
	dir := t.TempDir()
	real, link := filepath.Join(dir, "real"), filepath.Join(dir, "issued")
	if n, err := issue.Next(link); n != 1 || err != nil {
		t.Errorf("%d, %v", n, err)
	}
	if err := os.Mkdir(real, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(real, link); err != nil {
		if runtime.GOOS == "windows" {
			return // only an administrator may make one there
		}
		t.Fatal(err)
	}
	var to *issue.LinkError
	if n, err := issue.Next(link); n != 0 || !errors.As(err, &to) || to.Path != link {
		t.Errorf("%d, %v", n, err)
	}
}

// TestErrorsSay: what each error says, with the place first where it has one.
func TestErrorsSay(t *testing.T) {
	day := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	why := errors.New("no room")
	for _, c := range []struct {
		err  error
		want string
	}{
		{&issue.DamagedError{Path: "r1/manifest.json", Err: why}, "r1/manifest.json: no room"},
		{&issue.OtherJobError{Path: "r1/manifest.json", Job: "A", Now: "B"}, "r1/manifest.json: a revision of the job A, and this is the job B"},
		{&issue.BackdatedError{Path: "r1/manifest.json", Before: day, At: day.AddDate(0, 0, -1)}, "r1/manifest.json: issued 2026-11-25, and this revision would be dated 2026-11-24"},
		{&issue.UnchangedError{Path: "r1/manifest.json", Revision: 1}, "r1/manifest.json: nothing differs from r1: the same inputs, results and signer"},
		{&issue.BilledError{Billed: 3, Issued: 2}, "pay.billed names r3, and 2 were issued"},
		{&issue.TermsError{Code: "rate-changed", Message: "the rate is another"}, "pay: the rate is another [rate-changed]"},
		{&issue.LinkError{Path: "issued", Err: why}, "issued: no room"},
		{&issue.UnflushedError{Dir: "issued", Err: why}, "issued: no room"},
		{&issue.BusyError{Holder: "process 4711"}, "another run is issuing this job: process 4711"},
		{&issue.BusyError{}, "another run is issuing this job"},
		{&issue.ShardError{Index: 1, Of: 2, Problem: "share 1 is not there"}, "share 1 is not there"},
		{&issue.ChangedReadingsError{Changes: []issue.ReadingsChange{{Name: "a.csv", What: "it is gone"}, {Name: "b.csv", What: "row 2 differs"}}}, "a.csv: it is gone; b.csv: row 2 differs"},
	} {
		if got := c.err.Error(); got != c.want {
			t.Errorf("%T: %q, want %q", c.err, got, c.want)
		}
	}
}
