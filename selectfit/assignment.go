package selectfit

import (
	"math"
	"slices"
)

// none marks a pair that may not be.
const none int64 = -1

// costs are what each pair of a row and a column costs, in whole units, or none. There
// are at least as many columns as rows where every row is to be served.
type costs [][]int64

func (c costs) columns() int {
	if len(c) == 0 {
		return 0
	}
	return len(c[0])
}

// assignment serves rows with columns, each at most once.
type assignment struct {
	cost costs
	// column of a row and row of a column, -1 for none.
	column, row []int
	// u and v are dual prices of rows and columns: u + v never exceeds a cost and
	// is equal to it where row and column are matched; v is never above zero, and
	// zero for a column that serves no row.
	u, v []int64
}

const unreached = math.MaxInt64

// assign serves rows one after another, each along a cheapest chain of reassignments.
// Of the rows that can be served together it serves as many as possible, and those
// that it serves as cheaply as that can be done.
//
// Source: the Hungarian method by shortest augmenting paths with dual prices (H. W.
// Kuhn, 1955; R. Jonker and A. Volgenant, 1987), textbook; from memory. Checked
// against published instances, against trying everything, and against scipy.
func assign(c costs) *assignment {
	a := &assignment{cost: c, column: make([]int, len(c)), row: make([]int, c.columns()), u: make([]int64, len(c)), v: make([]int64, c.columns())}
	for i := range a.column {
		a.column[i] = -1
	}
	for j := range a.row {
		a.row[j] = -1
	}
	for i := range c {
		a.serve(i)
	}
	return a
}

// total returns what the rows that are served cost.
func (a *assignment) total() int64 {
	sum := int64(0)
	for i, j := range a.column {
		if j >= 0 {
			sum += a.cost[i][j]
		}
	}
	return sum
}

// served counts the rows that have a column.
func (a *assignment) served() int {
	n := 0
	for _, j := range a.column {
		if j >= 0 {
			n++
		}
	}
	return n
}

// serve gives row i a column, moving others where that is cheaper; false where it
// cannot be served beside those that are.
func (a *assignment) serve(i int) bool {
	m := len(a.v)
	distance := make([]int64, m)
	from := make([]int, m) // the row from which a column is reached
	done := make([]bool, m)
	for j := range distance {
		distance[j] = unreached
	}
	// The price of the new row is such that its cheapest column costs nothing more.
	a.u[i] = math.MaxInt64
	for j, c := range a.cost[i] {
		if c != none {
			a.u[i] = min(a.u[i], c-a.v[j])
		}
	}
	if a.u[i] == math.MaxInt64 {
		a.u[i] = 0
		return false
	}
	relax := func(r int, base int64) {
		for j, c := range a.cost[r] {
			if c == none || done[j] {
				continue
			}
			if d := base + c - a.u[r] - a.v[j]; d < distance[j] {
				distance[j], from[j] = d, r
			}
		}
	}
	relax(i, 0)
	for {
		best := -1
		for j := range distance {
			if !done[j] && distance[j] < unreached && (best < 0 || distance[j] < distance[best]) {
				best = j
			}
		}
		if best < 0 {
			return false
		}
		done[best] = true
		if r := a.row[best]; r >= 0 {
			relax(r, distance[best])
			continue
		}
		end := distance[best]
		for j := range done {
			if !done[j] || j == best {
				continue
			}
			a.v[j] += distance[j] - end
			a.u[a.row[j]] += end - distance[j]
		}
		a.u[i] += end
		for j := best; ; {
			r := from[j]
			next := a.column[r]
			a.column[r], a.row[j] = j, r
			if r == i {
				return true
			}
			j = next
		}
	}
}

// second returns the cheapest assignment that is not this one, and what it costs more;
// false where there is no other. All rows must be served.
//
// Another assignment serves some row i by another column. The cheapest of those
// differs from this one by one closed chain through row i: a second chain beside it
// would only add to the cost. Columns that serve nobody take part in the chain as if
// all of them were one more row that costs nothing anywhere. So it is found by one
// search from each row, to the column that it has now, without the pair itself.
func (a *assignment) second() (columns []int, more int64, ok bool) {
	more = unreached
	for i := range a.column {
		if c, d := a.around(i, more); d < more {
			columns, more, ok = c, d, true
		}
	}
	return columns, more, ok
}

