package firstrun

import (
	"errors"
	"math"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

func litres(x float64) quantity.Volume    { return quantity.Volume(x / 1000) }
func km(x float64) quantity.Length        { return quantity.Length(x * 1000) }
func rpm(x float64) quantity.Frequency    { return quantity.Frequency(x / 60) }
func minutes(x float64) quantity.Duration { return quantity.Duration(x * 60) }

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.9g, want %.9g", what, got, want)
	}
}

func TestPublished(t *testing.T) {
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		for _, row := range f.Rows {
			si := func(name string) float64 {
				q, err := quantity.Parse(row.In[name])
				if err != nil {
					t.Fatal(err)
				}
				return q.SI
			}
			tau, err := CoolingConstant(quantity.Temperature(si("first")), quantity.Temperature(si("second")), quantity.Temperature(si("air")), quantity.Duration(si("between")))
			if err != nil {
				t.Fatal(err)
			}
			f.Compare(t, row, "rate_per_minute", 60/float64(tau))
		}
	}
}

// The demo engine's figures guard against change; they are invented and prove nothing.
func TestInvented(t *testing.T) {
	whole, err := Oil{Tank: litres(3.20), Filter: litres(0.35), Lines: litres(0.15)}.Whole()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "oil", float64(whole), 0.00370, 1e-12)
	p, err := Schedule(demo(), Stand{Air: quantity.DegreesCelsius(20), Cold: quantity.DegreesCelsius(30), Constant: minutes(60), Rest: minutes(120)})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Runs) != 5 || p.RetorqueAfter != 5 || len(p.Stretches) != 3 || len(p.Oil) != 3 {
		t.Fatalf("%+v", p)
	}
	for i, want := range []struct{ from, to, speed float64 }{{0, 80, 3000}, {80, 300, 3500}, {300, 800, 4200}} {
		s := p.Stretches[i]
		near(t, "from", float64(s.From)/1000, want.from, 1e-9)
		near(t, "to", float64(s.To)/1000, want.to, 1e-9)
		near(t, "speed", float64(s.Speed)*60, want.speed, 1e-9)
	}
	for i, want := range []float64{80, 800, 2500} {
		near(t, "oil change", float64(p.Oil[i])/1000, want, 1e-9)
	}
	near(t, "leak by", float64(p.LeakBy)/1000, 300, 1e-9)
	near(t, "first run", float64(p.Runs[0].Longest), 60, 0)
	near(t, "hot", float64(p.Runs[4].Barrel), 393.15, 1e-9)
	// From 120 °C in air of 20 °C to 30 °C is a tenth: ln 10 time constants; from 90 °C
	// the two hours are longer.
	near(t, "cooling", float64(p.Runs[4].Cool), 3600*math.Ln10, 1e-6)
	near(t, "cooling of the first", float64(p.Runs[0].Cool), 7200, 1e-9)
}

func demo() Rings {
	return Rings{Bedding: km(800), Top: rpm(5500), Margin: 23, Fresh: 0.15, Bedded: 0.08}
}

// Laws: speeds never fall with the way, leak never rises, cooling takes twice as long
// to a tenth of a tenth, and what was read of cooling gives back what was read.
func TestLaws(t *testing.T) {
	last, leak := 0.0, 1.0
	for x := 0.0; x < 3000; x += 7 {
		s, err := SpeedAllowed(km(x), km(800), rpm(5500))
		if err != nil || float64(s) < last {
			t.Fatalf("%v km: %v, %v", x, s, err)
		}
		l, err := LeakExpected(km(x), km(800), 0.15, 0.08)
		if err != nil || l > leak {
			t.Fatalf("%v km: %v, %v", x, l, err)
		}
		last, leak = float64(s), l
	}
	near(t, "speed at last", last*60, 5500, 1e-9)
	near(t, "leak at last", leak, 0.08, 1e-12)
	c := quantity.DegreesCelsius
	once, err := CoolingTime(c(120), c(30), c(20), minutes(50))
	if err != nil {
		t.Fatal(err)
	}
	twice, err := CoolingTime(c(120), c(21), c(20), minutes(50))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "twice", float64(twice), 2*float64(once), 1e-6)
	tau, err := CoolingConstant(c(120), c(30), c(20), once)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "time constant", float64(tau), 3000, 1e-6)
	if x, err := CoolingTime(c(25), c(30), c(20), minutes(50)); x != 0 || err != nil {
		t.Errorf("what is cold takes %v, %v", x, err)
	}
	for _, v := range []float64{0.1, 1, 7} {
		x, err := PrimingTime(litres(0.5*v), litres(0.001), rpm(60))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "priming", float64(x), 500*v, 1e-9)
	}
	if x, err := Unaccounted(litres(3.7), litres(3.3), litres(0.4)); err != nil || math.Abs(float64(x)) > 1e-15 {
		t.Errorf("nothing is missing, and %v, %v", x, err)
	}
}

