package verify

import (
	"bytes"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
)

func TestPaper(t *testing.T) {
	me, other := newSigner(t, "R. Lindqvist"), newSigner(t, "Somebody")
	good := maker{signer: me}
	token := func(link string, a []page.Attachment) []byte {
		i := slices.IndexFunc(a, func(a page.Attachment) bool { return a.Name == "token.txt" })
		return a[i].Data
	}
	for name, c := range map[string]struct {
		make    maker
		trust   *Trust
		outcome Conclusion
		fault   string // of all that are found, one holds this
	}{
		"good, trusted":          {good, trusting(me), Holds, ""},
		"good, nobody trusted":   {good, &Trust{}, Untrusted, ""},
		"good, another trusted":  {good, trusting(other), Untrusted, ""},
		"signed again":           {maker{signer: other}, trusting(me), Untrusted, ""},
		"token of another key":   {maker{signer: me, tokenKey: other}, trusting(me), Broken, "not made by the signer"},
		"paper of another key":   {maker{signer: me, paperKey: other}, trusting(me), Broken, "not made by the signer"},
		"record not the token's": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Record[0]++ }}, trusting(me), Broken, "not the one that its token names"},
		"loss embellished": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Readings[0].Loss = quantity.Must("0.74") }},
			trusting(me), Broken, "disagree about readings"},
		"digits dropped": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Readings[0].Loss = quantity.Must("0.840") }},
			trusting(me), Broken, "disagree about readings"},
		"reading left out": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Readings = c.Readings[:1] }},
			trusting(me), Broken, "disagree about readings"},
		"beyond the range, left out": {maker{signer: me, record: shownLast, claim: func(_ string, c *seal.Claim) { c.Readings = c.Readings[:1] }},
			trusting(me), Holds, ""},
		"beyond the range, as tokens once had it": {maker{signer: me, record: shownLast}, trusting(me), Holds, ""},
		"beyond the range, with a number of its own": {maker{signer: me, record: shownLast, claim: func(_ string, c *seal.Claim) { c.Readings[1].Loss = quantity.Must("0.50") }},
			trusting(me), Broken, "disagree about readings"},
		"beyond the range, and another left out": {maker{signer: me, record: shownLast, claim: func(_ string, c *seal.Claim) { c.Readings = c.Readings[1:] }},
			trusting(me), Broken, "disagree about readings"},
		"other verdict":  {maker{signer: me, record: func(_ string, r map[string]any) { r["verdict"] = "fail" }}, trusting(me), Broken, "disagree about verdict"},
		"other link":     {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Link = "L-9" }}, trusting(me), Broken, "disagree about link"},
		"other job":      {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Job = "J-8" }}, trusting(me), Broken, "disagree about job"},
		"other number":   {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Certificate = "J-8/L-1" }}, trusting(me), Broken, "disagree about certificate"},
		"other revision": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Revision = 9 }}, trusting(me), Broken, "disagree about revision"},
		"other day":      {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Issued = "2026-11-24" }}, trusting(me), Broken, "disagree about issued"},
		"day before the signature's": {maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Issued = "2026-01-05" },
			record: func(_ string, r map[string]any) { r["issued"] = "2026-01-05" }}, trusting(me), Broken, "issued on 2026-01-05, its signature 2026-11-25"},
		"margin nobody has": {maker{signer: me, claim: func(_ string, c *seal.Claim) { m := quantity.Must("0.99"); c.Margin = &m }}, trusting(me), Broken, "disagree about margin"},
		"token changed": {maker{signer: me, attach: func(l string, a []page.Attachment) []page.Attachment {
			d := token(l, a)
			d[60] ^= 1
			return a
		}}, trusting(me), Broken, "token that it carries"},
		"two line ends": {maker{signer: me, attach: func(l string, a []page.Attachment) []page.Attachment {
			a[1].Data = append(a[1].Data, '\n')
			return a
		}}, trusting(me), Broken, "token that it carries is wrong"},
		"no token": {maker{signer: me, attach: func(_ string, a []page.Attachment) []page.Attachment { return a[:1] }}, trusting(me), Holds, ""},
	} {
		t.Run(name, func(t *testing.T) {
			r := PDF("a.pdf", c.make.paper(t, "L-1"), c.trust)
			if r.Conclusion() != c.outcome {
				t.Errorf("%s, want %s: %+v", r.Conclusion(), c.outcome, r.Items)
			}
			found := strings.Join(faults(r, ""), "\n")
			if (c.fault == "") != (found == "") || !strings.Contains(found, c.fault) {
				t.Errorf("found %q, want %q", found, c.fault)
			}
		})
	}
}

