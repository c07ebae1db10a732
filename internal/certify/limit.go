package certify

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// places is how many digits a finding that stands alone is printed with.
func places(f judge.Finding) int { return f.Places(2) }

// AgainstMost is a finding as held against the most that is allowed, for drawings of
// losses: of a limit between two, the upper one.
func AgainstMost(f judge.Finding) judge.Finding {
	if f.AtLeast() && f.Working.Bound == "between" {
		f.Limit = &f.Working.Limit
	}
	return f
}

// Allowed is a finding's limit as it stands in tables: "2.22", "≥ 26.00", or of a
// limit between two both, "13.00 to 28.00".
func (s *PaperSet) Allowed(f judge.Finding, places int) string {
	w := s.words
	switch {
	case f.Limit == nil:
		return ""
	case f.Working != nil && f.Working.Bound == "between" && f.Working.Lower != nil:
		return w.Say("locale.range", "from", w.Fixed(*f.Working.Lower, places), "to", w.Fixed(f.Working.Limit, places))
	case f.AtLeast():
		return "≥ " + w.Fixed(*f.Limit, places)
	}
	return w.Fixed(*f.Limit, places)
}

// placesOf is how many digits a finding is printed with on this paper.
func (sh *sheet) placesOf(f judge.Finding) int {
	if f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage {
		return f.Places(sh.places)
	}
	return places(f)
}

// limitName tells a limit from the others on the paper: by its set or, where the
// set has several for one wavelength, by its own name in the set too.
func (sh *sheet) limitName(work *judge.Working) string {
	nm := 0
	for _, f := range sh.losses {
		if f.Working == work {
			nm = f.WavelengthNM
		}
	}
	if slices.ContainsFunc(sh.losses, func(f judge.Finding) bool {
		return f.WavelengthNM == nm && f.Working != nil && f.Working.SetID == work.SetID && f.Working.LimitID != work.LimitID
	}) {
		return sh.byReference(sh.SetName(work.SetID)+" "+work.LimitID, work)
	}
	return sh.byReference(sh.SetName(work.SetID), work)
}

// severalLimits reports whether the losses of the paper are held against limits
// that have to be told apart.
func (sh *sheet) severalLimits() bool {
	return len(setsOf(sh.losses)) > 1 || slices.ContainsFunc(sh.losses, func(f judge.Finding) bool {
		return f.Working != nil && sh.limitName(f.Working) != sh.SetName(f.Working.SetID)
	})
}

// SetName is what people call a limit set: the title of an application, the standard
// of cabling, both of others, and as much more as tells it from the other sets of the
// job. One that has neither goes by its id.
func (s *PaperSet) SetName(id string) string {
	sets := s.Judgement.Sets
	i := slices.IndexFunc(sets, func(u judge.SetUsed) bool { return u.ID == id })
	if i < 0 {
		return id
	}
	for length := range setNames {
		name := s.setName(&sets[i], length)
		if name != "" && !slices.ContainsFunc(sets, func(o judge.SetUsed) bool { return o.ID != id && s.setName(&o, length) == name }) {
			return name
		}
	}
	return id
}

// setNames is how many names a set has.
const setNames = 3

// setName is a name of a set, a longer one the larger the number.
func (s *PaperSet) setName(u *judge.SetUsed, length int) string {
	title := u.Title
	if u.BuiltIn { // others are in whatever language their owner wrote
		title = s.words.Citation(title)
	}
	switch {
	case u.Kind == "application" || u.Standard == "":
		return title
	case length == 0 && u.Kind != "cabling": // of a standard there are several
		return s.words.Citation(u.Standard) + ", " + title
	case length == 0:
		return s.words.Citation(u.Standard)
	case length == 1:
		return s.words.Edition(u.Standard, u.Edition)
	}
	return s.words.Edition(u.Standard, u.Edition) + ", " + title
}
