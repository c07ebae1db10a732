package intake

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/table"
	"spanseal/internal/table/testbook"
)

// hostile reads a job with one more file and returns its problems. What the
// file buys must be bounded: no more than limit bytes are allocated. The race
// detector throws pooled buffers away at random, so under it the figure says
// nothing.
func hostile(t *testing.T, name string, data []byte, limit uint64) string {
	t.Helper()
	dir := t.TempDir()
	layOut(t, dir, nil)
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	facts, list := Read(dir, Options{})
	runtime.ReadMemStats(&after)
	checkAccounts(t, facts)
	if n := after.TotalAlloc - before.TotalAlloc; n > limit && !underRace {
		t.Errorf("%d MB were allocated for a file of %d MB, want at most %d", n>>20, len(data)>>20, limit>>20)
	}
	if list.Errors() == 0 {
		t.Error("nothing was refused")
	}
	return printProblems(list)
}

func TestHostileFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	const heading = "link,wavelength_nm,direction,loss_db\n"
	tests := []struct {
		name, file string
		data       []byte
		limit      uint64 // bytes allocated in all
		want       string // in the problems
	}{
		{"a million columns", "readings/a.csv", []byte(strings.Repeat("a,", 1_000_000)), 64 << 20, "row-too-long"},
		{"a million columns in a row", "readings/a.csv", []byte(heading + strings.Repeat("a,", 1_000_000)), 64 << 20, "row-too-long"},
		{"ten thousand columns", "readings/a.csv", []byte(heading + strings.Repeat("a,", 10_000)), 64 << 20, "too-many-columns"},
		{"one line of 4 MB", "readings/a.csv", bytes.Repeat([]byte("x"), 4_000_000), 80 << 20, "row-too-long"},
		{"one cell of 4 MB", "readings/a.csv", append([]byte(heading+"A-11,1310,A-B,"), bytes.Repeat([]byte("9"), 4_000_000)...), 100 << 20, "row-too-long"},
		{"a quote that swallows 4 MB", "readings/a.csv", append([]byte(heading+`A-11,1310,A-B,"`), bytes.Repeat([]byte("x\n"), 2_000_000)...), 120 << 20, "unclosed-quote"},
		{"nothing but line ends", "readings/a.csv", append([]byte(heading+"A-1,1,A-B,1"), bytes.Repeat([]byte("\n"), 1_000_000)...), 400 << 20, "unknown-link"},
		{"nothing but quotes", "readings/a.csv", bytes.Repeat([]byte(`"`), 900_001), 64 << 20, "unclosed-quote"},
		{"CRs before one LF", "readings/a.csv", append(append([]byte(heading), bytes.Repeat([]byte("\r"), 1_000_000)...), "\nA-1,1,A-B,1\n"...), 400 << 20, "unknown-link"},
		{"zeros", "readings/a.csv", make([]byte, 4_000_000), 64 << 20, "binary-file"},
		{"a hundred thousand faults", "readings/a.csv", []byte(heading + strings.Repeat("A-11,1310,A-B,x\n", 100_000)), 400 << 20, "too-many-faults"},
		{"a hundred thousand unknown links", "readings/a.csv", []byte(heading + unknown("%d-B,1310,A-B,0.35\n")), 400 << 20, "too-many-faults"},
		{"a hundred thousand faults of the schedule", "links.csv", []byte("link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n" + unknown("L-%d,a,b,OS9,1,1,1,LC,LC\n")), 400 << 20, "too-many-faults"},
		{"a hundred thousand retests without a time", "readings/a.csv", []byte(heading + strings.Repeat("A-11,1310,A-B,0.35\n", 100_000)), 400 << 20, "too-many-faults"},
		{"long rows full of faults", "readings/a.csv", []byte(wide(4000, 3)), 400 << 20, "not-a-number"},
		{"a YAML line full of faults", "job.yaml", []byte("{" + strings.Repeat("a: 1, ", 50_000) + "}"), 400 << 20, "too-many-faults"},
		{"alias bomb", "job.yaml", bomb(), 16 << 20, "yaml-alias"},
		{"deep nesting", "job.yaml", bytes.Repeat([]byte("["), 200_000), 256 << 20, "yaml-syntax"},
		{"deep nesting that closes", "job.yaml", append(bytes.Repeat([]byte("["), 9000), bytes.Repeat([]byte("]"), 9000)...), 256 << 20, "wrong-type"},
		{"deep indents", "job.yaml", indents(), 256 << 20, "yaml-syntax"},
		{"a YAML of 5 MB", "job.yaml", bytes.Repeat([]byte("a: b\n"), 1_000_000), 16 << 20, "too-large"},
		{"a workbook of zeros", "readings/a.xlsx", make([]byte, 1_000_000), 64 << 20, "broken-workbook"},
		{"a bomb in a workbook", "readings/a.xlsx", zipped(t, "xl/worksheets/sheet1.xml", 3<<30), 64 << 20, "broken-workbook"},
		{"a small bomb in a workbook", "readings/a.xlsx", zipped(t, "xl/worksheets/sheet1.xml", 300<<20), 64 << 20, "broken-workbook"},
		{"a bomb in a workbook's strings", "readings/a.xlsx", zipped(t, "xl/sharedStrings.xml", 3<<30), 64 << 20, "broken-workbook"},
		{"a workbook of shared texts", "readings/a.xlsx", testbook.Of(t, testbook.Sheet(""), strings.Repeat("<si/>", 4_200_000)), 1 << 30, "broken-workbook"},
		{"a workbook of one cell", "readings/a.xlsx", testbook.Of(t, testbook.Sheet("<row><c><v>"+strings.Repeat("0", 16_000_000)+"</v></c></row>"), ""), 16 << 20, "broken-workbook"},
		{"a workbook of one name", "readings/a.xlsx", testbook.Of(t, testbook.Sheet(`<row><c r="`+strings.Repeat("A", 16_000_000)+`"/></row>`), ""), 16 << 20, "broken-workbook"},
		{"a part that lies about its size", "readings/a.xlsx", zipped(t, "xl/workbook.xml", 10), 64 << 20, "broken-workbook"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			start := time.Now()
			if got := hostile(t, tt.file, tt.data, tt.limit); !strings.Contains(got, "["+tt.want+"]") {
				t.Errorf("want %s, got\n%.2000s", tt.want, got)
			}
			t.Logf("%d bytes in %v", len(tt.data), time.Since(start).Round(time.Millisecond))
		})
	}
}

