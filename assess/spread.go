package assess

import (
	"math"
	"slices"
	"sync"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/quantity"
)

// spread is how a number varies, where first order is not good enough for it.
type spread struct {
	method formula.Method
	reason formula.Reason
	// standard, low, high and shares are set for samples. The ends hold as much as two
	// standard uncertainties of a normal value do; the shares are those of the unknowns
	// in the order in which the formula meets them.
	standard, low, high float64
	shares              []float64
}

// The samples by which a number is judged: those of a page that waits, always the same,
// so that equal journals give equal verdicts.
const judgingSeed = 1

// twoSigma is the probability within two standard uncertainties of a normal value.
var twoSigma = math.Erf(measure.Coverage / math.Sqrt2)

// spreads keeps the spread that each number had last, with all that it depends on. A
// change of one reading then finds anew only what that reading reaches. It changes
// nothing in what comes out.
type spreads struct {
	sync.Mutex
	last map[formula.NodeID]remembered
}

type remembered struct {
	key []float64
	spread
}

// spreadOf finds how a number varies. What it returns depends on nothing but the
// values and the debts of the inputs of its formula: the unknowns are numbered in the
// order in which the formula meets them.
func (r *run) spreadOf(n *numberAt) (spread, []measure.Unknown) {
	key, unknowns := r.key[:0], r.met[:0]
	for _, slot := range n.inputs {
		key = append(key, r.values.Input[slot], float64(r.values.InputStatus[slot]), float64(len(r.forms[slot])))
		for _, t := range r.forms[slot] {
			at := slices.Index(unknowns, t.Unknown)
			if at < 0 {
				at = len(unknowns)
				unknowns = append(unknowns, t.Unknown)
			}
			key = append(key, float64(at), t.U, float64(r.shape(t.Unknown)))
		}
	}
	if len(r.values.Override) > 0 {
		for _, at := range r.Model.numbers.Cone(n.node) {
			if x, ok := r.values.Override[at]; ok {
				key = append(key, float64(at), x)
			}
		}
	}
	r.key, r.met = key, unknowns
	if r.opts.FirstOrder {
		return spread{method: formula.ByFirstOrder}, unknowns
	}
	m := r.Model.spreads
	m.Lock()
	last, ok := m.last[n.node]
	m.Unlock()
	if ok && slices.Equal(last.key, key) {
		return last.spread, unknowns
	}
	s := r.findSpread(n, unknowns)
	m.Lock()
	m.last[n.node] = remembered{slices.Clone(key), s}
	m.Unlock()
	return s, unknowns
}

func (r *run) findSpread(n *numberAt, unknowns []measure.Unknown) spread {
	d := r.distribution(n, unknowns)
	g := r.Model.numbers
	s := spread{}
	if s.method, s.reason = g.Choose(n.node, r.values, d); s.method != formula.ByMonteCarlo {
		return s
	}
	sure, err := g.HowSure(n.node, r.values, d, formula.ByMonteCarlo, formula.Sampling{Samples: formula.QuickSamples, Seed: judgingSeed, Probability: twoSigma})
	if err != nil {
		// No samples can be made, or too few of them have a value: first order stands.
		return spread{method: formula.ByFirstOrder, reason: formula.NoValue}
	}
	s.standard, s.low, s.high = sure.Standard, sure.Low, sure.High
	s.shares = make([]float64, len(d.Shapes))
	for _, x := range sure.Shares {
		s.shares[x.Unknown] = x.Share
	}
	return s
}

// unknownsOf lists the unknowns of a number in the order in which its formula meets
// them.
func (r *run) unknownsOf(n *numberAt) []measure.Unknown {
	var list []measure.Unknown
	for _, slot := range n.inputs {
		for _, t := range r.forms[slot] {
			if !slices.Contains(list, t.Unknown) {
				list = append(list, t.Unknown)
			}
		}
	}
	return list
}

