package cli_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"spanseal/internal/cli"
)

// cabinetRows are the readings of the scripts' small job.
var cabinetRows = [][]string{
	{"link", "wavelength_nm", "direction", "loss_db", "source", "instrument", "person", "reference_time", "time", "note"},
	{"B-01", "850", "A-B", "0.71", "LS-6", "PM-9", "mo", "2026-11-18 08:15", "2026-11-18 09:02", "gereinigt, geprüft"},
	{"B-01", "850", "B-A", "0.74", "LS-6", "PM-9", "mo", "2026-11-18 08:15", "2026-11-18 09:06", ""},
	{"B-01", "1300", "A-B", "0.48", "LS-6", "PM-9", "mo", "2026-11-18 08:15", "2026-11-18 09:02", ""},
	{"B-01", "1300", "B-A", "0.50", "LS-6", "PM-9", "mo", "2026-11-18 08:15", "2026-11-18 09:06", ""},
}

// cabinetLinks is the schedule of that job.
var cabinetLinks = [][]string{
	{"link", "from", "to", "fibre", "length_m", "mated_pairs", "splices", "end_a", "end_b"},
	{"B-01", "cabinet K2 port 1", "panel C1 port 25", "OM4", "88", "2", "0", "factory LC/PC", "factory LC/PC"},
}

// input is a job's files beside those of the scripts' small job; nil removes
// one.
type input map[string][]byte

