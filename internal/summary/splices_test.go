package summary_test

import (
	"strings"
	"testing"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/testset"
)

// TestSplices: the register has each splice of a span with the average of both ways, and
// names those out of specification first; without splices on record there is none.
func TestSplices(t *testing.T) {
	f := testset.Library()
	l := &f.Links[0]
	l.Splices = 2
	f.Job.Policy.Limits = append(f.Job.Policy.Limits, "splice-carrier")
	when := time.Date(2026, 11, 17, 9, 0, 0, 0, time.UTC)
	for i, db := range [][2]string{{"0.12", "-0.02"}, {"0.18", "0.12"}} { // averages 0.05 and 0.15
		name := []string{"S1", "S2"}[i]
		f.Terminations = append(f.Terminations, record.Termination{Link: l.ID, Kind: "splice", Splice: name, Closure: "K4", Tray: "2", Attempts: []int{1, 3}[i], Finished: when, EndFace: record.EndFaceNotInspected})
		for k, way := range []record.Direction{record.AB, record.BA} {
			f.Readings = append(f.Readings, record.Reading{Link: l.ID, Quantity: record.SpliceLoss, WavelengthNM: 1550, Direction: way, Event: name, Value: quantity.Must(db[k]),
				Instrument: f.Readings[0].Instrument, Person: f.Readings[0].Person, Time: when.Add(24 * time.Hour), Fate: record.Used})
		}
	}
	got := summaryOf(t, testset.ByBook(t, f))
	for _, want := range []string{"continued Register of splices", "2 splices in spans", "1 entry out of specification", "S2 K4, tray 2", "0.18 0.12 0.150 0.20 out of specification", "0.12 −0.02 0.050 0.10 marginal"} {
		if !strings.Contains(strings.Join(strings.Fields(got), " "), want) {
			t.Errorf("no %q in %s", want, got)
		}
	}
	none := testset.Library()
	none.Terminations = nil
	if got := summaryOf(t, testset.New(t, none, testset.NewSettings())); strings.Contains(got, "Register of splices") {
		t.Error("a register without splices")
	}
}
