package crank_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// Every size of a kit is the very value that its written form has.
func TestParseKitIsExact(t *testing.T) {
	for _, c := range []struct {
		kit         string
		first, step int // in units of the last decimal
		n           int
		decimals    int
		unit        string
	}{
		{"2.500 .. 2.950 by 0.025 mm", 2500, 25, 19, 3, "mm"},
		{"2.5 mm .. 2.95 mm by 0.025 mm", 2500, 25, 19, 3, "mm"},
		{"2.5..2.95 by .025 mm", 2500, 25, 19, 3, "mm"},
		{"2.525 .. 3.025 by 0.1 mm", 2525, 100, 6, 3, "mm"},
		{"0.1 .. 100 by 0.1 mm", 1, 1, 1000, 1, "mm"},
		{".0900 .. .1190 by .0005 in", 900, 5, 59, 4, "in"},
		{"90 .. 119 by 1 thou", 90, 1, 30, 0, "thou"},
		{"3 .. 3 by 0.1 mm", 30, 1, 1, 1, "mm"},
	} {
		sizes, err := crank.ParseKit(c.kit)
		if err != nil {
			t.Errorf("%s: %v", c.kit, err)
			continue
		}
		if len(sizes) != c.n {
			t.Errorf("%s: %d sizes, want %d", c.kit, len(sizes), c.n)
			continue
		}
		scale := 1
		for range c.decimals {
			scale *= 10
		}
		for i, size := range sizes {
			n := c.first + i*c.step
			text := fmt.Sprintf("%d %s", n/scale, c.unit)
			if c.decimals > 0 {
				text = fmt.Sprintf("%d.%0*d %s", n/scale, c.decimals, n%scale, c.unit)
			}
			q, err := quantity.Parse(text)
			if err != nil {
				t.Fatal(err)
			}
			if size != quantity.Length(q.SI) {
				t.Errorf("%s: size %d is %.20g, and %s is %.20g", c.kit, i, float64(size), text, q.SI)
			}
		}
	}
}

func kit(t *testing.T, text string) []quantity.Length {
	t.Helper()
	sizes, err := crank.ParseKit(text)
	if err != nil {
		t.Fatal(err)
	}
	return sizes
}

