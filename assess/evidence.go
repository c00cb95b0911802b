package assess

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"sort"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/quantity"
)

// Evidence is how sure a result is, what that comes from, and what would settle it.
type Evidence struct {
	// Method is how the ± was found and Reason why so.
	Method formula.Method
	Reason formula.Reason
	// Standard is the standard uncertainty, Expanded that with k = 2.
	Standard, Expanded float64
	// Low and High are the ends of the interval that holds the value with the
	// Probability; they need not lie evenly about the value.
	Probability, Low, High float64
	// Drivers say what the ± comes from, by instrument: its own error, what its
	// readings share and the step that it is read in count together. What no
	// instrument answers for is called "repeats", "temperature", "room", or by the
	// formula that it stands in.
	Drivers []Driver
	// Samples, Seed and Undefined are set where samples were made: how many, with
	// which seed they can be made again, and in how many the formula had no value.
	Samples, Undefined int
	Seed               uint64
	// Settle is set where the verdict is too close to call.
	Settle *Settle
}

// Settle says what would settle a verdict that is too close to call.
type Settle struct {
	// Needs is the ± below which the verdict would stand, if the value stayed.
	Needs float64
	// Least is the smallest ± that the registered instruments reach together.
	Least float64
	// Options are what to read again, the least time first and of equal time the
	// better chance. None means that no instrument here can: what is left of the ±
	// would be too wide, or too near the edge to hope for.
	Options []Option
}

// Option is one way to settle a verdict.
type Option struct {
	Repeats []Repeat
	// Readings is how many readings that takes, and Seconds how long, by what the pack
	// says of the instruments and a minute a reading where it says nothing.
	Readings int
	Seconds  float64
	// Expanded is the ± that the result would have.
	Expanded float64
	// Chance is the probability that the verdict would no longer be too close, given
	// what is known now: the value may well come out nearer to the edge or further
	// from it.
	Chance float64
}

// Repeat is a dimension to be read again, all cells of its plan, with an instrument.
type Repeat struct {
	Of, Place  string
	Instrument string
	Readings   int
	Seconds    float64
}

// usualReading is how long a reading takes where nobody says: ours.
const usualReading = 60

// LeastChance is the chance below which an option is not worth being named.
const LeastChance = 0.05

// Inquiry holds what is known of a job, so that evidence can be asked for result by
// result. It is for one caller at a time.
type Inquiry struct {
	run   *run
	found map[instance]*Result
}

// Inquire makes a job ready to be asked about.
func (m *Model) Inquire(s *journal.State, o Options) *Inquiry {
	r := &run{Model: m, state: s, opts: o, out: &Assessment{}}
	r.measureAll()
	return r.inquiry()
}

func (r *run) inquiry() *Inquiry {
	q := &Inquiry{run: r, found: make(map[instance]*Result, len(r.out.Results))}
	for i := range r.out.Results {
		res := &r.out.Results[i]
		q.found[instance{res.Reference(), res.Place}] = res
	}
	return q
}

// settleDoubts finds what would settle each verdict that is too close.
func (r *run) settleDoubts() {
	var q *Inquiry
	found := map[instance]*Settle{}
	for i := range r.out.Results {
		res := &r.out.Results[i]
		if res.Verdict != measure.TooClose || res.Stale != nil || res.Supposed || !res.HasValue {
			continue
		}
		if q == nil {
			q = r.inquiry()
		}
		res.Settle = q.settle(res)
		found[instance{res.Reference(), res.Place}] = res.Settle
	}
	if q == nil {
		return
	}
	for i := range r.out.Findings {
		// A finding holds the result as it was when the finding was made.
		if f := &r.out.Findings[i]; f.Code == CodeTooClose && f.Result != nil {
			f.Result.Settle = found[instance{f.Result.Reference(), f.Result.Place}]
		}
	}
}

// Evidence returns that of a result, named KIND.NAME, at its place. It returns an
// error where there is no such result or it has no value, and where the samples of a
// formula cannot be made.
//
// The interval is of the probability of how; samples are made only where a formula
// kinks, jumps or bends within its ±, see [formula.Graph.Choose].
func (q *Inquiry) Evidence(reference, place string, how formula.Sampling) (*Evidence, error) {
	res := q.found[instance{reference, place}]
	switch {
	case res == nil:
		return nil, fmt.Errorf("there is no result %s", at(reference, place))
	case !res.HasValue:
		return nil, fmt.Errorf("%s has no value yet", at(reference, place))
	}
	sure, unknowns, err := q.sure(res, how)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", at(reference, place), err)
	}
	e := &Evidence{
		Method: sure.Method, Reason: sure.Reason, Standard: sure.Standard, Expanded: measure.Coverage * sure.Standard,
		Probability: how.Probability, Low: sure.Low, High: sure.High,
		Samples: sure.Samples, Seed: sure.Seed, Undefined: sure.Undefined,
	}
	for _, s := range sure.Shares {
		e.Drivers = addTo(e.Drivers, q.run.answersFor(unknowns[s.Unknown]), s.Share)
	}
	sort.SliceStable(e.Drivers, func(i, j int) bool { return e.Drivers[i].Share > e.Drivers[j].Share })
	for n := len(e.Drivers); n > 0 && e.Drivers[n-1].Share < 0.001; n-- {
		e.Drivers = e.Drivers[:n-1]
	}
	if res.Verdict == measure.TooClose && res.Stale == nil && !res.Supposed {
		e.Settle = q.settle(res)
	}
	return e, nil
}

