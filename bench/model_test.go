// Package bench holds tests only: it measures propagation of uncertainty against
// general-purpose programs on one model, written once and read by both sides. See
// README.md.
package bench

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"buttonup/formula"
	"buttonup/pack/syntax"
	unit "buttonup/quantity"
)

// model is what both sides read. A formula is written so that the pack language and
// Python understand it alike.
type model struct {
	Seed       uint64     `json:"seed"`
	Inputs     []input    `json:"inputs"`
	Quantities []computed `json:"quantities"`
	Outputs    []string   `json:"outputs"`
}

type input struct {
	Name     string  `json:"name"`
	Shape    string  `json:"shape"`
	Mean     float64 `json:"mean"`
	Standard float64 `json:"standard"`
}

type computed struct {
	Name    string `json:"name"`
	Formula string `json:"formula"`
}

// generate makes a model of size times 400 inputs, 300 quantities and 20 outputs. The
// shares are 40 % signed sums of 3 to 10 terms, 20 % products, 17 % quotients, 7 %
// slider-cranks and 17 % volumes with a polynomial; half of the inputs are normal, a
// quarter each rectangular and triangular.
func generate(seed uint64, size int) *model {
	r := rand.New(rand.NewPCG(seed, uint64(size)))
	m := &model{Seed: seed}
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	value := map[string]float64{}
	var names []string // inputs, then quantities
	for i := range 400 * size {
		mean := between(5, 150)
		relative := between(0.005, 0.03) / mean
		switch k := r.IntN(10); {
		case k < 2:
			relative = between(0.01, 0.04)
		case k < 4:
			relative *= 3
		}
		in := input{Name: "x" + strconv.Itoa(i), Shape: []string{"normal", "normal", "rectangular", "triangular"}[r.IntN(4)], Mean: mean, Standard: mean * relative}
		m.Inputs = append(m.Inputs, in)
		names, value[in.Name] = append(names, in.Name), mean
	}
	free := r.Perm(len(m.Inputs))
	pick := func() string {
		if n := len(m.Quantities); n > 0 && r.IntN(5) == 0 {
			return m.Quantities[max(0, n-80*size)+r.IntN(min(n, 80*size))].Name
		}
		return names[r.IntN(len(m.Inputs))]
	}
	next := func() string {
		if len(free) > 0 && r.IntN(4) > 0 {
			i := free[len(free)-1]
			free = free[:len(free)-1]
			return names[i]
		}
		return pick()
	}
	var kinds []byte
	for _, k := range []struct {
		kind  byte
		count int
	}{{'s', 120}, {'p', 60}, {'q', 50}, {'c', 20}, {'v', 50}} {
		for range k.count * size {
			kinds = append(kinds, k.kind)
		}
	}
	r.Shuffle(len(kinds), func(i, j int) { kinds[i], kinds[j] = kinds[j], kinds[i] })
	for i, kind := range kinds {
		q := computed{Name: "q" + strconv.Itoa(i)}
		var y float64
		switch target := between(20, 120); kind {
		case 's':
			var text strings.Builder
			for range 3 + r.IntN(8) {
				a := next()
				if r.IntN(2) == 0 {
					text.WriteString(" + " + a)
					y += value[a]
				} else {
					text.WriteString(" - " + a)
					y -= value[a]
				}
			}
			q.Formula, y = digits(target-y)+text.String(), target
		case 'p':
			a, b := next(), next()
			k := target / (value[a] * value[b])
			q.Formula, y = fmt.Sprintf("%s * %s * %s", digits(k), a, b), target
		case 'q':
			a, b, c := next(), next(), next()
			k := target / (value[a] + value[b]) * value[c]
			q.Formula, y = fmt.Sprintf("%s * (%s + %s) / %s", digits(k), a, b, c), target
		case 'c':
			a, b, c, angle := next(), next(), next(), between(0.1, 3)
			throw, rod, offset := 45/value[a], 150/value[b], 1/value[c]
			q.Formula = fmt.Sprintf("%s * %s + sqrt(sq(%s * %s) - sq(%s * %s + %s * %s))",
				digits(throw*math.Cos(angle)), a, digits(rod), b, digits(throw*math.Sin(angle)), a, digits(offset), c)
			y = 45*math.Cos(angle) + math.Sqrt(150*150-math.Pow(45*math.Sin(angle)+1, 2))
		case 'v':
			a, b, c := next(), next(), next()
			scale := between(0.1, 0.2)
			k0, k1 := scale*1e-3*math.Pi/4*80*80*70/(value[a]*value[a]*value[b]), scale*between(1, 5)/value[c]
			k2, k3 := scale*between(0.01, 0.05)*100/math.Pow(value[c], 2), scale*between(0.001, 0.005)*1000/math.Pow(value[c], 3)
			x := value[c]
			q.Formula = fmt.Sprintf("%s * %s * %s * %s + %s * (%s + %s * (%s + %s * %s))", digits(k0), a, a, b, c, digits(k1), c, digits(k2), c, digits(k3))
			y = k0*value[a]*value[a]*value[b] + x*(k1+x*(k2+x*k3))
		}
		m.Quantities, value[q.Name] = append(m.Quantities, q), y
	}
	half := len(m.Quantities) / 2
	for _, i := range r.Perm(half)[:20*size] {
		m.Outputs = append(m.Outputs, m.Quantities[half+i].Name)
	}
	return m
}

