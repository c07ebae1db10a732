package main

import (
	"archive/zip"
	"bytes"
	"flag"
	"fmt"
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
	data       func() []byte
	entry      string // of readings, beside its files
	long       bool   // only with -long
	accepted   bool   // it is no fault, only large
}

const (
	bombMB  = 95
	heading = "link,wavelength_nm,direction,loss_db\n"
)

// rows repeats a row until the file has so many megabytes.
func rows(head, row string, mb int) func() []byte {
	return func() []byte {
		return append([]byte(head), bytes.Repeat([]byte(row), (mb<<20-len(head))/len(row))...)
	}
}

// numbered is rows with a number of its own in each.
func numbered(head, row string, mb int) func() []byte {
	return func() []byte {
		var b bytes.Buffer
		b.WriteString(head)
		for i := 0; b.Len() < mb<<20; i++ {
			fmt.Fprintf(&b, row, i)
		}
		return b.Bytes()
	}
}

// packed is a workbook whose sheet and shared texts are given.
func packed(sheet func() []byte, texts string, more ...string) func() []byte {
	return func() []byte {
		const relations = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">%s</Relationships>`
		const relation = `<Relationship Id="r%d" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" Target="%s"/>`
		var out bytes.Buffer
		z := zip.NewWriter(&out)
		put := func(name string, data []byte) {
			w, err := z.Create(name)
			if err != nil {
				panic(err)
			}
			if _, err := w.Write(data); err != nil {
				panic(err)
			}
		}
		put("_rels/.rels", []byte(fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "officeDocument", "/xl/workbook.xml"))))
		put("xl/workbook.xml", []byte(`<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`))
		put("xl/_rels/workbook.xml.rels", []byte(fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "worksheet", "worksheets/one.xml")+fmt.Sprintf(relation, 2, "sharedStrings", "texts.xml"))))
		put("xl/worksheets/one.xml", sheet())
		put("xl/texts.xml", []byte(`<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`+texts+`</sst>`))
		for _, name := range more {
			put(name, []byte("again"))
		}
		if err := z.Close(); err != nil {
			panic(err)
		}
		return out.Bytes()
	}
}