func addTo(list []Driver, name string, share float64) []Driver {
	for i := range list {
		if list[i].Name == name {
			list[i].Share += share
			return list
		}
	}
	return append(list, Driver{name, share})
}

// sure finds the ± of a result, and the unknowns by whose numbers it speaks.
func (q *Inquiry) sure(res *Result, how formula.Sampling) (formula.Sure, []measure.Unknown, error) {
	r := q.run
	if i, ok := r.numberIndex[instance{res.Name, res.Place}]; ok && res.Kind != "dimension" {
		n := &r.computed[i]
		unknowns := r.unknownsOf(n)
		sure, err := r.Model.numbers.HowSure(n.node, r.values, r.distribution(n, unknowns), formula.Chosen, how)
		return sure, unknowns, err
	}
	if !(how.Probability > 0 && how.Probability < 1) {
		return formula.Sure{}, nil, fmt.Errorf("the probability %v does not lie between 0 and 1", how.Probability)
	}
	out := formula.Sure{Method: formula.ByFirstOrder, Reason: formula.Straight, Value: res.Value, Low: res.Value, High: res.Value}
	if res.Supposed {
		out.Reason = formula.Exact
		return out, nil, nil
	}
	list := q.run.observed[r.dimensionIndex[instance{res.Name, res.Place}]].list
	if res.Stale != nil {
		return out, nil, fmt.Errorf("the readings were disturbed; read it again")
	}
	f := q.read(res, list)
	l := formula.Linear{Value: f.Value}
	var unknowns []measure.Unknown
	var shapes []quantity.Shape
	for i, t := range f.Terms {
		l.Debts = append(l.Debts, formula.Debt{Unknown: i, U: t.U})
		unknowns, shapes = append(unknowns, t.Unknown), append(shapes, r.shape(t.Unknown))
	}
	out.Standard = l.Standard()
	out.Low, out.High = l.Interval(how.Probability, shapes)
	for i, t := range f.Terms {
		if v := out.Standard * out.Standard; v > 0 {
			out.Shares = append(out.Shares, formula.Share{Unknown: i, Share: t.U * t.U / v})
		}
	}
	return out, unknowns, nil
}

// read makes the form that a dimension is judged by from readings.
func (q *Inquiry) read(res *Result, list []measure.Observation) measure.Form {
	d := &q.run.dimensions[q.run.dimensionIndex[instance{res.Name, res.Place}]]
	f, _ := judge(d, q.run.assemble(d, list), q.limits(res))
	return f
}

// limits are what a result was held against.
func (q *Inquiry) limits(res *Result) measure.Limits {
	l := measure.Limits{New: res.New, Limit: res.Limit}
	key := instance{res.Name, res.Place}
	if i, ok := q.run.numberIndex[key]; ok && res.Kind != "dimension" {
		n := &q.run.computed[i]
		l.GuardNew, l.Fit, l.NonNegative = n.GuardNew, true, n.NonNegative
	} else {
		d := &q.run.dimensions[q.run.dimensionIndex[key]]
		l.GuardNew, l.NonNegative = d.GuardNew, d.nonNegative()
	}
	return l
}

// counting sorts readings to the cells of a plan and leaves out those that a newer one
// replaced, as [measure.Assemble] does.
func counting(p measure.Plan, list []measure.Observation) [][]measure.Observation {
	times := p.Times()
	newest := make([]int, p.Cells()*times)
	for i := range newest {
		newest[i] = -1
	}
	for i, o := range list {
		n := o.N
		if n == 0 {
			n = 1
			for times > 1 && n <= times && newest[o.Cell*times+n-1] >= 0 {
				n++
			}
			if n > times {
				continue
			}
		}
		newest[o.Cell*times+n-1] = i
	}
	cells := make([][]measure.Observation, p.Cells())
	for k, i := range newest {
		if i >= 0 {
			cells[k/times] = append(cells[k/times], list[i])
		}
	}
	return cells
}

