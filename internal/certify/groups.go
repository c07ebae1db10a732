package certify

import (
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
)

// ResultGroup is the losses of one kind of link at one wavelength, in dB to a
// tenth of a millibel, far below what any instrument shows.
type ResultGroup struct {
	By           string `json:"by"` // "all", "fibre", "connector", "person", "instrument" or "panel"
	Name         string `json:"name,omitempty"`
	WavelengthNM int    `json:"wavelength_nm"`
	Losses       int    `json:"losses"`
	Links        int    `json:"links"` // that they are of

	Mean         quantity.Decimal `json:"mean"`
	Deviation    quantity.Decimal `json:"deviation"` // of the sample; 0 for one loss
	Median       quantity.Decimal `json:"median"`
	Percentile95 quantity.Decimal `json:"percentile_95"` // nearest ranks
	Percentile97 quantity.Decimal `json:"percentile_97"`
	Worst        quantity.Decimal `json:"worst"`
	// FirstTime and Marginal are shares of the links, 0 to 1: all of whose
	// losses passed when first measured, and that are marginal.
	FirstTime quantity.Decimal `json:"first_time"`
	Marginal  quantity.Decimal `json:"marginal"`

	Grades    []judge.Grade `json:"grades,omitempty"` // of connectors: the population sets that were tried
	StandsOut string        `json:"stands_out,omitempty"`
}

func resultGroups(groups []judge.Group) []ResultGroup {
	out := make([]ResultGroup, len(groups))
	for i, g := range groups {
		out[i] = ResultGroup{g.By, g.Name, g.WavelengthNM, g.N, g.Links, statistic(g.Mean), statistic(g.SD), statistic(g.Median),
			statistic(g.P95), statistic(g.P97), statistic(g.Worst), statistic(g.FirstTime), statistic(g.Marginal), g.Grades, g.StandsOut}
	}
	return out
}

// statistic writes what was worked out as a number of the results is written.
func statistic(v float64) quantity.Decimal { return quantity.Must(decimals(v, 4)) }
