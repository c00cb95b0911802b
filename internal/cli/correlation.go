package cli

import (
	"math"
	"sort"
	"strconv"
	"strings"

	"buttonup/formula"
	"buttonup/quantity"
)

// correlated is two values whose errors go together.
type correlated struct {
	a, b string
	r    float64
}

const correlationForm = `write two names and a number from -1 to 1, several with commas between: "a b 0.5, b c -0.3"`

// readCorrelation reads which values go together; an empty text is none.
func readCorrelation(text string) ([]correlated, error) {
	var list []correlated
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' }) {
		words := strings.Fields(part)
		if len(words) == 0 {
			continue
		}
		if len(words) != 3 {
			return nil, failedArgument("correlation", correlationForm, "%q is not two names and a number", strings.TrimSpace(part))
		}
		r, err := strconv.ParseFloat(words[2], 64)
		if err != nil || !(r >= -1 && r <= 1) {
			return nil, failedArgument("correlation", correlationForm, "%q is no correlation: it lies between -1 and 1", words[2])
		}
		if words[0] == words[1] {
			return nil, failedArgument("correlation", "name two values", "%s goes together with itself anyway", words[0])
		}
		for _, c := range list {
			if c.a == words[0] && c.b == words[1] || c.a == words[1] && c.b == words[0] {
				return nil, failedArgument("correlation", "name each pair once", "the correlation of %s and %s is given twice", words[0], words[1])
			}
		}
		list = append(list, correlated{words[0], words[1], r})
	}
	if text != "" && len(list) == 0 {
		return nil, failedArgument("correlation", correlationForm, "the correlation names nothing")
	}
	return list, nil
}

// correlate replaces the unknowns of values that go together by shared ones that give
// the same variances and correlations: with R = L·Lᵀ, value i owes uᵢ·Lᵢₖ to unknown k.
// All of them must be normal, which is what a correlation alone describes.
//
// Source: JCGM 100:2008, 5.2 (correlated input quantities), tested by its example H.2;
// the triangular factor is Cholesky's, textbook.
func (e *evaluation) correlate() error {
	group, err := e.together()
	if err != nil || len(group) == 0 {
		return err
	}
	r := make([][]float64, len(group))
	for i := range group {
		r[i] = make([]float64, len(group))
		for j := range group {
			r[i][j] = e.correlationOf(group[i], group[j])
		}
	}
	l, ok := triangular(r)
	if !ok {
		return failedArgument("correlation", "check the numbers: what goes with a third value ties the first two too", "%s cannot be correlated like this all together", strings.Join(group, ", "))
	}
	name := strings.Join(group, ", ") + " together"
	first := len(e.names)
	dof := math.Inf(1)
	for _, n := range group {
		dof = math.Min(dof, e.values[n].Dof)
	}
	for range group {
		e.spread.Shapes = append(e.spread.Shapes, quantity.Normal)
		e.names, e.dofs = append(e.names, name), append(e.dofs, dof)
	}
	for i, n := range group {
		for slot, input := range e.graph.Inputs {
			if input.Name != n || input.Kind == formula.Given {
				continue
			}
			e.spread.Debts[slot] = nil
			for k := range i + 1 {
				if l[i][k] != 0 {
					e.spread.Debts[slot] = append(e.spread.Debts[slot], formula.Debt{Unknown: first + k, U: e.values[n].Standard * l[i][k]})
				}
			}
		}
	}
	return nil
}

// together lists the values that are correlated, by name, and checks them.
func (e *evaluation) together() ([]string, error) {
	var group []string
	seen := map[string]bool{}
	for _, c := range e.correlated {
		for _, n := range []string{c.a, c.b} {
			x, given := e.values[n]
			switch {
			case !given:
				return nil, failedArgument("correlation", "name values that are given", "no value %s is given", n)
			case x.Standard == 0:
				return nil, failedArgument("correlation", "give it a ±, or leave it out of the correlation", "%s is exact, and nothing goes together with it", n)
			case x.Shape != quantity.Normal:
				return nil, failedArgument("correlation", "state it as a normal ±", "%s is not normal, and a correlation alone does not say how it goes together with others", n)
			}
			if !seen[n] {
				seen[n] = true
				group = append(group, n)
			}
		}
	}
	sort.Strings(group)
	return group, nil
}

func (e *evaluation) correlationOf(a, b string) float64 {
	if a == b {
		return 1
	}
	for _, c := range e.correlated {
		if c.a == a && c.b == b || c.a == b && c.b == a {
			return c.r
		}
	}
	return 0
}

// rounding is what a correlation that was printed with a few figures may be off by
// before it counts as impossible.
const rounding = 1e-9

// triangular finds L with R = L·Lᵀ; false where there is none.
func triangular(r [][]float64) ([][]float64, bool) {
	l := make([][]float64, len(r))
	for i := range r {
		l[i] = make([]float64, len(r))
		for j := range i + 1 {
			rest := r[i][j]
			for k := range j {
				rest -= l[i][k] * l[j][k]
			}
			switch {
			case i == j && rest < -rounding:
				return nil, false
			case i == j:
				l[i][i] = math.Sqrt(math.Max(0, rest))
			case l[j][j] > math.Sqrt(rounding):
				l[i][j] = rest / l[j][j]
			case math.Abs(rest) > math.Sqrt(rounding):
				return nil, false
			}
		}
	}
	return l, true
}
