package measure

import (
	"math"
	"slices"
	"strconv"

	"buttonup/quantity"
)

// Plan is where a dimension is read: positions × axes, each cell Repeat times.
// Without positions or axes there is one of it.
type Plan struct {
	Positions, Axes []string
	Repeat          int
}

// Cells returns how many cells the plan has.
func (p Plan) Cells() int { return max(1, len(p.Positions)) * max(1, len(p.Axes)) }

// Times returns how often each cell is read.
func (p Plan) Times() int { return max(1, p.Repeat) }

// Cell finds the cell of a position and an axis. Either may be left out where the
// plan has only one.
func (p Plan) Cell(position, axis string) (int, bool) {
	i, ok := find(p.Positions, position)
	j, also := find(p.Axes, axis)
	return i*max(1, len(p.Axes)) + j, ok && also
}

func find(list []string, name string) (int, bool) {
	if name == "" && len(list) <= 1 {
		return 0, true
	}
	i := slices.Index(list, name)
	return max(i, 0), i >= 0
}

// Label names a cell as a builder would: "10 mm thrust".
func (p Plan) Label(cell int) string {
	axes := max(1, len(p.Axes))
	label := ""
	if len(p.Positions) > 0 {
		label = p.Positions[cell/axes]
	}
	if len(p.Axes) > 0 {
		if label != "" {
			label += " "
		}
		label += p.Axes[cell%axes]
	}
	return label
}

// Observation is one reading of a cell. N counts the repeats from 1; 0 takes the
// next that is free.
type Observation struct {
	Cell, N        int
	Value          float64
	Gauge          *Gauge
	Temperature    quantity.Temperature
	HasTemperature bool
	// Late marks what was entered after the fact.
	Late bool
}

// Subject is what is measured, as far as its readings depend on it.
type Subject struct {
	Plan Plan
	// Owner refers to the dimension at its place, for the sources of its unknowns.
	Owner string
	// Step is the resolution that the pack asks for.
	Step float64
	// Expansion is that of the part's metal; without HasMetal temperature plays no
	// part.
	Expansion quantity.Expansion
	HasMetal  bool
	Room      Room
}

// Set is one set of readings, brought to 20 °C.
type Set struct {
	Plan Plan
	// Cells has one form for each cell; Filled says which are complete, Begun which
	// have at least one reading.
	Cells         []Form
	Filled, Begun []bool
	// common are the unknowns of the gauges that the set was read with.
	common []Unknown
	// Readings counts the readings that count.
	Readings int
	// Gauge is that of the newest reading that counts, nil without one.
	Gauge *Gauge
	// Late says that one of the readings that count was entered after the fact.
	Late bool
	// Beyond lists the observations that asked for the next free repeat of a cell
	// that had none left, as indices into the list; they do not count.
	Beyond []int

	// Room for what most sets have few of, so that it need not be found elsewhere.
	markRoom   [2 * fewCells]bool
	commonRoom [2]Unknown
}

const fewCells = 8

// Assemble makes a set of observations. The newest observation of a cell and repeat
// counts. One whose repeat number lies beyond the plan must not be handed in; one
// without a number for which none is free is listed in Beyond.
//
// Source: JCGM 100:2008, 4.2.3 for repeats and F.2.2.1 for the step; both from memory.
// Which errors readings of a set share is ours, see decision 0004.
func Assemble(s Subject, list []Observation, unknowns *Unknowns) *Set {
	cells, times := s.Plan.Cells(), s.Plan.Times()
	set := &Set{Plan: s.Plan, Cells: make([]Form, cells)}
	marks := set.markRoom[:]
	if cells > fewCells {
		marks = make([]bool, 2*cells)
	}
	set.Filled, set.Begun = marks[:cells:cells], marks[cells:2*cells:2*cells]
	var short [16]int
	at := short[:0]
	if cells*times > len(short) {
		at = make([]int, 0, cells*times)
	}
	at = at[:cells*times]
	for i := range at {
		at[i] = -1
	}
	for i, o := range list {
		n := o.N
		if n == 0 {
			n = 1
			for times > 1 && n <= times && at[o.Cell*times+n-1] >= 0 {
				n++
			}
			if n > times {
				set.Beyond = append(set.Beyond, i)
				continue
			}
		}
		at[o.Cell*times+n-1] = i
	}
	var gauges [2]*Gauge
	a := assembler{subject: s, set: set, unknowns: unknowns, gauges: gauges[:0], own: set.commonRoom[:0]}
	if len(list) > 0 {
		a.terms = make([]Term, 0, usualTerms*cells)
	}
	newest := -1
	for c := range cells {
		newest = max(newest, a.cell(c, at[c*times:(c+1)*times], list))
	}
	if newest >= 0 {
		set.Gauge = list[newest].Gauge
	}
	set.common = a.own
	return set
}

