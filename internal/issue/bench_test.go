//go:build unix

package issue

import (
	"bytes"
	"io"
	"io/fs"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/sys/unix"

	"spanseal/internal/bulk"
	"spanseal/internal/certify"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/seal"
	"spanseal/templates"
)

// BenchmarkCertificate makes signed certificates of eight readings, with their
// attachments, one after another, and throws them away. It reports processor
// time, user and system: what can be compared on a machine that others use too.
//
// "drawn" leaves out the encoding of the QR symbol: each paper shows the symbol
// of the first. "times-plain" is how many papers are made while fpdf alone makes
// one: the same page in the same fonts, laid out by the same code, with its
// symbol, encoded as ours is, unsigned and without attachments. Both are measured
// in the same run, in stretches that take turns, so that noise falls on both.
//
// The collector is set for ours as spanseal issue sets it for a job of 1,000
// links, and for fpdf as Go does for any program; "alike" leaves it at that for
// both.
func BenchmarkCertificate(b *testing.B) {
	for _, c := range []struct {
		name    string
		percent int
	}{{"", 640}, {"-alike", 100}} {
		b.Run("whole"+c.name, func(b *testing.B) { certificates(b, c.percent, label.Encode) })
		b.Run("drawn"+c.name, func(b *testing.B) {
			var first [][]bool
			certificates(b, c.percent, func(text string) (_ [][]bool, err error) {
				if first == nil {
					first, err = label.Encode(text)
				}
				return first, err
			})
		})
	}
}

func certificates(b *testing.B, percent int, symbol func(string) ([][]bool, error)) {
	const stretch, toOne = 1000, 20 // papers of ours, and how many of them to one of fpdf's; a short run has one of fpdf's at least
	collector := func(percent int) {
		runtime.GC() // nobody cleans up what the other left
		debug.SetGCPercent(percent)
	}
	defer debug.SetGCPercent(debug.SetGCPercent(percent))
	fresh := sets(b, 500, symbol)
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		b.Fatal(err)
	}
	r := &Request{Set: fresh(signer), Signer: signer}
	press, err := r.press()
	if err != nil {
		b.Fatal(err)
	}
	p := r.printer(press, nil)
	var makers []maker
	one := func(watch *stopwatch, write func(*certify.Paper) error) {
		if len(makers) == 0 { // a set seals each link once
			r.Set = fresh(signer)
			makers = r.links()
		}
		watch.start()
		doc, err := makers[0]()
		if err == nil {
			err = write(doc)
		}
		watch.stop()
		if makers = makers[1:]; err != nil {
			b.Fatal(err)
		}
	}
	var ours, theirs stopwatch
	var paper bytes.Buffer
	turn := func(papers int) {
		collector(100)
		for range papers {
			one(&theirs, func(doc *certify.Paper) error { return withoutUs(doc, p.canvas) })
		}
		collector(percent)
	}
	n := 0
	for b.Loop() {
		one(&ours, func(doc *certify.Paper) error { paper.Reset(); return p.render(&paper, doc) })
		if n++; n%stretch == 0 {
			turn(stretch / toOne)
		}
	}
	if n < stretch {
		turn(max(n/toOne, 1))
	}
	b.ReportMetric(0, "ns/op") // not the figure: it holds both
	b.ReportMetric(ours.microseconds(), "cpu-µs")
	b.ReportMetric(theirs.microseconds()/ours.microseconds(), "times-plain")
	b.ReportMetric(float64(paper.Len()), "bytes")
}

var issued = time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)

