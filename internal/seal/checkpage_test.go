package seal_test

import (
	"bytes"
	"context"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"net/http/httptest"
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
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"gopkg.in/yaml.v3"

	"spanseal/internal/outside"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
	"spanseal/templates"
)

// words are the page's texts in a language, read by another way than package
// certify does.
func words(t testing.TB, language string) seal.PageWords {
	t.Helper()
	raw, err := templates.Files.ReadFile("wording/" + language + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	var tree struct {
		Locale struct{ Decimal string }
		Check  map[string]any
	}
	if err := yaml.Unmarshal(raw, &tree); err != nil {
		t.Fatal(err)
	}
	w := seal.PageWords{Language: language, Decimal: tree.Locale.Decimal, Texts: map[string]string{}}
	for key, v := range tree.Check {
		switch v := v.(type) {
		case string:
			w.Texts[key] = v
		case map[string]any:
			for name, text := range v {
				w.Texts[key+"."+name] = text.(string)
			}
		}
	}
	return w
}

// checkPage is the page in English, filled with the keys of signers.
func checkPage(t testing.TB, signers ...*seal.Signer) []byte {
	t.Helper()
	return checkPageIn(t, "en", signers...)
}

func pageTemplate(t testing.TB) []byte {
	t.Helper()
	template, err := templates.Files.ReadFile("check/check.html")
	if err != nil {
		t.Fatal(err)
	}
	return template
}

func checkPageIn(t testing.TB, language string, signers ...*seal.Signer) []byte {
	t.Helper()
	var certs []*x509.Certificate
	for _, s := range signers {
		certs = append(certs, s.Certificate())
	}
	filled, err := seal.FillCheckPage(pageTemplate(t), words(t, language), nil, certs...)
	if err != nil {
		t.Fatal(err)
	}
	return filled
}

func TestFillCheckPage(t *testing.T) {
	filled := checkPage(t, vectorSigner(t))
	if !bytes.Contains(filled, []byte(`"key_id":"`+vectorSigner(t).KeyID().String()+`"`)) {
		t.Error("the page does not hold the key")
	}
	if _, err := seal.FillCheckPage(filled, words(t, "en"), nil); err == nil {
		t.Error("a filled page was filled again")
	}
	evil, err := seal.NewSigner("</script><script>alert(1)</script>", "", day, 1)
	if err != nil {
		t.Fatal(err)
	}
	if filled, err := seal.FillCheckPage(pageTemplate(t), words(t, "en"), []seal.RevokedKey{{Reason: "</script><script>alert(1)</script>"}}, evil.Certificate()); err != nil || bytes.Contains(filled, []byte("alert(1)</script>")) {
		t.Errorf("a name broke out of its block (%v)", err)
	}
}

// TestCheckPageWords: a text is escaped, one that the page names must be there,
// and no text of a wording is there for nothing.
func TestCheckPageWords(t *testing.T) {
	en := words(t, "en")
	odd := maps.Clone(en.Texts)
	odd["title"], odd["holds"] = `<b>&"`, `</script><script>alert(1)</script>`
	page, err := seal.FillCheckPage(pageTemplate(t), seal.PageWords{Language: "en", Decimal: ".", Texts: odd}, nil)
	if err != nil || !bytes.Contains(page, []byte("<title>&lt;b&gt;&amp;&#34;</title>")) || bytes.Contains(page, []byte("alert(1)</script>")) {
		t.Errorf("texts are not escaped (%v)", err)
	}
	for _, name := range []string{"intro", "holds", "refuse_order"} { // in markup, in say, in refuse
		short := maps.Clone(en.Texts)
		delete(short, name)
		if _, err := seal.FillCheckPage(pageTemplate(t), seal.PageWords{Language: "en", Texts: short}, nil); err == nil || !strings.Contains(err.Error(), fmt.Sprintf("%q", name)) {
			t.Errorf("without %s: %v", name, err)
		}
	}
	template := string(pageTemplate(t))
	for name := range en.Texts {
		group, _, grouped := strings.Cut(name, ".")
		if !strings.Contains(template, "{{"+name+"}}") && !strings.Contains(template, `"`+name+`"`) && !(grouped && strings.Contains(template, group+".${")) {
			t.Errorf("the page does not say %s", name)
		}
	}
}

// TestCheckPageInEveryLanguage: no wording lacks a text of the page, and each
// keeps the names in braces.
func TestCheckPageInEveryLanguage(t *testing.T) {
	files, err := fs.Glob(templates.Files, "wording/*.yaml")
	if err != nil || len(files) < 2 {
		t.Fatal(err, files)
	}
	braces := regexp.MustCompile(`\{[a-z_]+\}`)
	en := words(t, "en")
	for _, f := range files {
		language := strings.TrimSuffix(filepath.Base(f), ".yaml")
		checkPageIn(t, language, vectorSigner(t))
		w := words(t, language)
		for key, english := range en.Texts {
			text, ok := w.Texts[key]
			a, b := braces.FindAllString(english, -1), braces.FindAllString(text, -1)
			slices.Sort(a)
			slices.Sort(b)
			if !ok || !slices.Equal(a, b) {
				t.Errorf("%s: %s is %q, in English %q", language, key, text, english)
			}
		}
	}
}

// TestCheckPageInSpanish: nothing of the page is left in English.
func TestCheckPageInSpanish(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	path := filepath.Join(t.TempDir(), "check.html")
	if err := os.WriteFile(path, checkPageIn(t, "es", signer), 0o644); err != nil {
		t.Fatal(err)
	}
	c := claim()
	margin := quantity.Must("1.5148")
	c.Margin = &margin
	text, err := signer.SignToken(c)
	if err != nil {
		t.Fatal(err)
	}
	foreign, err := newSigner(t).SignToken(c)
	if err != nil {
		t.Fatal(err)
	}
	en, es := words(t, "en"), words(t, "es")
	whole := func() string {
		return get(b, chromedp.Evaluate[string]("document.querySelectorAll('details').forEach((d) => d.open = true); document.body.innerText")) +
			get(b, chromedp.Title())
	}
	for _, test := range []struct {
		name, text, state string
		want              []string
	}{
		{"holds", text, "holds", []string{"Este texto se firmó con la clave " + signer.KeyID().String(), "Trate toda fibra como activa", "CONFORME|conforme", "Margen mínimo", "1,51 dB", "0,84 dB", "0,790 dB", "A a B", "2026-11-25, revisión 1", "la clave es de Test vectors, Never trust this key. La página no puede demostrarlo"}},
		{"unknown", foreign, "unknown", []string{"esta página no conoce la clave", "Afirma: conforme."}},
		{"cut", text[:len(text)-3], "unreadable", []string{"Esto no es una etiqueta", "El texto se cortó"}},
	} {
		b.visit("file://" + path + "#" + test.text)
		state, shown := b.result()
		if state != test.state {
			t.Errorf("%s: state %s\n%s", test.name, state, shown)
		}
		for _, want := range test.want {
			if one, other, _ := strings.Cut(want, "|"); !strings.Contains(shown, one) && (other == "" || !strings.Contains(shown, other)) {
				t.Errorf("%s: does not show %q:\n%s", test.name, want, shown)
			}
		}
		all := whole()
		for key, english := range en.Texts {
			if len(english) > 12 && !strings.Contains(english, "{") && english != es.Texts[key] && strings.Contains(all, english) {
				t.Errorf("%s: says in English %q", test.name, english)
			}
		}
		b.look("es-" + test.name)
	}
	if lang := get(b, chromedp.Evaluate[string]("document.documentElement.lang")); lang != "es" {
		t.Errorf("the page says that it is in %q", lang)
	}
}

// TestCheckPageMargin: as on paper, with the digits that tell it from nothing,
// and its own words where the limit is missed.
func TestCheckPageMargin(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	path := filepath.Join(t.TempDir(), "check.html")
	if err := os.WriteFile(path, checkPage(t, signer), 0o644); err != nil {
		t.Fatal(err)
	}
	b.visit("file://" + path)
	for margin, want := range map[string]string{
		"1.5148": "Smallest margin\n1.51 dB", "0.3": "Smallest margin\n0.30 dB", "2": "Smallest margin\n2.00 dB", "0.125": "Smallest margin\n0.13 dB",
		"0.004": "Smallest margin\n0.004 dB", "0.00040": "Smallest margin\n0.0004 dB", "0.000": "Smallest margin\n0.00 dB",
		"-0.125": "Outside the limit by\n0.13 dB", "-10.004": "Outside the limit by\n10.00 dB",
	} {
		c := claim()
		m := quantity.Must(margin)
		c.Margin = &m
		text, err := signer.SignToken(c)
		if err != nil {
			t.Fatal(err)
		}
		if state := get(b, chromedp.Evaluate[string](fmt.Sprintf("check(%s)", quoted(text)), chromedp.EvalAwaitPromise)); state != "holds" {
			t.Errorf("%s: state %s", margin, state)
		}
		if _, shown := b.result(); !strings.Contains(shown, want) {
			t.Errorf("%s: does not show %q:\n%s", margin, want, shown)
		}
	}
}

// TestCheckPageFuture: a day of issue that has not come yet is said to be one.
func TestCheckPageFuture(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	path := filepath.Join(t.TempDir(), "check.html")
	if err := os.WriteFile(path, checkPage(t, signer), 0o644); err != nil {
		t.Fatal(err)
	}
	b.visit("file://" + path)
	now := time.Now().UTC()
	for days, said := range map[int]bool{-1: false, 0: false, 1: false, 3: true} {
		c := claim()
		c.Issued = now.AddDate(0, 0, days).Format(time.DateOnly)
		c.Measured = c.Issued
		text, err := signer.SignToken(c)
		if err != nil {
			t.Fatal(err)
		}
		get(b, chromedp.Evaluate[string](fmt.Sprintf("check(%s)", quoted(text)), chromedp.EvalAwaitPromise))
		if _, shown := b.result(); strings.Contains(shown, "is in the future") != said {
			t.Errorf("%d days ahead:\n%s", days, shown)
		}
	}
}

// TestCheckPageRevoked: a key that was known to be revoked when the page was
// made is refused, one that was given up only after its last day.
func TestCheckPageRevoked(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	text, err := signer.SignToken(claim()) // of 25 November 2026
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		key         seal.RevokedKey
		state, says string
	}{
		"stolen":               {seal.RevokedKey{KeyID: signer.KeyID(), Reason: "laptop stolen"}, "revoked", "which is revoked: laptop stolen. Somebody else may have the key"},
		"stolen, no reason":    {seal.RevokedKey{KeyID: signer.KeyID()}, "revoked", "no reason stated"},
		"given up before":      {seal.RevokedKey{KeyID: signer.KeyID(), Until: "2026-11-24", Reason: "left the company"}, "revoked", "which was given up after 2026-11-24: left the company"},
		"given up on that day": {seal.RevokedKey{KeyID: signer.KeyID(), Until: "2026-11-25"}, "holds", "This text was signed with the key"},
		"another key":          {seal.RevokedKey{KeyID: seal.KeyID{1}}, "holds", "This text was signed with the key"},
	} {
		page, err := seal.FillCheckPage(pageTemplate(t), words(t, "en"), []seal.RevokedKey{c.key}, signer.Certificate())
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "check.html")
		if err := os.WriteFile(path, page, 0o644); err != nil {
			t.Fatal(err)
		}
		b.visit("file://" + path + "#" + text)
		state, shown := b.result()
		if state != c.state || !strings.Contains(shown, c.says) || c.state == "revoked" && !strings.Contains(shown, "It claims: pass.") {
			t.Errorf("%s: state %s:\n%s", name, state, shown)
		}
		if width := get(b, chromedp.Evaluate[int]("document.documentElement.scrollWidth")); width > 320 {
			t.Errorf("%s: %d pixels wide on a screen of 320", name, width)
		}
		b.look("revoked-" + strings.ReplaceAll(name, " ", "-"))
	}
}