// distribution is how the inputs of a number vary; its unknowns are numbered as in the
// list.
func (r *run) distribution(n *numberAt, unknowns []measure.Unknown) formula.Distribution {
	d := formula.Distribution{Debts: make([][]formula.Debt, len(r.Model.numbers.Inputs)), Shapes: make([]quantity.Shape, len(unknowns))}
	for i, id := range unknowns {
		d.Shapes[i] = r.shape(id)
	}
	for _, slot := range n.inputs {
		for _, t := range r.forms[slot] {
			d.Debts[slot] = append(d.Debts[slot], formula.Debt{Unknown: slices.Index(unknowns, t.Unknown), U: t.U})
		}
	}
	return d
}

// shape is that of an unknown. A step and a room of which only the half-width is known
// are rectangles; what is stated with k = 2, and scatter, is taken as normal.
//
// Source: JCGM 100:2008, 4.3.7 and F.2.2.1. Memory.
func (r *run) shape(id measure.Unknown) quantity.Shape {
	if k := r.unknowns.Sources[id].Kind; k == measure.FromStep || k == measure.FromRoom {
		return quantity.Rectangular
	}
	return quantity.Normal
}

// judgeNumber holds a number with its ± against its limits: by first order where the
// formula is straight enough, else between the ends that samples show.
func (r *run) judgeNumber(res *Result, n *numberAt, limits measure.Limits, owing []measure.Unknown, owed []float64, variance float64) {
	u := math.Sqrt(variance)
	res.Method, res.Expanded = formula.ByFirstOrder, measure.Coverage*u
	switch {
	case len(owing) == 0:
		res.Because = formula.Exact
	case n.straight:
		res.Because = formula.Straight
	default:
		s, unknowns := r.spreadOf(n)
		res.Method, res.Because = s.method, s.reason
		if s.method == formula.ByMonteCarlo {
			res.Expanded = measure.Coverage * s.standard
			res.Below, res.Above = math.Max(0, res.Value-s.low), math.Max(0, s.high-res.Value)
			res.Judgement = measure.JudgeBetween(res.Value, s.low, s.high, limits)
			for i, id := range unknowns {
				owed[id] = math.Sqrt(s.shares[i]) // shares of a variance of 1
			}
			res.Drivers, res.Instruments = r.shares(unknowns, owed, 1), r.byInstrument(unknowns, owed, 1)
			for _, id := range unknowns {
				owed[id] = 0
			}
			return
		}
	}
	res.Judgement = measure.Judge(res.Value, res.Expanded, limits)
	res.Drivers, res.Instruments = r.shares(owing, owed, variance), r.byInstrument(owing, owed, variance)
}

// byInstrument tells what a ± comes from, by the instrument that answers for it: its
// own error, what its readings share and the step that it is read in count together.
// What no instrument answers for is called by what it is.
func (r *run) byInstrument(owing []measure.Unknown, owed []float64, variance float64) []Driver {
	if variance == 0 {
		return nil
	}
	from := len(r.drivers)
	for _, id := range owing {
		r.addShare(from, r.answersFor(id), owed[id]*owed[id]/variance)
	}
	return r.sortDrivers(from)
}

// answersFor names what answers for an unknown.
func (r *run) answersFor(id measure.Unknown) string {
	s := r.unknowns.Sources[id]
	if s.Gauge != "" {
		return r.instrumentName(s.Gauge)
	}
	switch s.Kind {
	case measure.FromGauge:
		return "gauge"
	case measure.FromStep:
		return "step"
	case measure.FromRepeats:
		return "repeats"
	case measure.FromTemperature:
		return "temperature"
	}
	return s.Owner
}

// instrumentName returns the reference to an instrument, made once for all that it read.
func (r *run) instrumentName(name string) string {
	full, ok := r.instrumentNames[name]
	if !ok {
		full = "instrument." + name
		if r.instrumentNames == nil {
			r.instrumentNames = map[string]string{}
		}
		r.instrumentNames[name] = full
	}
	return full
}
