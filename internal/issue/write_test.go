package issue_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/bulk"
	"spanseal/internal/certify"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/issue"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/load"
	"spanseal/internal/outside"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/templates"
)

var issuedOn = time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)

// office is a job of five links, of which one fails, and who signs for it.
type office struct {
	facts     *record.Facts
	signer    *seal.Signer
	overrides fs.FS // of templates
}

const links = 5

func newOffice(t *testing.T) *office {
	t.Helper()
	dir := t.TempDir()
	if err := bulk.Write(dir, links); err != nil {
		t.Fatal(err)
	}
	facts, problems := intake.Read(dir, intake.Options{})
	if problems.Errors() > 0 {
		t.Fatal("the job has problems")
	}
	o := &office{facts: facts, signer: newSigner(t, "R. Lindqvist")}
	o.fail(links - 1)
	return o
}

// fail makes a link lose far more than it may.
func (o *office) fail(link int) {
	for i := range o.facts.Readings {
		if r := &o.facts.Readings[i]; r.Link == o.facts.Links[link].ID && r.Quantity == record.InsertionLoss {
			r.Value = r.Value.Add(r.Value).Add(r.Value).Add(r.Value).Add(r.Value).Add(r.Value).Add(r.Value).Add(r.Value)
		}
	}
}

func newSigner(t *testing.T, name string) *seal.Signer {
	t.Helper()
	signer, err := seal.NewSigner(name, "Tidewater Fibre Works", issuedOn.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	return signer
}

// request asks for a revision of the job as it stands, signed by the office.
func (o *office) request(t *testing.T, folder string) issue.Request {
	return o.requestBy(t, folder, o.signer)
}

func (o *office) requestBy(t *testing.T, folder string, signer *seal.Signer) issue.Request {
	t.Helper()
	book, _ := load.BuiltIn()
	facts := *o.facts
	judged, problems := judge.Judge(&facts, book)
	if problems.Errors() > 0 {
		t.Fatal("the job cannot be judged")
	}
	set, problems := certify.NewSet(form.Writer{Facts: &facts, Judgement: judged, Issued: issuedOn, Book: book,
		Signer: form.Signatory{Name: "R. Lindqvist", Organisation: "Tidewater Fibre Works", KeyID: signer.KeyID().String(), Fingerprint: signer.Fingerprint()}},
		certify.Options{Templates: templates.Files, Overrides: o.overrides, Symbol: label.Encode, Sign: signer.SignToken})
	if problems.Errors() > 0 {
		t.Fatal("the set has problems")
	}
	return issue.Request{Folder: folder, Set: set, Signer: signer, Holder: "a test"}
}

// write issues a revision that has to succeed.
func write(t *testing.T, r issue.Request) *issue.Written {
	t.Helper()
	rev, err := issue.Write(context.Background(), r)
	if err != nil {
		t.Fatal(err)
	}
	return rev
}

// tree holds the files below a folder, by their paths with forward slashes.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) || err == nil && e.IsDir() {
			return nil
		}
		if err != nil {
			return err
		}
		data, err := os.ReadFile(path)
		rel, _ := filepath.Rel(dir, path)
		files[filepath.ToSlash(rel)] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// keptFile is a file that an instrument wrote.
func keptFile(name, data string) record.KeptFile {
	return record.KeptFile{Name: name, SHA256: sum(data), Size: int64(len(data)), Copy: func(to io.Writer) error {
		_, err := io.WriteString(to, data)
		return err
	}}
}

// replace adds to a link a reading that a later one replaced.
func (o *office) replace(link int) {
	is := func(r record.Reading) bool { return r.Link == o.facts.Links[link].ID }
	first := slices.IndexFunc(o.facts.Readings, is)
	last := first
	for last < len(o.facts.Readings) && is(o.facts.Readings[last]) {
		last++
	}
	old := o.facts.Readings[first]
	old.Fate = record.Superseded
	o.facts.Readings = slices.Insert(o.facts.Readings, last, old)
}