// TestCheckPageForms: the page and the reader of `spanseal verify` take the same
// forms of a text, and refuse the same.
func TestCheckPageForms(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	path := filepath.Join(t.TempDir(), "check.html")
	if err := os.WriteFile(path, checkPage(t, signer), 0o644); err != nil {
		t.Fatal(err)
	}
	text, err := signer.SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	b.visit("file://" + path)
	for name, c := range map[string]struct {
		form string
		good bool
	}{
		"by itself":                         {text, true},
		"space and line ends around":        {"\r\n\t " + text + " \n", true},
		"a byte order mark":                 {"\ufeff" + text + "\r\n", true},
		"next line and no-break space":      {"\u0085\u00a0" + text + "\u2028\u3000", true},
		"behind an address":                 {"https://check.example/#" + text, true},
		"behind two marks":                  {"https://check.example/#a#" + text, true},
		"behind any words":                  {"see #" + text, true},
		"a zero-width space before":         {"\u200b" + text, false},
		"two byte order marks":              {"\ufeff\ufeff" + text, false},
		"a byte order mark after":           {text + "\ufeff", false},
		"an address without its mark":       {"https://check.example/" + text, false},
		"in lower case":                     {strings.ToLower(text), false},
		"a blank inside":                    {text[:60] + " " + text[60:], false},
		"a line end inside":                 {text[:60] + "\n" + text[60:], false},
		"two labels":                        {text + "\n" + text, false},
		"a letter that is none (Turkish i)": {strings.Replace(text, "SS1.", "SSı.", 1), false},
		"in quotation marks":                {`"` + text + `"`, false},
		"with padding":                      {text + "=", false},
		"with an empty fragment after":      {text + "#", false},
		"of full-width letters":             {"ＳＳ１．" + text[4:], false},
	} {
		_, err := seal.ParseToken(seal.Scanned(c.form))
		state := get(b, chromedp.Evaluate[string](fmt.Sprintf("check(%s)", quoted(c.form)), chromedp.EvalAwaitPromise))
		if (err == nil) != c.good || (state == "holds") != c.good {
			t.Errorf("%s: parsed with %v, the page says %q; want good %v", name, err, state, c.good)
		}
	}
}

