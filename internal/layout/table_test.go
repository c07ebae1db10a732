package layout

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"spanseal/internal/page"
)

// paperOf sets a document of a main column alone.
func paperOf(t *testing.T, draw func(*Flow)) *page.Recorder {
	t.Helper()
	style := &Style{Grid: 4.7, RailWidth: 42, Gutter: 8, Top: 14.7, Right: 14.4, Bottom: 13,
		Title: page.Style{Face: page.Medium, Size: 20}, Heading: page.Style{Face: page.Medium, Size: 9.6}, Body: page.Style{Face: page.Regular, Size: 8.6},
		Strong: page.Style{Face: page.Medium, Size: 8.6}, Caption: page.Style{Face: page.Regular, Size: 7}, Small: page.Style{Face: page.Regular, Size: 6.4}}
	press := &Compositor{Style: style, Mark: ".", Whole: strconv.Itoa}
	r := page.NewRecorder(page.A4)
	if _, err := press.Lay(r, false, func(f *Flow) {
		f.DrawRail, f.DrawHead = func(*Flow) {}, func(*Flow) {}
		f.Start()
		draw(f)
	}); err != nil {
		t.Fatal(err)
	}
	return r
}

// rowsOf are rows of texts in the style of the body.
func rowsOf(f *Flow, texts ...[]string) (rows [][]Cell) {
	for _, one := range texts {
		rows = append(rows, Cells(f.Body, one...))
	}
	return rows
}

// TestWidthsByContent: of two long columns neither is squeezed for the other, and a
// name is broken behind its own marks before a sentence is torn to shreds.
func TestWidthsByContent(t *testing.T) {
	names := []string{"BELLWEATHER/RR-C1/FRAME-01/PORT-01-NORTH-STACK", "B/1"}
	places := "Panel R1 port 3 (ground floor comms room behind the issue desk, rack 7) – panel C1 port 3 (conservation laboratory mezzanine, east wall cabinet)"
	for _, name := range names {
		r := paperOf(t, func(f *Flow) {
			f.Table([]Column{{Name: "link", Wrap: true}, {Name: "from – to", Wrap: true}, {Name: "fibre"}, {Name: "measured", Right: true}, {Name: "verdict"}},
				rowsOf(f, []string{name, places, "OS2", "1.32", "incomplete"}))
		})
		if lines := len(r.Lines(1)) - 1; lines > 4 {
			t.Errorf("%s: a row of %d lines:\n%s", name, lines, strings.Join(r.Lines(1), "\n"))
		}
	}
}

// TestSmallerBeforeTwoLines: a table that is a little too wide is set a little smaller,
// and one that is much too wide in rows of several lines at its size.
func TestSmallerBeforeTwoLines(t *testing.T) {
	for _, c := range []struct {
		letters, lines int
		smaller        bool
	}{{96, 1, false}, {105, 1, true}, {125, 2, false}} {
		size := 0.0
		r := paperOf(t, func(f *Flow) {
			size = f.Body.Size
			text := ""
			for f.Width(f.Body, text) < (f.W-leastGap-f.Width(f.Body, "1.32"))*float64(c.letters-1)/100 {
				text += "it "
			}
			f.Table([]Column{{Name: "a", Wrap: true}, {Name: "b", Right: true}}, rowsOf(f, []string{text, "1.32"}))
		})
		lines := 0
		for _, m := range r.Marks {
			if m.Kind == page.TextMark && strings.HasPrefix(m.Text, "it") {
				if lines++; (m.Style.Size < size) != c.smaller || m.Style.Size < 0.9*size {
					t.Errorf("%d %% of the room: set in %.2f of %.2f", c.letters, m.Style.Size, size)
				}
			}
		}
		if lines != c.lines {
			t.Errorf("%d %% of the room: %d lines, want %d", c.letters, lines, c.lines)
		}
	}
}

// TestNoLoneLine: wherever a paragraph begins, no page has one line of it alone, and the
// name of its section stands above it.
func TestNoLoneLine(t *testing.T) {
	text := strings.Repeat("Treat every fibre as live until it is shown to be dark. ", 40)
	for n := range 300 {
		r := paperOf(t, func(f *Flow) {
			f.Lines(float64(n) / 5)
			f.Section("Applications", 0)
			f.Paragraph(f.Body, 0.7, text)
			f.Paragraph(f.Body, 0.7, "One line.")
		})
		lines, named := map[int]int{}, 0
		for _, m := range r.Marks {
			if m.Text == "Applications" {
				named = m.Page
				continue
			}
			if m.Kind == page.TextMark && named > 0 && lines[named] == 0 && m.Page != named {
				t.Errorf("behind %d lines: the name of the section stands alone", n)
			}
			if m.Kind == page.TextMark && m.Text != "One line." {
				lines[m.Page]++
			}
		}
		for p, k := range lines {
			if k == 1 {
				t.Errorf("behind %d lines: page %d has one line of the paragraph", n, p)
			}
		}
	}
}

