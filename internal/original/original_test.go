package original

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/record"
)

// TestPatterns holds what the names of files say by a pattern.
func TestPatterns(t *testing.T) {
	for _, c := range []struct{ pattern, name, want string }{
		{"traces/{link}_{nm}_{way}.*", "traces/A-11_1310_AB.sor", "A-11 1310 A-B"},
		{"traces/{link}_{nm}_{way}.*", "traces/A-11_1310_b-a.SOR", "A-11 1310 B-A"},
		{"traces/{link}_{nm}_{way}.*", "traces/A-11_1310.sor", ""},
		{"traces/{link}_{nm}_{way}.*", "traces/day1/A-11_1310_AB.sor", ""},
		{"traces/{link}_{nm}_{way}.*", "traces/A_11_1310_AB.sor", "A_11 1310 A-B"},
		{"traces/{link}_{stage}.x", "traces/A-11_reel.x", "A-11 0 reel"},
		{"traces/{link}_{stage}.x", "traces/A-11_rail.x", ""},
		{"traces/*/{link}.bin", "traces/day 1/A-11.bin", "A-11 0 "},
		{"t/{nm}nm/{way}/{link}.x", "t/1550nm/BA/A.x", "A 1550 B-A"},
		{"t/{link}_*", "t/A_1_2", "A_1 0 , A 0 "},
		{"t/{link}_{nm}.x", "t/A_999.x", "A 999 "},
		{"t/{link}_{nm}.x", "t/A_100.x", ""},
		{"t/{link}.(x)", "t/A.(x)", "A 0 "},
		{"t/{link}.x", "t/.x", ""},
	} {
		p, err := Parse(c.pattern)
		if err != nil {
			t.Fatal(c.pattern, err)
		}
		var got []string
		for _, tie := range p.Read(c.name) {
			got = append(got, fmt.Sprint(tie.Link, " ", tie.WavelengthNM, " ", tie.Direction, tie.Stage))
		}
		if got := strings.Join(got, ", "); got != c.want {
			t.Errorf("%s of %s: %q, want %q", c.name, c.pattern, got, c.want)
		}
	}
	for _, bad := range []string{"", "{link}.sor", "traces/", "traces/x.sor", "traces/{link}_{link}", "traces/{lnik}.sor", "tr*/{link}", "../{link}", "/t/{link}", "t/../{link}", `t\{link}`, "t/{link}}", "t/{link",
		"readings/{link}.csv", "issued/r1/{link}", ".git/{link}", "t/{nm}/{nm}/{link}", "t//{link}", "t/{}{link}"} {
		if p, err := Parse(bad); err == nil {
			t.Errorf("%q passes: %v", bad, p)
		}
	}
}

// TestRefused: what is no instrument's file is not handed over, a key least of all.
func TestRefused(t *testing.T) {
	for name, refused := range map[string]bool{
		"traces/a.sor": false, "readings/a.csv": false, "traces/a..b": false,
		"signer.p12": true, "keys/office.p12": true, "keys/office.PEM": true, "keys/secret": true, "pay.yaml": true, "../a/b": true, "/etc/passwd": true, `traces\a`: true, "issued/r1/a.pdf": true, "a//b": true, "": true,
	} {
		if why := Refused(name, "keys/secret"); (why != "") != refused {
			t.Errorf("%q: %q", name, why)
		}
	}
}

// TestLacking: a file is of what it names, and of all that it does not name.
func TestLacking(t *testing.T) {
	loss := func(nm int, way record.Direction) record.Reading {
		return record.Reading{Link: "A", Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way}
	}
	readings := []record.Reading{loss(1310, record.AB), loss(1310, record.BA), loss(1550, record.AB), {Link: "A", Quantity: record.Length}}
	for _, c := range []struct {
		name  string
		files []record.InstrumentFile
		want  int
	}{
		{"none", nil, 3},
		{"of all", []record.InstrumentFile{{Link: "A"}}, 0},
		{"of another link", []record.InstrumentFile{{Link: "B"}}, 3},
		{"of a wavelength", []record.InstrumentFile{{Link: "A", WavelengthNM: 1310}}, 1},
		{"of a direction", []record.InstrumentFile{{Link: "A", Direction: record.AB}}, 1},
		{"of the stage", []record.InstrumentFile{{Link: "A", Stage: record.Final}}, 0},
		{"of another stage", []record.InstrumentFile{{Link: "A", Stage: record.OnReel}}, 3},
		{"of both", []record.InstrumentFile{{Link: "A", WavelengthNM: 1310, Direction: record.BA}}, 2},
	} {
		if subjects, without := Lacking(readings, c.files, record.Final); len(subjects) != c.want || len(without) != c.want {
			t.Errorf("%s: %v", c.name, subjects)
		}
	}
}

// FuzzPattern reads any pattern and any name.
func FuzzPattern(f *testing.F) {
	f.Add("traces/{link}_{nm}_{way}.*", "traces/A-11_1310_AB.sor")
	f.Add("t/{link}_*", "t/_")
	f.Add("t/{link}\xcd", "t/a")
	f.Fuzz(func(t *testing.T, pattern, name string) {
		p, err := Parse(pattern)
		if err != nil {
			return
		}
		for _, tie := range p.Read(name) {
			if tie.Link == "" || strings.Contains(tie.Link, "/") || !strings.HasPrefix(name, p.Folder+"/") {
				t.Errorf("%q of %q: %+v", name, pattern, tie)
			}
		}
	})
}
