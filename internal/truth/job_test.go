package truth

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The model of a job: what its files say, and nothing else. Decimals and times
// are texts as the files have them.
type (
	job struct {
		Title, Order, Invoice, Stage, Witness, Completed string
		Zone, Lang                                       string
		People                                           []person
		Instruments                                      []instrument
		Cables                                           []cable
		Limits                                           []string // paths of sets
		Reference, Cords, Decision, Guard, Marginal, U   string
		Wavelengths                                      map[string][]int // by mode
		Directions, Reflectance, Estimate                string
		Optional                                         []agreed
		Face                                             bool
		Questions                                        map[string]question
		Sets                                             []set
		Links                                            []link
		Made                                             []made
		Seen                                             []look
		EveryFace                                        bool // must be inspected
		Traces                                           []trace
		EveryTrace                                       bool      // must be there of each loss
		Readings                                         []reading // in order of file and row
		Files                                            []string
		OverRange                                        []string
		Answers                                          []answer
		Currency, Retainage                              string // of pay
		Items                                            []item
		Billed, From, To                                 string // of pay
		Releases                                         []release
		PayApart                                         bool // pay stands in pay.yaml
		Firm                                             bool // much stands in a company file
		Declared                                         []declared
		Confirmed                                        []confirmed
		Colours                                          colours
		Warranty                                         windows
		Trunks                                           []trunk
	}
	// colours are those of the job's cables, or of no table where the title is "".
	colours struct {
		Title    string // "ANSI/TIA-598-D" is the table that comes with the program
		Sequence []string
		PerTube  int
	}
	release struct{ Day, Percent, Amount, Reason string }
	answer  struct {
		Question       string
		Links          []string
		Text, Who, Day string
	}
	item struct {
		Line, Title, Unit, Fibre, Cable, Rate string
		Retro                                 bool // retroactive
	}
	declared struct{ File, Was, Because, By, On string }
	// confirmed says that somebody compared a set, or another file of it.
	confirmed struct {
		Set, By, On, Note string
		Other             bool
	}
	person     struct{ ID, Name, Role, Until string }
	instrument struct{ ID, Kind, Serial, Calibrated, Due, U string }
	cable      struct{ ID, Description, Reel string }
	question   struct{ Weight, Threshold string }
	agreed     struct {
		Set, Limit, Quantity string
		Links                []string
		By, Reason           string
	}
	link struct {
		ID, Cable, Strand, From, To, Fibre, Length string
		Pairs, Splices                             int
		EndA, EndB                                 string
		Applications, Limits                       []string
		Pair, Polarity, Exempt                     string
		Tube, Colour                               string
		Trunk                                      string
		Position, Far                              int
		Ref                                        string // reference method of its own, or ""
	}
	made struct {
		Link, End, Kind, Estimate, Face, Person, Finished, Lot, Closure, Tray, Shut string
	}
	trace struct {
		File, Link string
		NM         int
		Way        string
		Listed     bool // in originals.csv; else its name fits the pattern
	}
	look    struct{ Link, End, Criterion, Edition, Cleaning, Result, Person, Time string }
	reading struct {
		File                                        string
		Row                                         int
		Link, Quantity                              string
		NM                                          int
		Way, Event, Value                           string
		Shown                                       string // that Value only stands for, or ""
		Note                                        string
		Source, Instrument, Person, Reference, Time string
		Ref                                         string // reference method of its own, or ""
	}
	// set is a limit set of the job's own: attenuation by fibre and wavelength,
	// one figure for a mated pair and one for a splice.
	set struct {
		ID, Path, Title, Standard, Edition string
		Application                        bool
		Cable                              []glass
		Pair, Splice                       string
		Reflectance                        []ofMode
		Mean                               string // group_mean of insertion loss, or ""
		Percent, PercentMost               string // a percentile of it and its limit, or ""
		From, To                           int    // wavelengths of an application; any where both are 0
		Least, Reach, ORL                  string // of an application, or ""
		Bare                               bool   // it has a least loss, and no most
		Glass                              bool   // it has the constants of glass
		Low                                bool   // its figure for a mated pair is of low confidence
		Channel                            []glass
		Average                            bool // the application is judged by the mean
		Modes                              []string
		Only                               string // the mode that its limit of loss is about, or ""
		Over                               string // what the set says of a loss that is over
	}
	glass struct {
		Fibre, Value string
		NM           int
	}
	ofMode struct{ Mode, Value string }
)

