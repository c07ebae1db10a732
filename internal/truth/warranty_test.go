package truth

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
)

// windows are those of the job's warranty; none where Months is 0.
type windows struct {
	Months, Days int
	Registered   string
}

func (w *windows) write(p func(string, ...any)) {
	if w.Months == 0 {
		return
	}
	days := ""
	if w.Days > 0 {
		days = fmt.Sprint(w.Days)
	}
	p("  warranty: {months: %d, report_within_days: 5%s%s}", w.Months, field("registered", w.Registered), field("register_within_days", days))
}

// insure gives the job a warranty, with dice of its own.
func insure(n uint64, j *job) {
	if d := rand.New(rand.NewPCG(n, 606)); d.IntN(4) == 0 {
		j.Completed = "2026-11-18"
		j.Warranty = windows{Months: 240, Days: []int{0, 2, 60}[d.IntN(3)], Registered: []string{"", "2026-11-20", "2026-11-24"}[d.IntN(3)]}
	}
}

// lastDay is the day of the latest reading that counts, or "".
func (j *job) lastDay() (last string) {
	for i := range j.Links {
		for _, r := range j.counting(j.Links[i].ID) {
			if d := day(r.Time); d > last {
				last = d
			}
		}
	}
	return last
}

// until is a day so many days later, by the calendar.
func until(text string, days int) string {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return ""
	}
	for range days {
		t = t.Add(24 * time.Hour)
	}
	return t.Format(time.DateOnly)
}

func (j *job) warrantyIs(v any) error {
	m, _ := v.(map[string]any)
	s := &said{}
	s.Code, _ = m["code"].(string)
	s.Args, _ = m["args"].(map[string]any)
	check := warrantyCheckers[s.Code]
	if check == nil {
		return untrue("no checker of %q", s.Code)
	}
	seen(s.Code)
	if err := check(j, s); err != nil {
		return fmt.Errorf("%s %v: %w", s.Code, s.Args, err)
	}
	return nil
}

var warrantyCheckers = map[string]checker{
	"warranty.falsified": func(j *job, s *said) error { return is(j.Warranty.Months > 0) },
	"warranty.registered": func(j *job, s *said) error {
		return is(s.text("registered") == j.Warranty.Registered && (j.Warranty.Days == 0 || j.lastDay() == ""))
	},
	"warranty.registered-by": func(j *job, s *said) error {
		w, last := j.Warranty, until(j.lastDay(), j.Warranty.Days)
		in := "out"
		if w.Registered <= last {
			in = "in"
		}
		return is(w.Registered != "" && s.text("registered") == w.Registered && s.whole("days") == w.Days && s.text("measured") == j.lastDay() && s.text("last") == last && s.text("window") == in)
	},
	"warranty.not-registered": func(j *job, s *said) error {
		w := j.Warranty
		return is(w.Registered == "" && s.whole("days") == w.Days && s.text("measured") == j.lastDay() && s.text("last") == until(j.lastDay(), w.Days))
	},
}

// TestWarrantyPlanted makes what is said of a registration false; each must be caught.
func TestWarrantyPlanted(t *testing.T) {
	j := &job{Zone: "UTC", Warranty: windows{240, 2, "2026-11-20"}, Links: []link{{ID: "A"}}, Readings: []reading{{Link: "A", Time: "2026-11-18 10:00"}}}
	args := func() map[string]any {
		return map[string]any{"registered": "2026-11-20", "last": "2026-11-20", "days": 2, "measured": "2026-11-18", "window": "in"}
	}
	if err := j.warrantyIs(map[string]any{"code": "warranty.registered-by", "args": args()}); err != nil {
		t.Error(err)
	}
	for name, bad := range map[string]any{"registered": "2026-11-19", "last": "2026-11-21", "days": 3, "measured": "2026-11-17", "window": "out"} {
		wrong := args()
		wrong[name] = bad
		if j.warrantyIs(map[string]any{"code": "warranty.registered-by", "args": wrong}) == nil {
			t.Errorf("%s %v was not caught", name, bad)
		}
	}
}
