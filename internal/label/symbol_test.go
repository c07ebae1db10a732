package label_test

import (
	"flag"
	"math/rand/v2"
	"strings"
	"testing"

	reference "github.com/skip2/go-qrcode"

	"spanseal/internal/label"
)

var every = flag.Bool("every", false, "compare 10,000 symbols with the reference's, of every length")

// longestText is how many alphanumeric characters a symbol of version 40 holds
// at level M (ISO/IEC 18004:2015, table 7; from memory).
const longestText = 3391

// TestReference holds symbols against those of go-qrcode, module for module:
// texts like a token's, from all alphanumeric characters, and with long numbers,
// some of which go-qrcode writes as segments of their own.
func TestReference(t *testing.T) {
	const (
		digits = "0123456789"
		base32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
		all    = digits + "ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
	)
	from := func(random *rand.Rand, alphabet string, n int) string {
		b := make([]byte, n)
		for i := range b {
			b[i] = alphabet[random.IntN(len(alphabet))]
		}
		return string(b)
	}
	for _, c := range []struct {
		name string
		step int // from one length to the next, with -every
		text func(random *rand.Rand, n int) string
	}{
		{"token", 1, func(random *rand.Rand, n int) string { return ("SS1." + from(random, base32, n))[:n] }},
		{"alphanumeric", 3, func(random *rand.Rand, n int) string { return from(random, all, n) }},
		{"numbers", 3, func(random *rand.Rand, n int) string {
			var b strings.Builder
			for b.Len() < n {
				b.WriteString(from(random, base32, random.IntN(20)))
				b.WriteString(from(random, digits, random.IntN(17)))
			}
			return b.String()[:n]
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			random := rand.New(rand.NewPCG(18004, 2015))
			versions := map[int]int{}
			compare := func(n int) {
				content := c.text(random, n)
				got, err := label.Encode(content)
				if err != nil {
					t.Fatal(err)
				}
				if !equal(got, byReference(t, content)) {
					t.Fatalf("another symbol than the reference's for %q", content)
				}
				versions[(len(got)-17)/4]++
			}
			labels, step := 30, 151 // how many of a label's lengths; steps through all lengths
			if *every {
				labels, step = 1500, c.step
			}
			for range labels {
				compare(140 + random.IntN(600-140+1))
			}
			for n := longestText; n > 0; n -= step {
				compare(n)
			}
			if *every && len(versions) != 40 {
				t.Errorf("%d versions of 40", len(versions))
			}
			t.Logf("symbols by version: %v", versions)
		})
	}
}

// TestFast: a token's symbol is not made the slow way, which allocates some ten
// thousand times.
func TestFast(t *testing.T) {
	for _, content := range []string{text, longest} {
		if n := testing.AllocsPerRun(10, func() { _, _ = label.Encode(content) }); n > 50 {
			t.Errorf("%v allocations for %d characters", n, len(content))
		}
	}
}

// FuzzReference holds the symbol of any text against go-qrcode's.
func FuzzReference(f *testing.F) {
	for _, content := range []string{
		text, "https://check.example.org/c.html#" + text, "", "A", "1", "0123456789", "A012345", "A0123456", "012345A", "0123456A",
		"A012345678901A", "A0123456789012A", "AB0123456789012AB", "a", "Ä", strings.Repeat("A", longestText), strings.Repeat("A", longestText+1),
	} {
		f.Add(content)
	}
	f.Fuzz(func(t *testing.T, content string) {
		got, err := label.Encode(content)
		if _, failed := reference.New(content, reference.Medium); (err != nil) != (failed != nil) {
			t.Fatalf("%v, where the reference has %v", err, failed)
		}
		if err == nil && !equal(got, byReference(t, content)) {
			t.Error("another symbol than the reference's")
		}
	})
}

func byReference(t *testing.T, content string) [][]bool {
	code, err := reference.New(content, reference.Medium)
	if err != nil {
		t.Fatal(err)
	}
	code.DisableBorder = true
	return code.Bitmap()
}

func equal(a, b [][]bool) bool {
	if len(a) != len(b) {
		return false
	}
	for y := range a {
		for x := range a[y] {
			if len(a[y]) != len(b[y]) || a[y][x] != b[y][x] {
				return false
			}
		}
	}
	return true
}