func (j *job) copy() *job {
	b, err := json.Marshal(j)
	if err != nil {
		panic(err)
	}
	var out job
	if err := json.Unmarshal(b, &out); err != nil {
		panic(err)
	}
	return &out
}

func modeOf(fibre string) string {
	if strings.HasPrefix(fibre, "OM") {
		return "multimode"
	}
	return "singlemode"
}

func (j *job) link(id string) *link {
	for i := range j.Links {
		if j.Links[i].ID == id {
			return &j.Links[i]
		}
	}
	return nil
}

func (j *job) instrument(id string) *instrument {
	for i := range j.Instruments {
		if j.Instruments[i].ID == id {
			return &j.Instruments[i]
		}
	}
	return nil
}

func (j *job) person(id string) *person {
	for i := range j.People {
		if j.People[i].ID == id {
			return &j.People[i]
		}
	}
	return nil
}

func (j *job) set(id string) *set {
	for i := range j.Sets {
		if j.Sets[i].ID == id || j.Sets[i].Path == id {
			return &j.Sets[i]
		}
	}
	return nil
}

// rat reads a decimal exactly.
func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("not a number: " + s)
	}
	return r
}

func add(x, y *big.Rat) *big.Rat { return new(big.Rat).Add(x, y) }
func sub(x, y *big.Rat) *big.Rat { return new(big.Rat).Sub(x, y) }
func mul(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
func num(n int) *big.Rat         { return big.NewRat(int64(n), 1) }

// when is a time as a file writes it: the first and the last moment for which it
// may stand; ok is false where none was written.
func (j *job) when(text string) (from, to time.Time, ok bool) {
	zone, err := time.LoadLocation(j.Zone)
	if err != nil {
		panic(err)
	}
	for _, form := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04"} {
		if t, err := time.ParseInLocation(form, text, zone); err == nil {
			return t, t, true
		}
	}
	if t, err := time.ParseInLocation("2006-01-02", text, zone); err == nil {
		return t, t.AddDate(0, 0, 1).Add(-1), true
	}
	return from, to, false
}

// counting are the readings of a link that count: of each thing the latest.
func (j *job) counting(id string) (out []*reading) {
	at := map[string]int{}
	for i := range j.Readings {
		r := &j.Readings[i]
		if r.Link != id {
			continue
		}
		k, again := at[r.of()]
		if !again {
			at[r.of()] = len(out)
			out = append(out, r)
			continue
		}
		a, _, _ := j.when(out[k].Time)
		b, _, _ := j.when(r.Time)
		if !b.Before(a) {
			out[k] = r
		}
	}
	return out
}

func (r *reading) of() string { return fmt.Sprint(r.Quantity, r.NM, r.Way, r.Event) }

// losses are those of a link that count.
func (j *job) losses(id string) (out []*reading) {
	for _, r := range j.counting(id) {
		if r.Quantity == "insertion_loss" {
			out = append(out, r)
		}
	}
	return out
}

// uncertainty of a reading: its instrument's, else the job's, else nil.
func (j *job) uncertainty(r *reading) *big.Rat {
	if in := j.instrument(r.Instrument); in != nil && in.U != "" {
		return rat(in.U)
	}
	if j.U != "" {
		return rat(j.U)
	}
	return nil
}

func (l *link) km() *big.Rat { return mul(rat(l.Length), big.NewRat(1, 1000)) }

func spliced(end string) bool { return strings.HasPrefix(end, "spliced-on") }

func (l *link) splicedEnds() (n int) {
	for _, e := range []string{l.EndA, l.EndB} {
		if spliced(e) {
			n++
		}
	}
	return n
}

func (l *link) end(name string) string {
	if name == "A" {
		return l.EndA
	}
	return l.EndB
}

// inside is how many mated pairs are inside the measurement: one-cord N,
// two-cord N-1, three-cord N-2 (IEC 61280-4-1 and -4-2, from memory).
func (j *job) inside(l *link, nm int) int {
	return max(0, l.Pairs-outside[j.reference(l, nm)])
}

var outside = map[string]int{"one-cord": 0, "two-cord": 1, "three-cord": 2}

