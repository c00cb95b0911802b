package cli

import (
	"math"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

// calculated is the JSON of calc.
type calculated struct {
	Name    string            `json:"name"`
	Inputs  map[string]string `json:"inputs"`
	Outputs calculatedOutputs `json:"outputs"`
	Source  string            `json:"source"`
	Notes   []string          `json:"notes"`
}

// calculatedOutputs has the outputs of the four calculations, by the names of the
// contract.
type calculatedOutputs struct {
	Value    output `json:"value"`
	Standard output `json:"standard"`
	Expanded output `json:"expanded"`
	Dof      output `json:"dof"`
	Low      output `json:"low"`
	High     output `json:"high"`
	Mean     output `json:"mean"`
	Samples  output `json:"samples"`
	Seed     output `json:"seed"`
	Reason   output `json:"reason"`
	Method   output `json:"method"`
	Drivers  []struct {
		Name  string  `json:"name"`
		Share float64 `json:"share"`
	} `json:"drivers"`
	Verdict      output `json:"verdict"`
	Probability  output `json:"probability"`
	HoleLow      output `json:"hole_low"`
	HoleHigh     output `json:"hole_high"`
	ShaftLow     output `json:"shaft_low"`
	ShaftHigh    output `json:"shaft_high"`
	ClearanceMin output `json:"clearance_min"`
	ClearanceMax output `json:"clearance_max"`
}

// output is a figure in SI and as printed; a word has no SI.
type output struct {
	SI   *float64 `json:"si"`
	Text string   `json:"text"`
}

// calculate runs calc with arguments given as name, value, name, value.
func calculate(t *testing.T, name string, arguments ...string) calculatedOutputs {
	t.Helper()
	args := []string{"calc", name, "--json"}
	for i := 0; i < len(arguments); i += 2 {
		args = append(args, arguments[i]+"="+arguments[i+1])
	}
	stdout, _ := run(t, ExitDone, args...)
	var c calculated
	decode(t, stdout, &c)
	if c.Name != name || c.Source == "" || len(c.Inputs) != len(arguments)/2 {
		t.Fatalf("%+v", c)
	}
	return c.Outputs
}

// cells hands the inputs of a row to calc, all but those that are "none".
func cells(f *check.File, row check.Row) (arguments []string) {
	for _, name := range f.Columns[:f.Inputs] {
		if row.In[name] != "none" {
			arguments = append(arguments, name, row.In[name])
		}
	}
	return arguments
}

func eachPublished(t *testing.T, name string, test func(f *check.File, row check.Row)) {
	t.Helper()
	for _, f := range check.Glob(t, "testdata/published/"+name+".check") {
		for _, row := range f.Rows {
			test(f, row)
		}
	}
}

// shown is a figure in the unit of a printed cell, from the text that is printed for
// people. A text in that very unit is taken as it stands.
func shown(t *testing.T, cell string, o output) float64 {
	t.Helper()
	q, err := quantity.Parse(o.Text)
	if err != nil {
		t.Fatalf("the text %q is not a quantity: %v", o.Text, err)
	}
	if o.SI == nil || math.Abs(q.SI-*o.SI) > 1e-5*math.Abs(*o.SI)+half(q) {
		t.Fatalf("the text %q and the value %v differ", o.Text, o.SI)
	}
	return cellUnit(t, cell).In(q.SI)
}

// exactly is a figure in the unit of a printed cell, not rounded for print.
func exactly(t *testing.T, cell string, o output) float64 {
	t.Helper()
	if o.SI == nil {
		t.Fatalf("%q has no value", o.Text)
	}
	return cellUnit(t, cell).In(*o.SI)
}

// half is half a unit of the last printed digit, in SI.
func half(q quantity.Quantity) float64 {
	return math.Abs(q.Unit.SIDifference(0.5 * math.Pow10(-max(q.Decimals, 0))))
}

func cellUnit(t *testing.T, cell string) quantity.Unit {
	t.Helper()
	p, err := check.Number(cell)
	if err != nil {
		t.Fatal(err)
	}
	if p.Unit == "" {
		return quantity.MustUnit("1")
	}
	u, err := quantity.ParseUnit(p.Unit)
	if err != nil {
		t.Fatal(err)
	}
	return u
}

func TestPublishedConversions(t *testing.T) {
	eachPublished(t, "convert", func(f *check.File, row check.Row) {
		o := calculate(t, "convert", cells(f, row)...)
		f.Compare(t, row, "printed", shown(t, row.Out["printed"], o.Value))
		f.Compare(t, row, "printed", exactly(t, row.Out["printed"], o.Value))
	})
	// These have eight figures, and seven are printed for people.
	eachPublished(t, "convert-torque", func(f *check.File, row check.Row) {
		o := calculate(t, "convert", cells(f, row)...)
		f.Compare(t, row, "printed", exactly(t, row.Out["printed"], o.Value))
	})
	eachPublished(t, "convert-exact", func(f *check.File, row check.Row) {
		o := calculate(t, "convert", cells(f, row)...)
		f.Compare(t, row, "exact", exactly(t, row.Out["exact"], o.Value))
	})
}

func TestPublishedEvaluations(t *testing.T) {
	mass := `(m_R + dm_R)*(1 + (rho_a - "1.2 kg/m3")*(1/rho_W - 1/rho_R)) - "100 g"`
	// Which formula a file is about, and by which method its figures were found: "" is
	// that which the program chooses.
	for _, c := range []struct{ file, formula, asked, method string }{
		{"evaluate-end-gauge", "l_S + d - l_S*(dalpha*theta + alpha*dtheta)", "first-order", "first-order"},
		{"evaluate-relative", "x1*x2*x3", "first-order", "first-order"},
		{"evaluate-mass", mass, "first-order", "first-order"},
		{"evaluate-mass-samples", mass, "", "monte-carlo"},
		{"evaluate-mass-samples", mass, "monte-carlo", "monte-carlo"},
		{"evaluate-sum", "x1 + x2 + x3 + x4", "first-order", "first-order"},
		{"evaluate-sum-chosen", "x1 + x2 + x3 + x4", "", "first-order"},
		{"evaluate-sum-chosen", "x1 + x2 + x3 + x4", "monte-carlo", "monte-carlo"},
		{"evaluate-comparison-loss", "sq(x1) + sq(x2)", "", "monte-carlo"},
		{"evaluate-comparison-loss-first", "sq(x1) + sq(x2)", "first-order", "first-order"},
		{"evaluate-worst-case", "hole - shaft", "worst-case", "worst-case"},
	} {
		eachPublished(t, c.file, func(f *check.File, row check.Row) {
			arguments := append(cells(f, row), "formula", c.formula)
			if c.asked != "" {
				arguments = append(arguments, "method", c.asked)
			}
			o := calculate(t, "evaluate", arguments...)
			figures := map[string]output{"value": o.Value, "standard": o.Standard, "expanded": o.Expanded, "dof": o.Dof, "low": o.Low, "high": o.High, "mean": o.Mean}
			if c.file == "evaluate-relative" {
				figures["u_c"], figures["U"] = o.Standard, o.Expanded // as a share of 1
				if *o.Value.SI != 1 {
					t.Errorf("the value is %v", *o.Value.SI)
				}
			}
			for _, column := range f.Columns[f.Inputs:] {
				f.Compare(t, row, column, exactly(t, row.Out[column], figures[column]))
			}
			if o.Method.Text != c.method {
				t.Errorf("%s: the method is %q", f.Path, o.Method.Text)
			}
		})
	}
}

// The contributions that JCGM 100 prints for its end gauge, as the shares that are
// given here.
func TestEndGaugeDrivers(t *testing.T) {
	eachPublished(t, "evaluate-end-gauge", func(f *check.File, row check.Row) {
		o := calculate(t, "evaluate", append(cells(f, row), "formula", "l_S + d - l_S*(dalpha*theta + alpha*dtheta)", "method", "first-order")...)
		printed := map[string]float64{"l_S": 25, "d": 9.7, "dalpha": 2.9, "dtheta": 16.7}
		if len(o.Drivers) != len(printed) {
			t.Fatalf("%+v", o.Drivers)
		}
		u := *o.Standard.SI * 1e9
		for _, d := range o.Drivers {
			// Half a unit of the last printed digit: 0.5 nm for 25, 0.05 nm for the rest.
			allowed := 0.05
			if d.Name == "l_S" {
				allowed = 0.5
			}
			if got := math.Sqrt(d.Share) * u; math.Abs(got-printed[d.Name]) > allowed {
				t.Errorf("%s contributes %.3f nm, printed %v nm", d.Name, got, printed[d.Name])
			}
		}
	})
}

func TestPublishedDecisions(t *testing.T) {
	eachPublished(t, "decide-probability", func(f *check.File, row check.Row) {
		o := calculate(t, "decide", cells(f, row)...)
		f.Compare(t, row, "probability", exactly(t, row.Out["probability"], o.Probability))
	})
	eachPublished(t, "decide-rule", func(f *check.File, row check.Row) {
		if o := calculate(t, "decide", cells(f, row)...); o.Verdict.Text != row.Out["verdict"] {
			t.Errorf("%s:%d: %s, want %s", f.Path, row.Line, o.Verdict.Text, row.Out["verdict"])
		}
	})
}

func TestPublishedFits(t *testing.T) {
	const micrometre = 1e-6
	size := func(row check.Row) float64 {
		q, err := quantity.Parse(row.In["size"])
		if err != nil {
			t.Fatal(err)
		}
		return q.SI
	}
	fits := func(name string, columns func(row check.Row, o calculatedOutputs) map[string]float64) {
		eachPublished(t, name, func(f *check.File, row check.Row) {
			o := calculate(t, "fit-grade", cells(f, row)...)
			for column, got := range columns(row, o) {
				f.Compare(t, row, column, got/micrometre)
			}
			for _, figure := range []output{o.HoleLow, o.HoleHigh, o.ShaftLow, o.ShaftHigh, o.ClearanceMin, o.ClearanceMax} {
				shown(t, "1 mm", figure)
				if !strings.HasSuffix(figure.Text, " mm") {
					t.Errorf("%q is not in the unit of the size", figure.Text)
				}
			}
		})
	}
	fits("fit-widths", func(row check.Row, o calculatedOutputs) map[string]float64 {
		return map[string]float64{"hole_width": *o.HoleHigh.SI - *o.HoleLow.SI, "shaft_width": *o.ShaftHigh.SI - *o.ShaftLow.SI}
	})
	fits("fit-shafts", func(row check.Row, o calculatedOutputs) map[string]float64 {
		return map[string]float64{"lower": *o.ShaftLow.SI - size(row), "upper": *o.ShaftHigh.SI - size(row)}
	})
	fits("fit-holes", func(row check.Row, o calculatedOutputs) map[string]float64 {
		return map[string]float64{"lower": *o.HoleLow.SI - size(row), "upper": *o.HoleHigh.SI - size(row)}
	})
	fits("fit-clearance", func(row check.Row, o calculatedOutputs) map[string]float64 {
		return map[string]float64{"min": *o.ClearanceMin.SI, "max": *o.ClearanceMax.SI}
	})
}
