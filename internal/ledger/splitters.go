package ledger

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// splitter is one as people write it: 1:8, 1x8, 2/32.
var splitter = regexp.MustCompile(`^[12][:x×/](2|4|8|16|32|64|128)$`)

// Splitters reads the splitters on the way, parted by spaces, ";", "+" or "|".
func (l *Ledger) Splitters() (ratios []int) {
	for _, one := range strings.FieldsFunc(l.Text("splitters"), func(r rune) bool { return r == ' ' || r == ';' || r == '|' || r == '+' }) {
		m := splitter.FindStringSubmatch(strings.ToLower(one))
		if m == nil {
			l.Fault("splitters", "unknown-value", fmt.Sprintf("%q is not a splitter", one), "want 1:2, 1:4, 1:8, 1:16, 1:32, 1:64 or 1:128, each as often as it is in the link", "")
			return nil
		}
		n, _ := strconv.Atoi(m[1])
		ratios = append(ratios, n)
	}
	return ratios
}
