package joint

import (
	"math"

	"buttonup/quantity"
)

// Limits are the sizes between which both parts of a thread may lie, for the usual
// fit: 6g and 6H on metric threads, 2A and 2B on inch threads.
type Limits struct {
	// BoltMajorMax and BoltMajorMin bound the outer diameter of the bolt, d.
	BoltMajorMax, BoltMajorMin quantity.Length
	// BoltPitchMax and BoltPitchMin bound the pitch diameter of the bolt, d2.
	BoltPitchMax, BoltPitchMin quantity.Length
	// TappedPitchMin and TappedPitchMax bound the pitch diameter of the hole, D2.
	TappedPitchMin, TappedPitchMax quantity.Length
	// TappedMinorMin and TappedMinorMax bound the bore of the hole, D1.
	TappedMinorMin, TappedMinorMax quantity.Length
}

// Limits returns the limits of size of a thread for the usual fit.
//
// For metric threads, 6g on 6H, in µm with P in mm:
//
//	es  = −(15 + 11·P)
//	Td  = 180·P^(2/3) − 3.15/√P
//	Td2 = 90·P^0.4·d^0.1
//	TD1 = 433·P − 190·P^1.22  below P = 1,  230·P^0.7  from P = 1 on
//	TD2 = Td2, five steps of the R40 series up (1.32 times, before rounding)
//
// es is the allowance of the bolt, Td, Td2, TD1 and TD2 the tolerances of d, d2, D1
// and D2; d in Td2 is the geometric mean of the diameter step that the thread lies in.
// Each is rounded to the R40 series of preferred numbers and then to a whole µm, as
// the tables of the standard are. Where those tables print something else than their
// own formula gives (es and Td at P 0.75; Td2 at P 0.5 over 2.8 to 5.6 mm; TD1 at P 0.5 and
// 2.5), the table is followed.
//
// For inch threads, 2A on 2B, in inches:
//
//	Td2 = 0.0015·∛D + 0.0015·√LE + 0.015·∛P²,  LE = D for UNC and UNF, else 9·P
//	allowance = 0.3·Td2,  Td = 0.060·∛P²,  TD2 = 1.3·Td2
//	TD1 = 0.25·P − 0.4·P²;  below 0.25 in 0.05·∛P² + 0.03·P/D − 0.002, held between
//	      that and 0.394·P
//
// all rounded to 0.0001 in and then, from number 6 up, the minor diameter to 0.001 in. On
// constant-pitch sizes the standard's own tables differ from this by up to 0.0001 in.
//
// The sizes are before plating and for a normal length of engagement. For a Special
// thread they are what the formulas give; no table exists. Below M1.6 the usual fit is
// a closer one than what is given here. An *[argument.Error] is
// returned for the zero Thread.
//
// Source: ISO 965-1; ASME B1.1. Formulas from memory. Seen: tables of limits that
// quote ISO 965-1, ASME B1.13M and ASME B1.1, which testdata/published holds.
func (t Thread) Limits() (Limits, error) {
	if err := t.check(); err != nil {
		return Limits{}, err
	}
	if t.standard == UnifiedInch {
		return t.inchLimits(), nil
	}
	return t.metricLimits(), nil
}

// metricLimits works in µm.
func (t Thread) metricLimits() Limits {
	d := round9(float64(t.diameter) * 1e3)
	p := round9(float64(t.pitch) * 1e3)
	es := metricAllowance(p)
	td := metricMajorTolerance(p)
	td2 := metricPitchTolerance(d, p)
	tD2 := stepR40(td2, 5)
	tD1 := metricMinorTolerance(p)
	// Basic sizes are tabled to the µm before the deviations are applied.
	major := d * 1e3
	pitch := math.Round(float64(t.PitchDiameter()) * 1e6)
	minor := math.Round(float64(t.MinorDiameter()) * 1e6)
	µm := func(x float64) quantity.Length { return quantity.Length(x / 1e6) }
	return Limits{
		BoltMajorMax: µm(major - es), BoltMajorMin: µm(major - es - td),
		BoltPitchMax: µm(pitch - es), BoltPitchMin: µm(pitch - es - td2),
		TappedPitchMin: µm(pitch), TappedPitchMax: µm(pitch + tD2),
		TappedMinorMin: µm(minor), TappedMinorMax: µm(minor + tD1),
	}
}

func metricAllowance(p float64) float64 {
	if same(p, 0.75) {
		return 22 // the formula gives 23.25, R40 23.6; the table prints 22
	}
	return r40(15 + 11*p)
}

