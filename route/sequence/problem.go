package sequence

import "fmt"

// Problem is a set of things that are to be put into one order, numbered from 0.
type Problem struct {
	// Before lists for each thing those that must come before it.
	Before [][]int
	// Costs says what an order costs.
	Costs Costs
}

// Costs is what it costs to go from one thing to the next, and to begin. Either Table
// is given, or Setups and Weights.
type Costs struct {
	// Table holds the cost of going from a thing, its row, to another, its column.
	Table [][]int
	// Start is the cost of beginning with each thing; nil costs nothing.
	Start []int

	// Setups says of each thing how each part of the set-up must be; 0 is left out, and
	// differs from nothing. Going from one thing to the next costs the weight of every
	// part that differs.
	Setups  [][]int
	Weights []int
	// Leaves is the set-up that each thing leaves behind, where it is another than it
	// begins with; nil if none does.
	Leaves [][]int
	// First is the set-up at the beginning; nil is all left out.
	First []int
}

// Result is an order and what is known about it.
type Result struct {
	Order []int
	Cost  int
	// Bound is the least that any order could cost, proven.
	Bound int
	// Proven says that no order costs less: Cost and Bound are the same.
	Proven bool
}

// Options bound the work. All of them count steps of search, never time, so that equal
// problems have equal results on every machine.
type Options struct {
	Moves  int // tried by the annealing; 0: as many as a problem of its size is worth
	States int // kept by the exact search; 0: as many; below zero: no exact search
}

// A problem has at most so many things, and costs at most so much.
const (
	most      = 5000
	mostCost  = 1 << 26
	mostValue = 1 << 16
)

// prepared is a problem with its costs in one table and its references both ways.
type prepared struct {
	n      int
	before [][]int32 // without those that others imply
	behind [][]int32
	all    []wide  // everything before, directly or not
	cost   []int32 // from row to column
	start  []int32
	topo   []int32
	parts  []part
}

// part is one part of the set-up, such as the tool.
type part struct {
	weight int
	value  []int32 // by thing, what it begins with; 0 is left out
	leaves []int32 // and what it leaves behind
	first  int32
	values int // the largest value
}

func (q *prepared) d(i, j int32) int32 { return q.cost[int(i)*q.n+int(j)] }

// prepare checks a problem and brings it into the form that the searches use.
func prepare(p *Problem) (*prepared, error) {
	n := len(p.Before)
	if n > most {
		return nil, fmt.Errorf("%d things are too many to put into order; %d are the most", n, most)
	}
	q := &prepared{n: n, cost: make([]int32, n*n), start: make([]int32, n)}
	for i, list := range p.Before {
		for _, j := range list {
			if j < 0 || j >= n {
				return nil, fmt.Errorf("thing %d comes after %d, which is not one of the %d", i, j, n)
			}
		}
	}
	if err := q.sort(p.Before); err != nil {
		return nil, err
	}
	if err := q.price(&p.Costs); err != nil {
		return nil, err
	}
	return q, nil
}

// sort puts the things into some order that is allowed and drops what is implied.
func (q *prepared) sort(before [][]int) error {
	degree := make([]int, q.n)
	behind := make([][]int, q.n)
	for i, list := range before {
		degree[i] = len(list)
		for _, j := range list {
			behind[j] = append(behind[j], i)
		}
	}
	for i := range q.n {
		if degree[i] == 0 {
			q.topo = append(q.topo, int32(i))
		}
	}
	for k := 0; k < len(q.topo); k++ {
		for _, j := range behind[q.topo[k]] {
			if degree[j]--; degree[j] == 0 {
				q.topo = append(q.topo, int32(j))
			}
		}
	}
	if len(q.topo) < q.n {
		for i := range q.n {
			if degree[i] > 0 {
				return fmt.Errorf("thing %d stands in a loop of what comes before what", i)
			}
		}
	}
	q.all = make([]wide, q.n)
	q.before, q.behind = make([][]int32, q.n), make([][]int32, q.n)
	for _, i := range q.topo {
		implied := newWide(q.n)
		for _, j := range before[i] {
			implied.join(q.all[j])
		}
		q.all[i] = implied.clone()
		for _, j := range before[i] {
			if !implied.has(j) && !q.all[i].has(j) {
				q.before[i] = append(q.before[i], int32(j))
				q.behind[j] = append(q.behind[j], i)
				q.all[i].put(j)
			}
		}
	}
	return nil
}