// around finds the cheapest chain by which row i leaves its column, if it costs less
// than limit.
func (a *assignment) around(i int, limit int64) ([]int, int64) {
	m := len(a.v)
	const idle = -1 // the rows that columns serving nobody belong to
	goal := a.column[i]
	distance := make([]int64, m)
	from := make([]int, m)
	done := make([]bool, m)
	for j, c := range a.cost[i] {
		distance[j], from[j] = unreached, i
		if c != none && j != goal {
			distance[j] = c - a.u[i] - a.v[j]
		}
	}
	idleFrom := -1 // the column by which the idle rows were reached
	for {
		best := -1
		for j := range distance {
			if !done[j] && distance[j] < limit && (best < 0 || distance[j] < distance[best]) {
				best = j
			}
		}
		if best < 0 {
			return nil, unreached
		}
		if best == goal {
			break
		}
		done[best] = true
		r := a.row[best]
		if r < 0 {
			if idleFrom >= 0 {
				continue
			}
			idleFrom = best
			for j := range distance {
				if d := distance[best] - a.v[j]; !done[j] && d < distance[j] {
					distance[j], from[j] = d, idle
				}
			}
			continue
		}
		for j, c := range a.cost[r] {
			if c == none || done[j] {
				continue
			}
			if d := distance[best] + c - a.u[r] - a.v[j]; d < distance[j] {
				distance[j], from[j] = d, r
			}
		}
	}
	columns := append([]int(nil), a.column...)
	for j := goal; ; {
		r := from[j]
		if r == idle {
			j = idleFrom
			continue
		}
		columns[r] = j
		if r == i {
			return columns, distance[goal]
		}
		j = a.column[r]
	}
}

// shortage returns a set of rows that cannot all be served: together they may be
// served by fewer columns than they are. It is the smallest there is where that could
// be proven with moderate effort, else one of which no row can be left out. It is nil
// where all rows are served.
//
// Source: P. Hall's theorem on representatives, textbook. To find the smallest set is
// hard in general (it is the girth of a transversal matroid; memory), so the search
// for it is bounded.
func (a *assignment) shortage() (rows []int, smallest bool) {
	if a.served() == len(a.column) {
		return nil, false
	}
	for i, j := range a.column {
		if j < 0 {
			if list := a.reduce(a.reached(i)); rows == nil || len(list) < len(rows) {
				rows = list
			}
		}
	}
	slices.Sort(rows)
	s := search{cost: a.cost, budget: 500_000}
	for size := 1; size < len(rows); size++ {
		if found := s.ofSize(size); found != nil {
			return found, true
		}
		if s.budget <= 0 {
			return rows, false
		}
	}
	return rows, true
}

// reached returns the rows that could be unserved in place of row i.
func (a *assignment) reached(i int) []int {
	list := []int{i}
	seen := make([]bool, len(a.v))
	for k := 0; k < len(list); k++ {
		for j, c := range a.cost[list[k]] {
			if c != none && !seen[j] && a.row[j] >= 0 {
				seen[j] = true
				list = append(list, a.row[j])
			}
		}
	}
	return list
}

// reduce leaves rows out of a set as long as it still cannot be served whole.
func (a *assignment) reduce(rows []int) []int {
	for k := len(rows) - 1; k >= 0; k-- {
		var rest costs
		without := append(append([]int(nil), rows[:k]...), rows[k+1:]...)
		for _, i := range without {
			rest = append(rest, a.cost[i])
		}
		if assign(rest).served() < len(rest) {
			rows = without
		}
	}
	return rows
}

// search looks for a set of a given size that fewer columns than it has rows may
// serve.
type search struct {
	cost   costs
	budget int
}

func (s *search) ofSize(size int) []int {
	used := make([]int, s.cost.columns())
	var rows []int
	var extend func(first, columns int) bool
	extend = func(first, columns int) bool {
		if len(rows) == size {
			return true
		}
		for i := first; i <= len(s.cost)-(size-len(rows)); i++ {
			if s.budget--; s.budget <= 0 {
				return false
			}
			more := columns
			for j, c := range s.cost[i] {
				if c != none {
					if used[j]++; used[j] == 1 {
						more++
					}
				}
			}
			rows = append(rows, i)
			if more < size && extend(i+1, more) {
				return true
			}
			rows = rows[:len(rows)-1]
			for j, c := range s.cost[i] {
				if c != none {
					used[j]--
				}
			}
		}
		return false
	}
	if extend(0, 0) {
		return rows
	}
	return nil
}
