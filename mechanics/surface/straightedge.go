package surface

import (
	"fmt"
	"sort"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Station is one height along the line of a straight-edge.
type Station struct {
	// At is the distance along the edge, Height the height of the face there.
	At, Height quantity.Length
}

// Edge is what a straight-edge laid on a face shows.
type Edge struct {
	// Gap is the deepest gap between two places where the edge rests.
	Gap quantity.Length
	// At is the station of that gap, by its place in the stations given, and Rests
	// are the two between which the edge bridges it. They say nothing where Gap is
	// zero.
	At    int
	Rests [2]int
	// Rocks is true where the face stands proud between the ends, so that the edge
	// has more than one way to rest.
	Rocks bool
	// RockGap is the largest gap beyond the resting places, on the side that the
	// rocking edge is tipped away from; 0 where it does not rock.
	RockGap quantity.Length
}

// StraightEdge returns what a perfect straight-edge laid along the stations shows.
//
// The edge rests on the upper hull of the heights: the gap at a station is the hull's
// height less its own. A hollow shows as a gap; a crown shows as rocking and leaves no
// gap between its resting places, which is why a straight-edge alone does not prove a
// face flat. The stations may come in any order; they are not changed. A line through
// the ends is not needed: heights from any plate do.
//
// The largest feeler that goes is that gap, judged with [LargestFeeler]; the edge sees
// one line only, so it is no flatness zone.
//
// StraightEdge returns an error for fewer than three stations, for two at one place
// and for values that are not finite or beyond 1,000 km. It never returns NaN.
//
// Source: geometry (upper convex hull); ours. What a straight-edge shows is common
// practice, no published source.
func StraightEdge(stations []Station) (Edge, error) {
	n := len(stations)
	if n < 3 {
		return Edge{}, argument.Refuse("stations", fmt.Sprintf("%d stations must be 3 or more: under two a straight-edge shows nothing", n), "read more places along the line")
	}
	if n > mostPoints {
		return Edge{}, argument.Refuse("stations", fmt.Sprintf("%d stations are more than %d", n, mostPoints), "")
	}
	order := make([]int, n)
	for i, s := range stations {
		if !(abs(s.At) <= 1e6 && abs(s.Height) <= 1e6) {
			return Edge{}, argument.Refuse("stations", fmt.Sprintf("station %d, height %s at %s, must be numbers of up to 1 000 km", i+1, argument.Show(s.Height), argument.Show(s.At)), "")
		}
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return stations[order[i]].At < stations[order[j]].At })
	for k := 1; k < n; k++ {
		if a, b := order[k-1], order[k]; stations[a].At == stations[b].At {
			return Edge{}, argument.Refuse("stations", fmt.Sprintf("stations %d and %d are both at %s", a+1, b+1, argument.Show(stations[b].At)), "keep one reading for a place, or their mean")
		}
	}
	// gap is how far station i lies under the line through stations a and b.
	gap := func(a, b, i int) quantity.Length {
		p, q, s := stations[a], stations[b], stations[i]
		return p.Height + (q.Height-p.Height)*((s.At-p.At)/(q.At-p.At)) - s.Height
	}
	// A station that the line through its neighbours passes within this is level
	// with them: far below a micrometre, above the rounding of heights in metres.
	const level = quantity.Length(1e-12)
	var hull []int
	for _, i := range order {
		for len(hull) >= 2 && gap(hull[len(hull)-2], i, hull[len(hull)-1]) >= -level {
			hull = hull[:len(hull)-1]
		}
		hull = append(hull, i)
	}
	e := Edge{Rocks: len(hull) > 2}
	for k := 1; k < len(hull); k++ {
		a, b := hull[k-1], hull[k]
		for _, i := range order {
			g := gap(a, b, i)
			inside := stations[i].At >= stations[a].At && stations[i].At <= stations[b].At
			switch {
			case inside && g > e.Gap:
				e.Gap, e.At, e.Rests = g, i, [2]int{a, b}
			case !inside && g > e.RockGap:
				e.RockGap = g
			}
		}
	}
	// Stations closer than a float64 can divide by would tip the edge upright.
	if err := argument.AllFinite("gap", e.Gap, e.RockGap); err != nil {
		return Edge{}, err
	}
	return e, nil
}

// LargestFeeler returns the thickest blade of a set that goes into a gap.
//
// A blade as thick as the gap goes. ok is false where not even the thinnest goes. The
// blades may come in any order and are not changed; the true gap lies between the
// blade that goes and the next one, so a verdict needs that next one too.
//
// LargestFeeler returns an error if the gap is negative, if a blade is not above zero
// or not finite, or if there are none. It never returns NaN.
//
// Source: how feelers are used; common practice, no published source.
func LargestFeeler(gap quantity.Length, blades []quantity.Length) (blade quantity.Length, ok bool, err error) {
	if err := argument.NotNegative("gap", gap); err != nil {
		return 0, false, err
	}
	if len(blades) == 0 {
		return 0, false, argument.Refuse("blades", "the set of feelers holds no blade", "give their thicknesses")
	}
	for _, b := range blades {
		if err := argument.Positive("blade", b); err != nil {
			return 0, false, err
		}
		const noise = quantity.Length(1e-12)
		if b <= gap+noise && b > blade {
			blade, ok = b, true
		}
	}
	return blade, ok, nil
}
