// Package original ties the files that instruments wrote to the readings that they
// are of, by a pattern or by a list, and tells which readings lack theirs.
//
// # Patterns
//
// A pattern of job.yaml is a path in the job folder, such as
//
//	traces/{link}_{nm}_{way}.*
//
// with {link} for the name of a link, {nm} for a wavelength in nanometres and {way}
// for a direction (AB, BA, A-B, B-A). {stage} stands for a stage of the work by its
// code (shipped, reel, placed, spliced, final). A star stands for anything within one name. The
// first folder is named in full, and is one of its own. A file is of every wavelength,
// direction or stage that its pattern leaves out. In the name of a link an underscore may
// stand for what a file name cannot hold: a blank and / \ : * ? " < > |.
//
// # originals.csv
//
// One row for each link, wavelength and direction of a file whose name does not say it:
//
//	file,link,wavelength_nm,direction,stage
//	traces/0001.sor,A-11,1310,A-B,final
//
// wavelength_nm, direction and stage may be left out. A pattern does not apply to a file that
// is listed.
//
// # Bounds
//
// 200,000 files of at most 100 MB each, 10 GB together; see package folder.
package original

import (
	"errors"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"spanseal/internal/field"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// File is the list of files.
const File = "originals.csv"

// The columns of the list.
var (
	Required = []string{"file", "link"}
	Optional = []string{"wavelength_nm", "direction", "stage"}
)

// Tie is what a file is of, by its name or by the list.
type Tie struct {
	Link         string // as written
	WavelengthNM int    // 0: all
	Direction    record.Direction
	Stage        record.Stage // "": any
}

// Pattern is one of job.yaml.
type Pattern struct {
	Text   string
	Folder string         // below which its files are, without placeholders
	read   *regexp.Regexp // the longest names of links first
	short  *regexp.Regexp // the shortest
}

// others are the folders that hold something else.
var others = []string{"readings", "photos", "issued", "specimen", "wording", "documents", "limits"}

// parts are the expressions of the placeholders.
var parts = map[string]string{"nm": `(?P<nm>[0-9]{3,4})`, "way": `(?P<way>(?i:A-?B|B-?A))`, "stage": `(?P<stage>shipped|reel|placed|spliced|final)`}

var placeholder = regexp.MustCompile(`\{[^{}]*\}|\*|[{}]`)

// Parse reads a pattern. The error says what is wrong with it.
func Parse(text string) (*Pattern, error) {
	first, _, below := strings.Cut(text, "/")
	switch {
	case !utf8.ValidString(text):
		return nil, errors.New("want a text in UTF-8")
	case strings.Contains(text, `\`):
		return nil, errors.New("want / between folders")
	case !below || first == "" || path.Clean(text) != text || first == "..":
		return nil, errors.New("want a folder of the job and a name in it, such as traces/{link}_{nm}_{way}.*")
	case strings.ContainsAny(first, "{}*"):
		return nil, errors.New("name the first folder in full, such as traces")
	case strings.HasPrefix(first, "."):
		return nil, errors.New("files of hidden folders are not read")
	case slices.Contains(others, strings.ToLower(first)):
		return nil, fmt.Errorf("%s/ contains other files; want a separate folder, such as traces", first)
	}
	p := &Pattern{Text: text, Folder: first}
	long, short, at := "", "", 0
	seen := map[string]bool{}
	for _, m := range placeholder.FindAllStringIndex(text, -1) {
		part, before := text[m[0]:m[1]], regexp.QuoteMeta(text[at:m[0]])
		at = m[1]
		long, short = long+before, short+before
		name := strings.Trim(part, "{}")
		switch {
		case part == "*":
			long, short = long+`[^/]*`, short+`[^/]*`
			continue
		case name == "link":
			long, short = long+`(?P<link>[^/]+)`, short+`(?P<link>[^/]+?)`
		case parts[name] != "" && part == "{"+name+"}":
			long, short = long+parts[name], short+parts[name]
		default:
			return nil, fmt.Errorf("%q is no placeholder; want {link}, {nm}, {way} or {stage}", part)
		}
		if seen[name] {
			return nil, fmt.Errorf("{%s} occurs twice", name)
		}
		seen[name] = true
	}
	if !seen["link"] {
		return nil, errors.New("want {link} in place of the link's name")
	}
	rest := regexp.QuoteMeta(text[at:])
	p.read, p.short = regexp.MustCompile(`^`+long+rest+`$`), regexp.MustCompile(`^`+short+rest+`$`)
	return p, nil
}

// Read returns what a file may be of by its name, none where it does not fit: two
// where the name of the link may end at two places.
func (p *Pattern) Read(name string) (may []Tie) {
	for _, re := range []*regexp.Regexp{p.read, p.short} {
		m := re.FindStringSubmatch(name)
		if m == nil {
			return nil
		}
		var t Tie
		for i, group := range re.SubexpNames() {
			switch group {
			case "link":
				t.Link = m[i]
			case "nm":
				t.WavelengthNM, _ = strconv.Atoi(m[i])
			case "stage":
				t.Stage = record.Stage(m[i])
			case "way":
				t.Direction = record.AB
				if strings.EqualFold(m[i][:1], "B") {
					t.Direction = record.BA
				}
			}
		}
		if t.WavelengthNM != 0 && (t.WavelengthNM < field.MinWavelength || t.WavelengthNM > field.MaxWavelength) {
			continue
		}
		if !slices.Contains(may, t) {
			may = append(may, t)
		}
	}
	return may
}

// Safe is the name of a link as a file may have it.
func Safe(link string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(` /\:*?"<>|`, r) {
			return '_'
		}
		return r
	}, link)
}