// price fills the table of costs.
func (q *prepared) price(c *Costs) error {
	if c.Table != nil {
		return q.copyTable(c)
	}
	if len(c.Setups) != q.n {
		return fmt.Errorf("%d set-ups for %d things", len(c.Setups), q.n)
	}
	if c.Leaves != nil && len(c.Leaves) != q.n {
		return fmt.Errorf("%d set-ups that are left behind for %d things", len(c.Leaves), q.n)
	}
	if c.First != nil && len(c.First) != len(c.Weights) {
		return fmt.Errorf("the set-up at the beginning has %d parts, and there are %d weights", len(c.First), len(c.Weights))
	}
	for k, w := range c.Weights {
		if w < 0 || w > mostCost/max(1, len(c.Weights)) {
			return fmt.Errorf("the weight %d of a change must lie between 0 and %d", w, mostCost)
		}
		a := part{weight: w, value: make([]int32, q.n), leaves: make([]int32, q.n)}
		if c.First != nil {
			a.first = int32(c.First[k])
		}
		for i := range q.n {
			if len(c.Setups[i]) != len(c.Weights) {
				return fmt.Errorf("thing %d has %d parts of a set-up, and there are %d weights", i, len(c.Setups[i]), len(c.Weights))
			}
			if c.Leaves != nil && (len(c.Leaves[i]) != len(c.Weights) || c.Leaves[i][k] < 0 || c.Leaves[i][k] > mostValue) {
				return fmt.Errorf("thing %d leaves a set-up behind that is none", i)
			}
			v := c.Setups[i][k]
			if v < 0 || v > mostValue {
				return fmt.Errorf("the set-up %d of thing %d must lie between 0 and %d", v, i, mostValue)
			}
			a.value[i], a.values = int32(v), max(a.values, v)
			a.leaves[i] = int32(v)
			if c.Leaves != nil {
				a.leaves[i] = int32(c.Leaves[i][k])
				a.values = max(a.values, c.Leaves[i][k])
			}
		}
		q.parts = append(q.parts, a)
	}
	for i := range q.n {
		for _, a := range q.parts {
			if differ(a.first, a.value[i]) {
				q.start[i] += int32(a.weight)
			}
		}
		row := q.cost[i*q.n : (i+1)*q.n]
		for _, a := range q.parts {
			from := a.leaves[i]
			for j, v := range a.value {
				if differ(from, v) {
					row[j] += int32(a.weight)
				}
			}
		}
	}
	return nil
}

func differ(a, b int32) bool { return a != b && a != 0 && b != 0 }

func (q *prepared) copyTable(c *Costs) error {
	if len(c.Table) != q.n {
		return fmt.Errorf("the table of costs has %d rows for %d things", len(c.Table), q.n)
	}
	for i, row := range c.Table {
		if len(row) != q.n {
			return fmt.Errorf("row %d of the table of costs has %d columns for %d things", i, len(row), q.n)
		}
		for j, x := range row {
			if i == j || q.all[i].has(j) {
				continue // never gone
			}
			if x < 0 || x > mostCost {
				return fmt.Errorf("the cost %d from %d to %d must lie between 0 and %d", x, i, j, mostCost)
			}
			q.cost[i*q.n+j] = int32(x)
		}
	}
	if c.Start != nil && len(c.Start) != q.n {
		return fmt.Errorf("%d costs of beginning for %d things", len(c.Start), q.n)
	}
	for i, x := range c.Start {
		if x < 0 || x > mostCost {
			return fmt.Errorf("the cost %d of beginning with %d must lie between 0 and %d", x, i, mostCost)
		}
		q.start[i] = int32(x)
	}
	return nil
}

// total is what an order costs.
func (q *prepared) total(order []int32) int {
	if len(order) == 0 {
		return 0
	}
	sum := int(q.start[order[0]])
	for k := 1; k < len(order); k++ {
		sum += int(q.d(order[k-1], order[k]))
	}
	return sum
}
