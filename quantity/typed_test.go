package quantity

import (
	"math"
	"strings"
	"testing"
)

// What a builder types at the bench is read as it was meant or refused with a
// sentence that says what to write. The second column is the value in SI or, after
// an exclamation mark, words of the refusal.
func TestTypedAtTheBench(t *testing.T) {
	const lbfFt = 1.3558179483314004
	one := func(s string) ([]float64, error) { q, err := Parse(s); return []float64{q.SI}, err }
	ends := func(s string) ([]float64, error) {
		r, err := ParseRange(s)
		low, high := math.Inf(-1), math.Inf(1)
		if r.HasLow {
			low = r.Low
		}
		if r.HasHigh {
			high = r.High
		}
		return []float64{low, high}, err
	}
	inf := math.Inf(1)
	for _, c := range []struct {
		parse func(string) ([]float64, error)
		text  string
		want  []float64
		says  string
	}{
		// Lengths.
		{one, "92.004 mm", []float64{0.092004}, ""},
		{one, "92.004mm", []float64{0.092004}, ""},
		{one, "92,004mm", nil, "has a comma"},
		{one, "92,004 mm", nil, "has a comma"},
		{one, ",5 mm", nil, "has a comma"},
		{one, "92.004 MM", nil, "case-sensitive; write mm"},
		{one, "92.004 mm.", nil, "write mm, without full stops"},
		{one, "92 .004 mm", nil, "write one number and its unit"},
		{one, "1 000 mm", nil, "write one number and its unit"},
		{one, "1'000 mm", nil, "do not group its digits"},
		{one, "1_000 mm", nil, "do not group its digits"},
		{one, "-.5 mm", []float64{-0.0005}, ""},
		{one, "+0.5 mm", []float64{0.0005}, ""},
		{one, "- 5 mm", nil, "a number is missing"},
		{one, "~5 mm", nil, "does not begin with a number"},
		{one, "O.5 mm", nil, "does not begin with a number"},
		{one, "mm 5", nil, "does not begin with a number"},
		{one, "92.004 mm 5", nil, "write one number and its unit"},
		{one, "1e-3 m", []float64{0.001}, ""},
		{one, "1e-3m", []float64{0.001}, ""},
		{one, "1.5e mm", nil, "unknown unit"},
		{one, "1e400 mm", nil, "too large"},
		{one, "1e-400 mm", nil, "too small"},
		{one, "1e31 mm", nil, "too large"},
		{one, "0.000 mm", []float64{0}, ""},
		{one, "5 thou", []float64{0.000127}, ""},
		{one, "5 thou.", nil, "write thou, without full stops"},
		{one, "5 thous", nil, "write thou"},
		{one, "10 microns", nil, "write µm"},
		{one, `0.0015"`, nil, "inches are written in"},
		{one, "0.0015 in.", nil, "write in, without full stops"},
		{one, "2 inches", nil, "write in"},
		{one, "3/8", []float64{0.375}, ""},
		{one, "3/8 in", []float64{0.009525}, ""},
		{one, "1 1/2 in", []float64{0.0381}, ""},
		{one, "1 1/2in", []float64{0.0381}, ""},
		{one, "1-1/2 in", []float64{0.0381}, ""},
		{one, "1½ in", nil, `write the fraction out, like "1-1/2 in"`},
		{one, "½ in", nil, "write the fraction out"},
		{one, "4/0 in", nil, "no usable denominator"},
		{one, "2'", nil, "write ft"},
		{one, "1 mm^2", nil, "write mm2"},

		// Torques.
		{one, "32 ft lbs", []float64{32 * lbfFt}, ""},
		{one, "32ft-lb", []float64{32 * lbfFt}, ""},
		{one, "32 ft. lb.", nil, "write ft-lb, without full stops"},
		{one, "32 ftlb", nil, "write ft-lb"},
		{one, "32 foot pounds", nil, "write ft-lb"},
		{one, "32 FT-LB", nil, "case-sensitive; write ft-lb"},
		{one, "110 inch-pounds", nil, "write in-lb"},
		{one, "43 Newton metres", nil, "write N·m"},
		{one, "43 N m", nil, "write N·m"},
		{one, "43 NM", nil, "write N·m or nm, whichever is meant"},
		{one, "4.4 kg-m", nil, "write kgf·m"},
		{one, "4.4 mkg", nil, "write kgf·m"},
		{one, "43 J", nil, "a unit of energy"},

		// Other kinds.
		{one, "8 lbs", nil, "write lb for a mass, lbf for a force"},
		{one, "8 kgs", nil, "write kg"},
		{one, "8 ounces", nil, "write oz for a mass and fl oz for a volume"},
		{one, "2 litres", nil, "write L"},
		{one, "150 ML", nil, "write mL"},
		{one, "1 quart", nil, "write qt"},
		{one, "30 PSI", nil, "write psi"},
		{one, "250 lbs/in", nil, "write lbf/in"},
		{one, "5500 RPM", nil, "write r/min"},
		{one, "20 C", nil, "degC or degF"},
		{one, "20 deg C", nil, "write degC"},
		{one, "20°C", []float64{293.15}, ""},
		{one, "15°", []float64{15 * math.Pi / 180}, ""},
		{one, "15deg", []float64{15 * math.Pi / 180}, ""},
		{one, "2%", []float64{0.02}, ""},
		{one, "2 percent", nil, "write %"},
		{one, "5 hrs", nil, "write h"},
		{one, "20 min.", nil, "write min, without full stops"},
		{one, "1 h 20 min", nil, "write one number and its unit"},
		{one, "1:20", nil, "write one number and its unit"},
		{one, "2 weeks", nil, "write the time in days"},
		{one, "n/a", nil, "does not begin with a number"},
		{one, "", nil, "nothing is written"},

		// One value where a band stands, and the other way round.
		{one, "16-20 ft-lb", nil, "is a range"},
		{one, "10 ± 0.03 mm", nil, "carries a ±"},
		{one, "<= 0.5 mm", nil, "a limit on one side"},
		{ends, "0.5 mm", nil, "a range is needed"},

		// Bands.
		{ends, "16-20 ft-lb", []float64{16 * lbfFt, 20 * lbfFt}, ""},
		{ends, "16–20 ft-lb", []float64{16 * lbfFt, 20 * lbfFt}, ""},
		{ends, "16 - 20 ft-lb", []float64{16 * lbfFt, 20 * lbfFt}, ""},
		{ends, "16 to 20 ft-lb", nil, "written with two dots"},
		{ends, "16…20 ft-lb", nil, "written with two dots"},
		{ends, "16—20 ft-lb", nil, "written with two dots"},
		{ends, "20-16 ft-lb", nil, "runs downwards"},
		{ends, "<= 0.5 mm", []float64{-inf, 0.0005}, ""},
		{ends, "<=0.5 mm", []float64{-inf, 0.0005}, ""},
		{ends, "<=0.5mm", []float64{-inf, 0.0005}, ""},
		{ends, "≥1.0 mm", []float64{0.001, inf}, ""},
		{ends, "=< 0.5 mm", nil, `write "<= 1.5 mm" for at most`},
		{ends, "< 0.5 mm", nil, "write <= or >="},
		{ends, "max 0.5 mm", nil, `write "<= 1.5 mm" for at most`},
		{ends, "0.5 mm max", nil, `write "<= 1.5 mm" for at most`},
		{ends, "±0.03 mm", nil, "no value before its ±"},
		{ends, "10±.03 mm", []float64{0.00997, 0.01003}, ""},
		{ends, "10 +/- 0.03 mm", []float64{0.00997, 0.01003}, ""},
		{ends, "10mm ± 5µm", []float64{0.009995, 0.010005}, ""},
		{ends, "10 mm ± 5 µm", []float64{0.009995, 0.010005}, ""},
		{ends, "10 +0.03 -0.02 mm", nil, "write one number and its unit"},
		{ends, "1/2-3/4 in", []float64{0.0127, 0.01905}, ""},
	} {
		got, err := c.parse(c.text)
		switch {
		case c.says != "" && err == nil:
			t.Errorf("%q was read as %v, and should be refused with %q", c.text, got, c.says)
		case c.says != "" && !strings.Contains(err.Error(), c.says):
			t.Errorf("%q: says %q, want %q in it", c.text, err, c.says)
		case c.says == "" && err != nil:
			t.Errorf("%q: %v", c.text, err)
		case c.says == "":
			for i := range c.want {
				if !near(got[i], c.want[i]) {
					t.Errorf("%q is %v, want %v", c.text, got, c.want)
				}
			}
		}
	}
}

// What is printed of a band shows both its ends, however they were written.
func TestBandsPrintAsWritten(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"92.000 .. 92.013 mm", "92.000 .. 92.013 mm"},
		{"1/2-3/4 in", "0.5 .. 0.75 in"},
		{"7/64 .. 0.5 in", "0.109375 .. 0.5 in"},
		{"178.00 ± 0.03 mm", "177.97 .. 178.03 mm"},
		{"178.00 mm ± 5 µm", "177.995 .. 178.005 mm"},
		{"0.5 in .. 13 cm", "1.27 .. 13 cm"},
		{"11.9e-6 .. 12.1e-6 1/K", "0.0000119 .. 0.0000121 1/K"},
		{"<=.5 mm", "<= 0.5 mm"},
	} {
		r, err := ParseRange(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
		} else if got := r.Text(); got != c.want {
			t.Errorf("%q prints as %q, want %q", c.text, got, c.want)
		}
	}
}