// tab is a page in a headless Chromium at the width of a small telephone. Its
// methods end the test on an error.
type tab struct {
	*testing.T
	ctx context.Context
}

// browser is one for all tests, since to start it takes longer than most of them.
var browser struct {
	sync.Once
	ctx context.Context
	end func()
}

func TestMain(m *testing.M) {
	browser.end = func() {}
	code := m.Run()
	browser.end()
	os.Exit(code)
}

func open(t *testing.T) tab {
	t.Helper()
	program := outside.Program(t, "chromium", "chromium-browser", "google-chrome")
	browser.Do(func() {
		ctx, kill := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(program), chromedp.NoSandbox,
			chromedp.Flag("host-resolver-rules", "MAP harbour.test 127.0.0.1"),
			chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true))...)
		ctx, shut := chromedp.NewContext(ctx)
		browser.ctx, browser.end = ctx, func() { shut(); kill() }
		tab{t, ctx}.do() // or it ends with the first tab
	})
	ctx, cancel := chromedp.NewContext(browser.ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(cancel)
	b := tab{t, ctx}
	b.do(chromedp.EmulateViewport(320, 640))
	return b
}

// with is the same tab in a part of the test.
func (b tab) with(t *testing.T) tab { return tab{t, b.ctx} }

func (b tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatal(err)
	}
}