// TestTooLarge holds that a file beyond the bound is not even opened.
func TestTooLarge(t *testing.T) {
	for name, size := range map[string]int64{"readings/a.csv": table.MaxText + 1, "readings/a.xlsx": table.MaxWorkbook + 1, "readings/a.yaml": table.MaxYAML + 1, "photos/A-11.jpg": maxPhoto + 1, "links.csv": table.MaxText + 1} {
		dir := t.TempDir()
		layOut(t, dir, nil)
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(path, size); err != nil {
			t.Fatal(err)
		}
		if _, list := Read(dir, Options{}); !strings.Contains(printProblems(list), "[too-large]") {
			t.Errorf("%s of %d bytes: %s", name, size, printProblems(list))
		}
	}
}

// unknown repeats a row with a number of its own in each.
func unknown(row string) string {
	var b strings.Builder
	for i := range 100_000 {
		fmt.Fprintf(&b, row, i)
	}
	return b.String()
}

// wide is a file whose rows are nearly too long and full of faults.
func wide(columns, rows int) string {
	var b strings.Builder
	b.WriteString("link,wavelength_nm,direction,loss_db,reflectance_db,length_m,time\n")
	for range rows {
		b.WriteString("A-11,x,y,z,v,w,u" + strings.Repeat(",", columns) + strings.Repeat(" ", 900_000) + "\n")
	}
	return b.String()
}