var long = flag.Bool("long", false, "also run what takes minutes: every byte changed in every way, two thousand changes of a set")

// within are the places where a byte is one of many of its kind: packed content, and
// the digits of the signature.
var within = regexp.MustCompile(`(?s)stream\n.*?\nendstream|/Contents<[0-9a-f]+>`)

// TestPaperEveryByte changes every byte of a certificate in three ways with -long.
// Without, it changes each in one, but of packed content and the signature's digits
// every 31st only.
func TestPaperEveryByte(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	good := maker{signer: me}.paper(t, "L-1")
	trust := trusting(me)
	ways := []byte{0x01, 0x20, 0x80}
	common := make([]bool, len(good))
	for _, at := range within.FindAllIndex(good, -1) {
		for i := at[0] + len("stream\n"); i < at[1]-len("\nendstream"); i++ {
			common[i] = i%31 > 0
		}
	}
	err := inParallel(len(good), func(i int) error {
		flips := ways
		if !*long {
			flips = ways[i%3 : i%3+1]
			if common[i] {
				return nil
			}
		}
		bad := bytes.Clone(good)
		for _, flip := range flips {
			bad[i] = good[i] ^ flip
			if got := PDF("a.pdf", bad, trust).Conclusion(); got != Broken {
				t.Errorf("byte %d, %q became %q: %s", i, good[i], bad[i], got)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(good); i += 97 {
		if got := PDF("a.pdf", good[:i], trust).Conclusion(); got != Broken {
			t.Errorf("cut after %d bytes: %s", i, got)
		}
	}
	for _, more := range []string{"\n", " ", "%%EOF\n", "\x00", string(good)} {
		if got := PDF("a.pdf", append(bytes.Clone(good), more...), trust).Conclusion(); got != Broken {
			t.Errorf("%d bytes more: %s", len(more), got)
		}
	}
}

func TestToken(t *testing.T) {
	me, other := newSigner(t, "R. Lindqvist"), newSigner(t, "Somebody")
	text := func(s *seal.Signer) string {
		text, err := s.SignToken(seal.Claim{Certificate: "J-7", Job: "J-7", Revision: 1, Verdict: "conforms", Issued: "2026-11-25"})
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	good := text(me)
	for name, c := range map[string]struct {
		text    string
		trust   *Trust
		outcome Conclusion
		state   State
		fault   string
	}{
		"good":                    {good, trusting(me), Holds, Intact, ""},
		"with address":            {"https://c.example/#" + good, trusting(me), Holds, Intact, ""},
		"space around":            {" \n" + good + "\n", trusting(me), Holds, Intact, ""},
		"nobody trusted":          {good, &Trust{}, Untrusted, Unchecked, ""},
		"made by somebody else":   {text(other), trusting(me), Untrusted, Unchecked, ""},
		"half":                    {good[:90], trusting(me), Broken, Unreadable, "the whole text again"},
		"no token":                {"hello", trusting(me), Broken, Unreadable, "the whole text again"},
		"empty":                   {"", trusting(me), Broken, Unreadable, "the whole text again"},
		"lower case":              {strings.ToLower(good), trusting(me), Broken, Unreadable, "in lower case; a label's text is in capitals"},
		"half, nobody trusted":    {good[:90], &Trust{}, Broken, Unreadable, "the whole text again"},
		"several trusted, one is": {good, trusting(other, me), Holds, Intact, ""},
		"lower case, address":     {"https://c.example/#" + strings.ToLower(good), trusting(me), Broken, Unreadable, "in lower case; a label's text is in capitals"},
		"body in lower case":      {good[:4] + strings.ToLower(good[4:]), trusting(me), Broken, Unreadable, "in lower case; a label's text is in capitals"},
		"address in capitals":     {"HTTPS://C.EXAMPLE/#" + good, trusting(me), Holds, Intact, ""},
		"line break inside":       {good[:60] + "\r\n" + good[60:], trusting(me), Broken, Unreadable, "blanks or line breaks"},
		"blanks inside, lower":    {strings.ToLower(good[:60] + " " + good[60:]), trusting(me), Broken, Unreadable, "blanks or line breaks"},
		"a scanner's word before": {"QR-Code:" + good, trusting(me), Broken, Unreadable, "something stands before"},
		"in quotes":               {"\"" + good + "\"", trusting(me), Broken, Unreadable, "something stands before"},
		"two labels":              {good + "\n" + good, trusting(me), Broken, Unreadable, "several labels"},
		"lower case and wrong":    {strings.ToLower(good[:90]), trusting(me), Broken, Unreadable, "in lower case"},
	} {
		r := TokenText(c.text, c.trust)
		if r.Conclusion() != c.outcome || r.Items[0].State != c.state {
			t.Errorf("%s: %s, %s; want %s, %s", name, r.Conclusion(), r.Items[0].State, c.outcome, c.state)
		}
		if found := strings.Join(faults(r, ""), "\n"); !strings.Contains(found, c.fault) {
			t.Errorf("%s: found %q, want %q", name, found, c.fault)
		}
	}
	for text, want := range map[string]bool{good: true, strings.ToLower(good): true, "<" + good + ">": true, "https://c.example/#ss1.aaaa": true,
		"CLASS1.pdf": false, "class1.a/b": false, "a/SS1.pdf": false, "": false} {
		if LooksLikeToken(text) != want {
			t.Errorf("%q looks like a token: %v, want %v", text, !want, want)
		}
	}
	for i := range good {
		for _, with := range "AQ7" {
			if bad := good[:i] + string(with) + good[i+1:]; bad != good {
				want := Broken
				if tok, err := seal.ParseToken(bad); err == nil && tok.KeyID != me.KeyID() {
					want = Untrusted // it names another key: nothing to check it with
				}
				if got := TokenText(bad, trusting(me)).Conclusion(); got != want {
					t.Errorf("character %d changed to %c: %s, want %s", i, with, got, want)
				}
			}
		}
	}
}

// lengthy makes the record of a summary longer than what is held in memory, before
// and behind its list of links.
func lengthy(link string, record map[string]any) {
	if link == "" {
		record["further"], record["statistics"] = slices.Repeat([]string{strings.Repeat("x", 1<<20)}, 40), strings.Repeat("x", 1<<20)
	}
}

func TestFolder(t *testing.T) {
	me, other := newSigner(t, "R. Lindqvist"), newSigner(t, "Somebody")
	const l1, l2 = "certificates/L-1.pdf", "certificates/L-2.pdf"
	type change func(f fstest.MapFS)
	for name, c := range map[string]struct {
		make    maker
		change  change
		trust   *Trust
		outcome Conclusion
		at      string
		fault   string
		note    string
	}{
		"good":              {make: maker{signer: me}, outcome: Holds},
		"nobody trusted":    {make: maker{signer: me}, trust: &Trust{}, outcome: Untrusted},
		"signed all again":  {make: maker{signer: other}, outcome: Untrusted},
		"missing":           {make: maker{signer: me}, change: func(f fstest.MapFS) { delete(f, "r1/"+l1) }, outcome: Broken, at: l1, fault: "the manifest lists it"},
		"added":             {make: maker{signer: me}, change: func(f fstest.MapFS) { f["r1/extra.txt"] = &fstest.MapFile{} }, outcome: Broken, at: "extra.txt", fault: "does not list it"},
		"added, hidden":     {make: maker{signer: me}, change: func(f fstest.MapFS) { f["r1/.x/y"] = &fstest.MapFile{} }, outcome: Broken, at: ".x/y", fault: "does not list it"},
		"added certificate": {make: maker{signer: me}, change: func(f fstest.MapFS) { f["r1/certificates/L-3.pdf"] = f["r1/"+l1] }, outcome: Broken, at: "certificates/L-3.pdf", fault: "does not list it"},
		"added, by desktop systems": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			for _, name := range []string{".DS_Store", "evidence/.DS_Store", "Thumbs.db", "certificates/thumbs.db", "Desktop.ini", "certificates/._L-1.pdf"} {
				f["r1/"+name] = &fstest.MapFile{Data: []byte("\x00\x05\x16\x07")}
			}
		}, outcome: Holds, note: "left by a desktop system"},
		"a paper by such a name": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/certificates/._L-1.pdf"] = f["r1/"+l1]
		}, outcome: Broken, at: "certificates/._L-1.pdf", fault: "does not list it"},
		"a paper by such a name, after many bytes": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/certificates/._L-1.pdf"] = &fstest.MapFile{Data: append(make([]byte, 5000), f["r1/"+l1].Data...)}
		}, outcome: Broken, at: "certificates/._L-1.pdf", fault: "does not list it"},
		"a manifest that is a link": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["elsewhere.json"] = f["r1/manifest.json"]
			f["r1/manifest.json"] = &fstest.MapFile{Data: []byte("../elsewhere.json"), Mode: fs.ModeSymlink}
		}, outcome: Broken, at: "manifest.json", fault: "not a plain file"},
		"a signature that is a link": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["elsewhere.p7s"] = f["r1/manifest.p7s"]
			f["r1/manifest.p7s"] = &fstest.MapFile{Data: []byte("../elsewhere.p7s"), Mode: fs.ModeSymlink}
		}, outcome: Broken, at: "manifest.p7s", fault: "not a plain file"},
		"a paper by such a name, after some bytes": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/Thumbs.db"] = &fstest.MapFile{Data: append([]byte("\n\n"), f["r1/"+l1].Data...)}
		}, outcome: Broken, at: "Thumbs.db", fault: "does not list it"},
		"a folder by such a name": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/.DS_Store/x"] = &fstest.MapFile{}
		}, outcome: Broken, at: ".DS_Store/x", fault: "does not list it"},
		"a link by such a name": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/Thumbs.db"] = &fstest.MapFile{Data: []byte("results.csv"), Mode: fs.ModeSymlink}
		}, outcome: Broken, at: "Thumbs.db", fault: "does not list it"},
		"a link to elsewhere": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/check.html"] = &fstest.MapFile{Data: []byte("results.csv"), Mode: fs.ModeSymlink}
		}, outcome: Broken, at: "check.html", fault: "not a plain file"},
		"a folder in its place": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			delete(f, "r1/"+l1)
			f["r1/"+l1+"/x"] = &fstest.MapFile{}
		}, outcome: Broken, at: l1, fault: "not a plain file"},
		"a pipe for a manifest": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/manifest.json"] = &fstest.MapFile{Mode: fs.ModeNamedPipe}
		}, outcome: Broken, at: "manifest.json", fault: "not a plain file"},
		"exchanged":        {make: maker{signer: me}, change: func(f fstest.MapFS) { f["r1/"+l1], f["r1/"+l2] = f["r1/"+l2], f["r1/"+l1] }, outcome: Broken, at: l1, fault: "what belongs in " + l2},
		"table changed":    {make: maker{signer: me}, change: edit("r1/results.csv", "0.84", "0.74"), outcome: Broken, at: "results.csv", fault: "another hash"},
		"table longer":     {make: maker{signer: me}, change: edit("r1/results.csv", "0.84", "0.841"), outcome: Broken, at: "results.csv", fault: "the manifest says"},
		"original changed": {make: maker{signer: me}, change: edit("r1/evidence/readings/a.csv", "0.84", "0.74"), outcome: Broken, at: "evidence/readings/a.csv", fault: "another hash"},
		"page changed":     {make: maker{signer: me}, change: edit("r1/check.html", "doctype", "d0ctype"), outcome: Broken, at: "check.html", fault: "another hash"},
		"certificate signed again": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/"+l1] = &fstest.MapFile{Data: maker{signer: other}.paper(t, "L-1")}
		}, outcome: Broken, at: l1, fault: "another key than the manifest"},
		"manifest gone":        {make: maker{signer: me}, change: func(f fstest.MapFS) { delete(f, "r1/manifest.json") }, outcome: Broken, at: "manifest.json", fault: "without this list nobody can tell what belongs here; copy the folder again, whole, or ask"},
		"signature gone":       {make: maker{signer: me}, change: func(f fstest.MapFS) { delete(f, "r1/manifest.p7s") }, outcome: Broken, at: "manifest.p7s", fault: "without this signature nobody can tell who made manifest.json; copy the folder again, whole, or ask"},
		"both gone, list":      {make: maker{signer: me}, change: remove("r1/manifest."), outcome: Broken, at: "manifest.json", fault: "without this list"},
		"both gone, signature": {make: maker{signer: me}, change: remove("r1/manifest."), outcome: Broken, at: "manifest.p7s", fault: "without this signature"},
		"a pipe for a signature": {make: maker{signer: me}, change: func(f fstest.MapFS) {
			f["r1/manifest.p7s"] = &fstest.MapFile{Mode: fs.ModeNamedPipe}
		}, outcome: Broken, at: "manifest.p7s", fault: "not a plain file"},
		"manifest changed":       {make: maker{signer: me}, change: edit("r1/manifest.json", "J-7", "J-8"), outcome: Broken, at: "manifest.json", fault: "other content"},
		"folder renamed":         {make: maker{signer: me, revision: 2, previous: strings.Repeat("0", 64)}, change: rename("r2", "r1"), outcome: Broken, at: "manifest.json", fault: "the folder is named r1"},
		"papers of another key":  {make: maker{signer: me, paperKey: other, tokenKey: other}, outcome: Broken, at: l1, fault: "another key than the manifest"},
		"papers of another job":  {make: maker{signer: me, manifest: func(m *seal.Manifest) { m.Job = "J-8" }}, outcome: Broken, at: l1, fault: "of the job J-7"},
		"papers of a revision":   {make: maker{signer: me, claim: func(_ string, c *seal.Claim) { c.Revision = 3 }, record: func(_ string, r map[string]any) { r["revision"] = 3 }}, outcome: Broken, at: l1, fault: "revision r3"},
		"table at odds, loss":    {make: maker{signer: me, files: edit("results.csv", "A-B,0.84", "A-B,0.85")}, outcome: Broken, at: l1, fault: "results.csv has 0.85 dB at 1310 nm A-B, the document 0.84 dB"},
		"table at odds, verdict": {make: maker{signer: me, files: edit("results.csv", "L-1,pass", "L-1,fail")}, outcome: Broken, at: l1, fault: "results.csv says fail"},
		"table lacks a link":     {make: maker{signer: me, files: edit("results.csv", "L-1", "L-9")}, outcome: Broken, at: l1, fault: "does not know the link"},
		"wrong original":         {make: maker{signer: me, files: edit("evidence/readings/a.csv", "0.84", "0.74")}, outcome: Broken, at: l1, fault: "not the one that was read"},
		"summary embellished": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if l == "" {
				r["links"].([]any)[0].(map[string]any)["verdict"] = "fail"
			}
		}}, outcome: Broken, at: "summary.pdf", fault: "says conforms, and fail for the link L-1"},
		"summary at odds": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if l == "" {
				r["links"].([]any)[0].(map[string]any)["verdict"] = "marginal"
			}
		}}, outcome: Broken, at: l1, fault: "summary.pdf says marginal for the link L-1; this document says pass for L-1"},
		"summary names no paper": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if l == "" {
				r["links"].([]any)[0].(map[string]any)["file"] = "certificates/L-9.pdf"
			}
		}}, outcome: Broken, at: "summary.pdf", fault: "which the manifest does not list"},
		"summary of another verdict": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if l == "" {
				r["conforms"] = false
			}
		}}, outcome: Broken, at: "summary.pdf", fault: "disagree about verdict"},
		"a summary of many links": {make: maker{signer: me, record: lengthy}, outcome: Holds},
		"a summary of many links, at odds": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if lengthy(l, r); l == "" {
				r["conforms"] = false
			}
		}}, outcome: Broken, at: "summary.pdf", fault: "disagree about verdict"},
		"a summary of many links, of another record": {make: maker{signer: me, record: lengthy, claim: func(l string, c *seal.Claim) {
			if l == "" {
				c.Record[0]++
			}
		}}, outcome: Broken, at: "summary.pdf", fault: "not the one that its token names"},
		"a summary of many links, a paper at odds": {make: maker{signer: me, record: func(l string, r map[string]any) {
			if lengthy(l, r); l == "" {
				r["links"].([]any)[0].(map[string]any)["verdict"] = "marginal"
			}
		}}, outcome: Broken, at: l1, fault: "says marginal for the link L-1"},
		"table for programs at odds": {make: maker{signer: me, files: edit("results.json", "J-7/L-1", "J-7/L-9")}, outcome: Broken, at: "summary.pdf", fault: "another results.json"},
		"one number twice": {make: maker{signer: me, claim: func(l string, c *seal.Claim) {
			if l != "" {
				c.Certificate, c.Link = "J-7/L-1", "L-1"
			}
		},
			record: func(l string, r map[string]any) {
				if l != "" {
					r["certificate"], r["link"] = "J-7/L-1", map[string]any{"id": "L-1"}
				}
			}}, outcome: Broken, at: l2, fault: "is on certificates/L-1.pdf too"},
	} {
		t.Run(name, func(t *testing.T) {
			fsys := fstest.MapFS{}
			c.make.issue(t, fsys)
			if c.change != nil {
				c.change(fsys)
			}
			trust := c.trust
			if trust == nil {
				trust = trusting(me)
			}
			r, err := folder(fsys, "r1", trust)
			if err != nil {
				t.Fatal(err)
			}
			if r.Conclusion() != c.outcome {
				t.Errorf("%s, want %s: %+v", r.Conclusion(), c.outcome, r.Items)
			}
			if found := strings.Join(faults(r, c.at), "\n"); c.fault != "" && !strings.Contains(found, c.fault) {
				t.Errorf("found %q at %s, want %q; all: %q", found, c.at, c.fault, faults(r, ""))
			}
			if !strings.Contains(notes(r), c.note) {
				t.Errorf("noted %q, want %q", notes(r), c.note)
			}
			if c.outcome != Broken && len(faults(r, "")) > 0 {
				t.Errorf("found %q", faults(r, ""))
			}
		})
	}
}

