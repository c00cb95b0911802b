package formula

import (
	"fmt"
	"math"

	"buttonup/quantity"
)

// Table is a curve through points: y over x, rising in x.
type Table struct {
	X, Y                   []float64
	XDimension, YDimension quantity.Dimension
	XUnit                  quantity.Unit
	// Periodic curves repeat; the last point then stands for the first again.
	Periodic bool
	// Linear curves join the points by straight lines; others are cubic splines,
	// natural at the ends or periodic.
	Linear bool

	second []float64 // second derivatives of the spline
}

// Prepare checks the points and fits the spline. It must be called once before At.
// A periodic table must end on the value that it begins with.
//
// Source: cubic spline interpolation by the tridiagonal equations of the second
// derivatives; textbook, from memory. The periodic case solves the same equations
// with the ends joined (Sherman and Morrison's correction).
func (t *Table) Prepare() error {
	n := len(t.X)
	switch {
	case n != len(t.Y):
		return fmt.Errorf("the curve has %d values of x and %d of y", n, len(t.Y))
	case n < t.fewest():
		return fmt.Errorf("the curve has %d points, and it needs at least %d", n, t.fewest())
	}
	for i := 1; i < n; i++ {
		if !(t.X[i] > t.X[i-1]) {
			return fmt.Errorf("the x values do not rise: %s follows %s", t.text(t.X[i]), t.text(t.X[i-1]))
		}
	}
	if t.Periodic && math.Abs(t.Y[0]-t.Y[n-1]) > 1e-9*(math.Abs(t.Y[0])+math.Abs(t.Y[n-1])) {
		return fmt.Errorf("a periodic curve must end on the value it begins with")
	}
	if t.Linear {
		return nil
	}
	t.second = make([]float64, n)
	if t.Periodic {
		t.fitPeriodic()
	} else {
		t.fitNatural()
	}
	return nil
}

// fewest is how many points the curve needs.
func (t *Table) fewest() int {
	switch {
	case t.Periodic:
		return 4
	case t.Linear:
		return 2
	}
	return 3
}

// bend is the right side of the spline equations at inner point i.
func (t *Table) bend(before, i, after int, h0, h1 float64) float64 {
	return 6 * ((t.Y[after]-t.Y[i])/h1 - (t.Y[i]-t.Y[before])/h0)
}

func (t *Table) fitNatural() {
	n := len(t.X) - 2
	low, diagonal, high, right := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for k := range n {
		i := k + 1
		h0, h1 := t.X[i]-t.X[i-1], t.X[i+1]-t.X[i]
		low[k], diagonal[k], high[k] = h0, 2*(h0+h1), h1
		right[k] = t.bend(i-1, i, i+1, h0, h1)
	}
	copy(t.second[1:], solveTridiagonal(low, diagonal, high, right))
}

func (t *Table) fitPeriodic() {
	n := len(t.X) - 1 // the last point is the first again
	low, diagonal, high, right := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		before, after := (i+n-1)%n, i+1
		h0 := t.X[before+1] - t.X[before]
		h1 := t.X[i+1] - t.X[i]
		low[i], diagonal[i], high[i] = h0, 2*(h0+h1), h1
		right[i] = t.bend(before, i, after, h0, h1)
	}
	// The corners low[0] and high[n-1] join the ends.
	alpha, beta := high[n-1], low[0]
	gamma := -diagonal[0]
	diagonal[0] -= gamma
	diagonal[n-1] -= alpha * beta / gamma
	u := make([]float64, n)
	u[0], u[n-1] = gamma, alpha
	x := solveTridiagonal(low, append([]float64(nil), diagonal...), high, right)
	z := solveTridiagonal(low, diagonal, high, u)
	f := (x[0] + beta*x[n-1]/gamma) / (1 + z[0] + beta*z[n-1]/gamma)
	for i := range n {
		t.second[i] = x[i] - f*z[i]
	}
	t.second[n] = t.second[0]
}

func solveTridiagonal(low, diagonal, high, right []float64) []float64 {
	n := len(right)
	x := append([]float64(nil), right...)
	d := append([]float64(nil), diagonal...)
	for i := 1; i < n; i++ {
		m := low[i] / d[i-1]
		d[i] -= m * high[i-1]
		x[i] -= m * x[i-1]
	}
	for i := n - 1; i >= 0; i-- {
		if i < n-1 {
			x[i] -= high[i] * x[i+1]
		}
		x[i] /= d[i]
	}
	return x
}

// text shows an x in the unit of the table, without needless zeros.
func (t *Table) text(x float64) string {
	for decimals := 0; decimals < 6; decimals++ {
		if in := t.XUnit.In(x) * math.Pow10(decimals); math.Abs(in-math.Round(in)) < 1e-6 {
			return t.XUnit.Text(x, decimals)
		}
	}
	return t.XUnit.Text(x, 6)
}

// locate finds the interval of x, wrapping a periodic curve.
func (t *Table) locate(x float64) (int, float64, bool) {
	first, last := t.X[0], t.X[len(t.X)-1]
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, x, false
	}
	if t.Periodic {
		period := last - first
		x = first + math.Mod(x-first, period)
		if x < first {
			x += period
		}
	} else if x < first || x > last {
		return 0, x, false
	}
	low, high := 0, len(t.X)-1
	for high-low > 1 {
		if m := (low + high) / 2; t.X[m] <= x {
			low = m
		} else {
			high = m
		}
	}
	return low, x, true
}

// At returns y at x, and an error beyond the ends of a curve that is not periodic.
func (t *Table) At(x float64) (float64, error) {
	i, x, ok := t.locate(x)
	if !ok {
		return 0, fmt.Errorf("asks the curve at %s, and it is known from %s to %s", t.XUnit.Text(x, 3), t.text(t.X[0]), t.text(t.X[len(t.X)-1]))
	}
	h := t.X[i+1] - t.X[i]
	a, b := (t.X[i+1]-x)/h, (x-t.X[i])/h
	y := a*t.Y[i] + b*t.Y[i+1]
	if !t.Linear {
		y += ((a*a*a-a)*t.second[i] + (b*b*b-b)*t.second[i+1]) * h * h / 6
	}
	return y, nil
}

// Slope returns dy/dx at x, 0 beyond the ends.
func (t *Table) Slope(x float64) float64 {
	i, x, ok := t.locate(x)
	if !ok {
		return 0
	}
	h := t.X[i+1] - t.X[i]
	s := (t.Y[i+1] - t.Y[i]) / h
	if !t.Linear {
		a, b := (t.X[i+1]-x)/h, (x-t.X[i])/h
		s += (-(3*a*a-1)*t.second[i] + (3*b*b-1)*t.second[i+1]) * h / 6
	}
	return s
}
