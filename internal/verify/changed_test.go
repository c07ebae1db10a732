package verify

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/fstest"
)

// TestTwoThousandChangedBytes changes one byte of a revision at a time, anywhere
// in any of its files: each is found, and the files that hold it are named. Without
// -long there are two hundred.
func TestTwoThousandChangedBytes(t *testing.T) {
	changes := 200
	if *long {
		changes = 2000
	}
	me := newSigner(t, "R. Lindqvist")
	trust := trusting(me)
	good := fstest.MapFS{}
	maker{signer: me}.issue(t, good)
	if r, err := folder(good, "r1", trust); err != nil || r.Conclusion() != Holds {
		t.Fatalf("%v, %+v", err, r)
	}
	names := slices.Sorted(maps.Keys(good))
	where := rand.New(rand.NewPCG(17, 2))
	met := map[string]int{}
	for range changes {
		name := names[where.IntN(len(names))]
		data := bytes.Clone(good[name].Data)
		at, by := where.IntN(len(data)), byte(1+where.IntN(255))
		data[at] ^= by
		bad := maps.Clone(good)
		bad[name] = &fstest.MapFile{Data: data}
		r, err := folder(bad, "r1", trust)
		if err != nil || r.Conclusion() != Broken {
			t.Fatalf("byte %d of %s changed by %#02x: %v, %s, %+v", at, name, by, err, r.Conclusion(), r.Items)
		}
		met[name]++
	}
	if len(met) != len(names) {
		t.Errorf("changed were %v, of %v", met, names)
	}
}
