// Package polarity knows where each position of an array connector comes out, and asks
// where a test found another.
//
// A face has its places in rows, numbered from one with the key up, as IEC 61754-7 and
// the TIA documents that adopt it have them (recalled): twelve or sixteen in a row, and
// two rows of twelve for 24 fibres. Of eight fibres the four outer places on either side
// of a row of twelve are used. A table says for each number of places at which far place
// each comes out, the far face also seen with the key up.
package polarity

import (
	"fmt"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Table is a method that comes with the program.
type Table struct {
	ID         string        `yaml:"id"`
	Method     string        `yaml:"method"`
	Title      string        `yaml:"title"`
	Provenance string        `yaml:"provenance"`
	Source     string        `yaml:"source"`
	Far        map[int][]int `yaml:"far"`
}

// Parse reads a table and holds that it leads every place to another of its own.
func Parse(data []byte) (*Table, error) {
	var t Table
	d := yaml.NewDecoder(strings.NewReader(string(data)))
	d.KnownFields(true)
	if err := d.Decode(&t); err != nil {
		return nil, err
	}
	for n, far := range t.Far {
		if len(far) != n || !Whole(far) {
			return nil, fmt.Errorf("%s: the far places of %d are not each of them once", t.ID, n)
		}
	}
	return &t, nil
}

// Whole reports whether far places are each number from one, once.
func Whole(far []int) bool {
	sorted := slices.Sorted(slices.Values(far))
	for i, n := range sorted {
		if n != i+1 {
			return false
		}
	}
	return true
}

// ArrayFace is how a connector looks with the key up.
type ArrayFace struct{ Rows, Places int }

// Fibres are the numbers of fibres that array connectors have.
var Fibres = []int{8, 12, 16, 24}

// FaceOf is the face of a connector with so many fibres.
func FaceOf(fibres int) ArrayFace {
	switch fibres {
	case 24:
		return ArrayFace{2, 24}
	case 16:
		return ArrayFace{1, 16}
	}
	return ArrayFace{1, 12}
}

// HasFibre reports whether a place of the face has a fibre.
func HasFibre(fibres, place int) bool {
	f := FaceOf(fibres)
	return place >= 1 && place <= f.Places && (fibres != 8 || place <= 4 || place >= 9)
}

// Far is where a position should come out, 0 where nobody says.
func Far(t *record.Trunk, position int) int {
	if position < 1 || position > len(t.Far) {
		return 0
	}
	return t.Far[position-1]
}

// Questions asks about positions that come out elsewhere than the method of their trunk
// says: two that were exchanged together, each other one alone, and two that are said to
// come out at one place.
func Questions(f *record.Facts) (ask []statement.Asked) {
	type place struct {
		trunk string
		far   int
	}
	at := map[place][]int{}    // links by where they come out
	meant := map[place][]int{} // links by where they should
	for i := range f.Links {
		a := f.Links[i].Array
		if a == nil || a.FarPosition == 0 {
			continue
		}
		if t, ok := f.Job.Trunk(a.Trunk); ok {
			at[place{a.Trunk, a.FarPosition}] = append(at[place{a.Trunk, a.FarPosition}], i)
			meant[place{a.Trunk, Far(&t, a.Position)}] = append(meant[place{a.Trunk, Far(&t, a.Position)}], i)
		}
	}
	for i := range f.Links {
		a := f.Links[i].Array
		if a == nil || a.FarPosition == 0 {
			continue
		}
		t, _ := f.Job.Trunk(a.Trunk)
		name, far, wanted := statement.Name(t.ID), statement.Count(a.FarPosition), Far(&t, a.Position)
		if both := at[place{a.Trunk, a.FarPosition}]; len(both) > 1 && both[0] == i {
			ask = append(ask, statement.Asked{Links: both, Question: statement.New("array-position.same", name, statement.Count(a.Position), statement.Count(f.Links[both[1]].Position), far)})
			continue
		} else if len(both) > 1 {
			continue
		}
		if a.FarPosition == wanted {
			continue
		}
		if other := meant[place{a.Trunk, a.FarPosition}]; len(other) == 1 && f.Links[other[0]].FarPosition == wanted {
			if k := other[0]; i < k {
				o := f.Links[k].Array
				ask = append(ask, statement.Asked{Links: []int{i, k}, Question: statement.New("array-position.swapped", name, statement.Count(a.Position), statement.Count(o.Position), far, statement.Count(o.FarPosition), statement.Name(t.Method))})
			}
			continue
		}
		ask = append(ask, statement.Asked{Links: []int{i}, Question: statement.New("array-position.far", name, statement.Count(a.Position), far, statement.Count(wanted), statement.Name(t.Method))})
	}
	return ask
}
