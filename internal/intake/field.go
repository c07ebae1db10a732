package intake

import (
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// field is what a column, a constant of the mapping or a name in a pattern can
// hold.
type field int

const (
	noField field = iota
	fLink
	fCable
	fStrand
	fWavelength
	fDirection
	fEnd
	fEvent
	fInstrument
	fSource
	fPerson
	fDate
	fTime
	fReferenceDate
	fReferenceTime
	fNote
	fLoss
	fLossPerKm
	fReference
	fReceived
	fReflectance
	fReturnLoss
	fOpticalReturnLoss
	fSpliceLoss
	fLength
	fieldCount
)

// fieldUnit is a field in a unit; the unit is "" where the field has none, or
// where its name leaves it to the heading or the row of units.
type fieldUnit struct {
	field field
	unit  quantity.Unit
}

// isValue reports whether the field is measured, rather than said about what
// was measured.
func (f field) isValue() bool { return f >= fLoss }

// base is the name of each field without its unit.
var base = [fieldCount]string{
	fLink: "link", fCable: "cable", fStrand: "strand", fWavelength: "wavelength", fDirection: "direction", fEnd: "end", fEvent: "event",
	fInstrument: "instrument", fSource: "source", fPerson: "person", fDate: "date", fTime: "time",
	fReferenceDate: "reference_date", fReferenceTime: "reference_time", fNote: "note",
	fLoss: "loss", fLossPerKm: "loss_per_km", fReference: "reference", fReceived: "received",
	fReflectance: "reflectance", fReturnLoss: "return_loss", fOpticalReturnLoss: "optical_return_loss",
	fSpliceLoss: "splice_loss", fLength: "length",
}

func (f field) String() string { return base[f] }

// suffix is how a unit ends the name of a field.
var suffix = map[quantity.Unit]string{
	quantity.DB: "db", quantity.DBm: "dbm", quantity.DBPerKm: "db_per_km", quantity.Metre: "m",
	quantity.Kilometre: "km", quantity.Foot: "ft", quantity.Kilofoot: "kft", quantity.Nanometre: "nm", quantity.Micrometre: "um",
}

// name prints a field as a column would be headed, such as loss_db.
func (f fieldUnit) name() string {
	switch {
	case f.field == fLossPerKm:
		return "loss_db_per_km"
	case f.unit == "":
		return base[f.field]
	}
	return base[f.field] + "_" + suffix[f.unit]
}

// units lists the units each measured field may have.
var units = map[field][]quantity.Unit{
	fWavelength:        {quantity.Nanometre, quantity.Micrometre},
	fLoss:              {quantity.DB},
	fLossPerKm:         {quantity.DBPerKm},
	fReference:         {quantity.DBm},
	fReceived:          {quantity.DBm},
	fReflectance:       {quantity.DB},
	fReturnLoss:        {quantity.DB},
	fOpticalReturnLoss: {quantity.DB},
	fSpliceLoss:        {quantity.DB},
	fLength:            {quantity.Metre, quantity.Kilometre, quantity.Foot, quantity.Kilofoot},
}

// fieldNames is every name under which a field goes in a heading or a mapping.
// A name without a unit (length) is known too, so that its unit can be asked
// for.
var fieldNames = func() map[string]fieldUnit {
	m := map[string]fieldUnit{}
	for f := fLink; f < fieldCount; f++ {
		if f != fLossPerKm {
			m[base[f]] = fieldUnit{field: f}
		}
		for _, u := range units[f] {
			fu := fieldUnit{f, u}
			m[fu.name()] = fu
		}
	}
	for other, f := range map[string]field{"insertion_loss": fLoss, "orl": fOpticalReturnLoss} { // as results.csv and the trade write them
		m[other], m[other+"_db"] = fieldUnit{field: f}, fieldUnit{f, quantity.DB}
	}
	return m
}()

// quantityOf is the quantity a measured field gives.
var quantityOf = map[field]record.Quantity{
	fLoss: record.InsertionLoss, fReflectance: record.Reflectance, fReturnLoss: record.ReturnLoss,
	fOpticalReturnLoss: record.OpticalReturnLoss, fSpliceLoss: record.SpliceLoss, fLength: record.Length,
}

// headingName is a heading without the differences that nobody means: case,
// spaces at the ends, and a space, dash or low line between words.
func headingName(s string) string {
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '\u00a0' {
			return '_'
		}
		return r
	}, strings.ToLower(strings.TrimSpace(s)))
}

// headingUnit reads a unit that stands in a heading in brackets, such as
// "Loss (dB)" or "Länge [km]", or alone in a row of units.
func headingUnit(s string) (unit quantity.Unit, ok bool) {
	s = strings.TrimSpace(s)
	if open := strings.LastIndexAny(s, "(["); open >= 0 && (strings.HasSuffix(s, ")") || strings.HasSuffix(s, "]")) {
		s = s[open+1 : len(s)-1]
	}
	return unitNamed(s)
}

func unitNamed(s string) (quantity.Unit, bool) {
	s = strings.NewReplacer("um", "µm", "μm", "µm").Replace(strings.ToLower(s)) // as keyboards without it, or with the Greek letter, write the micro sign
	for _, u := range []quantity.Unit{quantity.DB, quantity.DBm, quantity.DBPerKm, quantity.Metre, quantity.Kilometre, quantity.Foot, quantity.Kilofoot, quantity.Nanometre, quantity.Micrometre} {
		if strings.EqualFold(strings.TrimSpace(s), string(u)) {
			return u, true
		}
	}
	return "", false
}
