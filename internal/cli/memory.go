package cli

import "runtime/debug"

// Go's collector lets the heap double before it cleans up. Of a large job that is
// half a gigabyte too much, of a small one it is work that need not be.

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
// while its papers are written: 680 MB for 800,000.
const toHold = 850

// holdMemory holds a large job within so many bytes for each reading, beside its
// originals, which may be pictures.
func (j *job) holdMemory() (undo func()) {
	const least = 680 << 20
	before := debug.SetMemoryLimit(-1) // only asks
	debug.SetMemoryLimit(min(before, int64(max(least, toHold*j.readings)+j.originals())))
	return func() { debug.SetMemoryLimit(before) }
}

// spareMemory lets papers leave 120 MB of garbage, even of a small job, before
// the collector cleans up: it saves an eighth of the time. That of a large job
// may be as much as what it keeps.
func (j *job) spareMemory() (undo func()) {
	const garbage, program, each = 120 << 20, 16 << 20, 300 // bytes
	release := j.holdMemory()
	kept := each * j.readings
	percent := 100 * max(garbage, kept) / (program + kept + j.originals())
	before := debug.SetGCPercent(percent)
	if before < 0 || before > percent { // as it is, or as the environment has it
		debug.SetGCPercent(before)
	}
	return func() { debug.SetGCPercent(before); release() }
}

// originals is how many bytes the files take that a job was read from.
func (j *job) originals() (bytes int) {
	for i := range j.facts.Originals {
		bytes += len(j.facts.Originals[i].Data)
	}
	return bytes
}
