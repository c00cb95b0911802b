package basket

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
)

// linear is a problem as an integer program, in its strong form: a column for every
// piece and offer, packs, orders and sizes as further variables. It is written without
// looking at how the solver here sees a problem.
type linear struct {
	names     []string
	cost      []int64
	most      []int64
	rows      []linearRow
	wants     map[string]int
	available bool
}

type linearRow struct {
	vars      []int
	factors   []int64
	least     int64
	bounded   bool // from above by upper
	upper     int64
	fromBelow bool
}

func (l *linear) add(name string, cost, most int64) int {
	l.names = append(l.names, name)
	l.cost = append(l.cost, cost)
	l.most = append(l.most, most)
	return len(l.names) - 1
}

func (l *linear) atMost(upper int64, vars []int, factors ...int64) {
	l.rows = append(l.rows, linearRow{vars: vars, factors: spread(factors, len(vars)), bounded: true, upper: upper})
}

func (l *linear) atLeast(lower int64, vars []int, factors ...int64) {
	l.rows = append(l.rows, linearRow{vars: vars, factors: spread(factors, len(vars)), fromBelow: true, least: lower})
}

func (l *linear) exactly(n int64, vars []int) {
	l.rows = append(l.rows, linearRow{vars: vars, factors: spread(nil, len(vars)), fromBelow: true, least: n, bounded: true, upper: n})
}

func spread(factors []int64, n int) []int64 {
	for len(factors) < n {
		factors = append(factors, 1)
	}
	return factors
}

// beside is a row of ones followed by one other variable with its factor.
func beside(vars []int, other int, factor int64) ([]int, []int64) {
	f := spread(nil, len(vars))
	return append(slices.Clone(vars), other), append(f, factor)
}

// newLinear writes the cheapest basket as an integer program. Nothing may be in hand.
func newLinear(p *Problem) *linear {
	l := &linear{}
	ordered := make([]int, len(p.Suppliers))
	goods := make([][]int, len(p.Suppliers))
	price := make([][]int64, len(p.Suppliers))
	for u, s := range p.Suppliers {
		ordered[u] = l.add(fmt.Sprintf("y%d", u), s.Shipping, 1)
	}
	chosen := map[Choice][]int{} // the columns of the first piece
	offers := make([][]int, len(p.Parts))
	for o, x := range p.Offers {
		if (p.Within == 0 || x.Lead <= p.Within) && !p.Suppliers[x.Supplier].Refused {
			offers[x.Part] = append(offers[x.Part], o)
		}
	}
	filling := make([][]int, len(p.Places))
	for part, x := range p.Parts {
		for _, c := range x.Contents {
			for _, place := range c.Places {
				filling[place] = append(filling[place], part)
			}
		}
	}
	byOffer := make([]map[int][]int, len(p.Offers)) // by content
	for place := range p.Places {
		for piece := range p.pieces(place) {
			var all []int
			bySeller := make([][]int, len(p.Suppliers))
			for _, part := range filling[place] {
				for _, o := range offers[part] {
					v := l.add(fmt.Sprintf("x%d_%d_%d", place, piece, o), 0, 1)
					all = append(all, v)
					bySeller[p.Offers[o].Supplier] = append(bySeller[p.Offers[o].Supplier], v)
					if piece == 0 {
						chosen[Choice{part, place}] = append(chosen[Choice{part, place}], v)
					}
					if byOffer[o] == nil {
						byOffer[o] = map[int][]int{}
					}
					k := p.contentOf(part, place)
					byOffer[o][k] = append(byOffer[o][k], v)
				}
				if piece > 0 {
					// The same part as the first piece.
					var mine []int
					for _, v := range all {
						if strings.HasPrefix(l.names[v], fmt.Sprintf("x%d_%d_", place, piece)) && slices.ContainsFunc(offers[part], func(o int) bool { return l.names[v] == fmt.Sprintf("x%d_%d_%d", place, piece, o) }) {
							mine = append(mine, v)
						}
					}
					first := chosen[Choice{part, place}]
					l.atMost(0, append(slices.Clone(mine), first...), append(spread(nil, len(mine)), negative(len(first))...)...)
				}
			}
			l.exactly(1, all)
			for u, list := range bySeller {
				if len(list) > 0 {
					v, f := beside(list, ordered[u], -1)
					l.atMost(0, v, f...)
				}
			}
		}
	}
	for o, contents := range byOffer {
		if contents == nil {
			continue
		}
		x := &p.Offers[o]
		var only []int
		single := len(contents) == 1
		for k, list := range contents {
			only = list
			single = single && max(1, p.Parts[x.Part].Contents[k].Count)*max(1, x.Pack) == 1
		}
		if single {
			for _, v := range only {
				l.cost[v] = x.Price
				goods[x.Supplier] = append(goods[x.Supplier], v)
				price[x.Supplier] = append(price[x.Supplier], x.Price)
			}
			continue
		}
		n := 0
		for _, list := range contents {
			n = max(n, len(list))
		}
		t := l.add(fmt.Sprintf("t%d", o), x.Price, int64(n))
		goods[x.Supplier] = append(goods[x.Supplier], t)
		price[x.Supplier] = append(price[x.Supplier], x.Price)
		var all []int
		for k, list := range contents {
			all = append(all, list...)
			holds := max(1, p.Parts[x.Part].Contents[k].Count) * max(1, x.Pack)
			v, f := beside(list, t, -int64(holds))
			l.atMost(0, v, f...)
			for _, w := range list {
				l.atMost(0, []int{w, t}, 1, -1)
			}
		}
		v, f := beside(all, t, -1)
		l.atLeast(0, v, f...) // nothing that fills no place
	}
	for u, s := range p.Suppliers {
		if s.FreeOver > 0 && s.Shipping > 0 && len(goods[u]) > 0 {
			z := l.add(fmt.Sprintf("z%d", u), -s.Shipping, 1)
			l.atMost(0, []int{z, ordered[u]}, 1, -1)
			l.atLeast(0, append(slices.Clone(goods[u]), z), append(slices.Clone(price[u]), -s.FreeOver)...)
		}
	}
	l.rules(p, chosen)
	return l
}

