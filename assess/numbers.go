package assess

import (
	"cmp"
	"math"
	"slices"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack"
)

// Short names for how the pack says a set is judged.
const (
	judgeLargest  = pack.ByLargest
	judgeSmallest = pack.BySmallest
	judgeMean     = pack.ByMean
	judgeSpread   = pack.BySpread
	judgeEach     = pack.ByEach
)

// evaluateNumbers computes the numbers and sweeps with their ± and judges them.
func (r *run) evaluateNumbers() {
	g := r.Model.numbers
	for i, in := range g.Inputs {
		switch in.Kind {
		case formula.Model, formula.Given:
			if in.Standard > 0 {
				kind, owner := measure.FromModel, in.Name
				if in.Kind == formula.Given {
					kind, owner = measure.FromGiven, in.Reference()
				} else if in.Place != "" {
					owner += " " + in.Place
				}
				id := r.unknowns.New(measure.Source{Kind: kind, Owner: owner, Dof: math.Inf(1)})
				r.forms[i] = []measure.Term{{Unknown: id, U: in.Standard}}
			}
		case formula.Present:
			r.fillPresence(i, in)
		}
	}
	r.overrideSupposed()
	g.Evaluate(r.values)
	slope := make([]float64, len(g.Inputs))
	var touched []int32
	owed := make([]float64, len(r.unknowns.Sources))
	var owing []measure.Unknown
	r.numberResult = make([]int, len(r.computed))
	for i := range r.computed {
		n := &r.computed[i]
		r.numberResult[i] = -1
		x, status := r.values.Of(n.node)
		if status == formula.Absent {
			continue
		}
		r.numberResult[i] = len(r.out.Results)
		res := r.add(Result{reference: n.of, Kind: n.kind, Name: n.Name, Place: n.place, Title: n.Title, Unit: n.Unit, Decimals: -1, Critical: n.Critical,
			Note: n.Note, Basis: n.Basis, Source: source(n.Sources)})
		limits, blank := r.limitsOf(&n.new, &n.limit, n.Blank)
		limits.GuardNew, limits.Fit, limits.NonNegative = n.GuardNew, true, n.NonNegative
		res.New, res.Limit, res.Blank = limits.New, limits.Limit, blank
		if status != formula.Known || math.IsInf(x, 0) {
			r.withoutValue(res, n)
		} else {
			touched = g.Gradient(n.node, r.values, slope, touched[:0])
			owing = owing[:0]
			for _, t := range touched {
				s := slope[t]
				slope[t] = 0
				for _, term := range r.forms[t] {
					if owed[term.Unknown] == 0 {
						owing = append(owing, term.Unknown)
					}
					owed[term.Unknown] += s * term.U
				}
				res.Supposed = res.Supposed || r.touchedBySupposition[t]
			}
			variance := sumOfSquares(owing, owed)
			if !(variance > 0 && variance <= math.MaxFloat64) {
				owing = r.secants(n.node, owing, owed)
				variance = sumOfSquares(owing, owed)
			}
			res.Value, res.HasValue = x, true
			r.judgeNumber(res, n, limits, owing, owed, variance)
			for _, id := range owing {
				owed[id] = 0
			}
			for id := range r.values.Override {
				res.Supposed = res.Supposed || slices.Contains(g.Cone(n.node), id)
			}
			if at, ok := g.FoundAt(n.node, r.values); ok && n.sweep != nil {
				res.At, res.HasAt, res.AtUnit = at, true, n.sweep.Over.Unit
			}
			r.finish(res)
		}
		r.reportValue(res)
	}
}

func sumOfSquares(owing []measure.Unknown, owed []float64) float64 {
	sum := 0.0
	for _, id := range owing {
		sum += owed[id] * owed[id]
	}
	return sum
}

