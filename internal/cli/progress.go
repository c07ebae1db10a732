package cli

import (
	"fmt"
	"io"
	"time"
)

// progress keeps one line of a terminal up to date: done, total, rate and what
// remains. A nil progress is silent.
type progress struct {
	w           io.Writer
	now         func() time.Time
	what        string
	start, last time.Time
}

// progress returns nil on anything but a terminal.
func (a *app) progress(what string) *progress {
	if _, ok := terminal(a.err); !ok {
		return nil
	}
	return &progress{w: a.err, now: a.sys.Now, what: what, start: a.sys.Now()}
}

// A line is rewritten at most ten times a second.
const progressPause = 100 * time.Millisecond

func (p *progress) report(done, total int) {
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

// clear takes the line away, for what is printed next.
func (p *progress) clear() {
	if p != nil && !p.last.IsZero() {
		fmt.Fprint(p.w, eraseLine)
	}
}

// eraseLine goes back to the beginning of the line and empties it (ECMA-48).
const eraseLine = "\r\x1b[K"
