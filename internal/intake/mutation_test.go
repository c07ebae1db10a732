package intake_test

import (
	"bytes"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/intake"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/propose"

	"github.com/google/go-cmp/cmp"
)

var long = flag.Bool("long", false, "also run what takes minutes: a thousand mutated files")

// TestMutations changes the exports of the corpus at random, as bad copies,
// editors and cables do, and reads each by the draft of the export it was, by
// its own draft, and without a mapping: every row has a fate, every refused row
// a reason, and no reading is without its origin. Of 1,000 files with -long; of
// 60 without.
func TestMutations(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	names, err := filepath.Glob(filepath.Join(testjobs.Root, "exports", "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatal(err)
	}
	files := 60
	if *long {
		files = 1000
	}
	type original struct {
		sample, entry string
		raw           []byte
	}
	var originals []original
	for _, name := range names {
		files, dir := testjobs.Archive(t, name).Files[:1], t.TempDir()
		testjobs.LayOut(t, dir, files)
		var o original
		o.sample, _, _ = strings.Cut(files[0].Name, "!")
		if o.raw, err = os.ReadFile(filepath.Join(dir, o.sample)); err != nil {
			t.Fatal(err)
		}
		if draft, _ := propose.Propose(o.sample, o.raw); draft != nil {
			o.entry = entryAlone(draft.Entry)
		}
		originals = append(originals, o)
	}
	random := rand.New(rand.NewPCG(16, 3))
	for i := range files {
		o := originals[i%len(originals)]
		raw := mutate(random, o.raw)
		if bytes.Equal(raw, o.raw) {
			continue
		}
		intake.CheckRead(t, o.sample, raw, "")
		if o.entry != "" {
			intake.CheckRead(t, o.sample, raw, o.entry)
		}
		if draft, list := propose.Propose(o.sample, raw); draft != nil {
			intake.CheckRead(t, o.sample, raw, entryAlone(draft.Entry))
		} else if list.Errors() == 0 {
			t.Error("no draft and no reason")
		}
		if t.Failed() {
			t.Fatalf("file %d, made of %s:\n%s\n%s", i, o.sample, cmp.Diff(string(o.raw), string(raw)), o.entry)
		}
	}
}

// entryAlone is a draft without its list and its files.
func entryAlone(entry string) string {
	var b bytes.Buffer
	for line := range bytes.Lines([]byte(entry)) {
		if bytes.HasPrefix(line, []byte("    ")) {
			b.Write(line[4:])
		}
	}
	return b.String()
}

// mutate changes a file in one to four ways.
func mutate(random *rand.Rand, raw []byte) []byte {
	out := bytes.Clone(raw)
	for range 1 + random.IntN(4) {
		if len(out) < 4 {
			return out
		}
		at := random.IntN(len(out))
		lines := bytes.SplitAfter(out, []byte("\n"))
		n := random.IntN(len(lines))
		switch random.IntN(12) {
		case 0: // a bit
			out[at] ^= 1 << random.IntN(8)
		case 1: // cut off
			out = out[:at]
		case 2: // a stretch is lost
			out = append(out[:at:at], out[min(len(out), at+1+random.IntN(20)):]...)
		case 3: // a line twice
			out = bytes.Join(append(lines[:n+1:n+1], lines[n:]...), nil)
		case 4: // a line lost
			out = bytes.Join(append(lines[:n:n], lines[min(len(lines), n+1):]...), nil)
		case 5: // lines exchanged
			m := random.IntN(len(lines))
			lines[n], lines[m] = lines[m], lines[n]
			out = bytes.Join(lines, nil)
		case 6: // a decimal comma
			out = bytes.Replace(out, []byte("."), []byte(","), 1+random.IntN(3))
		case 7: // a delimiter more
			out = append(out[:at:at], append([]byte{";,\t|\""[random.IntN(5)]}, out[at:]...)...)
		case 8: // a text for a number
			out = bytes.Replace(out, []byte("0."), []byte([]string{"OL", "---", "<0.", ">", "n/a"}[random.IntN(5)]), 1)
		case 9: // other line ends
			out = bytes.ReplaceAll(out, []byte("\n"), []byte("\r\n"))
		case 10: // put together with itself
			out = append(out, out...)
		case 11: // digits
			for i := at; i < min(len(out), at+30); i++ {
				if out[i] >= '0' && out[i] <= '9' {
					out[i] = byte('0' + random.IntN(10))
				}
			}
		}
	}
	return out
}
