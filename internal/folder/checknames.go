package folder

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// CheckNames refuses files whose names a revision could not hold: it copies
// every original, lists it in the manifest and cites it on paper, and it has to
// be unpacked on any system. The bytes of a file are evidence; its name may be
// changed.
func CheckNames(originals []record.Original) *diag.List {
	list := &diag.List{}
	seen := map[string]string{} // by the name in lower case
	for _, o := range originals {
		add := func(code, message, fix string) {
			list.Add(diag.Problem{Code: code, Place: diag.Place{File: strings.ToValidUTF8(o.Name, "\uFFFD")}, Message: message, Fix: fix})
		}
		lower := strings.ToLower(o.Name)
		control := strings.IndexFunc(o.Name, source.IsControlInName)
		switch first, twice := seen[lower]; {
		case !utf8.ValidString(o.Name):
			add("name-not-utf-8", fmt.Sprintf("the file's name is not UTF-8: %q", o.Name), "rename the file; its bytes stay as they are")
		case control >= 0:
			r, _ := utf8.DecodeRuneInString(o.Name[control:])
			add("control-character", fmt.Sprintf("the file's name contains the control character U+%04X", r), "rename the file; its bytes stay as they are")
		case strings.Contains(o.Name, `\`):
			add("name-with-backslash", `the file's name contains a backslash, which separates folders on other systems`, "rename the file; its bytes stay as they are")
		case twice:
			add("names-differ-in-case", fmt.Sprintf("the names of this file and of %s differ in capitals only, so other systems would keep one of them", first),
				"rename one of the two; their bytes stay as they are")
		}
		seen[lower] = o.Name
	}
	return list
}
