package joint

import (
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// si reads a quantity that a test file wrote.
func si(t testing.TB, text string) float64 {
	t.Helper()
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return q.SI
}

// thread reads a thread that a test wrote.
func thread(t testing.TB, text string) Thread {
	t.Helper()
	got, err := ParseThread(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return got
}

// No torque that a manual prints for a known thread may be called implausible.
func TestPublishedTorquesArePlausible(t *testing.T) {
	rows := 0
	for _, f := range check.Glob(t, "testdata/published/torque-*.check") {
		for _, row := range f.Rows {
			rows++
			low, high := PlausibleTorque(thread(t, row.In["thread"]))
			least, most := quantity.Torque(si(t, row.In["low"])), quantity.Torque(si(t, row.In["high"]))
			got := "plausible"
			if least < low || most > high {
				got = "implausible"
			}
			if got != row.Out["verdict"] {
				t.Errorf("%s:%d: %s at %s .. %s is %s, want %s (band %s .. %s)", f.Path, row.Line, row.In["thread"],
					row.In["low"], row.In["high"], got, row.Out["verdict"], argument.Show(low), argument.Show(high))
			}
		}
	}
	if rows < 200 {
		t.Errorf("only %d published rows were judged", rows)
	}
}

// The slips that the band is there for: the next unit, and a decimal too many.
func TestPlausibleTorqueCatchesSlips(t *testing.T) {
	for _, c := range []struct{ thread, torque string }{
		{"M10x1.25", "430 N·m"},  // 43 with a digit too many
		{"M10x1.25", "1 N·m"},    // far too little
		{"M6", "71 ft-lb"},       // inch-pounds written as foot-pounds
		{"M6", "100 N·m"},        // 10 with a digit too many
		{"3/8-16", "3 in-lb"},    // foot-pounds written as inch-pounds
		{"3/8-16", "400 ft-lb"},  // 40 with a digit too many
		{"1/4-20", "110 ft-lb"},  // inch-pounds written as foot-pounds
		{"M24x1.5", "2200 N·m"},  // 220 with a digit too many
		{"M24x1.5", "16.2 N·m"},  // 162 ft-lb with the point moved
		{"#10-32", "25 ft-lb"},   // inch-pounds written as foot-pounds
		{"M14x1.25", "1.8 N·m"},  // 18 with the point moved
		{"1-1/2-6", "200 in-lb"}, // foot-pounds written as inch-pounds
	} {
		low, high := PlausibleTorque(thread(t, c.thread))
		if v := quantity.Torque(si(t, c.torque)); v >= low && v <= high {
			t.Errorf("%s at %s is called plausible (band %s .. %s)", c.thread, c.torque, argument.Show(low), argument.Show(high))
		}
	}
	if low, high := PlausibleTorque(Thread{}); low != 0 || high != 0 {
		t.Errorf("no thread has the band %v .. %v, want 0 .. 0", low, high)
	}
}
