package bench

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"buttonup/mechanics/cylinder"
	"buttonup/mechanics/valvetrain"
	unit "buttonup/quantity"
)

// gapCase is a lift curve and many valves that lift by it, in millimetres and degrees.
type gapCase struct {
	Name  string     `json:"name"`
	Angle []float64  `json:"angle"` // of the curve, rising; the curve is periodic over a turn of 720
	Lift  []float64  `json:"lift"`
	Valve []gapValve `json:"valve"`
}

type gapValve struct {
	Stroke, Rod, Offset       float64
	Closed, Inclination, Peak float64
	Ratio, Lash               float64
}

const engines = 10_000

// gapCases are 10,000 engines of four valves in three cases: one where the valves keep
// well clear, one where they come near on either side of the top, and a deep pocket with
// two nearly equal minima, of which now the one and now the other is the smaller.
func gapCases() []gapCase {
	smooth := func(width float64) (angle, lift []float64) {
		for i := range 360 {
			u := math.Min(math.Abs(float64(i)-180)/width, 1)
			w := 1 - u*u
			angle, lift = append(angle, float64(2*i-360)), append(lift, 10.5*w*w*w*(1+0.6*u*u))
		}
		return angle, lift
	}
	list := []gapCase{{Name: "clear"}, {Name: "tight"}, {Name: "two minima"}}
	list[0].Angle, list[0].Lift = smooth(65)
	list[1].Angle, list[1].Lift = smooth(80)
	const stroke, rod = 86.5, 178.0
	for a := -360.0; a < 360; a += 4 {
		s, c := math.Sincos(a * math.Pi / 180)
		x := rod + stroke/2 - stroke/2*c - math.Sqrt(rod*rod-stroke*stroke/4*s*s)
		hump := func(at float64) float64 { return 2 * math.Exp(-math.Pow((a-at)/7, 2)) }
		list[2].Angle = append(list[2].Angle, a)
		list[2].Lift = append(list[2].Lift, math.Cos(15*math.Pi/180)*x*math.Exp(-math.Pow(a/60, 4))+hump(-18)+hump(18))
	}
	r := rand.New(rand.NewPCG(5, 5))
	for range engines {
		a := gapValve{Stroke: 80 + 0.04*r.NormFloat64(), Rod: 150 + 0.03*r.NormFloat64(), Offset: 0.5 + 0.05*r.NormFloat64()}
		deck := 1 + 0.04*r.NormFloat64()
		for v := range 4 {
			side := float64(1 - 2*(v%2))
			x := a
			x.Closed, x.Inclination, x.Peak = deck+5.5+0.08*r.NormFloat64(), 22, side*(108+r.NormFloat64())
			x.Ratio, x.Lash = 1+0.005*r.NormFloat64(), 0.1+0.02*r.NormFloat64()
			list[0].Valve = append(list[0].Valve, x)
			x.Closed, x.Peak = x.Closed-2, side*(98+r.NormFloat64())
			list[1].Valve = append(list[1].Valve, x)
			list[2].Valve = append(list[2].Valve, gapValve{Stroke: stroke + 0.02*r.NormFloat64(), Rod: rod + 0.02*r.NormFloat64(),
				Closed: 3 + 0.02*r.NormFloat64(), Inclination: 15, Peak: 0.02 * r.NormFloat64(), Ratio: 1 + 0.001*r.NormFloat64()})
		}
	}
	return list
}

// writeGaps writes the cases of the gaps beside the models.
func writeGaps(t *testing.T) {
	b, err := json.Marshal(gapCases())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*write, "gaps.json"), b, 0o644); err != nil {
		t.Fatal(err)
	}
}

// gaps finds the smallest gap of every valve over the whole cycle.
func gaps(t *testing.T, name string) measured {
	b, err := os.ReadFile(*path)
	if err != nil {
		t.Fatal(err)
	}
	var list []gapCase
	if err := json.Unmarshal(b, &list); err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		if c.Name != name {
			continue
		}
		all := questions(t, c)
		out := measured{Gap: make([]float64, len(all)), Angle: make([]float64, len(all))}
		began, before := time.Now(), processor()
		for i := range all {
			found, err := all[i].Smallest(-2*math.Pi, 2*math.Pi)
			if err != nil {
				t.Fatal(err)
			}
			out.Gap[i], out.Angle[i] = float64(found.Gap)*1e3, float64(found.Angle)*180/math.Pi
		}
		out.Seconds, out.Processor = time.Since(began).Seconds(), processor()-before
		return out
	}
	t.Fatalf("there is no case %q", name)
	return measured{}
}

// questions makes the valves of a case ready to be asked.
func questions(tb testing.TB, c gapCase) []valvetrain.PistonGap {
	mm := func(x float64) unit.Length { return unit.Length(x * 1e-3) }
	deg := func(x float64) unit.Angle { return unit.Angle(x * math.Pi / 180) }
	var points []valvetrain.Point
	for i := range c.Angle {
		points = append(points, valvetrain.Point{Angle: deg(c.Angle[i]), Lift: mm(c.Lift[i])})
	}
	lift, err := valvetrain.NewMeasured(points, valvetrain.Periodic)
	if err != nil {
		tb.Fatal(err)
	}
	all := make([]valvetrain.PistonGap, len(c.Valve))
	for i, v := range c.Valve {
		all[i] = valvetrain.PistonGap{Crank: cylinder.Crank{Stroke: mm(v.Stroke), Rod: mm(v.Rod), Offset: mm(v.Offset)}, Closed: mm(v.Closed),
			Inclination: deg(v.Inclination), Lift: lift, Peak: deg(v.Peak), Ratio: v.Ratio, Lash: mm(v.Lash)}
	}
	return all
}

// BenchmarkGap finds the smallest gaps of 10,000 engines of four valves, in each case.
func BenchmarkGap(b *testing.B) {
	for _, c := range gapCases() {
		b.Run(c.Name, func(b *testing.B) {
			all := questions(b, c)
			for b.Loop() {
				for i := range all {
					if _, err := all[i].Smallest(-2*math.Pi, 2*math.Pi); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}
