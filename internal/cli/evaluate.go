package cli

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/quantity"
	"buttonup/words"
)

type driver struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

// longestFormula bounds a formula on the command line; nobody types as much.
const longestFormula = 20_000

// evaluateOptions are the arguments of evaluate that are no names of its formula.
var evaluateOptions = []string{"method", "samples", "seed", "probability", "correlation"}

// mostUndefined is the share of samples without a value above which a result is none.
const mostUndefined = 0.05

// evaluation is a formula of uncertain values about to be computed.
type evaluation struct {
	formula syntax.Expr
	expr    *formula.Expr
	values  map[string]quantity.Uncertain

	correlated []correlated

	method   formula.Method
	asked    bool // for a probability
	sampling formula.Sampling

	graph *formula.Graph
	id    formula.NodeID
	at    *formula.Values
	// How the inputs vary: one unknown for each that has a ±, with its name and its
	// degrees of freedom.
	spread formula.Distribution
	names  []string
	dofs   []float64
}

// calcEvaluate computes a formula of uncertain values.
func calcEvaluate(in *inputs) (*outputs, error) {
	e := &evaluation{values: map[string]quantity.Uncertain{}}
	if err := e.readOptions(in); err != nil {
		return nil, err
	}
	if err := e.readFormula(in); err != nil {
		return nil, err
	}
	if err := e.compute(); err != nil {
		return nil, err
	}
	out, err := e.describe()
	if err != nil {
		return nil, err
	}
	for _, name := range in.order {
		if _, given := e.values[name]; given && !names(e.formula, name) {
			out.note("the formula does not use %s", name)
		}
	}
	for _, name := range []string{"samples", "seed"} {
		if in.has(name) && e.method != formula.ByMonteCarlo {
			out.note("%s counts for the method monte-carlo only", name)
		}
	}
	return out, nil
}

// readOptions reads how to compute.
func (e *evaluation) readOptions(in *inputs) error {
	if in.has("method") {
		m, ok := formula.FindMethod(in.given["method"])
		if !ok {
			return failedArgument("method", "write first-order, monte-carlo or worst-case, or leave it out: then the program chooses and says why", "there is no method %q", in.given["method"])
		}
		e.method = m
	}
	e.sampling = formula.Sampling{Samples: formula.UsualSamples, Seed: 1, Probability: 0.95}
	if e.asked = in.has("probability"); e.asked {
		q, err := in.quantity("probability", quantity.OfNumber)
		if err != nil {
			return err
		}
		if !(q.SI > 0 && q.SI < 1) {
			return failedArgument("probability", "write it like 0.95", "probability %s does not lie between 0 and 1", in.given["probability"])
		}
		e.sampling.Probability = q.SI
	}
	if in.has("samples") {
		q, err := in.quantity("samples", quantity.OfNumber)
		if err != nil {
			return err
		}
		if !(q.SI >= formula.FewestSamples && q.SI <= formula.MostSamples) || q.SI != math.Trunc(q.SI) {
			return failedArgument("samples", "write a whole number like 1000000", "samples %s is not a whole number from %d to %d", in.given["samples"], formula.FewestSamples, formula.MostSamples)
		}
		e.sampling.Samples = int(q.SI)
	}
	var err error
	if e.correlated, err = readCorrelation(in.given["correlation"]); err != nil {
		return err
	}
	if in.has("seed") {
		n, err := strconv.ParseUint(in.given["seed"], 10, 64)
		if err != nil {
			return failedArgument("seed", "write a whole number like 1", "seed %s is not a whole number from 0 to %d", in.given["seed"], uint64(math.MaxUint64))
		}
		e.sampling.Seed = n
	}
	return nil
}

