// Package verify says who signed what, and what could not be checked.
//
// It looks at a PDF file, at the text of a QR symbol, or at a folder, and
// reports on each thing in plain words. Two questions are kept apart. Is it
// as it was signed? That is arithmetic, and the answer is a [State]. Is the
// signer one whom the reader believes? That is the reader's [Trust], and the
// answer stands in [Signer]. A certificate that has expired since it signed is
// said, not failed.
//
// What no check here can find: a wrong fibre that was measured honestly, a
// reading that was invented before it was signed, and a stolen key before its
// theft is known.
package verify
