package cli

import (
	"runtime"
	"runtime/debug"
)

// garbage is how much Go's collector lets lie before it cleans up, in percent of what
// is kept. As much as is kept, its usual share, is half a gigabyte too much of a large
// job. Who sets GOGC to less knows better.
const garbage = 50

// leanly has the collector keep to that share until the program ends.
func leanly() {
	if before := debug.SetGCPercent(garbage); before < garbage {
		debug.SetGCPercent(before)
	}
}

// room is how many bytes of garbage may lie in any case while papers are made or read,
// one after another: of a small job so little is kept that the collector would run
// after every few papers, which takes an eighth of the time.
const room = 64 << 20

// roomForPapers makes that room, at the start of a command: what it allocates counts as
// kept, and takes no memory if it comes fresh from the system and nothing is written to
// it.
func roomForPapers() (undo func()) {
	kept := make([]byte, room*100/garbage)
	return func() { runtime.KeepAlive(kept) }
}
