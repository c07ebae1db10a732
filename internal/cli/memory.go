package cli

import (
	"math"
	"runtime"
	"runtime/debug"
)

// Go's collector lets garbage be as much as what is kept before it cleans up. Of a large
// job that is half a gigabyte too much; of a small one, while papers are made or read
// one after another, it would clean up after every few, which takes an eighth of the
// time. Who sets GOGC to less, or GOMEMLIMIT, knows better.
const (
	garbage       = 50        // percent of what is kept
	roomForPapers = 192 << 20 // bytes, and a quarter as much again as is kept of the job
	roomToVerify  = 16 << 20  // bytes
)

// leanly has the collector keep to a share of what is kept.
func leanly(percent int) {
	if before := debug.SetGCPercent(percent); before < percent {
		debug.SetGCPercent(before)
	}
}

// makeRoomForPapers has the collector wait for that room once a job is judged.
func makeRoomForPapers() (undo func()) {
	before := debug.SetMemoryLimit(-1) // only asks
	if before != math.MaxInt64 {
		return func() {}
	}
	runtime.GC()
	var kept runtime.MemStats
	runtime.ReadMemStats(&kept)
	debug.SetMemoryLimit(roomForPapers + int64(kept.HeapAlloc)*5/4)
	percent := debug.SetGCPercent(-1)
	return func() { debug.SetGCPercent(percent); debug.SetMemoryLimit(before) }
}

// makeRoomToVerify has the collector wait for that room from the start: nothing is kept
// of papers. What it allocates counts as kept, and takes no memory if it comes fresh from
// the system, as it mostly does: nothing is written to it.
func makeRoomToVerify() (undo func()) {
	counted := make([]byte, roomToVerify*100/garbage)
	return func() { runtime.KeepAlive(counted) }
}
