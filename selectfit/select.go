package selectfit

import (
	"fmt"
	"math"
	"sort"

	"buttonup/quantity"
)

// Place is where one part goes.
type Place struct {
	Name string
	Size quantity.Length
	// Low and High are the hard limits of the clearance, Target is what is wanted. A
	// negative clearance is an interference. Limits that must hold with the ± of the
	// measurements are narrowed by the caller.
	Low, High, Target quantity.Length
}

// Part is a measured part.
type Part struct {
	Name string
	Size quantity.Length
	// From is the place in which the part has run, "" for a new one. A used part goes
	// back to its place or nowhere.
	From string
}

// Pair is a part and a place.
type Pair struct{ Part, Place string }

// Oversize is a size in which parts could be had.
type Oversize struct {
	Name string
	Size quantity.Length
}

// Problem is what is to be put together. Every place gets one part; parts may be left
// over.
type Problem struct {
	Places []Place
	Parts  []Part
	// Around is set where the part goes around the place, as a bearing around a pin:
	// then the clearance is part less place and not place less part.
	Around bool
	// Forbidden pairs may not be; of a forced pair the part goes to that place.
	Forbidden, Forced []Pair
	Oversizes         []Oversize
}

// Fit is one part in its place.
type Fit struct {
	Place, Part string
	Clearance   quantity.Length
	// Off is how far the clearance is from the target, above it if positive.
	Off quantity.Length
}

// Solution serves every place, in the order of the problem. Off is the sum of all
// distances from the targets.
type Solution struct {
	Fits []Fit
	Off  quantity.Length
}

// Shortage is a set of places that cannot all be served: these are all parts that may
// go to any of them, and they are fewer. Smallest is set where no smaller set exists.
type Shortage struct {
	Places, Parts []string
	Smallest      bool
}

// Rescue is an oversize that fits a place of the shortage.
type Rescue struct {
	Fit
	// Left is how many places would still go without if one such part were there.
	Left int
}

// Result is the answer. Either Best is set, and Second if there is another way, or
// Shortage with the rescues there are, the one that leaves the fewest without first
// and then the nearest to its target.
type Result struct {
	Best, Second *Solution
	Shortage     *Shortage
	Rescues      []Rescue
}

// unit is what clearances are counted in, so that sums are exact and equal ways tie.
const unit = 1e-12 // a picometre

// largest bounds sizes, so that no sum overflows.
const largest quantity.Length = 100 // metres

// Solve gives the parts to the places so that
//
//	Σ |clearance − target| over all places is least,
//	low ≤ clearance ≤ high at each, limits included.
//
// Distances are counted in picometres; of equal sums the one is taken that the order
// of places and parts finds first. Second is the best of all ways that differ in at
// least one place; its sum may be the same.
//
// Solve returns an error for a name that is there twice or not at all, a size or
// limit that is no number or beyond 100 m, limits the wrong way round, and forced
// pairs that contradict each other, a limit, a used part's place or a forbidden pair.
//
// The method is the assignment problem of the literature, see the code; that used
// parts keep their place is common practice, no published source.
func Solve(p Problem) (Result, error) {
	c, err := p.costs()
	if err != nil {
		return Result{}, err
	}
	a := assign(c)
	if rows, smallest := a.shortage(); rows != nil {
		return p.explain(a, rows, smallest), nil
	}
	out := Result{Best: p.solution(a.column)}
	if columns, _, ok := a.second(); ok {
		out.Second = p.solution(columns)
	}
	return out, nil
}

// clearance is that of a size in a place.
func (p *Problem) clearance(place Place, size quantity.Length) quantity.Length {
	if p.Around {
		return size - place.Size
	}
	return place.Size - size
}

// count turns a length into whole units.
func count(l quantity.Length) int64 { return int64(math.Round(float64(l) / unit)) }

// cost is what a size costs in a place, none where it is out of limits.
func (p *Problem) cost(place Place, size quantity.Length) int64 {
	x := count(p.clearance(place, size))
	if x < count(place.Low) || x > count(place.High) {
		return none
	}
	if off := x - count(place.Target); off < 0 {
		return -off
	} else {
		return off
	}
}