func TestSelectSpacer(t *testing.T) {
	sizes := kit(t, "2.500 .. 2.950 by 0.025 mm")
	for _, c := range []struct {
		name                           string
		trial, play, target, low, high float64
		sense                          crank.Sense
		spacer, result                 float64
		second, secondResult           float64 // 0 where there is none
	}{
		{"a thicker one frees", 2.700, 0.215, 0.050, 0.03, 0.08, crank.ThickerMore, 2.525, 0.040, 2.550, 0.065},
		{"a thicker one takes up", 2.700, 0.215, 0.050, 0.03, 0.08, crank.ThickerLess, 2.875, 0.040, 2.850, 0.065},
		{"the trial one is right", 2.700, 0.050, 0.050, 0.03, 0.08, crank.ThickerMore, 2.700, 0.050, 2.725, 0.075},
		{"a tie takes less play", 2.700, 0.215, 0.0525, 0.03, 0.08, crank.ThickerMore, 2.525, 0.040, 2.550, 0.065},
		{"a tie takes less play, other sense", 2.700, 0.215, 0.0525, 0.03, 0.08, crank.ThickerLess, 2.875, 0.040, 2.850, 0.065},
		{"only one within the limits", 2.700, 0.215, 0.050, 0.035, 0.055, crank.ThickerMore, 2.525, 0.040, 0, 0},
		{"the nearer one is outside", 2.700, 0.215, 0.045, 0.045, 0.08, crank.ThickerMore, 2.550, 0.065, 0, 0},
		{"on both limits", 2.700, 0.215, 0.050, 0.040, 0.065, crank.ThickerMore, 2.525, 0.040, 2.550, 0.065},
		{"preload wanted", 2.700, 0.215, -0.010, -0.02, 0, crank.ThickerMore, 2.500, 0.015, 0, 0},
		{"at the end of the kit", 2.900, 0.020, 0.060, 0.05, 0.08, crank.ThickerMore, 2.950, 0.070, 0, 0},
	} {
		got, err := crank.SelectSpacer(mm(c.trial), mm(c.play), mm(c.target), mm(c.low), mm(c.high), sizes, c.sense)
		if c.name == "preload wanted" {
			if err == nil {
				t.Errorf("%s: %+v", c.name, got)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		near(t, c.name+": spacer", got.Spacer.Millimetres(), c.spacer, 1e-9)
		near(t, c.name+": play", got.Result.Millimetres(), c.result, 1e-9)
		near(t, c.name+": second", got.Second.Millimetres(), c.second, 1e-9)
		near(t, c.name+": second play", got.SecondResult.Millimetres(), c.secondResult, 1e-9)
		if got.HasSecond != (c.second != 0) {
			t.Errorf("%s: has second %v", c.name, got.HasSecond)
		}
	}
}

// Against a count over the whole kit in whole micrometres, where nothing rounds.
func TestSelectSpacerAgainstCounting(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	µm := func(n int) quantity.Length { return quantity.Micrometres(float64(n)) }
	chosen := 0
	for range 3000 {
		step := []int{10, 20, 25, 50}[random.IntN(4)]
		first, n := 1000+random.IntN(2000), 3+random.IntN(30)
		trial, play := first+random.IntN(n*step), 1+random.IntN(300)
		low := random.IntN(100)
		high := low + random.IntN(100)
		target := low + random.IntN(high-low+1)
		sense, sign := crank.ThickerMore, 1
		if random.IntN(2) == 0 {
			sense, sign = crank.ThickerLess, -1
		}
		var sizes []quantity.Length
		type spacer struct{ size, result int }
		var inside []spacer
		for i := range n {
			size := first + i*step
			sizes = append(sizes, µm(size))
			if result := play + sign*(size-trial); result >= low && result <= high {
				inside = append(inside, spacer{size, result})
			}
		}
		random.Shuffle(n, func(i, j int) { sizes[i], sizes[j] = sizes[j], sizes[i] })
		sizes = append(sizes, sizes[0]) // a kit may hold a size twice
		got, err := crank.SelectSpacer(µm(trial), µm(play), µm(target), µm(low), µm(high), sizes, sense)
		if (err != nil) != (len(inside) == 0) {
			t.Fatalf("%v with %d sizes inside", err, len(inside))
		}
		if err != nil {
			continue
		}
		chosen++
		off := func(s spacer) int { return max(s.result-target, target-s.result) }
		better := func(a, b spacer) bool { return off(a) < off(b) || off(a) == off(b) && a.result < b.result }
		best, second := 0, -1
		for i := range inside {
			if better(inside[i], inside[best]) {
				best = i
			}
		}
		for i := range inside {
			if i != best && (second < 0 || better(inside[i], inside[second])) {
				second = i
			}
		}
		near(t, "spacer", got.Spacer.Millimetres(), float64(inside[best].size)/1000, 1e-9)
		near(t, "play", got.Result.Millimetres(), float64(inside[best].result)/1000, 1e-9)
		if got.HasSecond != (second >= 0) {
			t.Errorf("second %v, want %d", got.HasSecond, second)
		} else if second >= 0 {
			near(t, "second", got.Second.Millimetres(), float64(inside[second].size)/1000, 1e-9)
			near(t, "second play", got.SecondResult.Millimetres(), float64(inside[second].result)/1000, 1e-9)
		}
	}
	if chosen < 500 {
		t.Errorf("only %d of the cases had a spacer", chosen)
	}
}

// The other sense is the same joint with the kit seen in a mirror about the trial one.
func TestSenseReversal(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 9))
	for range 300 {
		trial, play := mm(2.7), mm(0.05+0.2*random.Float64())
		var sizes, mirror []quantity.Length
		for range 12 {
			off := mm(0.3 * (2*random.Float64() - 1))
			sizes, mirror = append(sizes, trial+off), append(mirror, trial-off)
		}
		a, errA := crank.SelectSpacer(trial, play, mm(0.1), mm(0), mm(0.2), sizes, crank.ThickerMore)
		b, errB := crank.SelectSpacer(trial, play, mm(0.1), mm(0), mm(0.2), mirror, crank.ThickerLess)
		if (errA == nil) != (errB == nil) {
			t.Fatalf("%v and %v", errA, errB)
		}
		near(t, "play", a.Result.Millimetres(), b.Result.Millimetres(), 1e-12)
		if errA == nil {
			near(t, "spacers", (a.Spacer + b.Spacer).Millimetres(), (2 * trial).Millimetres(), 1e-12)
			near(t, "wanted", (a.Wanted + b.Wanted).Millimetres(), (2 * trial).Millimetres(), 1e-12)
		}
	}
}

func TestParseSense(t *testing.T) {
	for _, s := range []crank.Sense{crank.ThickerMore, crank.ThickerLess} {
		if got, err := crank.ParseSense(s.String()); err != nil || got != s {
			t.Errorf("%v: %v, %v", s, got, err)
		}
	}
	for _, text := range []string{"", "more", "Thicker-More", "not given"} {
		if got, err := crank.ParseSense(text); err == nil || got != crank.NoSense {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// Housing and shaft of one metal at one temperature keep their play, and warming them
// the other way round turns the sign.
func TestEndPlayGrowthLaws(t *testing.T) {
	same := crank.ThermalPath{Length: mm(110), Housing: 11.7e-6, Shaft: 11.7e-6, HousingRise: 60, ShaftRise: 60}
	if g, err := crank.EndPlayGrowth(same); err != nil || g != 0 {
		t.Errorf("%v, %v", g, err)
	}
	a, err := crank.EndPlayGrowth(crank.ThermalPath{Length: mm(110), Housing: 22.5e-6, Shaft: 11.7e-6, HousingRise: 60, ShaftRise: 80})
	if err != nil {
		t.Fatal(err)
	}
	b, err := crank.EndPlayGrowth(crank.ThermalPath{Length: mm(110), Housing: 11.7e-6, Shaft: 22.5e-6, HousingRise: 80, ShaftRise: 60})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(a+b)) > 1e-18 || a <= 0 {
		t.Errorf("%v and %v", a, b)
	}
}
