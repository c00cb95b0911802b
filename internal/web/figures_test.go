package web

import (
	"math"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// The numbers of a finished rebuild come with the section where the valve is nearest to
// the piston, and the curves that lead there.
func TestNumbersDrawTheNearestPoint(t *testing.T) {
	b := newBench(t, "mid-inspection", "clean-rebuild")
	page := b.get("/job/clean-rebuild/numbers")
	contains(t, page, "Inlet valve to piston, smallest, rear", "Section at the nearest point: 2.232", "after top centre", "before top centre", `id="figs"`)
	lacks(t, page, "NaN", "Inf")
	lacks(t, b.get("/job/mid-inspection/numbers"), "Section at the nearest point")
}

func dial(mm, deg float64) crank.Dial {
	return crank.Dial{TIR: quantity.Length(mm * 1e-3), High: quantity.Angle(deg * math.Pi / 180)}
}

// A pure twist is cured by a rap 90° from the pin, and the drawing says so with the
// caution; a crank within its target is left alone.
func TestTruingSaysWhereToStrike(t *testing.T) {
	mm := quantity.MustUnit("mm")
	result := func(place string, tir float64) *assess.Result {
		return &assess.Result{Kind: "dimension", Name: "trued_runout", Title: "Runout", Place: place, Value: tir * 1e-3, HasValue: true, Unit: mm, Decimals: 3, Judgement: measure.Judgement{Verdict: measure.OutOfLimits}}
	}
	figureOf := func(left, right crank.Dial, target float64) figure {
		fault, err := crank.Diagnose(left, right)
		if err != nil {
			t.Fatal(err)
		}
		steps, err := fault.Steps(quantity.Length(target * 1e-3))
		if err != nil {
			t.Fatal(err)
		}
		la, ra := &assess.Result{Value: float64(left.High)}, &assess.Result{Value: float64(right.High)}
		return truingFigure(result("left", float64(left.TIR)*1e3), result("right", float64(right.TIR)*1e3), la, ra, fault, steps)
	}
	f := figureOf(dial(0.06, 90), dial(0.06, 270), 0.015)
	if len(f.Do) != 1 || !strings.HasPrefix(f.Do[0], "Rap the left wheel at 90° from the pin, towards the shaft") || !strings.Contains(f.Do[0], "0.000 mm left, 0.000 mm right") {
		t.Errorf("%q", f.Do)
	}
	if !strings.Contains(f.Caution, "Never strike a crank in the centres") || strings.Count(f.Drawing, "s-worn") != 2 {
		t.Errorf("%q, %d marks", f.Caution, strings.Count(f.Drawing, "s-worn"))
	}
	if f := figureOf(dial(0.01, 90), dial(0.01, 270), 0.015); f.Caution != "" || strings.Contains(f.Drawing, "s-worn") || !strings.HasPrefix(f.Do[0], "Within the target") {
		t.Errorf("%+v", f)
	}
	// Both shafts out to the same side, towards the pin: a bow, cured at the rims, for
	// which no single wheel is struck.
	f = figureOf(dial(0.06, 180), dial(0.06, 180), 0.015)
	if len(f.Do) != 1 || strings.Contains(f.Do[0], "wheel at") || strings.Count(f.Drawing, "s-worn") != 4 {
		t.Errorf("%q", f.Do)
	}
}
