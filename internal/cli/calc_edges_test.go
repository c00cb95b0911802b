package cli

import (
	"bufio"
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"buttonup/calc"
)

// edges are values that break formulas: nothing, less than nothing, the smallest and
// the largest, a unit of another kind, what is no number, and words for it.
var edges = []string{"0", "-1", "0 mm", "-1 mm", "1e-300 mm", "1e300 mm", "1e30", "-1e30 N", "0 N·m", "1e300 N·m", "0 deg", "90 deg", "180 deg", "360 deg", "-1e9 deg", "0 kg", "0 K", "1e9 K", "0 r/min", "1e12 Hz", "5 furlongs", "NaN", "Inf", "-Inf mm", "1,5 mm", "1/0", "0/0 mm", "5 ± 0 mm", "..", "M0x0", "M10x0", "8.9", ""}

// wholeArguments of the calculations of this package; the rest bring their example.
var wholeArguments = map[string][]string{
	"convert":   {"value=30 ft-lb", "to=N·m"},
	"evaluate":  {"formula=a/b", "a=5.0 ± 0.1 mm", "b=2.0 ± 0.1 mm"},
	"decide":    {"value=92.088 ± 0.005 mm", "lower=92.000 mm", "upper=92.090 mm"},
	"fit-grade": {"size=25 mm", "hole=H7", "shaft=g6"},
}

// Every name of calc meets every edge in every argument, and two arguments made equal.
// Each answers with sound figures, or ends with 1 or 2 and a sentence that names an
// argument; no NaN and no infinity is printed but where it was written.
func TestCalcAtItsEdges(t *testing.T) {
	for _, k := range calc.All() {
		wholeArguments[k.Name] = k.Example
	}
	for name := range calculations {
		whole := wholeArguments[name]
		if len(whole) == 0 {
			t.Errorf("%s has no arguments to try", name)
			continue
		}
		calcEdge(t, name, whole)
		for i := range whole {
			key, value, _ := strings.Cut(whole[i], "=")
			tries := edges
			for j := range whole {
				if _, other, _ := strings.Cut(whole[j], "="); j != i && other != value {
					tries = append(tries[:len(tries):len(tries)], other)
				}
			}
			for _, x := range tries {
				list := append([]string{}, whole...)
				list[i] = key + "=" + x
				calcEdge(t, name, list)
			}
			calcEdge(t, name, append(append([]string{}, whole[:i]...), whole[i+1:]...))
		}
		calcEdge(t, name, append(append([]string{}, whole...), "wingspan=3 mm"))
	}
}

func calcEdge(t *testing.T, name string, list []string) {
	t.Helper()
	var out, errs bytes.Buffer
	a := &app{out: bufio.NewWriter(&out), stderr: &errs, json: true}
	code := ExitDone
	if err := (&calcCommand{Name: name, Arguments: list}).Run(a); err != nil {
		code = a.fail(err)
	}
	a.out.Flush()
	said := name + " " + strings.Join(list, " ")
	var got struct {
		Outputs map[string]json.RawMessage
		Error   *struct{ Says, Argument, Hint string }
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Errorf("%s: exit %d, no JSON: %v: %s", said, code, err, out.String())
		return
	}
	switch {
	case code == ExitDone && got.Error == nil && len(got.Outputs) > 0:
	case (code == ExitFailed || code == ExitUsage) && got.Error != nil && got.Error.Argument != "" && got.Error.Says != "":
		if code == ExitFailed && !strings.ContainsAny(got.Error.Says+got.Error.Hint, "0123456789\"") && !strings.Contains(strings.Join(list, " "), "=M") {
			t.Errorf("%s: what is wrong is not shown: %s", said, got.Error.Says)
		}
	default:
		t.Errorf("%s: exit %d: %s", said, code, out.String())
	}
	if text := out.String(); !strings.Contains(said, "NaN") && !strings.Contains(said, "Inf") && (strings.Contains(text, "NaN") || strings.Contains(text, "Inf")) {
		t.Errorf("%s prints %s", said, text)
	}
	for o, raw := range got.Outputs {
		var f struct{ SI *float64 }
		if json.Unmarshal(raw, &f) == nil && f.SI != nil && (math.IsNaN(*f.SI) || math.IsInf(*f.SI, 0) || math.Abs(*f.SI) > 1e60) {
			t.Errorf("%s: %s is %v", said, o, *f.SI)
		}
	}
}
