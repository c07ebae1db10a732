package judge

import (
	"cmp"
	"crypto/sha256"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// crowd asks what only many links together can show. Questions about the job
// as a whole are returned; those about links join their findings.
func (b *bench) crowd() []Finding {
	b.identical()
	b.lookAlikes()
	b.pairs()
	var out []Finding
	for _, question := range b.sameFiles() {
		if f, ok := b.raise(question); ok {
			out = append(out, f)
		}
	}
	return append(out, b.times()...)
}

// askEach raises one question about several links at once.
func (b *bench) askEach(which []int, question statement.Statement) {
	for _, i := range which {
		if f, ok := b.raise(question); ok {
			b.asked[i] = append(b.asked[i], f)
		}
	}
}

// linksOf names links of the schedule, the first few of them where they are many.
func (b *bench) linksOf(which []int) statement.Value {
	out := make([]string, len(which))
	for i, k := range which {
		out[i] = b.facts.Links[k].ID
	}
	return statement.Few(out)
}

// leastAlike is how many losses a link must have before chance can be ruled
// out as the reason that another link has the very same.
const leastAlike = 4

// digestOf is of the losses of a link, or zero where they are too few.
func digestOf(readings []record.Reading) (digest [16]byte) {
	text := make([]byte, 0, 128)
	n := 0
	for i := range readings {
		if r := &readings[i]; r.Quantity == record.InsertionLoss {
			n++
			text = strconv.AppendInt(text, int64(r.WavelengthNM), 10)
			text = append(append(append(text, r.Direction...), r.Value.Short()...), ';')
		}
	}
	if n >= leastAlike {
		sum := sha256.Sum256(text)
		digest = [16]byte(sum[:16])
	}
	return digest
}

// identical asks about links whose losses are all the same.
func (b *bench) identical() {
	same := map[[16]byte][]int{}
	var order [][16]byte
	for i, k := range b.digests {
		if k == [16]byte{} {
			continue
		}
		if same[k] == nil {
			order = append(order, k)
		}
		same[k] = append(same[k], i)
	}
	least := b.question("identical-results").threshold
	for _, k := range order {
		if which := same[k]; len(which) > 1 && !quantity.Int(len(which)).Less(least) {
			b.askEach(which, statement.New("identical-results", b.linksOf(which)))
		}
	}
}

// lookAlikes asks about names of the schedule that are easily mixed up.
func (b *bench) lookAlikes() {
	asked := map[string]bool{}
	for _, alike := range []func(rune) rune{unicode.ToLower, twin} {
		same := map[string][]int{}
		var order []string
		for i := range b.facts.Links {
			k := blur(b.facts.Links[i].ID, alike)
			if same[k] == nil {
				order = append(order, k)
			}
			same[k] = append(same[k], i)
		}
		for _, k := range order {
			if which := same[k]; len(which) > 1 {
				question := statement.New("near-miss-names", b.linksOf(which))
				if key := question.Key(); !asked[key] {
					asked[key] = true
					b.askEach(which, question)
				}
			}
		}
	}
}

// twin turns a letter that looks like a digit into the digit.
func twin(r rune) rune {
	switch r {
	case 'O', 'o':
		return '0'
	case 'I', 'l':
		return '1'
	}
	return r
}

// blur makes names alike that a tired eye takes for one another: kinds of dash
// and space, leading zeros, and the letters that alike makes the same.
func blur(name string, alike func(rune) rune) string {
	var out strings.Builder
	digits := false
	runes := []rune(name)
	for i, r := range runes {
		if r == '0' && !digits && i+1 < len(runes) && unicode.IsDigit(runes[i+1]) {
			continue
		}
		digits = unicode.IsDigit(r)
		if unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) || r == '_' {
			r = '-'
		}
		out.WriteRune(alike(r))
	}
	return out.String()
}

// pairs asks where the two strands of a pair do not agree.
func (b *bench) pairs() {
	type strand struct{ cable, name string }
	byID, byStrand := map[string]int{}, map[strand]int{}
	paired := false
	links := b.facts.Links
	for i := range links {
		l := &links[i]
		byID[l.ID] = i
		byStrand[strand{l.Cable, l.Strand}] = i
		paired = paired || l.Pair != ""
	}
	if !paired {
		return
	}
	for i := range links {
		l := &links[i]
		if l.Pair == "" {
			continue
		}
		ask := func(what, pair string, args ...statement.Value) {
			b.askEach([]int{i}, statement.New("polarity."+what, append([]statement.Value{statement.Name(l.ID), statement.Name(pair)}, args...)...))
		}
		k, ok := byID[l.Pair]
		if !ok {
			k, ok = byStrand[strand{l.Cable, l.Pair}]
		}
		if !ok || k == i {
			ask("unknown", l.Pair)
			continue
		}
		p := &links[k]
		switch {
		case p.Pair != l.ID && (p.Pair != l.Strand || p.Cable != l.Cable):
			ask("other", p.ID)
		case l.Polarity == "":
			ask("unchecked", p.ID)
		case !strings.EqualFold(l.Polarity, p.Polarity):
			ask("disagree", p.ID, polarity(l.Polarity), polarity(p.Polarity))
		case !strings.EqualFold(l.Polarity, "crossed"):
			ask("straight", p.ID, polarity(l.Polarity))
		}
	}
}

