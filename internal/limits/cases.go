package limits

import (
	"fmt"
	"strconv"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// Case is one test of a limit set: a link, how it is measured, and what is
// expected. A file of tests names one set, or each test its own:
//
//	set: tia-568.3-e
//	link: {mode: singlemode, mated_pairs: 2}      # defaults of every test
//	tests:
//	  - name: riser with spliced-on ends
//	    link: {fibre: OS2, length_m: 312, spliced_ends: 2}
//	    reference: one-cord
//	    test_cords: standard
//	    expect:
//	      - {quantity: insertion_loss, wavelength_nm: [1310, 1550], limit: 2.2248}
//	      - {quantity: insertion_loss, wavelength_nm: 1310, measured: 2.3, verdict: fail}
//	      - {quantity: insertion_loss, wavelength_nm: 1625, none: true}
//
// An expected limit is tried with readings at it, a thousandth to the good and
// a thousandth over.
//
// What becomes of a limit on such a link, and why, is expected by its state in the
// ledger and the code of the reason:
//
//   - {quantity: splice_loss, ledger: open, reason: open.splices}
//   - {quantity: reflectance, wavelength_nm: 1310, measured: -50, ledger: judged}
//
// The link is then measured in loss, both ways at 1310 and 1550 nm or 850 and
// 1300 nm, and in what the expectation adds, both ways too. Reflectance is optional,
// unless the test says reflectance: required.
type Case struct {
	File      string
	Line      int
	Set       string
	Name      string
	Link      record.Link
	Reference record.ReferenceMethod
	TestCords record.TestCords
	// Reflectance is "optional" or "required"; "" is optional.
	Reflectance string
	// Attempts are on record of the one splice that is tried; 0: none.
	Attempts int
	Expect   []Expectation
}

// Expectation is what one reading of a case should meet.
type Expectation struct {
	Line         int
	Quantity     record.Quantity
	WavelengthNM int
	LimitID      string // where the set has several limits of a quantity, or ""
	// Limit and Lower: the bounds; Lower only of a range.
	Limit, Lower *quantity.Decimal
	// Measured, Margin and Verdict: one reading and what it comes to.
	Measured, Margin *quantity.Decimal
	Verdict          string
	None             bool // the set has no such limit here
	// Ledger is the state of the limit, such as "open", and Reason the code of why;
	// both are package judge's to know.
	Ledger, Reason string
}

var (
	caseFileKeys = []string{"set", "link", "reference", "test_cords", "reflectance", "tests"}
	caseKeys     = []string{"set", "name", "link", "reference", "test_cords", "reflectance", "expect"}
	caseLinkKeys = []string{"fibre", "mode", "length_m", "mated_pairs", "splices", "spliced_ends", "connector", "polish", "attempts", "splitters"}
	expectKeys   = []string{"quantity", "wavelength_nm", "id", "limit", "lower", "measured", "margin", "verdict", "none", "ledger", "reason"}
)

// ParseCases reads a file of tests. There are none when the list holds an
// error.
func ParseCases(f *source.File) ([]Case, *diag.List) {
	r := newReader(f)
	root := r.root()
	if root == nil {
		return nil, r.List
	}
	top, ok := r.mapping(root, "a file of tests", caseFileKeys, "tests")
	if !ok {
		return nil, r.List
	}
	base := Case{File: f.Name, Set: top.text("set"), Link: record.Link{ID: "test"}}
	r.caseBase(top, &base)
	var out []Case
	for _, n := range top.items("tests") {
		cf, ok := r.mapping(n, "a test", caseKeys, "name", "expect")
		if !ok {
			continue
		}
		c := base
		c.Line, c.Name = n.Line, cf.text("name")
		if cf.has("set") {
			c.Set = cf.text("set")
		}
		if c.Set == "" {
			cf.need("set")
		}
		r.caseBase(cf, &c)
		for _, en := range cf.items("expect") {
			c.Expect = append(c.Expect, r.expect(en)...)
		}
		out = append(out, c)
	}
	if r.List.Errors() > 0 {
		return nil, r.List
	}
	return out, r.List
}

// caseBase reads what the file may say for all tests and a test for itself.
func (r *reader) caseBase(f *ticked, c *Case) {
	if f.has("reference") {
		c.Reference = choice(f, "reference", record.OneCord, record.TwoCord, record.ThreeCord)
	}
	if f.has("test_cords") {
		c.TestCords = choice(f, "test_cords", record.StandardCords, record.ReferenceCords)
	}
	if f.has("reflectance") {
		c.Reflectance = choice(f, "reflectance", "optional", "required")
	}
	n := f.val["link"]
	if n == nil {
		return
	}
	lf, ok := r.mapping(n, "a link", caseLinkKeys)
	if !ok {
		return
	}
	if lf.has("fibre") {
		c.Link.Fibre = lf.text("fibre")
	}
	if lf.has("mode") {
		c.Link.Mode = choice(lf, "mode", record.Singlemode, record.Multimode)
	}
	if d := lf.number("length_m"); d != nil {
		c.Link.Length = *d
	}
	lf.count("mated_pairs", &c.Link.MatedPairs)
	lf.count("splices", &c.Link.Splices)
	lf.count("attempts", &c.Attempts)
	for _, n := range lf.items("splitters") {
		ratio, _ := strconv.Atoi(r.scalar(n, "splitters"))
		c.Link.Splitters = append(c.Link.Splitters, ratio)
	}
	if lf.has("spliced_ends") {
		var n int
		lf.count("spliced_ends", &n)
		c.Link.EndA.SplicedOn, c.Link.EndB.SplicedOn = n > 0, n > 1
	}
	for _, end := range []*record.End{&c.Link.EndA, &c.Link.EndB} {
		if lf.has("connector") {
			end.Connector = lf.text("connector")
		}
		if lf.has("polish") {
			end.Polish = lf.text("polish")
		}
	}
}

// count reads a small whole number.
func (f *ticked) count(key string, into *int) {
	if !f.has(key) {
		return
	}
	n, err := strconv.Atoi(f.text(key))
	if err != nil || n < 0 || n > 10_000 {
		f.r.Fault(f.val[key], "not-a-number", fmt.Sprintf("%s: %q is not a count", key, f.val[key].Value), "want a whole number such as 2", "")
		return
	}
	*into = n
}

// expect reads one line of expectations; a list of wavelengths makes several.
func (r *reader) expect(n *yaml.Node) []Expectation {
	f, ok := r.mapping(n, "an expectation", expectKeys, "quantity")
	if !ok {
		return nil
	}
	e := Expectation{
		Line: n.Line, Quantity: choice(f, "quantity", quantities...), LimitID: f.text("id"),
		Limit: f.number("limit"), Lower: f.number("lower"), Measured: f.number("measured"), Margin: f.number("margin"),
		Verdict: choice(f, "verdict", "pass", "marginal", "fail"), None: f.flag("none"),
		Ledger: choice(f, "ledger", "judged", "not_applicable", "optional", "open"), Reason: f.text("reason"),
	}
	switch {
	case e.Limit == nil && e.Measured == nil && !e.None && e.Ledger == "":
		r.Fault(n, "missing-key", "an expectation needs limit, measured, ledger or none: true", "add one of them", "")
	case e.Reason != "" && e.Ledger == "", e.Ledger != "" && (e.Limit != nil || e.None):
		r.Fault(n, "unknown-value", "a state of the ledger is expected by itself, and a reason only of one", "split it into two expectations", "")
	}
	if e.Measured != nil && e.Verdict == "" && e.Ledger == "" {
		f.need("verdict")
	}
	ranges := r.ranges(f, "wavelength_nm")
	if len(ranges) == 0 {
		return []Expectation{e}
	}
	out := make([]Expectation, len(ranges))
	for i, w := range ranges {
		out[i] = e
		out[i].WavelengthNM = w.Min
	}
	return out
}
