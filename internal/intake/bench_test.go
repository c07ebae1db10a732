package intake

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// manyRows writes a job with a CSV of n readings: of each link 25 splices at two
// wavelengths in both directions.
func manyRows(tb testing.TB, n int, delimiter, mark string) (dir string) {
	tb.Helper()
	dir = tb.TempDir()
	layOut(tb, dir, nil)
	write := func(name string, print func(w *bufio.Writer)) {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			tb.Fatal(err)
		}
		f, err := os.Create(path)
		if err != nil {
			tb.Fatal(err)
		}
		w := bufio.NewWriterSize(f, 1<<20)
		print(w)
		if err := w.Flush(); err != nil {
			tb.Fatal(err)
		}
		if err := f.Close(); err != nil {
			tb.Fatal(err)
		}
	}
	write("links.csv", func(w *bufio.Writer) {
		fmt.Fprintln(w, "link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b")
		for i := range (n + 99) / 100 {
			fmt.Fprintf(w, "L-%06d,R1,C1,OS2,312,2,0,factory LC/UPC,factory LC/UPC\n", i)
		}
	})
	write("readings/all.csv", func(w *bufio.Writer) {
		fmt.Fprintln(w, strings.ReplaceAll("link,wavelength_nm,direction,event,splice_loss_db,instrument,person,time", ",", delimiter))
		row := strings.NewReplacer(",", delimiter, ".", mark).Replace("L-%06d,%d,%s,S%d,0.%03d,PM-9,mo,%s\n")
		at := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
		for i := range n {
			fmt.Fprintf(w, row, i/100, []int{1310, 1550}[i%2], []string{"A-B", "B-A"}[i/2%2], i/4%25, 30+i%50, at.Add(time.Duration(i)*time.Second).Format(time.DateTime))
		}
	})
	return dir
}

// BenchmarkRows reads 1,000,000 readings of 10,000 links from one CSV, with
// everything named by the columns, and with delimiter and decimal comma to be
// told from the file. It logs rows a second, the heap that the facts keep, and
// the most beside them.
func BenchmarkRows(b *testing.B) {
	for _, dialect := range []struct{ name, delimiter, mark string }{{"commas", ",", "."}, {"semicolons", ";", ","}} {
		b.Run(dialect.name, func(b *testing.B) {
			const n = 1_000_000
			dir := manyRows(b, n, dialect.delimiter, dialect.mark)
			b.ResetTimer()
			measure(b, dir, n)
		})
	}
}

// manyCells writes a workbook of n readings in one sheet.
func manyCells(tb testing.TB, name string, n int) {
	f := excelize.NewFile()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		tb.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2)) // notes that do not shrink
	for i := range n + 1 {
		row := []any{"link", "wavelength_nm", "direction", "splice_loss_db", "time", "event", "note"}
		if i > 0 {
			note := make([]byte, 200)
			for k := range note {
				note[k] = byte('!' + random.IntN(90))
			}
			row = []any{"A-11", 1310, "A-B", i % 100, 46_000 + i%300, fmt.Sprint("S", i), string(note)}
		}
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			tb.Fatal(err)
		}
		if err := w.SetRow(cell, row); err != nil {
			tb.Fatal(err)
		}
	}
	if err := w.Flush(); err != nil {
		tb.Fatal(err)
	}
	if err := f.SaveAs(name); err != nil {
		tb.Fatal(err)
	}
}

// BenchmarkWorkbook reads 500,000 readings from one sheet of about 100 MB.
func BenchmarkWorkbook(b *testing.B) {
	const n = 500_000
	dir := b.TempDir()
	layOut(b, dir, nil)
	if err := os.Mkdir(filepath.Join(dir, "readings"), 0o755); err != nil {
		b.Fatal(err)
	}
	name := filepath.Join(dir, "readings", "all.xlsx")
	manyCells(b, name, n)
	info, err := os.Stat(name)
	if err != nil {
		b.Fatal(err)
	}
	b.Logf("the workbook has %d MB", info.Size()>>20)
	b.ResetTimer()
	measure(b, dir, n)
}

// measure reads a job, with the collector as the program sets it for that, and
// logs rows a second and memory.
func measure(b *testing.B, dir string, n int) {
	defer debug.SetGCPercent(debug.SetGCPercent(50))
	heap := func() uint64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	for b.Loop() {
		b.StopTimer()
		runtime.GC()
		before, peak := heap(), uint64(0)
		done, sampled := make(chan bool), make(chan bool)
		go func() {
			for tick := time.Tick(20 * time.Millisecond); ; {
				select {
				case <-tick:
					peak = max(peak, heap())
				case <-done:
					close(sampled)
					return
				}
			}
		}()
		b.StartTimer()
		facts, list := Read(dir, Options{})
		b.StopTimer()
		close(done)
		<-sampled
		runtime.GC()
		kept := heap()
		if list.Errors() > 0 || len(facts.Readings) != n {
			b.Fatalf("%d readings\n%s", len(facts.Readings), printProblems(list))
		}
		b.Logf("the facts keep %d MB, reading took %d MB beside them at most", (kept-before)>>20, (int64(peak)-int64(kept))>>20)
		runtime.KeepAlive(facts)
		b.StartTimer()
	}
	b.Logf("%d rows/s", int64(b.N)*int64(n)*int64(time.Second)/int64(b.Elapsed()))
}
