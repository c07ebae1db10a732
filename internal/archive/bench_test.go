package archive

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/form"
	"spanseal/internal/judge"
)

// big writes an archive of so many jobs, each of so many links.
func big(b *testing.B, jobs, links int) string {
	dir := b.TempDir()
	for j := range jobs {
		list := make([]form.ResultLink, links)
		for i := range list {
			v := judge.Pass
			if i%97 == 0 {
				v = judge.Marginal
			}
			list[i] = link(fmt.Sprintf("%c-%04d", 'A'+i/100, i), v, use9(fmt.Sprintf("2026-11-%02d", 1+(i+j)%28), []string{"mo", "sv"}[i%2]))
		}
		job(fmt.Sprintf("%04d/issued/r1", j), fmt.Sprintf("BL-2026-%04d", j), 1, fmt.Sprintf("2026-12-%02dT16:00:00Z", 1+j%28), list...).write(b, dir)
	}
	return dir
}

// BenchmarkFind answers from the index, opening it afresh each time as a
// command does: a million links in a thousand jobs.
func BenchmarkFind(b *testing.B) {
	dir := big(b, 1000, 1000)
	open(b, dir, Options{})
	info, err := os.Stat(filepath.Join(dir, IndexName))
	if err != nil {
		b.Fatal(err)
	}
	for _, query := range []string{"link:B-0112", "job:BL-2026-0500 link:B-0112", "library b-0112", "serial:22803 measured:2026-11-16..2026-11-18 verdict:marginal", "number:BL-2026-0700/C-0245"} {
		b.Run(strings.ReplaceAll(query, " ", "+"), func(b *testing.B) {
			for b.Loop() {
				a := open(b, dir, Options{})
				if a.Read > 0 || len(found(b, a, strings.Fields(query)...)) == 0 {
					b.Fatal("nothing was found, or the index was not used")
				}
			}
			b.ReportMetric(float64(info.Size())/1e6, "index-MB")
		})
	}
}

// BenchmarkIndex reads results afresh, a link each time.
func BenchmarkIndex(b *testing.B) {
	const links = 1000
	dir := big(b, 1, links)
	for b.Loop() {
		open(b, dir, Options{NoIndex: true})
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/links, "µs/link")
}