// secants finds what a number owes to its unknowns where it has no slope, as a root
// has none at zero: by how much it changes, at most, when an unknown is off by its
// standard uncertainty to either side.
func (r *run) secants(node formula.NodeID, owing []measure.Unknown, owed []float64) []measure.Unknown {
	g := r.Model.numbers
	here, _ := r.values.Of(node)
	for _, slot := range g.InputsOf(node) {
		for _, t := range r.forms[slot] {
			if t.U != 0 && !slices.Contains(owing, t.Unknown) {
				owing = append(owing, t.Unknown)
			}
		}
	}
	for _, id := range owing {
		owed[id] = 0
		for _, side := range []float64{1, -1} {
			v := g.NewValues()
			copy(v.Input, r.values.Input)
			copy(v.InputStatus, r.values.InputStatus)
			v.Override = r.values.Override
			for slot, terms := range r.forms {
				for _, t := range terms {
					if t.Unknown == id {
						v.Input[slot] += side * t.U
					}
				}
			}
			g.Evaluate(v)
			if y, status := v.Of(node); status == formula.Known {
				owed[id] = math.Max(owed[id], math.Abs(y-here))
			}
		}
	}
	return owing
}

// fillPresence fills the input that tells whether a number's block stands.
func (r *run) fillPresence(slot int, in formula.Input) {
	x := 1.0 // what cannot be decided yet stands
	if id, ok := r.presence[instance{in.Detail + "." + in.Name, in.Place}]; ok {
		if v, status := r.facts.Of(id); status == formula.Known {
			x = v
		}
	}
	r.values.Input[slot], r.values.InputStatus[slot] = x, formula.Known
}

func (r *run) overrideSupposed() {
	if len(r.opts.Suppose) == 0 {
		return
	}
	r.touchedBySupposition = map[int32]bool{}
	for slot, in := range r.Model.numbers.Inputs {
		if r.supposedFact(in) {
			r.touchedBySupposition[int32(slot)] = true
		}
	}
	for key, x := range r.supposed {
		if i, ok := r.numberIndex[key]; ok {
			if r.values.Override == nil {
				r.values.Override = map[formula.NodeID]float64{}
			}
			r.values.Override[r.computed[i].node] = x
		}
		if i, ok := r.dimensionIndex[key]; ok {
			for _, in := range r.readingInputs[i] {
				r.touchedBySupposition[int32(in.slot)] = true
			}
		}
	}
}

// withoutValue says what keeps a number from having a value.
func (r *run) withoutValue(res *Result, n *numberAt) {
	res.Verdict = measure.NotMeasured
	if len(res.Blank) > 0 {
		res.Verdict = measure.None
	}
	inputs, reason := r.Model.numbers.Why(n.node, r.values)
	for _, i := range inputs {
		name := r.Model.numbers.Inputs[i].Reference()
		if !contains(res.Missing, name) {
			res.Missing = append(res.Missing, name)
		}
	}
	if len(inputs) == 0 && n.Value != nil {
		res.Undefined = orElse(reason, "has no value here")
	}
}

// driversOf tells what a reading's ± comes from.
func (r *run) driversOf(terms []measure.Term, name func(measure.Unknown) string) []Driver {
	variance := 0.0
	for _, t := range terms {
		variance += t.U * t.U
	}
	if variance == 0 {
		return nil
	}
	from := len(r.drivers)
	for _, t := range terms {
		r.addShare(from, name(t.Unknown), t.U*t.U/variance)
	}
	return r.sortDrivers(from)
}

// sourceName names the source of one reading's uncertainty.
func (r *run) sourceName(id measure.Unknown) string {
	s := r.unknowns.Sources[id]
	switch s.Kind {
	case measure.FromGauge:
		return "gauge"
	case measure.FromShared:
		return s.Owner
	case measure.FromStep:
		return "step"
	case measure.FromRepeats:
		return "repeats"
	case measure.FromTemperature:
		return "temperature"
	}
	return s.Owner
}

// shares tells what a number's ± comes from, by the dimension that it was read as,
// or by what all readings share.
func (r *run) shares(owing []measure.Unknown, owed []float64, variance float64) []Driver {
	if variance == 0 {
		return nil
	}
	from := len(r.drivers)
	for _, id := range owing {
		r.addShare(from, r.unknowns.Sources[id].Owner, owed[id]*owed[id]/variance)
	}
	return r.sortDrivers(from)
}

// addShare adds to the share of a driver of the result whose drivers begin at from.
func (r *run) addShare(from int, name string, share float64) {
	for i := from; i < len(r.drivers); i++ {
		if r.drivers[i].Name == name {
			r.drivers[i].Share += share
			return
		}
	}
	r.drivers = append(r.drivers, Driver{name, share})
}