// costs checks the problem and makes its table.
func (p *Problem) costs() (costs, error) {
	places, parts := map[string]int{}, map[string]int{}
	for i, x := range p.Places {
		if _, twice := places[x.Name]; twice || x.Name == "" {
			return nil, fmt.Errorf("place %q must have a name of its own", x.Name)
		}
		places[x.Name] = i
		for _, l := range []quantity.Length{x.Size, x.Low, x.High, x.Target} {
			if !(l >= -largest && l <= largest) {
				return nil, fmt.Errorf("place %s: %v must be a length of at most 100 m", x.Name, float64(l))
			}
		}
		if x.Low > x.High {
			return nil, fmt.Errorf("place %s: the least clearance %s must not exceed the greatest, %s", x.Name, show(x.Low), show(x.High))
		}
	}
	for j, x := range p.Parts {
		if _, twice := parts[x.Name]; twice || x.Name == "" {
			return nil, fmt.Errorf("part %q must have a name of its own", x.Name)
		}
		parts[x.Name] = j
		if !(x.Size >= -largest && x.Size <= largest) {
			return nil, fmt.Errorf("part %s: %v must be a length of at most 100 m", x.Name, float64(x.Size))
		}
		if _, ok := places[x.From]; !ok && x.From != "" {
			return nil, fmt.Errorf("part %s comes from place %q, which is not among the places; leave it out, or add the place", x.Name, x.From)
		}
	}
	c := make(costs, len(p.Places))
	for i, place := range p.Places {
		c[i] = make([]int64, len(p.Parts))
		for j, part := range p.Parts {
			c[i][j] = p.cost(place, part.Size)
			if part.From != "" && part.From != place.Name {
				c[i][j] = none
			}
		}
	}
	find := func(x Pair) (i, j int, err error) {
		i, ok := places[x.Place]
		if !ok {
			return 0, 0, fmt.Errorf("the pair of part %s and place %s names a place that is not among the places", x.Part, x.Place)
		}
		if j, ok = parts[x.Part]; !ok {
			return 0, 0, fmt.Errorf("the pair of part %s and place %s names a part that is not among the parts", x.Part, x.Place)
		}
		return i, j, nil
	}
	for _, x := range p.Forbidden {
		i, j, err := find(x)
		if err != nil {
			return nil, err
		}
		c[i][j] = none
	}
	for _, x := range p.Forced {
		i, j, err := find(x)
		if err != nil {
			return nil, err
		}
		keep := c[i][j]
		if keep == none {
			return nil, fmt.Errorf("part %s is to go to place %s and may not: its clearance is %s within %s .. %s, or the pair is forbidden, the part belongs elsewhere or another pair takes one of them",
				x.Part, x.Place, show(p.clearance(p.Places[i], p.Parts[j].Size)), show(p.Places[i].Low), show(p.Places[i].High))
		}
		for k := range c {
			c[k][j] = none
		}
		for k := range c[i] {
			c[i][k] = none
		}
		c[i][j] = keep
	}
	return c, nil
}

// show writes a length for a message.
func show(l quantity.Length) string { return quantity.MustUnit("mm").Text(float64(l), 4) }

func (p *Problem) solution(columns []int) *Solution {
	s := &Solution{}
	sum := int64(0)
	for i, j := range columns {
		place, part := p.Places[i], p.Parts[j]
		x := p.clearance(place, part.Size)
		s.Fits = append(s.Fits, Fit{Place: place.Name, Part: part.Name, Clearance: x, Off: x - place.Target})
		sum += p.cost(place, part.Size)
	}
	s.Off = quantity.Length(float64(sum) * unit)
	return s
}

// explain makes the answer where not all places can be served.
func (p *Problem) explain(a *assignment, rows []int, smallest bool) Result {
	out := Result{Shortage: &Shortage{Smallest: smallest}}
	for _, i := range rows {
		out.Shortage.Places = append(out.Shortage.Places, p.Places[i].Name)
	}
	for j, part := range p.Parts {
		for _, i := range rows {
			if a.cost[i][j] != none {
				out.Shortage.Parts = append(out.Shortage.Parts, part.Name)
				break
			}
		}
	}
	for _, o := range p.Oversizes {
		// One more part of this size, for whoever it fits.
		more := make(costs, len(a.cost))
		for i, place := range p.Places {
			more[i] = append(append([]int64(nil), a.cost[i]...), p.cost(place, o.Size))
		}
		left := len(more) - assign(more).served()
		for _, i := range rows {
			if place := p.Places[i]; more[i][len(p.Parts)] != none {
				x := p.clearance(place, o.Size)
				out.Rescues = append(out.Rescues, Rescue{Fit{Place: place.Name, Part: o.Name, Clearance: x, Off: x - place.Target}, left})
			}
		}
	}
	sort.SliceStable(out.Rescues, func(i, j int) bool {
		x, y := out.Rescues[i], out.Rescues[j]
		if x.Left != y.Left {
			return x.Left < y.Left
		}
		return max(count(x.Off), -count(x.Off)) < max(count(y.Off), -count(y.Off))
	})
	return out
}
