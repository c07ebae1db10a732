package truth

import (
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// money is a decimal text, or nothing where there is none.
func money(text any) *big.Rat {
	r, ok := new(big.Rat).SetString(fmt.Sprint(text))
	if !ok {
		return new(big.Rat)
	}
	return r
}

// cents are a sum rounded to two places, halves away from zero: as a paper has it.
func cents(r *big.Rat) *big.Rat {
	n := new(big.Rat).Mul(new(big.Rat).Abs(r), big.NewRat(200, 1)) // halves of cents
	halves := new(big.Int).Div(n.Num(), n.Denom())
	whole := halves.Add(halves, big.NewInt(1)).Rsh(halves, 1)
	if r.Sign() < 0 {
		whole.Neg(whole)
	}
	return new(big.Rat).SetFrac(whole, big.NewInt(100))
}

func plus(all ...*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for _, r := range all {
		sum.Add(sum, r)
	}
	return sum
}

func minus(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }

func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

// claimed checks what a statement comes to: that each amount before and in this issue
// add up to that to date, and, if nothing was billed before, all of it.
func (j *job) claimed(is *issued) error {
	s, _ := is.results["statement"].(map[string]any)
	if s == nil {
		if j.From != "" || len(j.Releases) > 0 {
			return untrue("what the statement claims is not there")
		}
		return nil
	}
	sums := map[string][3]*big.Rat{}
	for _, name := range []string{"total", "held", "released", "payable"} {
		m, _ := s[name].(map[string]any)
		a := [3]*big.Rat{money(m["before"]), money(m["this"]), money(m["to_date"])}
		if plus(a[0], a[1]).Cmp(a[2]) != 0 {
			return untrue("%s does not add up: %v", name, m)
		}
		sums[name] = a
	}
	for k, of := range []string{"before", "this", "to_date"} {
		if want := plus(minus(sums["total"][k], sums["held"][k]), sums["released"][k]); want.Cmp(sums["payable"][k]) != 0 {
			return untrue("payable %s is %s, and it is %s", of, sums["payable"][k].FloatString(2), want.FloatString(2))
		}
	}
	if j.Billed != "none" && wholeOf(is.results["revision"]) > 1 {
		return nil
	}
	total := new(big.Rat)
	for k, raw := range list(is.results["pay_items"]) {
		m := raw.(map[string]any)
		if m["accepted_before"] != nil && wholeOf(m["accepted_before"]) != 0 {
			return untrue("%v were billed of item %d, and none was", m["accepted_before"], k+1)
		}
		total.Add(total, cents(times(money(j.Items[k].Rate), big.NewRat(int64(wholeOf(m["accepted_to_date"])), 1))))
	}
	if total.Cmp(sums["total"][1]) != 0 {
		return untrue("%s are claimed, and it is %s", sums["total"][1].FloatString(2), total.FloatString(2))
	}
	if held := cents(times(total, times(money(j.Retainage), big.NewRat(1, 100)))); held.Cmp(sums["held"][1]) != 0 {
		return untrue("%s are held, and it is %s", sums["held"][1].FloatString(2), held.FloatString(2))
	}
	return nil
}

// book is an order as its owner would keep it: of each item a pile of units, each with
// the line that it stands on and the rates that were billed for it.
type book struct {
	piles          [][][]string
	held, released *big.Rat
	lines          int
}

func (b *book) copy() *book {
	c := &book{held: plus(b.held), released: plus(b.released), lines: b.lines}
	for _, p := range b.piles {
		c.piles = append(c.piles, slices.Clone(p))
	}
	return c
}

// charge brings an item to so many at the rate: from the top of the pile the rest goes.
func (b *book) charge(item, accepted int, rate string, retro bool) {
	pile := b.piles[item]
	pile = pile[:min(len(pile), accepted)]
	for k, unit := range pile {
		if last := unit[len(unit)-1]; retro && money(last).Cmp(money(rate)) != 0 {
			pile[k] = append(slices.Clone(unit), rate)
		}
	}
	for len(pile) < accepted {
		b.lines++
		unit := []string{fmt.Sprint("line ", b.lines), rate}
		if n := len(pile); n > 0 && slices.Equal(pile[n-1][1:], unit[1:]) {
			unit = pile[n-1]
		}
		pile = append(pile, unit)
	}
	b.piles[item] = pile
}

// rows are the lines of an item: quantity, rate and amount.
func (b *book) rows(item int) (rows [][3]*big.Rat) {
	pile := b.piles[item]
	for from := 0; from < len(pile); {
		to := from
		for to < len(pile) && pile[to][0] == pile[from][0] {
			to++
		}
		n, was := big.NewRat(int64(to-from), 1), new(big.Rat)
		for _, rate := range pile[from][1:] {
			step := minus(money(rate), was)
			rows = append(rows, [3]*big.Rat{n, step, cents(times(n, step))})
			was = money(rate)
		}
		from = to
	}
	return rows
}

func (b *book) total() *big.Rat {
	sum := new(big.Rat)
	for i := range b.piles {
		for _, r := range b.rows(i) {
			sum.Add(sum, r[2])
		}
	}
	return sum
}

// TestBilledInParts issues a job of 36 links four times as it is measured, billed,
// corrected and billed again, and keeps the books of it apart: 20 links, then all, of
// which one fails a later test before that statement is billed, then all again with the
// new rate for what was billed at the old.
func TestBilledInParts(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	newKey(t, filepath.Join(dir, "signer.p12"))
	put("job.yaml", `job:
  number: BL-2026-036
  title: Cabinet link
  site: {name: Bellweather Library, address: "12 Quay Row, Port Ansel"}
  customer: {name: Port Ansel Council}
  contractor: {name: Tidewater Fibre Works}
  time_zone: UTC
people:
  - {id: mo, name: M. Okafor, role: fibre technician}
instruments:
  - {id: LS-6, kind: light source, serial: "40262", calibrated: 2026-03-03, due: 2027-03-03}
  - {id: PM-9, kind: power meter, serial: "22803", calibrated: 2026-03-03, due: 2027-03-03, uncertainty_db: 0.12}
judge:
  limits: [tia-568.3-e]
  reference: one-cord
  test_cords: standard
sign: {key: signer.p12}
`)
	schedule := "link,cable,strand,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n"
	for i := 1; i <= 36; i++ {
		cable := "C1"
		if i > 20 && i <= 30 {
			cable = "C2" // the lump sum
		}
		schedule += fmt.Sprintf("B-%02d,%s,%d,cabinet K2 port %d,panel C1 port %d,OM4,88,2,0,factory LC/PC,factory LC/PC\n", i, cable, i, i, 36+i)
	}
	put("links.csv", schedule)
	day := func(n, from, to int, more string) {
		rows := "link,wavelength_nm,direction,loss_db,source,instrument,person,reference_time,time\n"
		for i := from; i <= to; i++ {
			for k, of := range []string{"850,A-B", "850,B-A", "1300,A-B", "1300,B-A"} {
				minute := (i-from)*5 + k%2*2
				loss := fmt.Sprintf("0.%d", 60-k/2*20+(i*(7-k))%17)
				if more != "" {
					loss = more + loss[1:]
				}
				rows += fmt.Sprintf("B-%02d,%s,%s,LS-6,PM-9,mo,2026-11-%d 08:15,2026-11-%d %02d:%02d\n", i, of, loss, n, n, 9+minute/60, minute%60)
			}
		}
		put(fmt.Sprintf("readings/day%d.csv", n), rows)
	}

	books := map[string]*book{"none": {piles: make([][][]string, 2), held: new(big.Rat), released: new(big.Rat)}}
	var before *job
	var had *issued
	for n, c := range []struct {
		name     string
		measure  func()
		j        job
		accepted [2]int
		out      string // what is released: percent of what is held, or an amount
		said     []string
	}{
		{"20 of 36", func() { day(17, 1, 20, "") }, job{Billed: "none", From: "2026-11-01", To: "2026-11-18",
			Items: []item{{Line: "1", Title: "Strand tested", Unit: "strand", Rate: "18.505"}, {Line: "2", Title: "Cable C2 complete", Unit: "lump", Cable: "C2", Rate: "1200"}}},
			[2]int{20, 0}, "", []string{"20 of 36", "16 links incomplete no reading in any file: B-21", "period of this statement 1 to 18 Nov 2026"}},
		{"all 36", func() { day(19, 21, 36, "") }, job{Billed: "r1", From: "2026-11-19", To: "2026-11-30", Releases: []release{{"2026-11-20", "50", "", "provisional acceptance"}},
			Items: []item{{Line: "1", Title: "Strand tested", Unit: "strand", Rate: "19.50"}, {Line: "2", Title: "Cable C2 complete", Unit: "lump", Cable: "C2", Rate: "1200"}}},
			[2]int{36, 1}, "50 %", []string{"36 of 36", "The rate changed: 1.", "19 to 30 Nov 2026", "provisional acceptance"}},
		{"one fails before that is billed", func() { day(20, 36, 36, "3") }, job{Billed: "r1", From: "2026-11-19", To: "2026-11-30", Releases: []release{{"2026-11-20", "50", "", "provisional acceptance"}},
			Items: []item{{Line: "1", Title: "Strand tested", Unit: "strand", Rate: "19.50"}, {Line: "2", Title: "Cable C2 complete", Unit: "lump", Cable: "C2", Rate: "1200"}}},
			[2]int{35, 1}, "50 %", []string{"35 of 36", "B-36 fail"}},
		{"all again, at the new rate", func() { day(24, 36, 36, "") }, job{Billed: "r3", From: "2026-12-01", To: "2026-12-31", Releases: []release{{"2026-11-24", "", "50.00", "papers complete"}},
			Items: []item{{Line: "1", Title: "Strand tested", Unit: "strand", Rate: "19.50", Retro: true}, {Line: "2", Title: "Cable C2 complete", Unit: "lump", Cable: "C2", Rate: "1200"}}},
			[2]int{36, 1}, "50.00", []string{"36 of 36", "difference of rate, 18.505 → 19.50", "Retainage released 24 Nov 2026, papers complete: 50.00 EUR."}},
	} {
		c.measure()
		c.j.Currency, c.j.Retainage = "EUR", "10"
		put("pay.yaml", c.j.pay(""))
		if code, out, stderr := run("issue", dir, "--date", "2026-11-25", "--reason", c.name, "--partial"); code != 0 && code != 4 {
			t.Fatalf("%s: exit code %d\n%s%s", c.name, code, out, stderr)
		}
		is := read(t, filepath.Join(dir, "issued", fmt.Sprint("r", n+1)), false)
		if code, _, stderr := run("verify", is.revision, "--trust", filepath.Join(dir, "signer.pem")); code != 0 {
			t.Errorf("%s: %s", c.name, stderr)
		}
		paper := pageText(t, filepath.Join(is.revision, "statement.pdf"))
		old := books[c.j.Billed]
		now := old.copy()
		for i, m := range list(is.results["pay_items"]) {
			m := m.(map[string]any)
			if wholeOf(m["accepted_to_date"]) != c.accepted[i] || wholeOf(m["accepted_before"]) != len(old.piles[i]) {
				t.Errorf("%s: item %d: %v", c.name, i+1, m)
			}
			now.charge(i, c.accepted[i], c.j.Items[i].Rate, c.j.Items[i].Retro)
		}
		claim := minus(now.total(), old.total())
		hold := cents(times(claim, big.NewRat(10, 100)))
		now.held.Add(now.held, hold)
		out := money(c.out)
		if strings.HasSuffix(c.out, "%") {
			out = cents(times(minus(now.held, now.released), big.NewRat(50, 100)))
		}
		now.released.Add(now.released, out)
		if err := c.j.claimed(is); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		s := is.results["statement"].(map[string]any)
		for name, want := range map[string][2]*big.Rat{"total": {claim, now.total()}, "held": {hold, now.held}, "released": {out, now.released},
			"payable": {plus(minus(claim, hold), out), plus(minus(now.total(), now.held), now.released)}} {
			if m := s[name].(map[string]any); money(m["this"]).Cmp(want[0]) != 0 || money(m["to_date"]).Cmp(want[1]) != 0 {
				t.Errorf("%s: %s is %v, and it is %s, to date %s", c.name, name, m, want[0].FloatString(2), want[1].FloatString(2))
			}
		}
		// On paper each line has its quantity, its rate and what these come to.
		if n > 0 {
			for i := range now.piles {
				for _, r := range now.rows(i) {
					if want := " " + r[2].FloatString(2) + " "; !strings.Contains(paper, want) {
						t.Errorf("%s: no line of the paper comes to%s", c.name, want)
					}
				}
			}
			for _, r := range []*big.Rat{claim, now.total(), minus(now.held, now.released), plus(minus(claim, hold), out)} {
				if !strings.Contains(paper, r.FloatString(2)) {
					t.Errorf("%s: %s is not on the paper", c.name, r.FloatString(2))
				}
			}
		}
		for _, said := range c.said {
			if !strings.Contains(paper, said) {
				t.Errorf("%s: the paper does not say %q:\n%s", c.name, said, paper)
			}
		}
		books[fmt.Sprint("r", n+1)] = now
		if had != nil {
			b := &between{before, &c.j, had, is}
			for _, m := range is.changes {
				if code, _ := m["code"].(string); strings.HasPrefix(code, "change.release") || strings.HasPrefix(code, "change.item") {
					sd := &said{Code: code}
					sd.Args, _ = m["args"].(map[string]any)
					if err := changes[code](b, sd); err != nil {
						t.Errorf("%s: %v: %v", c.name, m, err)
					}
					seen(code)
				}
			}
		}
		before, had = &c.j, is
	}
	if n := shown.n["change.release-new"]; n < 2 || shown.n["change.release-gone"] == 0 {
		t.Errorf("%d releases were new", n)
	}
}