func sheetXML(before, row string, bytesOf int, after string) func() []byte {
	return func() []byte {
		const open, end = `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`, `</sheetData>`
		n := max(0, (bytesOf-len(open)-len(before))/max(1, len(row)))
		return []byte(open + before + strings.Repeat(row, n) + end + after + `</worksheet>`)
	}
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
	{name: "UTF-16 of bad rows", file: "readings/a.csv", data: func() []byte {
		return append([]byte{0xff, 0xfe}, bytes.Repeat([]byte("x\x00,\x00\n\x00"), bombMB<<20/6)...)
	}, long: true},
	{name: "a report of keys", file: "readings/a.txt", entry: "report: Fibre", data: rows("", "Fibre: A-11\nLoss: x\n", bombMB), long: true},
	{name: "a report of different keys", file: "readings/a.txt", entry: "report: Fibre", data: numbered("Fibre: A-11\n", "Key %d: 1\n", bombMB)},
	{name: "fixed width of bad rows", file: "readings/a.txt", entry: "fixed_width: [1, 6, 11, 15]", data: rows("link  wavelength_nm direction loss_db\n", "A-11 1310 A-B x\n", bombMB), long: true},
	{name: "a transposed table", file: "readings/a.csv", entry: "transposed: true", data: rows(heading, "A-11,1310,A-B,x\n", bombMB)},
	{name: "a wide transposed table", file: "readings/a.csv", entry: "transposed: true", data: rows("", strings.Repeat(",", 4000)+"\n", bombMB), long: true},
	{name: "JSON of numbers", file: "readings/a.json", data: rows("[", "1,", bombMB)},
	{name: "JSON of brackets", file: "readings/a.json", data: rows("", "[", bombMB)},
	{name: "JSON of keys", file: "readings/a.json", data: numbered(`[{`, `"k%d":1,`, 20), long: true},
	{name: "YAML of lists", file: "readings/a.yaml", data: rows("", "[", 3)},
	{name: "YAML of readings", file: "readings/a.yaml", data: rows("", "- {link: Z, loss_db: x}\n", 3), long: true},
	{name: "a schedule of faults", file: "links.csv", data: numbered("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n", "L-%d,a,b,OS9,1,1,1,LC,LC\n", bombMB), long: true},
	{name: "200 MB of rows in a workbook of 190 KB", file: "readings/a.xlsx", data: packed(sheetXML("", "<row/>", 200<<20, ""), "")},
	{name: "19 MB of rows in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("", `<row><c r="A1"/><c/><c/></row>`, 19<<20, ""), "")},
	{name: "19 MB of cells in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("<row>", "<c/>", 19<<20, ""), ""), long: true},
	{name: "19 MB behind the rows of a workbook", file: "readings/a.xlsx", data: packed(sheetXML(`<row><c t="inlineStr"><is><t>link</t></is></c></row>`, "", 0, strings.Repeat("<x/>", 4<<20)), ""), long: true},
	{name: "a last row alone", file: "readings/a.xlsx", data: packed(sheetXML(`<row r="1048576"><c><v>1</v></c></row>`, "", 0, ""), "")},
	{name: "19 MB of texts in a workbook", file: "readings/a.xlsx", data: packed(sheetXML("", "", 0, ""), strings.Repeat("<si/>", 19<<20/5)), long: true},
	{name: "a part named twice", file: "readings/a.xlsx", data: packed(sheetXML("", "", 0, ""), "", "XL/worksheets/ONE.xml")},
}

// TestBombs holds what each bomb buys: no more than 10 s of processor and, but
// for what unpacks, three times its own size and 100 MB. With -v it prints the
// table of the corpus's README.
func TestBombs(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	program := filepath.Join(t.TempDir(), "spanseal")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	base := must2(os.ReadFile("../../testdata/script/cabinet/job.yaml"))(t)
	job, _, _ := strings.Cut(string(base), "readings:\n")
	links := must2(os.ReadFile("../../testdata/script/cabinet/links.csv"))(t)
	for _, b := range bombs {
		if b.long && !*long {
			continue
		}
		t.Run(b.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, filepath.Join(dir, "links.csv"), links)
			entry := ""
			if b.entry != "" {
				entry = "readings:\n  - files: \"readings/*\"\n    " + b.entry + "\n"
			}
			write(t, filepath.Join(dir, "job.yaml"), []byte(job+entry))
			data := b.data()
			write(t, filepath.Join(dir, b.file), data)
			doors := [][]string{{"check", dir}}
			if strings.HasPrefix(b.file, "readings/") {
				doors = append(doors, []string{"new", "--from", filepath.Join(dir, b.file)})
			}
			for _, args := range doors {
				c := exec.Command(program, args...)
				out, _ := c.CombinedOutput()
				s := c.ProcessState
				if s.ExitCode() != 3 && args[0] == "check" && !b.accepted || s.ExitCode() != 3 && s.ExitCode() != 0 {
					t.Errorf("%s: exit code %d\n%s", args[0], s.ExitCode(), out[max(0, len(out)-2000):])
				}
				peak := s.SysUsage().(*syscall.Rusage).Maxrss >> 10
				cpu := s.UserTime() + s.SystemTime()
				t.Logf("| %s | %s | %.1f MB | %d MB | %.1f s |", b.name, args[0], float64(len(data))/(1<<20), peak, cpu.Seconds())
				if limit := 3*int64(len(data))>>20 + 100; peak > limit {
					t.Errorf("%s: %d MB of memory, want at most %d", args[0], peak, limit)
				}
				if cpu > 10*time.Second {
					t.Errorf("%s: %v of processor time, want at most 10 s", args[0], cpu)
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

func must2[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}