// settle looks for what to read again, and with what.
func (q *Inquiry) settle(res *Result) *Settle {
	s := &Settle{Needs: res.Settles, Least: res.Expanded}
	target := q.target(res)
	var singles []Option
	// The best gauge for each dimension, for reading several again.
	type better struct {
		repeat Repeat
		forms  map[int]measure.Form
		left   float64
	}
	var all []better
	for _, d := range target.dimensions {
		var best *better
		for _, name := range q.finer(d) {
			forms, readings := target.again(d, q.run.gauges[name])
			x := better{Repeat{Of: "dimension." + q.run.dimensions[d].Name, Place: q.run.dimensions[d].place, Instrument: name, Readings: readings, Seconds: float64(readings) * q.run.secondsOf(q.run.gauges[name])}, forms, 0}
			o := target.option([]Repeat{x.repeat}, forms)
			if x.left = o.Expanded; o.Expanded >= res.Expanded {
				continue
			}
			singles = append(singles, o)
			if best == nil || x.left < best.left {
				best = &x
			}
		}
		if best != nil {
			all = append(all, *best)
		}
	}
	s.Options = singles
	// Together: first what takes most of the ± away.
	sort.SliceStable(all, func(i, j int) bool { return all[i].left < all[j].left })
	forms := map[int]measure.Form{}
	var repeats []Repeat
	for i, x := range all {
		repeats = append(repeats, x.repeat)
		for slot, f := range x.forms {
			forms[slot] = f
		}
		o := target.option(append([]Repeat(nil), repeats...), forms)
		s.Least = math.Min(s.Least, o.Expanded)
		if i > 0 {
			s.Options = append(s.Options, o)
		}
	}
	for _, o := range singles {
		s.Least = math.Min(s.Least, o.Expanded)
	}
	s.Options = worthwhile(s.Options)
	return s
}

// secondsOf is how long one reading with a gauge takes.
func (r *run) secondsOf(g *measure.Gauge) float64 {
	if c := r.gaugeClasses[g.Class]; c != nil && c.Seconds > 0 {
		return c.Seconds
	}
	return usualReading
}

// worthwhile sorts options, the least time first, and drops those that have no chance
// to speak of, and of those that read several dimensions again those that are hardly
// better than one with less work.
func worthwhile(list []Option) []Option {
	sort.SliceStable(list, func(i, j int) bool {
		if list[i].Seconds != list[j].Seconds {
			return list[i].Seconds < list[j].Seconds
		}
		return list[i].Chance > list[j].Chance
	})
	var out []Option
	most := 0.0
	for _, o := range list {
		if o.Chance < LeastChance || len(o.Repeats) > 1 && o.Chance < most+0.01 {
			continue
		}
		most = math.Max(most, o.Chance)
		out = append(out, o)
	}
	return out
}

// finer lists the registered instruments that a dimension may be read with and was not
// read with: the one that it was read with has the same error once more.
func (q *Inquiry) finer(d int) []string {
	r := q.run
	dim := &r.dimensions[d]
	class := dim.With
	used := map[*measure.Gauge]bool{}
	for _, cell := range counting(dim.Plan, q.run.observed[d].list) {
		for _, o := range cell {
			used[o.Gauge] = true
			if class == "" && o.Gauge != nil {
				class = o.Gauge.Class
			}
		}
	}
	var list []string
	for _, name := range r.state.InstrumentOrder {
		g := r.gauges[name]
		if g == nil || !g.Known || used[g] || class == "" || g.Class != class {
			continue
		}
		if kind, figures := r.gaugeUnits[g]; figures && kind != dim.Dimension.Dimension.Difference() {
			continue
		}
		list = append(list, name)
	}
	return list
}

// target is a result whose readings are supposed to be taken again.
type target struct {
	*Inquiry
	res        *Result
	limits     measure.Limits
	dimensions []int // that it depends on, each once
	// slopes of a number by its inputs; a dimension is its own only input.
	slopes map[int]float64
	forms  map[int]measure.Form
}

func (q *Inquiry) target(res *Result) *target {
	r := q.run
	t := &target{Inquiry: q, res: res, limits: q.limits(res), slopes: map[int]float64{}, forms: map[int]measure.Form{}}
	key := instance{res.Name, res.Place}
	if res.Kind == "dimension" {
		d := r.dimensionIndex[key]
		t.dimensions = []int{d}
		t.slopes[-1], t.forms[-1] = 1, q.read(res, q.run.observed[d].list)
		return t
	}
	g := r.Model.numbers
	slope := make([]float64, len(g.Inputs))
	for _, i := range g.Gradient(r.computed[r.numberIndex[key]].node, r.values, slope, nil) {
		if slope[i] == 0 {
			continue
		}
		t.slopes[int(i)], t.forms[int(i)] = slope[i], measure.Form{Value: r.values.Input[i], Terms: r.forms[i]}
	}
	for d := range r.readingInputs {
		for _, in := range r.readingInputs[d] {
			if len(t.forms[in.slot].Terms) > 0 {
				t.dimensions = append(t.dimensions, d)
				break
			}
		}
	}
	return t
}

