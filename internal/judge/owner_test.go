package judge_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

const ownersFile = `id: port-ansel
title: Cabling specification 3.4
owner: Port Ansel Council
edition: "2026"
extends: tia-568.3-e
provenance: read
clause: "3.4"
values:
  mated_pair: 0.3 dB
  cable: 0.35 dB/km
limits:
  - {id: short-link, quantity: insertion_loss, replaces: link-loss, where: {length_m: 0-100}, at_most: 2.0 dB}
`

// TestOwner: an owner's own figures are a small file that extends a set, and
// are named as the owner's. The tightest limit decides, and one that replaces
// another stands alone.
func TestOwner(t *testing.T) {
	book := own(t, "limits/port-ansel.yaml", ownersFile)
	f := clean()
	f.Job.Policy.Limits = []string{"tia-568.3-e", "limits/port-ansel.yaml"} // by its path
	for _, c := range []struct {
		cords  record.TestCords
		length string
		want   []string // limits of 1310 nm A-B: of the standard, of the owner
	}{
		{record.StandardCords, "1000", []string{"2.50", "1.55"}},
		{record.ReferenceCords, "1000", []string{"2.00", "1.55"}}, // 0.3 dB holds for end connections as well
		{record.StandardCords, "100", []string{"2.14", "2.0"}},
	} {
		f.Job.Policy.TestCords, f.Links[0].Length = c.cords, dec(c.length)
		j := judged(t, f, book)
		var got []string
		for _, x := range j.Result(0).Findings {
			if x.WavelengthNM == 1310 && x.Direction == record.AB {
				got = append(got, x.Limit.String())
			}
		}
		for i, w := range c.want {
			if i >= len(got) || !dec(w).Equal(dec(got[i])) {
				t.Errorf("%s cords, %s m: limits %v, want %v", c.cords, c.length, got, c.want)
				break
			}
		}
		for _, s := range j.Sets {
			if s.Owner != (s.ID == "port-ansel") || s.BuiltIn != (s.ID == "tia-568.3-e") {
				t.Errorf("%+v", s)
			}
			if s.ID == "port-ansel" && (s.Standard != "Port Ansel Council" || s.File != "limits/port-ansel.yaml") {
				t.Errorf("%+v", s)
			}
		}
	}
}

// TestInherited: a figure that an owner's file takes over stays that of the
// standard, whose edition and file are named and listed.
func TestInherited(t *testing.T) {
	book := own(t, "limits/port-co.yaml", "{id: port-co, title: Owner, owner: Port Co, edition: '1', extends: tia-568.3-e, provenance: read, values: {mated_pair: 0.3 dB}}")
	base, _ := book.Find("tia-568.3-e")
	f := clean()
	f.Job.Policy.Limits = []string{"port-co"}
	j := judged(t, f, book)
	worst := j.Result(0).WorstFinding()
	from := map[string]judge.SetOrigin{}
	for i := range worst.Working.Terms {
		term := &worst.Working.Terms[i]
		from[term.Label] = worst.Working.From(term)
	}
	standard := judge.SetOrigin{SetID: base.ID, Standard: "ANSI/TIA-568.3-E", Edition: "2022", SHA256: base.SHA256}
	for label, want := range map[string]judge.SetOrigin{
		"cable": standard, "splice": standard, "mated_pair": {SetID: "port-co", Standard: "Port Co", Edition: "1", SHA256: worst.Working.SHA256},
	} {
		if from[label] != want {
			t.Errorf("%s is of %v, want %v", label, from[label], want)
		}
	}
	for _, sets := range [][]judge.SetUsed{j.Sets, j.SetsOf(j.Result(0))} {
		if len(sets) != 2 || sets[0].ID != "port-co" || sets[0].Extends != base.ID || sets[1].ID != base.ID || sets[1].SHA256 != base.SHA256 ||
			sets[0].LowCount != 0 || sets[1].LowCount != 0 {
			t.Errorf("sets %+v", sets)
		}
	}
}

// TestLowCount: figures of low confidence are counted where they are used, for
// the set whose file holds them.
func TestLowCount(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = []string{"example-low-loss-single"} // its one figure is of low confidence, the base's are not
	if sets := judged(t, f, builtIn(t)).Sets; len(sets) != 2 || sets[0].LowCount != 1 || sets[1].LowCount != 0 {
		t.Errorf("sets %+v", sets)
	}
}

