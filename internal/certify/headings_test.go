package certify_test

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// below is what stands below each name of a section, on every page.
func below(r *page.Recorder) map[string]string {
	texts, name, in := map[string]string{}, "", 0
	for _, m := range r.Marks {
		if m.Kind != page.TextMark || m.In == 0 || r.Artifact(m) {
			continue
		}
		switch e := r.Elements[m.In-1]; e.Role {
		case page.Subheading:
			if m.In == in {
				name += " "
			} else {
				name = ""
			}
			name, in = name+m.Text, m.In
			texts[name] += ""
		default:
			if name != "" && e.Role == page.Figure && !strings.Contains(texts[name], e.Alt) {
				texts[name] += "Figure: " + e.Alt + "\n"
			}
			if name != "" {
				texts[name] += strings.ReplaceAll(m.Text, "\u00A0", " ") + "\n"
			}
		}
	}
	return texts
}

// promises is what must stand below a name, in English, if these words are in it.
var promises = map[string]*regexp.Regexp{
	`^Reflectance`:             regexp.MustCompile(`(?m)^Reflectance`),
	`^Length`:                  regexp.MustCompile(`(?m)^Length`),
	`^Return loss`:             regexp.MustCompile(`(?m)^Return loss`),
	`^Optical return loss`:     regexp.MustCompile(`(?mi)optical return loss`),
	`[Aa]pplications`:          regexp.MustCompile(`Meets the|Required`),
	`^Other measurements`:      regexp.MustCompile(`(?s)(Reflectance|Optical return loss|Return loss|Length|Splice).*\n(Expected optical|Reflectance|Optical return loss|Return loss|Length|Splice)`),
	`its limit`:                regexp.MustCompile(`(?m)^Figure: .*limit`),
	`^(Questions and d|D)evi`:  regexp.MustCompile(`one direction only|were due on`),
	`^Questions`:               regexp.MustCompile(`(?s)\?`),
	`First tests that did not`: regexp.MustCompile(`first measured`),
	`causes`:                   regexp.MustCompile(`.`),
}

// namesWhatFollows finds names of sections that promise what does not stand below
// them, and names with nothing below.
func namesWhatFollows(r *page.Recorder) (faults []string) {
	texts := below(r)
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		if strings.TrimSpace(texts[name]) == "" && !slices.Contains([]string{"Corrective action", "Pictures"}, name) {
			faults = append(faults, "nothing below "+name)
		}
		for words, want := range promises {
			if regexp.MustCompile(words).MatchString(name) && !want.MatchString(texts[name]) {
				faults = append(faults, "below "+name+" stands\n"+texts[name])
			}
		}
	}
	return faults
}

// TestNamesWhatFollows: the section of what else was measured is named for the
// quantities that are in it, in every language.
func TestNamesWhatFollows(t *testing.T) {
	add := func(f *record.Facts, q record.Quantity, value string) {
		for _, r := range slices.Clone(f.Readings) {
			if r.Quantity != record.InsertionLoss || r.WavelengthNM != 1310 {
				continue
			}
			if r.Quantity, r.Value = q, dec(value); q == record.Length {
				r.WavelengthNM = 0
			}
			f.Readings = append(f.Readings, r)
		}
	}
	for name, row := range map[string]struct {
		change func(*record.Facts)
		want   map[string]string
	}{
		"lengths":      {func(f *record.Facts) { add(f, record.Length, "312") }, map[string]string{"en": "Length", "es": "Longitud", "de": "Länge"}},
		"reflectances": {func(f *record.Facts) { add(f, record.Reflectance, "-58") }, map[string]string{"en": "Reflectance", "es": "Reflectancia", "de": "Reflexionsgrad"}},
		"both": {func(f *record.Facts) { add(f, record.Length, "312"); add(f, record.Reflectance, "-58") },
			map[string]string{"en": "Other measurements", "es": "Otras mediciones", "de": "Weitere Messungen"}},
	} {
		for language, want := range row.want {
			f := library()
			f.Job.Documents.Language = language
			row.change(f)
			set := newSet(t, f, options())
			l := set.Judgement.Result(0)
			d, err := set.Certificate(l)
			if err != nil {
				t.Fatal(err)
			}
			found := slices.Collect(maps.Keys(below(drawn(t, set.Paper(), d))))
			// The fixture's links carry no application.
			if !slices.ContainsFunc(found, func(s string) bool { return s == want || strings.HasPrefix(s, want+" ") }) {
				t.Errorf("%s, %s: no %q among %q", name, language, want, found)
			}
		}
	}
}
