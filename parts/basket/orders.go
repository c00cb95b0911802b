package basket

// fewestOrders is the smallest number of sellers with which there is a solution.
func fewestOrders(p *Problem) int {
	for n := 1; n < len(p.Suppliers); n++ {
		c := newChoices(p, p.limit(), false)
		c.atMostOrders(n, p.limit())
		if c.possible(nil) {
			return n
		}
	}
	return len(p.Suppliers)
}

// atMostOrders ties every choice to the sellers that have it and allows only so many
// of them.
//
// Source: the sequential counter of Sinz, "Towards an optimal CNF encoding of Boolean
// cardinality constraints", 2005. Seen: no; from general knowledge.
func (c *choices) atMostOrders(n, within int) {
	p := c.problem
	c.back(0)
	c.orderAt = make([]int32, len(p.Suppliers))
	for u := range c.orderAt {
		c.orderAt[u] = c.variable()
	}
	sellers := make([][]literal, len(p.Parts))
	for _, o := range p.Offers {
		if p.open(&o, within) {
			sellers[o.Part] = append(sellers[o.Part], yes(c.orderAt[o.Supplier]))
		}
	}
	for v, x := range c.list {
		if c.held[x.Place] != int32(v) {
			c.add(append([]literal{no(int32(v))}, sellers[x.Part]...)...)
		}
	}
	c.wishes = append(c.wishes, c.orderAt...)
	var before []int32 // before[k]: more than k of the sellers so far
	for _, u := range c.orderAt {
		now := make([]int32, n)
		for k := range now {
			now[k] = c.variable()
			if before != nil {
				c.add(no(before[k]), yes(now[k]))
				if k > 0 {
					c.add(no(u), no(before[k-1]), yes(now[k]))
				}
			}
		}
		c.add(no(u), yes(now[0]))
		if before != nil {
			c.add(no(u), no(before[n-1]))
		}
		before = now
	}
}
