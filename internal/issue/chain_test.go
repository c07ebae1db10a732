//go:build unix

package issue

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/label"
	"spanseal/internal/seal"
)

// resign writes the manifest of a revision anew, with other members, by a signer.
func resign(t *testing.T, by *seal.Signer, dir string, edit func(*seal.Manifest)) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, seal.ManifestName))
	if err != nil {
		t.Fatal(err)
	}
	m, err := seal.ParseManifest(data)
	if err != nil {
		t.Fatal(err)
	}
	edit(m)
	data, signature, err := m.Sign(by, issued)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.WriteFile(filepath.Join(dir, seal.ManifestName), data, 0o644), os.WriteFile(filepath.Join(dir, seal.ManifestSignature), signature, 0o644)); err != nil {
		t.Fatal(err)
	}
}

// TestChain: two revisions are read, with what a third repeats of them, and each way in
// which they are no chain is told by its place and its cause.
func TestChain(t *testing.T) {
	by := func(name string) *seal.Signer {
		signer, err := seal.NewSigner(name, "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
		if err != nil {
			t.Fatal(err)
		}
		return signer
	}
	office, other := by("R. Lindqvist"), by("S. Varga")
	fresh, base := sets(t, 1, label.Encode), filepath.Join(t.TempDir(), "issued")
	for _, reason := range []string{"", "a letter"} {
		r := Request{Folder: base, Set: fresh(office), Signer: office, Again: true, Holder: "a test", on: &faulty{disk: local{}}}
		r.Set.Reason = reason
		if _, err := Write(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
	again := func(n string, by *seal.Signer, edit func(*seal.Manifest)) func(*testing.T, string) {
		return func(t *testing.T, dir string) { resign(t, by, filepath.Join(dir, n), edit) }
	}
	nothing := func(*seal.Manifest) {}
	// both signs both anew, so that they are a chain all the same.
	both := func(first, second *seal.Signer) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			resign(t, first, filepath.Join(dir, "r1"), nothing)
			resign(t, second, filepath.Join(dir, "r2"), func(m *seal.Manifest) {
				data, err := os.ReadFile(filepath.Join(dir, "r1", seal.ManifestName))
				if err != nil {
					t.Fatal(err)
				}
				m.Previous = seal.NewManifestFile("", data).SHA256
			})
		}
	}
	long := func(name string, size int64) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			if err := os.Truncate(filepath.Join(dir, name), size); err != nil {
				t.Fatal(err)
			}
		}
	}
	do := func(do ...func(dir string) error) func(*testing.T, string) {
		return func(t *testing.T, dir string) {
			for _, do := range do {
				if err := do(dir); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	remove := func(name string) func(string) error {
		return func(dir string) error { return os.RemoveAll(filepath.Join(dir, name)) }
	}
	for _, c := range []struct {
		name     string
		damage   func(t *testing.T, dir string)
		believes []int  // revisions of others
		asked    []int  // about which revisions
		place    string // of what is damaged
		says     string // after the place; "" if it is read
	}{
		{name: "as they were"},
		{name: "the second is called the third", damage: do(func(dir string) error { return os.Rename(filepath.Join(dir, "r2"), filepath.Join(dir, "r3")) }),
			place: "r3/manifest.json", says: "this is revision 2, and the folder is named r3"},
		{name: "the first gone", damage: do(remove("r1")), place: "r2/manifest.json", says: "this is revision 2, and revision 1 is not there"},
		{name: "the first issued anew", damage: again("r1", office, func(m *seal.Manifest) { m.Reason = "another" }), place: "r2/manifest.json", says: "it does not follow the revision before it"},
		{name: "dated a day before the first", damage: again("r2", office, func(m *seal.Manifest) { m.Issued = "2026-11-24T16:00:00Z" }),
			place: "r2/manifest.json", says: "it is dated 2026-11-24, before the revision that it follows, 2026-11-25"},
		{name: "dated an hour before the first", damage: again("r2", office, func(m *seal.Manifest) { m.Issued = "2026-11-25T15:00:00Z" })},
		{name: "dated a day before the first where it is signed, and later all the same", damage: again("r2", office, func(m *seal.Manifest) { m.Issued = "2026-11-24T20:00:00-23:00" })},
		{name: "dated a day later", damage: again("r2", office, func(m *seal.Manifest) { m.Issued = "2026-11-26T16:00:00Z" })},
		{name: "of another job", damage: again("r2", office, func(m *seal.Manifest) { m.Job = "X-1" }), place: "r2/manifest.json", says: "a revision of the job X-1, and this is the job BL-2026-077"},
		{name: "the first of another job", damage: again("r1", office, func(m *seal.Manifest) { m.Job = "X-1" }), place: "r1/manifest.json", says: "a revision of the job X-1, and this is the job BL-2026-077"},
		{name: "changes as texts", damage: again("r2", office, func(m *seal.Manifest) { m.Changes = []json.RawMessage{[]byte(`"as earlier programs wrote"`)} })},
		{name: "changes that are none", damage: again("r2", office, func(m *seal.Manifest) { m.Changes = []json.RawMessage{[]byte(`7`)} }),
			place: "r2/manifest.json", says: "json: cannot unmarshal number into Go value of type struct"},
		{name: "a manifest gone", damage: do(remove("r2/manifest.json")), place: "r2/manifest.json", says: "no such file or directory"},
		{name: "a signature gone", damage: do(remove("r1/manifest.p7s")), place: "r1/manifest.p7s", says: "no such file or directory"},
		{name: "a signature of another", damage: do(remove("r1/manifest.p7s"), func(dir string) error {
			return os.Link(filepath.Join(dir, "r2", "manifest.p7s"), filepath.Join(dir, "r1", "manifest.p7s"))
		}), place: "r1/manifest.json", says: "the "},
		{name: "a manifest too long", damage: long("r1/manifest.json", 64<<20+1), place: "r1/manifest.json", says: "it has more than 67108864 bytes"},
		{name: "a signature too long", damage: long("r1/manifest.p7s", 256<<10+1), place: "r1/manifest.p7s", says: "it has more than 262144 bytes"},
		{name: "a signature as long as may be", damage: long("r1/manifest.p7s", 256<<10), place: "r1/manifest.json", says: "the signature is not a CMS message of ours"},
		{name: "results gone", damage: do(remove("r2/results.json")), place: "r2/results.json", says: "no such file or directory"},
		{name: "earlier results gone", damage: do(remove("r1/results.json"))},
		{name: "a file called r3", damage: do(func(dir string) error { return os.WriteFile(filepath.Join(dir, "r3"), nil, 0o644) }), place: "r3", says: "it is not a folder"},
		{name: "a link called r3", damage: do(func(dir string) error { return os.Symlink("r2", filepath.Join(dir, "r3")) }), place: "r3", says: "it is a symbolic link, and links are not followed"},
		{name: "the first by another, the second by us", damage: both(other, office)},
		{name: "the second by another", damage: both(office, other), asked: []int{2}, place: "r2/manifest.json", says: "signed by S. Varga with another key, "},
		{name: "the second by another whom somebody knows", damage: both(office, other), believes: []int{2}, asked: []int{2}},
		{name: "both by another", damage: both(other, other), believes: []int{2}, asked: []int{2, 1}, place: "r1/manifest.json", says: "signed by S. Varga with another key, "},
		{name: "both by another whom somebody knows", damage: both(other, other), believes: []int{1, 2}, asked: []int{2, 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(t.TempDir(), "issued")
			if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
				t.Fatal(err)
			}
			if c.damage != nil {
				c.damage(t, dir)
			}
			d := &faulty{disk: local{}}
			r := Request{Folder: dir, Set: fresh(office), Signer: office, on: d}
			var asked []int
			r.Believes = func(path string, revision int, by *seal.SignedBy) bool {
				if asked = append(asked, revision); path != filepath.Join(dir, seal.RevisionFolder(revision), seal.ManifestName) || by.KeyID != other.KeyID() {
					t.Errorf("asked about %s, by %s", path, by.KeyID)
				}
				return slices.Contains(c.believes, revision)
			}
			p, err := r.readPast()
			if n, bad := Next(dir); (n == 0) != (bad != nil) {
				t.Errorf("%d is next, %v", n, bad)
			}
			if d.open != 0 || !slices.Equal(asked, c.asked) {
				t.Errorf("%d files stay open, asked about %v", d.open, asked)
			}
			if c.says != "" {
				var damaged *DamagedError
				var link *LinkError
				var stranger *StrangerError
				var another *OtherJobError
				if err == nil || !strings.HasPrefix(err.Error(), filepath.Join(dir, c.place)+": "+c.says) || !errors.As(err, &damaged) && !errors.As(err, &link) && !errors.As(err, &stranger) && !errors.As(err, &another) {
					t.Errorf("%T %v", err, err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			data, err := os.ReadFile(filepath.Join(dir, "r2", seal.ManifestName))
			if err != nil {
				t.Fatal(err)
			}
			m, err := seal.ParseManifest(data)
			if err != nil {
				t.Fatal(err)
			}
			if p.next != 3 || p.manifest != seal.NewManifestFile("", data).SHA256 || p.path != filepath.Join(dir, "r2", "manifest.json") || p.results != filepath.Join(dir, "r2", "results.json") ||
				p.latest.Issued != m.Issued || p.issued.Format(time.RFC3339) != m.Issued || len(p.manifests) != 2 || p.manifests[0].Revision != 1 || p.manifests[1] != p.latest {
				t.Errorf("%+v", p)
			}
			second := "change.none"
			if c.name == "changes as texts" {
				second = "as earlier programs wrote"
			}
			want := []string{"1 2026-11-25:", "2 " + m.Issued[:10] + ": a letter " + second}
			var got []string
			for _, h := range p.history {
				line := fmt.Sprintf("%d %s:", h.Number, h.Issued)
				if h.Reason != "" {
					line += " " + h.Reason
				}
				for _, s := range h.Changes {
					line += " " + cmp.Or(s.Code, s.Text)
				}
				got = append(got, line)
			}
			if !slices.Equal(got, want) {
				t.Errorf("%q, want %q", got, want)
			}
		})
	}
	facts := fresh(office).Facts
	nothingOpen(t, func() {
		if n, err := Next(base); n != 3 || err != nil {
			t.Errorf("%d is next, %v", n, err)
		}
		if changes, err := ChangedReadings(base, facts); changes != nil || err != nil {
			t.Errorf("%v, %v", changes, err)
		}
		if n, err := Next(filepath.Join(base, "r1", "manifest.json")); n != 0 || err == nil || !strings.HasSuffix(err.Error(), "manifest.json: it is not a folder") {
			t.Errorf("in a file %d is next, %v", n, err)
		}
		if n, err := Next(t.TempDir()); n != 1 || err != nil {
			t.Errorf("in an empty folder %d is next, %v", n, err)
		}
	})
	r := Request{Folder: filepath.Join(t.TempDir(), "nowhere"), Set: fresh(office), Signer: office}
	if p, err := r.readPast(); err != nil || p.next != 1 || p.latest != nil || p.results != "" {
		t.Errorf("before there is anything: %+v, %v", p, err)
	}
	if err := os.WriteFile(r.Folder, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := r.readPast(); err == nil {
		t.Error("a file is read as a folder")
	}
}
