package chance

import (
	"sort"

	"gonum.org/v1/gonum/mathext"

	"spanseal/internal/quantity"
)

// confidence is how sure a sample must make a percentile: 95 %, as is usual for
// tolerance bounds (ISO 16269-6). The figure is ours.
const confidence = 0.95

// Shows reports whether n single losses, of which some are over a limit, show that
// the share of all such connections is within it: whether so few over it would be
// seen in no more than one sample of twenty, were the share just not within. It is
// the exact binomial bound (Clopper and Pearson, 1934), which for a sample with
// none over is the one-sided tolerance bound without a distribution (Wilks, 1941):
// 59 losses show 95 %, 99 show 97 %.
func Shows(n, over int, share float64) bool {
	return over < n && mathext.RegIncBeta(float64(n-over), float64(over+1), share) <= 1-confidence
}

// Enough is how many single losses show a share when so many are over the limit.
func Enough(over int, share float64) int {
	return sort.Search(1_000_000, func(n int) bool { return Shows(n, over, share) })
}

// Rank returns the nearest rank of a percentile among n, from one: the smallest
// k with k/n ≥ p/100, reckoned exactly.
func Rank(percentile quantity.Decimal, n int) int {
	share := percentile.Mul(quantity.Int(n))
	return 1 + sort.Search(n-1, func(i int) bool { return !quantity.Int(100 * (i + 1)).Less(share) })
}
