package formula

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"buttonup/quantity"
)

// withoutReferences is the environment variable that lets tests pass where the
// programs they compare with cannot be installed.
const withoutReferences = "BUTTONUP_WITHOUT_REFERENCES"

// A formula made at random: as the pack language has it, as Python has it, and its
// value, which keeps the making inside the range of every function.
type madeUp struct {
	pack, python string
	value        float64
}

// maker makes formulas of every smooth operation and function.
type maker struct {
	*rand.Rand
	inputs []madeUp
	used   map[string]int
}

func (m *maker) pick(name string) string {
	m.used[name]++
	return name
}

func (m *maker) leaf() madeUp {
	if m.IntN(5) == 0 {
		x := math.Round((m.Float64()*6-3)*100) / 100
		text := strconv.FormatFloat(x, 'g', -1, 64)
		return madeUp{"(" + text + ")", "(" + text + ")", x}
	}
	return m.inputs[m.IntN(len(m.inputs))]
}

// make nests to the given depth and refuses what is close to the edge of a function.
func (m *maker) make(depth int) madeUp {
	if depth == 0 {
		return m.leaf()
	}
	for {
		a := m.make(depth - 1)
		b := m.make(m.IntN(depth))
		x, y := a.value, b.value
		one := func(pack, python string, value float64) madeUp {
			return madeUp{fmt.Sprintf(pack, a.pack), fmt.Sprintf(python, a.python), value}
		}
		two := func(pack, python string, value float64) madeUp {
			return madeUp{fmt.Sprintf(pack, a.pack, b.pack), fmt.Sprintf(python, a.python, b.python), value}
		}
		var e madeUp
		switch m.IntN(24) {
		case 0:
			m.pick("+")
			e = two("(%s + %s)", "(%s + %s)", x+y)
		case 1:
			m.pick("-")
			e = two("(%s - %s)", "(%s - %s)", x-y)
		case 2:
			m.pick("*")
			e = two("(%s * %s)", "(%s * %s)", x*y)
		case 3:
			if math.Abs(y) < 0.1 {
				continue
			}
			m.pick("/")
			e = two("(%s / %s)", "(%s / %s)", x/y)
		case 4:
			m.pick("negate")
			e = one("(-%s)", "(-%s)", -x)
		case 5:
			if math.Abs(x) < 0.1 {
				continue
			}
			m.pick("abs")
			e = one("abs(%s)", "abs(%s)", math.Abs(x))
		case 6:
			if x < 0.1 {
				continue
			}
			m.pick("sqrt")
			e = one("sqrt(%s)", "sqrt(%s)", math.Sqrt(x))
		case 7:
			m.pick("sq")
			e = one("sq(%s)", "(%s)**2", x*x)
		case 8:
			m.pick("cube")
			e = one("cube(%s)", "(%s)**3", x*x*x)
		case 9:
			if x < 0.2 || math.Abs(y) > 3 {
				continue
			}
			m.pick("pow")
			e = two("pow(%s, %s)", "(%s)**(%s)", math.Pow(x, y))
		case 10:
			if x > 4 {
				continue
			}
			m.pick("exp")
			e = one("exp(%s)", "exp(%s)", math.Exp(x))
		case 11:
			if x < 0.1 {
				continue
			}
			m.pick("ln")
			e = one("ln(%s)", "log(%s)", math.Log(x))
		case 12:
			m.pick("sin")
			e = one("sin(%s)", "sin(%s)", math.Sin(x))
		case 13:
			m.pick("cos")
			e = one("cos(%s)", "cos(%s)", math.Cos(x))
		case 14:
			if math.Abs(math.Cos(x)) < 0.2 {
				continue
			}
			m.pick("tan")
			e = one("tan(%s)", "tan(%s)", math.Tan(x))
		case 15:
			if math.Abs(x) > 0.9 {
				continue
			}
			m.pick("asin")
			e = one(`(asin(%s) / "1 rad")`, "asin(%s)", math.Asin(x))
		case 16:
			if math.Abs(x) > 0.9 {
				continue
			}
			m.pick("acos")
			e = one(`(acos(%s) / "1 rad")`, "acos(%s)", math.Acos(x))
		case 17:
			m.pick("atan")
			e = one(`(atan(%s) / "1 rad")`, "atan(%s)", math.Atan(x))
		case 18:
			if math.Hypot(x, y) < 0.2 {
				continue
			}
			m.pick("atan2")
			e = two(`(atan2(%s, %s) / "1 rad")`, "atan2(%s, %s)", math.Atan2(x, y))
		case 19:
			if math.Hypot(x, y) < 0.2 {
				continue
			}
			m.pick("hypot")
			e = two("hypot(%s, %s)", "hypot(%s, %s)", math.Hypot(x, y))
		case 20:
			m.pick("mean")
			e = two("mean(%s, %s)", "((%s + %s) / 2)", (x+y)/2)
		case 21:
			m.pick("sum")
			e = two("sum(%s, %s)", "(%s + %s)", x+y)
		case 22:
			if math.Abs(x-y) < 0.01 {
				continue
			}
			m.pick("choice")
			e = madeUp{fmt.Sprintf("(%s > %s ? %s : sq(%s))", a.pack, b.pack, a.pack, b.pack), fmt.Sprintf("((%s) if (%s) > (%s) else (%s)**2)", a.python, a.python, b.python, b.python), x}
			if x <= y {
				e.value = y * y
			}
		case 23:
			if math.Abs(x-y) < 0.01 {
				continue
			}
			m.pick("max")
			e = two("max(%s, %s)", "max(%s, %s)", math.Max(x, y))
		}
		if math.Abs(e.value) < 1e4 && (e.value == 0 || math.Abs(e.value) > 1e-6) {
			return e
		}
	}
}

