package issue_test

import (
	"context"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"spanseal/internal/issue"
	"spanseal/internal/outside"
	"spanseal/internal/record"
)

// hostile are texts that a page must show as they are.
const (
	hostileTitle = `<script>document.title="run"</script> & "Quay" 'Row'`
	hostileFile  = `readings/50% #1 & "a"?b=<i>.csv`
)

// startPage issues a job with texts that a page has to escape, and returns the
// revision's folder and the page.
func startPage(t *testing.T) (*issue.Written, string) {
	t.Helper()
	o := newOffice(t)
	o.facts.Job.Title = hostileTitle
	o.facts.Links[0].Names = &record.Names{Label: "<b>W-1</b>", Asset: "PA-00017"}
	o.facts.Originals = append(slices.Clone(o.facts.Originals), record.Original{Name: hostileFile, Data: []byte("x\n"), SHA256: sum("x\n")})
	rev := write(t, o.request(t, filepath.Join(t.TempDir(), "issued")))
	page, err := os.ReadFile(filepath.Join(rev.Dir, "index.html"))
	if err != nil {
		t.Fatal(err)
	}
	return rev, string(page)
}

// TestStartPage: every file of the revision is one click away, every click leads to a
// file of it, and no text of the job is taken for HTML.
func TestStartPage(t *testing.T) {
	rev, page := startPage(t)
	var reached []string
	for _, m := range regexp.MustCompile(`href="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if strings.HasPrefix(m[1], "#") {
			continue
		}
		path, err := url.PathUnescape(strings.ReplaceAll(strings.ReplaceAll(m[1], "&amp;", "&"), "&#39;", "'"))
		if err != nil {
			t.Errorf("%q: %v", m[1], err)
		}
		if strings.ContainsAny(m[1], " <>?#") || !strings.HasPrefix(path, "./") {
			t.Errorf("%q is no path beside the page", m[1])
		}
		reached = append(reached, strings.TrimPrefix(path, "./"))
	}
	var there []string
	for name := range tree(t, rev.Dir) {
		if !slices.Contains([]string{"index.html", "manifest.json", "manifest.p7s"}, name) {
			there = append(there, name)
		}
	}
	slices.Sort(there)
	slices.Sort(reached)
	if reached = slices.Compact(reached); !slices.Equal(reached, there) {
		t.Errorf("the page leads to\n%q, the revision has\n%q", reached, there)
	}
	for _, never := range []string{"<script>document", "<b>W-1", "<i>"} {
		if strings.Contains(page, never) {
			t.Errorf("%q stands there as HTML", never)
		}
	}
	open, all := strings.Index(page, `id="open"`), strings.Index(page, `id="links"`)
	if open < 0 || all < open || strings.Index(page, `id="papers"`) > all {
		t.Error("what is open does not come first")
	}
}

// TestStartPageInABrowser: on the screen of a small telephone nothing sticks out, typing
// finds a link by any of its names, the keyboard reaches everything, a screen reader is told
// of headings and tables, and the page asks nobody for anything.
func TestStartPageInABrowser(t *testing.T) {
	program := outside.Program(t, "chromium")
	rev, _ := startPage(t)
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	ctx, cancel = chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox)...)
	defer cancel()
	ctx, cancel = chromedp.NewContext(ctx)
	defer cancel()
	do := func(steps ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, steps...); err != nil {
			t.Fatal(err)
		}
	}
	text := func(script string) string {
		t.Helper()
		v, err := chromedp.Run(ctx, chromedp.Evaluate[string](script))
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	do(chromedp.EmulateViewport(320, 640))
	var mu sync.Mutex
	var asked []string
	if err := chromedp.Listen(ctx, func(e any) {
		if e, ok := e.(*network.EventRequestWillBeSent); ok && e.Type != network.ResourceTypeDocument {
			mu.Lock()
			asked = append(asked, e.Request.URL)
			mu.Unlock()
		}
	}); err != nil {
		t.Fatal(err)
	}
	do(chromedp.Navigate((&url.URL{Scheme: "file", Path: filepath.ToSlash(filepath.Join(rev.Dir, "index.html"))}).String()), chromedp.WaitReady(chromedp.CSS("#find")))

	if got := text("document.title"); got == "run" || !strings.Contains(text("document.body.innerText"), hostileTitle) {
		t.Errorf("the title of the job is not shown as it is; the page is called %q", got)
	}
	for _, width := range []int64{320, 768, 1600} {
		do(chromedp.EmulateViewport(width, 640))
		if got, err := chromedp.Run(ctx, chromedp.Evaluate[int64]("document.documentElement.scrollWidth")); err != nil || got > width {
			t.Errorf("%d pixels wide on a screen of %d (%v)", got, width, err)
		}
	}

	const shown = `[...document.querySelectorAll("#all tbody tr")].filter(r => !r.hidden).map(r => r.querySelector("th").textContent).join(" ")`
	every := text(shown)
	first := strings.Fields(every)[0]
	for _, c := range []struct{ typed, links, says string }{
		{first, first, "1 of 5 links shown"},
		{"pa-00017", first, "1 of 5 links shown"},
		{"<b>w-1 PASS", first, "1 of 5 links shown"},
		{"fails", strings.Fields(every)[links-1], "1 of 5 links shown"},
		{"nowhere", "", "No link matches all these words. The search covers link, places, names, length and verdict."},
		{"", every, ""},
	} {
		text(`document.getElementById("find").value = ""`)
		do(chromedp.Focus(chromedp.CSS("#find")))
		if c.typed == "" {
			text(`document.getElementById("find").dispatchEvent(new Event("input")), ""`)
		} else {
			do(chromedp.KeyEvent(c.typed))
		}
		if got := text(shown); got != c.links {
			t.Errorf("%q shows %q, want %q", c.typed, got, c.links)
		}
		if got := text(`document.getElementById("found").textContent`); got != c.says {
			t.Errorf("%q is told %q, want %q", c.typed, got, c.says)
		}
	}

	// The keyboard goes first to the way past everything, then through what is open.
	text(`document.activeElement.blur(), window.getSelection().removeAllRanges(), ""`)
	do(chromedp.Navigate(text("location.href.split('#')[0]")), chromedp.WaitReady(chromedp.CSS("#find")), chromedp.KeyEvent(kb.Tab))
	if got := text("document.activeElement.className"); got != "skip" {
		t.Errorf("the first stop of the keyboard is of class %q", got)
	}
	do(chromedp.KeyEvent(kb.Tab))
	if got := text("document.activeElement.textContent"); got != strings.Fields(every)[links-1] {
		t.Errorf("the second stop of the keyboard is %q, not the link that is open", got)
	}
	aloud, err := chromedp.Call(ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		t.Fatal(err)
	}
	roles := map[string]int{}
	for _, n := range aloud.Nodes {
		if n.Role != nil && !n.Ignored {
			roles[strings.Trim(string(n.Role.Value), `"`)]++
		}
	}
	for role, least := range map[string]int{"heading": 6, "table": 2, "columnheader": 9, "rowheader": links + 1, "searchbox": 1, "status": 1, "main": 1} {
		if roles[role] < least {
			t.Errorf("a screen reader is told of %d of role %s, want at least %d (%v)", roles[role], role, least, roles)
		}
	}
	mu.Lock()
	defer mu.Unlock()
	if len(asked) > 0 {
		t.Errorf("the page asks for %q", asked)
	}
}
