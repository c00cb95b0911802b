package formula

// AlwaysStraight reports whether a node is a sum of multiples of its inputs whatever
// their values are, so that first order is exact and nothing needs to be tried: it
// adds, subtracts, negates, sums and averages, and multiplies and divides only by what
// options, parts and constants give. It may be false for a node that is straight all
// the same.
func (g *Graph) AlwaysStraight(id NodeID) bool {
	varies := map[NodeID]bool{}
	for _, at := range g.Cone(id) {
		n := &g.nodes[at]
		args := g.arguments(n)
		some := false
		for _, a := range args {
			some = some || varies[a]
		}
		switch n.op {
		case opInput:
			varies[at] = g.Inputs[n.extra].mayVary()
			continue
		case opX, opSweep:
			return false
		}
		if !some {
			continue
		}
		switch n.op {
		case opAdd, opSubtract, opNegate, opSum, opMean, opPresent:
		case opMultiply:
			if varies[args[0]] && varies[args[1]] {
				return false
			}
		case opDivide:
			if varies[args[1]] {
				return false
			}
		case opSelect:
			if varies[args[0]] {
				return false
			}
		default:
			return false
		}
		varies[at] = true
	}
	return true
}

// mayVary reports whether an input may have a ±.
func (in Input) mayVary() bool {
	switch in.Kind {
	case Value:
		return true
	case Given, Model:
		return in.Standard > 0
	}
	return false
}
