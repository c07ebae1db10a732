package testset

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"slices"
	"strings"
	"sync"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

// Library is an invented refit: 30 links over two panels and a cabinet, one
// that fails (a bend), one never measured, one marginal.
func Library() *record.Facts {
	dublin, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		dublin = time.UTC
	}
	f := &record.Facts{Job: record.Job{
		Number: "BL-2026-031", Title: "Reading rooms refit",
		Site:       record.Party{Name: "Bellweather Library", Address: "12 Quay Row, Port Ansel"},
		Customer:   record.Party{Name: "Port Ansel Council", Order: "PO-7781"},
		Contractor: record.Party{Name: "Tidewater Fibre Works", Address: "4 Slipway Lane, Port Ansel", Licence: "C7-20881"},
		Invoice:    "2026-118", Completed: record.NewDate(2026, 11, 18), TimeZone: "Europe/Dublin", Location: dublin, WarrantyMonths: 240,
		Stage: "final, closures shut",
		People: []record.Person{{ID: "mo", Name: "M. Okafor", Role: "fibre technician", Qualification: "FT-3310", ValidUntil: record.NewDate(2027, 6, 30)},
			{ID: "rl", Name: "R. Lindqvist", Role: "project manager"}},
		Instruments: []record.Instrument{
			{ID: "LS-4", Kind: "light source", Serial: "40117", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3)},
			{ID: "PM-9", Kind: "power meter", Serial: "22803", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3), Uncertainty: ptr("0.12")}},
		Cables: []record.Cable{{ID: "RR-C1-24", Description: "24 fibres", Reel: "88-2041"}},
		Policy: record.Policy{
			Limits: []string{"tia-568.3-e"}, Reference: record.OneCord, TestCords: record.StandardCords, Decision: "simple",
			Require: record.Require{Wavelengths: map[record.Mode][]int{record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300}},
				Directions: "both", Reflectance: "optional"},
			EstimateAtMost: ptr("0.10"),
		},
		Documents: record.Documents{Paper: "A4", Language: "en"},
		Origin:    record.Origin{File: "job.yaml"},
	}}
	var csv strings.Builder
	csv.WriteString("link,time,1310 AB,1310 BA,1550 AB,1550 BA\n")
	row := 1
	file := "readings/day2-roomR.csv"
	add := func(id, fibre string, mode record.Mode, from, to string, length string, nm []int, losses []string, minute int) {
		l := record.Link{ID: id, Cable: "RR-C1-24", Strand: id[strings.LastIndexByte(id, '-')+1:], From: from, To: to, Fibre: fibre, Mode: mode,
			Length: dec(length), LengthText: length + " m", MatedPairs: 2,
			EndA: record.End{Text: "LC/UPC, spliced on", SplicedOn: true, Connector: "LC", Polish: "UPC"}, EndB: record.End{Text: "LC/UPC, spliced on", SplicedOn: true, Connector: "LC", Polish: "UPC"},
			Origin: record.Origin{File: "links.csv", Row: len(f.Links) + 2}}
		if mode == record.Multimode {
			l.Cable, l.EndA, l.EndB = "K2-C1-12", record.End{Text: "factory LC", Connector: "LC"}, record.End{Text: "factory LC", Connector: "LC"}
		} else {
			l.Applications = nil
		}
		f.Links = append(f.Links, l)
		if losses == nil {
			return
		}
		row++
		start := time.Date(2026, 11, 18, 9, 0, 0, 0, dublin).Add(time.Duration(minute) * time.Minute)
		fmt.Fprintf(&csv, "%s,%s,%s\n", id, start.Format("2006-01-02 15:04"), strings.Join(losses, ","))
		for i, loss := range losses {
			way, at := record.AB, start
			if i%2 == 1 {
				way, at = record.BA, start.Add(9*time.Minute)
			}
			f.Readings = append(f.Readings, record.Reading{Link: id, Quantity: record.InsertionLoss, WavelengthNM: nm[i/2], Direction: way, Value: dec(loss),
				Reference: ptr("-4.02"), Instrument: "PM-9", Source: "LS-4", Person: "mo", Time: at.Add(time.Duration(i/2) * time.Minute), ReferenceTime: time.Date(2026, 11, 18, 8, 15, 0, 0, dublin),
				Fate: record.Used, Origin: record.Origin{File: file, Row: row, Column: i + 3}})
		}
		if mode == record.Singlemode {
			for k, end := range []string{"A", "B"} {
				f.Terminations = append(f.Terminations, record.Termination{Link: id, End: end, Kind: "spliced-on connector", Estimate: ptr([]string{"0.02", "0.05"}[k]), Attempts: k + 1,
					Lot: "26-0417", EndFace: record.EndFacePass, Person: "mo", Finished: time.Date(2026, 11, 16+k, 14, 25, 0, 0, dublin), Origin: record.Origin{File: "terminations.csv", Row: len(f.Terminations) + 2}})
			}
		}
	}
	sm, mm := []int{1310, 1550}, []int{850, 1300}
	for i := 1; i <= 21; i++ {
		base := 44 + (i*i*37)%83
		loss := func(add int) string { v := base + add; return fmt.Sprintf("%d.%02d", v/100, v%100) }
		losses := []string{loss(6), loss(15), loss(0), loss(8)}
		switch i {
		case 7:
			losses = []string{"1.12", "1.15", "2.61", "2.58"}
		case 12:
			losses = []string{"0.94", "1.03", "0.88", "0.96"}
		case 19:
			losses = []string{"2.08", "2.15", "1.99", "2.04"}
		}
		add(fmt.Sprintf("A-%02d", i), "OS2", record.Singlemode, fmt.Sprintf("panel R1 port %d (reading room)", i), fmt.Sprintf("panel C1 port %d (comms room)", i), fmt.Sprint(300+i), sm, losses, i*12)
	}
	for i := 1; i <= 6; i++ {
		base := 40 + (i*29)%50
		loss := func(add int) string { v := base + add; return fmt.Sprintf("%d.%02d", v/100, v%100) }
		losses := []string{loss(31), loss(34), loss(8), loss(10)}
		if i == 3 {
			losses = nil
		}
		add(fmt.Sprintf("B-%02d", i), "OM4", record.Multimode, fmt.Sprintf("cabinet K2 port %d", i), fmt.Sprintf("panel C1 port %d", 24+i), "88", mm, losses, 270+i*12)
	}
	data := []byte(csv.String())
	sum := sha256.Sum256(data)
	f.Originals = []record.Original{{Name: file, SHA256: hex.EncodeToString(sum[:]), Data: data}}
	for i := range f.Readings {
		f.Readings[i].Origin.SHA256, f.Readings[i].Origin.Size = hex.EncodeToString(sum[:]), int64(len(data))
	}
	for i, end := range []string{"A", "B", ""} {
		name := "photos/A-12 " + end + ".png"
		data := Picture(200+100*i, 300-50*i)
		sum := sha256.Sum256(data)
		f.Photos = append(f.Photos, record.Photo{Link: "A-12", End: end, Data: data, Origin: record.Origin{File: name, SHA256: hex.EncodeToString(sum[:]), Size: int64(len(data))}})
	}
	f.Job.Pay = record.Pay{Currency: "EUR", Retainage: ptr("10"), Items: []record.PayItem{
		{Line: "1.1", Title: "Spliced-on connector, with test and papers", Unit: record.PayTermination, Rate: ptr("18.50")},
		{Line: "1.2", Title: "Strand tested both ways", Unit: record.PayStrand, Fibre: "OS2", Rate: ptr("7.25")},
		{Line: "1.3", Title: "Strand tested both ways", Unit: record.PayStrand, Fibre: "OM4", Rate: ptr("6.10")},
	}}
	f.Accounts = []record.Account{{File: file, SHA256: hex.EncodeToString(sum[:]), Size: int64(len(data)), Rows: len(f.Readings), Used: len(f.Readings)}}
	return f
}

