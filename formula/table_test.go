package formula

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"buttonup/quantity"
)

func prepared(t *testing.T, table Table) *Table {
	t.Helper()
	table.XUnit = quantity.MustUnit("1")
	if err := table.Prepare(); err != nil {
		t.Fatal(err)
	}
	return &table
}

func at(t *testing.T, table *Table, x float64) float64 {
	t.Helper()
	y, err := table.At(x)
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// Burden and Faires, Numerical Analysis, 9th edition, section 3.5, Example 1: the
// natural cubic spline through (1,2), (2,3), (3,5) is 2 + ¾(x−1) + ¼(x−1)³ on [1,2]
// and 3 + ³⁄₂(x−2) + ¾(x−2)² − ¼(x−2)³ on [2,3]. Memory; that the two pieces join
// with their first and second derivatives and end with second derivative zero was
// checked by hand, which makes them the natural spline whoever printed them.
func TestNaturalSplinePublished(t *testing.T) {
	table := prepared(t, Table{X: []float64{1, 2, 3}, Y: []float64{2, 3, 5}})
	for i := range 201 {
		x := 1 + 2*float64(i)/200
		d := x - 1
		want, slope := 2+0.75*d+0.25*d*d*d, 0.75+0.75*d*d
		if x > 2 {
			d = x - 2
			want, slope = 3+1.5*d+0.75*d*d-0.25*d*d*d, 1.5+1.5*d-0.75*d*d
		}
		if got := at(t, table, x); !near(got, want, 1e-14) {
			t.Errorf("at %v: %v, want %v", x, got, want)
		}
		if got := table.Slope(x); !near(got, slope, 1e-13) {
			t.Errorf("slope at %v: %v, want %v", x, got, slope)
		}
	}
}

// A natural spline is straight through points on a straight line, goes through all
// its points, and forgets its free ends by a factor of 2 − √3 a point inwards: in the
// middle of forty points it has a parabola to twelve figures.
func TestNaturalSplineLaws(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 2))
	for range 20 {
		n := 3 + random.IntN(20)
		line, wild := Table{}, Table{}
		x := 0.0
		for range n {
			x += 0.1 + random.Float64()
			line.X, wild.X = append(line.X, x), append(wild.X, x)
			line.Y, wild.Y = append(line.Y, 3-2*x), append(wild.Y, random.Float64())
		}
		straight, through := prepared(t, line), prepared(t, wild)
		for i := range wild.X {
			if got := at(t, through, wild.X[i]); !near(got, wild.Y[i], 1e-12) {
				t.Fatalf("the curve does not go through (%v, %v): %v", wild.X[i], wild.Y[i], got)
			}
		}
		for range 20 {
			x := line.X[0] + random.Float64()*(line.X[n-1]-line.X[0])
			if got := at(t, straight, x); !near(got, 3-2*x, 1e-12) {
				t.Fatalf("a straight line is bent: %v at %v", got, x)
			}
		}
		smooth(t, through, wild.X[1:n-1])
	}
	parabola := Table{}
	for i := range 40 {
		parabola.X = append(parabola.X, float64(i))
		parabola.Y = append(parabola.Y, float64(i*i)/10)
	}
	p := prepared(t, parabola)
	for x := 19.0; x <= 20; x += 0.05 {
		if got := at(t, p, x); math.Abs(got-x*x/10) > 1e-11 {
			t.Errorf("parabola at %v: off by %v", x, got-x*x/10)
		}
	}
	// At the free end it cannot have the parabola's second derivative of 0.2.
	if got := at(t, p, 0.5); math.Abs(got-0.025) < 1e-3 {
		t.Errorf("the end is not free: %v at 0.5", got)
	}
}

// smooth checks that the first and second derivatives join at points.
func smooth(t *testing.T, table *Table, points []float64) {
	t.Helper()
	for _, x := range points {
		const h = 1e-6
		left, right := table.Slope(x-h), table.Slope(x+h)
		if math.Abs(left-right) > 1e-3 {
			t.Errorf("the slope jumps at %v: %v to %v", x, left, right)
		}
		bendLeft, bendRight := (table.Slope(x-h)-table.Slope(x-2*h))/h, (table.Slope(x+2*h)-table.Slope(x+h))/h
		if math.Abs(bendLeft-bendRight) > 1e-3*math.Max(1, math.Abs(bendLeft)) {
			t.Errorf("the bend jumps at %v: %v to %v", x, bendLeft, bendRight)
		}
	}
}

