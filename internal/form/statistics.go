package form

import (
	"spanseal/internal/quantity"
	"spanseal/internal/statement"
	"spanseal/internal/statistics"
	"spanseal/internal/wording"
)

// ResultGroup is the losses of one kind of link at one wavelength, in dB to a
// tenth of a millibel, far below what any instrument shows.
type ResultGroup struct {
	By           string `json:"by"` // "all", "fibre", "connector", "person", "instrument" or "panel"
	Name         string `json:"name,omitempty"`
	WavelengthNM int    `json:"wavelength_nm"`
	Losses       int    `json:"losses"`
	Links        int    `json:"links"` // that they are of

	Mean         quantity.Decimal  `json:"mean"`
	Deviation    *quantity.Decimal `json:"deviation,omitempty"` // of the sample, of ten losses and more
	Median       quantity.Decimal  `json:"median"`
	Percentile95 *quantity.Decimal `json:"percentile_95,omitempty"` // nearest ranks, where they are not the largest loss
	Percentile97 *quantity.Decimal `json:"percentile_97,omitempty"`
	Worst        quantity.Decimal  `json:"worst"`
	// FirstTime and Marginal are shares of the links, 0 to 1: all of whose
	// losses passed when first measured, and that are marginal.
	FirstTime quantity.Decimal `json:"first_time"`
	Marginal  quantity.Decimal `json:"marginal"`

	Grades    []statistics.Grade  `json:"grades,omitempty"` // of connectors: the population sets that were agreed
	StandsOut statement.Statement `json:"stands_out,omitzero"`
}

func resultGroups(groups []statistics.Group, words *wording.Wording) []ResultGroup {
	out := make([]ResultGroup, len(groups))
	for i, g := range groups {
		four := func(v float64) quantity.Decimal { return Statistic(v).Round(4) }
		shown := func(v *float64) *quantity.Decimal {
			if v == nil {
				return nil
			}
			d := four(*v)
			return &d
		}
		out[i] = ResultGroup{By: g.By, Name: g.Name, WavelengthNM: g.WavelengthNM, Losses: g.N, Links: g.Links, Mean: four(g.Mean), Deviation: shown(g.SD), Median: four(g.Median),
			Percentile95: shown(g.P95), Percentile97: shown(g.P97), Worst: four(g.Worst), FirstTime: four(g.FirstTime), Marginal: four(g.Marginal), Grades: g.Grades, StandsOut: words.Told(g.StandsOut)}
	}
	return out
}
