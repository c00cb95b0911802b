package measure

import (
	"strconv"
	"strings"
	"testing"

	"buttonup/internal/check"
)

// eachRow runs a test for every row of one file of published values.
func eachRow(t *testing.T, name string, test func(t *testing.T, r row)) {
	t.Helper()
	for _, f := range check.Glob(t, "testdata/published/"+name+".check") {
		for _, one := range f.Rows {
			test(t, row{t, f, one})
		}
	}
}

// row is a row with what its cells are read by.
type row struct {
	t *testing.T
	f *check.File
	check.Row
}

// in is the number in an input cell; a unit is not wanted there.
func (r row) in(column string) float64 {
	r.t.Helper()
	return r.number(r.text(column))
}

// list is the numbers in an input cell, parted by blanks.
func (r row) list(column string) []float64 {
	r.t.Helper()
	var xs []float64
	for _, word := range strings.Fields(r.text(column)) {
		xs = append(xs, r.number(word))
	}
	return xs
}

func (r row) text(column string) string {
	r.t.Helper()
	cell, ok := r.In[column]
	if !ok {
		r.t.Fatalf("%s:%d: no input is called %q", r.f.Path, r.Line, column)
	}
	return cell
}

func (r row) number(text string) float64 {
	r.t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		r.t.Fatalf("%s:%d: %v", r.f.Path, r.Line, err)
	}
	return x
}

// want compares a result with the printed output of that name.
func (r row) want(column string, got float64) {
	r.t.Helper()
	r.f.Compare(r.t, r.Row, column, got)
}

// must ends the test on an error where there should be none.
func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func propagate(t *testing.T, sensitivity, standard []float64, correlation func(i, j int) float64) (float64, []float64) {
	t.Helper()
	u, contributions, err := Propagate(sensitivity, standard, correlation)
	must(t, err)
	return u, contributions
}

func effective(t *testing.T, combined float64, contributions, dof []float64) float64 {
	t.Helper()
	nu, err := EffectiveDegreesOfFreedom(combined, contributions, dof)
	must(t, err)
	return nu
}

func factor(t *testing.T, p, dof float64) float64 {
	t.Helper()
	k, err := CoverageFactor(p, dof)
	must(t, err)
	return k
}

func mean(t *testing.T, xs []float64) (mean, sd, ofMean float64) {
	t.Helper()
	mean, sd, ofMean, err := Mean(xs)
	must(t, err)
	return mean, sd, ofMean
}

func correlate(t *testing.T, xs, ys []float64) float64 {
	t.Helper()
	r, err := Correlation(xs, ys)
	must(t, err)
	return r
}

func studentCDF(t *testing.T, x, dof float64) float64 {
	t.Helper()
	p, err := StudentCDF(x, dof)
	must(t, err)
	return p
}

func conformance(t *testing.T, value, u float64, lower, upper *float64) float64 {
	t.Helper()
	p, err := ConformanceProbability(value, u, lower, upper)
	must(t, err)
	return p
}
