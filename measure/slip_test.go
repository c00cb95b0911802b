package measure

import (
	"math"
	"testing"

	"buttonup/quantity"
)

func rangeOf(t *testing.T, text string) quantity.Range {
	t.Helper()
	if text == "" {
		return quantity.Range{}
	}
	r, err := quantity.ParseRange(text)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The bore of the demonstration engine, and a gap, as a builder meets them.
func TestFindSlip(t *testing.T) {
	bore := [2]string{"92.000 .. 92.013 mm", "<= 92.090 mm"}
	gap := [2]string{"<= 0.04 mm", "<= 0.08 mm"}
	inchBore := [2]string{"3.6220 .. 3.6225 in", "<= 3.6255 in"}
	none := [2]string{}
	for _, c := range []struct {
		typed      string
		limits     [2]string
		neighbours []string
		kind       SlipKind
		meant      string // empty for no suggestion
	}{
		{"92.004 mm", bore, nil, NoSlip, ""},
		{"92.300 mm", bore, nil, NoSlip, ""},                       // worn, or rebored: not absurd
		{"3.6222 mm", bore, nil, InchForMillimetre, "3.6222 in"},   // an inch gauge on a metric page
		{"92004 mm", bore, nil, ThousandTimes, "92.004 mm"},        // the point was lost
		{"0.092004 mm", bore, nil, ThousandthOf, "92.004 mm"},      // metres
		{"3622.2 mm", bore, nil, ThouForMillimetre, "3622.2 thou"}, // thou on a metric page
		{"92.004 in", inchBore, nil, MillimetreForInch, "92.004 mm"},
		{"3622.2 in", inchBore, nil, ThousandTimes, "3622.2 thou"}, // thou typed for inch
		{"29.004 mm", bore, nil, FarOutside, ""},                   // digits swapped: no guess
		{"92.904 mm", bore, nil, FarOutside, ""},
		{"92.255 mm", bore, []string{"92.006 mm"}, JumpToNeighbour, ""},
		{"92.255 mm", bore, []string{"92.006 mm", "92.253 mm"}, NoSlip, ""}, // a neighbour agrees
		{"93.004 mm", bore, []string{"93.002 mm"}, NoSlip, ""},              // an oversize barrel is asked about once
		{"0.02 mm", gap, nil, NoSlip, ""},
		{"0.30 mm", gap, nil, NoSlip, ""},               // bad, but a warped face can be
		{"2 mm", gap, nil, ThouForMillimetre, "2 thou"}, // thou on a feeler
		{"20 mm", gap, nil, ThousandTimes, "20 µm"},     // µm typed for mm
		{"0 mm", gap, nil, NoSlip, ""},                  // no gap at all
		{"64.955 mm", none, nil, NoSlip, ""},            // nothing to hold it against
		{"2.5573 mm", none, []string{"64.955 mm"}, InchForMillimetre, "2.5573 in"},
		{"64.956 mm", none, []string{"64.955 mm"}, NoSlip, ""},
	} {
		q, err := quantity.Parse(c.typed)
		if err != nil {
			t.Fatal(err)
		}
		var neighbours []float64
		for _, n := range c.neighbours {
			x, err := quantity.Parse(n)
			if err != nil {
				t.Fatal(err)
			}
			neighbours = append(neighbours, x.SI)
		}
		got, odd := FindSlip(q.SI, q.Unit, Limits{New: rangeOf(t, c.limits[0]), Limit: rangeOf(t, c.limits[1]), NonNegative: true}, neighbours)
		if got.Kind != c.kind || odd != (c.kind != NoSlip) || got.HasMeant != (c.meant != "") {
			t.Errorf("%s against %v %v: kind %d, asked %v, suggests %v; want kind %d, %q", c.typed, c.limits, c.neighbours, got.Kind, odd, got.HasMeant, c.kind, c.meant)
			continue
		}
		if c.meant == "" {
			continue
		}
		meant, err := quantity.Parse(c.meant)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Meant-meant.SI) > 1e-12*math.Abs(meant.SI) {
			t.Errorf("%s: meant %g m, want %s", c.typed, got.Meant, c.meant)
		}
		if got.Unit.Symbol != "" && got.Unit.Symbol != meant.Unit.Symbol {
			t.Errorf("%s: meant in %s, want %s", c.typed, got.Unit.Symbol, c.meant)
		}
	}
}

// Scaling value, limits and neighbours alike scales what is meant and changes
// nothing else.
func TestFindSlipScales(t *testing.T) {
	one := quantity.MustUnit("1")
	l := Limits{New: quantity.Range{Low: 10, High: 11, HasLow: true, HasHigh: true}, Limit: quantity.Range{High: 12, HasHigh: true}}
	for _, value := range []float64{0, 0.0105, 3, 9, 10.5, 13, 15, 30, 10500} {
		want, asked := FindSlip(value, one, l, []float64{10.6})
		for _, k := range []float64{1e-3, 0.5, 7, 1e4} {
			m := Limits{New: quantity.Range{Low: 10 * k, High: 11 * k, HasLow: true, HasHigh: true}, Limit: quantity.Range{High: 12 * k, HasHigh: true}}
			got, also := FindSlip(value*k, one, m, []float64{10.6 * k})
			if got.Kind != want.Kind || asked != also || math.Abs(got.Meant-want.Meant*k) > 1e-9*k*(1+math.Abs(want.Meant)) {
				t.Errorf("%g scaled by %g: %+v, want %+v", value, k, got, want)
			}
		}
	}
}

func TestFindSlipOfNoNumber(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if s, odd := FindSlip(x, quantity.MustUnit("mm"), Limits{}, nil); !odd || s.Kind != FarOutside || s.HasMeant {
			t.Errorf("%g: %+v %v", x, s, odd)
		}
	}
}
