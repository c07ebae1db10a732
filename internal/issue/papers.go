package issue

import (
	"bytes"
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

// papers makes every document, a worker for each processor, each with a canvas
// of its own. The first error in schedule order is returned.
func (r *Request) papers(ctx context.Context, press *pdf.Press, d *draft) error {
	links := r.Set.Judgement.Links
	makers := make([]func() (*certify.Document, error), 0, len(links)+1)
	makers = append(makers, r.Set.Summary)
	for i := range links {
		makers = append(makers, func() (*certify.Document, error) {
			if links[i].Verdict.Certifiable() {
				return r.Set.Certificate(&links[i])
			}
			return r.Set.Nonconformance(&links[i])
		})
	}

	workers := r.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var (
		next   atomic.Int64
		failed atomic.Bool
		mu     sync.Mutex
		done   int
		first  = len(makers)
		cause  error
		wg     sync.WaitGroup
	)
	conclude := func(i int, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			failed.Store(true)
			if i < first {
				first, cause = i, err
			}
			return
		}
		done++
		if r.Progress != nil {
			r.Progress(done, len(makers))
		}
	}
	for range min(workers, len(makers)) {
		wg.Go(func() {
			p := printer{canvas: press.Canvas(), request: r, draft: d}
			// Documents are taken in order, so all before the first that
			// fails are made: which error is the first does not hang on luck.
			for !failed.Load() && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(makers) {
					return
				}
				conclude(i, p.print(makers[i]))
			}
		})
	}
	wg.Wait()
	if cause != nil {
		return cause
	}
	return ctx.Err()
}

// printer is one worker.
type printer struct {
	canvas  *pdf.Canvas
	buffer  bytes.Buffer
	request *Request
	draft   *draft
}

func (p *printer) print(make func() (*certify.Document, error)) (err error) {
	defer func() {
		if fault := recover(); fault != nil { // or the whole program would die with a half revision on disk
			err = fmt.Errorf("a fault of the program: %v\n%s", fault, debug.Stack())
		}
	}()
	doc, err := make()
	if err != nil {
		return err
	}
	request := p.request
	paper := &pdf.Document{
		Title: doc.Title, Subject: doc.Subject, Author: doc.Author, Language: doc.Language,
		Created: request.Set.Issued,
	}
	for _, a := range doc.Attachments {
		paper.Attachments = append(paper.Attachments, pdf.Attachment(a))
	}
	signature := &pdf.Signature{
		Name:    seal.CommonName(request.Signer.Certificate()),
		Reason:  doc.Title,
		When:    request.Set.Issued,
		Reserve: request.Signer.MaxCMS(),
		Sign:    func(digest [32]byte) ([]byte, error) { return request.Signer.SignCMS(digest, time.Time{}) },
	}
	// Where the signature stands is known once the paper is drawn.
	paper.Draw = func(sheet page.Sheet) error {
		err := doc.Draw(sheet)
		if m := doc.Signature; m != nil {
			signature.Page, signature.Box = m.Page, m.Box
		}
		return err
	}
	p.buffer.Reset()
	if err := p.canvas.Write(&p.buffer, paper, signature); err != nil {
		return fmt.Errorf("%s: %w", doc.Path, err)
	}
	return p.draft.write(doc.Path, p.buffer.Bytes())
}