// edit replaces a text in a file, everywhere.
func edit(name, old, new string) func(fstest.MapFS) {
	return func(f fstest.MapFS) {
		data := bytes.ReplaceAll(f[name].Data, []byte(old), []byte(new))
		if bytes.Equal(data, f[name].Data) {
			panic(name + " holds no " + old)
		}
		f[name] = &fstest.MapFile{Data: data}
	}
}

func rename(from, to string) func(fstest.MapFS) {
	return func(f fstest.MapFS) {
		for name, file := range f {
			if rest, ok := strings.CutPrefix(name, from+"/"); ok {
				delete(f, name)
				f[to+"/"+rest] = file
			}
		}
	}
}

// TestManifestEveryByte changes every byte of the manifest and its signature
// in their folder; without -long every 13th, for package seal changes them all.
func TestManifestEveryByte(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	fsys := fstest.MapFS{}
	maker{signer: me}.issue(t, fsys)
	trust := trusting(me)
	for _, name := range []string{"r1/manifest.json", "r1/manifest.p7s"} {
		good := fsys[name].Data
		for i := range good {
			if !*long && i%13 > 0 {
				continue
			}
			bad := bytes.Clone(good)
			bad[i] ^= 0x20
			fsys[name] = &fstest.MapFile{Data: bad}
			r, err := folder(fsys, "r1", trust)
			if err != nil || r.Conclusion() != Broken {
				t.Fatalf("%s, byte %d: %s, %v", name, i, r.Conclusion(), err)
			}
		}
		fsys[name] = &fstest.MapFile{Data: good}
	}
}

