package issue

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/fault"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
	"spanseal/internal/summary"
	"spanseal/internal/superseded"
	"spanseal/internal/trunk"
)

// A maker makes one document; nil where the job has none of its kind.
type maker func() (*certify.Paper, error)

// papers makes the documents about the job, and of its links if they are not
// there already.
func (r *Request) papers(ctx context.Context, d *unfinished, links bool) error {
	press, err := r.press()
	if err != nil {
		return err
	}
	cover := func() (*certify.Paper, error) { return summary.New(r.Set) }
	quantities := func() (*certify.Paper, error) { return summary.Quantities(r.Set) }
	makers := []maker{cover, quantities}
	if !r.Set.Specimen {
		makers = slices.Insert(r.results(d), 1, quantities)
	}
	if links {
		makers = append(makers, r.links()...)
	}
	for _, l := range r.Set.Judgement.Results() {
		if len(l.Superseded) > 0 {
			makers = append(makers, func() (*certify.Paper, error) { return superseded.Sheet(r.Set, l) })
		}
	}
	for _, make := range trunk.Papers(r.Set) {
		makers = append(makers, make)
	}
	makers = append(makers, func() (*certify.Paper, error) { // last, since they repeat the papers' tokens
		trunks, err := trunk.Labels(r.Set)
		if err != nil {
			return nil, err
		}
		return r.Set.LabelsWith(trunks...)
	})
	if err := r.print(ctx, press, d, makers); err != nil {
		return err
	}
	if !r.Bundle {
		return nil
	}
	return r.bundle(ctx, press, d)
}

// workbookName is the results for a spreadsheet program.
const workbookName = "results.xlsx"

// results writes what is no paper but as long as one of a job, beside the others:
// results.json with the summary, to which it is attached, results.csv, and results.xlsx
// if a sheet holds that many.
func (r *Request) results(d *unfinished) []maker {
	const name = "results.json"
	r.Set.Stored = func(w io.Writer) error { return d.copy(w, name) }
	makers := []maker{
		func() (*certify.Paper, error) {
			if err := d.stream(name, r.Set.WriteResults); err != nil {
				return nil, err
			}
			return summary.New(r.Set)
		},
		func() (*certify.Paper, error) { return nil, d.stream("results.csv", r.Set.WriteCSV) },
	}
	if r.Set.WorkbookFits() {
		makers = append(makers, func() (*certify.Paper, error) { return nil, d.stream(workbookName, r.Set.WriteWorkbook) })
	}
	return makers
}

// print makes documents, with as many workers as there are processors.
func (r *Request) print(ctx context.Context, press *pdf.Press, d *unfinished, makers []maker) error {
	return r.share(ctx, len(makers), func() func(int) error {
		p := r.printer(press, d)
		return func(i int) error { return p.print(makers[i]) }
	})
}

// press prepares the fonts. Only after number, history and changes of the set
// are known is every character known that the papers may use.
func (r *Request) press() (*pdf.Press, error) {
	links := r.links()
	var sample []func(page.Sheet) error
	for i := 0; i < len(links); i += max(1, len(links)/sampled) {
		doc, err := links[i]()
		if err != nil {
			return nil, err
		}
		sample = append(sample, doc.Draw)
	}
	return r.pressFor(sample)
}

func (r *Request) pressFor(sample []func(page.Sheet) error) (*pdf.Press, error) {
	return pdf.NewPress(r.Set.Paper(), pdf.Options{Typefaces: r.Set.Typefaces(), Runes: r.Set.Runes(), Sample: sample})
}

// sampled is from how many papers, spread over the schedule, the press learns
// which characters most of them use.
const sampled = 24

// links makes the papers of the links, in schedule order.
func (r *Request) links() []maker {
	judged := r.Set.Judgement
	makers := make([]maker, len(judged.Links))
	for i := range makers {
		makers[i] = func() (*certify.Paper, error) {
			l := judged.Result(i)
			if l.Verdict.Certifiable() {
				return r.Set.Certificate(l)
			}
			return r.Set.Nonconformance(l)
		}
	}
	return makers
}

