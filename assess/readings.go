package assess

import (
	"math"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/quantity"
)

// observed are the readings of one dimension at one place that can be used, in the
// order of the journal, each with the record it comes from.
type observed struct {
	list    []measure.Observation
	records []*journal.ReadingRecord
}

func (g *observed) add(o measure.Observation, rec *journal.ReadingRecord) {
	g.list = append(g.list, o)
	g.records = append(g.records, rec)
}

// groupReadings sorts the readings to their dimensions and sets those aside that
// have no place in a plan.
func (r *run) groupReadings() []observed {
	groups := make([]observed, len(r.dimensions))
	of := make([]int, len(r.state.Readings))
	counts := make([]int, len(r.dimensions))
	for i := range r.state.Readings {
		of[i] = -1
		if d, ok := r.dimensionOf(&r.state.Readings[i]); ok {
			of[i] = d
			counts[d]++
		}
	}
	list := make([]measure.Observation, len(of))
	records := make([]*journal.ReadingRecord, len(of))
	from := 0
	for d, n := range counts {
		groups[d] = observed{list[from : from : from+n], records[from : from : from+n]}
		from += n
	}
	for i, d := range of {
		if d < 0 {
			continue
		}
		rec := &r.state.Readings[i]
		if o, ok := r.observation(rec, &r.dimensions[d]); ok {
			groups[d].add(o, rec)
		}
	}
	return groups
}