// layIn writes the scripts' small job without its readings, and the input.
func layIn(t testing.TB, in input) (dir string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "job")
	if err := os.CopyFS(dir, os.DirFS("../../testdata/script/cabinet")); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, "readings", "day1.csv")); err != nil {
		t.Fatal(err)
	}
	for name, data := range in {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if data == nil {
			if err := os.Remove(path); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// mapped is the job file of the small job with other entries of readings.
func mapped(t testing.TB, entries string) []byte {
	t.Helper()
	job, err := os.ReadFile("../../testdata/script/cabinet/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	before, _, ok := bytes.Cut(job, []byte("readings:\n"))
	if !ok {
		t.Fatal("the small job has no readings")
	}
	return append(before, entries...)
}

func joined(rows [][]string, delimiter string) []byte {
	var b strings.Builder
	for _, row := range rows {
		cells := slices.Clone(row)
		for i, c := range cells {
			if strings.Contains(c, delimiter) {
				cells[i] = `"` + c + `"`
			}
		}
		b.WriteString(strings.Join(cells, delimiter) + "\n")
	}
	return []byte(b.String())
}

// workbookOf writes the rows into a sheet of a workbook.
func workbookOf(t testing.TB, sheet string, rows [][]string) []byte {
	t.Helper()
	f := excelize.NewFile()
	if err := f.SetSheetName("Sheet1", sheet); err != nil {
		t.Fatal(err)
	}
	for r, row := range rows {
		for c, text := range row {
			cell, err := excelize.CoordinatesToCellName(c+1, r+1)
			if err == nil && strings.Trim(text, "0123456789.") == "" && text != "" {
				err = f.SetCellDefault(sheet, cell, text)
			} else if err == nil {
				err = f.SetCellStr(sheet, cell, text)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	out, err := f.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func yamlRows(rows [][]string) []byte {
	var b strings.Builder
	for _, row := range rows[1:] {
		lead := "- "
		for i, name := range rows[0] {
			if row[i] != "" {
				fmt.Fprintf(&b, "%s%s: %q\n", lead, name, row[i])
				lead = "  "
			}
		}
	}
	return []byte(b.String())
}

// typefaceWith is the Go regular typeface in which further characters look like
// another one: a stand-in for a typeface of a script that ours has not. Its
// character map is one of format 12 (OpenType 1.9, cmap).
func typefaceWith(t testing.TB, more string, like rune) []byte {
	t.Helper()
	ttf := goregular.TTF
	f, err := sfnt.Parse(ttf)
	if err != nil {
		t.Fatal(err)
	}
	var buf sfnt.Buffer
	glyphs := map[rune]uint32{}
	for r := rune(' '); r < 0x3000; r++ {
		if g, err := f.GlyphIndex(&buf, r); err == nil && g != 0 {
			glyphs[r] = uint32(g)
		}
	}
	for _, r := range more {
		glyphs[r] = glyphs[like]
	}
	var runes []rune
	for r := range glyphs {
		runes = append(runes, r)
	}
	slices.Sort(runes)
	be := binary.BigEndian
	groups := []byte{}
	for _, r := range runes {
		groups = be.AppendUint32(be.AppendUint32(be.AppendUint32(groups, uint32(r)), uint32(r)), glyphs[r])
	}
	cmap := []byte{0, 0, 0, 1, 0, 3, 0, 10, 0, 0, 0, 12, 0, 12, 0, 0}
	cmap = be.AppendUint32(cmap, uint32(16+len(groups)))
	cmap = be.AppendUint32(cmap, 0)
	cmap = append(be.AppendUint32(cmap, uint32(len(runes))), groups...)
	out := slices.Clone(ttf)
	for i := range int(be.Uint16(ttf[4:])) {
		if entry := out[12+16*i:]; string(entry[:4]) == "cmap" {
			be.PutUint32(entry[8:], uint32(len(out)))
			be.PutUint32(entry[12:], uint32(len(cmap)))
		}
	}
	return append(out, cmap...)
}

// TestEveryKindOfInput takes each kind of input all the way: checked, issued
// and verified, with the digits that stand in it on the certificate's record.
func TestEveryKindOfInput(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	encode := func(enc interface{ Bytes([]byte) ([]byte, error) }, text []byte) []byte {
		out, err := enc.Bytes(text)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	csv := joined(cabinetRows, ",")
	office, err := os.ReadFile("../../testdata/intake/office/day1.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	any := "readings:\n  - files: \"readings/*\"\n"
	face := typefaceWith(t, "測定結果", 'A')
	tests := []struct {
		name  string
		in    input
		links []string
		code  int
	}{
		{"CSV", input{"readings/day1.csv": csv}, []string{"B-01"}, cli.ExitOK},
		{"TSV", input{"readings/day1.tsv": joined(cabinetRows, "\t"), "job.yaml": mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
		{"UTF-16", input{"readings/day1.csv": encode(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder(), csv)}, []string{"B-01"}, cli.ExitOK},
		{"Windows-1252", input{"readings/day1.csv": encode(charmap.Windows1252.NewEncoder(), joined(cabinetRows, ";")),
			"job.yaml": mapped(t, "readings:\n  - {files: \"readings/*\", encoding: windows-1252}\n")}, []string{"B-01"}, cli.ExitOK},
		{"XLSX", input{"readings/day1.xlsx": workbookOf(t, "Sheet1", cabinetRows), "job.yaml": mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
		{"XLSX of an office suite", input{"readings/day1.xlsx": office,
			"links.csv": []byte("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\nA-11,K2 port 1,C1 port 1,OS2,312,2,0,factory LC/UPC,factory LC/UPC\nA-12,K2 port 2,C1 port 2,OS2,312,2,0,factory LC/UPC,factory LC/UPC\n"),
			"job.yaml": mapped(t, `readings:
  - files: "readings/*.xlsx"
    header_line: 2
    header_rows: 2
    columns: {link: Strang, time: Zeit}
    instrument: PM-9
    source: LS-6
    person: mo
    not_measured: ["---"]
    each:
      - {wavelength_nm: 1310, direction: A-B, loss_db: "1310 nm A-B"}
      - {wavelength_nm: 1310, direction: B-A, loss_db: "1310 nm B-A"}
      - {wavelength_nm: 1550, direction: A-B, loss_db: "1550 nm A-B"}
      - {wavelength_nm: 1550, direction: B-A, loss_db: "1550 nm B-A"}
`)}, []string{"A-11", "A-12"}, cli.ExitOpen},
		{"a sheet named in Greek", input{"readings/day1.xlsx": workbookOf(t, "Μετρήσεις", cabinetRows), "job.yaml": mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
		{"a sheet named with accents", input{"readings/day1.xlsx": workbookOf(t, "Étage n°2, côté §", cabinetRows), "job.yaml": mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
		{"a sheet named in CJK, with a typeface that has it", input{"readings/day1.xlsx": workbookOf(t, "測定結果", cabinetRows), "job.yaml": mapped(t, any),
			"own.ttf": face, "documents/style.yaml": []byte("typefaces: {regular: own.ttf, medium: own.ttf, bold: own.ttf, italic: own.ttf, mono: own.ttf}\n")}, []string{"B-01"}, cli.ExitOK},
		{"YAML", input{"readings/day1.yaml": yamlRows(cabinetRows), "job.yaml": mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
		{"the schedule in a workbook", input{"readings/day1.csv": csv, "links.csv": nil, "links.xlsx": workbookOf(t, "Μελέτη", cabinetLinks)}, []string{"B-01"}, cli.ExitOK},
		{"the schedule under other headings", input{"readings/day1.csv": csv, "links.csv": nil,
			"plan.tsv": joined(append([][]string{{"Faserplan"}, {"Strang", "from", "to", "fibre", "length_m", "mated_pairs", "splices", "end_a", "end_b"}}, cabinetLinks[1:]...), "\t"),
			"job.yaml": mapped(t, any+"schedule: {file: plan.tsv, columns: {link: Strang}}\n")}, []string{"B-01"}, cli.ExitOK},
		{"a last reading beyond the range", input{"readings/day1.csv": csv, "readings/day2.csv": joined([][]string{cabinetRows[0],
			{"B-01", "850", "A-B", "OL", "LS-6", "PM-9", "mo", "2026-11-19 08:15", "2026-11-19 09:02", ""}}, ","),
			"job.yaml": mapped(t, any+"    over_range: [\"OL\"]\n")}, []string{"B-01"}, cli.ExitOpen},
		{"a bound below the resolution", input{"readings/day1.csv": bytes.Replace(csv, []byte("0.71"), []byte("<0.71"), 1)}, []string{"B-01"}, cli.ExitOK},
		{"mixed", input{
			"readings/day1.csv":  joined(cabinetRows[:2], ","),
			"readings/day2.tsv":  joined([][]string{cabinetRows[0], cabinetRows[2]}, "\t"),
			"readings/day3.xlsx": workbookOf(t, "Tag 3", [][]string{cabinetRows[0], cabinetRows[3]}),
			"readings/day4.yml":  yamlRows([][]string{cabinetRows[0], cabinetRows[4]}),
			"job.yaml":           mapped(t, any)}, []string{"B-01"}, cli.ExitOK},
	}
	key := filepath.Join(t.TempDir(), "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "M. Okafor")
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := layIn(t, tt.in)
			must(t, tt.code, "check", dir)
			must(t, tt.code, "issue", dir, "--key", key)
			report := must(t, cli.ExitOK, "verify", filepath.Join(dir, "issued", "r1"), "--trust", certificatePath(key))
			if !strings.Contains(report, "INTACT, SIGNER TRUSTED") {
				t.Errorf("verify says\n%s", report)
			}
			data, err := os.ReadFile(filepath.Join(dir, "issued", "r1", "results.json"))
			if err != nil {
				t.Fatal(err)
			}
			for _, link := range tt.links {
				if !strings.Contains(string(data), `"`+link+`"`) {
					t.Errorf("results.json names no link %s", link)
				}
			}
			if tt.code == cli.ExitOK { // the digits of the four losses, as they were written
				for _, loss := range []string{"0.71", "0.74", "0.48", "0.50"} {
					if !strings.Contains(string(data), loss) {
						t.Errorf("results.json does not hold the loss %s", loss)
					}
				}
			}
		})
	}
}

// TestComparedInItsTypefaces takes a text that only the job's own typefaces have to a
// comparison sheet, with a later job and with a file of readings: the sheet is set as the
// certificate was. Beside a paper that another key signed, the job's files are somebody
// else's, and are not asked.
func TestComparedInItsTypefaces(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	keys := t.TempDir()
	key, other := filepath.Join(keys, "signer.p12"), filepath.Join(keys, "other.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "M. Okafor")
	must(t, cli.ExitOK, "key", "new", other, "--name", "R. Lindqvist")
	day1 := joined(cabinetRows, ",")
	later := bytes.ReplaceAll(day1, []byte("2026-11-18"), []byte("2026-11-20"))
	in := input{"own.ttf": typefaceWith(t, "測定", 'A'), "readings/day1.csv": day1,
		"documents/style.yaml": []byte("typefaces: {regular: own.ttf, medium: own.ttf, bold: own.ttf, italic: own.ttf, mono: own.ttf}\n"),
		"links.csv":            bytes.Replace(joined(cabinetLinks, ","), []byte("cabinet"), []byte("測定"), 1)}
	dir := layIn(t, in)
	must(t, cli.ExitOK, "issue", dir, "--key", key)
	in["readings/day1.csv"] = later
	job, file := layIn(t, in), filepath.Join(keys, "retest.csv")
	check(t, os.WriteFile(file, later, 0o644))
	paper := filepath.Join(dir, "issued", "r1", "certificates", "B-01.pdf")
	sheet := filepath.Join(keys, "sheet.pdf")
	asCertified := []string{"--reference", "as-certified", "--test-cords", "as-certified"}
	for _, tt := range []struct {
		name, now, key string
		more           []string
		code           int
	}{
		{"a job", job, key, nil, cli.ExitOK},
		{"a job, with another key", job, other, nil, cli.ExitOK},
		{"a file", file, key, asCertified, cli.ExitOK},
		{"a file, with another key", file, other, asCertified, cli.ExitRefused},
	} {
		t.Run(tt.name, func(t *testing.T) {
			must(t, tt.code, append([]string{"compare", paper, tt.now, "--sheet", sheet, "--key", tt.key, "--trust", certificatePath(key)}, tt.more...)...)
			if tt.code != cli.ExitOK {
				return
			}
			must(t, cli.ExitOK, "verify", sheet, "--trust", certificatePath(tt.key))
			check(t, os.Remove(sheet))
		})
	}
}

// TestCheckRefusesFirst holds that check refuses whatever issue would refuse
// about the input, and that issue never fails on what check has let pass: the
// two commands end with the same exit code, whatever texts stand where.
func TestCheckRefusesFirst(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	key := filepath.Join(t.TempDir(), "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "M. Okafor")
	long := strings.Repeat("Überlänge ", 40)
	texts := []string{
		"plain", "a!b", "#1 & <2> @ $5 ~`^|{}", `"quoted"`, "Ελληνικά", "Cześć", "naïve", "ﬁnal", "ſtrand", "ırmak", "ß", "ǆ", "測定", "קובץ", "عربي", "😀",
		"a\u00adb", "a\u00a0b", "a\u2003b", "zero\u200bwidth", "x\u0301\u0302", "ẍ̣", "Å\u030a", "ﷺ", "\u202etfel", "Ⅷ", "½", "µΩ", "→⇒", "\ufeffbom", "\ufffd", "ĳ", "ŉ", long[:300], long[:320],
	}
	places := []struct {
		name string
		lay  func(text string) input
	}{
		{"sheet", func(s string) input {
			s = strings.Trim(strings.NewReplacer(":", "", `\`, "", "/", "", "?", "", "*", "", "[", "", "]", "").Replace(s), "'")
			r := []rune(s)
			return input{"readings/day1.xlsx": workbookOf(t, string(r[:min(len(r), 31)]), cabinetRows), "job.yaml": mapped(t, "readings:\n  - files: \"readings/*\"\n")}
		}},
		{"file", func(s string) input {
			r := []rune(strings.ReplaceAll(s, "/", ""))
			return input{"readings/" + string(r[:min(len(r), 60)]) + ".csv": joined(cabinetRows, ",")}
		}},
		{"evidence", func(s string) input {
			r := []rune(strings.ReplaceAll(s, "/", ""))
			return input{"readings/day1.csv": joined(cabinetRows, ","), "readings/" + string(r[:min(len(r), 60)]) + ".txt": []byte("notes\n"),
				"job.yaml": mapped(t, "readings:\n  - files: \"readings/*.csv\"\n  - {files: \"readings/*.txt\", evidence_only: true}\n")}
		}},
		{"column", func(s string) input { // of the readings: link, instrument, source, person, note
			rows := [][]string{cabinetRows[0]}
			column := []int{0, 4, 5, 6, 9}[len(s)%5]
			for _, row := range cabinetRows[1:] {
				row = slices.Clone(row)
				row[column] = strings.ReplaceAll(s, `"`, "'")
				rows = append(rows, row)
			}
			in := input{"readings/day1.csv": joined(rows, "\t")}
			if column == 0 {
				in["links.csv"] = joined([][]string{{"link", "from", "to", "fibre", "length_m", "mated_pairs", "splices", "end_a", "end_b"},
					{strings.ReplaceAll(s, `"`, "'"), "a", "b", "OM4", "88", "2", "0", "factory LC/PC", "factory LC/PC"}}, "\t")
			}
			return in
		}},
		{"link", func(s string) input {
			s = strings.ReplaceAll(s, `"`, "'")
			rows := [][]string{cabinetRows[0]}
			for _, row := range cabinetRows[1:] {
				rows = append(rows, append([]string{s}, row[1:]...))
			}
			return input{"readings/day1.csv": joined(rows, "\t"), "links.csv": joined([][]string{{"link", "from", "to", "fibre", "length_m", "mated_pairs", "splices", "end_a", "end_b"},
				{s, s + " from", s + " to", "OM4", "88", "2", "0", "factory LC/PC", "factory LC/PC"}}, "\t")}
		}},
		{"job", func(s string) input {
			job := string(mapped(t, "readings:\n  - files: \"readings/*\"\n"))
			was := []string{"BL-2026-032", "Cabinet link", "Bellweather Library", "Port Ansel Council", "fibre technician", "power meter"}[len(s)%6]
			quoted, err := json.Marshal(s)
			if err != nil {
				t.Fatal(err)
			}
			return input{"readings/day1.csv": joined(cabinetRows, ","), "job.yaml": []byte(strings.Replace(job, ": "+was, ": "+string(quoted), 1))}
		}},
	}
	// What may be wrong beside texts: times around the clock of the tests, and what
	// records and agreements are about.
	turn := 0
	next := func(list ...string) string { turn++; return list[turn%len(list)] }
	for _, wrong := range []struct {
		name string
		lay  func() input
	}{
		{"time", func() input {
			at := next("2026-11-25T15:59:59Z", "2026-11-25T16:00:00Z", "2026-11-25T16:00:01Z", "2026-11-25T23:00:00Z", "2026-11-26T09:00:00Z", "2026-11-25", "2026-11-26", "2027-01-02", "1999-01-01T08:00:00Z")
			rows := [][]string{cabinetRows[0]}
			for i, row := range cabinetRows[1:] {
				row = slices.Clone(row)
				if i == turn%4 {
					row[slices.Index(cabinetRows[0], "time")] = at
				}
				rows = append(rows, row)
			}
			return input{"readings/day1.csv": joined(rows, ",")}
		}},
		{"termination", func() input {
			row := next("B-01,A,factory connector,", "B-01,A,spliced-on connector,2026-11-17 08:00", "B-01,A,connector,\nB-01,A,connector,", "B-01,A,connector,2026-11-17 08:00\nB-01,A,connector,2026-11-17 09:00", "B-01,B,twisted,", "B-01,,splice,", "B-01,,connector,")
			return input{"readings/day1.csv": joined(cabinetRows, ","), "terminations.csv": []byte("link,end,kind,finished\n" + row + "\n")}
		}},
		{"agreement", func() input {
			o := next("{quantity: splice_loss}", "{set: tia-568.3-e}", "{set: tia-568.3-d}", "{set: tia-568.3-e, limit: link-los}", "{limit: link-loss}", "{quantity: reflectance, links: [B-01]}", "{quantity: reflectance, links: [B-02]}")
			job := string(mapped(t, "readings:\n  - files: \"readings/*\"\n"))
			o = strings.TrimSuffix(o, "}") + ", by: the owner, reason: short}"
			return input{"readings/day1.csv": joined(cabinetRows, ","), "job.yaml": []byte(strings.Replace(job, "judge:\n", "judge:\n  optional: ["+o+"]\n", 1))}
		}},
	} {
		for range 9 {
			in := wrong.lay()
			dir := layIn(t, in)
			checked, _, why := run(t, "check", dir)
			if done, _, told := run(t, "issue", dir, "--key", key); checked != done {
				t.Errorf("%s %q: check ends with %d, issue with %d\n%s\n%s", wrong.name, in, checked, done, why, told)
			}
			if checked == cli.ExitRefused && !strings.Contains(why, ": error: ") {
				t.Errorf("%s: check names no place:\n%s", wrong.name, why)
			}
		}
	}
	random := rand.New(rand.NewPCG(16, 1))
	refused, issued := 0, 0
	for n := range 66 {
		place, text := places[n%len(places)], texts[random.IntN(len(texts))]
		if n == 0 {
			text = "\ufffd" // this one was let pass
		}
		in := place.lay(text)
		dir := layIn(t, in)
		checked, _, why := run(t, "check", dir)
		done, _, told := run(t, "issue", dir, "--key", key)
		if checked != done {
			t.Errorf("%s %q: check ends with %d, issue with %d\n%s\n%s", place.name, text, checked, done, why, told)
		}
		switch checked {
		case cli.ExitRefused:
			refused++
			if !strings.Contains(why, ": error: ") {
				t.Errorf("%s %q: check names no place:\n%s", place.name, text, why)
			}
		case cli.ExitOK, cli.ExitOpen:
			if issued++; checked != done {
				continue
			}
			must(t, cli.ExitOK, "verify", filepath.Join(dir, "issued", "r1"), "--trust", certificatePath(key))
		default:
			t.Errorf("%s %q: check ends with %d\n%s", place.name, text, checked, why)
		}
	}
	if refused < 15 || issued < 20 {
		t.Errorf("%d jobs were refused and %d issued: the trial does not tell the two apart", refused, issued)
	}
}
