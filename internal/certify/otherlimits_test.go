package certify_test

import (
	"slices"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestOtherLimits: limits that are not the losses' own have clause, provenance,
// set and file in the small print; figures of low confidence are marked, whoever
// uses them; where two sets bind one quantity each limit says whose it is; a
// mean of both ways says that it is one.
func TestOtherLimits(t *testing.T) {
	for language, want := range map[string][]string{
		"en": {"allowed −60 dB* or lower", "allowed 5.500 dB* or lower", "allowed 0.3 dB or lower (ISO/IEC 11801-1, ANSI/TIA-568.3-E)", "(ANSI/TIA-568.3-E)", "S1, two-way mean 0.150 dB",
			"Other limits:", "reflectance [connecting hardware, return loss, recalled]", "set iso-11801-1-2017, SHA-256", "set 1000base-bx10, SHA-256", "* low confidence:"},
		"es": {"máximo −60 dB*", "máximo 5,500 dB*", "máximo 0,3 dB (ISO/IEC 11801-1, ANSI/TIA-568.3-E)", "(ANSI/TIA-568.3-E)", "S1, media de ambos sentidos 0,150 dB",
			"Otros límites:", "reflectancia [", "conjunto iso-11801-1-2017, SHA-256", "conjunto 1000base-bx10, SHA-256", "* de fiabilidad baja"},
	} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Policy.Limits = []string{"iso-11801-1-2017", "tia-568.3-e", "splice-city"}
		f.Job.Policy.Require.Reflectance = ""
		f.Links = slices.DeleteFunc(f.Links, func(l record.Link) bool { return l.ID != "A-01" })
		l := &f.Links[0]
		l.EndA.Polish, l.EndB.Polish, l.Applications = "APC", "APC", []string{"1000base-bx10"}
		f.Terminations = nil
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link != "A-01" })
		for _, r := range slices.Clone(f.Readings) {
			if r.WavelengthNM != 1310 || r.Quantity != record.InsertionLoss {
				continue
			}
			r.Quantity, r.Value = record.Reflectance, dec("-64")
			f.Readings = append(f.Readings, r)
			r.Quantity, r.Event, r.Value = record.SpliceLoss, "S1", dec("0.20") // 0.20 and 0.10 are 0.15
			if r.Direction == record.BA {
				r.Value = dec("0.10")
			}
			f.Readings = append(f.Readings, r)
		}
		set := setByBook(t, f)
		d, err := set.Certificate(set.Judgement.Result(0))
		if err != nil {
			t.Fatal(err)
		}
		r := drawn(t, page.A4, d)
		texts := strings.ReplaceAll(strings.Join(r.Texts(), " "), "\u00A0", " ")
		for _, s := range want {
			if !strings.Contains(texts, s) {
				t.Errorf("%s: %q stands nowhere in\n%s", language, s, texts)
			}
		}
	}
}
