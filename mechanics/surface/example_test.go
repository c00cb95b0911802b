package surface_test

import (
	"fmt"

	"buttonup/mechanics/surface"
)

func ExampleMinimumZone() {
	points, err := surface.ParsePoints("0,0,0; 50,0,0.02; 100,0,0.04; 0,50,0.01; 50,50,0.05; 100,50,0.03; 0,100,0.02; 50,100,0; 100,100,0.06")
	if err != nil {
		fmt.Println(err)
		return
	}
	zone, err := surface.MinimumZone(points)
	if err != nil {
		fmt.Println(err)
		return
	}
	fit, err := surface.LeastSquares(points)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("zone %.4f mm, about the mean plane %.4f mm\n", zone.Width.Millimetres(), fit.PeakToValley.Millimetres())
	fmt.Println("held by", zone.Top, "against", zone.Bottom)
	// Output:
	// zone 0.0400 mm, about the mean plane 0.0533 mm
	// held by [4 6 8] against [0 1 2 5 7]
}

func ExampleStraightEdge() {
	edge, err := surface.StraightEdge([]surface.Station{
		{At: mm(0), Height: mm(0)}, {At: mm(40), Height: mm(-0.03)}, {At: mm(80), Height: mm(-0.05)}, {At: mm(120), Height: mm(0.01)},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f mm under station %d, rocks: %v\n", edge.Gap.Millimetres(), edge.At+1, edge.Rocks)
	// Output: 0.0567 mm under station 3, rocks: false
}

func ExampleHollowNear() {
	points, err := surface.ParsePoints("0,0,0; 50,0,0; 100,0,0; 0,40,0; 50,40,0; 100,40,0; 80,25,-0.06; 20,20,-0.01")
	if err != nil {
		fmt.Println(err)
		return
	}
	h, err := surface.HollowNear(points, mm(80), mm(20), mm(10))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm deep, %.0f mm from the dowel\n", h.Depth.Millimetres(), h.Distance.Millimetres())
	_, err = surface.HollowNear(points, mm(20), mm(60), mm(10))
	fmt.Println(err)
	// Output:
	// 0.060 mm deep, 5 mm from the dowel
	// no reading lies within 10 mm of x 20 mm, y 60 mm; read nearer to it
}