// TestSmallestMargin: that of a limit for the mean of both directions counts
// like that of one way.
func TestSmallestMargin(t *testing.T) {
	book := own(t, "limits/mean.yaml", "{id: mean, title: Mean, owner: Port Co, edition: '1', extends: tia-568.3-e, provenance: read, limits: [{id: mean, quantity: two_way_average, at_most: 1.0 dB}]}")
	f := clean()
	f.Job.Policy.Limits = []string{"mean"}
	// 1.00 dB of 1.0, where one way leaves 1.1948 dB of 2.2248.
	f.Readings[0].Value, f.Readings[1].Value = dec("0.97"), dec("1.03")
	worst := judged(t, f, book).Result(0).WorstFinding()
	if worst.Quantity != record.TwoWayAverage || !worst.Margin.IsZero() || worst.WavelengthNM != 1310 {
		t.Errorf("smallest margin: %s %d nm, %s", worst.Quantity, worst.WavelengthNM, worst.Margin)
	}
	f.Job.Policy.Limits = []string{"tia-568.3-e"} // whose mean is held against the limit of one way
	if worst = judged(t, f, book).Result(0).WorstFinding(); worst.Quantity != record.InsertionLoss || !worst.Margin.Equal(dec("1.1948")) {
		t.Errorf("smallest margin: %s %s", worst.Quantity, worst.Margin)
	}
}

// TestApplications: required ones are judged and decide; others are listed
// where the link would carry them.
func TestApplications(t *testing.T) {
	f := clean()
	f.Links[0].Applications = []string{"10gbase-lr"}
	l := judged(t, f, builtIn(t)).Result(0)
	carries := map[string]judge.Carries{}
	for _, c := range l.Carries {
		carries[c.Title] = c
	}
	if c := carries["10GBASE-LR"]; !c.Required || !c.Within || len(c.Findings) == 0 {
		t.Errorf("10GBASE-LR: %+v", c)
	}
	for title, want := range map[string]bool{"100GBASE-LR4": true, "400GBASE-DR4": true, "1000BASE-LX": true, "10GBASE-ER": false, "10GBASE-SR": false, "GPON class B+": false} {
		if c, ok := carries[title]; ok != want || ok && (c.Required || !c.Within) {
			t.Errorf("%s: %v", title, c)
		}
	}

	// 0.88 dB is below the 5 dB that a 10GBASE-ER receiver needs in front of it.
	f.Links[0].Applications = []string{"10gbase-er"}
	l = judged(t, f, builtIn(t)).Result(0)
	if l.Verdict != judge.Fail || l.Carries[0].ID == "10gbase-er" && l.Carries[0].Within {
		t.Errorf("verdict %v", l.Verdict)
	}
	for _, x := range l.Open() {
		if x.Working.Bound != "between" || !x.Limit.Equal(dec("5")) || !strings.Contains(said(x.Advice[0]), "attenuator") {
			t.Errorf("%+v", x)
		}
	}

	// Out of reach: the length decides.
	f.Links[0].Applications, f.Links[0].Length = []string{"10gbase-lr"}, dec("10000.1")
	f.Job.Policy.Questions = map[string]record.Question{"below-glass": {Weight: "off"}}
	if got := judged(t, f, builtIn(t)).Result(0); got.Verdict != judge.Fail || got.Open()[0].Quantity != record.Length {
		t.Errorf("10 000.1 m: %v", got.Verdict)
	}
}

// TestGuarded: guarded acceptance asks for a margin of w = r·U (ILAC-G8:09/2019,
// 4.2.2; JCGM 106:2012, 8.3), and for an uncertainty.
func TestGuarded(t *testing.T) {
	for _, c := range []struct {
		factor, loss string
		want         judge.Verdict
	}{
		{"1", "2.1048", judge.Pass}, {"1", "2.1049", judge.Fail}, // limit 2.2248, U 0.12
		{"0.83", "2.1252", judge.Marginal}, {"0.83", "2.1253", judge.Fail}, // ISO 14253-1:2017, from memory
		{"0.83", "2.1048", judge.Pass},
	} {
		f := clean()
		f.Job.Policy.Decision, f.Job.Policy.GuardFactor = "guarded", dec(c.factor)
		f.Readings = f.Readings[:1]
		f.Readings[0].Value = dec(c.loss)
		if got := judged(t, f, builtIn(t)).Result(0).WorstFinding(); got.Verdict != c.want || !got.Guard.Equal(dec(c.factor).Mul(dec("0.12"))) {
			t.Errorf("r %s, %s dB: %v", c.factor, c.loss, got.Verdict)
		} else if guard := len(got.Advice) > 0 && strings.Contains(said(got.Advice[0]), "guard"); guard != (c.want == judge.Fail) {
			t.Errorf("r %s, %s dB: advice %q", c.factor, c.loss, got.Advice)
		}
	}
	f := clean()
	f.Job.Policy.Decision, f.Job.Instruments[0].Uncertainty = "guarded", nil
	if l := judged(t, f, builtIn(t)).Result(0); l.Verdict != judge.Incomplete || !strings.Contains(l.Open()[0].Question.Code, "uncertainty") {
		t.Errorf("without an uncertainty: %v", l.Verdict)
	}
	f.Job.Policy.Uncertainty = ptr("0.2") // the job's, where the instrument has none
	if l := judged(t, f, builtIn(t)).Result(0); l.Verdict != judge.Pass {
		t.Errorf("with the job's: %v", l.Verdict)
	}
}

