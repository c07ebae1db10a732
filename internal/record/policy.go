package record

import (
	"slices"

	"spanseal/internal/quantity"
)

// Policy is what was agreed before measuring: what binds and what must be there.
type Policy struct {
	Limits    []string        `json:"limits"` // ids of sets that bind every link
	Reference ReferenceMethod `json:"reference"`
	TestCords TestCords       `json:"test_cords"`
	// Launch, Software and GroupIndex are the rest of the job's [Method].
	Launch      string            `json:"launch,omitempty"`
	Software    string            `json:"software,omitempty"`
	GroupIndex  *quantity.Decimal `json:"group_index,omitempty"`
	Decision    string            `json:"decision"`              // "simple" or "guarded"
	GuardFactor quantity.Decimal  `json:"guard_factor,omitzero"` // r in w = r·U; 1 unless given
	// Marginal is the job's own band in dB; nil: the uncertainty is the band.
	Marginal *quantity.Decimal `json:"marginal_db,omitempty"`
	// Uncertainty is the job's expanded uncertainty (k = 2), dB, where the
	// instrument gives none.
	Uncertainty *quantity.Decimal `json:"uncertainty_db,omitempty"`
	Require     Require           `json:"require"`
	// Optional is what limit sets are about and need not be measured, as agreed.
	Optional []Agreed `json:"optional,omitempty"`
	// EstimateAtMost limits the splicer's estimate, dB; nil: not judged.
	EstimateAtMost *quantity.Decimal `json:"estimate_db_at_most,omitempty"`
	// RetestChange is how much a loss may change until a retest before the
	// project asks why, dB; nil: the project states none.
	RetestChange *quantity.Decimal `json:"retest_change_db,omitempty"`
	// EndFaceRequired makes an end face that was not inspected an open question.
	EndFaceRequired bool `json:"end_face_required,omitempty"`
	// Questions holds thresholds and weights of evidence checks by code, as
	// literal text from job.yaml; package evidence knows the codes.
	Questions map[string]Question `json:"questions,omitempty"`
}

// Question is what job.yaml says about one evidence check.
type Question struct {
	// Weight is "fatal" (the link is incomplete), "note", or "off".
	Weight string `json:"weight,omitempty"`
	// Threshold is the check's number in its own unit; nil: the default, ours.
	Threshold *quantity.Decimal `json:"threshold,omitempty"`
}

// Require is what every link must have been measured with.
type Require struct {
	Wavelengths map[Mode][]int `json:"wavelengths_nm"`
	Directions  string         `json:"directions"`  // "both" or "either"
	Reflectance string         `json:"reflectance"` // "optional" or "required"
	// Inspection is that of every end face, factory-made ones too: "required", or
	// "optional" or "".
	Inspection string `json:"inspection,omitempty"`
	// Originals are the instrument's own files of every loss: the same.
	Originals string `json:"originals,omitempty"`
}

// Agreed says by whose word what a limit is about need not be measured. Set, Limit
// and Quantity narrow it; one of the three is always given.
type Agreed struct {
	Set      string   `json:"set,omitempty"`   // id of a limit set
	Limit    string   `json:"limit,omitempty"` // id of a limit within the set
	Quantity Quantity `json:"quantity,omitempty"`
	Links    []string `json:"links,omitempty"` // ids; none: all links
	By       string   `json:"by"`              // who agreed to it
	Reason   string   `json:"reason"`
	Origin   Origin   `json:"-"`
}

// Covers reports whether a limit of a link is meant.
func (a *Agreed) Covers(set, limit string, q Quantity, link string) bool {
	return (a.Set == "" || a.Set == set) && (a.Limit == "" || a.Limit == limit) && (a.Quantity == "" || a.Quantity == q) &&
		(len(a.Links) == 0 || slices.Contains(a.Links, link))
}

// Method is that of the job, for whatever has none of its own.
func (p *Policy) Method() Method {
	return Method{Reference: p.Reference, TestCords: p.TestCords, Launch: p.Launch, Software: p.Software, GroupIndex: p.GroupIndex}
}

// MethodOf is how a reading was made.
func (p *Policy) MethodOf(r *Reading) Method {
	if r.Method != nil {
		return *r.Method
	}
	return p.Method()
}

// MethodFor is how a link is to be measured, for what no reading says.
func (p *Policy) MethodFor(l *Link) Method {
	if l.Terms != nil && l.Terms.Method != nil {
		return l.Terms.Method.Over(p.Method())
	}
	return p.Method()
}
