package issue

import (
	"bytes"
	"context"
	"fmt"

	"spanseal/internal/certify"
	"spanseal/internal/pdf"
	"spanseal/internal/summary"
)

// largestBundle is how many bytes a bundle has at most, if nobody wants it
// smaller: package verify holds no more than 256 MB of one file, and the papers
// of 25,000 links are more.
const largestBundle = 200_000_000

// most is how many bytes a part of the bundle may have.
func (r *Request) most() int {
	if r.MaxSize == 0 {
		return largestBundle
	}
	return min(r.MaxSize, largestBundle)
}

// bundle writes the summary and the papers of all links in schedule order as
// one PDF, or as several where it would be too large. The papers name
// themselves in its outline, so the parts have no titles.
func (r *Request) bundle(ctx context.Context, press *pdf.Press, d *unfinished) error {
	p := r.printer(press, d)
	summary, err := summary.New(r.Set)
	if err != nil {
		return err
	}
	parts := []pdf.BundlePart{{Draw: summary.Draw}}
	for _, make := range r.links() {
		doc, err := make()
		if err != nil {
			return err
		}
		parts = append(parts, pdf.BundlePart{Draw: doc.Draw})
	}
	volumes, err := p.volumes(ctx, summary, parts)
	if err != nil {
		return err
	}
	for i, v := range volumes {
		path := "bundle.pdf"
		if len(volumes) > 1 {
			path = fmt.Sprintf("bundle-%d-of-%d.pdf", i+1, len(volumes))
		}
		if err := d.write(path, v); err != nil {
			return err
		}
		if len(v) > r.most() && r.Larger != nil {
			r.Larger(path, len(v))
		}
	}
	return nil
}

// volumes prints parts into as few PDFs as halving gives, each of at most
// as many bytes as it may have. A single paper that is larger stands alone.
func (p *printer) volumes(ctx context.Context, summary *certify.Paper, parts []pdf.BundlePart) ([][]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	paper := p.paper(summary)
	paper.Title, paper.Attachments, paper.Parts = p.Set.BundleTitle(), nil, parts
	var volume bytes.Buffer
	if err := p.canvas.Write(&volume, paper, p.signature(paper.Title)); err != nil {
		return nil, fmt.Errorf("bundle: %w", err)
	}
	if volume.Len() <= p.most() || len(parts) == 1 {
		return [][]byte{volume.Bytes()}, nil
	}
	half := len(parts) / 2
	first, err := p.volumes(ctx, summary, parts[:half])
	if err != nil {
		return nil, err
	}
	second, err := p.volumes(ctx, summary, parts[half:])
	return append(first, second...), err
}