// referencePython finds a Python that has the uncertainties package.
func referencePython(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		path, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		if exec.Command(path, "-c", "import uncertainties.umath").Run() == nil {
			return path
		}
	}
	if os.Getenv(withoutReferences) == "1" {
		t.Skip("no Python with uncertainties, and " + withoutReferences + "=1")
	}
	t.Fatalf("the ± of formulas is checked against the Python package uncertainties, which is not installed; install the Debian package python3-uncertainties, or set %s=1 to go without", withoutReferences)
	return ""
}

// Danger: the ± of a number is wrong. Two hundred formulas made at random, of inputs
// that share unknowns, must have the value and the standard uncertainty that the
// Python package uncertainties gives them. It keeps track of correlations by a
// method of its own: each value carries its derivatives by the independent variables.
//
// Source: uncertainties 3.1, E. O. Lebigot, as packaged by Debian. Seen: run here.
func TestPropagationAgainstUncertainties(t *testing.T) {
	python := referencePython(t)
	const count = 200
	m := &maker{Rand: rand.New(rand.NewPCG(2026, 3)), used: map[string]int{}}
	var script strings.Builder
	script.WriteString("from uncertainties import ufloat\nfrom uncertainties.umath import *\n\ndef out(y):\n    print(repr(float(getattr(y, 'nominal_value', y))), repr(float(getattr(y, 'std_dev', 0.0))))\n\n")
	values, standards, texts := make([]float64, count), make([]float64, count), make([]string, count)
	for n := range count {
		f := newFormulas(t)
		inputs, unknowns := 2+m.IntN(5), 2+m.IntN(5)
		forms := make([][]float64, inputs)
		m.inputs = nil
		for u := range unknowns {
			fmt.Fprintf(&script, "u%d = ufloat(0, 1)\n", u)
		}
		given := map[string]float64{}
		for i := range inputs {
			name := fmt.Sprintf("in%d", i)
			f.dimension(name, "", quantity.OfNumber)
			x := math.Round((m.Float64()*6-3)*1000) / 1000
			given[name] = x
			m.inputs = append(m.inputs, madeUp{name, name, x})
			forms[i] = make([]float64, unknowns)
			fmt.Fprintf(&script, "%s = %v", name, x)
			for u := range unknowns {
				if m.IntN(2) == 0 || u == i%unknowns { // most inputs owe to several unknowns
					forms[i][u] = math.Round(m.NormFloat64()*1e4) / 1e6
					fmt.Fprintf(&script, " + %v * u%d", forms[i][u], u)
				}
			}
			script.WriteString("\n")
		}
		e := m.make(1 + m.IntN(5))
		texts[n] = e.pack
		fmt.Fprintf(&script, "out(%s)\n", e.python)
		id := f.graph.Add(f.compiled(e.pack), f.binder("", ""))
		v := f.values(given)
		y, status := v.Of(id)
		if status != Known {
			t.Fatalf("%s has status %v", e.pack, status)
		}
		// As the numbers of an assessment are computed: the slopes by the inputs,
		// gathered by the unknowns that the inputs owe to.
		slope := make([]float64, len(f.graph.Inputs))
		owed := make([]float64, unknowns)
		for _, i := range f.graph.Gradient(id, v, slope, nil) {
			index, _ := strconv.Atoi(strings.TrimPrefix(f.graph.Inputs[i].Name, "in"))
			for u, c := range forms[index] {
				owed[u] += slope[i] * c
			}
		}
		variance := 0.0
		for _, x := range owed {
			variance += x * x
		}
		values[n], standards[n] = y, math.Sqrt(variance)
	}
	path := filepath.Join(t.TempDir(), "formulas.py")
	if err := os.WriteFile(path, []byte(script.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	output, err := exec.Command(python, path).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, output)
	}
	lines := strings.Split(strings.TrimSpace(string(output)), "\n")
	if len(lines) != count {
		t.Fatalf("%d lines came back for %d formulas: %s", len(lines), count, lines[0])
	}
	uncertain := 0
	for n, line := range lines {
		var wantValue, wantStandard float64
		if _, err := fmt.Sscan(line, &wantValue, &wantStandard); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		if math.Abs(values[n]-wantValue) > 1e-9*math.Abs(wantValue) {
			t.Errorf("%s\nvalue %v, uncertainties has %v", texts[n], values[n], wantValue)
		}
		// Where everything cancels, what is left is rounding.
		if math.Abs(standards[n]-wantStandard) > 1e-9*wantStandard+1e-15*math.Max(1, math.Abs(wantValue)) {
			t.Errorf("%s\nstandard uncertainty %v, uncertainties has %v", texts[n], standards[n], wantStandard)
		}
		if wantStandard > 0 {
			uncertain++
		}
	}
	if uncertain < count*9/10 {
		t.Errorf("only %d of %d formulas have a ± at all", uncertain, count)
	}
	for _, o := range []string{"+", "-", "*", "/", "negate", "abs", "sqrt", "sq", "cube", "pow", "exp", "ln", "sin", "cos", "tan", "asin", "acos", "atan", "atan2", "hypot", "mean", "sum", "choice", "max"} {
		if m.used[o] < 5 {
			t.Errorf("%s was tried %d times", o, m.used[o])
		}
	}
}
