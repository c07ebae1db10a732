package main

import (
	"archive/zip"
	"bufio"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

var long = flag.Bool("long", false, "also run what takes minutes: all bombs, through every door")

// bomb is a file that asks for more than it is worth.
type bomb struct {
	name, file string
	data       func(io.Writer)
	entry      string // of readings, beside its files
	noLinks    bool   // there is no links.csv
	facts      int64  // MB, where its rows are well and so kept
	long       bool   // only with -long
}

// Each is made a quarter as large without -long, whatever its name says: what it may cost
// goes by its size. JSON and YAML are always made whole, for their bounds do not.
func bytesOf(mb int) int {
	if *long {
		return mb << 20
	}
	return mb << 18
}

const (
	bombMB  = 95
	heldMB  = 19 // JSON and reports of keys
	yamlMB  = 1
	heading = "link,wavelength_nm,direction,loss_db\n"
)

// repeat writes a head and then a piece until there are so many bytes. Nothing
// large is held here: the kernel counts the memory of this process as that of
// the program which it starts.
func repeat(w io.Writer, head, piece string, size int) {
	must(io.WriteString(w, head))
	chunk := strings.Repeat(piece, max(1, 1<<16/len(piece)))
	for n := size - len(head); n > 0; n -= len(chunk) {
		must(io.WriteString(w, chunk[:min(len(chunk), max(1, n/len(piece))*len(piece))]))
	}
}

// rows repeats a row until the file has so many megabytes.
func rows(head, row string, mb int) func(io.Writer) {
	return func(w io.Writer) { repeat(w, head, row, bytesOf(mb)) }
}

// whole is rows, as many with -long as without.
func whole(head, element string, mb int) func(io.Writer) {
	return func(w io.Writer) { repeat(w, head, element, mb<<20) }
}

// closed is a list of objects, so many megabytes of them.
func closed(object string, mb int) func(io.Writer) {
	return func(w io.Writer) {
		repeat(w, "[", object+",", mb<<20)
		must(io.WriteString(w, object+"]"))
	}
}

// numbered is rows with a number of its own in each.
func numbered(head, row string, mb int) func(io.Writer) {
	return func(w io.Writer) {
		must(io.WriteString(w, head))
		for i, n := 0, 0; n < bytesOf(mb); i++ {
			n += must(fmt.Fprintf(w, row, i))
		}
	}
}

// packed is a workbook whose sheet and shared texts are given.
func packed(sheet func(io.Writer), texts string, more ...string) func(io.Writer) {
	return func(out io.Writer) {
		const relations = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">%s</Relationships>`
		const relation = `<Relationship Id="r%d" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" Target="%s"/>`
		z := zip.NewWriter(out)
		put := func(name, data string) { must(io.WriteString(must(z.Create(name)), data)) }
		put("_rels/.rels", fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "officeDocument", "/xl/workbook.xml")))
		put("xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`)
		put("xl/_rels/workbook.xml.rels", fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "worksheet", "worksheets/one.xml")+fmt.Sprintf(relation, 2, "sharedStrings", "texts.xml")))
		sheet(must(z.Create("xl/worksheets/one.xml")))
		w := must(z.Create("xl/texts.xml"))
		repeat(w, `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`, "<si/>", len(texts))
		must(io.WriteString(w, `</sst>`))
		for _, name := range more {
			put(name, "again")
		}
		if err := z.Close(); err != nil {
			panic(err)
		}
	}
}

