package selectfit

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// every calls visit with each way to serve all rows, and what it costs.
func every(c costs, visit func(columns []int, total int64)) {
	columns := make([]int, len(c))
	used := make([]bool, c.columns())
	var place func(i int, total int64)
	place = func(i int, total int64) {
		if i == len(c) {
			visit(columns, total)
			return
		}
		for j, x := range c[i] {
			if x != none && !used[j] {
				used[j], columns[i] = true, j
				place(i+1, total+x)
				used[j] = false
			}
		}
	}
	place(0, 0)
}

// leastShort is the size of the smallest set of rows that fewer columns may serve, 0
// where there is none.
func leastShort(c costs) int {
	least := 0
	for set := 1; set < 1<<len(c); set++ {
		rows, columns := 0, map[int]bool{}
		for i := range c {
			if set>>i&1 == 1 {
				rows++
				for j, x := range c[i] {
					if x != none {
						columns[j] = true
					}
				}
			}
		}
		if len(columns) < rows && (least == 0 || rows < least) {
			least = rows
		}
	}
	return least
}

func randomCosts(r *rand.Rand, rows, columns int, holes float64, most int64) costs {
	c := make(costs, rows)
	for i := range c {
		c[i] = make([]int64, columns)
		for j := range c[i] {
			if c[i][j] = r.Int64N(most + 1); r.Float64() < holes {
				c[i][j] = none
			}
		}
	}
	return c
}

// Best, second best and smallest shortage against trying everything, on 6,000 small
// cases with holes and with ties.
func TestAssignAgainstTryingEverything(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 13))
	feasible, seconds, short := 0, 0, 0
	for n := range 6000 {
		rows := 1 + r.IntN(6)
		columns := rows + r.IntN(3)
		if n%10 == 0 {
			columns = max(1, rows-r.IntN(2)) // too few now and then
		}
		c := randomCosts(r, rows, columns, []float64{0, 0.3, 0.6}[n%3], []int64{3, 20, 1_000_000}[r.IntN(3)])
		var best, next int64 = unreached, unreached
		ways := 0
		every(c, func(_ []int, total int64) {
			ways++
			if total < best {
				best, next = total, best
			} else {
				next = min(next, total)
			}
		})
		a := assign(c)
		set, smallest := a.shortage()
		if ways == 0 {
			short++
			if want := leastShort(c); len(set) != want || !smallest {
				t.Fatalf("%v: shortage %v (%v), the smallest has %d", c, set, smallest, want)
			}
			if sub := leastShort(pick(c, set)); sub != len(set) {
				t.Fatalf("%v: %v can be served", c, set)
			}
			continue
		}
		feasible++
		if set != nil || a.total() != best {
			t.Fatalf("%v: %d (%v), want %d", c, a.total(), set, best)
		}
		a.consistent(t)
		second, more, ok := a.second()
		if ok != (ways > 1) {
			t.Fatalf("%v: a second of %d ways: %v", c, ways, ok)
		}
		if !ok {
			continue
		}
		seconds++
		if slices.Equal(second, a.column) || a.total()+more != next || totalOf(t, c, second) != next {
			t.Fatalf("%v: second %v costs %d (%d), want %d", c, second, a.total()+more, totalOf(t, c, second), next)
		}
	}
	if feasible < 2000 || seconds < 2000 || short < 500 {
		t.Errorf("only %d feasible cases, %d with a second, %d infeasible", feasible, seconds, short)
	}
}

func pick(c costs, rows []int) costs {
	var out costs
	for _, i := range rows {
		out = append(out, c[i])
	}
	return out
}

// totalOf checks that columns serve every row, each once, by pairs that may be.
func totalOf(t *testing.T, c costs, columns []int) int64 {
	t.Helper()
	seen, sum := map[int]bool{}, int64(0)
	for i, j := range columns {
		if j < 0 || seen[j] || c[i][j] == none {
			t.Fatalf("%v is no way to serve %v", columns, c)
		}
		seen[j] = true
		sum += c[i][j]
	}
	return sum
}

// consistent checks what the assignment says of its prices, which is a proof that no
// assignment is cheaper.
func (a *assignment) consistent(t *testing.T) {
	t.Helper()
	for i := range a.cost {
		for j, c := range a.cost[i] {
			if c != none && a.u[i]+a.v[j] > c || a.column[i] == j && a.u[i]+a.v[j] != c {
				t.Fatalf("prices %v and %v contradict the cost %d of %d and %d", a.u, a.v, c, i, j)
			}
		}
	}
	for j, i := range a.row {
		if a.v[j] > 0 || i < 0 && a.v[j] != 0 || i >= 0 && a.column[i] != j {
			t.Fatalf("price %d of column %d, which serves row %d", a.v[j], j, i)
		}
	}
}

// On large cases the prices prove the best; the second is no cheaper and differs.
func TestAssignLarge(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 13))
	for range 20 {
		c := randomCosts(r, 60, 90, 0.5, 1_000_000)
		a := assign(c)
		if a.served() != 60 {
			t.Fatal("not all are served")
		}
		a.consistent(t)
		second, more, ok := a.second()
		if !ok || more < 0 || slices.Equal(second, a.column) || totalOf(t, c, second) != a.total()+more {
			t.Fatalf("second %v %v %v", second, more, ok)
		}
	}
}

// Where the smallest shortage is large, the one that is given still cannot be served
// and loses that with any row.
func TestLargeShortageIsTight(t *testing.T) {
	const n = 40
	c := make(costs, n)
	for i := range c { // a ring of 40 rows over 39 columns: only all of them together are too many
		c[i] = make([]int64, n)
		for j := range c[i] {
			c[i][j] = none
		}
		c[i][i%(n-1)], c[i][(i+1)%(n-1)] = 1, 1
	}
	a := assign(c)
	rows, _ := a.shortage()
	if len(rows) == 0 || assign(pick(c, rows)).served() == len(rows) {
		t.Fatalf("%v can be served", rows)
	}
	for k := range rows {
		rest := append(append([]int(nil), rows[:k]...), rows[k+1:]...)
		if assign(pick(c, rest)).served() < len(rest) {
			t.Fatalf("row %d could be left out of %v", rows[k], rows)
		}
	}
}

func BenchmarkAssign(b *testing.B) {
	c := randomCosts(rand.New(rand.NewPCG(3, 13)), 50, 80, 0.3, 1_000_000)
	b.Run("best", func(b *testing.B) {
		for b.Loop() {
			assign(c)
		}
	})
	b.Run("second", func(b *testing.B) {
		a := assign(c)
		for b.Loop() {
			a.second()
		}
	})
}