// sum is the SHA-256 of a text, worked out here.
func sum(text string) string {
	digest := sha256.Sum256([]byte(text))
	return hex.EncodeToString(digest[:])
}

// TestManifest: a revision holds what package issue promises and the manifest lists
// every other file by its size and SHA-256; the next one names the manifest before
// it. openssl, which knows nothing of us, verifies the signature (RFC 5652).
func TestManifest(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	o.facts.Kept = []record.KeptFile{keptFile("trace.sor", "trace")}
	o.replace(1)
	o.facts.Job.Trunks = []record.Trunk{{ID: "T-1", Fibres: 12, Method: "straight", Far: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}}
	for i := range 2 {
		o.facts.Links[i].Array = &record.Array{Trunk: "T-1", Position: i + 1}
	}
	r := o.request(t, folder)
	r.CheckPage = []byte("<p>check</p>")
	rev := write(t, r)
	if rev.WithoutWorkbook || rev.Number != 1 || rev.Dir != filepath.Join(folder, "r1") || rev.Certificates != links-1 || rev.Nonconformance != 1 || rev.Changes != nil || rev.Unflushed != nil {
		t.Errorf("%+v", rev)
	}
	files := tree(t, rev.Dir)
	want := []string{"certificates/L-000001.pdf", "certificates/L-000002.pdf", "certificates/L-000003.pdf", "certificates/L-000004.pdf", "check.html",
		"evidence/job.yaml", "evidence/links.csv", "evidence/readings/team-01.csv", "index.html", "labels.pdf", "manifest.json", "manifest.p7s",
		"nonconformance/L-000005.pdf", "originals/trace.sor", "results.csv", "results.json", "results.xlsx", "summary.pdf", "superseded/L-000002.pdf", "trunks/T-1.pdf"}
	if diff := cmp.Diff(want, slices.Sorted(maps.Keys(files))); diff != "" {
		t.Errorf("- want + got\n%s", diff)
	}
	for name, data := range files {
		if data == "" {
			t.Errorf("%s is empty", name)
		}
	}
	for _, original := range o.facts.Originals {
		if files["evidence/"+original.Name] != string(original.Data) {
			t.Errorf("evidence/%s is not the original", original.Name)
		}
	}
	var m struct {
		Job, Previous, Issued, Reason, Signer string
		Revision                              int
		Changes                               []json.RawMessage
		Files                                 []struct {
			Path, SHA256 string
			Size         int
		}
	}
	manifest, signature := files["manifest.json"], files["manifest.p7s"]
	if err := json.Unmarshal([]byte(manifest), &m); err != nil {
		t.Fatal(err)
	}
	for _, f := range m.Files {
		if data, ok := files[f.Path]; !ok || len(data) != f.Size || sum(data) != f.SHA256 {
			t.Errorf("%s: %d bytes, %s; the manifest says %d, %s", f.Path, len(data), sum(data), f.Size, f.SHA256)
		}
		delete(files, f.Path)
	}
	delete(files, "manifest.json")
	delete(files, "manifest.p7s")
	if len(files) > 0 || m.Job != o.facts.Job.Number || m.Revision != 1 || m.Previous != "" {
		t.Errorf("%d files are not listed; job %s, revision %d after %q", len(files), m.Job, m.Revision, m.Previous)
	}
	if m.Issued != "2026-11-25T16:00:00Z" || m.Reason != "" || m.Signer != o.signer.KeyID().String() {
		t.Errorf("issued %s by %s for %q", m.Issued, m.Signer, m.Reason)
	}
	if _, by, err := seal.VerifyManifest([]byte(manifest), []byte(signature)); err != nil || by.KeyID != o.signer.KeyID() {
		t.Errorf("signed by %v: %v", by, err)
	}
	openssl(t, filepath.Join(rev.Dir, "manifest.json"), filepath.Join(rev.Dir, "manifest.p7s"))

	o.facts.Job.Invoice = "2026-120"
	r = o.request(t, folder)
	r.Set.Reason, r.Set.Later = "another invoice", 3
	next := write(t, r)
	second := tree(t, next.Dir)
	if err := json.Unmarshal([]byte(second["manifest.json"]), &m); err != nil {
		t.Fatal(err)
	}
	if next.Number != 2 || m.Revision != 2 || m.Previous != sum(manifest) || m.Reason != "another invoice" {
		t.Errorf("revision %d follows %s, want %s", m.Revision, m.Previous, sum(manifest))
	}
	if len(next.Changes) != 1 || !strings.Contains(next.Changes[0].Text, "2026-120") || len(m.Changes) != 2 || !strings.Contains(string(m.Changes[0]), "2026-120") || !strings.Contains(string(m.Changes[1]), "Partial delivery: 3 links not measured yet") {
		t.Errorf("what changed: %v, in the manifest %s", next.Changes, m.Changes)
	}
}

