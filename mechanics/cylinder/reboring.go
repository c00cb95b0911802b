package cylinder

import (
	"sort"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Wall is the worst place of one barrel that is to be rebored.
type Wall struct {
	// Name is what messages call the barrel.
	Name string
	// Bore is the largest diameter read anywhere in it.
	Bore quantity.Length
	// Damage is how deep a score or pit goes into the wall, zero for none. It is taken
	// to be at the largest diameter, the worst case.
	Damage quantity.Length
}

// Oversize is one step that barrels can be bored to.
type Oversize struct {
	// Step is how much larger than standard, as the trade calls it.
	Step quantity.Length
	// Skirt is the diameter of the largest piston of that step, measured where its
	// maker says. Zero where no piston has been measured yet.
	Skirt quantity.Length
}

// Reboring is the question which step to bore to. All barrels get the same.
type Reboring struct {
	Walls []Wall
	// Nominal is the standard bore.
	Nominal quantity.Length
	// Oversizes are the steps to be had, in any order.
	Oversizes []Oversize
	// Clearance is the piston-to-bore clearance aimed at.
	Clearance quantity.Length
	// CleanUp is what must come off every side, at the least, for a sound surface.
	CleanUp quantity.Length
	// Tolerance is how much over the finished size the bore may come out.
	Tolerance quantity.Length
	// LinerOutside and LinerLeast are the liner's outside diameter and the least wall
	// that may be left; zero where there is no liner to look at.
	LinerOutside, LinerLeast quantity.Length
}

// Refusal says why a smaller or a larger step will not do.
type Refusal struct {
	Step quantity.Length
	// Reason is one of the reasons below.
	Reason Reason
	// Short is by how much it falls short, as a diameter for CleanUp, as a wall
	// thickness for Liner.
	Short quantity.Length
	// Wall indexes Walls for CleanUp.
	Wall int
}

// Reason is why a step is refused.
type Reason uint8

// The reasons.
const (
	// DoesNotCleanUp means that the wall would still show wear or damage.
	DoesNotCleanUp Reason = iota + 1
	// LinerTooThin means that too little of the liner would be left.
	LinerTooThin
)

// Rebored is the answer of [Reboring.Choose].
type Rebored struct {
	Oversize
	// Bore is the size to finish to; it may come out up to Tolerance larger.
	Bore quantity.Length
	// FromPiston says that Bore comes from a measured piston; otherwise it is the
	// nominal bore and the step, to be put right once pistons are in hand.
	FromPiston bool
	// Needed is the smallest bore that cleans up every barrel.
	Needed quantity.Length
	// Removed is what comes off each side of each barrel at its worst place, damage
	// included, in the order of Walls.
	Removed []quantity.Length
	// LinerLeft is the wall left at the largest finished size; zero without a liner.
	LinerLeft quantity.Length
	// Refused lists the smaller steps that were passed over.
	Refused []Refusal
}

// NoOversizeError says that no step will do, and why each does not.
type NoOversizeError struct {
	Needed  quantity.Length
	Refused []Refusal
}

// Error names the bore that is needed and why each step fails.
func (e *NoOversizeError) Error() string {
	var b strings.Builder
	b.WriteString("no step will do: cleaning up needs a bore of at least " + lengths.Text(float64(e.Needed)))
	for _, r := range e.Refused {
		b.WriteString("; +" + lengths.Text(float64(r.Step)) + " ")
		if r.Reason == LinerTooThin {
			b.WriteString("leaves the liner " + lengths.Text(float64(r.Short)) + " too thin")
		} else {
			b.WriteString("is " + lengths.Text(float64(r.Short)) + " too small")
		}
	}
	return b.String()
}

// Choose returns the smallest step that cleans up all barrels and leaves enough of the
// liner.
//
//	bore   = skirt + clearance, or nominal + step where no piston is measured
//	needed = max over barrels of (worst bore + 2·damage + 2·clean-up)
//	chosen = the smallest step with bore ≥ needed and (outside − bore − tolerance)/2 ≥ least wall
//
// The bore is bought to the piston, never the piston to the bore. It is finished with a
// plate bolted on if the maker says so, and at 20 °C.
//
// Choose returns an error if a size is below zero or missing, a [*NoOversizeError] if no
// step will do. A measured skirt that is further from nominal + step than the clearance
// could explain (more than 1 % of the nominal bore) is refused, as a piston of another
// step or another engine. It never returns NaN.
//
// Source: common practice, no published source.
func (r Reboring) Choose() (Rebored, error) {
	var in argument.Inspection
	in.Above("nominal", lengths, float64(r.Nominal))
	in.Above("clearance", lengths, float64(r.Clearance))
	in.NotNegative("clean-up", lengths, float64(r.CleanUp))
	in.NotNegative("tolerance", lengths, float64(r.Tolerance))
	in.NotNegative("liner outside", lengths, float64(r.LinerOutside))
	in.NotNegative("liner least", lengths, float64(r.LinerLeast))
	if r.LinerLeast > 0 && r.LinerOutside == 0 {
		in.Refuse("liner outside", "the liner's outside diameter is missing, and a wall of %s is to be kept", lengths.Text(float64(r.LinerLeast)))
	}
	if len(r.Walls) == 0 {
		in.Refuse("walls", "there is no barrel to bore; give the worst bore of at least one")
	}
	if len(r.Oversizes) == 0 {
		in.Refuse("oversizes", "there is no step to bore to; give at least one")
	}
	for _, w := range r.Walls {
		in.Above("worst bore of "+w.Name, lengths, float64(w.Bore))
		in.NotNegative("damage of "+w.Name, lengths, float64(w.Damage))
	}
	for _, o := range r.Oversizes {
		in.NotNegative("step", lengths, float64(o.Step))
		in.NotNegative("skirt", lengths, float64(o.Skirt))
		if off := o.Skirt + r.Clearance - r.Nominal - o.Step; o.Skirt > 0 && (off > r.Nominal/100 || off < -r.Nominal/100) {
			in.Refuse("skirt, step, nominal", "skirt %s does not belong to step %s over a nominal bore of %s", lengths.Text(float64(o.Skirt)), lengths.Text(float64(o.Step)), lengths.Text(float64(r.Nominal)))
		}
	}
	if in.Err != nil {
		return Rebored{}, in.Err
	}

	var needed quantity.Length
	worst := 0
	for i, w := range r.Walls {
		if n := w.Bore + 2*w.Damage + 2*r.CleanUp; n > needed {
			needed, worst = n, i
		}
	}
	steps := append([]Oversize(nil), r.Oversizes...)
	sort.SliceStable(steps, func(i, j int) bool { return steps[i].Step < steps[j].Step })
	var refused []Refusal
	for _, o := range steps {
		bore := r.Nominal + o.Step
		if o.Skirt > 0 {
			bore = o.Skirt + r.Clearance
		}
		// A tenth of a nanometre of rounding must not cost a step.
		const rounding = 1e-10
		if bore < needed-rounding {
			refused = append(refused, Refusal{Step: o.Step, Reason: DoesNotCleanUp, Short: needed - bore, Wall: worst})
			continue
		}
		var left quantity.Length
		if r.LinerOutside > 0 {
			left = (r.LinerOutside - bore - r.Tolerance) / 2
			if left < r.LinerLeast-rounding || left <= 0 {
				refused = append(refused, Refusal{Step: o.Step, Reason: LinerTooThin, Short: r.LinerLeast - left})
				continue
			}
		}
		answer := Rebored{Oversize: o, Bore: bore, FromPiston: o.Skirt > 0, Needed: needed, LinerLeft: left, Refused: refused}
		for _, w := range r.Walls {
			answer.Removed = append(answer.Removed, (bore-w.Bore)/2)
		}
		return answer, nil
	}
	return Rebored{}, &NoOversizeError{Needed: needed, Refused: refused}
}
