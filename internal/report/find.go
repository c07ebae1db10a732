package report

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/archive"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/record"
	"spanseal/internal/terminal"
)

// Found is what a search found.
type Found struct {
	arch    *archive.Archive
	hits    []archive.Hit
	more    int    // hits that are not shown
	missing []bool // whose paper is not where the manifest lists it any more
}

// NewFound looks for the paper of each hit: an index may be older than a deletion.
// So many hits more than these were found.
func NewFound(arch *archive.Archive, hits []archive.Hit, more int) *Found {
	f := &Found{arch: arch, hits: hits, more: more, missing: make([]bool, len(hits))}
	for i, h := range hits {
		_, err := os.Lstat(pathOf(arch, h))
		f.missing[i] = err != nil
	}
	return f
}

// Missing reports whether a paper is gone, which is a fault.
func (f *Found) Missing() bool { return slices.Contains(f.missing, true) }

// Found prints the hits below the revision that they are in.
func (pr *Printer) Found(f *Found) {
	s := pr.style
	wide := 0
	for _, h := range f.hits {
		wide = max(wide, diag.DisplayWidth(h.Name))
	}
	var last *archive.Revision
	revisions := 0
	for i, h := range f.hits {
		if r := h.Revision; r != last {
			if last != nil {
				fmt.Fprintln(pr.w)
			}
			last = r
			revisions++
			fmt.Fprintf(pr.w, "%s r%d, issued %s", s.Strong(diag.Safe(r.Job)), r.Number, day(r.Issued))
			if r.Superseded > 0 {
				by := fmt.Sprintf("SUPERSEDED BY r%d", r.Superseded)
				if r.OtherKey {
					by += ", WHICH ANOTHER KEY SIGNED"
				}
				fmt.Fprintf(pr.w, ", %s", s.Asked(by))
			}
			if r.Specimen {
				fmt.Fprintf(pr.w, ", %s", s.Asked("SPECIMEN"))
			}
			if r.Reason != "" {
				fmt.Fprintf(pr.w, ", because %s", diag.Safe(r.Reason))
			}
			if len(r.Doubts) > 0 {
				fmt.Fprintf(pr.w, ", %s", s.Bad("NOT AS IT WAS SIGNED"))
			}
			if about := nonEmpty(r.Site, r.Title, r.Customer); about != nil {
				fmt.Fprintf(pr.w, "  %s", diag.Safe(strings.Join(about, ", ")))
			}
			fmt.Fprintln(pr.w)
		}
		first, until := measured(h.Uses())
		when := "never measured"
		if !first.IsZero() {
			when = "measured " + first.String()
		}
		if until.After(first) {
			when += " to " + until.String()
		}
		missing := ""
		if f.missing[i] {
			missing = "  " + s.Bad("MISSING")
		}
		fmt.Fprintf(pr.w, "  %s  %-10s  %s  %s%s\n", terminal.Pad(h.Name, wide), h.Verdict, when, diag.Safe(pathOf(f.arch, h)), missing)
	}
	if len(f.hits) > 0 {
		fmt.Fprintln(pr.w)
	}
	if f.more > 0 {
		fmt.Fprintf(pr.w, "and %d more; --limit 0 prints all\n", f.more)
	}
	fmt.Fprintf(pr.w, "%s found, %s searched\n", diag.Plural(len(f.hits)+f.more, "link"), diag.Plural(len(f.arch.Revisions), "revision"))
}

// pathOf is where the paper of a hit lies, as a person would type it.
func pathOf(arch *archive.Archive, h archive.Hit) string {
	return filepath.Join(arch.Dir, filepath.FromSlash(h.Revision.Path), filepath.FromSlash(h.File))
}

// day is the day of a time in RFC 3339, in its own zone.
func day(at string) string {
	d, _, _ := strings.Cut(at, "T")
	return d
}

// measured returns the first and last day of uses.
func measured(uses []archive.Use) (first, last record.Date) {
	for _, u := range uses {
		if u.Day.IsZero() {
			continue
		}
		if first.IsZero() || u.Day.Before(first) {
			first = u.Day
		}
		if u.Day.After(last) {
			last = u.Day
		}
	}
	return first, last
}

// serials and technicians of uses, each once.
func serials(uses []archive.Use) []string {
	var list []string
	for _, u := range uses {
		for _, i := range []record.Instrument{u.Source, u.Instrument} {
			list = once(list, firstNonEmpty(i.Serial, i.ID))
		}
	}
	return list
}

