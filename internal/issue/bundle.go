package issue

import (
	"bytes"
	"context"
	"fmt"

	"spanseal/internal/certify"
	"spanseal/internal/pdf"
)

// bundle writes the summary and the papers of all links in schedule order as
// one PDF, or as several where it would be larger than MaxSize. The papers name
// themselves in its outline, so the parts have no titles.
func (r *Request) bundle(ctx context.Context, press *pdf.Press, d *draft) error {
	p := r.printer(press, d)
	summary, err := r.Set.Summary()
	if err != nil {
		return err
	}
	parts := []pdf.Part{{Draw: summary.Draw}}
	for _, make := range r.links() {
		doc, err := make()
		if err != nil {
			return err
		}
		parts = append(parts, pdf.Part{Draw: doc.Draw})
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
		if r.MaxSize > 0 && len(v) > r.MaxSize && r.Larger != nil {
			r.Larger(path, len(v))
		}
	}
	return nil
}

// volumes prints parts into as few PDFs as halving gives, each of at most
// MaxSize bytes. A single paper that is larger stands alone.
func (p *printer) volumes(ctx context.Context, summary *certify.Document, parts []pdf.Part) ([][]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	paper := p.paper(summary)
	paper.Title, paper.Attachments, paper.Parts = p.Set.BundleTitle(), nil, parts
	var volume bytes.Buffer
	if err := p.canvas.Write(&volume, paper, p.signature(paper.Title)); err != nil {
		return nil, fmt.Errorf("bundle: %w", err)
	}
	if p.MaxSize == 0 || volume.Len() <= p.MaxSize || len(parts) == 1 {
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
