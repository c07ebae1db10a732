package record

// Witnessed is who watched on which days.
type Witnessed struct {
	Who string `json:"who"`
	// From and To are the first and the last of the days; zero where all are meant.
	From Date `json:"from,omitzero"`
	To   Date `json:"to,omitzero"`
}

// On reports whether a day is one of them.
func (w *Witnessed) On(day Date) bool {
	return !day.IsZero() && !day.Before(w.From) && (w.To.IsZero() || !day.After(w.To))
}

// WitnessesOf are those who watched while a link was measured, as job and schedule have
// it and the days of its readings show, and on which of these days; of all, where From
// and To are zero.
func (j *Job) WitnessesOf(l *Link, readings []Reading) (out []Witnessed) {
	if len(readings) == 0 {
		return nil
	}
	for _, who := range []string{l.witness(), j.Witness} {
		if who != "" {
			out = append(out, Witnessed{Who: who})
		}
	}
	for i := range j.Witnesses {
		w, all := Witnessed{Who: j.Witnesses[i].Who}, true
		for k := range readings {
			t := readings[k].Time
			if j.Location != nil && !t.IsZero() && !DayOnly(t) {
				t = t.In(j.Location)
			}
			day := DateOf(t)
			if !j.Witnesses[i].On(day) {
				all = false
				continue
			}
			if w.From.IsZero() || day.Before(w.From) {
				w.From = day
			}
			if day.After(w.To) {
				w.To = day
			}
		}
		if w.From.IsZero() {
			continue
		}
		if all {
			w.From, w.To = Date{}, Date{}
		}
		out = append(out, w)
	}
	return out
}

func (l *Link) witness() string {
	if l.Terms == nil {
		return ""
	}
	return l.Terms.Witness
}
