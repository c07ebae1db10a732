package certify

import (
	"io/fs"

	"spanseal/internal/diag"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/stationery"
	"spanseal/internal/template"
)

// look is how the documents of a set are drawn, and which sections each has.
type look struct {
	*layout.Style
	certificate, nonconformance, summary, comparison []string
	labels                                           stationery.Labels
}

// certificateSections are the sections that a certificate may have; a template
// chooses and orders them. The other documents' stand beside them.
var (
	certificateSections    = []string{"link", "ladder", "readings", "terminations", "inspections", "reflectance", "method", "originals", "questions", "signatures", "small_print", "photos"}
	nonconformanceSections = []string{"wrong", "ladder", "causes", "readings", "terminations", "inspections", "corrective", "retest", "link", "reflectance", "method", "originals", "questions", "signatures", "small_print", "photos"}
	comparisonSections     = []string{"conclusion", "plot", "readings", "pattern", "questions", "conditions", "warranty", "claim", "signatures", "small_print"}
	summarySections        = []string{"counts", "open", "dots", "margins", "map", "statistics", "population", "questions", "first_tests", "links", "splices", "faces", "sets", "people", "instruments", "files", "warranty", "revisions", "small_print"}
)

// kept are the sections of each document that a template may move but not leave
// out: what was found, what is asked, how it was measured, against which limits,
// who signs, what changed since, and the cautions. A paper without them would be
// true and still deceive.
var kept = map[string][]string{
	"certificate":    {"readings", "method", "questions", "signatures", "small_print"},
	"nonconformance": {"wrong", "readings", "method", "questions", "signatures", "small_print"},
	"summary":        {"counts", "open", "population", "questions", "links", "sets", "people", "instruments", "revisions", "small_print"},
	"comparison":     {"conclusion", "readings", "questions", "conditions", "signatures", "small_print"},
}

func loadLook(base, over fs.FS, problems *diag.List) *look {
	l := &look{Style: layout.Load(base, over, problems)}
	sections := func(name string, known []string) []string {
		t := template.ReadValues(base, over, "documents/"+name+".yaml", problems)
		return t.Keeping("sections", t.Choice("sections", known), kept[name])
	}
	l.certificate = sections("certificate", certificateSections)
	l.nonconformance = sections("nonconformance", nonconformanceSections)
	l.summary = sections("summary", summarySections)
	l.comparison = sections("comparison", comparisonSections)
	return l
}

// setPaper chooses the sheet, by the name in job.yaml or else the template's,
// and what depends on it.
func (l *look) setPaper(name string, base, over fs.FS, problems *diag.List) page.PaperSize {
	p := l.PaperNamed(name)
	l.labels = stationery.Read(template.ReadValues(base, over, "documents/labels.yaml", problems), p)
	return p
}
