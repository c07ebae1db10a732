package certify_test

import (
	"slices"
	"testing"

	"spanseal/internal/record"
)

// TestNeverMeasured: the sheet of a link without readings says nothing that
// could be taken for a measurement, and a lone sentence has no head over it.
func TestNeverMeasured(t *testing.T) {
	for language, c := range map[string]struct{ want, never []string }{
		"en": {[]string{"How it is to be measured", "Measurement"}, []string{"How it was measured", "Measured again", "witness", "what"}},
		"es": {[]string{"Cómo se ha de medir", "Medición"}, []string{"Cómo se midió", "Medido de nuevo", "testigo", "qué"}},
	} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Witness = ""
		id := f.Links[0].ID
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link == id })
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link(id)
		d, err := set.Nonconformance(l)
		if err != nil {
			t.Fatal(err)
		}
		texts := drawn(t, set.Paper(), d).Texts()
		for _, want := range c.want {
			if !slices.Contains(texts, want) {
				t.Errorf("%s: %q is missing", language, want)
			}
		}
		for _, never := range c.never {
			if slices.Contains(texts, never) {
				t.Errorf("%s: says %q", language, never)
			}
		}
	}
}
