package cylinder

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Each sentence must give the value with its unit and what is allowed, and name every
// argument that has a part in it.
func TestRefusals(t *testing.T) {
	drop := func(stroke, rod, angle, offset float64) error {
		_, err := PistonDrop(mm(stroke), mm(rod), deg(angle), mm(offset))
		return err
	}
	second := func(_ any, err error) error { return err }
	for _, c := range []struct {
		err            error
		argument, says string
	}{
		{drop(0, 178, 0, 0), "stroke", "stroke 0 mm must be above 0 mm"},
		{drop(86.5, -1, 0, 0), "rod", "rod -1 mm must be above 0 mm"},
		{drop(86.5, 40, 0, 0), "rod, stroke", "rod 40 mm must be longer than 43.25 mm, half the stroke 86.5 mm, or the crank cannot turn"},
		{drop(86.5, 44, 0, -2), "rod, stroke, offset", "rod 44 mm must be longer than 45.25 mm, half the stroke 86.5 mm and the offset -2 mm together, or the crank cannot turn"},
		{drop(86.5, 178, math.NaN(), 0), "angle", "angle NaN deg is not a number"},
		{drop(2e6, 178, 0, 0), "stroke", "stroke 2000000 mm must be at most 1000000 mm"},
		{second(StrokeFromDepths(mm(5), mm(5))), "top, bottom", "the depth at bottom dead centre 5 mm must be more than that at top dead centre 5 mm"},
		{second(Clearance{Chamber: cc(5), Deck: mm(-5), Pockets: cc(-2)}.Volume(mm(92))), "chamber, gasket thickness, deck, pockets", "chamber 5 cc, gasket thickness 0 mm, deck -5 mm and pockets -2 cc leave a clearance volume of -30.23805 cc, which must be above zero"},
		{second(Clearance{Chamber: cc(5), GasketThickness: mm(1)}.Volume(mm(92))), "gasket bore", "gasket bore 0 mm must be above zero where gasket thickness is 1 mm"},
		{second(TrappedCompression(mm(92), demoCrank, demoClearance(0), deg(190))), "inlet closes", "inlet closes 190 deg must be less than 180 deg from bottom centre; it is the angle after bottom centre"},
		{second(LinerLeft(mm(92), mm(98))), "bore, outside", "bore 98 mm must be smaller than the liner's outside 92 mm"},
		{second(RingGap(mm(92), 4)), "factor", "factor 4 must be from 0 to 0.05"},
		{second(LeakDown(5e5, 6e5)), "cylinder, supply", "cylinder 6 bar must not be more than supply 5 bar"},
		{second(Bore{{mm(92), mm(92)}, {mm(92), 0}}.Shape()), "bore at height 2 axis 2", "bore at height 2 axis 2 0 mm must be above 0 mm"},
	} {
		var refusal *argument.Error
		if !errors.As(c.err, &refusal) {
			t.Errorf("%v is no refusal; want %q", c.err, c.says)
			continue
		}
		if refusal.Says != c.says || refusal.Argument != c.argument {
			t.Errorf("%s: %q\nwant %s: %q", refusal.Argument, refusal.Says, c.argument, c.says)
		}
	}
	_, _, err := StandardAtmosphere(12000)
	if err == nil || err.Error() != "altitude 12000 m must be from -500 m to 11000 m" {
		t.Errorf("altitude: %v", err)
	}
}

func TestNoOversizeSentence(t *testing.T) {
	r := demoReboring()
	r.LinerLeast = mm(2.80)
	_, err := r.Choose()
	const want = "no step will do: cleaning up needs a bore of at least 92.32 mm; +0.25 mm is 0.07 mm too small; +0.5 mm leaves the liner 0.0555 mm too thin; +1 mm leaves the liner 0.305 mm too thin"
	if err == nil || err.Error() != want {
		t.Errorf("%v\nwant %s", err, want)
	}
	r = demoReboring()
	r.Oversizes[2].Skirt = mm(95)
	if _, err := r.Choose(); err == nil || err.Error() != "skirt 95 mm does not belong to step 0.5 mm over a nominal bore of 92 mm" {
		t.Errorf("%v", err)
	}
}

