package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// ShearShare is the shear strength of a metal as a share of its tensile strength.
//
// Source: 0.6 as in the worked engagement example that testdata/published holds
// (seen); steel handbooks give 0.55 to 0.65, FED-STD-H28 works with 0.5 for the bolt.
const ShearShare = 0.6

// Weakest says what gives way first when a joint is pulled apart.
type Weakest uint8

// What may give way.
const (
	// NothingKnown is the zero value.
	NothingKnown Weakest = iota
	// BoltBreaks: the bolt tears in its thread, as it should.
	BoltBreaks
	// BoltStrips: the thread of the bolt shears off.
	BoltStrips
	// TappedStrips: the thread of the hole or nut shears out.
	TappedStrips
)

// String returns "bolt", "bolt thread" or "tapped thread".
func (w Weakest) String() string {
	return [...]string{"nothing known", "bolt", "bolt thread", "tapped thread"}[w&3]
}

// Strip is how a joint gives way when it is pulled apart.
type Strip struct {
	// BoltArea and TappedArea are the areas that shear when the thread of the bolt or
	// of the hole strips.
	BoltArea, TappedArea quantity.Area
	// BoltLoad and TappedLoad are the loads that strip them.
	BoltLoad, TappedLoad quantity.Force
	// BreakingLoad is the load that breaks the bolt.
	BreakingLoad quantity.Force
	// Needed is the engagement at which the bolt breaks before either thread strips.
	Needed quantity.Length
	// Weakest is what has the least of the three loads; the bolt where they are equal.
	Weakest Weakest
}

// shearPerLength returns the areas that shear per length of engagement, in metres.
func (t Thread) shearPerLength(worstCase bool) (bolt, tapped float64, err error) {
	ds, es := float64(t.diameter), float64(t.PitchDiameter())
	kn, en := float64(t.MinorDiameter()), es
	if worstCase {
		l, err := t.Limits()
		if err != nil {
			return 0, 0, err
		}
		ds, es, kn, en = float64(l.BoltMajorMin), float64(l.BoltPitchMin), float64(l.TappedMinorMax), float64(l.TappedPitchMax)
	}
	p := float64(t.pitch)
	bolt = math.Pi / p * kn * (p/2 + (es-kn)/root3)
	tapped = math.Pi / p * ds * (p/2 + (ds-en)/root3)
	// The loosest fit of the finest threads leaves no overlap.
	if !(kn < ds && bolt > 0 && tapped > 0) {
		return 0, 0, argument.Refuse("thread", "the threads of "+t.String()+" do not overlap at their limits", "use the basic sizes")
	}
	return bolt, tapped, nil
}

// ShearAreas returns the areas that shear when the thread of the bolt, or that of the
// tapped hole, strips over a length of engagement.
//
//	bolt    = π·L/P·Kn·[ P/2 + (Es − Kn)/√3 ]
//	tapped  = π·L/P·Ds·[ P/2 + (Ds − En)/√3 ]
//
// L is the length in full engagement, P the pitch. With basic sizes Ds is the nominal,
// Es and En the pitch and Kn the minor diameter. In the worst case they are the limits
// of [Thread.Limits]: Ds and Es the least of the bolt, Kn and En the most of the hole;
// the tapped area is then about 22 % less. Use the worst case for a safe answer. A
// chamfer, the run-out of either thread, bending of the threads and the widening of a
// thin nut are left out: take them off the length.
//
// engagement must be above zero; an *[argument.Error] is returned otherwise.
//
// Source: FED-STD-H28/2 and ASME B1.1 appendix B. Seen: a table of shear areas and two
// worked examples that use it. Not seen: the standards.
func ShearAreas(t Thread, engagement quantity.Length, worstCase bool) (bolt, tapped quantity.Area, err error) {
	if err := argument.First(t.check(), argument.Positive("engagement", engagement)); err != nil {
		return 0, 0, err
	}
	b, a, err := t.shearPerLength(worstCase)
	if err != nil {
		return 0, 0, err
	}
	if bolt, err = argument.Result("area", quantity.Area(b*float64(engagement))); err != nil {
		return 0, 0, err
	}
	if tapped, err = argument.Result("area", quantity.Area(a*float64(engagement))); err != nil {
		return 0, 0, err
	}
	return bolt, tapped, nil
}

// Stripping returns the loads at which a joint strips or breaks, what gives way first,
// and the engagement that it needs.
//
//	strip load   = area·0.6·Rm           of the bolt, and of the hole
//	breaking     = As·Rm of the bolt
//	needed       = As·Rm/(0.6·Rm·area per length), the longer of the two threads
//
// Rm is the tensile strength of each metal, As the stress area, the areas those of
// [ShearAreas]. All three loads are against a straight pull; while the wrench turns,
// the bolt yields earlier: see [TighteningStress].
//
// The strengths and the engagement must be above zero; an *[argument.Error] is returned
// otherwise.
//
// Source: as [ShearAreas] and [ShearShare]. The aim that the bolt should break before
// either thread strips is that of FED-STD-H28.
func Stripping(t Thread, engagement quantity.Length, bolt, tapped quantity.Pressure, worstCase bool) (Strip, error) {
	if err := argument.First(argument.Positive("bolt strength", bolt), argument.Positive("tapped strength", tapped)); err != nil {
		return Strip{}, err
	}
	var s Strip
	var err error
	if s.BoltArea, s.TappedArea, err = ShearAreas(t, engagement, worstCase); err != nil {
		return Strip{}, err
	}
	if s.Needed, err = NeededEngagement(t, bolt, tapped, worstCase); err != nil {
		return Strip{}, err
	}
	s.BoltLoad = quantity.Force(float64(s.BoltArea) * ShearShare * float64(bolt))
	s.TappedLoad = quantity.Force(float64(s.TappedArea) * ShearShare * float64(tapped))
	s.BreakingLoad = quantity.Force(float64(t.StressArea()) * float64(bolt))
	for _, load := range []quantity.Force{s.BoltLoad, s.TappedLoad, s.BreakingLoad} {
		if _, err := argument.Result("load", load); err != nil {
			return Strip{}, err
		}
	}
	s.Weakest = BoltBreaks
	least := s.BreakingLoad
	if s.BoltLoad < least {
		s.Weakest, least = BoltStrips, s.BoltLoad
	}
	if s.TappedLoad < least {
		s.Weakest = TappedStrips
	}
	return s, nil
}

// NeededEngagement returns the length of engagement at which the bolt breaks before
// either thread strips: the Needed of [Stripping], with its formula, errors and source.
func NeededEngagement(t Thread, bolt, tapped quantity.Pressure, worstCase bool) (quantity.Length, error) {
	if err := argument.First(t.check(), argument.Positive("bolt strength", bolt), argument.Positive("tapped strength", tapped)); err != nil {
		return 0, err
	}
	b, a, err := t.shearPerLength(worstCase)
	if err != nil {
		return 0, err
	}
	weaker := math.Min(b, a*float64(tapped/bolt))
	return argument.Result("engagement", quantity.Length(float64(t.StressArea())/(ShearShare*weaker)))
}