// A periodic spline of a sine misses it by no more than 5/384·h⁴ times the largest
// fourth derivative, which is 1.
//
// Source: C. Hall and W. Meyer, Optimal error bounds for cubic spline interpolation,
// Journal of Approximation Theory 16, 1976. Memory.
func TestPeriodicSplineOfASine(t *testing.T) {
	for _, n := range []int{4, 8, 24, 72} {
		table := Table{Periodic: true}
		for i := range n + 1 {
			x := 2 * math.Pi * float64(i) / float64(n)
			table.X = append(table.X, x)
			table.Y = append(table.Y, math.Sin(x+0.7))
		}
		table.Y[n] = table.Y[0]
		p := prepared(t, table)
		h := 2 * math.Pi / float64(n)
		bound := 5.0 / 384 * h * h * h * h
		worst := 0.0
		for x := -15.0; x < 15; x += 0.01 {
			worst = math.Max(worst, math.Abs(at(t, p, x)-math.Sin(x+0.7)))
		}
		if worst > bound*(1+1e-9)+1e-14 {
			t.Errorf("%d points: off by up to %v, bound %v", n, worst, bound)
		}
		if worst < bound/100 {
			t.Errorf("%d points: off by only %v, bound %v; is it a spline at all?", n, worst, bound)
		}
		smooth(t, p, []float64{0, 2 * math.Pi, -2 * math.Pi, h})
	}
}

// A curve of straight lines is exact between its points, repeats if it is periodic,
// and has no value beyond its ends otherwise.
func TestLinearAndEnds(t *testing.T) {
	l := prepared(t, Table{X: []float64{0, 1, 3}, Y: []float64{1, 3, -1}, Linear: true})
	for x, want := range map[float64]float64{0: 1, 0.5: 2, 1: 3, 2: 1, 3: -1} {
		if got := at(t, l, x); got != want {
			t.Errorf("at %v: %v, want %v", x, got, want)
		}
	}
	for _, x := range []float64{-1e-9, 3.000001, math.Inf(1), math.NaN()} {
		if y, err := l.At(x); err == nil {
			t.Errorf("at %v it gives %v", x, y)
		}
		if l.Slope(x) != 0 {
			t.Errorf("slope at %v: %v", x, l.Slope(x))
		}
	}
	p := prepared(t, Table{X: []float64{10, 11, 12, 14}, Y: []float64{1, 3, -1, 1}, Linear: true, Periodic: true})
	for _, x := range []float64{10, 10.25, 11.5, 13.75} {
		want := at(t, p, x)
		for _, turns := range []float64{-3, -1, 1, 7} {
			if got := at(t, p, x+4*turns); !near(got, want, 1e-12) {
				t.Errorf("at %v, %v turns on: %v, want %v", x, turns, got, want)
			}
		}
	}
}

func TestTablesThatAreRefused(t *testing.T) {
	for says, table := range map[string]Table{
		"2 values of x and 3 of y":   {X: []float64{0, 1}, Y: []float64{0, 1, 2}},
		"needs at least 3":           {X: []float64{0, 1}, Y: []float64{0, 1}},
		"needs at least 2":           {X: []float64{0}, Y: []float64{0}, Linear: true},
		"needs at least 4":           {X: []float64{0, 1, 2}, Y: []float64{0, 1, 0}, Periodic: true},
		"do not rise: 1 follows 1":   {X: []float64{0, 1, 1, 2}, Y: []float64{0, 1, 2, 3}},
		"do not rise: 0.5 follows 1": {X: []float64{0, 1, 0.5, 2}, Y: []float64{0, 1, 2, 3}},
		"must end on the value":      {X: []float64{0, 1, 2, 3}, Y: []float64{0, 1, 2, 0.1}, Periodic: true},
		"the curve has 0 points":     {},
		"do not rise: ? follows 0":   {X: []float64{0, math.NaN(), 2}, Y: []float64{0, 1, 2}},
	} {
		table.XUnit = quantity.MustUnit("1")
		err := table.Prepare()
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v %v: %v, want %q", table.X, table.Y, err, says)
		}
	}
}