// openssl verifies a detached CMS signature by the certificate inside it.
func openssl(t *testing.T, content, signature string) {
	t.Helper()
	t.Run("openssl", func(t *testing.T) {
		out, err := exec.Command(outside.Program(t, "openssl"), "cms", "-verify", "-binary", "-noverify", "-inform", "DER", "-in", signature, "-content", content, "-out", os.DevNull).CombinedOutput()
		if err != nil {
			t.Errorf("openssl: %v\n%s", err, out)
		}
	})
}

// TestProcessors: as many workers as there are processors make the same bytes as
// one, and progress is told in order, from one goroutine at a time.
func TestProcessors(t *testing.T) {
	o := newOffice(t)
	var all []map[string]string
	for _, processors := range []int{1, 4} {
		func() {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
			r := o.request(t, filepath.Join(t.TempDir(), "issued"))
			last, of := 0, 0
			r.Progress = func(done, total int) {
				if done != last+1 {
					t.Errorf("%d processors: %d documents after %d", processors, done, last)
				}
				last, of = done, total
			}
			all = append(all, tree(t, write(t, r).Dir))
			if last != of || of < links {
				t.Errorf("%d processors: the last of %d documents is %d", processors, of, last)
			}
		}()
	}
	if diff := cmp.Diff(all[0], all[1]); diff != "" {
		t.Error("one worker and four make other bytes")
	}
}

