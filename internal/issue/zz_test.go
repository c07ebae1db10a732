package issue
import ("bytes";"testing";"spanseal/internal/seal";"spanseal/internal/label";"runtime/debug";_ "os")
func BenchmarkOurs(b *testing.B){
	debug.SetGCPercent(100)
	var first [][]bool
	var tok string
	fresh := sets(b, func(text string) (_ [][]bool, err error) { tok=text; if first == nil || false { first, err = label.Encode(text) }; return first, err })
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil { b.Fatal(err) }
	r := &Request{Set: fresh(signer), Signer: signer}
	press, err := r.press()
	if err != nil { b.Fatal(err) }
	p := r.printer(press, nil)
	var makers []maker; var pb bytes.Buffer
	var ours stopwatch
	for n:=0;n<b.N;n++ {
		if len(makers) < 2 { r.Set = fresh(signer); makers = r.links() }
		pb.Reset(); ours.start()
		doc, err := makers[0]()
		if err == nil { err = p.render(&pb, doc) }
		ours.stop()
		makers = makers[1:]
		if err != nil { b.Fatal(err) }
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(ours.microseconds(), "cpu-µs")
	b.ReportMetric(float64(pb.Len()), "bytes")
	_ = tok
}
