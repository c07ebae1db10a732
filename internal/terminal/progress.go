package terminal

import (
	"fmt"
	"io"
	"time"
)

// Progress keeps one line of a terminal up to date: done, total, rate and what
// remains. A nil one is silent.
type Progress struct {
	w           io.Writer
	now         func() time.Time
	what        string
	start, last time.Time
}

// NewProgress returns nil on anything but a terminal. What is counted is named in
// the plural, and now is the clock.
func NewProgress(w io.Writer, now func() time.Time, what string) *Progress {
	if _, ok := File(w); !ok {
		return nil
	}
	return &Progress{w: w, now: now, what: what, start: now()}
}

// A line is rewritten at most ten times a second.
const progressPause = 100 * time.Millisecond

// Report says how far the work is.
func (p *Progress) Report(done, total int) {
	if p == nil {
		return
	}
	now := p.now()
	if now.Sub(p.last) < progressPause {
		return
	}
	p.last = now
	line := fmt.Sprintf("%d of %d %s", done, total, p.what)
	if spent := now.Sub(p.start); done > 0 && spent >= time.Second {
		left := spent * time.Duration(total-done) / time.Duration(done)
		line += fmt.Sprintf(", %.0f a second, %s left", float64(done)/spent.Seconds(), left.Round(time.Second))
	}
	fmt.Fprint(p.w, eraseLine, line)
}

// Clear takes the line away, for what is printed next.
func (p *Progress) Clear() {
	if p != nil && !p.last.IsZero() {
		fmt.Fprint(p.w, eraseLine)
	}
}

// eraseLine goes back to the beginning of the line and empties it (ECMA-48).
const eraseLine = "\r\x1b[K"
