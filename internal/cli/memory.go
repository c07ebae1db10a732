package cli

import (
	"math"
	"runtime"
	"runtime/debug"
)

// Go's collector lets garbage be as much as what is kept before it cleans up. Of a
// large job that is half a gigabyte too much, of a small one it is work that need not
// be. Who sets GOGC or GOMEMLIMIT knows better.

// Garbage may be half of what is kept while a job is read and judged, and less of a
// draft, of which most is the export itself.
const (
	halfAgain    = 50
	quarterAgain = 25
)

// leanly lets garbage be so many percent of what is kept.
func leanly(percent int) (undo func()) {
	before := debug.SetGCPercent(percent)
	if before < percent {
		debug.SetGCPercent(before)
	}
	return func() { debug.SetGCPercent(before) }
}

// roomForPapers has the collector wait, while papers are made, until there are 128 MB
// more than a quarter as much again as is kept of the job: it would clean up after
// every few papers of a small one, which takes an eighth of the time.
func roomForPapers() (undo func()) {
	before := debug.SetMemoryLimit(-1) // only asks
	if before != math.MaxInt64 {
		return func() {}
	}
	runtime.GC()
	var kept runtime.MemStats
	runtime.ReadMemStats(&kept)
	debug.SetMemoryLimit(128<<20 + int64(kept.HeapAlloc)*5/4)
	percent := debug.SetGCPercent(-1)
	return func() { debug.SetGCPercent(percent); debug.SetMemoryLimit(before) }
}

// roomToVerify has the collector wait until there are 32 MB more: nothing is kept of
// papers that are read one after another, and it would clean up after every few.
func roomToVerify() (undo func()) {
	if debug.SetMemoryLimit(-1) != math.MaxInt64 {
		return func() {}
	}
	room := make([]byte, 32<<20) // counts as kept, and takes no memory as long as nothing is written to it
	return func() { runtime.KeepAlive(room) }
}
