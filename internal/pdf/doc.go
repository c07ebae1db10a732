// Package pdf is the paper: it draws documents, cuts their fonts down, and
// writes archival PDF files with attachments and one certifying signature, in
// one pass.
//
// # The file
//
// A file is PDF 1.7 (ISO 32000-1) and claims conformance to PDF/A-3b
// (ISO 19005-3). It has one revision and no byte without a purpose:
//
//	header       %PDF-1.7 and a comment of four bytes above 127
//	objects      1 0 obj to n 0 obj, back to back; shared ones first: the
//	             colour profile and the fonts; the signature dictionary last
//	xref         a table of one section
//	trailer      Size, Root, Info, ID
//	startxref    and %%EOF with a line feed, the last bytes of the file
//
// There are no object streams, no updates, no encryption, no scripts, no
// external references and no transparency. Codes of text are Unicode
// characters, two bytes each, so that content does not depend on the subset of
// the font.
//
// Fonts are TrueType, cut down to the characters of a run and freed of their
// instructions: the rest weighs seven kilobytes a face for Latin text.
//
// The signature is ETSI.CAdES.detached (PAdES, ETSI EN 319 142-1): its
// ByteRange is everything but the hexadecimal string of Contents with its
// angle brackets, and DocMDP permits no change.
//
// The file identifier is the first half of the SHA-256 of everything before
// the signature's Contents, or before the identifier where there is no
// signature. The same document, press and signature give the same bytes.
//
// [Open] reads these files and refuses all others. Of what it reads it bounds
// the depth (16), the length of names (127 bytes), the number of values (100,000
// and one for each twelve bytes of the file), of attachments (1000, each with a
// content of its own) and what those may inflate to: 32 MB together are held,
// and one that is inflated as it is asked for has at most 48 MB and 32 times the
// size of the file, 128 times what a file has beyond 10 MB. The signature has
// less than 64 KB.
//
// Layout is go-pdf/fpdf's: each canvas draws templates of one long-lived fpdf
// document. Only the templates' content streams are taken over, without fonts;
// fpdf writes 1.3 files without identifier, output intent and attachments'
// relationships, and subsets its fonts afresh for every one.
package pdf
