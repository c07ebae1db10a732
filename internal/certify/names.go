package certify

import (
	"slices"
	"unicode/utf8"

	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// longName is from how many characters a name takes the whole width.
const longName = 40

// names are what receivers call the link and where it lies, then the columns of the
// schedule's own, those first that are to be printed first.
func (sh *sheet) names() (all []layout.Field) {
	w, n := sh.words, sh.l.Link.Names
	for _, one := range sh.printable(n) {
		if !slices.Contains(record.NameKeys, one.Key) {
			all = append(all, layout.Field{Caption: one.Key, Value: one.Text})
			continue
		}
		caption, text := "link.names."+one.Key, one.Text
		switch one.Key {
		case "latitude":
			caption, text = "link.names.place", sh.degrees(n.Latitude)+"; "+sh.degrees(n.Longitude)
		case "longitude":
			continue
		}
		all = append(all, layout.Field{Caption: w.Say(caption), Value: text})
	}
	return all
}

func (sh *sheet) degrees(d *quantity.Decimal) string {
	if d == nil {
		return ""
	}
	return sh.words.Fixed(*d, d.Places())
}

// printNames sets the fields of the link, and the names for which there is room: short
// ones in the same columns, then long ones, each over the whole width.
func (sh *sheet) printNames(f *layout.Flow, fields []layout.Field) {
	long := func(one layout.Field) bool {
		return max(utf8.RuneCountInString(one.Value), utf8.RuneCountInString(one.Caption)) > longName
	}
	f.Fields(4, append(fields, slices.DeleteFunc(slices.Clone(sh.named), long)...)...)
	for _, one := range sh.named {
		if long(one) {
			f.Fields(1, one)
		}
	}
}

// fit finds how many names, from the first, can be printed without another page. The
// others stand in the record.
func (sh *sheet) fit(on page.Sheet, names []layout.Field, sections []string) error {
	pages := func(n int) (int, error) {
		sh.named = names[:n]
		return sh.press.Pages(on, true, func(f *layout.Flow) { sh.compose(f, sections) })
	}
	with, err := pages(len(names))
	if err != nil || with <= 1 {
		return err
	}
	without, err := pages(0)
	if err != nil {
		return err
	}
	fits, tooMany := 0, len(names) // which need another page
	if with <= without {
		fits = len(names)
	}
	for tooMany-fits > 1 && fits < len(names) {
		n := (fits + tooMany) / 2
		taken, err := pages(n)
		if err != nil {
			return err
		}
		if taken <= without {
			fits = n
		} else {
			tooMany = n
		}
	}
	sh.named = names[:fits]
	return nil
}