func negative(n int) []int64 {
	f := make([]int64, n)
	for i := range f {
		f[i] = -1
	}
	return f
}

func (l *linear) rules(p *Problem, chosen map[Choice][]int) {
	columns := func(list []Choice) (out [][]int) {
		for _, c := range list {
			for place := range p.Places {
				if v := chosen[Choice{c.Part, place}]; v != nil && (c.Place == Anywhere || c.Place == place) {
					out = append(out, v)
				}
			}
		}
		return out
	}
	for _, r := range p.Rules {
		of, with := columns(r.Of), slices.Concat(columns(r.With)...)
		switch r.Kind {
		case Insists:
			l.atLeast(1, slices.Concat(of...))
		case Refuses:
			for _, v := range of {
				l.atMost(0, v)
			}
		case Needs:
			for _, v := range of {
				l.atMost(0, append(slices.Clone(v), with...), append(spread(nil, len(v)), negative(len(with))...)...)
			}
		case Excludes:
			for _, a := range of {
				for _, b := range columns(r.With) {
					l.atMost(1, append(slices.Clone(a), b...))
				}
			}
		}
	}
	for i, a := range p.Agreements {
		sizes := map[int]int{}
		var all []int
		at := map[[2]int][]int{}
		for _, s := range a.Sized {
			if _, ok := sizes[s.Class]; !ok {
				sizes[s.Class] = l.add(fmt.Sprintf("s%d_%d", i, s.Class), 0, 1)
				all = append(all, sizes[s.Class])
			}
			for place := range p.Places {
				if v := chosen[Choice{s.Part, place}]; v != nil && (s.Place == Anywhere || s.Place == place) {
					at[[2]int{place, s.Class}] = append(at[[2]int{place, s.Class}], v...)
				}
			}
		}
		l.atMost(1, all)
		for place := range p.Places {
			for class, z := range sizes {
				if list := at[[2]int{place, class}]; len(list) > 0 {
					v, f := beside(list, z, -1)
					l.atMost(0, v, f...)
				}
			}
		}
	}
}

// write gives the program in the format that CBC and GLPK read.
func (l *linear) write(file string) error {
	var b strings.Builder
	b.WriteString("Minimize\n obj:")
	for v, c := range l.cost {
		if c != 0 {
			fmt.Fprintf(&b, "\n %+d %s", c, l.names[v])
		}
	}
	b.WriteString("\nSubject To\n")
	for i, r := range l.rows {
		var sum strings.Builder
		for k, v := range r.vars {
			fmt.Fprintf(&sum, "\n %+d %s", r.factors[k], l.names[v])
		}
		if len(r.vars) == 0 {
			fmt.Fprintf(&sum, " 0 %s", l.names[0])
		}
		switch {
		case r.bounded && r.fromBelow:
			fmt.Fprintf(&b, " r%d:%s = %d\n", i, sum.String(), r.upper)
		case r.bounded:
			fmt.Fprintf(&b, " r%d:%s <= %d\n", i, sum.String(), r.upper)
		default:
			fmt.Fprintf(&b, " r%d:%s >= %d\n", i, sum.String(), r.least)
		}
	}
	b.WriteString("Bounds\n")
	for v, m := range l.most {
		fmt.Fprintf(&b, " 0 <= %s <= %d\n", l.names[v], m)
	}
	b.WriteString("General\n")
	for _, n := range l.names {
		b.WriteString(" " + n + "\n")
	}
	b.WriteString("End\n")
	return os.WriteFile(file, []byte(b.String()), 0o600)
}

// writeArrays gives it as arrays for scipy.optimize.milp.
func (l *linear) writeArrays(file string) error {
	var out struct {
		Cost, Most          []int64
		Row, Column, Factor []int64
		Lower, Upper        []float64
	}
	out.Cost, out.Most = l.cost, l.most
	for i, r := range l.rows {
		for k, v := range r.vars {
			out.Row, out.Column, out.Factor = append(out.Row, int64(i)), append(out.Column, int64(v)), append(out.Factor, r.factors[k])
		}
		low, high := -1e30, 1e30
		if r.fromBelow {
			low = float64(r.least)
		}
		if r.bounded {
			high = float64(r.upper)
		}
		out.Lower, out.Upper = append(out.Lower, low), append(out.Upper, high)
	}
	data, err := json.Marshal(out)
	if err != nil {
		return err
	}
	return os.WriteFile(file, data, 0o600)
}