// get runs an action and returns its value.
func get[T any](b tab, a chromedp.Action[T]) T {
	b.Helper()
	v, err := chromedp.Run(b.ctx, a)
	if err != nil {
		b.Fatal(err)
	}
	return v
}

// visit loads an address anew and waits until the page has read its keys.
func (b tab) visit(url string) {
	b.Helper()
	b.do(chromedp.Navigate("about:blank"), chromedp.Navigate(url), chromedp.WaitReady(chromedp.CSS("html[data-ready=yes]")))
}

// result waits for a result and returns its state and text.
func (b tab) result() (state, text string) {
	b.Helper()
	b.do(chromedp.WaitVisible(chromedp.CSS("#result h2")))
	return get(b, chromedp.AttributeValue(chromedp.CSS("#result"), "data-state")).Value, get(b, chromedp.Text(chromedp.CSS("#result")))
}

// look keeps a picture of the page where CHECK_PICTURES names a folder.
func (b tab) look(name string) {
	b.Helper()
	if dir := os.Getenv("CHECK_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".png"), get(b, chromedp.FullScreenshot(100)), 0o644); err != nil {
			b.Fatal(err)
		}
	}
}

func TestCheckPage(t *testing.T) {
	b := open(t)
	signer := vectorSigner(t)
	path := filepath.Join(t.TempDir(), "check.html")
	if err := os.WriteFile(path, checkPage(t, signer), 0o644); err != nil {
		t.Fatal(err)
	}
	file := "file://" + path
	text, err := signer.SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	foreign, err := newSigner(t).SignToken(claim())
	if err != nil {
		t.Fatal(err)
	}
	// Every address that the page asks for, beside itself.
	var mu sync.Mutex
	var asked []string
	err = chromedp.Listen(b.ctx, func(e any) {
		if e, ok := e.(*network.EventRequestWillBeSent); ok && e.Type != network.ResourceTypeDocument {
			mu.Lock()
			asked = append(asked, e.Request.URL)
			mu.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}

	t.Run("opened with a label in the address", func(t *testing.T) {
		b := b.with(t)
		b.visit(file + "#" + text)
		state, shown := b.result()
		if state != "holds" {
			t.Errorf("state %s:\n%s", state, shown)
		}
		for _, want := range []string{"This text was signed with the key " + signer.KeyID().String(), "This page names the holder of the key: Test vectors, Never trust this key. It cannot prove that",
			"Treat every fibre as live",
			"pass", "A-12", "BL-2026-031/A-12", "2026-11-18", "2026-11-25, revision 1", "0.31 dB", "1310 nm", "A to B", "0.84 dB", "0.790 dB"} {
			if !strings.Contains(shown, want) {
				t.Errorf("does not show %q:\n%s", want, shown)
			}
		}
		b.look("holds")
	})

	t.Run("another label in the address", func(t *testing.T) {
		b := b.with(t)
		b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf("location.hash = %q", foreign)), chromedp.WaitVisible(chromedp.CSS("#result[data-state=unknown]")))
		if _, shown := b.result(); !strings.Contains(shown, "Nothing below is proven") || !strings.Contains(shown, "It claims: pass.") {
			t.Errorf("shows:\n%s", shown)
		}
		b.look("unknown")
	})

	t.Run("keyboard alone", func(t *testing.T) {
		b := b.with(t)
		bad := text[:90] + string("AB"[strings.IndexByte("BA", text[90])&1]) + text[91:]
		b.visit(file)
		b.do(chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(bad), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(kb.Enter))
		state, shown := b.result()
		if state != "wrong" && state != "unreadable" {
			t.Errorf("an altered label: state %s:\n%s", state, shown)
		}
		b.look("altered")
	})

	t.Run("all vectors", func(t *testing.T) {
		b := b.with(t)
		v := readTokenVectors(t)
		state := func(text string) string {
			return get(b, chromedp.Evaluate[string](fmt.Sprintf("check(%s)", quoted(text)), chromedp.EvalAwaitPromise))
		}
		for _, g := range v.Valid {
			if s := state(g.Text); s != "holds" {
				t.Errorf("%s: %s", g.Name, s)
			}
			for _, r := range g.Claim.Readings {
				shown := get(b, chromedp.Text(chromedp.CSS("#result")))
				if want := strings.Replace(r.Loss.String(), "-", "\u2212", 1) + " dB"; !strings.Contains(shown, want) {
					t.Errorf("%s: does not show %s", g.Name, want)
				}
			}
			// Nothing may stick out at the side, however long a name is.
			if width := get(b, chromedp.Evaluate[int]("document.documentElement.scrollWidth")); width > 320 {
				t.Errorf("%s: %d pixels wide on a screen of 320", g.Name, width)
			}
		}
		for _, b := range v.Refuse {
			switch s := state(b.Text); {
			case b.At == "parse" && s != "unreadable":
				// Text around a label is let through where it ends in #.
				t.Errorf("%s: %s, want unreadable", b.Name, s)
			case b.At == "verify" && s != "wrong" && s != "unknown":
				t.Errorf("%s: %s, want wrong", b.Name, s)
			}
		}
	})

	t.Run("other kinds of keys", func(t *testing.T) {
		b := b.with(t)
		for name, s := range signers(t) {
			text, err := s.SignToken(claim())
			if err != nil {
				t.Fatal(err)
			}
			one := filepath.Join(t.TempDir(), "check.html")
			if err := os.WriteFile(one, checkPage(t, s), 0o644); err != nil {
				t.Fatal(err)
			}
			b.visit("file://" + one + "#" + text)
			if state, shown := b.result(); state != "holds" {
				t.Errorf("%s: %s\n%s", name, state, shown)
			}
		}
	})

	t.Run("a certificate is added", func(t *testing.T) {
		b := b.with(t)
		other := newSigner(t)
		text, err := other.SignToken(claim())
		if err != nil {
			t.Fatal(err)
		}
		for name, data := range map[string][]byte{
			"s.pem": pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: other.Certificate().Raw}),
			"s.der": other.Certificate().Raw,
		} {
			cert := filepath.Join(t.TempDir(), name)
			if err := os.WriteFile(cert, data, 0o600); err != nil {
				t.Fatal(err)
			}
			b.visit(file)
			b.do(chromedp.SetUploadFiles(chromedp.CSS("#more"), []string{cert}), chromedp.WaitReady(chromedp.CSS("#known li:nth-child(2)")),
				chromedp.SetValue(chromedp.CSS("#text"), text), chromedp.Click(chromedp.CSS("button.main")))
			state, shown := b.result()
			if state != "holds" || !strings.Contains(shown, "The certificate you added names the holder of the key: R. Lindqvist, Tidewater Fibre Works.") || strings.Contains(shown, "It cannot prove that") {
				t.Errorf("%s: %s\n%s", name, state, shown)
			}
			known := get(b, chromedp.TextContent(chromedp.CSS("#known li:nth-child(2)")))
			if !strings.Contains(known, other.Fingerprint()) || !strings.Contains(known, "valid 2026-11-25 to 2036-11-25") {
				t.Errorf("%s: lists %q", name, known)
			}
		}
	})

	t.Run("markup in a name stays text", func(t *testing.T) {
		b := b.with(t)
		c := claim()
		c.Link = `<img src=x onerror="document.title='broken'">`
		text, err := signer.SignToken(c)
		if err != nil {
			t.Fatal(err)
		}
		b.visit(file + "#" + text)
		_, shown := b.result()
		title := get(b, chromedp.Title())
		if !strings.Contains(shown, c.Link) || title != "Check a fibre label" {
			t.Errorf("title %q, shows:\n%s", title, shown)
		}
	})

	t.Run("a name that turns its text around", func(t *testing.T) {
		b := b.with(t)
		c := claim()
		c.Link = "\u202e21-A\u2066\u200f"
		text, err := signer.SignToken(c)
		if err != nil {
			t.Fatal(err)
		}
		b.visit(file + "#" + text)
		if _, shown := b.result(); !strings.Contains(shown, "\ufffd21-A\ufffd\ufffd") || strings.ContainsAny(shown, "\u202e\u2066\u200f") {
			t.Errorf("shows:\n%s", shown)
		}
	})

	t.Run("screen reader", func(t *testing.T) {
		b := b.with(t)
		b.visit(file + "#" + text)
		b.result()
		tree, err := chromedp.Call(b.ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
		if err != nil {
			t.Fatal(err)
		}
		named := func(v *accessibility.Value) (s string) {
			if v != nil {
				_ = json.Unmarshal(v.Value, &s) // a name that is no text counts as none
			}
			return s
		}
		names := map[string]bool{}
		for _, n := range tree.Nodes {
			if n.Ignored {
				continue
			}
			role, name := named(n.Role), named(n.Name)
			names[role+" "+name] = true
			switch role {
			case "button", "textbox", "heading", "region", "link", "DisclosureTriangle", "columnheader":
				if name == "" {
					t.Errorf("a %s has no name", role)
				}
			}
		}
		for _, want := range []string{"heading Check a fibre label", "textbox Text of the label", "button Check", "region Result",
			"heading This text was signed with the key " + signer.KeyID().String(), "columnheader Loss"} {
			if !names[want] {
				t.Errorf("no %q among %v", want, names)
			}
		}
	})

	t.Run("over plain http", func(t *testing.T) {
		b := b.with(t)
		site := httptest.NewServer(http.FileServer(http.Dir(filepath.Dir(path))))
		defer site.Close()
		b.visit(strings.Replace(site.URL, "127.0.0.1", "harbour.test", 1) + "/check.html#" + text)
		if state, shown := b.result(); state != "unchecked" || !strings.Contains(shown, "Nothing below is proven") {
			t.Errorf("state %s:\n%s", state, shown)
		}
	})

	t.Run("camera", func(t *testing.T) {
		b := b.with(t)
		// This Chromium has no reader of symbols; one that always sees the
		// label stands in. The picture is the browser's test picture.
		script := fmt.Sprintf("window.BarcodeDetector = class { async detect() { return [{ rawValue: %q }]; } };", text)
		if _, err := chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script}); err != nil {
			t.Fatal(err)
		}
		site := httptest.NewServer(http.FileServer(http.Dir(filepath.Dir(path))))
		defer site.Close()
		b.visit(site.URL + "/check.html")
		b.do(chromedp.Click(chromedp.CSS("#camera")))
		if state, shown := b.result(); state != "holds" {
			t.Errorf("state %s:\n%s", state, shown)
		}
		if !get(b, chromedp.Evaluate[bool]("document.getElementById('view').hidden && stream === null")) {
			t.Error("the camera is still on")
		}
	})

	mu.Lock()
	defer mu.Unlock()
	for _, url := range asked {
		if !strings.HasPrefix(url, "blob:") && !strings.HasSuffix(url, "/favicon.ico") { // the browser's own question
			t.Errorf("the page asked for %s", url)
		}
	}
}

func quoted(s string) string { b, _ := json.Marshal(s); return string(b) }

func unquoted(raw []byte) (s string) {
	_ = json.Unmarshal(raw, &s) // a name that is no string stays empty, and is told
	return s
}
