package record

import (
	"strconv"
	"strings"

	"spanseal/internal/quantity"
)

// Method is how a reading was made. What nobody said is zero; what a link or a file
// says may leave the rest to the job.
type Method struct {
	Reference ReferenceMethod `json:"reference,omitempty"`
	TestCords TestCords       `json:"test_cords,omitempty"`
	Launch    string          `json:"launch,omitempty"`   // [EncircledFlux], or in words
	Stage     Stage           `json:"stage,omitempty"`    // "": that which the papers are of
	Software  string          `json:"software,omitempty"` // of the instrument, with its version
	// GroupIndex is the group index of refraction that the instrument was set to.
	GroupIndex *quantity.Decimal `json:"group_index,omitempty"`
}

// ReferenceMethod is how the reference power was taken (IEC 61280-4-1, -4-2).
type ReferenceMethod string

const (
	OneCord   ReferenceMethod = "one-cord"
	TwoCord   ReferenceMethod = "two-cord"
	ThreeCord ReferenceMethod = "three-cord"
)

// TestCords is the grade of the test cords' connectors.
type TestCords string

const (
	StandardCords  TestCords = "standard"
	ReferenceCords TestCords = "reference-grade"
)

// EncircledFlux is the launch of IEC 61280-4-1.
const EncircledFlux = "encircled flux"

// Stage is when in the work a reading was made.
type Stage string

const (
	Shipped Stage = "shipped" // by the maker, as the shipping record has it
	OnReel  Stage = "reel"    // as delivered, before placing
	Placed  Stage = "placed"
	Spliced Stage = "spliced"
	Final   Stage = "final"
)

// Stages are in the order of the work.
var Stages = []Stage{Shipped, OnReel, Placed, Spliced, Final}

// Over lays what is said in a narrower place over what is said in a wider one.
func (m Method) Over(wide Method) Method {
	if m.Reference == "" {
		m.Reference = wide.Reference
	}
	if m.TestCords == "" {
		m.TestCords = wide.TestCords
	}
	if m.Launch == "" {
		m.Launch = wide.Launch
	}
	if m.Stage == "" {
		m.Stage = wide.Stage
	}
	if m.Software == "" {
		m.Software = wide.Software
	}
	if m.GroupIndex == nil {
		m.GroupIndex = wide.GroupIndex
	}
	return m
}

// Key tells methods apart.
func (m Method) Key() string {
	index := ""
	if m.GroupIndex != nil {
		index = m.GroupIndex.String()
	}
	return strings.Join([]string{string(m.Reference), string(m.TestCords), string(m.Stage), index, strconv.Quote(m.Launch), strconv.Quote(m.Software)}, " ")
}
