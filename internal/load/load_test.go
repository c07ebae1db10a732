package load_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/templates"
)

// demo is the job of the demonstration, in a folder of its own.
func demo(t *testing.T) string {
	t.Helper()
	files, err := fs.Sub(templates.Files, "demo")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, files); err != nil {
		t.Fatal(err)
	}
	return dir
}

var after = time.Date(2030, time.January, 1, 12, 0, 0, 0, time.UTC) // all that the demonstration tells of

// TestEvidence: whatever a result rests on is kept with what was read, the limit
// sets that come with the program and the job's own wording too.
func TestEvidence(t *testing.T) {
	dir := demo(t)
	if err := os.Mkdir(filepath.Join(dir, "wording"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "wording", "en.yaml"), []byte("{}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	j, err := load.Read(dir, after, intake.Options{})
	if err != nil || j.Judged == nil || j.Problems.Errors() > 0 {
		t.Fatalf("%v, %v", err, j.Problems)
	}
	if _, problems := j.Papers(form.Writer{Issued: after}, certify.Options{}); problems.Errors() > 0 {
		t.Fatalf("%v", problems)
	}
	kept := map[string]bool{}
	for _, o := range j.Facts.Originals {
		kept[o.Name] = true
	}
	for _, set := range j.Judged.Sets {
		if name := "limits/" + set.ID + ".yaml"; !kept[name] {
			t.Errorf("%s is not kept", name)
		}
	}
	for _, name := range []string{"job.yaml", "wording/en.yaml"} {
		if !kept[name] {
			t.Errorf("%s is not kept", name)
		}
	}
}

// TestProblems: what keeps a job from being judged is a problem at its place, and
// the judgement is missing.
func TestProblems(t *testing.T) {
	for _, test := range []struct {
		name, code string
		change     func(dir string, j *load.JudgedJob) error
	}{
		{"a link where wording should be", "symbolic-link", func(dir string, _ *load.JudgedJob) error {
			return os.Symlink(t.TempDir(), filepath.Join(dir, "wording"))
		}},
		{"a limit set that is not there", "no-limit-set", func(_ string, j *load.JudgedJob) error {
			j.Facts.Job.Policy.Limits = append(j.Facts.Job.Policy.Limits, "agreed.yaml")
			return j.Judge()
		}},
		{"a question that is none", "unknown-question", func(_ string, j *load.JudgedJob) error {
			j.Facts.Job.Policy.Questions = map[string]record.Question{"weather": {}}
			return j.Judge()
		}},
		{"a reading of tomorrow", "reading-after-now", func(_ string, j *load.JudgedJob) error {
			j.Problems.Join(j.ReadAfter(j.Latest.Time.Add(-time.Hour)))
			return nil
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := demo(t)
			j, err := load.Read(dir, after, intake.Options{})
			if err != nil || j.Problems.Errors() > 0 {
				t.Fatalf("%v, %v", err, j.Problems)
			}
			if err := test.change(dir, j); err != nil {
				t.Fatal(err)
			}
			if j.Rehearse(); j.Problems.Errors() == 0 {
				t.Fatal("no problem")
			}
			var codes []string
			for _, p := range j.Problems.Sorted() {
				codes = append(codes, p.Code)
			}
			if !slices.Contains(codes, test.code) {
				t.Errorf("problems %q, want %s", codes, test.code)
			}
		})
	}
}
