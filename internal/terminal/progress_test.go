package terminal

import (
	"strings"
	"testing"
	"time"
)

func TestProgress(t *testing.T) {
	var w strings.Builder
	clock := time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)
	p := &Progress{w: &w, now: func() time.Time { return clock }, what: "documents", start: clock}
	p.Report(1, 1000)
	clock = clock.Add(time.Millisecond)
	p.Report(2, 1000) // too soon
	clock = clock.Add(2*time.Second - time.Millisecond)
	p.Report(500, 1000)
	p.Clear()
	const want = "\r\x1b[K1 of 1000 documents" + "\r\x1b[K500 of 1000 documents, 250 a second, 2s left" + "\r\x1b[K"
	if w.String() != want {
		t.Errorf("got %q\nwant %q", w.String(), want)
	}

	var silent *Progress
	silent.Report(1, 2)
	silent.Clear()
}
