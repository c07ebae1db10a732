package field

import "testing"

// What a heading says decides what the draft of a mapping binds; a person reads the draft.
func TestSenseOf(t *testing.T) {
	for _, tt := range []struct {
		heading string
		want    Field
	}{
		{"Power meter", Instrument}, {"Optical power meter S/N", Instrument}, {"powermeter id", Instrument}, {"Leistungsmesser", Instrument},
		{"Power meter (dBm)", Received}, {"Power meter reading", Received}, {"Power", Received}, {"Rx power (dBm)", Received},
		{"Light source", Source}, {"Test set", Instrument}, {"Meter", Instrument}, {"Length (km)", Length}, {"Loss (dB)", Loss},
		{"Reflectance (dB)", Reflectance}, {"Limit (dB)", None}, {"Fibre", Link}, {"Timestamp", Time}, {"Tester", Person},
	} {
		if got := SenseOf(tt.heading).Field; got != tt.want {
			t.Errorf("%q is %q, want %q", tt.heading, got, tt.want)
		}
	}
}
