package intake

import (
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/quantity"
)

// words are what exports head their columns with, in the languages that came
// up so far (English, German, French, Spanish). They serve the draft of a
// mapping only, which a person reads before it is used: no reading is ever bound
// by them. Longer ones are tried first.
var words = []struct {
	field field
	words string
}{
	{fReferenceTime, "reference time|ref time|referenz um|referenzzeit|heure de référence|hora de referencia"},
	{fReferenceDate, "reference date|referenzdatum|date de référence|fecha de referencia"},
	{fOpticalReturnLoss, "optical return loss|orl"},
	{fReturnLoss, "return loss|rückflussdämpfung|rl"},
	{fReflectance, "reflectance|reflexion|réflectance|reflectancia|refl"},
	{fSpliceLoss, "splice loss|spleißdämpfung|spleissdämpfung|perte d'épissure"},
	{fLossPerKm, "db/km|attenuation coefficient|dämpfungsbelag"},
	{fLoss, "insertion loss|loss|attenuation|il|einfügedämpfung|dämpfung|daempfung|affaiblissement|atténuation|perte|pérdida|atenuación"},
	{fReference, "reference|referenz|référence|referencia|ref"},
	{fReceived, "received|power|rx|empfangen|leistung|pegel|puissance|potencia"},
	{fWavelength, "wavelength|wave|lambda|λ|wellenlänge|longueur d'onde|longitud de onda|wl"},
	{fDirection, "direction|richtung|sens|dirección|sentido|way|dir"},
	{fEvent, "event|ereignis|splice|spleiß"},
	{fLength, "length|len|distance|länge|longueur|longitud"},
	{fInstrument, "instrument|test set|meter|messgerät|appareil|equipo|serial|serial number|serial no|s/n|sn|seriennummer"},
	{fSource, "source|light source|lichtquelle|quelle|fuente"},
	{fPerson, "technician|tech|operator|tester|tested by|measured by|person|bediener|techniker|prüfer|technicien|opérateur|técnico|operador"},
	{fNote, "note|comment|remark|bemerkung|kommentar|remarque|nota"},
	{fDate, "date|day|datum|fecha"},
	{fTime, "time|hour|timestamp|tested|zeit|zeitstempel|zeitpunkt|messzeit|uhrzeit|heure|horodatage|hora"},
	{fEnd, "end|ende|extrémité|extremo"},
	{fLink, "link|fibre|fiber|strand|core|circuit|strang|faser|strecke|brin|liaison|enlace|fibra|label|name|bezeichnung|cable id|cable no|cable label|kabel|câble"},
}

// wordsExp finds each field's words as whole words.
var wordsExp = func() map[field]*regexp.Regexp {
	m := map[field]*regexp.Regexp{}
	for _, w := range words {
		alternatives := strings.Split(w.words, "|")
		for i, a := range alternatives {
			alternatives[i] = regexp.QuoteMeta(a)
		}
		m[w.field] = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:` + strings.Join(alternatives, "|") + `)(?:$|[^\pL])`)
	}
	return m
}()

var (
	// told is what an instrument makes of its readings: no reading itself.
	told = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:` +
		`limits?|margins?|headroom|average|avg|mean|cumulative|cum|uncertainty|allowances?|allowed|allowable|budgets?|thresholds?|maximum|max|minimum|min|targets?|permitted|permissible|tolerances?|specified|specification|spec|required|requirement|nominal|expected|estimated?|calculated|planned|` +
		`grenzwert|reserve|mittelwert|kumuliert|unsicherheit|zulässige?[rs]?|soll|sollwert|schwelle|toleranz|vorgabe|höchstwert|budgetwert|` +
		`limites?|marge|moyenne|cumulée?|admissible|seuil|cible|tolérance|prévue?|maximale?|` +
		`límites?|margen|promedio|acumulad[oa]|incertidumbre|admisible|umbral|presupuesto|objetivo|máxim[oa]|tolerancia|permitid[oa])(?:$|[^\pL])`)
	numberWords = regexp.MustCompile(`\d+[.,]\d+\s*[µμu]m|\d+`)
	micrometres = regexp.MustCompile(`^(\d)[.,](\d{2,3})\s*[µμu]m$`)
	aToB        = regexp.MustCompile(`(?i)(?:^|[^\pL])a\s*(?:to|vers|nach|hacia|[-–→>]*)\s*b(?:$|[^\pL])`)
	bToA        = regexp.MustCompile(`(?i)(?:^|[^\pL])b\s*(?:to|vers|nach|hacia|[-–→>]*)\s*a(?:$|[^\pL])`)
	headingJoin = strings.NewReplacer("_", " ", "\u00a0", " ")
)

// sense is what a heading says by its words.
type sense struct {
	field       field
	unit        quantity.Unit
	wavelength  int
	wavelengths []int // where there are several
	direction   string
	bothWays    bool
}

func senseOf(name string) (s sense) {
	if fu := headingField(name); fu.field != noField {
		return sense{field: fu.field, unit: fu.unit}
	}
	if told.MatchString(headingJoin.Replace(name)) {
		return s
	}
	plain := headingJoin.Replace(name)
	if u, ok := headingUnit(name); ok {
		s.unit = u
		plain = headingJoin.Replace(withoutUnit(name))
	}
	for _, word := range numberWords.FindAllString(plain, -1) {
		nm, ok := quantity.Whole(word)
		if m := micrometres.FindStringSubmatch(word); m != nil { // 1.31 µm
			nm, ok = quantity.Whole(m[1] + (m[2] + "000")[:3])
		}
		if ok && nm >= minWavelength && nm <= maxWavelength && !slices.Contains(s.wavelengths, nm) {
			s.wavelengths = append(s.wavelengths, nm)
		}
	}
	if len(s.wavelengths) == 1 {
		s.wavelength, s.wavelengths = s.wavelengths[0], nil
	}
	switch {
	case aToB.MatchString(plain) && bToA.MatchString(plain):
		s.bothWays = true
	case aToB.MatchString(plain):
		s.direction = "A-B"
	case bToA.MatchString(plain):
		s.direction = "B-A"
	}
	if strings.EqualFold(strings.TrimSpace(plain), "nm") {
		s.field = fWavelength
		return s
	}
	for _, w := range words {
		if wordsExp[w.field].MatchString(plain) {
			s.field = w.field
			break
		}
	}
	return s
}