// reference is how the reference was taken at a wavelength of a link: a reading says it
// more narrowly than the link, and the link than the job. The readings of a wavelength
// are made alike.
func (j *job) reference(l *link, nm int) string {
	for i := range j.Readings {
		if r := &j.Readings[i]; r.Link == l.ID && r.NM == nm && r.Ref != "" {
			return r.Ref
		}
	}
	if l.Ref != "" {
		return l.Ref
	}
	return j.Reference
}

// references are those of the losses of a link, or that by which it is to be measured.
func (j *job) references(l *link) (out []string) {
	for _, r := range j.losses(l.ID) {
		if ref := j.reference(l, r.NM); !slices.Contains(out, ref) {
			out = append(out, ref)
		}
	}
	if out == nil {
		out = []string{j.reference(l, -1)}
	}
	return out
}

// sets are those that bind a link: the job's, its own, the applications it must carry.
func (j *job) sets(l *link) (out []*set) {
	for _, id := range slices.Concat(j.Limits, l.Limits, l.Applications) {
		if s := j.set(id); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// cable is the set's attenuation, dB/km, or nil.
func (s *set) cable(fibre string, nm int) *big.Rat {
	for _, g := range s.Cable {
		if g.Fibre == fibre && g.NM == nm {
			return rat(g.Value)
		}
	}
	return nil
}

func (s *set) channel(fibre string) *big.Rat {
	for _, g := range s.Channel {
		if g.Fibre == fibre {
			return rat(g.Value)
		}
	}
	return nil
}

func (s *set) reflectance(mode string) *big.Rat {
	for _, v := range s.Reflectance {
		if v.Mode == mode {
			return rat(v.Value)
		}
	}
	return nil
}

// allowed is what the set allows a loss of the link to be at a wavelength; nil
// where it has no figure, or is not about such a link.
func (j *job) allowed(s *set, l *link, nm int) *big.Rat {
	if s.Application {
		if !s.any() && (nm < s.From || nm > s.To) || !slices.Contains(s.Modes, modeOf(l.Fibre)) {
			return nil
		}
		if s.Bare {
			return rat(s.Least)
		}
		return s.channel(l.Fibre)
	}
	rate := s.cable(l.Fibre, nm)
	if rate == nil || s.Only != "" && s.Only != modeOf(l.Fibre) {
		return nil
	}
	all := add(mul(rate, l.km()), mul(rat(s.Pair), num(j.inside(l, nm))))
	return add(all, mul(rat(s.Splice), num(l.Splices+l.splicedEnds())))
}

// any reports whether an application is judged at whatever wavelength.
func (s *set) any() bool { return s.From == 0 && s.To == 0 }

// oneWay reports whether one direction is enough for the link.
func (j *job) oneWay(l *link) bool { return j.Directions == "either" || l.Exempt != "" }

// threshold of an evidence check, as job.yaml or else the guide has it.
func (j *job) threshold(code, usual string) *big.Rat {
	if q := j.Questions[code]; q.Threshold != "" {
		return rat(q.Threshold)
	}
	return rat(usual)
}

// cells are those of a link in links.csv.
func (j *job) cells(l *link) []string {
	cells := []string{l.ID, l.Cable, l.Strand, l.From, l.To, l.Fibre, l.Length, fmt.Sprint(l.Pairs), fmt.Sprint(l.Splices), l.EndA, l.EndB,
		strings.Join(l.Applications, " "), strings.Join(l.Limits, " "), l.Pair, l.Polarity, l.Exempt, l.Tube, l.Colour, l.Ref}
	if len(j.Trunks) > 0 {
		cells = append(cells, l.Trunk, given(l.Position), given(l.Far))
	}
	return cells
}

// numbered is a cell that ends in a number.
var numbered = regexp.MustCompile(`^(.*?)([0-9]+)$`)

// series is how many links from one on a row can stand for: names, strands and places
// count up together, and every other cell is the same.
func (j *job) series(i int) int {
	first := j.cells(&j.Links[i])
	n := 1
	for ; i+n < len(j.Links); n++ {
		for k, cell := range j.cells(&j.Links[i+n]) {
			switch k {
			case 0, 2, 3, 4:
				a, b := numbered.FindStringSubmatch(first[k]), numbered.FindStringSubmatch(cell)
				if a == nil || b == nil || a[1] != b[1] || k == 0 && len(a[2]) != len(b[2]) {
					return n
				}
				if from, _ := strconv.Atoi(a[2]); b[2] != fmt.Sprintf("%0*d", len(a[2]), from+n) {
					return n
				}
			default:
				if cell != first[k] || k == 13 && cell != "" || j.Links[i].Position > 0 { // pairs are of two links
					return n
				}
			}
		}
	}
	return n
}

// rowOf writes the links from one to another, which make a series, as one row.
func (j *job) rowOf(first, last int) string {
	cells := j.cells(&j.Links[first])
	if end := j.cells(&j.Links[last]); last > first {
		for _, k := range []int{0, 2, 3, 4} {
			cells[k] += ".." + end[k]
		}
	}
	return strings.Join(cells, ",") + "\n"
}

// write writes the job's files.
func (j *job) write(t testing.TB, dir string) {
	t.Helper()
	put := func(name, text string) {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text := j.yaml()
	if j.Firm {
		var firm string
		text, firm = parted(t, text)
		put("house/company.yaml", firm)
	}
	put("job.yaml", text)
	for _, name := range []string{"pay.yaml", "confirmed.yaml"} {
		if err := os.Remove(filepath.Join(dir, name)); err != nil && !os.IsNotExist(err) {
			t.Fatal(err)
		}
	}
	if j.PayApart && len(j.Items) > 0 {
		put("pay.yaml", j.pay(""))
	}
	if len(j.Confirmed) > 0 {
		put("confirmed.yaml", j.confirmations())
	}
	var b strings.Builder
	b.WriteString("link,cable,strand,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b,applications,limits,pair,polarity,exempt,tube,colour,reference")
	if len(j.Trunks) > 0 {
		b.WriteString(",trunk,position,far_position")
	}
	b.WriteString("\n")
	for i := 0; i < len(j.Links); {
		n := j.series(i)
		b.WriteString(j.rowOf(i, i+n-1))
		i += n
	}
	put("links.csv", b.String())
	b.Reset()
	b.WriteString("link,end,kind,estimate_db,attempts,lot,end_face,person,finished,closure,tray,shut\n")
	for _, m := range j.Made {
		fmt.Fprintf(&b, "%s,%s,%s,%s,1,%s,%s,%s,%s,%s,%s,%s\n", m.Link, m.End, m.Kind, m.Estimate, m.Lot, m.Face, m.Person, m.Finished, m.Closure, m.Tray, m.Shut)
	}
	put("terminations.csv", b.String())
	b.Reset()
	for _, t := range j.Traces {
		put(t.File, "what the instrument wrote in "+t.File)
		if t.Listed {
			nm := ""
			if t.NM > 0 {
				nm = fmt.Sprint(t.NM)
			}
			fmt.Fprintf(&b, "%s,%s,%s,%s\n", t.File, t.Link, nm, t.Way)
		}
	}
	if b.Len() > 0 {
		put("originals.csv", "file,link,wavelength_nm,direction\n"+b.String())
	}
	if len(j.Seen) > 0 {
		b.Reset()
		b.WriteString("link,end,criterion,edition,cleaning,result,person,time\n")
		for _, i := range j.Seen {
			fmt.Fprintf(&b, "%s,%s,%s,%s,%s,%s,%s,%s\n", i.Link, i.End, i.Criterion, i.Edition, i.Cleaning, i.Result, i.Person, i.Time)
		}
		put("inspections.csv", b.String())
	}
	for _, s := range j.Sets {
		put(s.Path, s.yaml())
	}
	for _, f := range j.Files {
		put(f, j.file(f))
	}
}

// file is the text of a file of readings.
func (j *job) file(name string) string {
	var b strings.Builder
	b.WriteString("link,wavelength_nm,direction,loss_db,reflectance_db,splice_loss_db,optical_return_loss_db,length_m,event,source,instrument,person,reference_time,time,note,reference_method\n")
	for i := range j.Readings {
		r := &j.Readings[i]
		if r.File != name {
			continue
		}
		nm := ""
		if r.NM > 0 {
			nm = fmt.Sprint(r.NM)
		}
		cell := func(q string) string {
			switch {
			case r.Quantity != q:
				return ""
			case r.Shown != "":
				return r.Shown
			}
			return r.Value
		}
		fmt.Fprintf(&b, "%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s\n", r.Link, nm, r.Way, cell("insertion_loss"), cell("reflectance"), cell("splice_loss"), cell("optical_return_loss"), cell("length"),
			r.Event, r.Source, r.Instrument, r.Person, r.Reference, r.Time, r.Note, r.Ref)
	}
	return b.String()
}

// sum is the SHA-256 of a text.
func sum(text string) string {
	s := sha256.Sum256([]byte(text))
	return hex.EncodeToString(s[:])
}

func (j *job) confirmations() string {
	var b strings.Builder
	b.WriteString("confirmed:\n")
	for _, c := range j.Confirmed {
		of := sum(j.set(c.Set).yaml())
		if c.Other {
			of = sum("another")
		}
		fmt.Fprintf(&b, "  - {set: %s, sha256: %q, by: %s, on: %s%s}\n", c.Set, of, c.By, c.On, field("note", c.Note))
	}
	return b.String()
}

// pay are the pay items, each line further in.
func (j *job) pay(in string) string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, in+format+"\n", args...) }
	if j.Currency != "" {
		p("currency: %s", j.Currency)
	}
	if j.Retainage != "" {
		p("retainage_percent: %s", j.Retainage)
	}
	if j.Billed != "" {
		p("billed: %s", j.Billed)
	}
	if j.From != "" {
		p("period: {from: %s, to: %s}", j.From, j.To)
	}
	if len(j.Releases) > 0 {
		p("releases:")
	}
	for _, r := range j.Releases {
		p("  - {day: %s%s%s, reason: %s}", r.Day, field("percent", r.Percent), field("amount", r.Amount), r.Reason)
	}
	p("items:")
	for _, i := range j.Items {
		p("  - {title: %s, unit: %s%s%s%s%s}", i.Title, i.Unit, field("line", quoted(i.Line)), field("fibre", i.Fibre), field("cable", i.Cable), field("rate", i.Rate)+retro(i.Retro))
	}
	return b.String()
}