// again supposes that a dimension is read again in all its cells with a gauge and
// shows the same; it returns the forms that change and how many readings that is.
func (t *target) again(d int, g *measure.Gauge) (map[int]measure.Form, int) {
	r := t.run
	dim := &r.dimensions[d]
	var list []measure.Observation
	for _, cell := range counting(dim.Plan, t.run.observed[d].list) {
		for k, o := range cell {
			o.Gauge, o.N = g, k+1
			list = append(list, o)
		}
	}
	forms := map[int]measure.Form{}
	if t.res.Kind == "dimension" {
		forms[-1] = t.read(t.res, list)
		return forms, len(list)
	}
	set := r.assemble(dim, list)
	l := measure.Limits{}
	if at := r.dimensionResult[d]; at >= 0 {
		l = t.Inquiry.limits(&r.out.Results[at])
	}
	for _, in := range r.readingInputs[d] {
		if _, matters := t.slopes[in.slot]; matters {
			forms[in.slot] = formOf(dim, set, in.set, l)
		}
	}
	return forms, len(list)
}

// formOf is a set function of a set, as fillReadings hands it to the numbers.
func formOf(d *dimensionAt, set *measure.Set, f formula.SetFunction, l measure.Limits) measure.Form {
	switch f {
	case formula.Smallest:
		return set.Smallest()
	case formula.Largest:
		return set.Largest()
	case formula.Mean:
		return set.Mean()
	case formula.Spread:
		return set.Spread()
	case formula.Oval:
		return set.Oval()
	case formula.Taper:
		return set.Taper()
	}
	form, _ := judge(d, set, l)
	return form
}

// option works out what reading again would give.
//
// The new value differs from the present one by what both readings err, and by nothing
// else: x′ = x + Σ (b_k − a_k)·ξ_k, where a_k and b_k are what the value owes to the
// unknown ξ_k before and after. What both share, the room or the common part of an
// instrument, drops out. The chance is that of all x′ for which the verdict, with the
// new ±, is not too close.
//
// Source: ours; where nothing is known of the value but the present reading, that is
// its predictive distribution to first order (JCGM 106:2012, 6.2, with a prior that is
// flat over the ±; memory).
func (t *target) option(repeats []Repeat, forms map[int]measure.Form) Option {
	after, change := map[measure.Unknown]float64{}, map[measure.Unknown]float64{}
	for slot, slope := range t.slopes {
		now, again := t.forms[slot], t.forms[slot]
		if f, ok := forms[slot]; ok {
			again = f
		}
		for _, x := range now.Terms {
			change[x.Unknown] -= slope * x.U
		}
		for _, x := range again.Terms {
			change[x.Unknown] += slope * x.U
			after[x.Unknown] += slope * x.U
		}
	}
	o := Option{Repeats: repeats, Expanded: measure.Coverage * norm(after)}
	for _, x := range repeats {
		o.Readings += x.Readings
		o.Seconds += x.Seconds
	}
	o.Chance = chance(t.res.Value, norm(change), o.Expanded, t.limits)
	return o
}

// norm is the root of the sum of the squares, added in the order of the unknowns, so
// that equal jobs give equal figures.
func norm(m map[measure.Unknown]float64) float64 {
	v := 0.0
	for _, id := range slices.Sorted(maps.Keys(m)) {
		v += m[id] * m[id]
	}
	return math.Sqrt(v)
}

// chance is the probability that a value, normal about x, is judged other than too
// close.
func chance(x, standard, expanded float64, l measure.Limits) float64 {
	settled := func(x float64) float64 {
		return truth(measure.Judge(x, expanded, l).Verdict != measure.TooClose)
	}
	if standard == 0 {
		return settled(x)
	}
	// The verdict changes only where the value or an end of its ± passes an end of a
	// range: between two such points it is one verdict.
	points := make([]float64, 0, 12)
	add := func(end float64, there bool) {
		if there {
			points = append(points, end-expanded, end, end+expanded)
		}
	}
	add(l.New.Low, l.New.HasLow)
	add(l.New.High, l.New.HasHigh)
	add(l.Limit.Low, l.Limit.HasLow)
	add(l.Limit.High, l.Limit.HasHigh)
	if len(points) == 0 {
		return settled(x)
	}
	slices.Sort(points)
	below := func(p float64) float64 { return math.Erfc((x-p)/standard/math.Sqrt2) / 2 }
	first, last := points[0], points[len(points)-1]
	sum := below(first)*settled(first-1-expanded) + (1-below(last))*settled(last+1+expanded)
	for i, p := range points[1:] {
		if was := points[i]; p > was {
			sum += (below(p) - below(was)) * settled((was+p)/2)
		}
	}
	return min(sum, 1)
}
