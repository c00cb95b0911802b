package assess_test

import (
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/parts/basket"
)

// BenchmarkOrderList makes the demo's order list (60 places, 311 parts, 5 sellers) from
// a journal that is read: the assessment, the problem and the proof. The bar is 20 ms.
func BenchmarkOrderList(b *testing.B) {
	p := demoPack(b)
	m := assess.Prepare(p)
	s := journal.Read([]byte(`{"id":"a","at":"2026-03-02T08:00:00Z","by":"bench","kind":"option","option":"series","choice":"B"}` + "\n")).Fold()
	for _, prefer := range []struct {
		name string
		by   basket.Preference
	}{{"cost", basket.Cheapest}, {"time", basket.Soonest}, {"orders", basket.FewestOrders}} {
		b.Run(prefer.name, func(b *testing.B) {
			for b.Loop() {
				l, err := m.OrderList(s, assess.Options{}, assess.OrderOptions{Prefer: prefer.by})
				if err != nil || l.Status != basket.Optimal || len(l.Needs) < 60 {
					b.Fatalf("%v, %v", l.Status, err)
				}
			}
		})
	}
}