func (r *run) dimensionOf(rec *journal.ReadingRecord) (int, bool) {
	name := strings.TrimPrefix(rec.Of, "dimension.")
	if d, ok := r.dimensionIndex[instance{name, rec.Place}]; ok {
		return d, true
	}
	for _, d := range r.pack.Dimensions {
		if d.Name != name {
			continue
		}
		switch {
		case d.At == "":
			r.broken(rec.Stamp, CodeReadingPlan, name+" is one for the whole engine and has no place "+quoted(rec.Place), "leave the place out")
		case rec.Place == "":
			r.broken(rec.Stamp, CodeReadingPlan, "the reading does not say at which "+d.At+" "+name+" was read", "name one of "+strings.Join(r.members(d.At), ", "))
		default:
			r.broken(rec.Stamp, CodeReadingPlan, name+" has no place "+quoted(rec.Place), orElse(nearest(rec.Place, r.members(d.At)), "its places are "+strings.Join(r.members(d.At), ", ")))
		}
		return 0, false
	}
	var names []string
	for _, d := range r.pack.Dimensions {
		names = append(names, d.Name)
	}
	r.broken(rec.Stamp, CodeReadingUnknown, "the pack has no dimension called "+quoted(rec.Of), nearest(name, names))
	return 0, false
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func (r *run) observation(rec *journal.ReadingRecord, d *dimensionAt) (measure.Observation, bool) {
	var o measure.Observation
	q, err := quantity.Parse(rec.Value)
	if err != nil {
		says, do := whatIsWrong(err)
		r.broken(rec.Stamp, journal.CodeBrokenLine, "the value of "+d.Name+": "+says, do)
		return o, false
	}
	if want := d.Dimension.Dimension; q.Dimension != want {
		do := "write it with a unit of " + want.String() + ", like " + d.Unit.Symbol
		r.broken(rec.Stamp, journal.CodeBrokenLine, "the value "+quoted(rec.Value)+" of "+d.Name+" is a "+q.Dimension.String()+", and "+d.Name+" is a "+want.String(), do)
		return o, false
	}
	cell, ok := d.Plan.Cell(rec.Cell.Position, rec.Cell.Axis)
	if !ok || rec.Cell.N < 0 || rec.Cell.N > d.Plan.Times() {
		r.broken(rec.Stamp, CodeReadingPlan, d.Name+" is not read at "+orElse(quotedIf(measure.CellText(rec.Cell.Position, rec.Cell.Axis, rec.Cell.N)), "a cell that is not named"), planWords(d.Plan))
		return o, false
	}
	o = measure.Observation{Cell: cell, N: rec.Cell.N, Value: q.SI, Gauge: r.gaugeOf(rec, d), Late: rec.Late}
	if rec.Temperature != "" {
		t, err := quantity.Parse(rec.Temperature)
		if err == nil && t.Dimension == quantity.OfTemperatureDifference {
			t.Dimension = quantity.OfTemperature // "293 K" beside a reading is a temperature
		}
		if err != nil || t.Dimension != quantity.OfTemperature {
			r.broken(rec.Stamp, journal.CodeBrokenLine, "the temperature "+quoted(rec.Temperature)+" of a reading of "+d.Name+" is not one", `write it like "20 degC"`)
			return o, false
		}
		o.Temperature, o.HasTemperature = quantity.Temperature(t.SI), true
	}
	return o, true
}

func quotedIf(s string) string {
	if s == "" {
		return ""
	}
	return quoted(s)
}

func planWords(p measure.Plan) string {
	var words []string
	if len(p.Positions) > 0 {
		words = append(words, "the positions are "+strings.Join(p.Positions, ", "))
	}
	if len(p.Axes) > 0 {
		words = append(words, "the axes are "+strings.Join(p.Axes, ", "))
	}
	if p.Times() > 1 {
		words = append(words, "each is read several times, numbered from 1")
	}
	if len(words) == 0 {
		return "it is read once, without position and axis"
	}
	return strings.Join(words, "; ")
}

// gaugeOf finds the instrument of a reading: the registered one, else the class that
// the pack expects.
func (r *run) gaugeOf(rec *journal.ReadingRecord, d *dimensionAt) *measure.Gauge {
	name := rec.Instrument
	class := d.With
	if g, ok := r.gauges[name]; ok && name != "" {
		kind, figures := r.gaugeUnits[g]
		if !figures || kind == d.Dimension.Dimension.Difference() {
			return g
		}
		// A figure without a unit would be taken for metres.
		r.broken(rec.Stamp, CodeReadingGauge, "step and uncertainty of the instrument "+quoted(name)+" are given as a "+kind.String()+", and "+d.Name+" is a "+d.Dimension.Dimension.String(),
			"register it again with a unit of "+d.Dimension.Dimension.Difference().String())
		return r.classGauge(class)
	}
	if name != "" {
		if _, ok := r.gaugeClasses[name]; ok {
			class = name
		} else {
			r.broken(rec.Stamp, CodeReadingGauge, "the instrument "+quoted(name)+" is not registered", orElse(nearest(name, r.state.InstrumentOrder), "register it with its uncertainty"))
		}
	}
	return r.classGauge(class)
}

// classGauge returns the gauge that stands for a class of instruments, nil where the
// pack says nothing of it.
func (r *run) classGauge(class string) *measure.Gauge {
	if class == "" {
		return nil
	}
	key := "class " + class
	if g, ok := r.gauges[key]; ok {
		return g
	}
	c := r.gaugeClasses[class]
	if c == nil {
		return nil
	}
	g := classGauge(c)
	r.gauges[key] = &g
	return &g
}

// assembleSets makes the set of every dimension and judges it.
func (r *run) assembleSets(groups []observed) {
	r.values = r.Model.numbers.NewValues()
	r.forms = make([][]measure.Term, len(r.Model.numbers.Inputs))
	r.fillFacts(r.Model.numbers, r.values)
	r.dimensionResult = make([]int, len(r.dimensions))
	r.out.Results = make([]Result, 0, len(r.dimensions)+len(r.computed)+len(r.checks))
	r.out.Findings = slices.Grow(r.out.Findings, max(cap(r.out.Results)/4, int(r.sizes.findings.Load())+8))
	r.drivers = make([]Driver, 0, max(4*cap(r.out.Results), int(r.sizes.drivers.Load())+64))
	r.unknowns.Sources = make([]measure.Source, 0, 2*len(r.state.Readings)+16)
	disturbed := r.disturbances()
	r.observed = make([]observed, len(r.dimensions))
	for i := range r.dimensions {
		d := &r.dimensions[i]
		r.dimensionResult[i] = -1
		if !r.stands(d.when) {
			r.absent(i)
			continue
		}
		current, stale := groups[i].current(disturbed[i])
		r.observed[i] = current
		set := r.assemble(d, current.list)
		for _, k := range set.Beyond {
			r.broken(current.records[k].Stamp, CodeReadingPlan, d.Name+" has all its repeats already, and this reading says no number", planWords(d.Plan))
		}
		r.dimensionResult[i] = len(r.out.Results)
		result := r.judgeSet(d, set)
		if len(stale.list) > 0 && set.Empty() && !result.Supposed {
			if old := r.assemble(d, stale.list); !old.Empty() {
				f, _ := judge(d, old, measure.Limits{New: result.New, Limit: result.Limit, GuardNew: d.GuardNew, NonNegative: d.nonNegative()})
				result.Value, result.HasValue, result.Expanded = f.Value, true, f.Expanded()
				result.Readings = old.Readings
				result.Stale = &Operation{disturbed[i].name, disturbed[i].place}
				r.finish(result)
			}
		}
		r.fillReadings(i, set, result)
	}
	for i := range r.dimensionResult {
		if at := r.dimensionResult[i]; at >= 0 {
			r.reportValue(&r.out.Results[at])
		}
	}
}

func (r *run) assemble(d *dimensionAt, list []measure.Observation) *measure.Set {
	return measure.Assemble(measure.Subject{Plan: d.Plan, Owner: d.reference, Step: d.Step, Expansion: d.Expansion, HasMetal: d.HasMetal, Room: r.room}, list, &r.unknowns)
}

// absent fills the inputs of a dimension that is left out of the job.
func (r *run) absent(i int) {
	for _, in := range r.readingInputs[i] {
		r.values.InputStatus[in.slot] = formula.Absent
	}
}

// current returns the readings of the phase begun last, without those that an
// operation disturbed; stale are the disturbed ones.
func (g *observed) current(by disturbance) (current, stale observed) {
	if len(g.list) == 0 || by.seq < 0 && !slices.ContainsFunc(g.records, func(r *journal.ReadingRecord) bool { return r.Phase != "" }) {
		return *g, observed{}
	}
	belongs := make([]string, len(g.records))
	begun := map[string]bool{}
	phase := ""
	for i, rec := range g.records {
		if rec.Phase != "" && !begun[rec.Phase] {
			begun[rec.Phase], phase = true, rec.Phase
		}
		belongs[i] = rec.Phase
		if rec.Phase == "" {
			belongs[i] = phase
		}
	}
	for i, rec := range g.records {
		switch {
		case belongs[i] != phase:
		case rec.Seq > by.seq:
			current.add(g.list[i], rec)
		default:
			stale.add(g.list[i], rec)
		}
	}
	return current, stale
}

// disturbance is the last time that an operation made readings stale.
type disturbance struct {
	seq         int
	name, place string
}

func (r *run) disturbances() []disturbance {
	list := make([]disturbance, len(r.dimensions))
	for i := range list {
		list[i].seq = -1
	}
	if len(r.order.disturbs) == 0 {
		return list
	}
	for _, rec := range r.state.Operations {
		op, ok := r.operationIndex[instance{strings.TrimPrefix(rec.Operation, "operation."), rec.Place}]
		if !ok || !r.stands(r.operations[op].when) {
			continue
		}
		for _, d := range r.order.disturbs[op] {
			r.lastDisturbed = rec.Seq
			list[d] = disturbance{rec.Seq, r.operations[op].Name, rec.Place}
		}
	}
	return list
}

// add adds a result to the assessment and returns it where it stands.
func (r *run) add(res Result) *Result {
	r.out.Results = append(r.out.Results, res)
	return &r.out.Results[len(r.out.Results)-1]
}

// judgeSet holds a set of readings against its limits and adds the result.
func (r *run) judgeSet(d *dimensionAt, set *measure.Set) *Result {
	res := r.add(Result{reference: d.of, Kind: "dimension", Name: d.Name, Place: d.place, Title: d.Title, Unit: d.Unit, Decimals: d.Decimals,
		Readings: set.Readings, Gauge: set.Gauge, Late: set.Late, Critical: d.Critical, Note: d.Note, Basis: d.Basis, Source: source(d.Sources)})
	limits, blank := r.limitsOf(&d.new, &d.limit, d.Blank)
	limits.GuardNew = d.GuardNew
	limits.NonNegative = d.nonNegative()
	res.New, res.Limit, res.Blank = limits.New, limits.Limit, blank
	if x, ok := r.supposed[instance{d.Name, d.place}]; ok {
		res.Value, res.HasValue, res.Supposed = x, true, true
		res.Judgement = measure.Judge(x, 0, limits)
		r.finish(res)
		return res
	}
	if set.Empty() {
		res.Verdict = measure.NotMeasured
		res.Missing = set.Missing()
		if len(blank) > 0 {
			res.Verdict = measure.None
		}
		return res
	}
	f, j := judge(d, set, limits)
	res.Value, res.HasValue, res.Expanded, res.Judgement = f.Value, true, f.Expanded(), j
	res.Method, res.Because = formula.ByFirstOrder, formula.Straight
	res.Drivers, res.Instruments = r.driversOf(f.Terms, r.sourceName), r.driversOf(f.Terms, r.answersFor)
	if !set.Complete() {
		res.Missing = set.Missing()
		if !beyond(d, set, limits) {
			res.Judgement = measure.Judgement{Verdict: measure.NotMeasured, Margin: j.Margin, HasMargin: j.HasMargin}
		} else {
			res.Verdict = measure.OutOfLimits
		}
	}
	r.finish(res)
	return res
}

// nonNegative reports whether what is judged cannot be below zero.
func (d *dimensionAt) nonNegative() bool {
	return d.Judge == judgeSpread || formula.CannotBeNegative(d.Dimension.Dimension)
}

// finish settles what does not depend on how a value came about.
func (r *run) finish(res *Result) {
	if len(res.Blank) > 0 {
		res.Judgement = measure.Judgement{Verdict: measure.None}
	}
	if res.Decimals < 0 {
		res.Decimals = decimalsOf(res)
	}
}

// decimalsOf gives a value as many decimals as put two figures into its ±; an exact
// one as many as its limits have.
func decimalsOf(res *Result) int {
	if res.Expanded > 0 {
		return quantity.DecimalsFor(res.Unit.InDifference(res.Expanded), 2)
	}
	d := max(res.New.Decimals, res.Limit.Decimals)
	if d <= 0 {
		x := math.Abs(res.Unit.In(res.Value))
		d = 3
		if x > 0 {
			d = min(max(4-int(math.Floor(math.Log10(x))), 0), 6)
		}
	}
	return d
}

func source(sources map[string]string) string {
	if s := sources["limit"]; s != "" {
		return s
	}
	return sources["new"]
}

// limitsOf brings a new band and a limit to this job and lists what is blank.
func (r *run) limitsOf(fresh, limit *setting, blanks []string) (measure.Limits, []string) {
	var l measure.Limits
	blank := blanks
	var missing []string
	if l.New, missing = r.rangeOf(fresh); len(missing) > 0 {
		blank = append(blank[:len(blank):len(blank)], missing...)
	}
	if l.Limit, missing = r.rangeOf(limit); len(missing) > 0 {
		for _, name := range missing {
			if !contains(blank, name) {
				blank = append(blank[:len(blank):len(blank)], name)
			}
		}
	}
	return l, blank
}

// judge picks the reading that counts and judges it.
func judge(d *dimensionAt, set *measure.Set, l measure.Limits) (measure.Form, measure.Judgement) {
	one := func(f measure.Form) (measure.Form, measure.Judgement) {
		return f, measure.Judge(f.Value, f.Expanded(), l)
	}
	switch d.Judge {
	case judgeLargest:
		return one(set.Largest())
	case judgeSmallest:
		return one(set.Smallest())
	case judgeMean:
		return one(set.Mean())
	case judgeSpread:
		return one(set.Spread())
	case judgeEach:
		return worstOf(set, l)
	}
	switch low, high := l.Sides(); {
	case low && high:
		return worse(set.Largest(), set.Smallest(), l)
	case high:
		return one(set.Largest())
	case low:
		return one(set.Smallest())
	}
	return one(set.Mean())
}

// worse judges two readings and returns the one with the worse verdict, of equals
// the one nearer its end.
func worse(a, b measure.Form, l measure.Limits) (measure.Form, measure.Judgement) {
	ja, jb := measure.Judge(a.Value, a.Expanded(), l), measure.Judge(b.Value, b.Expanded(), l)
	if jb.Verdict > ja.Verdict || jb.Verdict == ja.Verdict && jb.Margin < ja.Margin {
		return b, jb
	}
	return a, ja
}

func worstOf(set *measure.Set, l measure.Limits) (measure.Form, measure.Judgement) {
	var best measure.Form
	var verdict measure.Judgement
	first := true
	for c, f := range set.Cells {
		if !set.Begun[c] {
			continue
		}
		j := measure.Judge(f.Value, f.Expanded(), l)
		if first || j.Verdict > verdict.Verdict || j.Verdict == verdict.Verdict && j.Margin < verdict.Margin {
			best, verdict, first = f, j, false
		}
	}
	return best, verdict
}

// beyond reports whether an incomplete set is already out of limits, whatever the
// readings to come show: a mean may still come back, a largest reading may not.
func beyond(d *dimensionAt, set *measure.Set, l measure.Limits) bool {
	low, high := l.Sides()
	out := func(f measure.Form, low, high bool) bool {
		side := measure.Limits{Limit: l.Limit}
		side.Limit.HasLow, side.Limit.HasHigh = low, high
		return measure.Judge(f.Value, f.Expanded(), side).Verdict == measure.OutOfLimits
	}
	switch d.Judge {
	case judgeMean:
		return false
	case judgeSpread:
		return out(set.Spread(), false, high)
	case judgeSmallest:
		return out(set.Smallest(), low, false)
	case judgeLargest:
		return out(set.Largest(), false, high)
	}
	return out(set.Largest(), false, high) || out(set.Smallest(), low, false)
}

// fillReadings hands the set functions of a dimension to the numbers graph.
func (r *run) fillReadings(i int, set *measure.Set, res *Result) {
	if len(r.readingInputs[i]) == 0 {
		return
	}
	d := &r.dimensions[i]
	for _, in := range r.readingInputs[i] {
		if res.Supposed {
			x := res.Value
			if in.set == formula.Spread || in.set == formula.Oval || in.set == formula.Taper {
				x = 0
			}
			r.values.Input[in.slot], r.values.InputStatus[in.slot] = x, formula.Known
			continue
		}
		if set.Empty() || !set.Complete() {
			continue // stays missing
		}
		var f measure.Form
		switch in.set {
		case formula.Judged:
			f, _ = judge(d, set, measure.Limits{New: res.New, Limit: res.Limit, GuardNew: d.GuardNew, NonNegative: d.nonNegative()})
		case formula.Smallest:
			f = set.Smallest()
		case formula.Largest:
			f = set.Largest()
		case formula.Mean:
			f = set.Mean()
		case formula.Spread:
			f = set.Spread()
		case formula.Oval:
			f = set.Oval()
		case formula.Taper:
			f = set.Taper()
		}
		r.values.Input[in.slot], r.values.InputStatus[in.slot] = f.Value, formula.Known
		r.forms[in.slot] = f.Terms
	}
}
