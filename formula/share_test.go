package formula

import (
	"sync"
	"testing"

	"buttonup/quantity"
)

// Several callers may ask one graph at once for nodes whose cone nobody kept: the race
// detector (make torture) and the runtime both object where asking writes to a map.
func TestCallersShareAGraph(t *testing.T) {
	f := newFormulas(t)
	f.dimension("a", "", quantity.OfNumber)
	f.dimension("b", "", quantity.OfNumber)
	ids := []NodeID{f.number("product", "a * b + a"), f.number("square", "sq(a) * b"), f.number("quotient", "b / a")}
	var all sync.WaitGroup
	for range 8 {
		v := f.values(map[string]float64{"a": 2, "b": 3})
		all.Go(func() {
			f.graph.Evaluate(v)
			slope := make([]float64, len(f.graph.Inputs))
			for range 200 {
				for i, want := range []float64{4, 12, -0.75} { // b + 1, 2·a·b, −b/a²
					clear(slope)
					f.graph.Gradient(ids[i], v, slope, nil)
					if in, _ := f.graph.Slot(Input{Kind: Value, Name: "a"}); slope[in] != want {
						t.Errorf("slope %d by a is %v, and %v is right", i, slope[in], want)
						return
					}
				}
			}
		})
	}
	all.Wait()
}
