package certify

import (
	"math"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/stationery"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// TestPlaces: two places, more where two would hide the verdict.
func TestPlaces(t *testing.T) {
	for name, c := range map[string]struct {
		measured, limit, u string
		want               int
	}{
		"far apart":                  {"0.94", "2.2248", "0.12", 2},
		"equal":                      {"2.22", "2.22", "", 2},
		"over by a little":           {"2.225", "2.2248", "", 4},
		"mean over its limit":        {"2.595", "2.2248", "", 3},
		"mean under its limit":       {"2.475", "2.53", "0.12", 3},
		"far apart, three digits":    {"0.943", "2.2248", "0.12", 2},
		"under by a hundredth":       {"2.21", "2.2248", "", 2},
		"margin just under U":        {"2.105", "2.2248", "0.12", 4},
		"rounds to the limit":        {"2.221", "2.2248", "", 3},
		"as close as no meter reads": {"2.22480001", "2.2248", "", 4},
	} {
		m, l := quantity.Must(c.measured), quantity.Must(c.limit)
		margin := l.Sub(m)
		f := judge.Finding{Measured: &m, Limit: &l, Margin: &margin}
		if c.u != "" {
			u := quantity.Must(c.u)
			f.Uncertainty = &u
		}
		if got := places(f); got != c.want {
			t.Errorf("%s: %d places, want %d", name, got, c.want)
		}
	}
}

// TestLocale: numbers and dates as each language writes them.
func TestLocale(t *testing.T) {
	problems := &diag.List{}
	day := record.NewDate(2026, 11, 18)
	for language, want := range map[string][]string{
		"en": {"1024", "−52.60", "10 234.5", "999", "18\u00A0Nov\u00A02026", "18\u00A0November\u00A02026", "18\u00A0Nov", "18 to 20\u00A0Nov\u00A02026", "30\u00A0Nov\u00A02026 to 1\u00A0Dec\u00A02026", "1 link", "2 links", "a, b and c"},
		"de": {"1024", "−52,60", "10 234,5", "999", "18.\u00A0Nov.\u00A02026", "18.\u00A0November\u00A02026", "18.\u00A0Nov.", "18. bis 20.\u00A0Nov.\u00A02026", "30.\u00A0Nov.\u00A02026 bis 1.\u00A0Dez.\u00A02026", "1 Strecke", "2 Strecken", "a, b und c"},
		"es": {"1024", "−52,60", "10 234,5", "999", "18\u00A0nov\u00A02026", "18\u00A0de\u00A0noviembre\u00A0de\u00A02026", "18\u00A0nov", "18 a 20\u00A0nov\u00A02026", "30\u00A0nov\u00A02026 a 1\u00A0dic\u00A02026", "1 enlace", "2 enlaces", "a, b y c"},
	} {
		w := wording.Load(templates.Files, nil, language, problems)
		if problems.Errors() > 0 {
			t.Fatal(problems.Sorted())
		}
		for i, got := range []string{w.Whole(1024), w.Fixed(quantity.Must("-52.6"), 2), w.Short(quantity.Must("10234.50")), w.Whole(999),
			w.Day(day), w.LongDay(day), w.ShortDay(day, day), w.Days(day, day.AddDays(2)), w.Days(day.AddDays(12), day.AddDays(13)),
			w.Count("links", 1), w.Count("links", 2), w.List([]string{"a", "b", "c"})} {
			if got != want[i] {
				t.Errorf("%s: %q, want %q", language, got, want[i])
			}
		}
	}
}

// TestFamilies: titles of one family stand together and none is lost.
func TestFamilies(t *testing.T) {
	for titles, want := range map[string]string{
		"": "",
		"10GBASE-LR|100GBASE-DR|100GBASE-LR4|25GBASE-ER|100GBASE-FR1":                               "10GBASE-LR|100GBASE-DR, LR4, FR1|25GBASE-ER",
		"400GBASE-LR4-6|400GBASE-LR8":                                                               "400GBASE-LR4-6, LR8",
		"1GFC, 1310 nm|16GFC, 1310 nm|1GFC, 850 nm":                                                 "1GFC, 16GFC\u00A0(1310\u00A0nm)|1GFC\u00A0(850\u00A0nm)",
		"GPON class B|GPON class B+|FDDI|XG-PON, XGS-PON and NG-PON2 class N1":                      "GPON class B, B+|FDDI|XG-PON, XGS-PON and NG-PON2 class N1",
		"10GBASE-PR10 and 10/1GBASE-PRX10|10GBASE-PR20 and 10/1GBASE-PRX20|FDDI single-mode fibre|": "10GBASE-PR10 and 10/1GBASE-PRX10|10GBASE-PR20 and 10/1GBASE-PRX20|FDDI single-mode fibre|",
	} {
		var all []string
		if titles != "" {
			all = strings.Split(titles, "|")
		}
		if got := strings.Join(families(all), "|"); got != want {
			t.Errorf("%q: %q, want %q", titles, got, want)
		}
	}
}

// TestRulers: steps of an axis are 1, 2 or 5 and never more than asked for.
func TestRulers(t *testing.T) {
	for top, want := range map[float64]float64{2.22: 0.5, 0.3: 0.05, 12: 2, 1: 0.2, 61.25: 10} {
		if got := layout.NiceStep(top, 8); got < want*0.999 || got > want*1.001 {
			t.Errorf("niceStep(%g) = %g, want %g", top, got, want)
		}
	}
}

// TestSymbols: in the rail every symbol is at least 25 mm wide with four quiet
// modules on each side (ISO/IEC 18004), each module a whole number of dots.
func TestSymbols(t *testing.T) {
	const box = 36.0               // documents/style.yaml
	for n := 45; n <= 89; n += 4 { // tokens make 49 and more
		side := stationery.OnDots(box*float64(n)/float64(n+8), n, math.Floor)
		module := side / float64(n)
		if dots := module / stationery.Dot; math.Abs(dots-math.Round(dots)) > 1e-9 {
			t.Errorf("%d modules: %.3f dots each", n, dots)
		}
		if quiet := (box - side) / 2 / module; side < 25 || quiet < 4-1e-9 {
			t.Errorf("%d modules: %.1f mm wide, %.2f modules quiet", n, side, quiet)
		}
	}
}