// readFormula reads the formula and the values of its names.
func (e *evaluation) readFormula(in *inputs) error {
	if n := len(in.given["formula"]); n > longestFormula {
		return failedArgument("formula", "take it apart, or write it as numbers of a pack", "the formula is %d bytes long, and %d is the most", n, longestFormula)
	}
	expr, mistakes := syntax.ParseExpression(syntax.File{Name: "formula", Text: []byte(in.given["formula"])})
	if len(mistakes) > 0 {
		return formulaError(mistakes)
	}
	e.formula = expr
	scope := &formula.Scope{Things: map[string]*formula.Thing{}, Places: formula.Places{}, Functions: pack.Functions()}
	for _, name := range in.order {
		if name == "formula" || isOption(name) {
			continue
		}
		q, err := quantity.ParseUncertain(in.given[name])
		if err != nil {
			return argumentError(name, err)
		}
		e.values[name] = q
		scope.Things[name] = &formula.Thing{Kind: formula.Dimension, Name: name, Dimension: q.Dimension}
	}
	if name := joined(expr, e.values); name != "" {
		return failedArgument("formula", "put a space each side of a minus: "+strings.ReplaceAll(name, "-", " - "), "the formula names %s, and no value is given for it", name)
	}
	if missing := unnamed(expr, e.values); len(missing) > 0 {
		return misused(missing[0], fmt.Sprintf("add %s=…", missing[0]), "the formula names %s, and no value is given for it", strings.Join(missing, ", "))
	}
	compiled, mistakes := formula.Compile(expr, scope)
	if len(mistakes) > 0 {
		return formulaError(mistakes)
	}
	if compiled.Condition {
		return failedArgument("formula", "choose between two values with test ? a : b", "the formula is a condition, not a value")
	}
	e.expr = compiled
	return nil
}

func isOption(name string) bool {
	for _, o := range evaluateOptions {
		if o == name {
			return true
		}
	}
	return false
}

// names reports whether a formula names a thing.
func names(e syntax.Expr, name string) bool {
	found := false
	syntax.Walk(e, func(e syntax.Expr) {
		r, ok := e.(*syntax.Reference)
		found = found || ok && r.Root == name
	})
	return found
}

// joined finds a name that is two with a minus between them: a-b is one name.
func joined(e syntax.Expr, values map[string]quantity.Uncertain) string {
	found := ""
	syntax.Walk(e, func(e syntax.Expr) {
		if r, ok := e.(*syntax.Reference); ok && found == "" && strings.Contains(r.Root, "-") {
			if _, given := values[r.Root]; !given {
				found = r.Root
			}
		}
	})
	return found
}

// unnamed lists the names of a formula that have no value.
func unnamed(e syntax.Expr, values map[string]quantity.Uncertain) []string {
	var list []string
	syntax.Walk(e, func(e syntax.Expr) {
		if r, ok := e.(*syntax.Reference); ok && r.Root != "pi" && len(r.Steps) == 0 {
			if _, given := values[r.Root]; !given && !strings.Contains(r.Root, "-") {
				for _, n := range list {
					if n == r.Root {
						return
					}
				}
				list = append(list, r.Root)
			}
		}
	})
	return list
}

func formulaError(list pack.Mistakes) error {
	m := list[0]
	says, do := m.Says, m.Do
	if m.Code == "syntax.line" { // it speaks of the lines of a pack
		says, do = "something stands behind the end of the formula", "an operator is missing there, perhaps"
	}
	return failedArgument("formula", do, "formula, column %d: %s", m.Span.Column, says)
}

// compute evaluates the formula at its values and notes how they vary.
func (e *evaluation) compute() error {
	e.graph = formula.NewGraph()
	e.id = e.graph.Add(e.expr, formula.Binder{Places: formula.Places{}})
	e.at = e.graph.NewValues()
	e.spread.Debts = make([][]formula.Debt, len(e.graph.Inputs))
	for i, input := range e.graph.Inputs {
		x, named := e.values[input.Name]
		name := input.Name
		switch {
		case input.Kind == formula.Given:
			x = quantity.Uncertain{Standard: input.Standard, Dof: math.Inf(1)}
			x.SI, name = input.Number, "a ± in the formula"
		case !named:
			continue
		}
		e.at.Input[i], e.at.InputStatus[i] = x.SI, formula.Known
		if x.Standard > 0 {
			e.spread.Debts[i] = []formula.Debt{{Unknown: len(e.names), U: x.Standard}}
			e.spread.Shapes = append(e.spread.Shapes, x.Shape)
			e.names, e.dofs = append(e.names, name), append(e.dofs, x.Dof)
		}
	}
	if e.method != formula.ByWorstCase {
		if err := e.correlate(); err != nil {
			return err
		}
	}
	e.graph.Evaluate(e.at)
	switch y, status := e.at.Of(e.id); {
	case status != formula.Known:
		_, why := e.graph.Why(e.id, e.at)
		return failedArgument("formula", "check the values", "the formula %s%s", why, e.asWritten())
	case math.IsInf(y, 0) || math.IsNaN(y):
		return failedArgument("formula", "check the values and their units", "the result of the formula is too large a number%s", e.asWritten())
	}
	return nil
}

