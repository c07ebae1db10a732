package specimen_test

import (
	"io/fs"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/bulk"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/specimen"
	"spanseal/templates"
)

// TestForms: of a job of any size every link gets a verdict, those of the first three
// show every form of paper, and nothing of what was measured is left.
func TestForms(t *testing.T) {
	files, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	book, _ := limits.NewBook(files)
	day := time.Date(2026, time.November, 29, 12, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name        string
		links, want int
	}{{"fewer links than forms", 1, 3}, {"as many", 3, 3}, {"more", 7, 7}} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := bulk.Write(dir, c.links); err != nil {
				t.Fatal(err)
			}
			job, problems := intake.Read(dir, intake.Options{})
			if problems.Errors() > 0 {
				t.Fatal("the job has problems")
			}
			verdicts := func() (*record.Facts, []string) {
				facts := specimen.Facts(job, day)
				verdict := func() (out []string) {
					taken := *facts
					judged, problems := judge.Judge(&taken, book)
					if problems.Errors() > 0 {
						t.Fatal("the specimen cannot be judged")
					}
					for _, l := range judged.Results() {
						out = append(out, l.Verdict.String())
					}
					specimen.Forms(facts, judged)
					return out
				}
				verdict()
				return facts, verdict()
			}
			first, got := verdicts()
			want := append([]string{"pass", "marginal", "fail"}, slices.Repeat([]string{"pass"}, c.want-3)...)
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
			second, _ := verdicts()
			if len(first.Readings) == 0 || !slices.EqualFunc(first.Readings, second.Readings, func(a, b record.Reading) bool { return a.Value.Equal(b.Value) && a.Time.Equal(b.Time) }) {
				t.Error("another run invents other readings")
			}
			for _, r := range first.Readings {
				if slices.ContainsFunc(job.Readings, func(o record.Reading) bool { return o.Origin == r.Origin }) {
					t.Fatalf("link %s keeps what was measured", r.Link)
				}
			}
		})
	}
}
