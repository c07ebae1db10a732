package specimen

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"slices"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/form"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// inventor makes the facts of a specimen up.
type inventor struct {
	*record.Facts
	day           time.Time // when the reference is taken
	meters, lamps []record.Instrument
	person        string
}

// origin is the file that invented facts say they come from.
func (v *inventor) origin() record.Origin {
	return record.Origin{File: "readings/specimen.csv", SHA256: strings.Repeat("0", 64)}
}

// meter finds the job's meters and light sources, or invents a meter. What an
// instrument is for its owner says in free words; one with an uncertainty of a
// loss reading is a meter whatever it is called.
func (v *inventor) meter() {
	is := func(i record.Instrument, words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(strings.ToLower(i.Kind), w) })
	}
	for _, i := range v.Job.Instruments {
		lamp := is(i, "source", "fuente")
		if lamp || is(i, "test set", "equipo de") {
			v.lamps = append(v.lamps, i)
		}
		if i.Uncertainty != nil || !lamp && is(i, "meter", "medidor", "test set", "equipo de") {
			v.meters = append(v.meters, i)
		}
	}
	valid := func(i record.Instrument) int {
		if day := record.DateOf(v.day); i.Calibrated.After(day) || i.Due.Before(day) {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(v.meters, func(a, b record.Instrument) int { return cmp.Compare(valid(a), valid(b)) })
	if v.meters == nil {
		day, u := record.DateOf(v.day), quantity.Scaled(12, 2)
		v.meters = []record.Instrument{{ID: "PM-0", Kind: "power meter", Serial: "00000", Calibrated: day.AddMonths(-6), Due: day.AddMonths(6), Uncertainty: &u}}
		v.Job.Instruments = append(slices.Clone(v.Job.Instruments), v.meters[0])
	}
}

// lamp is the light source for a wavelength: one whose kind names it, or else
// the first.
func (v *inventor) lamp(nm int) string {
	for _, i := range v.lamps {
		if strings.Contains(i.Kind, strconv.Itoa(nm)) {
			return i.ID
		}
	}
	if len(v.lamps) > 0 {
		return v.lamps[0].ID
	}
	return ""
}

// terminate invents the records of what is made on site, on the day before.
func (v *inventor) terminate(l *record.Link) {
	made := func(end, kind string, face record.EndFace) {
		k := len(v.Terminations)
		t := record.Termination{Link: l.ID, End: end, Kind: kind, Lot: "00-0000", EndFace: face, Person: v.person, Origin: v.origin(), Attempts: 1,
			Finished: v.day.AddDate(0, 0, -1).Add(time.Duration(k%48) * 10 * time.Minute)}
		estimate := quantity.Scaled(int64(2+k%4), 2)
		if most := v.Job.Policy.EstimateAtMost; most != nil && most.Less(estimate) {
			estimate = *most
		}
		t.Estimate = &estimate
		v.Terminations = append(v.Terminations, t)
	}
	for i, end := range []record.End{l.EndA, l.EndB} {
		if end.SplicedOn {
			made(string("AB"[i]), "spliced-on connector", record.EndFacePass)
		}
	}
	for range l.Splices {
		made("", "splice", record.EndFaceNotInspected)
	}
}

// inspect invents an inspection of each end face, where the job asks for them.
func (v *inventor) inspect(l *record.Link) {
	if v.Job.Policy.Require.Inspection != "required" {
		return
	}
	for _, end := range l.Faces() {
		v.Inspections = append(v.Inspections, record.Inspection{Link: l.ID, End: end, Criterion: "IEC 61300-3-35", Edition: "2022", Cleaning: record.AfterCleaning,
			Result: record.EndFacePass, Person: v.person, Origin: v.origin(), Time: v.day.Add(time.Duration(len(v.Inspections)%24) * time.Minute)})
	}
}

// measure invents the readings of a link.
func (v *inventor) measure(n int) {
	l := &v.Links[n]
	ways := []record.Direction{record.AB, record.BA}
	if l.Exempt != "" {
		ways = ways[:1]
	}
	for i, nm := range v.Job.Policy.Require.Wavelengths[l.Mode] {
		for k, way := range ways {
			reading := func(q record.Quantity, value quantity.Decimal) {
				v.Readings = append(v.Readings, record.Reading{Link: l.ID, Quantity: q, WavelengthNM: nm, Direction: way, Value: value,
					Instrument: v.meters[0].ID, Source: v.lamp(nm), Person: v.person, Time: v.day.Add(time.Duration(30+n%50*8+i*2+k) * time.Minute),
					ReferenceTime: v.day, Fate: record.Used, Origin: v.origin()})
			}
			// A loss of 0.2 dB a connection, 0.1 dB a splice and 0.3 dB/km with a little on
			// top that differs from one reading to the next.
			reading(record.InsertionLoss, quantity.Sum(
				quantity.Scaled(2, 1).Mul(quantity.Int(l.MatedPairs)), quantity.Scaled(1, 1).Mul(quantity.Int(l.AllSplices())),
				quantity.Scaled(3, 1).Mul(quantity.Kilometres(l.Length)), quantity.Scaled(int64((n*7+i*5+k*3)%11), 2)).Round(2))
			if i == 0 && (l.EndA.Connector != "" || l.EndB.Connector != "") {
				least := map[string]int64{"APC": 660, "UPC": 550}[l.EndA.Polish]
				reading(record.Reflectance, quantity.Scaled(-cmp.Or(least, 420)-int64((n*5+k*3)%17), 1))
			}
		}
	}
}

// photograph invents pictures of both end faces of a link.
func (v *inventor) photograph(link string) {
	const side = 320
	img := image.NewGray(image.Rect(0, 0, side, side))
	for i := range img.Pix {
		x, y := i%side-side/2, i/side-side/2
		shade := color.Gray{Y: 96}
		switch d := x*x + y*y; {
		case d < 11*11: // the core
			shade.Y = 235
		case d < 110*110: // the cladding
			shade.Y = 168
		}
		img.Pix[i] = shade.Y
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err) // a buffer takes everything
	}
	sum := sha256.Sum256(b.Bytes())
	for _, end := range []string{"A", "B"} {
		v.Photos = append(v.Photos, record.Photo{Link: link, End: end, Data: b.Bytes(),
			Origin: record.Origin{File: fmt.Sprintf("photos/%s-%s.png", form.FileName(link), end), SHA256: hex.EncodeToString(sum[:]), Size: int64(b.Len())}})
	}
}
