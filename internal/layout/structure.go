package layout

import "spanseal/internal/page"

// within draws an element of a document.
func (f *Flow) within(role page.Role, draw func()) {
	f.Begin(page.Element{Role: role})
	draw()
	f.Finish()
}

// Illustrate draws what is to be seen as a whole, with the sentence that says it to
// those who do not see it. Texts in it are a part of what is seen.
func (f *Flow) Illustrate(alt string, draw func()) {
	f.Begin(page.Element{Role: page.Figure, Alt: printable(alt)})
	draw()
	f.Finish()
}

// Aside draws what stands elsewhere too.
func (f *Flow) Aside(draw func()) { f.within(page.Artifact, draw) }

// Together draws texts that are one paragraph.
func (f *Flow) Together(draw func()) { f.within(page.Paragraph, draw) }

// Pairs draws captions with their values, each by [Flow.Pair].
func (f *Flow) Pairs(draw func()) { f.within(page.List, draw) }

// Pair draws a caption and its value. What has no value is a paragraph.
func (f *Flow) Pair(caption, value func()) {
	f.Begin(page.Element{Role: page.Item})
	f.within(page.Label, caption)
	f.within(page.ItemBody, value)
	f.Finish()
}

// Titled draws the title of a document.
func (f *Flow) Titled(draw func()) { f.within(page.Heading, draw) }

// SignedHere is where the field of the digital signature is read; the sentence says
// whose it is. A document has one such place.
func (f *Flow) SignedHere(whose string) {
	f.Begin(page.Element{Role: page.Signing, Alt: printable(whose)})
	f.Finish()
}
