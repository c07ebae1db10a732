package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"spanseal/internal/bulk"
)

var large = flag.Bool("large", false, "also measure jobs of 100,000 links")

// BenchmarkProgram runs the program as a person does, on jobs of package bulk.
// It reports medians: wall-ms, cpu-ms (user and system, of all processors: what
// can be compared on a machine that others use too) and the peak of resident
// memory in MB. Each run writes into a fresh folder; all are removed at the end.
//
//	go test -run - -bench Program -benchtime 5x ./cmd/spanseal
func BenchmarkProgram(b *testing.B) {
	program := filepath.Join(b.TempDir(), "spanseal")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	b.Run("version", func(b *testing.B) {
		runs(b, program, func() []string { return []string{"--version"} })
	})
	for _, n := range []int{1000, 10_000, 100_000} {
		if n == 100_000 && !*large {
			continue
		}
		job := b.TempDir()
		if err := bulk.Write(job, n); err != nil {
			b.Fatal(err)
		}
		run(b, program, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
		out := b.TempDir()
		times := 0
		issued := func() string { return filepath.Join(out, fmt.Sprint(times)) }
		b.Run(fmt.Sprintf("check/links=%d", n), func(b *testing.B) {
			runs(b, program, func() []string { return []string{"check", job} })
		})
		b.Run(fmt.Sprintf("issue/links=%d", n), func(b *testing.B) {
			runs(b, program, func() []string {
				times++
				return []string{"issue", job, "--out", issued()}
			})
		})
		b.Run(fmt.Sprintf("again/links=%d", n), func(b *testing.B) {
			runs(b, program, func() []string {
				return []string{"issue", job, "--again", "--reason", "as a benchmark", "--out", issued()}
			})
		})
		b.Run(fmt.Sprintf("verify/links=%d", n), func(b *testing.B) {
			runs(b, program, func() []string {
				return []string{"verify", filepath.Join(issued(), "r1"), "--trust", filepath.Join(job, "signer.pem")}
			})
		})
	}
}

// runs measures the program, once a turn.
func runs(b *testing.B, program string, args func() []string) {
	var wall, cpu []time.Duration
	var peak int64
	for b.Loop() {
		start := time.Now()
		state := run(b, program, args()...)
		wall = append(wall, time.Since(start))
		cpu = append(cpu, state.UserTime()+state.SystemTime())
		peak = max(peak, state.SysUsage().(*syscall.Rusage).Maxrss)
	}
	median := func(d []time.Duration) float64 {
		slices.Sort(d)
		return float64(d[len(d)/2].Microseconds()) / 1000
	}
	b.ReportMetric(0, "ns/op") // not the figure
	b.ReportMetric(median(wall), "wall-ms")
	b.ReportMetric(median(cpu), "cpu-ms")
	b.ReportMetric(float64(peak)/1024, "MB")
}

func run(b *testing.B, program string, args ...string) *os.ProcessState {
	b.Helper()
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), "SPANSEAL_PASSPHRASE=low water at noon")
	if out, err := c.CombinedOutput(); err != nil {
		b.Fatalf("%v: %v\n%s", args, err, out[max(0, len(out)-2000):])
	}
	return c.ProcessState
}
