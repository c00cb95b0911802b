package formula

import (
	"math"
)

// op is what a node does.
type op uint8

const (
	opConstant op = iota
	opInput
	opX
	opAdd
	opSubtract
	opMultiply
	opDivide
	opRemainder
	opNegate
	opAbs
	opSqrt
	opSquare
	opCube
	opPower
	opExp
	opLn
	opSin
	opCos
	opTan
	opAsin
	opAcos
	opAtan
	opAtan2
	opHypot
	opClamp
	// The next five take several values and leave out those that are absent.
	opMin
	opMax
	opMean
	opSum
	opSpread
	opLess
	opLessEqual
	opGreater
	opGreaterEqual
	opEqual
	opUnequal
	opAnd
	opOr
	opNot
	opSelect
	opPresent
	opCurve
	opFunction
	opSweep
)

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// compute applies an operation to values. It returns NaN where the result is
// undefined.
func compute(o op, v []float64) float64 {
	switch o {
	case opAdd:
		return v[0] + v[1]
	case opSubtract:
		return v[0] - v[1]
	case opMultiply:
		return v[0] * v[1]
	case opDivide:
		if v[1] == 0 {
			return math.NaN()
		}
		return v[0] / v[1]
	case opRemainder:
		return math.Mod(v[0], v[1])
	case opNegate:
		return -v[0]
	case opAbs:
		return math.Abs(v[0])
	case opSqrt:
		return math.Sqrt(v[0])
	case opSquare:
		return v[0] * v[0]
	case opCube:
		return v[0] * v[0] * v[0]
	case opPower:
		return math.Pow(v[0], v[1])
	case opExp:
		return math.Exp(v[0])
	case opLn:
		if v[0] <= 0 {
			return math.NaN()
		}
		return math.Log(v[0])
	case opSin:
		return math.Sin(v[0])
	case opCos:
		return math.Cos(v[0])
	case opTan:
		return math.Tan(v[0])
	case opAsin:
		return math.Asin(v[0])
	case opAcos:
		return math.Acos(v[0])
	case opAtan:
		return math.Atan(v[0])
	case opAtan2:
		if v[0] == 0 && v[1] == 0 {
			return math.NaN()
		}
		return math.Atan2(v[0], v[1])
	case opHypot:
		return math.Hypot(v[0], v[1])
	case opClamp:
		return math.Min(math.Max(v[0], v[1]), v[2])
	case opMin:
		return v[leastOf(v)]
	case opMax:
		return v[mostOf(v)]
	case opMean, opSum:
		total := 0.0
		for _, x := range v {
			total += x
		}
		if o == opMean {
			total /= float64(len(v))
		}
		return total
	case opSpread:
		return v[mostOf(v)] - v[leastOf(v)]
	case opLess:
		return truth(v[0] < v[1])
	case opLessEqual:
		return truth(v[0] <= v[1])
	case opGreater:
		return truth(v[0] > v[1])
	case opGreaterEqual:
		return truth(v[0] >= v[1])
	case opEqual:
		return truth(v[0] == v[1])
	case opUnequal:
		return truth(v[0] != v[1])
	case opAnd:
		return truth(v[0] != 0 && v[1] != 0)
	case opOr:
		return truth(v[0] != 0 || v[1] != 0)
	case opNot:
		return truth(v[0] == 0)
	case opSelect:
		if v[0] != 0 {
			return v[1]
		}
		return v[2]
	}
	return math.NaN()
}

// overflows reports whether a result is infinite though no value that went into it
// is. The ends of an open range are infinite and may be moved.
func overflows(y float64, v []float64) bool {
	if !math.IsInf(y, 0) {
		return false
	}
	for _, x := range v {
		if math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

func leastOf(v []float64) int {
	best := 0
	for i, x := range v {
		if x < v[best] {
			best = i
		}
	}
	return best
}

func mostOf(v []float64) int {
	best := 0
	for i, x := range v {
		if x > v[best] {
			best = i
		}
	}
	return best
}

// several reports whether an operation takes any number of values and leaves out
// those that are absent.
func (o op) several() bool { return o >= opMin && o <= opSpread }

// slopes writes the partial derivatives of an operation into d. At a kink it takes
// the side that the value itself takes.
func slopes(o op, v []float64, y float64, d []float64) {
	switch o {
	case opAdd:
		d[0], d[1] = 1, 1
	case opSubtract:
		d[0], d[1] = 1, -1
	case opMultiply:
		d[0], d[1] = v[1], v[0]
	case opDivide:
		d[0], d[1] = 1/v[1], -y/v[1]
	case opRemainder:
		d[0], d[1] = 1, -math.Trunc(v[0]/v[1])
	case opNegate:
		d[0] = -1
	case opAbs:
		d[0] = 1
		if v[0] < 0 {
			d[0] = -1
		}
	case opSqrt:
		d[0] = 0.5 / y
	case opSquare:
		d[0] = 2 * v[0]
	case opCube:
		d[0] = 3 * v[0] * v[0]
	case opPower:
		d[0], d[1] = 0, 0
		if v[1] != 0 {
			d[0] = v[1] * math.Pow(v[0], v[1]-1)
		}
		if v[0] > 0 {
			d[1] = y * math.Log(v[0])
		}
	case opExp:
		d[0] = y
	case opLn:
		d[0] = 1 / v[0]
	case opSin:
		d[0] = math.Cos(v[0])
	case opCos:
		d[0] = -math.Sin(v[0])
	case opTan:
		d[0] = 1 + y*y
	case opAsin:
		d[0] = 1 / math.Sqrt(1-v[0]*v[0])
	case opAcos:
		d[0] = -1 / math.Sqrt(1-v[0]*v[0])
	case opAtan:
		d[0] = 1 / (1 + v[0]*v[0])
	case opAtan2:
		r2 := v[0]*v[0] + v[1]*v[1]
		d[0], d[1] = v[1]/r2, -v[0]/r2
	case opHypot:
		d[0], d[1] = 1, 1 // at zero, as abs has it
		if y > 0 {
			d[0], d[1] = v[0]/y, v[1]/y
		}
	case opClamp:
		d[0], d[1], d[2] = 0, 0, 0
		switch {
		case v[0] < v[1] && v[1] <= v[2]:
			d[1] = 1
		case v[0] > v[2] || v[1] > v[2]:
			d[2] = 1
		default:
			d[0] = 1
		}
	case opMin:
		zero(d)
		d[leastOf(v)] = 1
	case opMax:
		zero(d)
		d[mostOf(v)] = 1
	case opMean:
		for i := range d {
			d[i] = 1 / float64(len(v))
		}
	case opSum:
		for i := range d {
			d[i] = 1
		}
	case opSpread:
		zero(d)
		d[mostOf(v)]++
		d[leastOf(v)]--
	case opSelect:
		d[0], d[1], d[2] = 0, 0, 0
		if v[0] != 0 {
			d[1] = 1
		} else {
			d[2] = 1
		}
	default:
		zero(d) // conditions step
	}
}

func zero(d []float64) {
	for i := range d {
		d[i] = 0
	}
}