// TestNothing: whatever stops a run leaves the folder as it was, to the byte, or no
// folder where there was none; and the run after it succeeds.
func TestNothing(t *testing.T) {
	broken := errors.New("the authority does not answer")
	for _, c := range []struct {
		name string
		stop func(r *issue.Request, cancel func())
		want string // in the error
	}{
		{"cancelled before it begins", func(_ *issue.Request, cancel func()) { cancel() }, "context canceled"},
		{"cancelled among the papers", func(r *issue.Request, cancel func()) {
			r.Progress = func(done, _ int) {
				if done == 3 {
					cancel()
				}
			}
		}, "context canceled"},
		{"cancelled after the last paper", func(r *issue.Request, cancel func()) {
			r.Progress = func(done, total int) {
				if done == total {
					cancel()
				}
			}
		}, "context canceled"},
		{"cancelled with the last signature", func(r *issue.Request, cancel func()) {
			signatures := 0
			r.Stamp = func(cms []byte) ([]byte, error) {
				if signatures++; signatures == links+3 { // of the links, the summary and the labels before it
					cancel()
				}
				return cms, nil
			}
		}, "context canceled"},
		{"no time-stamp", func(r *issue.Request, _ func()) { r.Stamp = func([]byte) ([]byte, error) { return nil, broken } }, "summary.pdf: " + broken.Error()},
		{"an instrument's file that is another by now", func(r *issue.Request, _ func()) {
			r.Set.Facts.Kept = []record.KeptFile{{Name: "trace.sor", SHA256: sum(""), Copy: func(io.Writer) error { return broken }}}
		}, "trace.sor: " + broken.Error()},
		{"no time-stamp for the manifest", func(r *issue.Request, _ func()) {
			signatures := 0
			r.Stamp = func(cms []byte) ([]byte, error) {
				if signatures++; signatures == links+3 { // of the links, the summary and the labels before it
					return nil, broken
				}
				return cms, nil
			}
		}, broken.Error()},
		{"no time-stamp for the bundle", func(r *issue.Request, _ func()) {
			r.Bundle = true
			signatures := 0
			r.Stamp = func(cms []byte) ([]byte, error) {
				if signatures++; signatures == links+3 { // of the links, the summary and the labels before it
					return nil, broken
				}
				return cms, nil
			}
		}, "bundle: " + broken.Error()},
		{"a fault of the program", func(r *issue.Request, _ func()) {
			r.Stamp = func([]byte) ([]byte, error) { panic("index out of range") }
		}, "a fault of the program: index out of range"},
		{"no shards to join", func(r *issue.Request, _ func()) { r.Join = true }, "there are no shards to join"},
	} {
		t.Run(c.name, func(t *testing.T) {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // so that stamps are counted
			o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
			for _, revision := range []int{1, 2} {
				before := tree(t, folder)
				r := o.request(t, folder)
				ctx, cancel := context.WithCancel(context.Background())
				defer cancel()
				c.stop(&r, cancel)
				if rev, err := issue.Write(ctx, r); err == nil || !strings.HasPrefix(err.Error(), c.want) {
					t.Fatalf("revision %d: %+v, %v", revision, rev, err)
				}
				if !cmp.Equal(before, tree(t, folder)) {
					t.Errorf("revision %d: the folder is not as it was", revision)
				}
				if _, err := os.Stat(folder); revision == 1 && !errors.Is(err, fs.ErrNotExist) {
					t.Errorf("the folder stays behind: %v", err)
				}
				if n := write(t, o.request(t, folder)).Number; n != revision {
					t.Errorf("the next run writes revision %d", n)
				}
				o.facts.Job.Invoice += "-2" // there is something to issue
			}
		})
	}
}

