package cli

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/archive"
	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/terminal"
)

// shownHits is how many links the text form prints unless told otherwise: a
// screen or two. The forms for programs print all.
const shownHits = 60

func (a *app) find() *cobra.Command {
	var how format
	var o archive.Options
	var limit int
	var keys strings.Builder
	for _, k := range archive.Keys {
		fmt.Fprintf(&keys, "  %-11s %s\n", k.Name, k.Of)
	}
	c := &cobra.Command{
		Use:   "find ARCHIVE [TERM ...]",
		Short: "find certificates in a tree of jobs, or what rests on an instrument",
		Long: `Looks through every issued revision below the folder ARCHIVE and prints the
links that fit all terms, the newest issue first. A term is a word, which fits a
part of any text, or key:value:

` + keys.String() + `
A further column of a schedule is a key by its heading: "rack unit:12". Capitals make no difference, * stands for any run of characters, and a date is a
day, a month, a year, or two of them with .. between. Terms about how a link was
measured must fit one and the same reading: serial:22803 with two days between
finds every certificate that rests on that instrument between them.

What was read is kept in a file .spanseal-index in ARCHIVE, which may be deleted.
Manifests are held against their signatures and results; exit code 5 when one
does not fit, or a paper that is printed is gone. Whether a paper is genuine says ` + "`spanseal verify`" + `.`,
		Example: `  spanseal find /srv/jobs A-12
  spanseal find /srv/jobs link:A-12 site:library revision:current
  spanseal find /srv/jobs serial:22803 measured:2026-11-16..2026-11-18 --format csv > recall.csv`,
		Args:              takes(1, -1, "the folder of the archive, and terms"),
		ValidArgsFunction: completeTerm,
		RunE: func(c *cobra.Command, args []string) error {
			q, err := archive.ParseQuery(args[1:])
			if err != nil {
				return misuse("see `spanseal find --help`", "%v", err)
			}
			if limit < 0 {
				return misuse("0 prints all", "--limit: %d is less than none", limit)
			}
			const where = "name the folder below which the jobs lie"
			line := a.progress("revisions read")
			o.Progress = line.Report
			arch, err := archive.Open(c.Context(), args[0], o)
			line.Clear()
			switch {
			case errors.Is(err, fs.ErrNotExist):
				return refuse(where, "there is no folder %s", diag.Safe(args[0]))
			case err != nil && !isFolder(args[0]):
				return refuse(where, "%s is a file", diag.Safe(args[0]))
			case err != nil:
				return &failure{ExitTool, fmt.Sprintf("%s cannot be searched: %s", diag.Safe(args[0]), diag.Safe(err.Error())),
					"allow reading all that lies below it, or search a copy"}
			}
			if err := arch.Unknown(q); err != nil {
				return misuse("see `spanseal find --help`", "%v", err)
			}
			if len(arch.Revisions) == 0 && len(arch.Doubts()) == 0 {
				a.note("nothing was issued below %s; %s", diag.Safe(args[0]), where)
			}
			if arch.Kept != nil {
				fmt.Fprintf(a.err, "note: the index could not be kept, so the next search reads all again: %v\n", arch.Kept)
			}
			for _, d := range arch.Doubts() {
				fmt.Fprintf(a.err, "%s: %s %s\n", diag.Safe(path.Join(filepath.ToSlash(arch.Dir), d.Path)), a.onErr.Bad("error:"), diag.Safe(d.Text))
				a.status = ExitWrong
			}
			hits := arch.Find(q)
			if !c.Flags().Changed("limit") && how == "text" {
				limit = shownHits
			}
			more := 0
			if limit > 0 && len(hits) > limit {
				hits, more = hits[:limit], len(hits)-limit
			}
			switch how {
			case "csv":
				return a.findCSV(arch, hits)
			case "json":
				return a.findJSON(arch, hits)
			}
			a.findText(arch, hits, more)
			if len(hits) == 0 && len(arch.Revisions) > 0 {
				return a.nothingFits(arch, args[1:])
			}
			return nil
		},
	}
	how.flag(c, "text", "csv", "json")
	c.Flags().IntVar(&limit, "limit", 0, fmt.Sprintf("print at most so many links; 0 prints all (default: %d as text, else all)", shownHits))
	c.Flags().StringVar(&o.Index, "index", "", "the file of the index (default: .spanseal-index in ARCHIVE)")
	c.Flags().BoolVar(&o.NoIndex, "no-index", false, "read everything and keep nothing")
	return c
}

// completeTerm offers a folder, then the keys of terms.
func completeTerm(c *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return completeFolder(c, args, typed)
	}
	var keys []string
	for _, k := range archive.Keys {
		keys = append(keys, k.Name+":\t"+k.Of)
	}
	return keys, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// findText prints the hits below the revision that they are in.
