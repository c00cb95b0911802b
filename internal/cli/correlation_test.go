package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
)

// standardError returns the mean of readings and its standard uncertainty.
func standardError(x []float64) (mean, u float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		u += (v - mean) * (v - mean)
	}
	n := float64(len(x))
	return mean, math.Sqrt(u / (n - 1) / n)
}

func correlationOf(x, y []float64) float64 {
	mx, ux := standardError(x)
	my, uy := standardError(y)
	sum, n := 0.0, float64(len(x))
	for i := range x {
		sum += (x[i] - mx) * (y[i] - my)
	}
	return sum / (n * (n - 1)) / (ux * uy)
}

func evaluated(t *testing.T, args ...string) map[string]float64 {
	t.Helper()
	stdout, _ := run(t, ExitDone, append([]string{"calc", "evaluate", "--json"}, args...)...)
	var out struct{ Outputs map[string]json.RawMessage }
	if err := json.Unmarshal(stdout, &out); err != nil {
		t.Fatal(err)
	}
	values := map[string]float64{}
	for name, raw := range out.Outputs {
		var f struct{ SI float64 }
		if json.Unmarshal(raw, &f) == nil {
			values[name] = f.SI
		}
	}
	return values
}

// Source: JCGM 100:2008, H.2: resistance, reactance and impedance from five sets of
// readings taken together. Seen: as quoted in a list of published examples; there too
// that the first way of computing gives 0.2956 for u(X), and 0.295 is printed.
func TestCorrelatedValues(t *testing.T) {
	v := []float64{5.007, 4.994, 5.005, 4.990, 4.999}
	i := []float64{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3}
	phi := []float64{1.0456, 1.0438, 1.0468, 1.0428, 1.0433}
	var args []string
	for _, x := range []struct {
		name string
		list []float64
	}{{"v", v}, {"i", i}, {"phi", phi}} {
		mean, u := standardError(x.list)
		args = append(args, fmt.Sprintf("%s=%.12f ± %.12f k=1", x.name, mean, u))
	}
	together := fmt.Sprintf("correlation=v i %.9f, phi v %.9f, i phi %.9f", correlationOf(v, i), correlationOf(v, phi), correlationOf(i, phi))
	for _, c := range []struct {
		formula               string
		value, standard, slip float64
	}{{"v / i * cos(phi)", 127.732, 0.071, 0.0005}, {"v / i * sin(phi)", 219.847, 0.295, 0.001}, {"v / i", 254.260, 0.236, 0.0005}} {
		for _, method := range []string{"first-order", "monte-carlo"} {
			got := evaluated(t, append([]string{"formula=" + c.formula, together, "method=" + method}, args...)...)
			if math.Abs(got["value"]-c.value) > 0.0005 || math.Abs(got["standard"]-c.standard) > c.slip {
				t.Errorf("%s by %s: %.4f with u %.4f, want %.3f with %.3f", c.formula, method, got["value"], got["standard"], c.value, c.standard)
			}
		}
	}
}

// Wholly correlated errors of a difference cancel, those of a sum add up straight.
func TestWhollyCorrelated(t *testing.T) {
	for formula, want := range map[string]float64{"a - b": 0, "a + b": 0.2e-3, "a - 2 * b": 0.1e-3} {
		got := evaluated(t, "formula="+formula, "a=10 ± 0.1 mm k=1", "b=5 ± 0.1 mm k=1", "correlation=a b 1", "method=first-order")
		if math.Abs(got["standard"]-want) > 1e-12 {
			t.Errorf("%s: %v, want %v", formula, got["standard"], want)
		}
	}
	alone := evaluated(t, "formula=a - b", "a=10 ± 0.1 mm k=1", "b=5 ± 0.1 mm k=1", "correlation=a b 0")
	if math.Abs(alone["standard"]-0.1e-3*math.Sqrt2) > 1e-9 {
		t.Errorf("without correlation: %v", alone["standard"])
	}
	worst := evaluated(t, "formula=a - b", "a=10 ± 0.1 mm", "b=5 ± 0.1 mm", "correlation=a b 1", "method=worst-case")
	if math.Abs(worst["low"]-4.8e-3) > 1e-9 || math.Abs(worst["high"]-5.2e-3) > 1e-9 {
		t.Errorf("worst case: %v to %v", worst["low"], worst["high"])
	}
}

func TestCorrelationRefusals(t *testing.T) {
	base := []string{"calc", "evaluate", "formula=a + b + c", "a=1 ± 0.1 mm", "b=1 ± 0.1 mm", "c=1 mm", "d=0.2 .. 0.6 mm rectangular"}
	for text, says := range map[string]string{
		"a b":              "is not two names and a number",
		"a b 1.5":          "lies between -1 and 1",
		"a b x":            "lies between -1 and 1",
		"a a 0.5":          "with itself",
		"a b 0.5, b a 0.4": "given twice",
		"a e 0.5":          "no value e is given",
		"a c 0.5":          "c is exact",
		"a d 0.5":          "d is not normal",
		",":                "names nothing",
		"a b NaN":          "lies between -1 and 1",
	} {
		_, stderr := run(t, ExitFailed, append(base, "correlation="+text)...)
		if !strings.Contains(string(stderr), says) {
			t.Errorf("%s: %s", text, stderr)
		}
	}
	_, stderr := run(t, ExitFailed, "calc", "evaluate", "formula=a + b + c", "a=1 ± 0.1 mm", "b=1 ± 0.1 mm", "c=1 ± 0.1 mm", "correlation=a b 0.9, b c 0.9, a c -0.9")
	if !strings.Contains(string(stderr), "all together") {
		t.Errorf("%s", stderr)
	}
}
