package basket

import (
	"testing"
	"time"
)

func TestSpeed(t *testing.T) {
	for _, f := range families {
		for seed := range uint64(3) {
			p := generate(f, seed+1)
			start := time.Now()
			r, err := Solve(p)
			t.Logf("%s %d: %v total %d lead %d orders %d steps %d because %d places %v: %v %v", f.name, seed+1, r.Status, r.Total, r.Lead, r.Orders, r.Steps, len(r.Because), r.Where, time.Since(start), err)
		}
	}
}