func technicians(uses []archive.Use) []string {
	var list []string
	for _, u := range uses {
		list = once(list, firstNonEmpty(u.Person.Name, u.Person.ID))
	}
	return list
}

func firstNonEmpty(texts ...string) string {
	return append(nonEmpty(texts...), "")[0]
}

// once appends a text that is neither empty nor in the list.
func once(list []string, text string) []string {
	for _, t := range append(list, "") {
		if t == text {
			return list
		}
	}
	return append(list, text)
}

// FoundCSV prints the hits for a spreadsheet.
func (pr *Printer) FoundCSV(f *Found) error {
	w := csv.NewWriter(pr.w)
	w.Write([]string{"certificate", "job", "revision", "superseded_by", "issued", "link", "verdict", "measured_first", "measured_last",
		"serials", "technicians", "title", "site", "customer", "order", "signer", "path", "doubts", "missing"})
	for i, h := range f.hits {
		r, uses := h.Revision, h.Uses()
		first, last := measured(uses)
		superseded, missing := "", ""
		if f.missing[i] {
			missing = "yes"
		}
		if r.Superseded > 0 {
			superseded = strconv.Itoa(r.Superseded)
		}
		row := []string{h.Number, r.Job, strconv.Itoa(r.Number), superseded, r.Issued, h.Name, h.Verdict, first.String(), last.String(),
			strings.Join(serials(uses), "; "), strings.Join(technicians(uses), "; "), r.Title, r.Site, r.Customer, r.Order, r.Signer,
			path.Join(r.Path, h.File), strings.Join(r.Doubts, "; "), missing}
		for c, text := range row {
			row[c] = form.Plain(text)
		}
		w.Write(row)
	}
	w.Flush()
	return w.Error()
}

// foundLink is a hit for programs.
type foundLink struct {
	Certificate  string `json:"certificate,omitempty"`
	Job          string `json:"job"`
	Revision     int    `json:"revision"`
	SupersededBy int    `json:"superseded_by,omitempty"`
	OtherKey     bool   `json:"superseded_by_another_key,omitempty"`
	Issued       string `json:"issued"`
	Reason       string `json:"reason,omitempty"` // why the revision was issued
	Link         string `json:"link"`
	Verdict      string `json:"verdict,omitempty"`
	// Names are those that receivers use, as in the schedule, and its own columns.
	Names    record.Further `json:"names,omitempty"`
	Measured []foundUse     `json:"measured_with,omitempty"`
	Title    string         `json:"title,omitempty"`
	Site     string         `json:"site,omitempty"`
	Customer string         `json:"customer,omitempty"`
	Order    string         `json:"order,omitempty"`
	Signer   string         `json:"signer,omitempty"`
	Key      string         `json:"key,omitempty"`
	Path     string         `json:"path"` // relative to the archive
	Doubts   []string       `json:"doubts,omitempty"`
	Missing  bool           `json:"missing,omitempty"` // the paper is not at Path any more
}

type foundUse struct {
	Day        record.Date `json:"day,omitzero"`
	Meter      string      `json:"meter_serial,omitempty"`
	Source     string      `json:"source_serial,omitempty"`
	Technician string      `json:"technician,omitempty"`
}

// FoundJSON prints the hits for programs.
func (pr *Printer) FoundJSON(f *Found) error {
	links := make([]foundLink, len(f.hits))
	for i, h := range f.hits {
		r := h.Revision
		links[i] = foundLink{Certificate: h.Number, Job: r.Job, Revision: r.Number, SupersededBy: r.Superseded, OtherKey: r.OtherKey, Issued: r.Issued, Reason: r.Reason, Link: h.Name,
			Verdict: h.Verdict, Names: h.Names, Title: r.Title, Site: r.Site, Customer: r.Customer, Order: r.Order, Signer: r.Signer, Key: r.SignerKey,
			Path: path.Join(r.Path, h.File), Doubts: r.Doubts, Missing: f.missing[i]}
		for _, u := range h.Uses() {
			links[i].Measured = append(links[i].Measured, foundUse{u.Day, firstNonEmpty(u.Instrument.Serial, u.Instrument.ID),
				firstNonEmpty(u.Source.Serial, u.Source.ID), firstNonEmpty(u.Person.Name, u.Person.ID)})
		}
	}
	e := json.NewEncoder(pr.w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(struct {
		Format   string          `json:"format"`
		Searched int             `json:"searched"` // revisions
		Doubts   []archive.Doubt `json:"doubts,omitempty"`
		Links    []foundLink     `json:"links"`
	}{"spanseal-find/1", len(f.arch.Revisions), f.arch.Doubts(), links})
}