// sortDrivers puts the largest first and drops what is less than a thousandth.
func (r *run) sortDrivers(from int) []Driver {
	list := r.drivers[from:]
	slices.SortStableFunc(list, func(a, b Driver) int { return cmp.Compare(b.Share, a.Share) })
	for len(list) > 0 && list[len(list)-1].Share < 0.001 {
		list = list[:len(list)-1]
	}
	r.drivers = r.drivers[:from+len(list)]
	return list[:len(list):len(list)]
}

// reportValue makes the findings of a result.
func (r *run) reportValue(res *Result) {
	f := Finding{Of: res.Reference(), Place: res.Place, Title: res.Title, Result: res}
	add := func(code string, s Severity) {
		f.Code, f.Severity = code, s
		r.find(f)
	}
	attention := Attention
	if res.Critical {
		attention = Stop
	}
	if res.Stale != nil {
		f.Operation = *res.Stale
		add(CodeStale, attention)
	}
	if len(res.Blank) > 0 {
		add(CodeBlank, Note)
	}
	switch {
	case res.Undefined != "":
		f.Detail = res.Undefined
		add(CodeUndefined, attention)
		return
	case res.Verdict == measure.OutOfLimits:
		add(CodeOutOfLimits, Stop)
	case res.Verdict == measure.TooClose:
		add(CodeTooClose, attention)
	case res.unmeasured():
		add(CodeNotMeasured, Note)
	}
	if !res.HasValue || res.Stale != nil {
		return
	}
	if measure.Coarse(res.Expanded, res.New) {
		add(CodeCoarseGauge, Note)
	}
	if res.Kind != "dimension" || res.Supposed {
		return
	}
	if (res.Gauge == nil || !res.Gauge.Known) && (res.New.Bounded() || res.Limit.Bounded()) {
		add(CodeGaugeUnknown, Note)
	}
	if d := r.dimensionIndex[instance{res.Name, res.Place}]; res.Gauge != nil && r.dimensions[d].With != "" && res.Gauge.Class != "" && res.Gauge.Class != r.dimensions[d].With {
		f.Detail = r.dimensions[d].With
		add(CodeOtherGauge, Note)
	}
}

// judgeChecks judges what is looked at.
func (r *run) judgeChecks() {
	newest := map[instance]*answer{}
	for i := range r.state.Checks {
		rec := &r.state.Checks[i]
		name := trimKind(rec.Of, "check")
		key := instance{name, rec.Place}
		at, ok := r.checkIndex[key]
		if !ok {
			r.unknownPlace(rec.Stamp, "check", name, rec.Place)
			continue
		}
		if c := r.checks[at]; len(c.Answers) > 0 && !contains(c.Answers, rec.Answer) {
			r.broken(rec.Stamp, CodeUnknownName, quoted(rec.Answer)+" is no answer of "+name, orElse(nearest(rec.Answer, c.Answers), "its answers are "+joinWords(c.Answers)))
			continue
		}
		newest[key] = &answer{rec.Answer, rec.Seq, rec.Late}
	}
	r.answers = newest
	r.checkResult = make([]int, len(r.checks))
	for i := range r.checks {
		c := &r.checks[i]
		r.checkResult[i] = -1
		if !r.stands(c.when) {
			continue
		}
		r.checkResult[i] = len(r.out.Results)
		res := r.add(Result{reference: c.of, Kind: "check", Name: c.Name, Place: c.place, Title: c.Title, Note: c.Note, Basis: c.Basis, Blank: c.Blank})
		f := Finding{Of: res.Reference(), Place: res.Place, Title: c.Title}
		if a := newest[instance{c.Name, c.place}]; a == nil {
			f.Code, f.Severity, f.Detail = CodeCheckOpen, Note, c.Ask
		} else {
			res.Answer, res.Late = a.text, a.late
			res.Passed = passes(c.Pass, a.text)
			res.Failed = !res.Passed
			if res.Failed {
				f.Code, f.Severity, f.Detail = CodeCheckFailed, Stop, a.text
			}
		}
		if f.Code != "" {
			f.Result = res
			r.find(f)
		}
	}
}

type answer struct {
	text string
	seq  int
	late bool
}

// passes reports whether an answer passes; a check without pass answers only has to
// be answered.
func passes(pass []string, answer string) bool { return len(pass) == 0 || contains(pass, answer) }
