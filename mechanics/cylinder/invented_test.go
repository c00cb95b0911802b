package cylinder

import (
	"errors"
	"math"
	"testing"

	"buttonup/quantity"
)

// The numbers in this file belong to the invented demo engine. They were computed by
// whoever wrote them down, by the same formulas, and are kept as a regression test:
// they prove nothing about the formulas.

const degree = math.Pi / 180

func mm(x float64) quantity.Length { return quantity.Millimetres(x) }
func cc(x float64) quantity.Volume { return quantity.Volume(x * 1e-6) }
func deg(x float64) quantity.Angle { return quantity.Angle(x * degree) }

// agrees fails unless got is want to within half a unit of want's last printed digit,
// given as the number of decimals.
func agrees(t *testing.T, what string, err error, got, want float64, decimals int) {
	t.Helper()
	if err != nil {
		t.Errorf("%s: %v", what, err)
		return
	}
	if off := math.Abs(got - want); !(off <= 0.5000001*math.Pow10(-decimals)) {
		t.Errorf("%s = %.8g, want %.*f", what, got, decimals, want)
	}
}

var demoCrank = Crank{Stroke: mm(86.5), Rod: mm(178)}

func demoClearance(crevice float64) Clearance {
	return Clearance{Chamber: cc(62.5), GasketBore: mm(93.5), GasketThickness: mm(1.14), Deck: mm(0.20), Pockets: cc(4), Crevice: cc(crevice)}
}

func TestInventedDisplacement(t *testing.T) {
	for _, c := range []struct {
		bore, want float64
		decimals   int
	}{{92, 1150.04, 2}, {92.5, 1162.6, 1}, {93, 1175.2, 1}} {
		_, total, err := Displacement(mm(c.bore), mm(86.5), 2)
		agrees(t, "total", err, float64(total)*1e6, c.want, c.decimals)
	}
	each, _, err := Displacement(mm(92), mm(86.5), 2)
	agrees(t, "each", err, float64(each)*1e6, 575.02, 2)
}

func TestInventedPistonDrop(t *testing.T) {
	for angle, want := range map[float64]float64{1: 0.008, 2: 0.033, 5: 0.204, 10: 0.816, 15: 1.826, 20: 3.224} {
		x, err := demoCrank.Drop(deg(angle))
		agrees(t, "drop", err, x.Millimetres(), want, 3)
	}
	_, after, err := demoCrank.AnglesAt(mm(5))
	agrees(t, "stop at 5 mm", err, float64(after)/degree, 25.02, 2)
}

func TestInventedCompression(t *testing.T) {
	vc, err := demoClearance(0).Volume(mm(92))
	agrees(t, "clearance volume", err, float64(vc)*1e6, 75.66, 2)
	c, err := StaticCompression(mm(92), mm(86.5), demoClearance(0))
	agrees(t, "static", err, c.Ratio, 8.600, 3)
	c, err = StaticCompression(mm(92), mm(86.5), demoClearance(0.47))
	// The demo engine's sheet says 8.554 here; 575.02/76.1275 + 1 is 8.5534.
	agrees(t, "static with crevice", err, c.Ratio, 8.553, 3)
	c, err = StaticCompression(mm(92.5), mm(86.5), demoClearance(0))
	agrees(t, "oversize", err, c.Ratio, 8.68, 2)
	c, err = TrappedCompression(mm(92), demoCrank, demoClearance(0), deg(62))
	agrees(t, "trapped at the seat", err, c.Ratio, 6.95, 2)
	agrees(t, "trapped stroke", err, c.Stroke.Millimetres(), 67.70, 2)
	agrees(t, "trapped volume", err, float64(c.Swept)*1e6, 450.0, 1)
	c, err = TrappedCompression(mm(92), demoCrank, demoClearance(0), deg(46))
	agrees(t, "trapped at 1 mm", err, c.Ratio, 7.68, 2)
	v, err := DownFill(mm(92), mm(10), cc(70.5))
	agrees(t, "down-fill", err, float64(v)*1e6, -4.0, 1)
}

func TestInventedDeck(t *testing.T) {
	deck, err := Stack{CaseDeck: mm(131.65), BaseGasket: mm(0.30), Barrel: mm(128), Rod: mm(178), Stroke: mm(86.5), CompressionHeight: mm(38.5)}.Deck()
	agrees(t, "deck", err, deck.Millimetres(), 0.20, 2)
	gap, err := Squish(deck, mm(1.14))
	agrees(t, "squish", err, gap.Millimetres(), 1.34, 2)
}