// sheetXML is a sheet of a row, another that is repeated, and what follows them,
// each to so many megabytes.
func sheetXML(before, row string, mb int, after string, afterMB int) func(io.Writer) {
	return func(w io.Writer) {
		must(io.WriteString(w, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`))
		if must(io.WriteString(w, before)); row != "" {
			repeat(w, "", row, bytesOf(mb))
		}
		if must(io.WriteString(w, `</sheetData>`)); after != "" {
			repeat(w, "", after, bytesOf(afterMB))
		}
		must(io.WriteString(w, `</worksheet>`))
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

var bombs = []bomb{
	{name: "rows that hold no number", file: "readings/a.csv", data: rows(heading, "A-11,1310,A-B,x\n", bombMB)},
	{name: "rows of unknown links", file: "readings/a.csv", data: numbered(heading, "L-%d,1310,A-B,0.35\n", bombMB), long: true},
	{name: "rows with seven faults each", file: "readings/a.csv", data: rows("link,wavelength_nm,direction,loss_db,reflectance_db,length_m,time\n", "Z,x,y,z,v,w,u\n", bombMB), long: true},
	{name: "retests without a time", file: "readings/a.csv", data: rows(heading, "B-01,850,A-B,0.35\n", 12), long: true},
	{name: "blank lines", file: "readings/a.csv", data: rows(heading+"Z,1,A-B,1\n", "\n", bombMB)},
	{name: "one line", file: "readings/a.csv", data: rows("", "x", bombMB)},
	{name: "commas alone", file: "readings/a.csv", data: rows("", ",", bombMB), long: true},
	{name: "a quote never closed", file: "readings/a.csv", data: rows(heading+`A-11,1310,A-B,"`, "x\n", bombMB)},
	{name: "rows of 4,000 columns", file: "readings/a.csv", data: rows(heading, strings.Repeat(",", 3999)+"x\n", bombMB), long: true},
	{name: "UTF-16 of bad rows", file: "readings/a.csv", data: rows("\xff\xfe", "x\x00,\x00\n\x00", bombMB), long: true},
	{name: "a report of keys", file: "readings/a.txt", entry: "report: Fibre", data: rows("", "Fibre: A-11\nLoss: x\n", heldMB), long: true},
	{name: "a large report of keys", file: "readings/a.txt", entry: "report: Fibre", data: rows("", "Fibre: A-11\nLoss: x\n", bombMB)},
	{name: "a report of different keys", file: "readings/a.txt", entry: "report: Fibre", data: numbered("Fibre: A-11\n", "Key %d: 1\n", bombMB)},
	{name: "fixed width of bad rows", file: "readings/a.txt", entry: "fixed_width: [1, 6, 11, 15]", data: rows("link  wavelength_nm direction loss_db\n", "A-11 1310 A-B x\n", bombMB), long: true},
	{name: "a transposed table", file: "readings/a.csv", entry: "transposed: true", data: rows(heading, "A-11,1310,A-B,x\n", bombMB)},
	{name: "a wide transposed table", file: "readings/a.csv", entry: "transposed: true", data: rows("", strings.Repeat(",", 4000)+"\n", bombMB), long: true},
	{name: "JSON of numbers", file: "readings/a.json", data: whole("[", "1,", heldMB)},
	{name: "JSON of brackets", file: "readings/a.json", data: whole("", "[", heldMB)},
	{name: "JSON of keys", file: "readings/a.json", data: numbered(`[{`, `"k%d":1,`, heldMB), long: true},
	{name: "JSON of small objects", file: "readings/a.json", data: whole("[", `{"a":1},`, heldMB), long: true},
	{name: "JSON of readings", file: "readings/a.json", data: closed(`{"link":"A-11","loss_db":1}`, heldMB), long: true},
	{name: "large JSON", file: "readings/a.json", data: whole("[", "1,", bombMB)},
	{name: "YAML of lists", file: "readings/a.yaml", data: whole("", "[", yamlMB)},
	{name: "YAML of readings", file: "readings/a.yaml", data: whole("", "- {link: Z, loss_db: x}\n", yamlMB), long: true},
	{name: "YAML of aliases", file: "job.yaml", data: numbered("aliases:\n", "  alias-%d: x\n", yamlMB), long: true},
	{name: "a schedule of faults", file: "links.csv", data: numbered("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n", "L-%d,a,b,OS9,1,1,1,LC,LC\n", bombMB), long: true},
	{name: "a schedule of three million links", facts: 640, file: "links.csv", data: numbered("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n", "L-%d,a,b,OS2,1,2,1,LC,LC\n", bombMB), long: true},
	{name: "rows of unknown links and no schedule", file: "readings/a.csv", data: numbered(heading, "L-%d,1310,A-B,0.35\n", bombMB), noLinks: true, long: true},
	{name: "200 MB of rows in a workbook of 190 KB", file: "readings/a.xlsx", data: packed(sheetXML("", "<row/>", 200, "", 0), "")},
	{name: "19 MB of rows in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("", `<row><c r="A1"/><c/><c/></row>`, 19, "", 0), "")},
	{name: "19 MB of cells in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("<row>", "<c/>", 19, "", 0), ""), long: true},
	{name: "19 MB behind the rows of a workbook", file: "readings/a.xlsx", data: packed(sheetXML(`<row><c t="inlineStr"><is><t>link</t></is></c></row>`, "", 0, "<x/>", 19), ""), long: true},
	{name: "a last row alone", file: "readings/a.xlsx", data: packed(sheetXML(`<row r="1048576"><c><v>1</v></c></row>`, "", 0, "", 0), "")},
	{name: "19 MB of texts in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("", "", 0, "", 0), strings.Repeat(" ", 19<<20)), long: true},
	{name: "a part named twice", file: "readings/a.xlsx", data: packed(sheetXML("", "", 0, "", 0), "", "XL/worksheets/ONE.xml")},
}

// TestBombs holds what each bomb buys: no more than 20 s of processor, and of
// memory twice its size and 120 MB, but never more than 200 MB, which JSON may
// take whatever its size, and 10 MB as the collector comes. With -v it prints a table.
func TestBombs(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	program := filepath.Join(t.TempDir(), "spanseal")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	base := must(os.ReadFile("../../testdata/script/cabinet/job.yaml"))
	job, _, _ := strings.Cut(string(base), "readings:\n")
	links := must(os.ReadFile("../../testdata/script/cabinet/links.csv"))
	for _, b := range bombs {
		if b.long && !*long {
			continue
		}
		t.Run(b.name, func(t *testing.T) {
			dir := t.TempDir()
			if !b.noLinks {
				write(t, filepath.Join(dir, "links.csv"), links)
			}
			entry := ""
			if b.entry != "" {
				entry = "readings:\n  - files: \"readings/*\"\n    " + b.entry + "\n"
			}
			write(t, filepath.Join(dir, "job.yaml"), []byte(job+entry))
			write(t, filepath.Join(dir, b.file), nil)
			f := must(os.OpenFile(filepath.Join(dir, b.file), os.O_WRONLY, 0))
			w := bufio.NewWriter(f)
			b.data(w)
			if err := errors.Join(w.Flush(), f.Close()); err != nil {
				t.Fatal(err)
			}
			size := must(os.Stat(filepath.Join(dir, b.file))).Size()
			doors := [][]string{{"check", dir}}
			if strings.HasPrefix(b.file, "readings/") {
				doors = append(doors, []string{"new", "--from", filepath.Join(dir, b.file)})
			}
			for _, args := range doors {
				c := exec.Command(program, args...)
				out, _ := c.CombinedOutput()
				s := c.ProcessState
				if s.ExitCode() != 3 && args[0] == "check" || s.ExitCode() != 3 && s.ExitCode() != 0 {
					t.Errorf("%s: exit code %d\n%s", args[0], s.ExitCode(), out[max(0, len(out)-2000):])
				}
				peak := s.SysUsage().(*syscall.Rusage).Maxrss >> 10
				cpu := s.UserTime() + s.SystemTime()
				t.Logf("| %s | %s | %.1f MB | %d MB | %.1f s |", b.name, args[0], float64(size)/(1<<20), peak, cpu.Seconds())
				limit := min(210, 2*size>>20+120)
				if strings.HasSuffix(b.file, ".json") {
					limit = 210
				}
				if b.facts > 0 {
					limit = b.facts
				}
				if peak > limit {
					t.Errorf("%s: %d MB of memory, want at most %d", args[0], peak, limit)
				}
				if cpu > 20*time.Second {
					t.Errorf("%s: %v of processor time, want at most 20 s", args[0], cpu)
				}
			}
		})
	}
}

func write(t *testing.T, name string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, data, 0o644); err != nil {
		t.Fatal(err)
	}
}
