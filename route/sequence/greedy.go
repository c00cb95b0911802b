package sequence

// greedy puts the things into order by always taking what costs least next, of those
// what most others wait for, of those the first.
func (q *prepared) greedy() []int32 {
	degree := make([]int, q.n)
	var ready []int32
	for i := range q.n {
		if degree[i] = len(q.before[i]); degree[i] == 0 {
			ready = append(ready, int32(i))
		}
	}
	order := make([]int32, 0, q.n)
	for len(ready) > 0 {
		best := 0
		for k := range ready {
			if q.sooner(order, ready[k], ready[best]) {
				best = k
			}
		}
		i := ready[best]
		ready[best] = ready[len(ready)-1]
		ready = ready[:len(ready)-1]
		order = append(order, i)
		for _, j := range q.behind[i] {
			if degree[j]--; degree[j] == 0 {
				ready = append(ready, j)
			}
		}
	}
	return order
}

func (q *prepared) sooner(order []int32, a, b int32) bool {
	ca, cb := q.start[a], q.start[b]
	if len(order) > 0 {
		last := order[len(order)-1]
		ca, cb = q.d(last, a), q.d(last, b)
	}
	if ca != cb {
		return ca < cb
	}
	if len(q.behind[a]) != len(q.behind[b]) {
		return len(q.behind[a]) > len(q.behind[b])
	}
	return a < b
}
