package limits

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

var (
	provenanceKeys = []string{"clause", "provenance", "low_confidence", "source"}
	selectorKeys   = []string{"fibre", "mode", "wavelength_nm", "connector", "polish", "test_cords", "reference", "length_m", "mated_pairs", "splices", "reflections", "attempts"}
	setKeys        = append([]string{"id", "kind", "title", "standard", "edition", "newer", "scope", "owner", "extends", "notes", "conflicts", "count_reflections_above_db", "values", "limits"}, provenanceKeys...)
	groupKeys      = slices.Concat([]string{"unit", "value", "rows"}, provenanceKeys)
	rowKeys        = slices.Concat([]string{"value", "ratio"}, selectorKeys, provenanceKeys)
	limitKeys      = []string{"id", "title", "quantity", "of", "where", "replaces", "at_most", "at_least", "budget", "percentile", "over", "out_of_specification"}
	termKeys       = []string{"rate", "amount"}
	budgetKeys     = []string{"launch", "launch_most", "sensitivity", "overload", "penalties", "margin"}
	bandKeys       = []string{"below", "say", "clause"}

	idForm = regexp.MustCompile(`^[a-z0-9][a-z0-9.+-]*$`)
)

// quantities are what limits may be about. A splicer's estimate is none: it is no
// measurement, and a job limits it by itself.
var quantities = []record.Quantity{record.InsertionLoss, record.TwoWayAverage, record.Reflectance, record.ReturnLoss,
	record.OpticalReturnLoss, record.Length, record.SpliceLoss, record.GroupMean, record.GroupPercentile}

// Parse reads one limit set. The set is nil when the list holds an error. A
// set that extends another is of use only after [Book.Add] has joined the two.
func Parse(f *source.File) (*Set, *diag.List) {
	r := newReader(f)
	root := r.root()
	if root == nil {
		return nil, r.List
	}
	s := r.set(root)
	if r.List.Errors() > 0 {
		return nil, r.List
	}
	if s.Extends == "" {
		s.check(f, r.List)
	}
	if r.List.Errors() > 0 {
		return nil, r.List
	}
	return s, r.List
}

// defaults of provenance pass from set to group to row.
type defaults struct {
	clause, source string
	provenance     Provenance
	low            bool
}

func (f *ticked) defaults(d defaults) defaults {
	if f.has("clause") {
		d.clause = f.text("clause")
	}
	if f.has("source") {
		d.source = f.text("source")
	}
	if f.has("provenance") {
		d.provenance = choice(f, "provenance", Read, Quoted, Recalled)
	}
	if f.has("low_confidence") {
		d.low = f.flag("low_confidence")
	}
	return d
}

func (r *reader) set(n *yaml.Node) *Set {
	f, ok := r.mapping(n, "a limit set", setKeys, "id", "title", "edition")
	if !ok {
		return nil
	}
	s := &Set{
		ID: f.text("id"), Title: f.text("title"), Standard: f.text("standard"), Edition: f.text("edition"), Newer: f.text("newer"),
		Scope: f.text("scope"), Owner: f.text("owner"), Extends: f.text("extends"),
		Notes: f.texts("notes"), Conflicts: f.texts("conflicts"),
		CountAbove: f.number("count_reflections_above_db"),
		File:       r.File.Name, SHA256: r.File.SHA256Hex(),
	}
	if !idForm.MatchString(s.ID) {
		r.Fault(f.val["id"], "bad-id", fmt.Sprintf("%q cannot be the id of a set", s.ID), "want lower-case letters, digits, points, plus signs and hyphens, such as tia-568.3-e", "")
	}
	s.Kind = choice(f, "kind", Cabling, Application, Fibre, Splices, Population, Planning, Constants)
	if !f.has("kind") {
		s.Kind = Cabling
	}
	if s.Standard == "" {
		if s.Owner == "" {
			f.need("standard")
		}
		s.Standard = s.Owner
	}
	d := f.defaults(defaults{})
	if v := f.val["values"]; v != nil {
		s.Groups = r.groups(v, s.ID, d)
	}
	for _, n := range f.items("limits") {
		if l, ok := r.limit(n, s, d); ok {
			s.Limits = append(s.Limits, l)
		}
	}
	for i := range s.Limits {
		s.Limits[i].Set = s
	}
	if s.Extends == "" {
		if len(s.Limits) == 0 && s.Kind.Binds() {
			f.need("limits")
		}
	}
	if len(s.Limits) > 0 && s.Kind == Planning {
		r.Fault(f.key("limits"), "binds-nothing", fmt.Sprintf("a set of kind %s has no limits", s.Kind), "give the set another kind, or remove limits:", "")
	}
	return s
}

