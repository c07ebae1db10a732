package judge

import "strconv"

// fixed prints a statistic for a decimal: six places, far below what any
// instrument shows.
func fixed(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }
