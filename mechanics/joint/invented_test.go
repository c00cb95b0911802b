package joint

import (
	"math"
	"strings"
	"testing"

	"buttonup/quantity"
)

// The numbers in this file belong to the invented Aldermoor V1150. They keep the
// program from changing unnoticed and prove nothing about the trade: what does is in
// testdata/published.

// printed fails unless got agrees with a printed value to half a unit of its last digit.
func printed(t *testing.T, what string, got, want, unit float64) {
	t.Helper()
	if math.Abs(got-want) > unit/2*(1+1e-9) {
		t.Errorf("%s: got %v, want %v", what, got, want)
	}
}

func TestInventedHeadNut(t *testing.T) {
	th := thread(t, "M10x1.25")
	ring := Ring{quantity.Millimetres(16), quantity.Millimetres(10.5)}
	printed(t, "mean ring", ring.MeanDiameter().Millimetres(), 13.25, 0.01)
	for _, c := range []struct{ mu, preload, k float64 }{{0.10, 30.9, 0.139}, {0.12, 26.4, 0.163}, {0.14, 23.0, 0.187}, {0.20, 16.6, 0.258}} {
		f := must[quantity.Force](t)(PreloadLinear(43, th, ring, Friction{c.mu, c.mu}))
		printed(t, "preload in kN", float64(f)/1e3, c.preload, 0.1)
		printed(t, "nut factor", must[float64](t)(NutFactorOf(43, f, th)), c.k, 0.001)
	}
	oiled := must[quantity.Force](t)(PreloadByNutFactor(43, th, 0.15))
	printed(t, "oiled, K 0.15, kN", float64(oiled)/1e3, 28.7, 0.1)
	printed(t, "oiled stress, MPa", float64(must[quantity.Pressure](t)(TensileStress(oiled, th)))/1e6, 468, 1)
	moly := must[quantity.Force](t)(PreloadByNutFactor(43, th, 0.12))
	printed(t, "moly, K 0.12, kN", float64(moly)/1e3, 35.8, 0.1)
	printed(t, "moly stress, MPa, from the rounded preload", float64(must[quantity.Pressure](t)(TensileStress(35.8e3, th)))/1e6, 585, 1)
	s := must[Strength](t)(grade(t, "8.8").Strength(th))
	printed(t, "oiled share of yield", 28.7e3/61.2/640, 0.73, 0.01)
	printed(t, "moly share of yield", float64(moly)/float64(th.StressArea())/float64(s.Yield), 0.91, 0.01)
	// An oiled figure used dry clamps 25 to 45 % less.
	m := must[Mismatch](t)(CompareStates(43, th, ring, Oiled, Dry))
	if m.Typical < 0.55 || m.Typical > 0.75 {
		t.Errorf("an oiled figure used dry gives %v of the preload", m.Typical)
	}
}

func TestInventedCaseThread(t *testing.T) {
	th := thread(t, "M10x1.5")
	// 138 MPa of shear are 230 MPa of tensile strength at the share of 0.6.
	for _, c := range []struct{ engaged, load, unit float64 }{{22, 65, 1}, {10, 29.6, 0.1}} {
		s := must[Strip](t)(Stripping(th, quantity.Millimetres(c.engaged), 800e6, 230e6, true))
		printed(t, "area per mm", float64(s.TappedArea)/mm2/c.engaged, 21.5, 0.1)
		printed(t, "strip load in kN", float64(s.TappedLoad)/1e3, c.load, c.unit)
		if c.engaged == 22 {
			printed(t, "over the preload", float64(s.TappedLoad)/28.7e3, 2.3, 0.1)
		}
		if c.engaged == 10 && s.Weakest != TappedStrips {
			t.Errorf("10 mm in the case: %v gives way first", s.Weakest)
		}
	}
}

func TestInventedHeatAndSettling(t *testing.T) {
	const kb, km = 62.7e6, 3 * 62.7e6
	printed(t, "share of the members", 1-must[float64](t)(LoadShare(kb, km)), 0.75, 0.01)
	printed(t, "0.25 mm of mismatch, kN", float64(must[quantity.Force](t)(PreloadChange(0.25e-3, kb, km)))/1e3, 12, 1)
	lost := float64(must[quantity.Force](t)(PreloadChange(-10e-6, kb, km)))
	printed(t, "10 µm of settling, kN", lost/1e3, -0.5, 0.1)
	printed(t, "10 µm of settling, %", 100*lost/28.7e3, -1.6, 0.1)
}

func TestInventedWrenchAndStack(t *testing.T) {
	setting, _, err := AdapterSetting(43, quantity.Millimetres(400), quantity.Millimetres(50), 0)
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "adapter", float64(setting), 38.2, 0.1)
	ftlb := quantity.Torque(12 * inchPound)
	m := must[Mark](t)(WrenchMark(43, 10*ftlb, 80*ftlb, ftlb))
	printed(t, "mark in ft-lb", float64(m.Torque/ftlb), 32, 1)
	printed(t, "error in %", 100*m.Error, 0.9, 0.1)
	printed(t, "43 N·m in ft-lb", float64(43/ftlb), 31.7, 0.1)
	printed(t, "43 N·m in in-lb", float64(43/inchPound), 381, 1)
	for _, c := range []struct{ free, crushed, crush float64 }{{1.30, 1.14, 0.12}, {0.40, 0.30, 0.25}} {
		printed(t, "crush", must[float64](t)(Crush(quantity.Millimetres(c.free), quantity.Millimetres(c.crushed))), c.crush, 0.01)
	}
	for _, c := range []struct{ tpi, turn, flat, turns, flats float64 }{{24, 1.058, 0.176, 2.08, 12}, {32, 0.794, 0.132, 2.77, 17}, {28, 0.907, 0.151, 0, 0}, {40, 0.635, 0.106, 0, 0}} {
		pitch := quantity.Length(0.0254 / c.tpi)
		printed(t, "a turn", pitch.Millimetres(), c.turn, 0.001)
		printed(t, "a flat", pitch.Millimetres()/6, c.flat, 0.001)
		if c.turns > 0 {
			turns, flats, err := Turns(quantity.Millimetres(2.20), pitch)
			if err != nil {
				t.Fatal(err)
			}
			printed(t, "turns", turns, c.turns, 0.01)
			printed(t, "whole flats", math.Round(flats), c.flats, 1)
		}
	}
}

// Every torque group of the demo must read, be plausible and be in order.
func TestInventedTorqueGroups(t *testing.T) {
	for _, g := range []struct{ name, thread, stages string }{
		{"T01", "M24×1.5", "120 220"}, {"T02", "M20×1.5 LH", "90"}, {"T03", "M10×1.5", "18 34"}, {"T04", "M8×1.25", "12 20"},
		{"T05", "M10×1.25", "12 25 43 43"}, {"T06", "M8", "10 18"}, {"T06", "M6", "10"}, {"T07", "M6", "4 8"}, {"T08", "M6", "4 8 10"},
		{"T09", "M6", "5 9"}, {"T10", "M6", "4 8"}, {"T12", "M14×1.5", "25"}, {"T13", "M14×1.25", "18"}, {"T14", "M22×1.5", "90 150"},
		{"T15", "M8", "7 14"}, {"T16", "M8", "12"}, {"T17", "M6", "12"}, {"T18", "M5", "4"}, {"T19", "M18×1.5", "70"},
	} {
		th := thread(t, g.thread)
		all := steps(t, g.stages)
		last := all[len(all)-1].To
		if low, high := PlausibleTorque(th); last.Low < low || last.High > high {
			t.Errorf("%s: %v N·m on %s is called implausible", g.name, last.Low, g.thread)
		}
		if faults := CheckStages(all, last); len(faults) > 0 {
			t.Errorf("%s: %v", g.name, faults)
		}
		if (g.name == "T02") != th.LeftHand() {
			t.Errorf("%s: left-hand %v", g.name, th.LeftHand())
		}
	}
	if _, err := ParseThread("1/8 taper"); err == nil || !strings.Contains(err.Error(), "taper") {
		t.Errorf("T11: the taper plug: %v", err)
	}
}