// groups reads the values of a set, in the order of the file.
func (r *reader) groups(n *yaml.Node, id string, d defaults) (out []ValueRows) {
	ks := strict.Keys{}
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			name := n.Content[i].Value
			ks[name] = strict.Opt(func(v *yaml.Node) {
				if g, ok := r.group(name, v, id, d); ok {
					out = append(out, g)
				}
			})
		}
	}
	r.Object(n, "values", ks)
	return out
}

func (r *reader) group(name string, v *yaml.Node, id string, d defaults) (ValueRows, bool) {
	g := ValueRows{Name: name}
	if v.Kind == yaml.ScalarNode { // mated_pair: 0.3 dB
		number, unit, ok := r.amount(v)
		if !ok {
			return g, false
		}
		g.Unit = unit
		g.Rows = []*Value{r.finish(v, &Value{Group: g.Name, Set: id, Number: number, Unit: unit, Line: v.Line}, d)}
		return g, true
	}
	f, ok := r.mapping(v, "a value", groupKeys, "unit")
	if !ok {
		return g, false
	}
	g.Unit = choice(f, "unit", units...)
	gd := f.defaults(d)
	if f.has("value") == f.has("rows") {
		r.Fault(v, "missing-key", fmt.Sprintf("%q needs either value: or rows:", name), "one of the two", "")
		return g, false
	}
	if f.has("value") {
		if number := f.number("value"); number != nil {
			g.Rows = []*Value{r.finish(v, &Value{Group: g.Name, Set: id, Number: *number, Unit: g.Unit, Line: f.val["value"].Line}, gd)}
		}
	}
	for _, rn := range f.items("rows") {
		rf, ok := r.mapping(rn, "a row", rowKeys, "value")
		if !ok {
			continue
		}
		if number := rf.number("value"); number != nil {
			g.Rows = append(g.Rows, r.finish(rn, &Value{Group: g.Name, Set: id, Number: *number, Unit: g.Unit, Where: r.selector(rf), Line: rn.Line}, rf.defaults(gd)))
		}
	}
	if g.Unit == quantity.Milliwatt {
		g.Unit = quantity.DBm // as its rows are now
	}
	return g, true
}

// units of values; "1" is for a plain number.
var units = []quantity.Unit{quantity.DB, quantity.DBPerKm, quantity.Metre, quantity.DBm, quantity.Milliwatt, "1"}

// finish gives a value its provenance, which every value must have.
func (r *reader) finish(n *yaml.Node, v *Value, d defaults) *Value {
	v.Clause, v.Source, v.Provenance, v.Low = d.clause, d.source, d.provenance, d.low
	switch v.Unit {
	case "1":
		v.Unit = quantity.One
	case quantity.Milliwatt:
		level, err := quantity.MilliwattsInDBm(v.Number)
		if err != nil {
			r.Fault(n, "out-of-range", err.Error(), "want a power of more than 0 mW", "")
		}
		v.Number, v.Unit = level, quantity.DBm
	}
	if d.provenance == "" {
		r.Fault(n, "missing-key", "a value has no provenance", "add provenance: read, quoted or recalled, here or above", "")
	}
	return v
}

// amount reads "0.3 dB".
func (r *reader) amount(n *yaml.Node) (quantity.Decimal, quantity.Unit, bool) {
	number, unit, _ := strings.Cut(r.scalar(n, "a value"), " ")
	u := quantity.Unit(strings.TrimSpace(unit))
	if u == "" || !slices.Contains(units, u) {
		r.Fault(n, "no-unit", fmt.Sprintf("%q has no unit that is known here", n.Value), "want a value such as 0.3 dB, 0.35 dB/km, 300 m or -8 dBm", "")
		return quantity.Decimal{}, "", false
	}
	d := r.decimal(n, number, "a value")
	if d == nil {
		return quantity.Decimal{}, "", false
	}
	return *d, u, true
}