func TestChain(t *testing.T) {
	me, next := newSigner(t, "R. Lindqvist"), newSigner(t, "M. Okafor")
	set := func(t *testing.T, second *seal.Signer) fstest.MapFS {
		f := fstest.MapFS{}
		h := maker{signer: me}.issue(t, f)
		h = maker{signer: second, revision: 2, previous: h}.issue(t, f)
		maker{signer: second, revision: 3, previous: h}.issue(t, f)
		return f
	}
	for name, c := range map[string]struct {
		second  *seal.Signer
		change  func(f fstest.MapFS)
		at      string // which folder is looked at
		outcome Conclusion
		missing string // the only thing that is; "": none need be
		fault   string
		note    string
	}{
		"all three":             {at: ".", outcome: Holds},
		"the last":              {at: "r3", outcome: Holds},
		"key changed":           {second: next, at: ".", outcome: Holds, note: "r1 was signed by another key"},
		"first gone":            {change: remove("r1/"), at: ".", outcome: Broken, missing: "r1", fault: "r2 was issued after it"},
		"middle gone":           {change: remove("r2/"), at: ".", outcome: Broken, missing: "r2", fault: "r3 was issued after it"},
		"first two gone":        {change: func(f fstest.MapFS) { remove("r1/")(f); remove("r2/")(f) }, at: ".", outcome: Broken, missing: "r2", fault: "r3 was issued after it"},
		"first is a file":       {change: func(f fstest.MapFS) { remove("r1/")(f); f["r1"] = &fstest.MapFile{} }, at: ".", outcome: Broken, missing: "r1", fault: "r2 was issued after it"},
		"first's list gone":     {change: remove("r1/manifest.json"), at: ".", outcome: Broken, missing: "r1/manifest.json", fault: "without this list", note: "the tie to r1 was not checked"},
		"first gone, alone":     {change: remove("r1/"), at: "r3", outcome: Holds, note: "r1 is not here"},
		"first issued again":    {change: func(f fstest.MapFS) { maker{signer: me, at: issued.AddDate(0, 0, 1)}.issue(t, f) }, at: ".", outcome: Broken, fault: "r1 is not the one that r2 was issued after"},
		"first issued again, 3": {change: func(f fstest.MapFS) { maker{signer: me, at: issued.AddDate(0, 0, 1)}.issue(t, f) }, at: "r3", outcome: Broken, fault: "r1 is not the one that r2 was issued after"},
		"first's signature cut": {change: func(f fstest.MapFS) { f["r1/manifest.p7s"] = &fstest.MapFile{} }, at: "r3", outcome: Broken, fault: "r1: the signature"},
		"paper of r1 changed":   {change: edit("r1/certificates/L-1.pdf", "/Type", "/type"), at: ".", outcome: Broken, fault: "another hash"},
	} {
		t.Run(name, func(t *testing.T) {
			second := c.second
			if second == nil {
				second = me
			}
			f := set(t, second)
			if c.change != nil {
				c.change(f)
			}
			r, err := folder(f, c.at, trusting(me, next))
			if err != nil {
				t.Fatal(err)
			}
			if r.Conclusion() != c.outcome {
				t.Errorf("%s, want %s: %+v", r.Conclusion(), c.outcome, r.Items)
			}
			if found := strings.Join(faults(r, ""), "\n"); !strings.Contains(found, c.fault) {
				t.Errorf("found %q, want %q", found, c.fault)
			}
			if !strings.Contains(notes(r), c.note) {
				t.Errorf("noted %q, want %q", notes(r), c.note)
			}
			for _, i := range r.Items {
				if c.missing != "" && (i.State != Intact || i.Path == c.missing) && (i.State != Missing || i.Path != c.missing) {
					t.Errorf("%s is %s: %q; want only %s to be missing", i.Path, i.State, i.Faults, c.missing)
				}
			}
		})
	}
}

