package certify

import (
	"slices"
	"strings"

	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// Device is an instrument that readings name, with its row in the job's list or
// its id alone.
type Device struct {
	record.Instrument
	Name string // as printed
}

// Devices are what readings were made with, sources first, then meters, each in
// the order in which the readings name it. Where a reading names only one of the
// two, the place in a list no longer tells which is which: then each has its kind
// before it.
func Devices(w *wording.Wording, readings []record.Reading, listed []record.Instrument) []Device {
	var ids []string
	source, meter := map[string]bool{}, map[string]bool{}
	for i := range readings {
		source[readings[i].Source] = true
		ids = append(ids, readings[i].Source)
	}
	for i := range readings {
		meter[readings[i].Instrument] = true
		ids = append(ids, readings[i].Instrument)
	}
	kinds := oneSided(readings)
	var out []Device
	for _, id := range wording.Distinct(ids...) {
		d := Device{Instrument: record.Instrument{ID: id}}
		if i := slices.IndexFunc(listed, func(i record.Instrument) bool { return i.ID == id }); i >= 0 {
			d.Instrument = listed[i]
		}
		d.Name = strings.TrimSpace(d.ID + " " + d.Serial)
		if kinds {
			d.Name = strings.TrimSpace(kindOf(w, d.Instrument, source[id], meter[id]) + " " + d.Name)
		}
		out = append(out, d)
	}
	return out
}

// oneSided reports whether a reading names a source or a meter and not the other.
func oneSided(readings []record.Reading) bool {
	return slices.ContainsFunc(readings, func(r record.Reading) bool { return (r.Source == "") != (r.Instrument == "") })
}

// kindOf is an instrument's kind; of one that no list describes, what it was used
// as.
func kindOf(w *wording.Wording, i record.Instrument, source, meter bool) string {
	switch {
	case i.Kind != "":
		return w.Known("instrument_kind", i.Kind)
	case source && meter:
		return ""
	case source:
		return w.Say("method.as_source")
	}
	return w.Say("method.as_meter")
}
