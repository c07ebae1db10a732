// Package label carries sealed bytes through a QR symbol and back.
//
// A token's text is upper-case letters, digits and a point, all of which QR
// codes hold in alphanumeric mode, at five and a half bits a character
// (ISO/IEC 18004). The error correction is level M: 15 % of the symbol may be
// dirty or scratched.
package label

import (
	"fmt"

	"github.com/skip2/go-qrcode"
)

// QuietZone is how many modules must stay white around a symbol
// (ISO/IEC 18004, 5.3.8). The symbols of Encode come without it.
const QuietZone = 4

// Encode makes the symbol of a text: dark[row][column], without the quiet
// zone. The same text gives the same symbol.
func Encode(text string) (dark [][]bool, err error) {
	code, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("a text of %d characters does not fit a QR symbol: %w", len(text), err)
	}
	code.DisableBorder = true
	return code.Bitmap(), nil
}

// Dots returns how many printer dots one module takes, when the symbol is
// printed side millimetres wide at dpi dots an inch. Under three dots a
// telephone may fail to read it.
func Dots(dark [][]bool, side float64, dpi int) float64 {
	return side / 25.4 * float64(dpi) / float64(len(dark))
}
