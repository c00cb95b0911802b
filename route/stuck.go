package route

// tellStuck says why what a plan leaves out cannot be finished.
func (r *rules) tellStuck(p *Plan, moves []move) {
	b := r.startBench()
	for _, m := range moves {
		r.take(b, m)
	}
	for i := range r.Operations {
		if !r.finished(b.state, i) {
			chain, loop := r.chain(b.state, i)
			p.Stuck = append(p.Stuck, Stuck{i, chain, loop})
		}
	}
}

// chain finds the shortest chain of reasons from an operation to what nothing can
// change, or back to where the chain has been.
func (r *rules) chain(s *state, i int) (chain []Reason, loop bool) {
	type node struct {
		operation int
		reason    Reason
		from      *node
	}
	seen := map[int]*node{i: {operation: i}}
	queue := []*node{seen[i]}
	tell := func(n *node, last Reason) []Reason {
		list := []Reason{last}
		for ; n.from != nil; n = n.from {
			list = append([]Reason{n.reason}, list...)
		}
		return list
	}
	var again *node
	var back Reason
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, why := range r.obstacles(s, n.operation) {
			if why.By < 0 {
				return tell(n, why), false
			}
			if why.Kind == Works && r.after[n.operation].has(why.By) {
				path := r.needPath(n.operation, why.By)
				list := append(tell(n, path[0]), path[1:]...)
				return append(list, Reason{ShutIn, why.By, n.operation, why.Space, -1, -1, -1}), true
			}
			if seen[why.By] != nil {
				if again == nil {
					again, back = n, why
				}
				continue
			}
			seen[why.By] = &node{why.By, why, n}
			queue = append(queue, seen[why.By])
		}
	}
	if again != nil {
		return tell(again, back), true
	}
	list := r.obstacles(s, i)
	return list[:min(len(list), 1)], false
}

// obstacles lists the rules that keep an operation from being finished, with the
// operation that each waits for.
func (r *rules) obstacles(s *state, i int) []Reason {
	var list []Reason
	add := func(kind ReasonKind, by, space int) {
		list = append(list, Reason{kind, i, by, space, -1, -1, -1})
	}
	if s.done[i] {
		if !r.trialNow(s, i) {
			return nil
		}
		for _, j := range r.neededBy[i] {
			if s.done[j] && r.comesOff(j) || !s.done[j] && r.standsOn(s, j, i) {
				add(StandsForTrial, j, -1)
			}
		}
		for _, sp := range r.inside[i] {
			if s.closed[sp] {
				for _, c := range r.closers[sp] {
					add(Works, c, sp)
				}
			}
		}
		if len(list) == 0 {
			add(StandsForTrial, -1, -1)
		}
		return list
	}
	why, no := r.obstacle(s, i)
	if !no {
		for _, w := range r.ends[i] {
			add(InTime, w.from, -1)
		}
		for _, w := range r.Operations[i].Within {
			add(InTime, w.Operation, -1)
		}
		if len(list) == 0 {
			add(Written, -1, -1)
		}
		return list
	}
	switch why.Kind {
	case LockedBy:
		for _, u := range r.Locks[why.Lock].Until {
			if !s.done[u] || s.seq[u] <= s.locked[why.Lock] {
				list = append(list, Reason{LockedUntil, i, u, -1, -1, why.Lock, -1})
			}
		}
	case Works:
		for _, c := range r.closers[why.Space] {
			add(Works, c, why.Space)
		}
	case LeftInside:
		for _, o := range r.takenBy[why.Temporary] {
			if !s.done[o] {
				list = append(list, Reason{LeftInside, i, o, why.Space, -1, -1, why.Temporary})
			}
		}
	}
	if len(list) == 0 {
		list = append(list, why)
	}
	return list
}

// needPath gives the shortest way from an operation to one that it needs.
func (r *rules) needPath(from, to int) []Reason {
	via := map[int]int{from: from}
	for queue := []int{from}; len(queue) > 0; queue = queue[1:] {
		for _, n := range r.Operations[queue[0]].Needs {
			if _, ok := via[n]; !ok {
				via[n] = queue[0]
				queue = append(queue, n)
			}
		}
	}
	var list []Reason
	for i := to; i != from; i = via[i] {
		list = append([]Reason{{Needs, via[i], i, -1, -1, -1, -1}}, list...)
	}
	return list
}
