// Package pdf is the paper: it draws documents, cuts their fonts down, and
// writes archival PDF files with attachments and one certifying signature, in
// one pass.
//
// # The file
//
// A file is PDF 1.7 (ISO 32000-1) and claims conformance to PDF/A-3a
// (ISO 19005-3) and to PDF/UA-1 (ISO 14289-1). It has one revision and no byte
// without a purpose:
//
//	header       %PDF-1.7 and a comment of four bytes above 127
//	objects      1 0 obj to n 0 obj, back to back; shared ones first: the
//	             colour profile and the fonts; then what is drawn, and another
//	             object stream or more; the signature dictionary last but one
//	xref         the last object, a cross-reference stream, which is the
//	             trailer too: Type, Size, W, DecodeParms, Root, Info, ID, Filter,
//	             Length; its rows have widths 1, 4 and 2 and PNG's predictor Up
//	startxref    and %%EOF with a line feed, the last bytes of the file
//
// Object streams hold the dictionaries of fonts, one stream with all, and the outline
// and the structure tree with its tables, and
// nothing else: some hundred small objects, which weigh a tenth in them. In each,
// objects follow one another with a line feed behind each; the head names each
// with its place, a space behind every number; one ends when it holds 64 KB.
//
// There are no updates, no encryption, no scripts, no external references and no
// transparency. Codes of text are Unicode characters, two bytes each, so that
// content does not depend on the subset of the font.
//
// # The structure
//
// What is drawn belongs to a [page.Element] or is an artifact. The elements are
// those of the standard structure types, without a role map; below the document
// there is one Part for each part of a bundle. Content of one element on one page
// is one marked content, as long as nothing else is drawn between. Texts of one
// element are apart by a space, which stands in the content. Every file that is
// signed has one Form with the field; where none was drawn, or several, it stands
// at the end of the tree.
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
// # Files without tags
//
// Papers of before November 2026 have no tags and claim PDF/A-3b. They have no
// object streams, and in place of the cross-reference stream a table of one
// section and a trailer of Size, Root, Info and ID; the signature dictionary is
// their last object. [Open] reads them as ever. testdata has two of them.
//
// # Reading
//
// [Open] reads these files and refuses all others. Of what it reads it bounds
// the depth (16), the length of names (127 bytes), the number of values (100,000
// and one for each twelve bytes of the file), of objects (10,000 and one for each
// twenty bytes), of references in object streams (1000 and eight for each object),
// of attachments (1000, each with a content of its own) and what is inflated. Of
// attachments 32 MB together are held, and one that is inflated as it is asked for
// has at most 48 MB and 32 times the size of the file, 128 times what a file has
// beyond 10 MB. Object streams may inflate to 1 MB and four times the size of the
// file, one of them to 16 MB, and no more is kept of them than which objects they
// refer to. The signature has less than 64 KB.
//
// # Drawing
//
// Operators are written here. go-pdf/fpdf, which tests draw the same pages by, writes
// 1.3 files without identifier, output intent, tags and attachments' relationships,
// and cuts its fonts afresh for every one.
package pdf