func (r *reader) limit(n *yaml.Node, s *Set, d defaults) (Limit, bool) {
	f, ok := r.mapping(n, "a limit", limitKeys, "id", "quantity")
	if !ok {
		return Limit{}, false
	}
	if record.Quantity(f.text("quantity")) == record.SplicerEstimate {
		r.Fault(f.val["quantity"], "unknown-value", "a set cannot limit a splicer's estimate, which is not a measurement", "want estimate_db_at_most under judge in job.yaml", "")
		return Limit{}, false
	}
	l := Limit{place: r.At(n), ID: f.text("id"), Title: f.text("title"), Quantity: choice(f, "quantity", quantities...)}
	for _, other := range s.Limits {
		if other.ID == l.ID {
			r.Fault(f.val["id"], "repeated-id", fmt.Sprintf("two limits have the id %q", l.ID), "give each its own", "")
		}
	}
	if l.Of = record.InsertionLoss; f.has("of") {
		l.Of = choice(f, "of", record.InsertionLoss, record.SpliceLoss)
	}
	if w := f.val["where"]; w != nil {
		if wf, ok := r.mapping(w, "where", selectorKeys); ok {
			l.Where = r.selector(wf)
		}
	}
	l.Replaces = f.texts("replaces")
	l.AtMost = r.terms(f, "at_most", s, l.ID, d)
	l.AtLeast = r.terms(f, "at_least", s, l.ID, d)
	if b := f.val["budget"]; b != nil {
		switch {
		case l.AtMost != nil || l.AtLeast != nil:
			r.Fault(f.key("budget"), "duplicate-key", "a limit has a budget and at_most or at_least", "split it into two limits", "")
		case l.Quantity != record.InsertionLoss && l.Quantity != record.TwoWayAverage:
			r.Fault(f.key("budget"), "unknown-value", fmt.Sprintf("a power budget is a limit of loss, not of %s", l.Quantity), "want quantity: insertion_loss or two_way_average", "")
		default:
			r.budget(b, s, &l, d)
		}
	} else if l.AtMost == nil && l.AtLeast == nil {
		r.Fault(n, "missing-key", "a limit needs at_most, at_least or both", "add at_most:", "")
	}
	if l.Listed = f.flag("out_of_specification"); l.Listed && l.Quantity != record.SpliceLoss {
		r.Fault(f.key("out_of_specification"), "unknown-value", fmt.Sprintf("a limit of %s lists nothing as out of specification", l.Quantity), "want quantity: splice_loss", "")
	}
	if p := f.number("percentile"); p != nil {
		l.Percentile = *p
	} else if l.Quantity == record.GroupPercentile {
		f.need("percentile")
	}
	for _, bn := range f.items("over") {
		if bf, ok := r.mapping(bn, "a band", bandKeys, "say"); ok {
			l.Over = append(l.Over, Band{Below: bf.number("below"), Say: bf.text("say"), Clause: bf.text("clause")})
		}
	}
	return l, true
}

