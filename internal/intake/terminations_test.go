package intake

import (
	"strings"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

// TestKindsSideBySide holds that runs in one process share nothing that they
// write when a kind is mistyped. The race detector is what catches it.
func TestKindsSideBySide(t *testing.T) {
	dir := t.TempDir()
	layOut(t, dir, []txtar.File{{Name: "terminations.csv", Data: lines("link,end,kind", strings.TrimSpace(strings.Repeat("A-11,A,pigtial\n", 500)))}})
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			_, list := Read(dir, Options{})
			if got := printProblems(list); !strings.Contains(got, `did you mean "pigtail"?`) {
				t.Error(got)
			}
		})
	}
	wait.Wait()
}