// Picture is a round end face in grey, invented. Each is drawn once.
func Picture(w, h int) []byte {
	size := image.Pt(w, h)
	if data, ok := pictures.Load(size); ok {
		return bytes.Clone(data.([]byte))
	}
	data := picture(w, h)
	pictures.Store(size, data)
	return bytes.Clone(data)
}

var pictures sync.Map // by size

func picture(w, h int) []byte {
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			dx, dy := x-w/2, y-h/2
			switch d := dx*dx + dy*dy; {
			case d < 100:
				img.SetGray(x, y, color.Gray{40})
			case d < h*h/6:
				img.SetGray(x, y, color.Gray{190})
			default:
				img.SetGray(x, y, color.Gray{110})
			}
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}

// Harsh is the library with everything as long as it may be: names of 40
// characters, addresses of three lines, six wavelengths both ways.
func Harsh() *record.Facts {
	f := Library()
	long := func(s string) string { return (s + " " + strings.Repeat("extraordinary ", 4))[:40] }
	j := &f.Job
	j.Number = "BL-2026-031-ANNEX-NORTH-PHASE-TWO-LOT-17"
	j.Title, j.Invoice, j.Witness = long("Reading rooms refit"), long("2026-118"), long("Ariadne Featherstonehaugh")
	three := "Unit 4, The Old Ropewalk Business Quarter\n4 Slipway Lane and Upper Harbour Terrace\nPort Ansel, County Tidewater PA7 4XX"
	j.Site = record.Party{Name: long("Bellweather Library"), Address: three}
	j.Customer = record.Party{Name: long("Port Ansel Council"), Address: three, Order: long("PO-7781")}
	j.Contractor = record.Party{Name: long("Tidewater Fibre Works"), Address: three, Licence: long("C7-20881")}
	for i := range j.People {
		j.People[i].Name, j.People[i].Role, j.People[i].Qualification = long(j.People[i].Name), long(j.People[i].Role), long("FT-3310")
	}
	for i := range j.Instruments {
		j.Instruments[i].Make, j.Instruments[i].Model, j.Instruments[i].Serial = long("Maker"), long("Model"), long("4011")
	}
	j.Policy.Require.Wavelengths[record.Singlemode] = []int{1270, 1310, 1383, 1490, 1550, 1625}
	j.Policy.Limits = []string{"tia-568.3-e", "owner-harbour"}
	var more []record.Reading
	for _, r := range f.Readings {
		more = append(more, r)
		if r.WavelengthNM != 1550 {
			continue
		}
		for _, nm := range []int{1270, 1383, 1490, 1625} {
			r := r
			r.WavelengthNM = nm
			more = append(more, r)
		}
		r.Fate, r.Time = record.Superseded, r.Time.Add(-24*time.Hour)
		more = append(more, r)
	}
	f.Readings = more
	rename := map[string]string{}
	for i := range f.Links {
		l := &f.Links[i]
		id := fmt.Sprintf("%s-%s", strings.Repeat("LONGNAME/", 4), l.ID)
		rename[l.ID] = id
		remote := strings.NewReplacer("panel ", "panel, remote northern wing, ", "cabinet ", "cabinet, remote northern wing, ")
		l.ID, l.From, l.To = id, long(remote.Replace(l.From)), long(remote.Replace(l.To))
		l.EndA.Text, l.EndB.Text = long(l.EndA.Text), long(l.EndB.Text)
		l.Tube, l.Cable, l.Stage, l.Pair, l.Polarity = long("tube"), long("RR-C1-24"), long("final"), id, "crossed"
	}
	for i := range f.Readings {
		f.Readings[i].Link = rename[f.Readings[i].Link]
	}
	for i := range f.Terminations {
		t := &f.Terminations[i]
		t.Link, t.Kind, t.Lot = rename[t.Link], long(t.Kind), long(t.Lot)
	}
	return f
}