// usualTerms is how many unknowns a reading usually owes to: the gauge, its shared
// part, the temperature and the step.
const usualTerms = 4

// assembler builds the cells of one set; the gauge's own error and the stated
// temperature are one unknown each for all of them.
type assembler struct {
	subject  Subject
	set      *Set
	unknowns *Unknowns

	terms          []Term // room for those of every cell
	gauges         []*Gauge
	own            []Unknown
	temperature    Unknown
	hasTemperature bool
}

// cell makes the form of one cell, the mean of its readings, and returns the newest
// of them, -1 if there is none.
func (a *assembler) cell(c int, at []int, list []Observation) int {
	n, newest, sum, step := 0.0, -1, 0.0, a.subject.Step
	var by *Gauge // that answers for the step
	for _, i := range at {
		if i < 0 {
			continue
		}
		n++
		sum += a.corrected(&list[i])
		newest = max(newest, i)
		g := list[i].Gauge
		if n == 1 {
			by = g
		}
		if g != nil && g.Step > step {
			step, by = g.Step, g
		}
		a.set.Late = a.set.Late || list[i].Late
	}
	if n == 0 {
		return newest
	}
	a.set.Readings += int(n)
	a.set.Begun[c], a.set.Filled[c] = true, int(n) == len(at)
	f := Form{Value: sum / n}
	if len(a.terms)+usualTerms <= cap(a.terms) {
		f.Terms = a.terms[len(a.terms) : len(a.terms) : len(a.terms)+usualTerms]
		a.terms = a.terms[:len(a.terms)+usualTerms]
	}
	v := 0.0
	for _, i := range at {
		if i < 0 {
			continue
		}
		o := &list[i]
		f.Terms = a.gauge(f, o.Gauge, 1/n)
		if a.subject.HasMetal {
			f.Terms = a.thermal(f, o, 1/n)
		}
		d := a.corrected(o) - f.Value
		v += d * d
	}
	if step > 0 {
		f.Terms = append(f.Terms, Term{a.unknowns.New(Source{Kind: FromStep, Owner: a.subject.Owner, Gauge: nameOf(by), Dof: math.Inf(1)}), step / math.Sqrt(12)})
	}
	if n > 1 && v > 0 {
		u := math.Sqrt(v / (n - 1) / n)
		f.Terms = append(f.Terms, Term{a.unknowns.New(Source{Kind: FromRepeats, Owner: a.subject.Owner, Dof: n - 1}), u})
	}
	a.set.Cells[c] = f
	return newest
}

func nameOf(g *Gauge) string {
	if g == nil {
		return ""
	}
	return g.Name
}

// gauge adds what a reading owes to its gauge, as a share of the mean of a cell.
func (a *assembler) gauge(f Form, g *Gauge, share float64) []Term {
	if g == nil {
		return f.Terms
	}
	if u := g.own(f.Value); u > 0 {
		f.Terms = owe(f.Terms, a.ownUnknown(g), share*u)
	}
	if u := g.shared(f.Value); u > 0 {
		f.Terms = owe(f.Terms, a.unknowns.Shared(g.Name), share*u)
	}
	return f.Terms
}

// corrected brings a reading to 20 °C:
//
//	x = r − (αp − αg)·r·(T − 20 °C)
//
// αp and αg are the coefficients of the part and of the gauge's scale, r what was
// read, T the stated temperature or the mean of the room.
func (a *assembler) corrected(o *Observation) float64 {
	if !a.subject.HasMetal {
		return o.Value
	}
	t := a.subject.Room.Mean
	if o.HasTemperature {
		t = o.Temperature
	}
	if t == Reference {
		return o.Value
	}
	return o.Value - a.difference(o.Gauge)*o.Value*float64(t-Reference)
}

// difference is αp − αg; without a gauge the scale is steel.
func (a *assembler) difference(g *Gauge) float64 {
	scale := Steel
	if g != nil {
		scale = g.Scale
	}
	return float64(a.subject.Expansion - scale)
}

// thermal adds what a reading owes to its temperature, as a share of the mean of a
// cell.
func (a *assembler) thermal(f Form, o *Observation, share float64) []Term {
	if o.HasTemperature {
		if !a.hasTemperature {
			a.temperature, a.hasTemperature = a.unknowns.New(Source{Kind: FromTemperature, Owner: a.subject.Owner, Dof: math.Inf(1)}), true
		}
		return owe(f.Terms, a.temperature, -share*float64(a.subject.Expansion)*f.Value*StatedTemperature)
	}
	if u := -share * a.difference(o.Gauge) * f.Value * a.subject.Room.standard(); u != 0 {
		return owe(f.Terms, a.unknowns.Room(), u)
	}
	return f.Terms
}

