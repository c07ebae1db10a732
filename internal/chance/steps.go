package chance

// stepper finds the step in which instruments print their readings.
type stepper struct {
	n    int
	fits [len(stepSizes)]int
}

// stepSizes are those that instruments use, in thousandths of a decibel.
var stepSizes = [...]int32{1000, 100, 50, 20, 10, 5, 2}

func (s *stepper) add(v int32) {
	s.n++
	for i, size := range stepSizes {
		if v%size == 0 {
			s.fits[i]++
		}
	}
}

// step is the largest that nine in ten readings fit.
func (s *stepper) step() int32 {
	for i, size := range stepSizes {
		if 10*s.fits[i] >= 9*s.n {
			return size
		}
	}
	return 1
}
