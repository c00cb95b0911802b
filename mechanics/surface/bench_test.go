package surface_test

import (
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/surface"
	"buttonup/quantity"
)

// BenchmarkMinimumZone takes 300 scattered readings in steps of 0.01 mm, where many
// points touch the zone at once.
func BenchmarkMinimumZone(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	points := make([]surface.Point, 300)
	for i := range points {
		points[i] = surface.Point{
			X: quantity.Millimetres(random.Float64() * 200),
			Y: quantity.Millimetres(random.Float64() * 120),
			Z: quantity.Millimetres(float64(random.IntN(12)) * 0.01),
		}
	}
	for b.Loop() {
		if _, err := surface.MinimumZone(points); err != nil {
			b.Fatal(err)
		}
	}
}