func (a *app) findText(arch *archive.Archive, hits []archive.Hit, more int) {
	s := a.onOut
	wide := 0
	for _, h := range hits {
		wide = max(wide, diag.DisplayWidth(h.Name))
	}
	var last *archive.Revision
	revisions := 0
	for _, h := range hits {
		if r := h.Revision; r != last {
			if last != nil {
				fmt.Fprintln(a.out)
			}
			last = r
			revisions++
			fmt.Fprintf(a.out, "%s r%d, issued %s", s.Strong(diag.Safe(r.Job)), r.Number, day(r.Issued))
			if r.Superseded > 0 {
				by := fmt.Sprintf("SUPERSEDED BY r%d", r.Superseded)
				if r.OtherKey {
					by += ", WHICH ANOTHER KEY SIGNED"
				}
				fmt.Fprintf(a.out, ", %s", s.Asked(by))
			}
			if r.Specimen {
				fmt.Fprintf(a.out, ", %s", s.Asked("SPECIMEN"))
			}
			if r.Reason != "" {
				fmt.Fprintf(a.out, ", because %s", diag.Safe(r.Reason))
			}
			if len(r.Doubts) > 0 {
				fmt.Fprintf(a.out, ", %s", s.Bad("NOT AS IT WAS SIGNED"))
			}
			if about := nonEmpty(r.Site, r.Title, r.Customer); about != nil {
				fmt.Fprintf(a.out, "  %s", diag.Safe(strings.Join(about, ", ")))
			}
			fmt.Fprintln(a.out)
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
		if a.missing(arch, h) {
			missing = "  " + s.Bad("MISSING")
		}
		fmt.Fprintf(a.out, "  %s  %-10s  %s  %s%s\n", terminal.Pad(h.Name, wide), h.Verdict, when, diag.Safe(a.pathOf(arch, h)), missing)
	}
	if len(hits) > 0 {
		fmt.Fprintln(a.out)
	}
	if more > 0 {
		fmt.Fprintf(a.out, "and %d more; --limit 0 prints all\n", more)
	}
	fmt.Fprintf(a.out, "%s found, %s searched\n", diag.Plural(len(hits)+more, "link"), diag.Plural(len(arch.Revisions), "revision"))
}

// nothingFits says of several terms how many links fit each, so that the one that is
// wrong shows.
func (a *app) nothingFits(arch *archive.Archive, terms []string) error {
	if len(terms) < 2 {
		return nil
	}
	for _, term := range terms {
		q, err := archive.ParseQuery([]string{term})
		if err != nil {
			return err
		}
		fits := "nothing fits"
		switch n := len(arch.Find(q)); n {
		case 0:
		case 1:
			fits = "1 link fits"
		default:
			fits = fmt.Sprintf("%d links fit", n)
		}
		fmt.Fprintf(a.out, "  %s %s alone\n", fits, diag.Safe(term))
	}
	return nil
}

// pathOf is where the paper of a hit lies, as a person would type it.
func (a *app) pathOf(arch *archive.Archive, h archive.Hit) string {
	return filepath.Join(arch.Dir, filepath.FromSlash(h.Revision.Path), filepath.FromSlash(h.File))
}

// missing reports whether the paper of a hit is not where the manifest lists it
// any more, which is a fault: an index may be older than a deletion.
func (a *app) missing(arch *archive.Archive, h archive.Hit) bool {
	_, err := os.Lstat(a.pathOf(arch, h))
	if err != nil {
		a.status = ExitWrong
	}
	return err != nil
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

func (a *app) findCSV(arch *archive.Archive, hits []archive.Hit) error {
	w := csv.NewWriter(a.out)
	w.Write([]string{"certificate", "job", "revision", "superseded_by", "issued", "link", "verdict", "measured_first", "measured_last",
		"serials", "technicians", "title", "site", "customer", "order", "signer", "path", "doubts", "missing"})
	for _, h := range hits {
		r, uses := h.Revision, h.Uses()
		first, last := measured(uses)
		superseded, missing := "", ""
		if a.missing(arch, h) {
			missing = "yes"
		}
		if r.Superseded > 0 {
			superseded = strconv.Itoa(r.Superseded)
		}
		row := []string{h.Number, r.Job, strconv.Itoa(r.Number), superseded, r.Issued, h.Name, h.Verdict, first.String(), last.String(),
			strings.Join(serials(uses), "; "), strings.Join(technicians(uses), "; "), r.Title, r.Site, r.Customer, r.Order, r.Signer,
			path.Join(r.Path, h.File), strings.Join(r.Doubts, "; "), missing}
		for i, text := range row {
			row[i] = inert(text)
		}
		w.Write(row)
	}
	w.Flush()
	return w.Error()
}

// inert keeps a spreadsheet from running a text as a formula.
func inert(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
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

func (a *app) findJSON(arch *archive.Archive, hits []archive.Hit) error {
	links := make([]foundLink, len(hits))
	for i, h := range hits {
		r := h.Revision
		links[i] = foundLink{Certificate: h.Number, Job: r.Job, Revision: r.Number, SupersededBy: r.Superseded, OtherKey: r.OtherKey, Issued: r.Issued, Reason: r.Reason, Link: h.Name,
			Verdict: h.Verdict, Names: h.Names, Title: r.Title, Site: r.Site, Customer: r.Customer, Order: r.Order, Signer: r.Signer, Key: r.SignerKey,
			Path: path.Join(r.Path, h.File), Doubts: r.Doubts, Missing: a.missing(arch, h)}
		for _, u := range h.Uses() {
			links[i].Measured = append(links[i].Measured, foundUse{u.Day, firstNonEmpty(u.Instrument.Serial, u.Instrument.ID),
				firstNonEmpty(u.Source.Serial, u.Source.ID), firstNonEmpty(u.Person.Name, u.Person.ID)})
		}
	}
	e := json.NewEncoder(a.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(struct {
		Format   string          `json:"format"`
		Searched int             `json:"searched"` // revisions
		Doubts   []archive.Doubt `json:"doubts,omitempty"`
		Links    []foundLink     `json:"links"`
	}{"spanseal-find/1", len(arch.Revisions), arch.Doubts(), links})
}
