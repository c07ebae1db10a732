package judge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// several makes links like the first, each of so many connections, with these
// losses A-B and B-A at 1310 nm.
func several(pairs int, losses ...string) *record.Facts {
	f := clean()
	link, way := f.Links[0], f.Readings[:2]
	f.Links, f.Readings = nil, nil
	f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{record.Singlemode: {1310}}
	f.Job.Policy.Questions = map[string]record.Question{"identical-results": {Weight: "off"}, "direction-copied": {Weight: "off"}, "connection-count": {Weight: "off"}, "pace": {Weight: "off"}}
	for i, loss := range losses {
		l := link
		l.ID, l.MatedPairs, l.EndA, l.EndB = fmt.Sprintf("B-%03d", i+1), pairs, record.End{}, record.End{}
		f.Links = append(f.Links, l)
		for k, by := range []string{"0.02", "-0.02"} { // the average is the loss
			r := way[k]
			r.Link, r.Value = l.ID, dec(loss).Add(dec(by))
			f.Readings = append(f.Readings, r)
		}
	}
	return f
}

// sameOf is n losses, the last few of which are worse.
func sameOf(n int, loss string, worse int, than string) []string {
	return slices.Concat(slices.Repeat([]string{loss}, n-worse), slices.Repeat([]string{than}, worse))
}

// TestGrades: grade B (IEC 61755-1, from memory) is a mean of at most 0.12 dB and
// at most 0.25 dB for 97 %. The mean may rest on links of several connections, the
// percentile on single ones only.
func TestGrades(t *testing.T) {
	book := builtIn(t)
	for _, c := range []struct {
		name             string
		pairs            int
		losses           []string
		mean, percentile string // verdict and number, or the code of what is asked
	}{
		{"98 single connections, one too few", 1, sameOf(98, "0.12", 0, ""), "pass 98", "not-shown.few"},
		{"99 single connections", 1, sameOf(99, "0.12", 0, ""), "pass 99", "pass 99"},
		{"99 with one over", 1, sameOf(99, "0.11", 1, "0.30"), "pass 99", "not-shown.few"},
		{"157 with one over", 1, sameOf(157, "0.11", 1, "0.30"), "pass 157", "pass 157"},
		{"three in a hundred over", 1, sameOf(100, "0.10", 3, "0.30"), "pass 100", "not-shown.few"},
		{"four in a hundred over", 1, sameOf(100, "0.10", 4, "0.30"), "pass 100", "fail 100"},
		{"one of five over", 1, sameOf(5, "0.05", 1, "0.30"), "pass 5", "fail 5"},
		{"two connections each, a thousand links", 2, sameOf(1000, "0.20", 0, ""), "pass 2000", "not-shown.averages"},
		{"the mean of single connections too high", 1, sameOf(99, "0.13", 0, ""), "fail 99", "pass 99"},
		{"the mean of links of three too high", 3, sameOf(10, "0.37", 0, ""), "fail 30", "not-shown.averages"},
	} {
		f := several(c.pairs, c.losses...)
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iec-61755-1-grade-b")
		j := judged(t, f, book)
		got := map[record.Quantity]string{record.GroupPercentile: "nothing", record.GroupMean: "nothing"}
		for _, x := range j.Questions {
			if w := x.Working; x.Kind == judge.KindLimit {
				got[x.Quantity] = fmt.Sprint(x.Verdict, " ", x.Population)
				share := x.Quantity == record.GroupPercentile
				if w.SetID != "iec-61755-1-grade-b" || w.Of != record.InsertionLoss || (w.Percentile != nil) != share || share && !w.Percentile.Equal(dec("97")) {
					t.Errorf("%s: %s is said to be of %s of the set %s, percentile %v", c.name, x.Quantity, w.Of, w.SetID, w.Percentile)
				}
			} else if x.Code == "not-shown" {
				got[record.GroupPercentile] = x.Question.Code
			} else if x.Code == "not-judged" {
				t.Errorf("%s: asked twice", c.name)
			}
		}
		if got[record.GroupMean] != c.mean || got[record.GroupPercentile] != c.percentile {
			t.Errorf("%s: mean %s, percentile %s; want %s, %s", c.name, got[record.GroupMean], got[record.GroupPercentile], c.mean, c.percentile)
		}
		if want := strings.HasPrefix(c.mean, "pass") && strings.HasPrefix(c.percentile, "pass"); j.Conforms() != want {
			t.Errorf("%s: conforms %v", c.name, !want)
		}
	}
}

// TestMeanCountsConnections: a link of four connections counts four times, one of two
// twice.
func TestMeanCountsConnections(t *testing.T) {
	f := several(2, "0.10", "0.90")
	f.Links[1].MatedPairs = 4
	f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iec-61755-1-grade-b")
	for _, x := range judged(t, f, builtIn(t)).Questions {
		if x.Kind == judge.KindLimit && (x.Measured.Round(4).String() != "0.1667" || x.Population != 6) { // 1.00 dB over six
			t.Errorf("%s of %d", x.Measured, x.Population)
		}
	}
}

// TestMeanIsOfTheMethodOfItsReadings: what a mean may be goes by how its losses were
// measured, if all were measured alike, and by the job's method if they were not.
func TestMeanIsOfTheMethodOfItsReadings(t *testing.T) {
	book := own(t, "means.yaml", `
id: means
title: Tells cords apart
owner: Port Ansel
edition: "1"
provenance: read
values:
  most: {unit: dB, rows: [{value: 0.20, test_cords: standard}, {value: 0.10, test_cords: reference-grade}]}
limits:
  - {id: mean, quantity: group_mean, at_most: [{rate: most}]}
`)
	for _, c := range []struct {
		name  string
		cords [2]record.TestCords
		want  string
	}{
		{"the job's cords", [2]record.TestCords{record.StandardCords, record.StandardCords}, "0.20"},
		{"all by other cords", [2]record.TestCords{record.ReferenceCords, record.ReferenceCords}, "0.10"},
		{"some by other cords", [2]record.TestCords{record.StandardCords, record.ReferenceCords}, "0.20"},
	} {
		f := several(1, "0.05", "0.06")
		f.Job.Policy.TestCords = record.StandardCords
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "means")
		for i := range f.Readings {
			m := record.Method{TestCords: c.cords[i/2]}.Over(f.Job.Policy.Method())
			f.Readings[i].Method = &m
		}
		var got []string
		for _, x := range judged(t, f, book).Questions {
			if x.Kind == judge.KindLimit {
				got = append(got, x.Limit.String())
			}
		}
		if !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s: held against %q, want %s", c.name, got, c.want)
		}
	}
}

// TestEveryConnection: percentile 100 of ISO/IEC 11801-1 (from memory, 0.75 dB) is
// about every connection, and several within it together are so one by one.
func TestEveryConnection(t *testing.T) {
	for _, c := range []struct {
		name   string
		pairs  int
		losses []string
		want   string
	}{
		{"single ones", 1, []string{"0.20", "0.74"}, "pass"},
		{"a single one over", 1, []string{"0.20", "0.76"}, "fail"},
		{"several within it together", 3, []string{"0.60", "0.75"}, "pass"},
		{"several over it together", 3, []string{"0.60", "0.76"}, "not-shown.each"},
	} {
		f := several(c.pairs, c.losses...)
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, "iso-11801-1-connections")
		var got string
		for _, x := range judged(t, f, builtIn(t)).Questions {
			if x.Question.Code == "not-shown.each" {
				got += x.Question.Code
			} else if x.Kind == judge.KindLimit && x.Working.LimitID == "all" {
				got += x.Verdict.String()
			}
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