func remove(prefix string) func(fstest.MapFS) {
	return func(f fstest.MapFS) {
		for name := range f {
			if strings.HasPrefix(name, prefix) {
				delete(f, name)
			}
		}
	}
}

func TestLooseFolder(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	f := fstest.MapFS{
		"a/L-1.pdf": {Data: maker{signer: me}.paper(t, "L-1")},
		"L-2.PDF":   {Data: maker{signer: me}.paper(t, "L-2")},
		"note.txt":  {},
	}
	r, err := folder(f, ".", trusting(me))
	if err != nil || r.Conclusion() != Holds || r.Files != 2 || r.Items[0].Path != "L-2.PDF" {
		t.Errorf("%v, %+v", err, r)
	}
	f["summary.pdf"] = &fstest.MapFile{Data: maker{signer: me}.paper(t, "")}
	if r, err = folder(f, ".", trusting(me)); err != nil || strings.Contains(notes(r), "not here") {
		t.Errorf("%v, %q", err, notes(r))
	}
	f["L-3.pdf"] = &fstest.MapFile{Data: []byte("L-2.PDF"), Mode: fs.ModeSymlink}
	if r, err = folder(f, ".", trusting(me)); err != nil || r.Conclusion() != Untrusted || !strings.Contains(notes(r), "not a plain file, and not looked at") {
		t.Errorf("a link: %v, %q", err, notes(r))
	}
	delete(f, "L-3.pdf")
	f["a/._L-1.pdf"] = &fstest.MapFile{Data: []byte("\x00\x05\x16\x07")}
	if r, err = folder(f, ".", trusting(me)); err != nil || r.Conclusion() != Holds || r.Files != 4 || !strings.Contains(notes(r), "left by a desktop system") {
		t.Errorf("left by a desktop: %v, %+v", err, r)
	}
	delete(f, "a/._L-1.pdf")
	delete(f, "a/L-1.pdf")
	if r, err = folder(f, ".", trusting(me)); err != nil || r.Conclusion() != Holds || !strings.Contains(notes(r), "summary.pdf lists 2 documents; not here: L-1") {
		t.Errorf("%v, %q", err, notes(r))
	}
	for _, name := range []string{"note.txt", "._L-1.pdf"} {
		if _, err := folder(fstest.MapFS{name: {}}, ".", trusting(me)); err == nil {
			t.Errorf("a folder with nothing to check but %s was checked", name)
		}
	}
}

