package cli_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"spanseal/internal/cli"
)

// BenchmarkIssue issues whole jobs, every output included, each time into a
// fresh folder.
func BenchmarkIssue(b *testing.B) {
	for _, n := range []int{100, 1000} {
		b.Run(fmt.Sprintf("links=%d", n), func(b *testing.B) {
			job := bigJob(b, n)
			must(b, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
			for b.Loop() {
				must(b, cli.ExitOK, "issue", job, "--out", filepath.Join(b.TempDir(), "issued"))
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N*n), "ms/link")
		})
	}
}