// share does n pieces of work, with as many workers as there are processors.
// The first error in the order of the pieces is returned.
func (r *Request) share(ctx context.Context, n int, worker func() func(int) error) error {
	var (
		next   atomic.Int64
		failed atomic.Bool
		wg     sync.WaitGroup

		mu    sync.Mutex
		done  int
		first = n
		cause error
	)
	conclude := func(i int, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err == nil {
			done++
			if r.Progress != nil {
				r.Progress(done, n)
			}
			return
		}
		failed.Store(true)
		if i < first {
			first, cause = i, err
		}
	}
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			work := worker()
			// Pieces are taken in order, so all before the first that fails
			// are done: which error is the first does not hang on luck.
			for !failed.Load() && ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				conclude(i, fault.Guard(func() error { return work(i) }))
			}
		})
	}
	wg.Wait()
	if cause != nil {
		return cause
	}
	return ctx.Err()
}

// printer is one worker: what it has is reused from paper to paper.
type printer struct {
	*Request
	canvas  *pdf.Canvas
	to      *unfinished
	reserve int // bytes for a signature
}

func (r *Request) printer(press *pdf.Press, d *unfinished) *printer {
	p := &printer{Request: r, canvas: press.Canvas(), to: d}
	if !r.Set.Specimen { // which nobody signs
		p.reserve = r.Signer.MaxCMS()
	}
	return p
}

func (p *printer) print(make maker) error {
	doc, err := make()
	if err != nil || doc == nil {
		return err
	}
	return p.to.stream(doc.Path, func(w io.Writer) error {
		if err := p.render(w, doc); err != nil {
			return fmt.Errorf("%s: %w", doc.Path, err)
		}
		return nil
	})
}

// render writes the signed PDF of a document.
func (p *printer) render(w io.Writer, doc *certify.Paper) error {
	paper := p.paper(doc)
	signature := p.signature(doc.Title)
	// Where the signature stands is known once the paper is drawn.
	paper.Draw = func(sheet page.Sheet) error {
		err := doc.Draw(sheet)
		if m := doc.Signature; m != nil && signature != nil {
			signature.Page, signature.Box = m.Page, m.Box
		}
		return err
	}
	canvas := p.canvas
	if doc.Paper != (page.PaperSize{}) { // labels on tape
		press, err := pdf.NewPress(doc.Paper, pdf.Options{Typefaces: p.Set.Typefaces(), Runes: p.Set.Runes()})
		if err != nil {
			return err
		}
		canvas = press.Canvas()
	}
	return canvas.Write(w, paper, signature)
}

// Single makes the signed PDF of a document that is part of no revision, such as a
// comparison sheet, by the time of issue of its set.
func Single(set *certify.PaperSet, doc *certify.Paper, signer *seal.Signer) ([]byte, error) {
	r := &Request{Set: set, Signer: signer}
	press, err := r.pressFor([]func(page.Sheet) error{doc.Draw})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = r.printer(press, nil).render(&out, doc)
	return out.Bytes(), err
}

// paper is a document without its drawing.
func (p *printer) paper(doc *certify.Paper) *pdf.Document {
	return &pdf.Document{Title: doc.Title, Subject: doc.Subject, Author: doc.Author, Language: doc.Language, Created: p.Set.Issued, Attachments: doc.Attachments}
}

// signature asks for one; a specimen is never signed.
func (p *printer) signature(reason string) *pdf.Signature {
	if p.Set.Specimen {
		return nil
	}
	signature := &pdf.Signature{
		Name: seal.CommonName(p.Signer.Certificate()), Reason: reason,
		When: p.Set.Issued, Reserve: p.reserve,
		// A PDF says the time of signing in its signature dictionary.
		Sign: func(digest [32]byte) ([]byte, error) { return p.Signer.SignCMS(digest, time.Time{}) },
	}
	if p.Stamp != nil {
		signature.Reserve += seal.MaxTimestamp
		signature.Sign = stamped(signature.Sign, p.Stamp)
	}
	return signature
}

// stamped asks for a time-stamp on each signature that was made.
func stamped(sign func([32]byte) ([]byte, error), stamp func([]byte) ([]byte, error)) func([32]byte) ([]byte, error) {
	return func(digest [32]byte) ([]byte, error) {
		cms, err := sign(digest)
		if err != nil {
			return nil, err
		}
		return stamp(cms)
	}
}