// bomb is a few lines of aliases that stand for 9^9 texts.
func bomb() []byte {
	var b bytes.Buffer
	fmt.Fprintln(&b, `a0: &a0 ["x","x","x","x","x","x","x","x","x"]`)
	for i := 1; i < 9; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [%s*a%d]\n", i, i, strings.Repeat(fmt.Sprintf("*a%d,", i-1), 8), i-1)
	}
	return b.Bytes()
}

func indents() []byte {
	var b bytes.Buffer
	for i := range 1900 {
		fmt.Fprintf(&b, "%*sa:\n", i, "")
	}
	fmt.Fprintf(&b, "%*s- b\n- c", 1900, "")
	return b.Bytes()
}

// zipped makes a workbook that says one of its parts unpacks to size bytes.
func zipped(t *testing.T, name string, size uint64) []byte {
	t.Helper()
	var packed, b bytes.Buffer
	f, err := flate.NewWriter(&packed, flate.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(make([]byte, 1_000_000)); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	w := zip.NewWriter(&b)
	part, err := w.CreateRaw(&zip.FileHeader{Name: name, Method: zip.Deflate, CompressedSize64: uint64(packed.Len()), UncompressedSize64: size})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write(packed.Bytes()); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestSpecialFiles holds that nothing but regular files inside the job folder
// is read.
func TestSpecialFiles(t *testing.T) {
	outside := filepath.Join(t.TempDir(), "outside.csv")
	if err := os.WriteFile(outside, []byte("link\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name, at, to, want string
	}{
		{"link to a file outside", "readings/a.csv", outside, "symbolic-link"},
		{"link to a file inside", "readings/a.csv", "../links.csv", "symbolic-link"},
		{"link to nothing", "readings/a.csv", "nowhere", "symbolic-link"},
		{"link to a device", "readings/a.csv", os.DevNull, "symbolic-link"},
		{"linked photo", "photos/A-11.jpg", outside, "symbolic-link"},
		{"linked schedule", "links.csv", outside, "symbolic-link"},
		{"folder as a job", "job.yaml", "", "not-a-file"},
		{"linked readings", "readings", filepath.Dir(outside), "symbolic-link"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			layOut(t, dir, nil)
			path := filepath.Join(dir, tt.at)
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			_ = os.Remove(path)
			if tt.to == "" {
				if err := os.Mkdir(path, 0o755); err != nil {
					t.Fatal(err)
				}
			} else if err := os.Symlink(tt.to, path); err != nil {
				if runtime.GOOS != "windows" {
					t.Fatal(err)
				}
				t.Skipf("this account makes no symbolic links: %v", err)
			}
			_, list := Read(dir, Options{})
			if got := printProblems(list); !strings.Contains(got, "["+tt.want+"]") {
				t.Errorf("want %s, got\n%s", tt.want, got)
			}
		})
	}
}

// TestHiddenFiles holds that what systems and office programs leave behind is
// no reading.
func TestHiddenFiles(t *testing.T) {
	dir := t.TempDir()
	layOut(t, dir, []txtar.File{
		{Name: "readings/.DS_Store", Data: []byte{0, 1}}, {Name: "readings/~$day1.xlsx", Data: []byte{0}},
		{Name: "readings/.trash/x.csv", Data: []byte("x")}, {Name: "readings/README.txt", Data: []byte("put files here")},
	})
	if facts, list := Read(dir, Options{}); list.Len() > 0 || len(facts.Accounts) > 0 {
		t.Errorf("%d accounts\n%s", len(facts.Accounts), printProblems(list))
	}
}

func TestNoFolder(t *testing.T) {
	_, list := Read(filepath.Join(t.TempDir(), "no such"), Options{})
	if got := printProblems(list); !strings.Contains(got, "[no-job-folder]") || !strings.Contains(got, "spanseal new") {
		t.Error(got)
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, list := Read(file, Options{}); list.Errors() != 1 {
		t.Error(printProblems(list))
	}
}