func retro(yes bool) string {
	if yes {
		return ", retroactive: true"
	}
	return ""
}

func quoted(s string) string {
	if s == "" {
		return ""
	}
	return fmt.Sprintf("%q", s)
}

// number gives the readings their rows: one row each, below the headings.
func (j *job) number() {
	j.consistent()
	for i := range j.Links { // no method leaves more connections outside than there are
		if l := &j.Links[i]; outside[l.Ref] > l.Pairs {
			l.Ref = ""
		}
	}
	slices.SortStableFunc(j.Readings, func(a, b reading) int { return strings.Compare(a.File, b.File) })
	rows := map[string]int{}
	for i := range j.Readings {
		r := &j.Readings[i]
		rows[r.File]++
		r.Row = rows[r.File] + 1
	}
	j.OverRange = nil
	for _, r := range j.Readings {
		if r.beyond() && !slices.Contains(j.OverRange, r.Shown) {
			j.OverRange = append(j.OverRange, r.Shown)
		}
	}
}

// beyond reports whether the instrument could measure no more.
func (r *reading) beyond() bool { return r.Shown == "OL" || strings.HasPrefix(r.Shown, ">") }

// consistent keeps records of terminations that intake takes: a kind that the end of
// the schedule can have, and one record of an end for each time.
func (j *job) consistent() {
	seen := map[string]bool{}
	var out []made
	for _, m := range j.Made {
		if m.End != "" {
			if l := j.link(m.Link); l != nil {
				end := l.end(m.End)
				if end == "none" {
					continue
				}
				if m.Kind == "spliced-on connector" && !spliced(end) {
					m.Kind = "connector"
				}
			}
			if key := fmt.Sprint(m.Link, m.End, m.Kind, m.Finished); seen[key] {
				continue
			} else {
				seen[key] = true
			}
		}
		out = append(out, m)
	}
	j.Made = out
	// Inspections are of ends that have a face, and a later one has a later time.
	j.Seen = slices.DeleteFunc(j.Seen, func(i look) bool {
		l := j.link(i.Link)
		return l == nil || l.end(i.End) == "none"
	})
}

