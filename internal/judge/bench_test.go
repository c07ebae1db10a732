package judge_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// generated is a job of n clean links: singlemode with spliced-on ends and
// multimode in turn, 20 to 500 m, with losses as good work has them and
// measurement noise of u = 0.03 dB (U = 0.06 dB), to two places, one link about
// every minute, with reflectance in every third.
func generated(n int, seed uint64) *record.Facts {
	rng := rand.New(rand.NewPCG(seed, 1))
	f := clean()
	f.Job.Instruments[0].Uncertainty = ptr("0.06")
	f.Links, f.Readings = make([]record.Link, n), make([]record.Reading, 0, 8*n)
	at := time.Date(2026, 11, 16, 8, 0, 0, 0, time.UTC)
	reference := at.Add(-10 * time.Minute)
	for i := range f.Links {
		metres := 20 + rng.IntN(480)
		l := record.Link{
			ID: fmt.Sprintf("P%02d-%03d", i/144+1, i%144+1), Cable: fmt.Sprintf("C%d", i/144), Strand: fmt.Sprint(i%144 + 1),
			From: fmt.Sprintf("panel R%d port %d", i/144, i%144+1), To: fmt.Sprintf("panel S%d port %d", i/144, i%144+1),
			Fibre: "OS2", Mode: record.Singlemode, Length: quantity.Int(metres), MatedPairs: 2,
			EndA: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"}, EndB: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"},
		}
		nms, glass := []int{1310, 1550}, []float64{0.34, 0.20}
		if i%2 == 1 {
			l.Fibre, l.Mode = "OM4", record.Multimode
			l.EndA.SplicedOn, l.EndB.SplicedOn = false, false
			nms, glass = []int{850, 1300}, []float64{2.6, 0.7}
		}
		f.Links[i] = l
		f.Terminations = append(f.Terminations,
			record.Termination{Link: l.ID, End: "A", Kind: "spliced-on connector", Estimate: ptr("0.03"), EndFace: record.EndFacePass, Finished: reference.Add(-time.Hour)},
			record.Termination{Link: l.ID, End: "B", Kind: "spliced-on connector", Estimate: ptr("0.05"), EndFace: record.EndFacePass, Finished: reference.Add(-time.Hour)})
		parts := 0.0 // what the two connections and the splices behind them lose
		for range 2 {
			parts += 0.08 + 0.25*rng.Float64()
		}
		at = at.Add(time.Duration(40+rng.IntN(80)) * time.Second)
		if at.Hour() >= 17 {
			at = time.Date(at.Year(), at.Month(), at.Day()+1, 8, 0, 0, 0, time.UTC)
			reference = at.Add(-10 * time.Minute)
		}
		for k, nm := range nms {
			for w, way := range []record.Direction{record.AB, record.BA} {
				loss := parts + glass[k]*float64(metres)/1000 + 0.03*rng.NormFloat64()
				r := record.Reading{
					Link: l.ID, Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way,
					Value: quantity.Scaled(int64(loss*100+0.5), 2), Instrument: "PM-9", Person: "mo", Fate: record.Used,
					Time: at.Add(time.Duration(5*k+20*w) * time.Second), ReferenceTime: reference,
					Origin: record.Origin{File: "readings/all.csv", Row: len(f.Readings) + 2},
				}
				f.Readings = append(f.Readings, r)
				if i%3 == 0 {
					r.Quantity, r.Value = record.Reflectance, quantity.Scaled(int64(-4500-rng.IntN(1000)), 2)
					if l.Mode == record.Multimode {
						r.Value = quantity.Scaled(int64(-2500-rng.IntN(1000)), 2)
					}
					f.Readings = append(f.Readings, r)
				}
			}
		}
	}
	return f
}

// BenchmarkJudge: 10,000 links with 53,000 readings.
func BenchmarkJudge(b *testing.B) {
	f, book := generated(10_000, 1), builtIn(b)
	b.ReportAllocs()
	for b.Loop() {
		if j, _ := judge.Judge(f, book); j == nil || j.Counts.Scheduled != len(f.Links) {
			b.Fatal("not judged")
		}
	}
}
