package judge

import "fmt"

// UnmarshalText reads a verdict's word.
func (v *Verdict) UnmarshalText(text []byte) error {
	for w := Pass; w <= Fail; w++ {
		if w.String() == string(text) {
			*v = w
			return nil
		}
	}
	return fmt.Errorf("%q is not a verdict", text)
}
