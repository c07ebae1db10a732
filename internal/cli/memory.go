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
	garbage       = 50        // percent of what is kept of a job or a draft
	roomForPapers = 192 << 20 // bytes, and a quarter as much again as is kept of the job
	roomToVerify  = 32 << 20  // bytes, and as much as is kept
)

// leanly has the collector keep to that share from the reading of a job on.
func leanly() {
	if before := debug.SetGCPercent(garbage); before < garbage {
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
	counted := make([]byte, roomToVerify)
	return func() { runtime.KeepAlive(counted) }
}