func TestInventedRings(t *testing.T) {
	for factor, want := range map[float64]float64{0.0040: 0.368, 0.0045: 0.414} {
		gap, err := RingGap(mm(92), factor)
		agrees(t, "gap", err, gap.Millimetres(), want, 3)
	}
	heat := func(alpha, rise float64) Heat {
		return Heat{quantity.Expansion(alpha * 1e-6), quantity.TemperatureDifference(rise)}
	}
	for _, c := range []struct {
		ring, bore, want float64
		decimals         int
	}{{200, 120, 0.104, 3}, {260, 120, 0.312, 3}, {300, 130, 0.40, 2}} {
		closure, err := RingClosure(mm(92), heat(12, c.ring), heat(17, c.bore))
		agrees(t, "closure", err, closure.Millimetres(), c.want, c.decimals)
	}
	hot, err := RingGapHot(mm(0.368), mm(92), heat(12, 300), heat(17, 130))
	if err != nil || hot >= 0 {
		t.Errorf("hot gap = %v, %v; the ends butt", hot, err)
	}
	gap, err := RingGapAt(mm(0.400), mm(92), mm(92.040))
	agrees(t, "gap in the taper", err, gap.Millimetres()-0.400, 0.126, 3)
}

func TestInventedPistonClearance(t *testing.T) {
	for _, c := range []struct{ cold, alpha, piston, barrel, want float64 }{
		{0.053, 18.5, 115, 110, 0.029},
		{0.053, 18.5, 130, 100, -0.012},
		{0.090, 22, 130, 100, -0.016},
	} {
		hot, err := PistonClearanceHot(mm(92), mm(92-c.cold),
			Heat{17e-6, quantity.TemperatureDifference(c.barrel)},
			Heat{quantity.Expansion(c.alpha * 1e-6), quantity.TemperatureDifference(c.piston)})
		agrees(t, "hot clearance", err, hot.Millimetres(), c.want, 3)
	}
}

func demoReboring() Reboring {
	return Reboring{
		Walls:        []Wall{{Name: "front", Bore: mm(92.160), Damage: mm(0.05)}, {Name: "rear", Bore: mm(92.06)}},
		Nominal:      mm(92),
		Oversizes:    []Oversize{{Step: mm(1.0)}, {Step: mm(0.25)}, {Step: mm(0.50), Skirt: mm(92.448)}},
		Clearance:    mm(0.053),
		CleanUp:      mm(0.03),
		Tolerance:    mm(0.010),
		LinerOutside: mm(98.0),
		LinerLeast:   mm(2.40),
	}
}

func TestInventedReboring(t *testing.T) {
	got, err := demoReboring().Choose()
	if err != nil {
		t.Fatal(err)
	}
	agrees(t, "needed", nil, got.Needed.Millimetres(), 92.32, 2)
	agrees(t, "step", nil, got.Step.Millimetres(), 0.50, 2)
	agrees(t, "bore", nil, got.Bore.Millimetres(), 92.501, 3)
	if len(got.Refused) != 1 || got.Refused[0].Reason != DoesNotCleanUp || got.Refused[0].Wall != 0 {
		t.Errorf("refused %+v, want the 0.25 step for the front barrel", got.Refused)
	}
	left, err := LinerLeft(mm(98), got.Bore)
	agrees(t, "liner left", err, left.Millimetres(), 2.7495, 4)

	r := demoReboring()
	r.LinerLeast = mm(2.80)
	_, err = r.Choose()
	var none *NoOversizeError
	if !errors.As(err, &none) || len(none.Refused) != 3 {
		t.Errorf("error %v, want all three steps refused", err)
	}
}

func TestInventedCrankingPressure(t *testing.T) {
	p, err := CrankingPressure(101300, 6.95, 1.25)
	agrees(t, "cranking pressure", err, float64(p)/1e5, 10.4, 1)
	for altitude, want := range map[float64]float64{500: 0.942, 1000: 0.887, 1500: 0.835, 2000: 0.785, 3000: 0.692} {
		p, _, err := StandardAtmosphere(quantity.Length(altitude))
		agrees(t, "pressure ratio", err, float64(p)/101325, want, 3)
	}
}