// awkward are numbers that find the holes in a check.
var awkward = []float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, math.Copysign(0, -1), 1e-320, 1e-30, 1e-12, 1e-9, 1e-6, 1e-3, 0.04, 0.09, 0.18, 1, 1.25, 7, 100, 999, 1e4, 1e6, 1e12, 1e300, math.MaxFloat64, -1e-9, -0.04, -1, -1e300}

// No function may return NaN or an infinity, whatever it is given, and none may panic.
func TestNeverNaN(t *testing.T) {
	L := func(x float64) quantity.Length { return quantity.Length(x) }
	pair := func(a, b float64, err error) ([]float64, error) { return []float64{a, b}, err }
	single := func(a float64, err error) ([]float64, error) { return []float64{a}, err }
	functions := map[string]func(v []float64) ([]float64, error){
		"drop": func(v []float64) ([]float64, error) {
			x, err := PistonDrop(L(v[0]), L(v[1]), quantity.Angle(v[2]), L(v[3]))
			return single(float64(x), err)
		},
		"velocity": func(v []float64) ([]float64, error) {
			x, err := Crank{L(v[0]), L(v[1]), L(v[3])}.VelocityFactor(quantity.Angle(v[2]))
			return single(float64(x), err)
		},
		"acceleration": func(v []float64) ([]float64, error) {
			x, err := Crank{L(v[0]), L(v[1]), L(v[3])}.AccelerationFactor(quantity.Angle(v[2]))
			return single(float64(x), err)
		},
		"rod": func(v []float64) ([]float64, error) {
			c := Crank{L(v[0]), L(v[1]), L(v[3])}
			x, err := c.RodAngle(quantity.Angle(v[2]))
			y, _ := c.RodSwing(quantity.Angle(v[2]))
			return pair(float64(x), y, err)
		},
		"centres": func(v []float64) ([]float64, error) {
			c := Crank{L(v[0]), L(v[1]), L(v[3])}
			a, b, err := c.DeadCentres()
			x, _ := c.Travel()
			return []float64{float64(a), float64(b), float64(x)}, err
		},
		"angles": func(v []float64) ([]float64, error) {
			a, b, err := Crank{L(v[0]), L(v[1]), L(v[3])}.AnglesAt(L(v[2]))
			return pair(float64(a), float64(b), err)
		},
		"fastest": func(v []float64) ([]float64, error) {
			a, b, err := Crank{L(v[0]), L(v[1]), L(v[3])}.FastestDown()
			return pair(float64(a), float64(b), err)
		},
		"swept": func(v []float64) ([]float64, error) {
			a, b, err := Displacement(L(v[0]), L(v[1]), int(math.Max(-5, math.Min(99*v[2], 99))))
			return pair(float64(a), float64(b), err)
		},
		"depths": func(v []float64) ([]float64, error) {
			x, err := StrokeFromDepths(L(v[0]), L(v[1]))
			return single(float64(x), err)
		},
		"crevice": func(v []float64) ([]float64, error) {
			x, err := TopLandCrevice(L(v[0]), L(v[1]), L(v[2]))
			return single(float64(x), err)
		},
		"down-fill": func(v []float64) ([]float64, error) {
			x, err := DownFill(L(v[0]), L(v[1]), quantity.Volume(v[2]))
			return single(float64(x), err)
		},
		"static": func(v []float64) ([]float64, error) {
			c, err := StaticCompression(L(v[0]), L(v[1]), Clearance{quantity.Volume(v[2]), L(v[3]), L(v[4]), L(v[5]), quantity.Volume(v[6]), quantity.Volume(v[7])})
			return []float64{c.Ratio, float64(c.Swept), float64(c.Clearance), float64(c.Stroke)}, err
		},
		"trapped": func(v []float64) ([]float64, error) {
			c, err := TrappedCompression(L(v[0]), Crank{L(v[1]), L(v[2]), 0}, Clearance{Chamber: quantity.Volume(v[3]), Deck: L(v[4])}, quantity.Angle(v[5]))
			return []float64{c.Ratio, float64(c.Swept), float64(c.Clearance), float64(c.Stroke)}, err
		},
		"volume at": func(v []float64) ([]float64, error) {
			x, err := VolumeAt(L(v[0]), Crank{L(v[1]), L(v[2]), L(v[3])}, quantity.Volume(v[4]), quantity.Angle(v[5]))
			return single(float64(x), err)
		},
		"deck": func(v []float64) ([]float64, error) {
			x, err := Stack{L(v[0]), L(v[1]), L(v[2]), L(v[3]), L(v[4]), L(v[5])}.Deck()
			d, _ := DeckFromBridge(L(v[0]), L(v[1]))
			s, _ := Squish(L(v[0]), L(v[1]))
			return []float64{float64(x), float64(d.Height), float64(d.Rock), float64(s)}, err
		},
		"bore": func(v []float64) ([]float64, error) {
			s, err := Bore{{L(v[0]), L(v[1])}, {L(v[2]), L(v[3])}}.Shape()
			w, _ := WearStep(L(v[0]), L(v[1]))
			l, _ := LinerLeft(L(v[0]), L(v[1]))
			return []float64{float64(s.Largest), float64(s.Smallest), float64(s.Ovality), float64(s.Taper), float64(w), float64(l)}, err
		},
		"reboring": func(v []float64) ([]float64, error) {
			// Wall, step and liner in proportion to the bore, or hardly any would do.
			got, err := Reboring{Walls: []Wall{{"", L(v[2] * (1 + v[0])), L(v[1] / 100)}}, Nominal: L(v[2]), Oversizes: []Oversize{{L(v[2] * v[3]), 0}, {L(v[4]), L(v[2] + v[4])}}, Clearance: L(v[2] * v[5] / 200), CleanUp: L(v[6] / 100), LinerOutside: L(v[2] * 3)}.Choose()
			return []float64{float64(got.Bore), float64(got.Needed), float64(got.LinerLeft)}, err
		},
		"ring": func(v []float64) ([]float64, error) {
			x, err := RingGapHot(L(v[0]), L(v[1]), Heat{quantity.Expansion(v[2]), quantity.TemperatureDifference(v[3])}, Heat{quantity.Expansion(v[4]), quantity.TemperatureDifference(v[5])})
			y, _ := RingGap(L(v[0]), v[1])
			z, _ := RingGapAt(L(v[0]), L(v[1]), L(v[2]))
			w, _ := TaperFromGaps(L(v[0]), L(v[1]))
			return []float64{float64(x), float64(y), float64(z), float64(w)}, err
		},
		"piston": func(v []float64) ([]float64, error) {
			x, err := PistonClearanceHot(L(v[0]), L(v[1]), Heat{quantity.Expansion(v[2]), quantity.TemperatureDifference(v[3])}, Heat{quantity.Expansion(v[4]), quantity.TemperatureDifference(v[5])})
			return single(float64(x), err)
		},
		"bonded": func(v []float64) ([]float64, error) {
			x, err := BondedExpansion(Layer{quantity.Pressure(v[0]), L(v[1]), quantity.Expansion(v[2])}, Layer{quantity.Pressure(v[3]), L(v[4]), quantity.Expansion(v[5])})
			return single(float64(x), err)
		},
		"pressure": func(v []float64) ([]float64, error) {
			x, err := CrankingPressure(quantity.Pressure(v[0]), 1+50*v[1], 1+0.4*v[2])
			y, _ := LeakDown(quantity.Pressure(v[0]), quantity.Pressure(v[1]))
			p, temperature, _ := StandardAtmosphere(L(v[0]))
			return []float64{float64(x), y, float64(p), float64(temperature)}, err
		},
	}
	for name, f := range functions {
		r := rand.New(rand.NewPCG(11, 12))
		accepted, tries := 0, 5000
		for i := range tries {
			v := make([]float64, 8)
			for k := range v {
				v[k] = awkward[r.IntN(len(awkward))]
				if i%2 == 0 { // half the time believable
					v[k] = math.Pow(10, -8+8*r.Float64())
				}
			}
			got, err := f(v)
			if err == nil {
				accepted++
			} else if err.Error() == "" {
				t.Errorf("%s%v: an error that says nothing", name, v)
			}
			for _, x := range got {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%s%v = %v, %v", name, v, got, err)
				}
			}
		}
		if accepted < tries/100 {
			t.Errorf("%s accepted %d of %d, so little was tried", name, accepted, tries)
		}
	}
}
