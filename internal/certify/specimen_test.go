package certify_test

import (
	"slices"
	"strings"
	"testing"

	"spanseal/internal/certify"
	"spanseal/internal/evidence"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/specimen"
)

// specimenOf is a specimen of a job, with every form of its papers.
func specimenOf(t *testing.T, job *record.Facts) *certify.PaperSet {
	t.Helper()
	o := options()
	o.Specimen = true
	f := specimen.Facts(job, o.Issued)
	f.Job.Policy.Questions = map[string]record.Question{}
	for _, c := range evidence.Checks() {
		f.Job.Policy.Questions[c.Code] = record.Question{Weight: string(evidence.Off)}
	}
	specimen.Forms(f, judged(t, f))
	return newSet(t, f, o)
}

// TestSpecimenShowsEveryForm: whoever approves a specimen sees each paper and
// each section that the job may bring, and no verdict that could be taken for one.
func TestSpecimenShowsEveryForm(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	splicer := record.Instrument{ID: "FS-1", Kind: "fusion splicer", Serial: "7714"}
	expired := record.Instrument{ID: "PM-3", Kind: "power meter", Serial: "20914", Calibrated: record.NewDate(2025, 10, 30), Due: record.NewDate(2026, 10, 30), Uncertainty: ptr("0.12")}
	for name, change := range map[string]func(*record.Facts){
		"library": func(*record.Facts) {},
		"one link": func(f *record.Facts) {
			f.Links = f.Links[:1]
		},
		"no meter": func(f *record.Facts) { f.Job.Instruments = nil },
		"guarded": func(f *record.Facts) {
			f.Job.Policy.Decision, f.Job.Policy.Marginal = "guarded", ptr("0.30")
		},
	} {
		t.Run(name, func(t *testing.T) {
			f := library()
			change(f)
			f.Job.Instruments = append(append([]record.Instrument{expired}, f.Job.Instruments...), splicer)
			if name == "no meter" {
				f.Job.Instruments = []record.Instrument{splicer}
			}
			set := specimenOf(t, f)
			for _, r := range set.Facts.Readings {
				if r.Instrument == "FS-1" || r.Instrument == "PM-3" {
					t.Fatalf("%s took a reading", r.Instrument)
				}
			}
			c := set.Judgement.Counts
			if c.Marginal != 1 || c.Failed != 1 || c.Incomplete != 0 || c.Certified < 2 {
				t.Errorf("counts %+v, want one marginal and one that fails", c)
			}
			first := set.Judgement.Result(0)
			for _, d := range papers(t, set) {
				r := drawn(t, set.Paper(), d)
				text := strings.Join(r.Texts(), "\n")
				if !strings.Contains(d.Title, "SPECIMEN") {
					t.Errorf("%s is titled %q", d.Path, d.Title)
				}
				if strings.Contains(text, set.Facts.Job.Number+"/") {
					t.Errorf("%s has the number of a certificate", d.Path)
				}
				if d.Path != "labels.pdf" && !slices.ContainsFunc(r.Marks, func(m page.Mark) bool {
					return m.Kind == page.TextMark && m.Text == "SPECIMEN" && m.Box.X < 42 && m.Box.Y < 42
				}) {
					t.Errorf("%s: the verdict block does not say SPECIMEN", d.Path)
				}
				if d.Path != set.PathOf(first) {
					continue
				}
				for _, want := range []string{"±U", "Terminations", "spliced-on connector", "Reflectance", "Pictures", "end A", "end B"} {
					if !strings.Contains(text, want) {
						t.Errorf("%s does not show %q", d.Path, want)
					}
				}
			}
		})
	}
}