// asWritten names the values that a formula cannot be computed from; where one of them is
// zero, only those that are.
func (e *evaluation) asWritten() string {
	var all, zero []string
	for name, x := range e.values {
		text := name + " " + x.Unit.Text(x.SI, max(x.Decimals, 0))
		all = append(all, text)
		if x.SI == 0 {
			zero = append(zero, text)
		}
	}
	if len(zero) > 0 {
		all = zero
	}
	if len(all) == 0 {
		return ""
	}
	sort.Strings(all)
	return " (as written: " + strings.Join(all, ", ") + ")"
}

// dofSlack keeps 18.999 degrees of freedom from being truncated to 18.
const dofSlack = 0.01

// factors are what first order multiplies a standard uncertainty with.
type factors struct {
	dof, counted float64 // of the result, and as counted for the factor
	coverage     float64 // for the probability
}

func (e *evaluation) factors(l formula.Linear) (factors, error) {
	f := factors{dof: math.Inf(1)}
	if u := l.Standard(); u > 0 && !math.IsInf(u, 0) {
		var shares, dofs []float64
		for _, x := range l.Debts {
			shares, dofs = append(shares, math.Abs(x.U)), append(dofs, e.dofs[x.Unknown])
		}
		var err error
		if f.dof, err = measure.EffectiveDegreesOfFreedom(u, shares, dofs); err != nil {
			return f, failed("", "%v", err)
		}
	}
	f.counted = f.dof
	if !math.IsInf(f.dof, 1) {
		f.counted = math.Max(1, math.Floor(f.dof+dofSlack))
	}
	k, err := measure.CoverageFactor(e.sampling.Probability, f.counted)
	if err != nil {
		return f, failedArgument("probability", "write it like 0.95", "%v", err)
	}
	f.coverage = k
	return f, nil
}

// shaped reports whether what the result owes to an unknown that is not normal shows
// in its interval.
func (e *evaluation) shaped(l formula.Linear) bool {
	for _, x := range l.Debts {
		if x.U != 0 && e.spread.Shapes[x.Unknown] != quantity.Normal {
			return true
		}
	}
	return false
}

// describe finds how sure the result is and puts it into words.
func (e *evaluation) describe() (*outputs, error) {
	chosen := e.method == formula.Chosen
	l := e.graph.Linear(e.id, e.at, e.spread)
	if u := l.Standard(); !chosen && e.method != formula.ByMonteCarlo && (math.IsNaN(u) || math.IsInf(u, 0)) {
		return nil, failedArgument("formula", "leave method out, or move the values off the edge of a function", "the ± of the result cannot be found to first order: the formula is not smooth at these values")
	}
	sure, err := e.graph.HowSure(e.id, e.at, e.spread, e.method, e.sampling)
	if err != nil {
		return nil, failedArgument("formula", "check the values and their ±", "%v", err)
	}
	if n := sure.Undefined; float64(n) > mostUndefined*float64(e.sampling.Samples) {
		return nil, failedArgument("formula", "move the values off the edge of the formula, or bring their ± down", "the formula has no value in %.0f %% of what its values may be", 100*float64(n)/float64(e.sampling.Samples))
	}
	e.method = sure.Method
	f, err := e.factors(l)
	if err != nil {
		return nil, err
	}
	half := f.coverage * sure.Standard
	exact := chosen && sure.Method == formula.ByFirstOrder && e.shaped(l) && math.IsInf(f.dof, 1)
	switch {
	case sure.Method == formula.ByFirstOrder && !exact:
		sure.Low, sure.High = sure.Value-half, sure.Value+half
	case exact:
		half = (sure.High - sure.Low) / 2
	case sure.Method == formula.ByMonteCarlo:
		half = math.Max(sure.High-sure.Value, sure.Value-sure.Low)
	}
	expanded := measure.Coverage * sure.Standard
	if e.asked && sure.Method != formula.ByWorstCase {
		expanded = half
	}
	for _, x := range []float64{sure.Standard, expanded, sure.Low, sure.High} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil, failedArgument("formula", "check the values and their ±", "the ± of the result is too large a number")
		}
	}
	out := newOutputs()
	u := resultUnit(e.expr.Dimension, e.values)
	d := 6
	if sure.Standard > 0 {
		d = quantity.DecimalsFor(u.InDifference(sure.Standard), 2)
	}
	value := func(name string, x float64) { out.add(name, figure{&x, valueText(u, x, d, sure.Standard)}) }
	difference := func(name string, x float64) {
		decimals := d + 1
		if x == 0 {
			decimals = 0
		}
		out.add(name, figure{&x, u.DifferenceText(x, decimals)})
	}
	value("value", sure.Value)
	difference("standard", sure.Standard)
	difference("expanded", expanded)
	if math.IsInf(f.dof, 1) {
		out.word("dof", "infinite")
	} else {
		dof := f.dof
		out.add("dof", figure{&dof, quantity.FormatNumber(dof, 1)})
	}
	value("low", sure.Low)
	value("high", sure.High)
	out.add("drivers", e.drivers(sure.Shares))
	out.word("method", sure.Method.String())
	out.word("reason", sure.Reason.String())
	if sure.Method == formula.ByMonteCarlo {
		value("mean", sure.Mean)
		n, seed := float64(sure.Samples), float64(sure.Seed)
		out.add("samples", figure{&n, strconv.Itoa(sure.Samples)})
		out.add("seed", figure{&seed, strconv.FormatUint(sure.Seed, 10)})
	}
	e.notes(out, sure, f, exact, u, d)
	return out, nil
}