// TestMissingIsToldOnce: the summary of a set does not complain as well.
func TestMissingIsToldOnce(t *testing.T) {
	f, me := fstest.MapFS{}, newSigner(t, "R. Lindqvist")
	maker{signer: me}.issue(t, f)
	delete(f, "r1/certificates/L-1.pdf")
	r, err := folder(f, "r1", trusting(me))
	if found := faults(r, ""); err != nil || len(found) != 1 {
		t.Errorf("%v, %q", err, found)
	}
}

// TestManifestTakenAway: a revision without its manifest is no loose handful of
// papers, under which a missing one would not be missed.
func TestManifestTakenAway(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	for _, test := range []struct {
		name, as string
		without  []string
		outcome  Conclusion
	}{
		{"whole", "r1", nil, Holds},
		{"whole, under another name", "handover", nil, Holds},
		{"no manifest", "r1", []string{"manifest.json"}, Broken},
		{"no signature", "handover", []string{"manifest.p7s"}, Broken},
		{"no manifest, under another name", "handover", []string{"manifest.json"}, Broken},
		{"neither", "r1", []string{"manifest.json", "manifest.p7s", "certificates/L-2.pdf"}, Broken},
		{"neither, nor a summary", "r1", []string{"manifest.json", "manifest.p7s", "summary.pdf"}, Broken},
	} {
		f := fstest.MapFS{}
		maker{signer: me}.issue(t, f)
		for _, name := range test.without {
			delete(f, "r1/"+name)
		}
		revision, err := fs.Sub(f, "r1")
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.Join(t.TempDir(), test.as)
		if err := os.CopyFS(dir, revision); err != nil {
			t.Fatal(err)
		}
		r, err := Folder(dir, trusting(me))
		if err != nil {
			t.Fatal(err)
		}
		if r.Conclusion() != test.outcome {
			t.Errorf("%s: %s, want %s: %+v", test.name, r.Conclusion(), test.outcome, r.Items)
		}
	}
}

func BenchmarkPaper(b *testing.B) {
	me := newSigner(b, "R. Lindqvist")
	good, trust := maker{signer: me}.paper(b, "L-1"), trusting(me)
	for b.Loop() {
		if PDF("a.pdf", good, trust).Conclusion() != Holds {
			b.Fatal("refused")
		}
	}
}

// shownLast makes the record say that the instrument could measure no more of
// its last loss.
func shownLast(_ string, r map[string]any) {
	r["readings"].([]any)[1].(map[string]any)["shown"] = "OL"
}