// sets returns a function that makes sets of the same job.
func sets(b testing.TB, links int, symbol func(string) ([][]bool, error)) func(*seal.Signer) *certify.PaperSet {
	dir := b.TempDir()
	if err := bulk.Write(dir, links); err != nil {
		b.Fatal(err)
	}
	facts, _ := intake.Read(dir, intake.Options{})
	files, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		b.Fatal(err)
	}
	book, _ := limits.NewBook(files)
	judged, _ := judge.Judge(facts, book)
	if judged.Counts.Certified != links {
		b.Fatalf("%d of %d links are certified", judged.Counts.Certified, links)
	}
	return func(signer *seal.Signer) *certify.PaperSet {
		set, problems := certify.NewSet(form.Writer{
			Facts: facts, Judgement: judged, Revision: 1, Issued: issued,
			Signer: form.Signatory{Name: "R. Lindqvist", Organisation: "Tidewater Fibre Works", KeyID: signer.KeyID().String(), Fingerprint: signer.Fingerprint()},
		}, certify.Options{Templates: templates.Files, Symbol: symbol, Sign: signer.SignToken})
		if problems.Errors() > 0 {
			b.Fatal("the set has problems")
		}
		return set
	}
}

// stopwatch adds up the processor time of this process.
type stopwatch struct {
	total, since time.Duration
	laps         int
}

func (s *stopwatch) start() { s.since = processorTime() }
func (s *stopwatch) stop() {
	s.total += processorTime() - s.since
	s.laps++
}
func (s *stopwatch) microseconds() float64 { return float64(s.total.Microseconds()) / float64(s.laps) }

func processorTime() time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// withoutUs writes the pages of a document by fpdf alone, as the shortest program
// that uses it would.
func withoutUs(doc *certify.Paper, measure page.Sheet) error {
	f := fpdf.New("P", "mm", "A4", "")
	if err := doc.Draw(&plainSheet{Sheet: measure, Fpdf: f}); err != nil {
		return err
	}
	return f.Output(io.Discard)
}

// plainSheet draws by fpdf; only widths are measured as our papers do it.
type plainSheet struct {
	page.Sheet
	*fpdf.Fpdf
	has [page.Faces]bool
}

func (s *plainSheet) NextPage()       { s.AddPage() }
func (s *plainSheet) PageNumber() int { return s.PageNo() }

func (s *plainSheet) Width(style page.Style, text string) float64 { return s.Sheet.Width(style, text) }

func (s *plainSheet) Text(x, y float64, style page.Style, text string) {
	if !s.has[style.Face] {
		s.AddUTF8FontFromBytes(style.Face.String(), "", page.GoTypefaces()[style.Face].TTF())
		s.has[style.Face] = true
	}
	s.SetFont(style.Face.String(), "", style.Size)
	s.SetTextColor(rgb(style.Ink))
	s.Fpdf.Text(x, y, text)
}

func (s *plainSheet) Line(x1, y1, x2, y2, weight float64, ink page.Ink) {
	s.SetDrawColor(rgb(ink))
	s.SetLineWidth(weight)
	s.Fpdf.Line(x1, y1, x2, y2)
}

func (s *plainSheet) Fill(x, y, w, h float64, ink page.Ink) {
	s.SetFillColor(rgb(ink))
	s.Rect(x, y, w, h, "F")
}

func (s *plainSheet) Frame(x, y, w, h, weight float64, ink page.Ink) {
	s.SetDrawColor(rgb(ink))
	s.SetLineWidth(weight)
	s.Rect(x, y, w, h, "D")
}

func (s *plainSheet) Polygon(points []page.Point, ink page.Ink) {
	corners := make([]fpdf.PointType, len(points))
	for i, p := range points {
		corners[i] = fpdf.PointType{X: p.X, Y: p.Y}
	}
	s.SetFillColor(rgb(ink))
	s.Fpdf.Polygon(corners, "F")
}

// Modules draws the dark runs of each row.
func (s *plainSheet) Modules(x, y, side float64, dark [][]bool, ink page.Ink) {
	s.SetFillColor(rgb(ink))
	d := side / float64(len(dark))
	for j, row := range dark {
		for i := 0; i < len(row); i++ {
			from := i
			for i < len(row) && row[i] {
				i++
			}
			if i > from {
				s.Rect(x+float64(from)*d, y+float64(j)*d, float64(i-from)*d, d, "F")
			}
		}
	}
}

func (s *plainSheet) Bookmark(title string, level int) { s.Fpdf.Bookmark(title, level, -1) }

func rgb(i page.Ink) (r, g, b int) { return int(i >> 16 & 0xFF), int(i >> 8 & 0xFF), int(i & 0xFF) }