// drivers tell what a variance comes from, the largest share first.
func (e *evaluation) drivers(shares []formula.Share) []driver {
	list := []driver{}
	for _, s := range shares {
		if s.Share <= 0 {
			continue
		}
		name := e.names[s.Unknown]
		if i := slices.IndexFunc(list, func(d driver) bool { return d.Name == name }); i >= 0 {
			list[i].Share += s.Share
			continue
		}
		list = append(list, driver{name, s.Share})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Share > list[j].Share })
	return list
}

// notes say how the figures are to be read.
func (e *evaluation) notes(out *outputs, sure formula.Sure, f factors, exact bool, u quantity.Unit, d int) {
	if says := words.Found(sure.Reason); says != "" {
		out.note("%s: %s", sure.Method, says)
	}
	if len(e.correlated) > 0 && sure.Method == formula.ByWorstCase {
		out.note("correlation does not count for worst-case: each value goes to its ends by itself")
	}
	p, k := plain(e.sampling.Probability), quantity.FormatNumber(f.coverage, 3)
	covering := map[bool]string{true: "expanded, low and high cover " + p, false: "expanded has k = 2; low and high cover " + p}[e.asked]
	switch sure.Method {
	case formula.ByFirstOrder:
		if exact {
			out.note("%s, with the shapes that the values have", covering)
			break
		}
		out.note("%s with k = %s", covering, k)
		if !math.IsInf(f.dof, 1) {
			out.note("%.0f degrees of freedom are counted for the coverage factor (truncated)", f.counted)
		}
	case formula.ByMonteCarlo:
		out.note("%s, equal probabilities cut off on both sides", covering)
		// The standard error of a quantile, with the density of a normal distribution.
		tail, n := (1-e.sampling.Probability)/2, float64(sure.Samples)
		if z, err := measure.CoverageFactor(e.sampling.Probability, math.Inf(1)); err == nil && sure.Standard > 0 {
			scatter := 2 * sure.Standard * math.Sqrt(tail*(1-tail)/n) / (math.Exp(-z*z/2) / math.Sqrt(2*math.Pi))
			out.note("made again with another seed, the ends move by up to about %s", u.DifferenceText(scatter, d+2))
		}
		if sure.Undefined > 0 {
			out.note("the formula had no value in %d of the samples; they are left out", sure.Undefined)
		}
		if !math.IsInf(f.dof, 1) {
			out.note("degrees of freedom count for first-order only; samples take each ± as known")
		}
	case formula.ByWorstCase:
		out.note("low and high are the least and the greatest value: a normal ± reaches two standard uncertainties, any other its ends; standard and expanded are those of first order")
		if sure.Tried {
			out.note("the formula holds a function or curve, so the ends were found by trying and not by bounding")
		}
		if sure.Loose > 0 {
			out.note("the ends may lie too far out by %s", u.DifferenceText(sure.Loose, d+1))
		}
	}
}

func valueText(u quantity.Unit, si float64, d int, standard float64) string {
	if standard > 0 {
		return u.Text(si, d)
	}
	text := plain(u.In(si))
	if u.Symbol != "1" {
		text += " " + u.Symbol
	}
	return text
}

// resultUnit shows a result in the unit of an argument of its dimension, else in the
// shop's.
func resultUnit(dim quantity.Dimension, values map[string]quantity.Uncertain) quantity.Unit {
	for _, name := range sortedKeys(values) {
		if u := values[name].Unit; u.Dimension == dim {
			return u
		}
	}
	return quantity.Metric.Unit(dim)
}