// terms reads a list of terms, or a number with its unit, which becomes a
// value of its own under the label "flat".
func (r *reader) terms(f *ticked, key string, s *Set, limit string, d defaults) []Term {
	n := f.val[key]
	if n == nil {
		return nil
	}
	if n.Kind == yaml.ScalarNode {
		number, unit, ok := r.amount(n)
		if !ok {
			return nil
		}
		return []Term{{Rates: []string{r.inline(n, s, limit, key, "flat", number, unit, d)}, Amount: One}}
	}
	var out []Term
	for _, tn := range f.items(key) {
		tf, ok := r.mapping(tn, "a term", termKeys, "rate")
		if !ok {
			continue
		}
		t := Term{Rates: tf.texts("rate"), Amount: One}
		if tf.has("amount") {
			t.Amount = choice(tf, "amount", Amounts...)
		}
		if len(t.Rates) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// inline makes a figure that stands in a limit a value of its own, and returns
// its name, which holds set and limit, so that a set that extends this one does
// not overlay it by chance.
func (r *reader) inline(n *yaml.Node, s *Set, limit, key, label string, number quantity.Decimal, unit quantity.Unit, d defaults) string {
	name := Inline + s.ID + " " + limit + " " + key
	v := r.finish(n, &Value{Group: label, Set: s.ID, Number: number, Unit: unit, Line: n.Line}, d)
	s.Groups = append(s.Groups, ValueRows{Name: name, Unit: v.Unit, Rows: []*Value{v}})
	return name
}

// Inline begins the names of groups that are a figure in a limit.
const Inline = "flat "

// budget reads a power budget, which becomes the terms of both bounds.
func (r *reader) budget(n *yaml.Node, s *Set, l *Limit, d defaults) {
	f, ok := r.mapping(n, "a power budget", budgetKeys, "launch", "sensitivity")
	if !ok {
		return
	}
	terms := map[string]Term{}
	for _, key := range budgetKeys {
		v := f.val[key]
		if v == nil {
			continue
		}
		t := Term{Amount: One, Power: key != "penalties" && key != "margin", Less: key != "launch" && key != "launch_most"}
		name := r.scalar(v, key)
		if _, known := s.Group(name); known || strings.IndexAny(name, "0123456789.+-\u2212") != 0 {
			t.Rates = []string{name} // perhaps a value of the base
		} else if number, unit, ok := r.amount(v); ok {
			t.Rates = []string{r.inline(v, s, l.ID, key, key, number, unit, d)}
		}
		terms[key] = t
	}
	for _, key := range []string{"launch", "sensitivity", "penalties", "margin"} {
		if t, ok := terms[key]; ok {
			l.AtMost = append(l.AtMost, t)
		}
	}
	if f.has("launch_most") && !f.has("overload") {
		f.need("overload")
	}
	if overload, ok := terms["overload"]; ok {
		most, ok := terms["launch_most"]
		if !ok {
			most = terms["launch"]
		}
		l.AtLeast = []Term{most, overload}
	}
}

func (r *reader) selector(f *ticked) Selector {
	s := Selector{
		Fibre: f.texts("fibre"), Connector: f.texts("connector"), Polish: f.texts("polish"),
		Mode:        choice(f, "mode", record.Singlemode, record.Multimode),
		TestCords:   choice(f, "test_cords", record.StandardCords, record.ReferenceCords),
		Wavelengths: r.ranges(f, "wavelength_nm"),
		MatedPairs:  r.ranges(f, "mated_pairs"),
		Splices:     r.ranges(f, "splices"),
		Reflections: r.ranges(f, "reflections"),
		Attempts:    r.ranges(f, "attempts"),
		Ratio:       r.ranges(f, "ratio"),
	}
	for _, n := range f.items("reference") {
		var m record.ReferenceMethod
		strict.OneOf(&r.YAML, "reference", &m, record.OneCord, record.TwoCord, record.ThreeCord)(n)
		s.Reference = append(s.Reference, m)
	}
	if n := f.val["length_m"]; n != nil {
		from, to, _ := strings.Cut(r.scalar(n, "length_m"), "-")
		s.Length = new(Span)
		if from != "" {
			s.Length.Min = r.decimal(n, from, "length_m")
		}
		if to != "" {
			s.Length.Max = r.decimal(n, to, "length_m")
		}
		if from == "" && to == "" {
			r.Fault(n, "bad-range", "length_m has neither a start nor an end", "want a value such as 0-100, 100- or -100", "")
		}
	}
	return s
}

// ranges reads whole numbers and ranges of them: 1310, or 1260-1360, or "3-".
func (r *reader) ranges(f *ticked, key string) []Range {
	var out []Range
	for _, n := range f.items(key) {
		text := r.scalar(n, key)
		from, to, isRange := strings.Cut(text, "-")
		a, err := strconv.Atoi(from)
		b := a
		if isRange && err == nil {
			if b = 1 << 30; to != "" {
				b, err = strconv.Atoi(to)
			}
		}
		if err != nil || a < 0 || b < a {
			r.Fault(n, "bad-range", fmt.Sprintf("%s: %q is not a whole number or a range of them", key, text), "want a value such as 1310 or 1260-1360", "")
			continue
		}
		out = append(out, Range{a, b})
	}
	return out
}

// check reports limits that replace none of the set's, terms whose value the set
// does not have, and those whose unit does not come out as that of the limit. It
// runs once a set is whole, its base joined.
func (s *Set) check(f *source.File, list *diag.List) {
	var names []string
	for _, g := range s.Groups {
		if !strings.HasPrefix(g.Name, Inline) {
			names = append(names, g.Name)
		}
	}
	for i := range s.Limits {
		l := &s.Limits[i]
		s.checkReplaced(l, list)
		want := l.Quantity.Unit()
		for _, t := range slices.Concat(l.AtMost, l.AtLeast) {
			for _, rate := range t.Rates {
				g, ok := s.Group(rate)
				if !ok {
					hint := "values here: " + strings.Join(names, ", ")
					if near := near.Word(rate, names); near != "" {
						hint = fmt.Sprintf("did you mean %q?", near)
					}
					list.Add(diag.Problem{Code: "unknown-rate", Place: l.place, Message: fmt.Sprintf("limit %q uses the value %q, which is not among the set's values", l.ID, rate), Want: hint})
					continue
				}
				s.checkSigns(l, &t, g, f, list)
				want, way := want, "want dB/km times length_km, dB times a count, or m for a length"
				switch {
				case t.Power:
					want, way = quantity.DBm, "a power is in dBm or mW"
				case t.Less:
					way = "want dB"
				}
				for _, v := range g.Rows {
					if got := product(v.Unit, t.Amount); got != want {
						place := l.place
						if place.File != f.Name { // a limit of the base: the fault is in the set's own value
							place = diag.AtLine(f, source.Position{Line: v.Line, Column: 1}, 1)
						}
						list.Add(diag.Problem{
							Code: "wrong-unit", Place: place,
							Message: fmt.Sprintf("limit %q: %s in %q times %s is not in %s", l.ID, v.Group, v.Unit, t.Amount, want),
							Want:    way,
						})
						break
					}
				}
			}
		}
	}
}

// checkSigns reports the set's own figures that no limit can have: a loss a
// kilometre, a length or a whole allowance below nothing, a reflectance above. A
// term of a sum may be below: it is taken off; of a power budget only a power.
func (s *Set) checkSigns(l *Limit, t *Term, g *ValueRows, f *source.File, list *diag.List) {
	alone := l.AtLeast == nil && len(l.AtMost) == 1
	for _, v := range g.Rows {
		sign, want := v.Number.Sign(), ""
		switch {
		case v.Set != s.ID || t.Power:
		case l.Quantity == record.Reflectance && sign > 0:
			want = "a reflectance is in negative dB, such as -35"
		case sign < 0 && (v.Unit != quantity.DB || t.Less || alone && l.Quantity != record.Reflectance):
			want = "want a figure that is not negative"
		}
		if want != "" {
			number := v.Number.String()
			column := 1 + max(0, strings.Index(f.Line(v.Line), number))
			list.Add(diag.Problem{Code: "wrong-sign", Place: diag.AtLine(f, source.Position{Line: v.Line, Column: column}, len(number)),
				Message: strings.TrimSpace(fmt.Sprintf("limit %q: %s cannot be %s %s", l.ID, v.Group, number, v.Unit)), Want: want})
		}
	}
}

// checkReplaced reports what a limit replaces and cannot.
func (s *Set) checkReplaced(l *Limit, list *diag.List) {
	for _, id := range l.Replaces {
		var others []string
		found := false
		for i := range s.Limits {
			if o := &s.Limits[i]; o.ID != l.ID && o.Quantity == l.Quantity {
				others = append(others, o.ID)
				found = found || o.ID == id
			}
		}
		if found {
			continue
		}
		want := fmt.Sprintf("other limits of %s here: %s", l.Quantity, strings.Join(others, ", "))
		if near := near.Word(id, others); near != "" {
			want = fmt.Sprintf("did you mean %q?", near)
		} else if len(others) == 0 {
			want = fmt.Sprintf("the set has no other limit of %s; leave replaces out", l.Quantity)
		}
		list.Add(diag.Problem{Code: "unknown-limit", Place: l.place, Message: fmt.Sprintf("limit %q replaces %q, which is not another limit of %s of the set", l.ID, id, l.Quantity), Want: want})
	}
}

// product is the unit of a rate times an amount, or "?".
func product(rate quantity.Unit, a Factor) quantity.Unit {
	switch {
	case rate == quantity.DBPerKm && a == LengthKm:
		return quantity.DB
	case rate == quantity.DBPerKm || a == LengthKm || a == LengthM:
		return "?"
	}
	return rate
}