func (j *job) yaml() string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	opt := func(key, v string) {
		if v != "" {
			p("%s: %s", key, v)
		}
	}
	p("job:\n  number: TR-2026-01\n  title: %s\n  site: {name: Bellweather Library, address: 12 Quay Row}", j.Title)
	p("  customer: {name: Port Ansel Council, order: %s}\n  contractor: {name: Tidewater Fibre Works}\n  time_zone: %s", j.Order, j.Zone)
	opt("  invoice", j.Invoice)
	opt("  stage", j.Stage)
	opt("  witness", j.Witness)
	opt("  completed", j.Completed)
	j.Warranty.write(p)
	if len(j.Traces) > 0 {
		p("originals: {files: [\"traces/{link}_{nm}_{way}.*\"]}")
	}
	p("people:")
	for _, v := range j.People {
		p("  - {id: %s, name: %s, role: %s%s}", v.ID, v.Name, v.Role, field("valid_until", v.Until))
	}
	p("instruments:")
	for _, v := range j.Instruments {
		p("  - {id: %s, kind: %s, serial: %q%s%s%s}", v.ID, v.Kind, v.Serial, field("calibrated", v.Calibrated), field("due", v.Due), field("uncertainty_db", v.U))
	}
	p("cables:")
	for _, v := range j.Cables {
		p("  - {id: %s, description: %s%s}", v.ID, v.Description, field("reel", v.Reel))
	}
	j.Colours.write(p)
	for _, t := range j.Trunks {
		p("trunks: [{id: %s, fibres: %d, polarity: ansi-tia-568.3-%s}]", t.ID, t.Fibres, t.Method)
	}
	p("judge:\n  limits: [%s]\n  reference: %s\n  test_cords: %s\n  decision: %s", strings.Join(j.Limits, ", "), j.Reference, j.Cords, j.Decision)
	opt("  guard_factor", j.Guard)
	opt("  marginal_db", j.Marginal)
	opt("  uncertainty_db", j.U)
	p("  require:\n    directions: %s\n    reflectance: %s", j.Directions, j.Reflectance)
	if j.EveryFace {
		p("    inspection: required")
	}
	if j.EveryTrace {
		p("    originals: required")
	}
	p("    wavelengths_nm:")
	for _, mode := range []string{"multimode", "singlemode"} {
		p("      %s: [%s]", mode, strings.Trim(strings.Join(strings.Fields(fmt.Sprint(j.Wavelengths[mode])), ", "), "[]"))
	}
	if len(j.Optional) > 0 {
		p("  optional:")
		for _, o := range j.Optional {
			links := ""
			if len(o.Links) > 0 {
				links = ", links: [" + strings.Join(o.Links, ", ") + "]"
			}
			p("    - {by: %s, reason: %s%s%s%s%s}", o.By, o.Reason, field("set", o.Set), field("limit", o.Limit), field("quantity", o.Quantity), links)
		}
	}
	p("  termination: {end_face_required: %v%s}", j.Face, field("estimate_db_at_most", j.Estimate))
	if len(j.Questions) > 0 {
		p("  questions:")
		for _, code := range []string{"bend", "direction-difference", "reference-age", "identical-results", "calibration", "pace"} {
			if q, ok := j.Questions[code]; ok {
				p("    %s: {weight: %s%s}", code, q.Weight, field("threshold", q.Threshold))
			}
		}
	}
	if len(j.Items) > 0 && !j.PayApart {
		p("pay:\n%s", strings.TrimSuffix(j.pay("  "), "\n"))
	}
	if len(j.Answers) > 0 {
		p("answers:")
	}
	for _, a := range j.Answers {
		p("  - {question: %s%s, text: %q, who: %s, day: %s}", a.Question, field("links", listed(a.Links)), a.Text, a.Who, a.Day)
	}
	if len(j.Declared) > 0 {
		p("declared:")
	}
	for _, d := range j.Declared {
		p("  - {file: %s, was: %q, because: %q, by: %s%s}", d.File, d.Was, d.Because, d.By, field("on", d.On))
	}
	p("sign: {key: signer.p12}\ndocuments: {paper: A4, language: %s}\nreadings:\n  - files: \"readings/*.csv\"", j.Lang)
	if len(j.OverRange) > 0 {
		p("    over_range: [\"%s\"]", strings.Join(j.OverRange, "\", \""))
	}
	return b.String()
}

