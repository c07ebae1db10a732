package judge

import (
	"encoding/json"
	"fmt"
	"iter"
	"slices"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Verdict of a finding or of a link. The order is the order of weight: the
// worst finding decides the link.
type Verdict int

const (
	Pass Verdict = iota
	Marginal
	Incomplete
	Fail
)

func (v Verdict) String() string {
	return [...]string{"pass", "marginal", "incomplete", "fail"}[v]
}

// MarshalText writes the verdict's word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads a verdict's word.
func (v *Verdict) UnmarshalText(text []byte) error {
	for w := Pass; w <= Fail; w++ {
		if w.String() == string(text) {
			*v = w
			return nil
		}
	}
	return fmt.Errorf("%q is not a verdict", text)
}

// Certifiable reports whether a link with this verdict gets a certificate.
func (v Verdict) Certifiable() bool { return v == Pass || v == Marginal }

// FindingKind is what sort of finding it is.
type FindingKind string

const (
	KindLimit    FindingKind = "limit"    // a reading against a limit
	KindRequired FindingKind = "required" // something that must be there is or is not
	KindEvidence FindingKind = "evidence" // a question about how it was measured
	KindEstimate FindingKind = "estimate" // a splicer's estimate or an inspection against the job's limit
)

// WorkedTerm is one addend of a working: Rate × Amount.
type WorkedTerm struct {
	// Label is a stable key for the wording: "cable", "mated_pair",
	// "end_connection", "splice", "flat", ...
	Label      string           `json:"label"`
	Rate       quantity.Decimal `json:"rate"`
	RateUnit   quantity.Unit    `json:"rate_unit"`
	Amount     quantity.Decimal `json:"amount"`
	AmountUnit quantity.Unit    `json:"amount_unit"`
	Product    quantity.Decimal `json:"product"`
	Clause     string           `json:"clause,omitempty"`
	Provenance string           `json:"provenance"` // "read", "quoted", "recalled"
	Low        bool             `json:"low_confidence,omitempty"`
	Source     string           `json:"source,omitempty"`
	// Base is the set whose file holds the rate, where the working's own set
	// took it over from one that it extends; nil otherwise. See [Working.From].
	Base *SetOrigin `json:"base,omitempty"`
}

// TakenOff reports whether the term is taken off the others, whole, as a
// receiver's sensitivity is in a power budget.
func (t *WorkedTerm) TakenOff() bool { return t.Amount.Equal(quantity.Int(-1)) }

// SetOrigin names a limit set, and its file's bytes.
type SetOrigin struct {
	SetID    string `json:"set"`
	Standard string `json:"standard"`
	Edition  string `json:"edition"`
	SHA256   string `json:"sha256"`
}

// Working is how a limit came about: the terms that were added up, and where
// they stand.
type Working struct {
	SetID    string           `json:"set"`
	LimitID  string           `json:"limit_id"` // of the limit within the set
	Standard string           `json:"standard"` // "ANSI/TIA-568.3-E"
	Edition  string           `json:"edition"`  // "2022"
	SHA256   string           `json:"sha256"`   // of the set's file
	Bound    string           `json:"bound"`    // "at_most", "at_least", "between"
	Terms    []WorkedTerm     `json:"terms"`
	Limit    quantity.Decimal `json:"limit"`
	// Lower is the lower bound where Bound is "between".
	Lower *quantity.Decimal `json:"lower,omitempty"`
	// Of is what a group_mean or group_percentile is about: insertion_loss (for
	// each connection) or splice_loss. Percentile is that of the latter, such as
	// 97, and nil for every other limit.
	Of         record.Quantity   `json:"of,omitempty"`
	Percentile *quantity.Decimal `json:"percentile,omitempty"`
	// PairsCounted of PairsPresent mated pairs are inside the measurement.
	PairsCounted int `json:"pairs_counted"`
	PairsPresent int `json:"pairs_present"`
	// AllSplices counts those of the span and behind spliced-on ends.
	AllSplices int `json:"all_splices"`
}

// From is the set whose file holds the rate of one of the working's terms: the
// working's own, or one that it extends.
func (w *Working) From(t *WorkedTerm) SetOrigin {
	if t.Base != nil {
		return *t.Base
	}
	return SetOrigin{w.SetID, w.Standard, w.Edition, w.SHA256}
}

// Origins are the sets that the working rests on: its own, then those whose
// rates it took over, in the order of the terms.
func (w *Working) Origins() []SetOrigin {
	out := []SetOrigin{w.From(&WorkedTerm{})}
	for i := range w.Terms {
		if o := w.From(&w.Terms[i]); !slices.Contains(out, o) {
			out = append(out, o)
		}
	}
	return out
}

// Matter is what a finding is about. Findings of many links share one: nobody may
// change it.
type Matter struct {
	Kind FindingKind `json:"kind"`
	Code string      `json:"code"` // kebab-case, stable; "insertion-loss", "calibration", ...

	Quantity     record.Quantity  `json:"quantity,omitempty"`
	WavelengthNM int              `json:"wavelength_nm,omitempty"`
	Direction    record.Direction `json:"direction,omitempty"`
	End          string           `json:"end,omitempty"`
	Event        string           `json:"event,omitempty"` // which splice, where one was named
	Unit         quantity.Unit    `json:"unit,omitempty"`

	// Population is how many losses a group_mean or group_percentile is of.
	Population int `json:"population,omitempty"`

	// Question is what is asked or what is missing, never an accusation. Advice
	// is what to try first.
	Question statement.Statement   `json:"question,omitzero"`
	Advice   []statement.Statement `json:"advice,omitempty"`
}

// Finding is one judged fact.
type Finding struct {
	*Matter         // never nil in a judgement
	Verdict Verdict `json:"verdict"`

	// Measured, Limit and Margin are set together where a number was judged.
	// Margin is positive on the good side: limit − measured for at most,
	// measured − limit for at least.
	Measured *quantity.Decimal `json:"measured,omitempty"`
	Limit    *quantity.Decimal `json:"limit,omitempty"`
	Margin   *quantity.Decimal `json:"margin,omitempty"`
	// Uncertainty is expanded, k = 2; Probability of conformity is set with it
	// (0..1), −1 when not computed.
	Uncertainty *quantity.Decimal `json:"uncertainty,omitempty"`
	Probability float64           `json:"probability"`
	// Guard is w = r·U of guarded acceptance: the margin that was asked for.
	Guard   *quantity.Decimal `json:"guard,omitempty"`
	Working *Working          `json:"working,omitempty"`

	// Readings are the facts it rests on; two for a two-way average.
	Readings []record.Reading `json:"readings,omitempty"`
	// Answer is what the job says to the question; nil where it says nothing.
	Answer *Reply `json:"answer,omitempty"`
}

// ask gives a finding a question and advice of its own.
func (f *Finding) ask(question statement.Statement, advice ...statement.Statement) {
	m := *f.Matter
	m.Question, m.Advice = question, advice
	f.Matter = &m
}

// Carries is what became of one application on one link.
type Carries struct {
	ID       string `json:"id"`
	Title    string `json:"title"` // "10GBASE-LR"
	Required bool   `json:"required"`
	Within   bool   `json:"within"`
	// LengthJudged says that the application has a limit of length that was held
	// against that of the link.
	LengthJudged bool `json:"length_judged"`
	// EngineeredBeyond is the length, m, beyond which links of the application are
	// engineered one by one; nil where the link is not longer, or the set names none.
	EngineeredBeyond *quantity.Decimal `json:"engineered_beyond_m,omitempty"`
	Findings         []Finding         `json:"findings,omitempty"` // of required ones, and of those that are out
}

// Open reports whether a required application is neither shown nor out of its
// limits: something is missing.
func (c *Carries) Open() bool {
	return c.Required && !c.Within && !slices.ContainsFunc(c.Findings, func(f Finding) bool { return f.Verdict == Fail })
}

// Brief is what became of one link, in short.
type Brief struct {
	Link     *record.Link `json:"link"` // of the schedule
	Verdict  Verdict      `json:"verdict"`
	Measured bool         `json:"measured"` // at least one reading counts
}

// LinkResult is the judgement of one link.
type LinkResult struct {
	Brief
	// Findings: limits first by wavelength and direction, then required,
	// estimates, evidence.
	Findings []Finding `json:"findings"`
	// Worst is the index in Findings of the limit finding with the smallest
	// margin among the losses of the link, one way and two-way averages, or −1.
	// What has another scale takes no part: a splice, a reflectance, the length.
	Worst      int              `json:"worst"`
	Readings   []record.Reading `json:"readings"`   // used
	Superseded []record.Reading `json:"superseded"` // earlier ones, oldest first
	// Stages are those of other stages of the work, in its order: they stand beside
	// the used ones and are not judged.
	Stages       []record.Reading     `json:"stages,omitempty"`
	Terminations []record.Termination `json:"terminations,omitempty"`
	Inspections  []record.Inspection  `json:"inspections,omitempty"`
	// InstrumentFiles are the files that instruments wrote of the link.
	InstrumentFiles []record.InstrumentFile `json:"originals,omitempty"`
	Carries         []Carries               `json:"carries,omitempty"`
	// Ledger has every limit of every set that binds the link, in the order of the
	// sets and of their limits.
	Ledger []LedgerEntry `json:"ledger,omitempty"`
	// ExpectedORL is what backscatter and reflectances allow, where the job
	// gives the constants of the glass.
	ExpectedORL []ExpectedORL `json:"expected_orl,omitempty"`
}

// ExpectedORL is an optical return loss worked out, not measured; positive dB.
type ExpectedORL struct {
	WavelengthNM int              `json:"wavelength_nm"`
	Direction    record.Direction `json:"direction,omitempty"`
	DB           float64          `json:"db"`
}

// WorstFinding returns the finding with the smallest margin, or nil.
func (l *LinkResult) WorstFinding() *Finding {
	if l.Worst < 0 || l.Worst >= len(l.Findings) {
		return nil
	}
	return &l.Findings[l.Worst]
}

// Open returns the findings that are not pass, worst first.
func (l *LinkResult) Open() []Finding {
	var open []Finding
	for _, v := range []Verdict{Fail, Incomplete, Marginal} {
		for _, f := range l.Findings {
			if f.Verdict == v {
				open = append(open, f)
			}
		}
	}
	return open
}

// Unbound lists the readings that count and that no limit was held against. The
// length is none of them: it enters other limits.
func (l *LinkResult) Unbound() (out []record.Reading) {
	for i := range l.Readings {
		r := &l.Readings[i]
		bound := r.Quantity == record.Length
		for k := range l.Findings {
			bound = bound || l.Findings[k].Kind == KindLimit && slices.Contains(l.Findings[k].Readings, *r)
		}
		if !bound {
			out = append(out, *r)
		}
	}
	return out
}

// SetUsed names a limit set that bound something, or that such a set extends.
type SetUsed struct {
	ID       string      `json:"id"`
	Kind     limits.Kind `json:"-"`                 // what it is about
	Extends  string      `json:"extends,omitempty"` // id of its base, which is listed too
	Title    string      `json:"title"`
	Standard string      `json:"standard"`
	Edition  string      `json:"edition"`
	File     string      `json:"file"` // of the job, or the built-in's name
	SHA256   string      `json:"sha256"`
	BuiltIn  bool        `json:"built_in"`
	Owner    bool        `json:"owner"`     // an owner's own figures
	LowCount int         `json:"low_count"` // values of low confidence of its file that were used
	// Confirmed names who compared the set with the standard and when, or "".
	Confirmed string `json:"confirmed,omitempty"`
	// Confirmation says the same on paper, with what was noted and the file's
	// digest; zero where nobody did.
	Confirmation statement.Statement `json:"confirmation,omitzero"`
}

// SetsOf lists the sets that bound a link, and those that they extend, by id.
func (j *Judgement) SetsOf(l *LinkResult) []SetUsed {
	bound := map[string]bool{}
	for i := range l.Findings {
		if w := l.Findings[i].Working; w != nil {
			bound[w.SetID] = true
		}
	}
	// A base may come before or after what extends it.
	for grown := true; grown; {
		grown = false
		for _, s := range j.Sets {
			if bound[s.ID] && s.Extends != "" && !bound[s.Extends] {
				bound[s.Extends], grown = true, true
			}
		}
	}
	var out []SetUsed
	for _, s := range j.Sets {
		if bound[s.ID] {
			out = append(out, s)
		}
	}
	return out
}

// Counts of the job, on page one.
type Counts struct {
	Scheduled  int `json:"scheduled"`
	Measured   int `json:"measured"`
	Certified  int `json:"certified"` // pass or marginal
	Marginal   int `json:"marginal"`  // of them
	Failed     int `json:"failed"`
	Incomplete int `json:"incomplete"` // not measured ones included
}

// Judgement is the whole job, judged.
type Judgement struct {
	Links  []Brief // in schedule order
	Counts Counts
	Sets   []SetUsed
	// Questions are about the job as a whole rather than one link; limits of a
	// population (kind limit) are among them.
	Questions []Finding
	// Ledger counts what became of the limits of each set that binds a link, in the
	// order in which links name them. Together has the limits about the whole job.
	Ledger   []SetTally
	Together []LedgerEntry

	results []LinkResult
	counted func() (asked, answered int)
	answers *answers
}

// Settled returns a judgement of links that were judged elsewhere.
func Settled(results ...LinkResult) *Judgement {
	j := &Judgement{results: results}
	for i := range results {
		j.Links = append(j.Links, results[i].Brief)
		j.Counts.add(&results[i].Brief)
	}
	j.counted = j.countedOnce()
	return j
}

// Result returns all that was found about link i of the schedule: one for everybody
// who asks, so that nobody may change it.
func (j *Judgement) Result(i int) *LinkResult { return &j.results[i] }

// Results are those of all links, in schedule order.
func (j *Judgement) Results() iter.Seq2[int, *LinkResult] {
	return func(yield func(int, *LinkResult) bool) {
		for i := range j.results {
			if !yield(i, &j.results[i]) {
				return
			}
		}
	}
}

// MarshalJSON writes the judgement with all that was found about every link.
func (j *Judgement) MarshalJSON() ([]byte, error) {
	links := make([]*LinkResult, 0, len(j.Links))
	for _, l := range j.Results() {
		links = append(links, l)
	}
	return json.Marshal(struct {
		Links     []*LinkResult `json:"links"`
		Counts    Counts        `json:"counts"`
		Sets      []SetUsed     `json:"sets"`
		Questions []Finding     `json:"questions,omitempty"`
		Ledger    []SetTally    `json:"ledger"`
		Together  []LedgerEntry `json:"together,omitempty"`
	}{links, j.Counts, j.Sets, j.Questions, j.Ledger, j.Together})
}

// Conforms reports whether every scheduled link is certifiable and nothing
// about the job as a whole stands in the way.
func (j *Judgement) Conforms() bool {
	for i := range j.Questions {
		if !j.Questions[i].Verdict.Certifiable() {
			return false
		}
	}
	return j.Counts.Certified == j.Counts.Scheduled && j.Counts.Scheduled > 0
}

// Link returns the result of a link by its exact id.
func (j *Judgement) Link(id string) (*LinkResult, bool) {
	for i := range j.Links {
		if j.Links[i].Link.ID == id {
			return j.Result(i), true
		}
	}
	return nil, false
}
