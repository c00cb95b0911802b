package joint

import (
	"math"
	"testing"

	"buttonup/quantity"
)

// No function may return NaN or an infinity, whatever it is given, and a refusal comes
// with zero and nothing else.
func TestNothingIsEverNaN(t *testing.T) {
	values := []float64{0, math.Copysign(0, -1), -1, 5e-324, 1e-300, 1e-9, 0.01, 0.3, 1, 43, 1e9, 1e300, math.MaxFloat64, math.Inf(1), math.Inf(-1), math.NaN()}
	th, inch := thread(t, "M10x1.25"), thread(t, "1-8")
	type fn struct {
		name string
		do   func(a, b, c, d float64) ([]float64, error)
	}
	one := func(x float64, err error) ([]float64, error) { return []float64{x}, err }
	type (
		l = quantity.Length
		f = quantity.Force
		q = quantity.Torque
		p = quantity.Pressure
		s = quantity.Stiffness
	)
	fns := []fn{
		{"Metric", func(a, b, _, _ float64) ([]float64, error) {
			x, err := Metric(l(a), l(b))
			return []float64{float64(x.Pitch()), float64(x.StressArea())}, err
		}},
		{"Unified", func(a, b, _, _ float64) ([]float64, error) {
			x, err := Unified(l(a), b)
			return []float64{float64(x.Pitch()), float64(x.StressArea())}, err
		}},
		{"TighteningTorque", func(a, b, c, d float64) ([]float64, error) {
			x, err := TighteningTorque(f(a), th, Ring{l(b), l(c)}, Friction{d, d})
			return []float64{float64(x.Torque), float64(x.Pitch), float64(x.Thread), float64(x.Head)}, err
		}},
		{"TighteningTorqueLinear", func(a, b, c, d float64) ([]float64, error) {
			x, err := TighteningTorqueLinear(f(a), inch, Ring{l(b), l(c)}, Friction{d, d})
			return []float64{float64(x.Torque), float64(x.Pitch), float64(x.Thread), float64(x.Head)}, err
		}},
		{"Preload", func(a, b, c, d float64) ([]float64, error) {
			x, err := Preload(q(a), th, Ring{l(b), l(c)}, Friction{d, d})
			return one(float64(x), err)
		}},
		{"PreloadLinear", func(a, b, c, d float64) ([]float64, error) {
			x, err := PreloadLinear(q(a), th, Ring{l(b), l(c)}, Friction{d, d})
			return one(float64(x), err)
		}},
		{"NutFactorTorque", func(a, b, _, _ float64) ([]float64, error) {
			x, err := NutFactorTorque(f(a), th, b)
			return one(float64(x), err)
		}},
		{"PreloadByNutFactor", func(a, b, _, _ float64) ([]float64, error) {
			x, err := PreloadByNutFactor(q(a), th, b)
			return one(float64(x), err)
		}},
		{"NutFactor", func(a, b, c, d float64) ([]float64, error) {
			return one(NutFactor(th, Ring{l(a), l(b)}, Friction{c, d}))
		}},
		{"NutFactorOf", func(a, b, _, _ float64) ([]float64, error) { return one(NutFactorOf(q(a), f(b), th)) }},
		{"TensileStress", func(a, _, _, _ float64) ([]float64, error) {
			x, err := TensileStress(f(a), th)
			return one(float64(x), err)
		}},
		{"TighteningStress", func(a, b, _, _ float64) ([]float64, error) {
			x, err := TighteningStress(f(a), th, b)
			return one(float64(x), err)
		}},
		{"AssemblyPreload", func(a, b, c, _ float64) ([]float64, error) {
			x, err := AssemblyPreload(th, p(a), b, c)
			return one(float64(x), err)
		}},
		{"PreloadBand", func(a, b, c, d float64) ([]float64, error) {
			x, err := PreloadBand(TorqueBand{q(a), q(b)}, c, th, Ring{0.016, 0.0105}, BothAt(0.1, d))
			return []float64{float64(x.Low), float64(x.High)}, err
		}},
		{"InitialPreload", func(a, b, c, d float64) ([]float64, error) {
			x, err := InitialPreload(TorqueBand{q(a), q(b)}, th, c, d, 2)
			return []float64{float64(x.Low), float64(x.High)}, err
		}},
		{"ServicePreload", func(a, b, c, d float64) ([]float64, error) {
			x, err := ServicePreload(ForceBand{f(a), f(b)}, c, f(d))
			return []float64{float64(x.Low), float64(x.High)}, err
		}},
		{"LeastPreload", func(a, b, _, _ float64) ([]float64, error) {
			x, err := LeastPreload(f(a), b)
			return one(float64(x), err)
		}},
		{"CompareStates", func(a, b, c, _ float64) ([]float64, error) {
			x, err := CompareStates(q(a), th, Ring{l(b), l(c)}, Dry, Oiled)
			return []float64{float64(x.Meant.Low), float64(x.Meant.High), float64(x.Got.Low), float64(x.Got.High), x.Typical, x.Low, x.High}, err
		}},
		{"ShearAreas", func(a, _, _, _ float64) ([]float64, error) {
			x, y, err := ShearAreas(th, l(a), true)
			return []float64{float64(x), float64(y)}, err
		}},
		{"Stripping", func(a, b, c, _ float64) ([]float64, error) {
			x, err := Stripping(th, l(a), p(b), p(c), true)
			return []float64{float64(x.BoltArea), float64(x.TappedArea), float64(x.BoltLoad), float64(x.TappedLoad), float64(x.BreakingLoad), float64(x.Needed)}, err
		}},
		{"NeededEngagement", func(a, b, _, _ float64) ([]float64, error) {
			x, err := NeededEngagement(th, p(a), p(b), false)
			return one(float64(x), err)
		}},
		{"AdapterSetting", func(a, b, c, d float64) ([]float64, error) {
			x, y, err := AdapterSetting(q(a), l(b), l(c), quantity.Angle(d))
			return []float64{float64(x), y}, err
		}},
		{"AppliedTorque", func(a, b, c, d float64) ([]float64, error) {
			x, err := AppliedTorque(q(a), l(b), l(c), quantity.Angle(d))
			return one(float64(x), err)
		}},
		{"WrenchMark", func(a, b, c, d float64) ([]float64, error) {
			x, err := WrenchMark(q(a), q(b), q(c), q(d))
			return []float64{float64(x.Torque), x.Error}, err
		}},
		{"WrenchDeviation", func(a, _, _, _ float64) ([]float64, error) { return one(WrenchDeviation(q(a))) }},
		{"TorqueWithDrag", func(a, b, _, _ float64) ([]float64, error) {
			x, err := TorqueWithDrag(q(a), q(b))
			return one(float64(x), err)
		}},
		{"BoltStiffness", func(a, b, c, _ float64) ([]float64, error) {
			x, err := BoltStiffness(th, p(a), l(b), l(c))
			return one(float64(x), err)
		}},
		{"MemberStiffness", func(a, b, c, _ float64) ([]float64, error) {
			x, err := MemberStiffness(l(a), l(b), p(c))
			return one(float64(x), err)
		}},
		{"MemberStiffnessFitted", func(a, b, c, _ float64) ([]float64, error) {
			x, err := MemberStiffnessFitted(l(a), l(b), p(c))
			return one(float64(x), err)
		}},
		{"LoadShare", func(a, b, _, _ float64) ([]float64, error) { return one(LoadShare(s(a), s(b))) }},
		{"BoltLoad", func(a, b, c, _ float64) ([]float64, error) {
			x, y, err := BoltLoad(f(a), f(b), c)
			return []float64{float64(x), float64(y)}, err
		}},
		{"PreloadChange", func(a, b, c, _ float64) ([]float64, error) {
			x, err := PreloadChange(l(a), s(b), s(c))
			return one(float64(x), err)
		}},
		{"TurnPreload", func(a, b, c, _ float64) ([]float64, error) {
			x, err := TurnPreload(quantity.Angle(a), th, s(b), s(c))
			return one(float64(x), err)
		}},
		{"TurnAngle", func(a, b, c, _ float64) ([]float64, error) {
			x, err := TurnAngle(f(a), th, s(b), s(c))
			return one(float64(x), err)
		}},
		{"Growth", func(a, b, c, _ float64) ([]float64, error) {
			x, err := Growth(l(a), quantity.Expansion(b), quantity.TemperatureDifference(c))
			return one(float64(x), err)
		}},
		{"GrowthDifference", func(a, b, c, d float64) ([]float64, error) {
			x, err := GrowthDifference(l(a), quantity.Expansion(b), quantity.Expansion(c), quantity.TemperatureDifference(d))
			return one(float64(x), err)
		}},
		{"CrushedThickness", func(a, b, _, _ float64) ([]float64, error) {
			x, err := CrushedThickness(l(a), b)
			return one(float64(x), err)
		}},
		{"Crush", func(a, b, _, _ float64) ([]float64, error) { return one(Crush(l(a), l(b))) }},
		{"ScrewReach", func(a, b, c, _ float64) ([]float64, error) {
			x, err := ScrewReach(l(a), l(b), l(c))
			return []float64{float64(x.Beyond), float64(x.Clearance), float64(x.Engaged)}, err
		}},
		{"Turns", func(a, b, _, _ float64) ([]float64, error) {
			x, y, err := Turns(l(a), l(b))
			return []float64{x, y}, err
		}},
	}
	for _, fn := range fns {
		answered := 0
		for _, a := range values {
			for _, b := range values {
				for _, c := range values {
					for _, d := range values {
						got, err := fn.do(a, b, c, d)
						if err == nil {
							answered++
						}
						for _, x := range got {
							if math.IsNaN(x) || math.IsInf(x, 0) || err != nil && x != 0 {
								t.Fatalf("%s(%v, %v, %v, %v) gives %v, %v", fn.name, a, b, c, d, got, err)
							}
						}
						if err != nil && err.Error() == "" {
							t.Fatalf("%s(%v, %v, %v, %v) refuses without words", fn.name, a, b, c, d)
						}
					}
				}
			}
		}
		if answered == 0 {
			t.Errorf("%s answered no case", fn.name)
		}
	}
}
