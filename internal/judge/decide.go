package judge

import (
	"math"

	"spanseal/internal/chance"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// losses are the quantities that the uncertainty and the marginal band of a
// job are about.
var losses = map[record.Quantity]bool{record.InsertionLoss: true, record.TwoWayAverage: true, record.SpliceLoss: true}

// decide fills in limit, margin, probability and verdict of a finding that has
// its measured value, uncertainty and working.
func (j *jobJudge) decide(f *Finding) {
	w := f.Working
	limit := &w.Limit // shared by all findings of the working
	var margin quantity.Decimal
	switch w.Bound {
	case "at_least":
		margin = f.Measured.Sub(*limit)
	case "at_most":
		margin = limit.Sub(*f.Measured)
	default:
		margin = limit.Sub(*f.Measured)
		if low := f.Measured.Sub(*w.Lower); low.Less(margin) {
			margin, limit = low, w.Lower
		}
	}
	f.Limit, f.Margin = limit, &margin
	f.Probability = -1
	if f.Uncertainty != nil && f.Uncertainty.Sign() > 0 {
		f.Probability = conformity(f)
	}
	if f.Unit != quantity.DB {
		if margin.Sign() < 0 {
			f.Verdict = Fail
		}
		return
	}
	guarded := j.policy.Decision == "guarded"
	band := f.Uncertainty
	if j.policy.Marginal != nil && losses[f.Quantity] {
		band = j.policy.Marginal
	}
	switch {
	case margin.Sign() < 0:
		f.Verdict = Fail
	case guarded && f.Uncertainty == nil && losses[f.Quantity]:
		f.Verdict = Incomplete
		f.ask(statement.New("no-uncertainty"))
	case guarded && f.Uncertainty != nil:
		guard := j.guardFactor().Mul(*f.Uncertainty)
		f.Guard = &guard
		if margin.Less(guard) {
			f.Verdict = Fail
		} else if margin.Less(*band) {
			f.Verdict = Marginal
		}
	case band != nil && margin.Less(*band):
		f.Verdict = Marginal
	}
}

// guardFactor is r in w = r·U; 1 unless the job names another.
func (j *jobJudge) guardFactor() quantity.Decimal {
	if j.policy.GuardFactor.IsZero() {
		return quantity.Int(1)
	}
	return j.policy.GuardFactor
}

// conformity is the probability that the true value lies within the limit,
// given the reading and a normal distribution (JCGM 106:2012, 7.2 and 7.4).
func conformity(f *Finding) float64 {
	u := chance.Float(*f.Uncertainty) / 2
	if f.Working.Bound == "between" {
		y := chance.Float(*f.Measured)
		return normal((chance.Float(f.Working.Limit)-y)/u) - normal((chance.Float(*f.Working.Lower)-y)/u)
	}
	return normal(chance.Float(*f.Margin) / u)
}

// normal is Φ, the standard normal distribution function.
func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