func metricMajorTolerance(p float64) float64 {
	if same(p, 0.75) {
		return 140 // the formula gives 144.95, R40 150; the table prints 140
	}
	return r40(180*math.Cbrt(p*p) - 3.15/math.Sqrt(p))
}

func metricMinorTolerance(p float64) float64 {
	switch {
	case same(p, 0.5):
		return 140 // the formula gives 134.9, R40 132
	case same(p, 2.5):
		return 450 // the formula gives 436.8, R40 425
	case p < 1:
		return r40(433*p - 190*math.Pow(p, 1.22))
	}
	return r40(230 * math.Pow(p, 0.7))
}

// diameterSteps are the bounds of the diameter steps of ISO 965-1, in mm; a step
// excludes its lower and includes its upper bound.
var diameterSteps = []float64{0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45, 90, 180, 355}

func metricPitchTolerance(d, p float64) float64 {
	i := 1
	for i < len(diameterSteps)-1 && d > diameterSteps[i]+1e-9 {
		i++
	}
	low, high := diameterSteps[i-1], diameterSteps[i]
	if same(p, 0.5) && same(high, 5.6) {
		return 75 // the formula gives 78.3, R40 80
	}
	return r40(90 * math.Pow(p, 0.4) * math.Pow(low*high, 0.05))
}

// r40Values is one decade of the R40 series of preferred numbers (ISO 3).
var r40Values = [40]float64{
	100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280, 300,
	315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
}

// r40Value returns the preferred number of an index in which 0 is 100, rounded to a
// whole µm, halves to the even one, as the tables are: 31.5 is 32 and 42.5 is 42.
func r40Value(i int) float64 {
	decade := int(math.Floor(float64(i) / 40))
	return math.RoundToEven(round9(r40Values[i-40*decade] * math.Pow10(decade)))
}

// nearestR40 returns the index of the preferred number nearest by ratio.
func nearestR40(x float64) int {
	guess := int(math.Round(math.Log10(x/100) * 40))
	best, bestRatio := guess, math.Inf(1)
	for i := guess - 1; i <= guess+1; i++ {
		decade := int(math.Floor(float64(i) / 40))
		ratio := math.Abs(math.Log(x / (r40Values[i-40*decade] * math.Pow10(decade))))
		if ratio < bestRatio {
			best, bestRatio = i, ratio
		}
	}
	return best
}

func r40(x float64) float64 { return r40Value(nearestR40(x)) }

func stepR40(x float64, steps int) float64 { return r40Value(nearestR40(x) + steps) }

// inchLimits works in inches.
func (t Thread) inchLimits() Limits {
	d := round9(float64(t.diameter) / 0.0254)
	p := 1 / t.tpi
	p23 := math.Cbrt(p * p)
	engaged := 9 * p
	if t.series == Coarse || t.series == Fine {
		engaged = d
	}
	// The standard carries six decimals until the last rounding; 1/4-20 2B depends on it.
	td2 := roundTo(0.0015*math.Cbrt(d)+0.0015*math.Sqrt(engaged)+0.015*p23, 6)
	allowance := roundTo(0.3*td2, 4)
	pitch := roundTo(float64(t.PitchDiameter())/0.0254, 4)
	minor := roundTo(float64(t.MinorDiameter())/0.0254, 4)
	tD1 := 0.25*p - 0.4*p*p
	if d < 0.25 {
		tD1 = math.Min(math.Max(0.05*p23+0.03*p/d-0.002, tD1), 0.394*p)
	}
	minorDecimals := 4
	if d >= numberSize(6) {
		minorDecimals = 3
	}
	in := func(x float64) quantity.Length { return quantity.Inches(roundTo(x, 4)) }
	return Limits{
		BoltMajorMax: in(d - allowance), BoltMajorMin: in(d - allowance - roundTo(0.06*p23, 4)),
		BoltPitchMax: in(pitch - allowance), BoltPitchMin: in(pitch - allowance - roundTo(td2, 4)),
		TappedPitchMin: in(pitch), TappedPitchMax: in(pitch + roundTo(roundTo(1.3*td2, 6), 4)),
		TappedMinorMin: in(roundTo(minor, minorDecimals)), TappedMinorMax: in(roundTo(minor+roundTo(tD1, 4), minorDecimals)),
	}
}

// roundTo rounds to decimals, halves up, after taking off the noise of binary
// fractions: 0.004850 to four decimals is 0.0049.
func roundTo(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Floor(round9(x*scale)+0.5) / scale
}
