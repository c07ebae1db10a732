package field

import (
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/quantity"
)

// vocabulary are what exports head their columns with, in the languages that came
// up so far (English, German, French, Spanish). They serve the draft of a
// mapping only, which a person reads before it is used: no reading is ever bound
// by them. Longer ones are tried first.
var vocabulary = []struct {
	field Field
	words string
}{
	{ReferenceTime, "reference time|ref time|referenz um|referenzzeit|heure de référence|hora de referencia"},
	{ReferenceDate, "reference date|referenzdatum|date de référence|fecha de referencia"},
	{OpticalReturnLoss, "optical return loss|orl"},
	{ReturnLoss, "return loss|rückflussdämpfung|rl"},
	{Reflectance, "reflectance|reflexion|réflectance|reflectancia|refl"},
	{SpliceLoss, "splice loss|spleißdämpfung|spleissdämpfung|perte d'épissure"},
	{LossPerKm, "db/km|attenuation coefficient|dämpfungsbelag"},
	{Loss, "insertion loss|loss|attenuation|il|einfügedämpfung|dämpfung|daempfung|affaiblissement|atténuation|perte|pérdida|atenuación"},
	{Reference, "reference|referenz|référence|referencia|ref"},
	{Received, "received|power|rx|empfangen|leistung|pegel|puissance|potencia"},
	{Wavelength, "wavelength|wave|lambda|λ|wellenlänge|longueur d'onde|longitud de onda|wl"},
	{Direction, "direction|richtung|sens|dirección|sentido|way|dir"},
	{Event, "event|ereignis|splice|spleiß"},
	{Length, "length|len|distance|länge|longueur|longitud"},
	{Instrument, "instrument|test set|meter|messgerät|appareil|equipo|serial|serial number|serial no|s/n|sn|seriennummer"},
	{Source, "source|light source|lichtquelle|quelle|fuente"},
	{Person, "technician|tech|operator|tester|tested by|measured by|person|bediener|techniker|prüfer|technicien|opérateur|técnico|operador"},
	{Note, "note|comment|remark|bemerkung|kommentar|remarque|nota"},
	{Date, "date|day|datum|fecha"},
	{Time, "time|hour|timestamp|tested|zeit|zeitstempel|zeitpunkt|messzeit|uhrzeit|heure|horodatage|hora"},
	{End, "end|ende|extrémité|extremo"},
	{Link, "link|fibre|fiber|strand|core|circuit|strang|faser|strecke|brin|liaison|enlace|fibra|label|name|bezeichnung|cable id|cable no|cable label|kabel|câble"},
}

// Words finds each field's words as whole words.
var Words = func() map[Field]*regexp.Regexp {
	m := map[Field]*regexp.Regexp{}
	for _, w := range vocabulary {
		alternatives := strings.Split(w.words, "|")
		for i, a := range alternatives {
			alternatives[i] = regexp.QuoteMeta(a)
		}
		m[w.field] = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:` + strings.Join(alternatives, "|") + `)(?:$|[^\pL])`)
	}
	return m
}()

var (
	// WorkedOut is what an instrument makes of its readings: no reading itself.
	WorkedOut = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:` +
		`limits?|margins?|headroom|average|avg|mean|cumulative|cum|uncertainty|allowances?|allowed|allowable|budgets?|thresholds?|maximum|max|minimum|min|targets?|permitted|permissible|tolerances?|specified|specification|spec|required|requirement|nominal|expected|estimated?|calculated|planned|` +
		`grenzwert|reserve|mittelwert|kumuliert|unsicherheit|zulässige?[rs]?|soll|sollwert|schwelle|toleranz|vorgabe|höchstwert|budgetwert|` +
		`limites?|marge|moyenne|cumulée?|admissible|seuil|cible|tolérance|prévue?|maximale?|` +
		`límites?|margen|promedio|acumulad[oa]|incertidumbre|admisible|umbral|presupuesto|objetivo|máxim[oa]|tolerancia|permitid[oa])(?:$|[^\pL])`)
	numberWords = regexp.MustCompile(`\d+[.,]\d+\s*[µμu]m|\d+`)
	micrometres = regexp.MustCompile(`^(\d)[.,](\d{2,3})\s*[µμu]m$`)
	// AToB and BToA find the two directions, by the words of several languages.
	AToB = regexp.MustCompile(`(?i)(?:^|[^\pL])a\s*(?:to|vers|nach|hacia|[-–→>]*)\s*b(?:$|[^\pL])`)
	BToA = regexp.MustCompile(`(?i)(?:^|[^\pL])b\s*(?:to|vers|nach|hacia|[-–→>]*)\s*a(?:$|[^\pL])`)
	// Joined parts the words of a heading by spaces.
	Joined = strings.NewReplacer("_", " ", "\u00a0", " ")
)

