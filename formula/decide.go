package formula

import (
	"math"

	"buttonup/quantity"
)

// Answer is the answer to a condition when not everything is known.
type Answer uint8

// The answers.
const (
	Maybe Answer = iota
	Yes
	No
)

func answer(b bool) Answer {
	if b {
		return Yes
	}
	return No
}

// Decide answers a condition from the choices of options and parts alone; what
// depends on sizes, or on a choice not made, is Maybe. A nil condition is Yes.
func Decide(e *Expr, choices map[string]string) Answer {
	if e == nil || e.root == nil {
		return Yes
	}
	return decide(e.root, choices)
}

func decide(n *node, choices map[string]string) Answer {
	switch n.op {
	case opConstant:
		return answer(n.k != 0)
	case opInput:
		if n.ref.kind == OptionIs || n.ref.kind == PartIs {
			if c, ok := choices[n.ref.thing.Name]; ok {
				return answer(c == n.ref.detail)
			}
		}
	case opNot:
		switch decide(n.args[0], choices) {
		case Yes:
			return No
		case No:
			return Yes
		}
	case opAnd, opOr:
		a, b := decide(n.args[0], choices), decide(n.args[1], choices)
		settles := No
		if n.op == opOr {
			settles = Yes
		}
		switch {
		case a == settles || b == settles:
			return settles
		case a == b:
			return a
		}
	case opSelect:
		switch decide(n.args[0], choices) {
		case Yes:
			return decide(n.args[1], choices)
		case No:
			return decide(n.args[2], choices)
		}
	}
	return Maybe
}

// NonNegative reports whether the value cannot be below zero: an absolute value, a
// root, a square, a spread or oval, or the plain reading of a length, a volume or a
// weight.
func (e *Expr) NonNegative() bool { return e.root != nil && nonNegative(e.root) }

func nonNegative(n *node) bool {
	switch n.op {
	case opConstant:
		return n.k >= 0
	case opAbs, opSqrt, opSquare, opSpread:
		return true
	case opInput:
		if n.ref.kind != Value || n.ref.thing.Kind != Dimension {
			return false
		}
		switch n.ref.set {
		case Spread, Oval:
			return true
		case Taper:
			return false
		}
		return CannotBeNegative(n.dim)
	}
	return false
}

// CannotBeNegative reports whether a reading of the dimension cannot be below zero.
func CannotBeNegative(d quantity.Dimension) bool {
	return d == quantity.OfLength || d == quantity.OfVolume || d == quantity.OfMass
}

// Under returns the range that an expression gives under a choice of options; false
// where it depends on parts, or on an option that is not chosen.
func (r *RangeExpr) Under(choices map[string]string) (quantity.Range, bool) {
	if r.Broken() {
		return quantity.Range{}, false
	}
	low, ok1 := under(r.low, choices)
	high, ok2 := under(r.high, choices)
	return r.Range(low, high), ok1 && ok2
}

func under(n *node, choices map[string]string) (float64, bool) {
	switch n.op {
	case opConstant:
		return n.k, true
	case opInput:
		if n.ref.thing == nil {
			return 0, false
		}
		choice, ok := choices[n.ref.thing.Name]
		switch {
		case ok && n.ref.kind == OptionIs:
			return truth(choice == n.ref.detail), true
		case ok && n.ref.kind == OptionValue:
			q, err := quantity.Parse(choice)
			return q.SI, err == nil
		}
		return 0, false
	case opSelect:
		test, ok := under(n.args[0], choices)
		if !ok {
			return 0, false
		}
		if test != 0 {
			return under(n.args[1], choices)
		}
		return under(n.args[2], choices)
	case opCurve, opFunction:
		return 0, false
	}
	values := make([]float64, len(n.args))
	for i, a := range n.args {
		x, ok := under(a, choices)
		if !ok {
			return 0, false
		}
		values[i] = x
	}
	y := compute(n.op, values)
	return y, !math.IsNaN(y)
}
