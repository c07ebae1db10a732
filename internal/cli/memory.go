package cli

import (
	"runtime/debug"

	"spanseal/internal/record"
)

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

// What a job may take for each of its readings, in bytes, while it is judged and
// while its papers are written: a gigabyte for 800,000, and a fifth more. Less
// would be possible, but the collector would take a quarter of the time.
const toJudge, toIssue = 1250, 1500

// holdMemory holds a large job within so many bytes for each reading, beside its
// originals, which may be pictures.
func holdMemory(f *record.Facts, each int) (undo func()) {
	const least = 950 << 20
	before := debug.SetMemoryLimit(-1) // only asks
	debug.SetMemoryLimit(min(before, int64(max(least, each*len(f.Readings))+originals(f))))
	return func() { debug.SetMemoryLimit(before) }
}

// spareMemory lets papers leave 120 MB of garbage, even of a small job, before
// the collector cleans up: it saves an eighth of the time. A large job is held.
func spareMemory(f *record.Facts) (undo func()) {
	const garbage, program, each = 120 << 20, 16 << 20, 800 // bytes
	release := holdMemory(f, toIssue)
	percent := 100 * garbage / (program + each*len(f.Readings) + originals(f))
	before := debug.SetGCPercent(percent)
	if before < 0 || before > percent { // as it is, or as the environment has it
		debug.SetGCPercent(before)
	}
	return func() { debug.SetGCPercent(before); release() }
}

// originals is how many bytes the files take that a job was read from.
func originals(f *record.Facts) (bytes int) {
	for i := range f.Originals {
		bytes += len(f.Originals[i].Data)
	}
	return bytes
}