// TestEarlier: a revision is built on an earlier one only if that is as it was
// issued, by a key that is known; what is refused writes nothing.
func TestEarlier(t *testing.T) {
	edit := func(name, old, new string) func(*testing.T, *office, string) {
		return func(t *testing.T, _ *office, r1 string) {
			path := filepath.Join(r1, name)
			data, err := os.ReadFile(path)
			if err != nil || !bytes.Contains(data, []byte(old)) {
				t.Fatalf("%s has no %q: %v", name, old, err)
			}
			replace(t, path, bytes.Replace(data, []byte(old), []byte(new), 1))
		}
	}
	first, earlier := newOffice(t), filepath.Join(t.TempDir(), "issued")
	write(t, first.request(t, earlier))
	for _, c := range []struct {
		name   string
		damage func(t *testing.T, o *office, r1 string)
		ask    func(t *testing.T, o *office, r *issue.Request)
		is     func(error) bool
		says   string // in the error; "" for none
	}{
		{name: "nothing new", is: is[*issue.UnchangedError], says: "nothing differs from r1"},
		{name: "nothing new, again", ask: func(_ *testing.T, _ *office, r *issue.Request) { r.Again = true }},
		{name: "nothing new but a bundle", ask: func(_ *testing.T, _ *office, r *issue.Request) { r.Bundle = true }},
		{name: "results edited", damage: edit("results.json", "spanseal-results", "spanseal-Results"), is: is[*issue.DamagedError], says: "results.json: it is not as it was issued"},
		{name: "manifest edited", damage: edit("manifest.json", "BL-2026-077", "BL-2026-078"), is: is[*issue.DamagedError], says: "manifest.json"},
		{name: "manifest gone", damage: func(t *testing.T, _ *office, r1 string) { remove(t, filepath.Join(r1, "manifest.json")) }, is: is[*issue.DamagedError], says: "manifest.json"},
		{name: "signature gone", damage: func(t *testing.T, _ *office, r1 string) { remove(t, filepath.Join(r1, "manifest.p7s")) }, is: is[*issue.DamagedError], says: "manifest.p7s"},
		{name: "signed results that are no JSON", damage: func(t *testing.T, o *office, r1 string) { signAnew(t, o, r1, "not JSON at all") }, says: "results.json: it is not an object"},
		{name: "signed results of a later form", damage: func(t *testing.T, o *office, r1 string) { signAnew(t, o, r1, `{"format":"spanseal-results/9"}`) }, says: `"spanseal-results/9" is not a form of results`},
		{name: "signed results whose pay items are none", damage: func(t *testing.T, o *office, r1 string) {
			signAnew(t, o, r1, `{"format":"spanseal-results/2","pay_items":5}`)
		}, says: "results.json: json: cannot unmarshal"},
		{name: "signed results of which a link cannot be read", damage: func(t *testing.T, o *office, r1 string) {
			signAnew(t, o, r1, `{"format":"spanseal-results/2","links":[{"link":"L-000001","verdict":"pass","readings":5}]}`)
		}, says: `results.json: link "L-000001": json: cannot unmarshal`},
		{name: "dated before it", ask: func(_ *testing.T, _ *office, r *issue.Request) { r.Set.Issued = issuedOn.AddDate(0, 0, -1) }, is: is[*issue.BackdatedError], says: "2026-11-24"},
		{name: "dated earlier on its day", ask: func(_ *testing.T, _ *office, r *issue.Request) {
			r.Set.Issued, r.Again = issuedOn.Add(-time.Hour), true
		}},
		{name: "dated later, on an earlier day where it is signed", ask: func(_ *testing.T, _ *office, r *issue.Request) {
			r.Set.Issued, r.Again = issuedOn.Add(3*time.Hour).In(time.FixedZone("", -23*60*60)), true
		}},
		{name: "another key", ask: func(t *testing.T, o *office, r *issue.Request) {
			*r = o.requestBy(t, r.Folder, newSigner(t, "S. Varga"))
		}, is: is[*issue.StrangerError], says: "R. Lindqvist"},
		{name: "another key, believed", ask: func(t *testing.T, o *office, r *issue.Request) {
			*r = o.requestBy(t, r.Folder, newSigner(t, "S. Varga"))
			r.Believes = func(path string, revision int, by *seal.SignedBy) bool {
				return revision == 1 && by.KeyID == o.signer.KeyID() && filepath.Base(path) == "manifest.json"
			}
		}},
		{name: "another job", ask: func(t *testing.T, o *office, r *issue.Request) {
			o.facts.Job.Number = "BL-2026-078"
			*r = o.request(t, r.Folder)
		}, is: is[*issue.OtherJobError], says: "BL-2026-078"},
		{name: "a file of readings changed", ask: func(t *testing.T, o *office, r *issue.Request) {
			for i := range o.facts.Originals {
				if f := &o.facts.Originals[i]; strings.HasPrefix(f.Name, "readings/") {
					f.Data = append(slices.Clone(f.Data), '\n')
					f.SHA256 = sum(string(f.Data))
				}
			}
			*r = o.request(t, r.Folder)
		}, is: is[*issue.ChangedReadingsError], says: "readings/team-01.csv: r1 used other rows of this file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
			o.signer = first.signer
			if err := os.CopyFS(folder, os.DirFS(earlier)); err != nil {
				t.Fatal(err)
			}
			r1 := filepath.Join(folder, "r1")
			if c.damage != nil {
				c.damage(t, o, r1)
			}
			before := tree(t, folder)
			r := o.request(t, folder)
			if c.ask != nil {
				c.ask(t, o, &r)
			}
			rev, err := issue.Write(context.Background(), r)
			if c.says == "" {
				if err != nil || rev.Number != 2 {
					t.Fatalf("%+v, %v", rev, err)
				}
				for name, data := range before {
					if after, err := os.ReadFile(filepath.Join(folder, filepath.FromSlash(name))); err != nil || string(after) != data {
						t.Errorf("%s of the first revision was touched: %v", name, err)
					}
				}
				return
			}
			if err == nil || c.is != nil && !c.is(err) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%T %v, want %q", err, err, c.says)
			}
			if !cmp.Equal(before, tree(t, folder)) {
				t.Error("the folder is not as it was")
			}
		})
	}
}

