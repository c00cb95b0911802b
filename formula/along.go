package formula

// Along computes what a sweep looks through: its formula at n places, from one end of
// its range to the other. Where the formula has no value the status says so. It returns
// nil for a node that is no sweep or has no value. It may be asked again, but changes
// what the values hold of the body of the sweep.
func (g *Graph) Along(id NodeID, v *Values, n int) (x, y []float64, status []Status) {
	node := &g.nodes[id]
	for node.op == opPresent || node.op == opAdd {
		id = g.arguments(node)[0]
		node = &g.nodes[id]
	}
	if node.op != opSweep || n < 2 || v.status[id] != Known {
		return nil, nil, nil
	}
	s := &g.sweeps[node.extra]
	for i := range n {
		at := s.low + (s.high-s.low)*float64(i)/float64(n-1)
		v.node[s.x], v.status[s.x] = at, Known
		for _, b := range s.body {
			g.evaluate(b, v)
		}
		x, y, status = append(x, at), append(y, v.node[s.root]), append(status, v.status[s.root])
	}
	return x, y, status
}