// digits writes a constant, rounded so that both sides read the same.
func digits(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }

var write = flag.String("write", "", "write the models to this `folder` and measure nothing")

const seed = 20261125

// TestWriteModels writes what both sides read.
func TestWriteModels(t *testing.T) {
	if *write == "" {
		t.Skip("bench/run.sh asks for it")
	}
	for _, size := range []int{1, 2, 4} {
		b, err := json.MarshalIndent(generate(seed, size), "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*write, fmt.Sprintf("model-%d.json", size)), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	writeGaps(t)
}

// prepared is a model as a graph, its inputs at their means.
type prepared struct {
	*model
	graph        *formula.Graph
	values       *formula.Values
	outputs      []formula.NodeID
	all          []formula.NodeID
	distribution formula.Distribution
}

func prepare(t testing.TB, m *model) *prepared {
	t.Helper()
	p := &prepared{model: m, graph: formula.NewGraph()}
	scope := &formula.Scope{Things: map[string]*formula.Thing{}, Places: formula.Places{}}
	given := map[string]input{}
	for _, in := range m.Inputs {
		scope.Things[in.Name] = &formula.Thing{Kind: formula.Dimension, Name: in.Name}
		given[in.Name] = in
	}
	nodes := map[string]formula.NodeID{}
	b := formula.Binder{Places: formula.Places{}, Node: func(x *formula.Thing, _ string) (formula.NodeID, bool) {
		id, ok := nodes[x.Name]
		return id, ok
	}}
	for _, q := range m.Quantities {
		e, mistakes := syntax.ParseExpression(syntax.File{Name: q.Name, Text: []byte(q.Formula)})
		if len(mistakes) > 0 {
			t.Fatal(q.Formula, mistakes)
		}
		x, mistakes := formula.Compile(e, scope)
		if len(mistakes) > 0 {
			t.Fatal(q.Formula, mistakes)
		}
		nodes[q.Name] = p.graph.Add(x, b)
		p.all = append(p.all, nodes[q.Name])
		scope.Things[q.Name] = &formula.Thing{Kind: formula.Number, Name: q.Name}
	}
	for _, name := range m.Outputs {
		p.outputs = append(p.outputs, nodes[name])
	}
	p.values = p.graph.NewValues()
	p.distribution.Debts = make([][]formula.Debt, len(p.graph.Inputs))
	shapes := map[string]unit.Shape{"normal": unit.Normal, "rectangular": unit.Rectangular, "triangular": unit.Triangular}
	for i, in := range p.graph.Inputs {
		x, ok := given[in.Name]
		if !ok {
			t.Fatalf("the graph has an input %q of its own", in.Name)
		}
		p.values.Input[i], p.values.InputStatus[i] = x.Mean, formula.Known
		p.distribution.Debts[i] = []formula.Debt{{Unknown: i, U: x.Standard}}
		p.distribution.Shapes = append(p.distribution.Shapes, shapes[x.Shape])
	}
	p.graph.Evaluate(p.values)
	for i, id := range p.all {
		if x, status := p.values.Of(id); status != formula.Known || !(x > 1) || x > 1000 {
			t.Fatalf("%s = %v is not a value to measure with", m.Quantities[i].Name, x)
		}
	}
	return p
}