func polarity(text string) statement.Word {
	return statement.Word{Group: "polarity", Code: cmp.Or(strings.ToLower(text), "none")}
}

// sameFiles asks about files of readings that are byte for byte the same.
func (b *bench) sameFiles() []statement.Statement {
	var out []statement.Statement
	first := map[string]string{}
	for _, a := range b.facts.Accounts {
		if other, ok := first[a.SHA256]; ok && a.SHA256 != "" {
			out = append(out, statement.New("duplicate-rows.file", statement.Name(other), statement.Name(a.File)))
		} else {
			first[a.SHA256] = a.File
		}
	}
	return out
}

// visit is one stay of an instrument at a link.
type visit struct {
	at   time.Time
	link int
}

// times asks about instruments that were at two links at once, and about a pace
// of work that nobody keeps up.
func (b *bench) times() []Finding {
	visits := map[string][]visit{}
	for i := range b.facts.Links {
		slips := b.shelf.slipsOf(i)
		for k := range slips {
			if r := b.shelf.reading(&slips[k], ""); !r.Time.IsZero() && !record.DayOnly(r.Time) && r.Instrument != "" {
				visits[r.Instrument] = append(visits[r.Instrument], visit{r.Time, i})
			}
		}
	}
	names := make([]string, 0, len(visits))
	for name := range visits {
		names = append(names, name)
	}
	slices.Sort(names)
	var out []Finding
	for _, name := range names {
		vs := visits[name]
		slices.SortStableFunc(vs, func(x, y visit) int { return x.at.Compare(y.at) })
		if bySecond(vs) {
			b.sameMoment(name, vs)
		}
		if question := b.pace(name, vs); !question.IsZero() {
			if f, ok := b.raise(question); ok {
				out = append(out, f)
			}
		}
	}
	return out
}

// bySecond reports whether an instrument's times hold seconds. Times to the
// minute are often shared by two links.
func bySecond(vs []visit) bool {
	return slices.ContainsFunc(vs, func(v visit) bool { return v.at.Second() != 0 || v.at.Nanosecond() != 0 })
}

func (b *bench) sameMoment(instrument string, vs []visit) {
	for from := 0; from < len(vs); {
		to := from + 1
		for to < len(vs) && vs[to].at.Equal(vs[from].at) {
			to++
		}
		var which []int
		for _, v := range vs[from:to] {
			if !slices.Contains(which, v.link) {
				which = append(which, v.link)
			}
		}
		if len(which) > 2 || len(which) == 2 && !areTwins(&b.facts.Links[which[0]], &b.facts.Links[which[1]]) {
			slices.Sort(which)
			b.askEach(which, statement.New("same-moment", statement.Name(instrument), b.linksOf(which), statement.Moment(vs[from].at)))
		}
		from = to
	}
}

// areTwins reports whether the schedule pairs two strands.
func areTwins(x, y *record.Link) bool {
	names := func(p, q *record.Link) bool {
		return p.Pair != "" && (p.Pair == q.ID || p.Pair == q.Strand && p.Cable == q.Cable)
	}
	return names(x, y) || names(y, x)
}

// paceOver is over how many links the pace of work is taken.
const paceOver = 10

// pace returns what there is to ask about the fastest run of an instrument.
func (b *bench) pace(instrument string, vs []visit) statement.Statement {
	var stays []visit
	for _, v := range vs {
		if n := len(stays); n == 0 || stays[n-1].link != v.link && !(stays[n-1].at.Equal(v.at) && areTwins(&b.facts.Links[stays[n-1].link], &b.facts.Links[v.link])) {
			stays = append(stays, v)
		}
	}
	seconds := b.question("pace").threshold
	least := time.Duration(float(seconds) * float64(time.Second) * paceOver)
	var slack time.Duration
	if !bySecond(vs) {
		slack = time.Minute // what times to the minute may hide
	}
	for i := 0; i+paceOver < len(stays); i++ {
		first, last := stays[i], stays[i+paceOver]
		if last.at.Sub(first.at)+slack >= least {
			continue
		}
		return statement.New("pace", statement.Name(instrument), statement.Count(paceOver), statement.Moment(first.at), statement.Count(last.at.Sub(first.at)/time.Second))
	}
	return statement.Statement{}
}
