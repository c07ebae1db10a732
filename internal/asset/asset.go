// Package asset writes the results of a judged job for systems that keep what an owner
// has: registers of assets, maps, and models of buildings.
//
// # The table
//
// CSV as results.csv is (UTF-8, comma, decimal point, LF line ends, texts that a
// spreadsheet would run as a formula begin with an apostrophe): one line a link, the
// first column its id in the owner's register, under which the line is to be filed. A
// link without an id is left out and said; two links with one id are refused.
//
// # GeoJSON
//
// RFC 7946: one FeatureCollection, a Feature with a Point for each link with coordinates,
// longitude before latitude, in degrees of WGS 84 as the schedule has them. The id of a
// feature is the job's number, "/" and the link; its properties are the columns of the
// table that the link fills.
//
// # COBie
//
// The sheets Document and Attribute of a workbook, about rows of the sheet Component that
// are called by the ids of the owner's register.
//
// Numbers of readings are the digits that were judged, in JSON numbers too. What an
// instrument showed instead of a number, such as <0.05, is a text.
package asset

import "spanseal/internal/diag"

// Formats are what an export can be, by the names that [Export.Make] takes.
var Formats = []string{"assets", "geojson", "cobie"}

// Make writes one of Formats, or nothing if there are errors among the problems; the
// other problems say what is left out.
func (e *Export) Make(format string) (data []byte, problems *diag.List, err error) {
	var write func() ([]byte, error)
	switch format {
	case "assets":
		problems, write = e.keyed(), e.table
	case "geojson":
		problems, write = e.placed(), e.geoJSON
	default:
		problems = e.keyed()
		r, more := e.current()
		problems.Join(more)
		write = func() ([]byte, error) { return e.cobie(r) }
	}
	if problems.Errors() == 0 {
		data, err = write()
	}
	return data, problems, err
}
