package cli

import "runtime/debug"

// Go's collector lets the heap double before it cleans up. Of a large job that
// is a gigabyte too much, of a small one it is work that need not be.

// leanReading lets garbage be half of what the facts keep while they are read:
// of a workbook of 100 MB that spares 180 MB, and costs no time that shows.
func leanReading() (undo func()) {
	const percent = 50
	before := debug.SetGCPercent(percent)
	if before < percent { // none at all, or less, as the environment has it
		debug.SetGCPercent(before)
	}
	return func() { debug.SetGCPercent(before) }
}

// holdMemory holds a job of so many readings, while it is judged, within a
// gigabyte for 800,000: little more than its judgement takes.
func holdMemory(readings int) (undo func()) {
	const least, each = 950 << 20, 1250 // bytes
	before := debug.SetMemoryLimit(-1)  // only asks
	debug.SetMemoryLimit(min(before, max(least, each*int64(readings))))
	return func() { debug.SetMemoryLimit(before) }
}

// spareMemory lets papers leave 120 MB of garbage, even of a small job, before
// the collector cleans up: it saves an eighth of the time.
func spareMemory(readings int) (undo func()) {
	const garbage, program, each = 120 << 20, 16 << 20, 1 << 10 // bytes
	percent := 100 * garbage / (program + each*readings)
	before := debug.SetGCPercent(percent)
	if before < 0 || before > percent { // as it is, or as the environment has it
		debug.SetGCPercent(before)
	}
	return func() { debug.SetGCPercent(before) }
}
