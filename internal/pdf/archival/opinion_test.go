package archival_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/klippa-app/go-pdfium"
	"github.com/klippa-app/go-pdfium/references"
	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/webassembly"

	"spanseal/internal/pdf/archival"
)

// another reads structure trees with PDFium, the second opinion on them: it shares
// no code with the writer nor with pdfcpu.
type another struct{ pdfium.Pdfium }

func newReader(t *testing.T) another {
	t.Helper()
	pool, err := webassembly.Init(webassembly.Config{MaxIdle: 1, MaxTotal: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { pool.Close() })
	instance, err := pool.GetInstance(10 * time.Minute) // to compile it on a busy machine
	if err != nil {
		t.Fatal(err)
	}
	return another{instance}
}

// pages returns the tree of each page, one line an element with its alternative
// text, further in what is within another.
func (a another) pages(t *testing.T, data []byte) (all []string) {
	t.Helper()
	doc, err := a.OpenDocument(&requests.OpenDocument{File: &data})
	if err != nil {
		t.Fatal(err)
	}
	defer a.FPDF_CloseDocument(&requests.FPDF_CloseDocument{Document: doc.Document})
	count, err := a.FPDF_GetPageCount(&requests.FPDF_GetPageCount{Document: doc.Document})
	if err != nil {
		t.Fatal(err)
	}
	for i := range count.PageCount {
		tree, err := a.FPDF_StructTree_GetForPage(&requests.FPDF_StructTree_GetForPage{Page: requests.Page{ByIndex: &requests.PageByIndex{Document: doc.Document, Index: i}}})
		if err != nil {
			t.Fatal(err)
		}
		n, err := a.FPDF_StructTree_CountChildren(&requests.FPDF_StructTree_CountChildren{StructTree: tree.StructTree})
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for k := range n.Count {
			kid, err := a.FPDF_StructTree_GetChildAtIndex(&requests.FPDF_StructTree_GetChildAtIndex{StructTree: tree.StructTree, Index: k})
			if err != nil {
				t.Fatal(err)
			}
			a.write(&b, kid.StructElement, "")
		}
		all = append(all, b.String())
		if _, err := a.FPDF_StructTree_Close(&requests.FPDF_StructTree_Close{StructTree: tree.StructTree}); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// write goes through an element; a kid that is no element is content.
func (a another) write(b *strings.Builder, e references.FPDF_STRUCTELEMENT, indent string) {
	kind, err := a.FPDF_StructElement_GetType(&requests.FPDF_StructElement_GetType{StructElement: e})
	if err != nil {
		return
	}
	b.WriteString(indent + kind.Type)
	if alt, err := a.FPDF_StructElement_GetAltText(&requests.FPDF_StructElement_GetAltText{StructElement: e}); err == nil && alt.AltText != "" {
		b.WriteString(": " + alt.AltText)
	}
	b.WriteByte('\n')
	n, err := a.FPDF_StructElement_CountChildren(&requests.FPDF_StructElement_CountChildren{StructElement: e})
	if err != nil {
		return
	}
	for k := range n.Count {
		if kid, err := a.FPDF_StructElement_GetChildAtIndex(&requests.FPDF_StructElement_GetChildAtIndex{StructElement: e, Index: k}); err == nil {
			a.write(b, kid.StructElement, indent+"  ")
		}
	}
}

// onPage writes what of a document is on a page, in the same form: elements with
// content there, and those that they are in.
func onPage(parts []archival.ReadAloud, page int, indent string) string {
	var b strings.Builder
	for _, p := range parts {
		within := onPage(p.Parts, page, indent+"  ")
		if within == "" && !slices.Contains(p.Pages, page) {
			continue
		}
		b.WriteString(indent + p.Kind)
		if p.Alt != "" {
			b.WriteString(": " + p.Alt)
		}
		b.WriteString("\n" + within)
	}
	return b.String()
}
