package summary

import (
	"cmp"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// mostPorts bounds the numbers taken for ports: a larger one is a name.
const mostPorts = 2000

// mostPanels is how many panels are drawn whole; of more, only those with an
// open port.
const mostPanels = 60

// mostOpen is how many panels of a large job are drawn because of an open port; of
// more, the ports are named. fewestPorts is how many ports make a map.
const (
	mostOpen    = 20
	fewestPorts = 4
)

// panel is a row of ports, as far as the names of places tell.
type panel struct {
	name  string
	ports map[int]judge.Verdict // the worst of the links at each port
	bare  map[int]bool          // scheduled, and never measured
}

// open reports whether a port of the panel is not a plain pass.
func (p *panel) open() bool {
	for _, v := range p.ports {
		if v != judge.Pass {
			return true
		}
	}
	return false
}

func (o *overview) panels() []*panel {
	words := strings.Split(o.words.Say("map.port_words"), ",")
	for i := range words {
		words[i] = regexp.QuoteMeta(strings.TrimSpace(words[i]))
	}
	// "panel R1 port 12", "cabinet K2, port 3 (comms room)"
	place := regexp.MustCompile(`(?i)^(.*?)[\s,;:/·-]*\b(?:` + strings.Join(words, "|") + `)\s*\.?\s*(\d{1,4})\b`)
	var out []*panel
	at := map[string]*panel{}
	for i := range o.Judgement.Links {
		l := &o.Judgement.Links[i]
		for _, where := range []string{l.Link.From, l.Link.To} {
			m := place.FindStringSubmatch(where)
			if m == nil || m[1] == "" {
				continue
			}
			n, err := strconv.Atoi(m[2])
			if err != nil || n < 1 || n > mostPorts {
				continue
			}
			p := at[m[1]]
			if p == nil {
				p = &panel{name: m[1], ports: map[int]judge.Verdict{}, bare: map[int]bool{}}
				at[m[1]], out = p, append(out, p)
			}
			p.ports[n] = max(p.ports[n], l.Verdict)
			p.bare[n] = p.bare[n] || !l.Measured
		}
	}
	slices.SortStableFunc(out, func(a, b *panel) int { return cmp.Compare(kindRank(a.name), kindRank(b.name)) })
	return out
}

// kindRank keeps things of one kind together in order of first appearance;
// panels before what else there is.
func kindRank(name string) int {
	if strings.HasPrefix(strings.ToLower(name), "panel") {
		return 0
	}
	return 1
}

// places draws every port as a cell with the verdict as letter and pattern.
func (o *overview) places(f *layout.Flow) {
	panels := o.panels()
	ports := 0
	for _, p := range panels {
		ports += len(p.ports)
	}
	if ports < fewestPorts {
		return
	}
	w := o.words
	const label, perRow, gap = 24.0, 24, 0.9
	pitch := (f.W - label) / perRow
	side := pitch - gap
	f.Section(w.Say("map.title"), 4)
	if all := len(panels); all > mostPanels {
		panels = slices.DeleteFunc(panels, func(p *panel) bool { return !p.open() })
		if len(panels) == 0 {
			f.Paragraph(f.Body, 1, w.Say("map.all_pass", "all", w.Whole(all)))
			return
		}
		if len(panels) > mostOpen {
			f.Paragraph(f.Style.Small, 0.75, w.Say("map.too_many", "n", w.Whole(len(panels)), "all", w.Whole(all)))
			f.Paragraph(f.Style.Small, 0.75, w.Say("map.legend"))
			f.Paragraph(f.Caption, 0.75, o.openPlaces(panels))
			return
		}
		if len(panels) < all {
			f.Paragraph(f.Style.Small, 0.75, w.Count("map.only_open", len(panels), "all", w.Whole(all)))
		}
	}
	f.Paragraph(f.Style.Small, 0.75, w.Say("map.legend"))
	f.Lines(0.25)
	for _, p := range panels {
		last := 0
		for n := range p.ports {
			last = max(last, n)
		}
		f.Begin(page.Element{Role: page.Figure, Alt: strings.Join(w.States(p.said()), " ")})
		for from := 1; from <= last; from += perRow {
			if from == 1 {
				o.panelName(f, p.name, label-2, side)
			}
			f.Need(2 * f.Grid)
			for n := from; n < from+perRow && n <= last; n++ {
				x := f.X + label + float64(n-from)*pitch
				v, used := p.ports[n]
				o.port(f, x, f.Y, side, v, used, p.bare[n])
				text := w.Whole(n)
				style := f.Shrink(f.Style.Small, 4, side, text)
				f.Put(x+(side-f.Width(style, text))/2, f.Y+side+2.6, style, text)
			}
			f.Lines(2)
		}
		f.Finish()
	}
}

// openPlaces names the ports that are not a plain pass, by place.
func (o *overview) openPlaces(panels []*panel) string {
	w := o.words
	texts := make([]string, len(panels))
	for i, p := range panels {
		var ports []string
		for _, n := range slices.Sorted(maps.Keys(p.ports)) {
			letter := w.Say("map." + p.ports[n].String())
			if p.ports[n] == judge.Incomplete && p.bare[n] {
				letter = "–"
			}
			if p.ports[n] != judge.Pass {
				ports = append(ports, w.Whole(n)+"\u00A0"+letter)
			}
		}
		texts[i] = w.Say("map.place", "place", wording.Unbroken(p.name), "ports", strings.Join(ports, ", "))
	}
	return strings.Join(texts, " · ")
}

// said is how many ports of the panel pass, and which do not.
func (p *panel) said() []statement.Statement {
	pass := 0
	at := map[string][]string{}
	for _, n := range slices.Sorted(maps.Keys(p.ports)) {
		switch v := p.ports[n]; {
		case v == judge.Pass:
			pass++
		case v == judge.Incomplete && p.bare[n]:
			at[""] = append(at[""], strconv.Itoa(n))
		default:
			at[v.String()] = append(at[v.String()], strconv.Itoa(n))
		}
	}
	said := []statement.Statement{statement.New("figure.ports", statement.Name(p.name), statement.Count(len(p.ports)), statement.Count(pass))}
	for _, verdict := range []string{"fail", "incomplete", "marginal"} {
		if ports := at[verdict]; len(ports) > 0 {
			said = append(said, statement.New("figure.ports-at", statement.Count(len(ports)), statement.Names(ports...), statement.Word{Group: "finding", Code: verdict}))
		}
	}
	if ports := at[""]; len(ports) > 0 {
		said = append(said, statement.New("figure.ports-never", statement.Count(len(ports)), statement.Names(ports...)))
	}
	return said
}

// panelName names a panel left of its first ports, on two lines where it takes
// them, or above the ports where two are not enough.
func (o *overview) panelName(f *layout.Flow, name string, width, side float64) {
	style := f.Shrink(f.Body, 7, width, name)
	lines := f.Wrap(style, width, name)
	if len(lines) > 2 {
		f.Need(float64(len(lines))*f.Grid + 2*f.Grid)
		f.Paragraph(f.Body, 0.9, name)
		return
	}
	f.Need(2 * f.Grid)
	for i, line := range lines {
		f.Put(f.X, f.Y+side*0.66+float64(i)*0.62*f.Grid, style, line)
	}
}

// port draws one cell.
func (o *overview) port(f *layout.Flow, x, y, side float64, v judge.Verdict, used, bare bool) {
	letter := page.Style{Face: page.Medium, Size: f.Caption.Size, Ink: f.Ink}
	if !used {
		f.Frame(x+0.1, y+0.1, side-0.2, side-0.2, 0.15, f.Soft)
		return
	}
	text := o.words.Say("map." + v.String())
	switch v {
	case judge.Pass:
		f.Fill(x, y, side, side, f.Deep)
		letter.Ink = layout.White
	case judge.Marginal:
		f.Fill(x, y, side, side, f.Step2)
		for sx := x + 0.7; sx+0.7 <= x+side; sx += 1.4 {
			f.Fill(sx, y+side-0.8, 0.7, 0.8, f.Deep)
		}
	case judge.Incomplete:
		f.Frame(x+0.3, y+0.3, side-0.6, side-0.6, 0.6, f.Ink)
		if bare {
			text = "–"
		}
	case judge.Fail:
		f.Frame(x+0.45, y+0.45, side-0.9, side-0.9, 0.9, f.Rust)
	}
	f.Put(x+(side-f.Width(letter, text))/2, y+side*0.66, letter, text)
}
