package change

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// field is one value on record: its name within what it is about, such as
// "end_a.connector", and what JSON has there: a text, a number, true or false, or a
// list of these.
type field struct {
	name  string
	value any
}

// fields are those of one thing, in the order of the file.
type fields []field

// thing is a member of a list of objects, such as an instrument.
type thing struct {
	list, id string
	fields   fields
}

// flatten reads an object: its fields, and the things in its lists.
func flatten(raw []byte) (all fields, things []thing, err error) {
	if len(raw) == 0 {
		return nil, nil, nil
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	err = flat(d, "", &all, &things)
	return all, things, err
}

// flat reads one value under a name.
func flat(d *json.Decoder, name string, all *fields, things *[]thing) error {
	t, err := d.Token()
	if err != nil {
		return err
	}
	switch t {
	case nil:
		return nil
	case json.Delim('{'):
		for d.More() {
			key, err := d.Token()
			if err != nil {
				return err
			}
			inner := key.(string)
			if name != "" {
				inner = name + "." + inner
			}
			if err := flat(d, inner, all, things); err != nil {
				return err
			}
		}
		_, err = d.Token()
		return err
	case json.Delim('['):
		var values []any
		for n := 1; d.More(); n++ {
			var item fields
			if err := flat(d, "", &item, things); err != nil {
				return err
			}
			if len(item) == 1 && item[0].name == "" {
				values = append(values, item[0].value)
				continue
			}
			id := item.id(n)
			if name == releases {
				id = item.text("day")
			}
			*things = append(*things, thing{name, id, item})
		}
		if values != nil {
			if err := all.add(field{name, values}); err != nil {
				return err
			}
		}
		_, err = d.Token()
		return err
	}
	return all.add(field{name, t})
}

// add refuses a second value under a name: which of the two counts would be a guess.
func (f *fields) add(one field) error {
	if slices.ContainsFunc(*f, func(has field) bool { return has.name == one.name }) {
		return fmt.Errorf("%q stands there twice", one.name)
	}
	*f = append(*f, one)
	return nil
}

// id tells a thing in a list apart: what names it, or its place.
func (f fields) id(n int) string {
	for _, name := range []string{"id", "line", "title", "code"} {
		if v := f.text(name); v != "" {
			return v
		}
	}
	return fmt.Sprint(n)
}

// text is a field's, or "".
func (f fields) text(name string) string {
	switch v := f.get(name).(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	}
	return ""
}

func (f fields) get(name string) any {
	for i := range f {
		if f[i].name == name {
			return f[i].value
		}
	}
	return nil
}

// differing is a field that differs: old and new.
type differing struct {
	name     string
	old, now any
}

// follow is what goes without saying where another field differs: it is read from
// that one.
var follow = map[string]string{
	"length_text":      "length_m",
	"mode":             "fibre",
	"end_a.spliced_on": "end_a.text",
	"end_a.connector":  "end_a.text",
	"end_a.polish":     "end_a.text",
	"end_b.spliced_on": "end_b.text",
	"end_b.connector":  "end_b.text",
	"end_b.polish":     "end_b.text",
}

// differ compares fields by name, in the order of the new ones; those that are gone
// come last.
func differ(old, now fields, but ...string) (out []differing) {
	for _, f := range now {
		if was := old.get(f.name); !equal(was, f.value) && !slices.Contains(but, f.name) {
			out = append(out, differing{f.name, was, f.value})
		}
	}
	for _, f := range old {
		if now.get(f.name) == nil && !slices.Contains(but, f.name) {
			out = append(out, differing{f.name, f.value, nil})
		}
	}
	for i, d := range out { // what is left out is no
		if _, is := d.old.(bool); is && d.now == nil {
			out[i].now = false
		}
		if _, is := d.now.(bool); is && d.old == nil {
			out[i].old = false
		}
	}
	all := slices.Clone(out)
	return slices.DeleteFunc(out, func(d differing) bool {
		from, ok := follow[d.name]
		return ok && slices.ContainsFunc(all, func(o differing) bool { return o.name == from })
	})
}

// equal compares what JSON has there: lists may hold lists.
func equal(a, b any) bool { return reflect.DeepEqual(a, b) }

// word names a field.
func word(name string) statement.Word {
	return statement.Word{Group: "change_field", Code: strings.ReplaceAll(strings.TrimPrefix(strings.TrimPrefix(name, "judge."), "method."), ".", "_")}
}

// vocabulary is the group of words that the values of a field are of.
var vocabulary = map[string]string{
	"end_face":                  "end_face",
	"result":                    "end_face",
	"cleaning":                  "change_value",
	"mode":                      "mode",
	"polarity":                  "polarity",
	"quantity":                  "quantity",
	"judge.reference":           "reference",
	"judge.test_cords":          "cords",
	"method.reference":          "reference",
	"method.test_cords":         "cords",
	"method.stage":              "stage",
	"judge.decision":            "decision",
	"judge.require.directions":  "change_value",
	"judge.require.reflectance": "change_value",
	"judge.require.inspection":  "change_value",
	"judge.require.originals":   "change_value",
	"weight":                    "change_value",
	"unit":                      "pay_unit",
}

// days are the fields that are days or moments.
var days = []string{"calibrated", "due", "valid_until", "completed", "deadline", "finished", "shut", "time", "reference_time", "warranty.registered", "pay.period.from", "pay.period.to"}

// numbers are the decimals that no unit at the end of their name shows.
var numbers = []string{"value", "rate", "amount", "threshold", "retainage_percent", "pay.retainage_percent", "judge.guard_factor", "judge.group_index", "method.group_index", "latitude", "longitude"}

// terminations is where the terminations of a link stand.
const terminations = "terminations"

// texts are the fields whose texts the vocabulary may have, by the list that they
// stand in, and its group.
var texts = map[string]string{
	terminations + ".kind": "made",
	"instruments.kind":     "instrument_kind",
	"people.role":          "role",
	".end_a.text":          "made",
	".end_b.text":          "made",
	".standard":            "citation",
	".edition":             "citation",
}

// value is a field's value as an argument; what is not there is not given. It may
// stand in a list.
func value(name string, v any, in ...string) statement.Any {
	if text, ok := v.(string); ok && text != "" {
		if group := texts[strings.Join(in, "")+"."+name]; group != "" {
			return statement.As(statement.Known{Group: group, Text: text})
		}
	}
	switch v := v.(type) {
	case nil:
		return statement.Any{}
	case bool:
		if v {
			return plainWord("yes")
		}
		return plainWord("no")
	case []any:
		var list statement.List
		for _, item := range v {
			list = append(list, value(name, item))
		}
		return statement.As(list)
	case json.Number:
		n, err := v.Int64()
		switch {
		case err != nil:
			return statement.As(statement.Name(v.String()))
		case strings.Contains(name, "wavelength"):
			return statement.As(statement.NM(n))
		}
		return statement.As(statement.Count(n))
	case string:
		return text(name, v)
	}
	return statement.As(statement.Name(fmt.Sprint(v)))
}

func text(name, v string) statement.Any {
	if v == "" {
		return statement.Any{}
	}
	if group := vocabulary[name]; group != "" {
		return statement.As(statement.Word{Group: group, Code: strings.ReplaceAll(v, " ", "_")})
	}
	if slices.Contains(days, name) {
		if day, err := record.ParseDate(v); err == nil {
			return statement.As(statement.Day(day))
		}
		if at, err := time.Parse(time.RFC3339, v); err == nil {
			return statement.As(statement.Moment(at))
		}
	}
	unit := unitOf(name)
	if unit != "" || slices.Contains(numbers, name) {
		if d, err := quantity.Parse(v); err == nil {
			return statement.Any{Argument: statement.Number{Decimal: d}, Unit: unit}
		}
	}
	if strings.HasSuffix(name, "sha256") && len(v) > 16 {
		v = v[:16]
	}
	return statement.As(statement.Name(v))
}

// unitOf is the unit at the end of a field's name.
func unitOf(name string) string {
	switch {
	case strings.HasSuffix(name, "_dbm"):
		return "dBm"
	case strings.HasSuffix(name, "_db"), strings.HasSuffix(name, "_db_at_most"):
		return "dB"
	case strings.HasSuffix(name, "_m"):
		return "m"
	case strings.HasSuffix(name, "_percent"), name == "percent":
		return "%"
	}
	return ""
}

// plainWord is a word for a value that is true or false.
func plainWord(key string) statement.Any {
	return statement.As(statement.Word{Group: "change_value", Code: key})
}
