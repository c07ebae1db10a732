// Package verify says who signed what, and what could not be checked.
//
// It looks at a PDF file, at the text of a QR symbol, or at a folder, and
// reports on each thing in plain words. Two questions are kept apart. Is it
// as it was signed? That is arithmetic, and the answer is a [State]. Is the
// signer one whom the reader believes? That is the reader's [Trust], and the
// answer stands in [SignerFound]. A certificate that has expired since it signed is
// said, not failed.
//
// # Bounds
//
// Whatever is checked may have been made to exhaust whoever checks it. Of one
// file at most 256 MB are held; a manifest is read up to 64 MB, its signature up
// to 256 KB. The record of a link has at most 16 MB and 250,000 members and
// elements. Of a table of results 500,000 links are read, 4 MB each and 64 MB of
// names together, and up to 1000 other members of 16 MB each. results.csv has at most 256
// columns, a first line of 64 KB, and beyond 100,000 rows at least 48 bytes a
// row. A revision has at most 999 renewed time-stamps. A file of a trust folder has
// at most 1 MB, a revocation list 32 MB. Packages pdf, seal and bounds have their own. What exceeds a bound is
// called changed, or of a form that is not known. Of one thing at most 50 faults
// and 50 notes are told. Any file below 10 MB takes less than 300 MB and 5 s.
//
// What no check here can find: a wrong fibre that was measured honestly, a
// reading that was invented before it was signed, and a stolen key before its
// theft is known.
package verify
