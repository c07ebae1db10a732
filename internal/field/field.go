// Package field knows the fields of a reading, and what a heading says of them.
//
// A heading binds a field by its exact name alone, with its unit or with that in
// brackets: loss_db, "Loss (dB)" ([FromHeading]). The words that exports use in
// several languages ([SenseOf]) serve drafts, which a person reads, and questions.
// [Bounds] are what no instrument can have measured.
package field

import (
	"maps"
	"slices"
	"strings"

	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Field is what a column, a constant of the mapping or a name in a pattern can
// hold.
type Field int

const (
	None Field = iota
	Link
	Cable
	Strand
	Wavelength
	Direction
	End
	Event
	Instrument
	Source
	Person
	Date
	Time
	ReferenceDate
	ReferenceTime
	Note
	ReferenceMethod
	TestCords
	Launch
	Stage
	Software
	GroupIndex
	Loss
	LossPerKm
	Reference
	Received
	Reflectance
	ReturnLoss
	OpticalReturnLoss
	SpliceLoss
	Length
	Count // of them
)

// InUnit is a field in a unit; the unit is "" where the field has none, or
// where its name leaves it to the heading or the row of units.
type InUnit struct {
	Field Field
	Unit  quantity.Unit
}

// Measured reports whether the field is measured, rather than said about what
// was measured.
func (f Field) Measured() bool { return f >= Loss }

// OfMethod reports whether the field says how a reading was made.
func (f Field) OfMethod() bool { return f >= ReferenceMethod && f <= GroupIndex }

// base is the name of each field without its unit.
var base = [Count]string{
	Link: "link", Cable: "cable", Strand: "strand", Wavelength: "wavelength", Direction: "direction", End: "end", Event: "event",
	Instrument: "instrument", Source: "source", Person: "person", Date: "date", Time: "time",
	ReferenceDate: "reference_date", ReferenceTime: "reference_time", Note: "note",
	ReferenceMethod: "reference_method", TestCords: "test_cords", Launch: "launch", Stage: "stage", Software: "software", GroupIndex: "group_index",
	Loss: "loss", LossPerKm: "loss_per_km", Reference: "reference", Received: "received",
	Reflectance: "reflectance", ReturnLoss: "return_loss", OpticalReturnLoss: "optical_return_loss",
	SpliceLoss: "splice_loss", Length: "length",
}

func (f Field) String() string { return base[f] }

// suffix is how a unit ends the name of a field.
var suffix = map[quantity.Unit]string{
	quantity.DB: "db", quantity.DBm: "dbm", quantity.DBPerKm: "db_per_km", quantity.Metre: "m",
	quantity.Kilometre: "km", quantity.Foot: "ft", quantity.Kilofoot: "kft", quantity.Nanometre: "nm", quantity.Micrometre: "um",
}

// Name prints a field as a column would be headed, such as loss_db.
func (f InUnit) Name() string {
	switch {
	case f.Field == LossPerKm:
		return "loss_db_per_km"
	case f.Unit == "":
		return base[f.Field]
	}
	return base[f.Field] + "_" + suffix[f.Unit]
}

// Units lists the units each measured field may have.
var Units = map[Field][]quantity.Unit{
	Wavelength:        {quantity.Nanometre, quantity.Micrometre},
	Loss:              {quantity.DB},
	LossPerKm:         {quantity.DBPerKm},
	Reference:         {quantity.DBm},
	Received:          {quantity.DBm},
	Reflectance:       {quantity.DB},
	ReturnLoss:        {quantity.DB},
	OpticalReturnLoss: {quantity.DB},
	SpliceLoss:        {quantity.DB},
	Length:            {quantity.Metre, quantity.Kilometre, quantity.Foot, quantity.Kilofoot},
}

// ByName is every name under which a field goes in a heading or a mapping.
// A name without a unit (length) is known too, so that its unit can be asked
// for.
var ByName = func() map[string]InUnit {
	m := map[string]InUnit{}
	for f := Link; f < Count; f++ {
		if f != LossPerKm {
			m[base[f]] = InUnit{Field: f}
		}
		for _, u := range Units[f] {
			fu := InUnit{f, u}
			m[fu.Name()] = fu
		}
	}
	for other, f := range map[string]Field{"insertion_loss": Loss, "orl": OpticalReturnLoss} { // as results.csv and the trade write them
		m[other], m[other+"_db"] = InUnit{Field: f}, InUnit{f, quantity.DB}
	}
	return m
}()

// QuantityOf is the quantity a measured field gives.
var QuantityOf = map[Field]record.Quantity{
	Loss: record.InsertionLoss, Reflectance: record.Reflectance, ReturnLoss: record.ReturnLoss,
	OpticalReturnLoss: record.OpticalReturnLoss, SpliceLoss: record.SpliceLoss, Length: record.Length,
}

// HeadingName is a heading without the differences that nobody means: case,
// spaces at the ends, and a space, dash or low line between words.
func HeadingName(s string) string {
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '\u00a0' {
			return '_'
		}
		return r
	}, strings.ToLower(strings.TrimSpace(s)))
}

// FromHeading reads a heading that says a field by itself: "loss_db",
// "Loss (dB)".
func FromHeading(name string) InUnit {
	if fu, ok := ByName[HeadingName(name)]; ok {
		return fu
	}
	if open := strings.LastIndexAny(name, "(["); open > 0 {
		fu, ok := ByName[HeadingName(name[:open])]
		if u, has := HeadingUnit(name); ok && has && (fu.Unit == "" || fu.Unit == u) && slices.Contains(Units[fu.Field], u) {
			return InUnit{fu.Field, u}
		}
	}
	return InUnit{}
}

// SameHeading reports that two headings differ in nothing that anybody means.
func SameHeading(a, b string) bool {
	return HeadingName(strings.Join(strings.Fields(a), " ")) == HeadingName(strings.Join(strings.Fields(b), " "))
}

// WithoutUnit is a heading without the unit in brackets at its end.
func WithoutUnit(name string) string {
	if _, ok := HeadingUnit(name); ok {
		if open := strings.LastIndexAny(name, "(["); open > 0 {
			return strings.TrimSpace(name[:open])
		}
	}
	return name
}

// Near is the field name that a heading nearly is. Short words are near
// to too much.
func Near(name string) string {
	if len(name) < 4 {
		return ""
	}
	return near.New(slices.Sorted(maps.Keys(ByName))).To(HeadingName(name))
}

// Names are those of the field in each of its units.
func (f Field) Names() []string {
	var list []string
	for _, u := range Units[f] {
		list = append(list, InUnit{f, u}.Name())
	}
	return list
}

// Noun is the field in a sentence, such as "reference power".
func (f Field) Noun() string {
	noun := strings.ReplaceAll(f.String(), "_", " ")
	if f == Reference || f == Received {
		noun += " power"
	}
	return noun
}

// Unit is the one that a number has where nothing says another, or "".
func (f Field) Unit() quantity.Unit {
	if us := Units[f]; len(us) > 0 {
		return us[0]
	}
	return ""
}

// QuantityName is what the field gives, as a sentence names it.
func (f Field) QuantityName() string {
	if q, ok := QuantityOf[f]; ok {
		return strings.ReplaceAll(string(q), "_", " ")
	}
	return strings.ReplaceAll(string(record.InsertionLoss), "_", " ")
}