// Refused says why a file of the job is not handed over as an instrument's, or is "".
func Refused(name, key string) string {
	switch {
	case path.Clean(name) == path.Clean(key) || slices.Contains([]string{".p12", ".pfx", ".pem", ".key"}, strings.ToLower(path.Ext(name))):
		return "it is, or may be, a key"
	case strings.Contains(name, `\`) || path.Clean(name) != name || strings.HasPrefix(name, "/") || strings.HasPrefix(name, "../"):
		return "it is not a path within the job folder, with / between folders"
	case !strings.Contains(name, "/"):
		return "it is among the job's own files; put it into a folder such as traces"
	case strings.HasPrefix(name, "issued/") || strings.HasPrefix(name, "specimen/"):
		return "spanseal wrote that folder"
	}
	return ""
}

// Row is one row of the list, by the names of its columns. Must adds a problem for an
// empty cell, and Fault one at a cell.
type Row interface {
	Text(column string) string
	Must(column, such string) string
	Fault(column, code, message, want, fix string)
}

// Read reads a row: a file, and what it is of.
func Read(row Row) (file string, t Tie) {
	file = strings.TrimPrefix(row.Must("file", "the path of a file in the job folder, such as traces/0001.sor"), "./")
	t.Link = row.Must("link", "the name of a link")
	if text := row.Text("wavelength_nm"); text != "" {
		nm, err := strconv.Atoi(text)
		if err != nil || nm < field.MinWavelength || nm > field.MaxWavelength {
			row.Fault("wavelength_nm", "out-of-range", fmt.Sprintf("%q is not a wavelength", text), fmt.Sprintf("want %d to %d nm, in digits, or nothing for a file of every wavelength", field.MinWavelength, field.MaxWavelength), "")
		}
		t.WavelengthNM = nm
	}
	switch text := strings.ToUpper(row.Text("direction")); text {
	case "":
	case "A-B", "AB":
		t.Direction = record.AB
	case "B-A", "BA":
		t.Direction = record.BA
	default:
		row.Fault("direction", "unknown-value", fmt.Sprintf("%q is not a direction", row.Text("direction")), "want A-B or B-A, or nothing for a file of both", "")
	}
	if text := record.Stage(strings.ToLower(row.Text("stage"))); text == "" || slices.Contains(record.Stages, text) {
		t.Stage = text
	} else {
		row.Fault("stage", "unknown-value", fmt.Sprintf("%q is not a stage of the work", text), "want shipped, reel, placed, spliced or final, or nothing", "")
	}
	return file, t
}

// Lacking are the losses that count of a link, made at a stage of the work, for which
// there is no file, and the readings themselves.
func Lacking(readings []record.Reading, files []record.InstrumentFile, at record.Stage) (subjects statement.List, without []record.Reading) {
	for i := range readings {
		r := &readings[i]
		if r.Quantity != record.InsertionLoss || slices.ContainsFunc(files, func(f record.InstrumentFile) bool { return f.Is(r, at) }) {
			continue
		}
		subjects = append(subjects, statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction})
		without = append(without, *r)
	}
	return subjects, without
}