// Every refusal names its argument with value, unit and what is allowed.
func TestRefusals(t *testing.T) {
	c := quantity.DegreesCelsius
	nan, inf := math.NaN(), math.Inf(1)
	stand := Stand{Air: c(20), Cold: c(30), Rest: minutes(120)}
	rings := func(change func(*Rings)) error {
		r := demo()
		change(&r)
		_, err := Schedule(r, stand)
		return err
	}
	for _, x := range []struct {
		err        error
		name, says string
	}{
		{fails(Oil{Tank: 0}.Whole()), "tank", "0 L must be above 0 L"},
		{fails(Oil{Tank: litres(3), Filter: litres(-1)}.Whole()), "filter", "-1 L must be 0 L or more"},
		{fails(Oil{Tank: quantity.Volume(nan)}.Whole()), "tank", "not a number"},
		{fails(Oil{Tank: quantity.Volume(inf)}.Whole()), "tank", "not a number"},
		{fails(PrimingTime(litres(1), 0, rpm(60))), "a turn", "must be above 0 L"},
		{fails(PrimingTime(litres(1), litres(0.001), 0)), "speed", "must be above 0 r/min"},
		{fails(Unaccounted(litres(1), litres(-1), 0)), "found", "must be 0 L or more"},
		{fails(CoolingConstant(c(60), c(60), c(20), 60)), "first, second", "60 degC must be above second 60 degC"},
		{fails(CoolingConstant(c(90), c(20), c(20), 60)), "second, air", "must be above air"},
		{fails(CoolingTime(c(90), c(30), c(35), 60)), "cold, air", "cold 30 degC must be above air 35 degC"},
		{fails(CoolingTime(c(90), c(30), c(20), 0)), "constant", "above 0 min"},
		{fails(SpeedAllowed(-1, km(800), rpm(5500))), "driven", "must be 0 km or more"},
		{fails(SpeedAllowed(0, 0, rpm(5500))), "bedding", "above 0 km"},
		{fails(LeakExpected(0, km(800), 0.1, 0.2)), "bedded", "from 0 to 0.1"},
		{rings(func(r *Rings) { r.Margin = 0 }), "margin", "above 0 K"},
		{rings(func(r *Rings) { r.Margin = -3 }), "margin", "-3 K must be above 0 K"},
		{rings(func(r *Rings) { r.Fresh = 1.5 }), "fresh", "from 0 to 1"},
		{rings(func(r *Rings) { r.Top = -1 }), "top speed", "above 0 r/min"},
		{rings(func(r *Rings) { r.Bedding = quantity.Length(nan) }), "bedding", "not a number"},
	} {
		var e *argument.Error
		if !errors.As(x.err, &e) || e.Argument != x.name || !strings.Contains(e.Says, x.says) {
			t.Errorf("want %s: %s, got %v", x.name, x.says, x.err)
		}
	}
	if _, err := Schedule(demo(), Stand{Air: c(33), Cold: c(30), Rest: minutes(120)}); err == nil {
		t.Error("an engine cools below the air")
	}
}

// fails keeps the error of two results.
func fails[V any](_ V, err error) error { return err }
