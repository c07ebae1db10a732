// Package label carries sealed bytes through a QR symbol and back.
//
// A token's text is upper-case letters, digits and a point, all of which QR
// codes hold in alphanumeric mode, at five and a half bits a character
// (ISO/IEC 18004). The error correction is level M: 15 % of the symbol may be
// dirty or scratched.
//
// A symbol is the one that go-qrcode makes, module for module. Tokens get it by
// a way twenty times faster; a text that needs other modes, such as a token
// behind an address, gets it from go-qrcode itself.
package label

import (
	"fmt"

	"github.com/skip2/go-qrcode"
)

// Encode makes the symbol of a text: dark[row][column], without the quiet zone
// of four white modules that must stay around it (ISO/IEC 18004, 5.3.8). The
// same text gives the same symbol.
func Encode(text string) (dark [][]bool, err error) {
	if dark := alphanumeric(text); dark != nil {
		return dark, nil
	}
	code, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("a text of %d characters does not fit a QR symbol: %w", len(text), err)
	}
	code.DisableBorder = true
	return code.Bitmap(), nil
}