// listed is a list of YAML, "" of none.
func listed(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return "[\"" + strings.Join(names, "\", \"") + "\"]"
}

func field(name, v string) string {
	if v == "" {
		return ""
	}
	return ", " + name + ": " + v
}

// where is about which links an application is, and at which wavelengths.
func (s *set) where() string {
	var out []string
	if len(s.Modes) == 1 {
		out = append(out, "mode: "+s.Modes[0])
	}
	if !s.any() {
		out = append(out, fmt.Sprintf("wavelength_nm: %d-%d", s.From, s.To))
	}
	return strings.Join(out, ", ")
}

// The constants of an invented glass: dB for a pulse of 1 ns, dB/km, and the index.
const glassScatters, glassLoses, glassIndex = "-79.4", "0.35", "1.468"

func (s *set) yaml() string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	kind := "cabling"
	if s.Application {
		kind = "application"
	}
	p("id: %s\nkind: %s\ntitle: %s\nstandard: %s\nedition: %q\nscope: invented\nclause: clause 4\nprovenance: read\nvalues:", s.ID, kind, s.Title, s.Standard, s.Edition)
	if s.Application {
		p("  channel_loss:\n    unit: dB\n    rows:")
		for _, g := range s.Channel {
			p("      - {value: %s, fibre: %s}", g.Value, g.Fibre)
		}
		if s.Least != "" {
			p("  least_loss: {unit: dB, value: %s}", s.Least)
		}
		if s.Reach != "" {
			p("  reach: {unit: m, value: %s}", s.Reach)
		}
		if s.ORL != "" {
			p("  least_orl: {unit: dB, value: %s}", s.ORL)
		}
		if s.Glass {
			p("  backscatter: {unit: dB, value: %s}\n  fibre_attenuation: {unit: dB/km, value: %s}\n  group_index: {unit: \"1\", value: %s}", glassScatters, glassLoses, glassIndex)
		}
	} else {
		p("  cable:\n    unit: dB/km\n    rows:")
		for _, g := range s.Cable {
			p("      - {value: %s, fibre: %s, wavelength_nm: %d}", g.Value, g.Fibre, g.NM)
		}
		low := ""
		if s.Low {
			low = ", low_confidence: true"
		}
		p("  mated_pair: {unit: dB, value: %s%s}\n  splice: {unit: dB, value: %s}", s.Pair, low, s.Splice)
	}
	if len(s.Reflectance) > 0 {
		p("  discrete_reflectance:\n    unit: dB\n    rows:")
		for _, v := range s.Reflectance {
			p("      - {value: %s, mode: %s}", v.Value, v.Mode)
		}
	}
	p("limits:")
	only := ""
	if s.Only != "" {
		only = "    where: {mode: " + s.Only + "}\n"
	}
	if s.Application {
		q := "insertion_loss"
		if s.Average {
			q = "two_way_average"
		}
		p("  - id: channel\n    title: Channel loss\n    quantity: %s", q)
		if !s.Bare {
			p("    at_most: [{rate: channel_loss}]")
		}
		if where := s.where(); where != "" {
			p("    where: {%s}", where)
		}
		if s.Least != "" {
			p("    at_least: [{rate: least_loss}]")
		}
		if s.Reach != "" {
			p("  - {id: reach, title: Longest channel, quantity: length, at_most: [{rate: reach}]}")
		}
		if s.ORL != "" {
			p("  - {id: orl, title: Optical return loss, quantity: optical_return_loss, at_least: [{rate: least_orl}]}")
		}
	} else {
		p("  - id: loss\n    title: Loss of the link\n    quantity: insertion_loss\n%s    at_most:\n      - {rate: cable, amount: length_km}\n      - {rate: mated_pair, amount: inner_pairs}\n      - {rate: mated_pair, amount: end_pairs}\n      - {rate: splice, amount: splices}", only)
		if s.Over != "" {
			p("    over: [{say: %s}]", s.Over)
		}
		p("  - {id: splice, title: Loss of a splice, quantity: splice_loss, at_most: [{rate: splice}]}")
		if s.Mean != "" {
			p("  - {id: mean, title: Mean loss, quantity: group_mean, of: insertion_loss, at_most: %s dB}", s.Mean)
		}
		if s.Percent != "" {
			p("  - {id: part, title: Most connections, quantity: group_percentile, of: insertion_loss, percentile: %s, at_most: %s dB}", s.Percent, s.PercentMost)
		}
	}
	if len(s.Reflectance) > 0 {
		p("  - {id: reflectance, title: Reflectance, quantity: reflectance, at_most: [{rate: discrete_reflectance}]}")
	}
	return b.String()
}