// Estate is a job of so many links, the library's over and over.
func Estate(links int) *record.Facts {
	f := Library()
	small := *f
	f.Links, f.Readings, f.Terminations, f.Photos = nil, nil, nil, nil
	for n := 0; len(f.Links) < links; n++ {
		rename := func(id string) string { return fmt.Sprintf("%03d-%s", n, id) }
		for _, l := range small.Links {
			l.ID = rename(l.ID)
			l.From, l.To = fmt.Sprintf("panel %d.%s", n, l.From[6:]), fmt.Sprintf("panel %d.%s", n, l.To[6:])
			f.Links = append(f.Links, l)
		}
		for _, r := range small.Readings {
			r.Link = rename(r.Link)
			f.Readings = append(f.Readings, r)
		}
		for _, t := range small.Terminations {
			t.Link = rename(t.Link)
			f.Terminations = append(f.Terminations, t)
		}
	}
	return f
}

// Alone is a job of one link of the library.
func Alone(id string) *record.Facts {
	f := Library()
	f.Links = slices.DeleteFunc(f.Links, func(l record.Link) bool { return l.ID != id })
	f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link != id })
	f.Terminations = slices.DeleteFunc(f.Terminations, func(t record.Termination) bool { return t.Link != id })
	f.Photos = slices.DeleteFunc(f.Photos, func(p record.Photo) bool { return p.Link != id })
	return f
}