// is reports an error of a type.
func is[E error](err error) bool {
	var e E
	return errors.As(err, &e)
}

func remove(t *testing.T, path string) {
	t.Helper()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
}

func replace(t *testing.T, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// signAnew puts other results into a revision and signs it again with the office's
// own key: what no reader would refuse for its signature.
func signAnew(t *testing.T, o *office, dir, results string) {
	t.Helper()
	replace(t, filepath.Join(dir, "results.json"), []byte(results))
	data, err := os.ReadFile(filepath.Join(dir, "manifest.json"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := seal.ParseManifest(data)
	if err != nil {
		t.Fatal(err)
	}
	for i := range m.Files {
		if m.Files[i].Path == "results.json" {
			m.Files[i] = seal.NewManifestFile("results.json", []byte(results))
		}
	}
	data, signature, err := m.Sign(o.signer, issuedOn)
	if err != nil {
		t.Fatal(err)
	}
	replace(t, filepath.Join(dir, "manifest.json"), data)
	replace(t, filepath.Join(dir, "manifest.p7s"), signature)
}

// TestMaxSize: a bundle of exactly the size that was asked for is one file; of one
// byte more it is two, and a single paper that is larger all the same is told of.
func TestMaxSize(t *testing.T) {
	o := newOffice(t)
	bundle := func(most int) (parts []int, larger []string) {
		r := o.request(t, filepath.Join(t.TempDir(), "issued"))
		r.Bundle, r.MaxSize = true, most
		r.Larger = func(name string, _ int) { larger = append(larger, name) }
		files := tree(t, write(t, r).Dir)
		var names []string
		for name := range files {
			if strings.HasPrefix(name, "bundle") {
				names = append(names, name)
			}
		}
		slices.Sort(names)
		want := []string{"bundle.pdf"}
		if len(names) > 1 {
			want = nil
			for i := range names {
				want = append(want, fmt.Sprintf("bundle-%d-of-%d.pdf", i+1, len(names)))
			}
			slices.Sort(want)
		}
		if diff := cmp.Diff(want, names); diff != "" {
			t.Errorf("- want + got\n%s", diff)
		}
		for _, name := range names {
			parts = append(parts, len(files[name]))
		}
		return parts, larger
	}
	whole, larger := bundle(0)
	if len(whole) != 1 || larger != nil {
		t.Fatalf("parts of %v bytes, %v too large", whole, larger)
	}
	for _, c := range []struct {
		name       string
		most, want int
	}{{"exactly", whole[0], 1}, {"a byte less", whole[0] - 1, 2}} {
		if parts, larger := bundle(c.most); len(parts) != c.want || larger != nil {
			t.Errorf("%s: parts of %v bytes, %v too large; want %d of at most %d", c.name, parts, larger, c.want, c.most)
		}
	}
	// One byte holds no paper: each stands alone, and all are told of.
	parts, larger := bundle(1)
	if len(parts) != links+1 || len(larger) != links+1 {
		t.Fatalf("%d parts, %d too large, want %d", len(parts), len(larger), links+1)
	}
	// The largest paper alone, at exactly its size, is not too large.
	if _, larger := bundle(slices.Max(parts)); larger != nil {
		t.Errorf("of exactly the size of the largest paper: %v too large", larger)
	}
}

// TestShards: shares of the links, made one by one and joined, are the bytes of one
// run; without one of them nothing is joined.
func TestShards(t *testing.T) {
	o := newOffice(t)
	want := tree(t, write(t, o.request(t, filepath.Join(t.TempDir(), "issued"))).Dir)
	folder, papers := filepath.Join(t.TempDir(), "issued"), 0
	join := func() (*issue.Written, error) {
		r := o.request(t, folder)
		r.Join = true
		return issue.Write(context.Background(), r)
	}
	const shares = 3
	for i := range shares {
		n, err := issue.Shard(context.Background(), o.request(t, folder), i+1, shares)
		if err != nil {
			t.Fatal(err)
		}
		papers += n
		if i == shares-1 {
			break
		}
		var missing *issue.ShardError
		if _, err := join(); !errors.As(err, &missing) || missing.Index != i+2 || missing.Of != shares {
			t.Errorf("with %d of %d shares: %v", i+1, shares, err)
		}
	}
	rev, err := join()
	if err != nil {
		t.Fatal(err)
	}
	if papers != links || !cmp.Equal(want, tree(t, rev.Dir)) {
		t.Errorf("%d papers; the bytes are not those of one run", papers)
	}
	if left, err := filepath.Glob(filepath.Join(folder, ".r1*")); err != nil || left != nil {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// TestListOfAShard: the papers of a shard are listed by their paths, in whatever order they
// were made.
func TestListOfAShard(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	o.fail(0)
	if _, err := issue.Shard(context.Background(), o.request(t, folder), 1, 1); err != nil {
		t.Fatal(err)
	}
	var list struct{ Files []struct{ Path string } }
	if err := json.Unmarshal([]byte(tree(t, folder)[".r1-shards/1-of-1/shard.json"]), &list); err != nil {
		t.Fatal(err)
	}
	var paths []string
	for _, f := range list.Files {
		paths = append(paths, f.Path)
	}
	if len(paths) != links || !slices.IsSorted(paths) {
		t.Errorf("%q", paths)
	}
}

// TestTenShards: shards are joined by their numbers, not by the names of their folders.
func TestTenShards(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	for i := range 10 {
		if _, err := issue.Shard(context.Background(), o.request(t, folder), i+1, 10); err != nil {
			t.Fatal(err)
		}
	}
	r := o.request(t, folder)
	r.Join = true
	if rev := write(t, r); rev.Certificates != links-1 {
		t.Errorf("%+v", rev)
	}
}

// TestSpecimen: a specimen has neither signature nor manifest nor results, and
// replaces the one before.
func TestSpecimen(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		r := o.request(t, folder)
		r.Set.Specimen = true
		dir, err := issue.Specimen(context.Background(), r)
		if err != nil {
			t.Fatal(err)
		}
		files := tree(t, dir)
		for name, data := range files {
			if !strings.HasSuffix(name, ".pdf") || strings.Contains(data, "/ByteRange") {
				t.Errorf("%s is no unsigned paper", name)
			}
		}
		if len(files) < links+1 {
			t.Errorf("%d papers", len(files))
		}
	}
	if n, err := issue.Next(folder); n != 1 || err != nil {
		t.Errorf("revision %d is next: %v", n, err)
	}
}

// TestShardOfALaterRevision: a shard is refused where the revision would be.
func TestShardOfALaterRevision(t *testing.T) {
	o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
	write(t, o.request(t, folder))
	before := tree(t, folder)
	for _, c := range []struct {
		name string
		ask  func(r *issue.Request)
		is   func(error) bool
	}{
		{"nothing new", func(*issue.Request) {}, is[*issue.UnchangedError]},
		{"dated before it", func(r *issue.Request) { r.Set.Issued = issuedOn.AddDate(0, 0, -1) }, is[*issue.BackdatedError]},
	} {
		r := o.request(t, folder)
		c.ask(&r)
		if n, err := issue.Shard(context.Background(), r, 1, 1); n != 0 || err == nil || !c.is(err) {
			t.Errorf("%s: %d papers, %T %v", c.name, n, err, err)
		}
		if !cmp.Equal(before, tree(t, folder)) {
			t.Errorf("%s: the folder is not as it was", c.name)
		}
	}
}

// TestSignatureIsSeen: the signature of a certificate has its place on a page (ISO 32000-1,
// 12.7.4.5: one of no size is not seen).
func TestSignatureIsSeen(t *testing.T) {
	o := newOffice(t)
	rev := write(t, o.request(t, filepath.Join(t.TempDir(), "issued")))
	rect := regexp.MustCompile(`/Rect\s*\[([^\]]*)\]`)
	for name, data := range tree(t, rev.Dir) {
		if !strings.HasPrefix(name, "certificates/") {
			continue
		}
		i := strings.Index(data, "/Subtype/Widget")
		if i < 0 {
			t.Fatalf("%s has no field for its signature", name)
		}
		object := data[strings.LastIndex(data[:i], " obj"):]
		m := rect.FindStringSubmatch(object)
		if m == nil {
			t.Fatalf("%s: the field has no place", name)
		}
		var x, y, right, top float64
		if n, err := fmt.Sscan(m[1], &x, &y, &right, &top); n != 4 || err != nil || right-x < 20 || top-y < 5 {
			t.Errorf("%s: the signature is %s", name, m[1])
		}
	}
}

// TestLabelsOnTape: each label is a page as high as the tape (24 mm are 68.031 points), and all
// other papers are of their own size.
func TestLabelsOnTape(t *testing.T) {
	o := newOffice(t)
	o.overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte("stationery: tape\n")}}
	r := o.request(t, filepath.Join(t.TempDir(), "issued"))
	files := tree(t, write(t, r).Dir)
	box := regexp.MustCompile(`/MediaBox\s*\[\s*0\s+0\s+[0-9.]+\s+([0-9.]+)\s*\]`)
	for name, want := range map[string]string{"labels.pdf": "68.031", "summary.pdf": "841.890", "certificates/L-000001.pdf": "841.890"} {
		found := box.FindStringSubmatch(files[name])
		if found == nil || found[1] != want {
			t.Errorf("%s is on pages %s high, want %s", name, found, want)
		}
	}
}

// TestTermsThatRuleAStatementOut: a second revision for a period must say which statement
// was billed last.
func TestTermsThatRuleAStatementOut(t *testing.T) {
	for _, same := range []bool{false, true} { // the terms of the first revision
		o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
		if same {
			o.facts.Job.Pay.Period.To = record.DateOf(issuedOn)
		}
		write(t, o.request(t, folder))
		o.facts.Job.Pay.Period.To = record.DateOf(issuedOn)
		var terms *issue.TermsError
		if _, err := issue.Write(context.Background(), o.request(t, folder)); !errors.As(err, &terms) || terms.Code != "billed-unsaid" {
			t.Errorf("%v", err)
		}
	}
}

// TestBilled: job.yaml names the revision that was billed last by its number; one that
// was never issued, or whose results are not as they were, is refused.
func TestBilled(t *testing.T) {
	var signing *office
	for _, c := range []struct {
		name   string
		billed int
		damage func(r1 string)
		want   string // of the error
	}{
		{"none", 0, nil, ""},
		{"the first", 1, nil, ""},
		{"one that is still to come", 2, nil, "pay.billed names r2, and 1 were issued"},
		{"one whose results were edited", 1, func(r1 string) { replace(t, filepath.Join(r1, "results.json"), []byte("{}")) }, "results.json"},
		{"one whose results cannot be read", 1, func(r1 string) { signAnew(t, signing, r1, `{"format":"spanseal-results/2","pay_items":5}`) }, "results.json: json: cannot unmarshal"},
		{"one whose results are gone", 1, func(r1 string) { remove(t, filepath.Join(r1, "results.json")) }, "results.json"},
	} {
		o, folder := newOffice(t), filepath.Join(t.TempDir(), "issued")
		r1 := write(t, o.request(t, folder)).Dir
		if earlier, err := issue.Stated(folder, 1); err != nil || earlier != nil {
			t.Errorf("%s: r1 states %+v, %v", c.name, earlier, err)
		}
		if _, err := issue.Stated(folder, 2); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: r2 states something: %v", c.name, err)
		}
		if signing = o; c.damage != nil {
			c.damage(r1)
		}
		o.facts.Job.Pay.Billed, o.facts.Job.Invoice = &c.billed, "2026-121"
		_, err := issue.Write(context.Background(), o.request(t, folder))
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}