// TestNoLoneRow: whatever the length of a table, no page has one row of it alone,
// above or below its names, and a row that names others stands on their page.
func TestNoLoneRow(t *testing.T) {
	for n := 4; n < 130; n++ {
		r := paperOf(t, func(f *Flow) {
			f.Lines(float64(n % 50))
			var texts [][]string
			for i := range n {
				if i%7 == 3 {
					texts = append(texts, []string{fmt.Sprintf("group %d", i), "", ""})
				}
				texts = append(texts, []string{fmt.Sprintf("row %d", i), "1.0", "2.00"})
			}
			tab := f.NewTable([]Column{{}, {Name: "a", Right: true}, {Name: "b", Right: true}}, rowsOf(f, texts...), f.Grid)
			f.Section("Numbers", f.Opening(tab))
			f.Tabulate(tab, nil)
		})
		for p := 1; p <= r.PageNumber(); p++ {
			lines := r.Lines(p)
			rows := len(slices.DeleteFunc(slices.Clone(lines), func(l string) bool { return !strings.HasPrefix(l, "row ") }))
			switch {
			case rows == 1:
				t.Errorf("%d rows: page %d has one of them", n, p)
			case len(lines) > 0 && strings.HasPrefix(lines[len(lines)-1], "group "):
				t.Errorf("%d rows: page %d ends with the name of a group", n, p)
			case slices.Contains(lines, "Numbers") && rows == 0:
				t.Errorf("%d rows: the name of the section stands alone on page %d", n, p)
			}
		}
	}
}

// TestGroupGoesOn: a group that goes on over the page says again which it is.
func TestGroupGoesOn(t *testing.T) {
	r := paperOf(t, func(f *Flow) {
		var texts [][]string
		for i := range 100 {
			name := ""
			if i%40 == 0 {
				name = fmt.Sprintf("room C%d", i/40)
			}
			texts = append(texts, []string{name, strconv.Itoa(1310 + i), "0.40"})
		}
		rows := rowsOf(f, texts...)
		for i := range rows {
			rows[i][0].Above = rows[i][0].Text == ""
		}
		f.Table([]Column{{}, {Name: "nm", Right: true}, {Name: "mean", Right: true}}, rows)
	})
	if r.PageNumber() < 2 {
		t.Fatal("the table is too short")
	}
	for p := 2; p <= r.PageNumber(); p++ {
		if line := r.Lines(p)[1]; !strings.HasPrefix(line, "room C") {
			t.Errorf("page %d begins with %q", p, line)
		}
	}
}

// TestDash: a cell with nothing to say has a dash, but not one that has the text of
// the row above, nor one that a text runs on over.
func TestDash(t *testing.T) {
	r := paperOf(t, func(f *Flow) {
		rows := rowsOf(f,
			[]string{"1310", "loss", "0.40", ""},
			[]string{"", "loss", "0.50", "2.20"},
			[]string{"1550", "a question that runs on over both of the columns with numbers, for it has none of its own", "", ""})
		rows[1][0].Above = true
		f.Table([]Column{{Name: "nm"}, {Name: "what", Wrap: true, Runs: true}, {Name: "measured", Right: true}, {Name: "allowed", Right: true}}, rows)
	})
	want := []string{"nm  what  measured  allowed", "1310  loss  0.40  –", "  loss  0.50  2.20"}
	if got := r.Lines(1)[:3]; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got := len(r.Lines(1)); got != 4 {
		t.Errorf("%d lines, want 4: the question has room:\n%s", got, strings.Join(r.Lines(1), "\n"))
	}
}

// TestLineEnds: what no line begins or ends with.
func TestLineEnds(t *testing.T) {
	body := page.Style{Face: page.Regular, Size: 8.6}
	for name, one := range map[string]struct {
		width float64
		text  string
		want  []string
	}{
		"separator stays behind":        {30, "PO-2026-07781 · 2026-4118", []string{"PO-2026-07781\u00A0·", "2026-4118"}},
		"operator stays behind":         {24, "0.4 dB/km × 0.312 km", []string{"0.4 dB/km\u00A0×", "0.312 km"}},
		"number is whole":               {20, "17\u00A0929 de 20\u00A0000 enlaces", []string{"17\u00A0929 de", "20\u00A0000", "enlaces"}},
		"word breaks with a hyphen":     {18, "Ravensbergerdorff", []string{"Ravensberg\u00AD\u200B", "erdorff"}},
		"name breaks behind its hyphen": {24, "Ravensberger-Okafor", []string{"Ravensberger-\u200B", "Okafor"}},
		"no hyphen begins a line":       {18.2, "Ravensberge-Okafor", []string{"Ravensberg\u00AD\u200B", "e-Okafor"}},
		"no short word alone":           {40, "Limpie e inspeccione las conexiones y vuelva a medir.", nil},
	} {
		f := &Flow{Sheet: page.NewRecorder(page.A4), Press: &Compositor{}}
		got := f.Wrap(body, one.width, one.text)
		if one.want != nil && !slices.Equal(got, one.want) {
			t.Errorf("%s: %q, want %q", name, got, one.want)
		}
		for i, line := range got {
			if w := f.Width(body, line); w > one.width+0.01 {
				t.Errorf("%s: %q is %.1f mm wide", name, line, w)
			}
			if i > 0 && strings.ContainsAny(line[:1], "-/") || strings.HasPrefix(line, "·") {
				t.Errorf("%s: a line begins %q", name, line)
			}
		}
		if last := got[len(got)-1]; len(got) > 1 && one.want == nil && !strings.Contains(last, " ") {
			t.Errorf("%s: %q stands alone", name, last)
		}
	}
}