// TestMarginal: the band is the job's own, or else the uncertainty.
func TestMarginal(t *testing.T) {
	for _, c := range []struct {
		band, loss string
		want       judge.Verdict
	}{
		{"", "2.1048", judge.Pass}, {"", "2.1049", judge.Marginal}, {"", "2.2248", judge.Marginal}, {"", "2.2249", judge.Fail},
		{"0.3", "1.9248", judge.Pass}, {"0.3", "1.9249", judge.Marginal}, {"0", "2.2248", judge.Pass},
	} {
		f := clean()
		if c.band != "" {
			f.Job.Policy.Marginal = ptr(c.band)
		}
		f.Readings[0].Value = dec(c.loss)
		f.Job.Policy.Questions = map[string]record.Question{"direction-difference": {Weight: "off"}}
		if got := judged(t, f, builtIn(t)).Result(0).Verdict; got != c.want {
			t.Errorf("band %q, %s dB: %v, want %v", c.band, c.loss, got, c.want)
		}
	}
}

// TestReflectance: return loss is reflectance with its sign turned, and is
// judged by the polish of the end that the light entered.
func TestReflectance(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits = []string{"iso-11801-1-2017"}
	f.Links[0].EndB.Polish = "APC"
	for _, r := range []struct {
		way      record.Direction
		quantity record.Quantity
		value    string
	}{{record.AB, record.Reflectance, "-35"}, {record.BA, record.ReturnLoss, "59.9"}} {
		x := f.Readings[0]
		x.Direction, x.Quantity, x.Value = r.way, r.quantity, dec(r.value)
		f.Readings = append(f.Readings, x)
	}
	var ends string
	for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
		if x.Quantity == record.Reflectance {
			ends += x.End + " " + x.Measured.String() + " of " + x.Limit.String() + " " + x.Verdict.String() + "; "
		}
	}
	if want := "A -35 of -35 pass; B -59.9 of -60 fail; "; ends != want {
		t.Errorf("%q, want %q", ends, want)
	}
}

// TestEstimates: the splicer's estimate is held against the job's own limit and
// never counts as a measurement.
func TestEstimates(t *testing.T) {
	for estimate, want := range map[string]judge.Verdict{"0.05": judge.Pass, "0.10": judge.Pass, "0.11": judge.Fail} {
		f := clean()
		f.Job.Policy.EstimateAtMost = ptr("0.10")
		f.Terminations = []record.Termination{{Link: "A-12", End: "A", Kind: "spliced-on connector", Estimate: ptr(estimate), EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)}}
		l := judged(t, f, builtIn(t)).Result(0)
		if l.Verdict != want || l.WorstFinding().Quantity != record.InsertionLoss {
			t.Errorf("%s dB: %v, want %v", estimate, l.Verdict, want)
		}
		for _, x := range l.Findings {
			if x.Code != "splicer-estimate" {
				continue
			}
			if x.Kind != judge.KindEstimate || x.End != "A" || !x.Margin.Equal(dec("0.10").Sub(dec(estimate))) || x.Probability != -1 {
				t.Errorf("%s dB: %+v", estimate, x)
			}
			if advised := len(x.Advice) == 1 && x.Advice[0].Code == "advice.splice-again"; advised != (want == judge.Fail) {
				t.Errorf("%s dB: advised %v", estimate, x.Advice)
			}
		}
	}
}

// TestExpectedORL: where the job gives the constants of the glass, a return
// loss that is better than glass allows is asked about.
func TestExpectedORL(t *testing.T) {
	book := own(t, "glass.yaml", `id: reel
kind: constants
title: constants of the cable
standard: maker's data sheet
edition: "1"
provenance: read
values:
  backscatter: {unit: dB, value: -82}
  fibre_attenuation: {unit: dB/km, value: 0.20}
  group_index: {unit: "1", value: 1.468}
`)
	for value, want := range map[string]int{"33": 0, "38": 1} {
		f := clean()
		f.Links[0].Length = dec("10000")
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "reel")
		f.Job.Policy.Questions = map[string]record.Question{"below-glass": {Weight: "off"}}
		r := f.Readings[2]
		r.Quantity, r.Direction, r.Value = record.OpticalReturnLoss, record.AB, dec(value)
		f.Readings = append(f.Readings, r)
		j := judged(t, f, book)
		if got := len(questions(j)); got != want {
			t.Errorf("%s dB: %v", value, questions(j))
		}
		for _, x := range j.Result(0).Findings {
			if x.Code == "expected-orl" && fmt.Sprint(x.Question.Args[2]) != "33.9" {
				t.Errorf("expected is said to be %v", x.Question.Args[2])
			}
		}
		if e := j.Result(0).ExpectedORL; len(e) != 1 || math.Abs(e[0].DB-33.9) > 0.05 {
			t.Errorf("%s dB: expected %v", value, e)
		}
	}
}