func (a *assembler) ownUnknown(g *Gauge) Unknown {
	for i, seen := range a.gauges {
		if seen == g {
			return a.own[i]
		}
	}
	id := a.unknowns.New(Source{Kind: FromGauge, Owner: a.subject.Owner, Gauge: g.Name, Dof: math.Inf(1)})
	a.gauges, a.own = append(a.gauges, g), append(a.own, id)
	return id
}

// Complete reports whether every cell has all its readings.
func (s *Set) Complete() bool { return !slices.Contains(s.Filled, false) }

// Empty reports whether there is no reading at all.
func (s *Set) Empty() bool { return s.Readings == 0 }

// Missing lists the cells that still want a reading.
func (s *Set) Missing() []string {
	var list []string
	for c, ok := range s.Filled {
		if ok {
			continue
		}
		label := s.Plan.Label(c)
		if s.Begun[c] {
			label += " again"
			if label == " again" {
				label = "repeat"
			}
		} else if label == "" {
			label = "reading"
		}
		list = append(list, label)
	}
	return list
}

// pick returns the begun cell that is best by better(candidate, best).
func (s *Set) pick(better func(a, b float64) bool) Form {
	best := -1
	for c, f := range s.Cells {
		if s.Begun[c] && (best < 0 || better(f.Value, s.Cells[best].Value)) {
			best = c
		}
	}
	if best < 0 {
		return Form{}
	}
	return s.Cells[best]
}

func above(a, b float64) bool { return a > b }
func below(a, b float64) bool { return a < b }

// Largest returns the largest reading.
func (s *Set) Largest() Form { return s.pick(above) }

// Smallest returns the smallest reading.
func (s *Set) Smallest() Form { return s.pick(below) }

// Mean returns the mean of the cells.
//
// Source: the mean; what its cells share is averaged, not divided by √n. Ours.
func (s *Set) Mean() Form {
	n := 0.0
	var out Form
	for c, f := range s.Cells {
		if s.Begun[c] {
			n++
			if n == 1 {
				out = Form{f.Value, slices.Clone(f.Terms)}
			} else {
				out = out.plus(f, 1)
			}
		}
	}
	if n > 1 {
		out.Value /= n
		for i := range out.Terms {
			out.Terms[i].U /= n
		}
	}
	return out
}

// Spread returns the largest less the smallest reading. What all readings of the
// set share, the gauge's error first of all, drops out.
//
// Source: ours; a difference of two readings of one gauge, in which its error drops out.
func (s *Set) Spread() Form { return s.widest(0, len(s.Cells)) }

// widest returns the largest less the smallest reading of the cells from one to
// another. Where all are equal it is still the difference of two readings.
func (s *Set) widest(from, to int) Form {
	high, low := -1, -1
	for c := from; c < to; c++ {
		switch {
		case !s.Begun[c]:
		case high < 0:
			high, low = c, c
		case s.Cells[c].Value > s.Cells[high].Value:
			high = c
		case s.Cells[c].Value < s.Cells[low].Value || low == high:
			low = c
		}
	}
	if high == low {
		return Form{}
	}
	return s.apart(s.Cells[high], s.Cells[low])
}

// apart returns a − b, without the errors of a gauge that both were read with.
func (s *Set) apart(a, b Form) Form {
	out := a.plus(b, -1)
	for i, t := range out.Terms {
		if slices.Contains(s.common, t.Unknown) && a.owes(t.Unknown) && b.owes(t.Unknown) {
			out.Terms[i].U = 0
		}
	}
	return out
}

// Oval returns the largest difference between axes at one position.
//
// Source: common practice, no published source.
func (s *Set) Oval() Form {
	axes := max(1, len(s.Plan.Axes))
	best := s.widest(0, axes)
	for p := axes; p < len(s.Cells); p += axes {
		// Of equal ones the first that is a difference of two readings.
		if d := s.widest(p, p+axes); d.Value > best.Value || best.Terms == nil && d.Value == best.Value {
			best = d
		}
	}
	return best
}

// Taper returns the first less the last position, on the axis where it is largest
// in magnitude; its sign is kept.
//
// Source: common practice, no published source.
func (s *Set) Taper() Form {
	axes := max(1, len(s.Plan.Axes))
	last := (len(s.Cells)/axes - 1) * axes
	var best Form
	none := true
	for a := range axes {
		if last == 0 || !s.Begun[a] || !s.Begun[last+a] {
			continue
		}
		if d := s.apart(s.Cells[a], s.Cells[last+a]); none || math.Abs(d.Value) > math.Abs(best.Value) {
			best, none = d, false
		}
	}
	return best
}

// CellText numbers a cell and repeat for a message.
func CellText(position, axis string, n int) string {
	text := position
	if axis != "" {
		if text != "" {
			text += " "
		}
		text += axis
	}
	if n > 0 {
		if text != "" {
			text += " "
		}
		text += "no. " + strconv.Itoa(n)
	}
	return text
}
