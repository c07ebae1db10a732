package page

// Role is what a part of a document is, for those who hear it instead of seeing
// it (ISO 32000-1, 14.8.4).
type Role uint8

const (
	Artifact   Role = iota // says nothing new: a head repeated on later pages, a page number
	Part                   // one document of a bundle
	Heading                // the title of a document
	Subheading             // the name of a section
	Paragraph
	List // of items; of captions with their values too
	Item
	Label // the number of an item, or a caption
	ItemBody
	Table
	TableHead
	TableBody
	Row
	HeaderCell
	Cell
	Figure
	Signing // the place of the digital signature; empty
)

var roles = [...]string{"Artifact", "Part", "H1", "H2", "P", "L", "LI", "Lbl", "LBody", "Table", "THead", "TBody", "TR", "TH", "TD", "Figure", "Form"}

// String is the standard structure type.
func (r Role) String() string { return roles[r] }

// Element is a part of a document. What does not apply to its role is left out.
type Element struct {
	Role Role
	// Alt says of a figure, in a sentence, what it shows, and of the place of the
	// signature whose it is.
	Alt string
	// Lang is the BCP 47 tag of an element in another language than the document.
	Lang string
	// OfRow is that a header cell heads its row; else it heads its column.
	OfRow bool
	// Span is how many columns a cell takes; 0 stands for one.
	Span int
	// Numbered is that the labels of a list are its numbers.
	Numbered bool
}

// Joint ends a line that broke within a word, for there is no space between it
// and the next line of its element. It is never drawn and has no width.
const Joint = "\u200B"

// SoftHyphen stands before the joint of a word that was parted between letters.
const SoftHyphen = "\u00AD"