// powerMeter is the heading of a column that names the meter, though it holds a word for
// what it shows.
var powerMeter = regexp.MustCompile(`(?i)^(?:optical )?(?:power ?meter|leistungs?messer|pegelmesser|wattmètre|medidor de potencia)(?: (?:id|name|model|serial|serial number|serial no|s/n|no|number))?\.?$`)

// placeOfA and placeOfB are headings of columns that say where the ends of a link are.
var (
	placeOfA = regexp.MustCompile(`(?i)^(?:from|origin|(?:end|site|location|place|room|panel) a|a[- ](?:end|side|site)|near end|von|(?:ende|ort|standort) a|de|origine|(?:extrémité|site) a|desde|origen|(?:extremo|sitio) a)$`)
	placeOfB = regexp.MustCompile(`(?i)^(?:to|destination|(?:end|site|location|place|room|panel) b|b[- ](?:end|side|site)|far end|nach|bis|ziel|(?:ende|ort|standort) b|à|vers|(?:extrémité|site) b|hasta|destino|(?:extremo|sitio) b)$`)
)

// PlaceOf is the end of a link, A or B, whose place a column of this heading may give; "" if
// it gives none. What stands in the column decides: "From" may head a direction too.
func PlaceOf(heading string) string {
	switch name := strings.TrimSpace(Joined.Replace(heading)); {
	case placeOfA.MatchString(name):
		return "A"
	case placeOfB.MatchString(name):
		return "B"
	}
	return ""
}

// Sense is what a heading says by its words.
type Sense struct {
	Field       Field
	Unit        quantity.Unit
	Wavelength  int
	Wavelengths []int // where there are several
	Direction   string
	BothWays    bool
}

// SenseOf reads a heading: by its exact name if it has one of ours, else by words.
func SenseOf(name string) (s Sense) {
	if fu := FromHeading(name); fu.Field != None {
		return Sense{Field: fu.Field, Unit: fu.Unit}
	}
	if WorkedOut.MatchString(Joined.Replace(name)) {
		return s
	}
	plain := Joined.Replace(name)
	if u, ok := HeadingUnit(name); ok {
		s.Unit = u
		plain = Joined.Replace(WithoutUnit(name))
	}
	for _, word := range numberWords.FindAllString(plain, -1) {
		nm, ok := quantity.Whole(word)
		if m := micrometres.FindStringSubmatch(word); m != nil { // 1.31 µm
			nm, ok = quantity.Whole(m[1] + (m[2] + "000")[:3])
		}
		if ok && nm >= MinWavelength && nm <= MaxWavelength && !slices.Contains(s.Wavelengths, nm) {
			s.Wavelengths = append(s.Wavelengths, nm)
		}
	}
	if len(s.Wavelengths) == 1 {
		s.Wavelength, s.Wavelengths = s.Wavelengths[0], nil
	}
	switch {
	case AToB.MatchString(plain) && BToA.MatchString(plain):
		s.BothWays = true
	case AToB.MatchString(plain):
		s.Direction = "A-B"
	case BToA.MatchString(plain):
		s.Direction = "B-A"
	}
	if strings.EqualFold(strings.TrimSpace(plain), "nm") {
		s.Field = Wavelength
		return s
	}
	if s.Unit == "" && powerMeter.MatchString(strings.TrimSpace(plain)) {
		s.Field = Instrument
		return s
	}
	for _, w := range vocabulary {
		if Words[w.field].MatchString(plain) {
			s.Field = w.field
			break
		}
	}
	return s
}

// Says reports that the heading says a field, a wavelength or a direction.
func (s Sense) Says() bool {
	return s.Field != None || s.Wavelength > 0 || len(s.Wavelengths) > 0 || s.Direction != ""
}
