package assess

import (
	"sync/atomic"

	"buttonup/formula"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/quantity"
)

// Model is a pack made ready to be assessed: every block at every place, and its
// formulas as two graphs. Facts hold what depends on options and parts alone
// (conditions and limits), numbers what depends on readings. A model is not changed
// by assessing but for what it remembers, and may be used by several callers at once.
type Model struct {
	pack    *pack.Pack
	facts   *formula.Graph
	numbers *formula.Graph

	dimensions []dimensionAt
	checks     []checkAt
	computed   []numberAt
	operations []operationAt
	spaces     []spaceAt
	slots      []slotAt
	joints     []jointAt
	locks      []lockAt

	dimensionIndex map[instance]int
	numberIndex    map[instance]int
	checkIndex     map[instance]int
	operationIndex map[instance]int
	spaceIndex     map[instance]int
	slotIndex      map[instance]int
	jointIndex     map[instance]int
	options        map[string]*pack.Option
	parts          map[string]*pack.Part
	catalogue      *parts.Catalogue
	gaugeClasses   map[string]*pack.Instrument
	order          *order
	// conditional says that an operation or a space has a condition, so that what
	// comes before what depends on the job.
	conditional bool
	// presence holds the conditions of numbers and sweeps that have one.
	presence map[instance]formula.NodeID
	// readingInputs lists, for each dimension, the inputs of the numbers graph that
	// it fills.
	readingInputs [][]readingInput
	spreads       *spreads
	sizes         *sizes
}

// sizes says how long some lists of the last assessment were, so that the next one does
// not make them grow step by step.
type sizes struct{ findings, drivers atomic.Int64 }

// instance is a block at a place.
type instance struct{ name, place string }

// readingInput is an input that a dimension fills.
type readingInput struct {
	slot int
	set  formula.SetFunction
}

// never marks a block without a `when`.
const never formula.NodeID = -1

// setting is a range that may depend on facts.
type setting struct {
	there     bool
	constant  quantity.Range
	low, high formula.NodeID // never for a constant
	expr      *formula.RangeExpr
}

type dimensionAt struct {
	*pack.Dimension
	place      string
	of         string // dimension.NAME
	reference  string // with the place
	when       formula.NodeID
	new, limit setting
}

type checkAt struct {
	*pack.Check
	place string
	of    string
	when  formula.NodeID
}

type numberAt struct {
	*pack.Number
	kind       string
	sweep      *pack.Sweep
	place      string
	of         string
	node       formula.NodeID
	straight   bool  // whatever its inputs are
	inputs     []int // that it depends on
	new, limit setting
}

type operationAt struct {
	*pack.Operation
	place string
	when  formula.NodeID
}

type spaceAt struct {
	*pack.Space
	place string
	when  formula.NodeID
}

type slotAt struct {
	*pack.Slot
	place string
	when  formula.NodeID
}

type jointAt struct {
	*pack.Joint
	place  string
	when   formula.NodeID
	torque setting
}

type lockAt struct {
	*pack.Lock
	place string
	when  formula.NodeID
}

// Prepare makes a pack ready. The pack must be free of mistakes.
func Prepare(p *pack.Pack) *Model {
	m := &Model{
		pack: p, facts: formula.NewGraph(), numbers: formula.NewGraph(),
		dimensionIndex: map[instance]int{}, numberIndex: map[instance]int{}, checkIndex: map[instance]int{},
		operationIndex: map[instance]int{}, spaceIndex: map[instance]int{}, slotIndex: map[instance]int{}, jointIndex: map[instance]int{},
		options: map[string]*pack.Option{}, parts: map[string]*pack.Part{}, gaugeClasses: map[string]*pack.Instrument{},
		presence: map[instance]formula.NodeID{}, spreads: &spreads{last: map[formula.NodeID]remembered{}}, sizes: &sizes{},
		catalogue: parts.NewCatalogue(p),
	}
	for _, o := range p.Options {
		m.options[o.Name] = o
	}
	for _, x := range p.Parts {
		m.parts[x.Name] = x
	}
	for _, i := range p.Instruments {
		m.gaugeClasses[i.Name] = i
	}
	for _, d := range p.Dimensions {
		for _, place := range m.members(d.At) {
			m.dimensionIndex[instance{d.Name, place}] = len(m.dimensions)
			m.dimensions = append(m.dimensions, dimensionAt{
				Dimension: d, place: place, of: "dimension." + d.Name, reference: at("dimension."+d.Name, place), when: m.when(&d.Common, d.At, place),
				new: m.setting(d.New, d.At, place), limit: m.setting(d.Limit, d.At, place),
			})
		}
	}
	for _, c := range p.Checks {
		for _, place := range m.members(c.At) {
			m.checkIndex[instance{c.Name, place}] = len(m.checks)
			m.checks = append(m.checks, checkAt{c, place, "check." + c.Name, m.when(&c.Common, c.At, place)})
		}
	}
	m.addNumbers()
	for _, o := range p.Operations {
		for _, place := range m.members(o.At) {
			m.operationIndex[instance{o.Name, place}] = len(m.operations)
			m.operations = append(m.operations, operationAt{o, place, m.when(&o.Common, o.At, place)})
			m.conditional = m.conditional || o.When != nil
		}
	}
	for _, s := range p.Spaces {
		for _, place := range m.members(s.At) {
			m.spaceIndex[instance{s.Name, place}] = len(m.spaces)
			m.spaces = append(m.spaces, spaceAt{s, place, m.when(&s.Common, s.At, place)})
			m.conditional = m.conditional || s.When != nil
		}
	}
	for _, s := range p.Slots {
		for _, place := range m.members(s.At) {
			m.slotIndex[instance{s.Name, place}] = len(m.slots)
			m.slots = append(m.slots, slotAt{s, place, m.when(&s.Common, s.At, place)})
		}
	}
	for _, j := range p.Joints {
		for _, place := range m.members(j.At) {
			m.jointIndex[instance{j.Name, place}] = len(m.joints)
			m.joints = append(m.joints, jointAt{j, place, m.when(&j.Common, j.At, place), m.setting(j.Torque, j.At, place)})
		}
	}
	for _, k := range p.Locks {
		for _, place := range m.members(k.At) {
			m.locks = append(m.locks, lockAt{k, place, m.when(&k.Common, k.At, place)})
		}
	}
	m.indexReadings()
	m.order = newOrder(m)
	return m
}

// members lists where a block at a place stands: once for each member, or once for
// the engine.
func (m *Model) members(place string) []string {
	if place == "" {
		return []string{""}
	}
	if k := m.pack.PlaceKinds[place]; k != nil {
		return k.Members
	}
	return nil
}

// reach lists the members of place to that a reference from a block at a place
// means: the same place, else the parent, else every member below, else every
// member.
func (m *Model) reach(from, member, to string) []string {
	if up, ok := m.pack.PlaceKinds.Up(from, member, to); ok {
		return []string{up}
	}
	return m.pack.PlaceKinds.Below(from, member, to)
}

func (m *Model) binder(place, member string) formula.Binder {
	return formula.Binder{Places: m.pack.PlaceKinds, Place: place, Member: member,
		Node: func(*formula.Thing, string) (formula.NodeID, bool) { return 0, false }}
}

func (m *Model) when(c *pack.Common, place, member string) formula.NodeID {
	if c.When == nil {
		return never
	}
	return m.facts.Add(c.When, m.binder(place, member))
}

func (m *Model) setting(s *pack.Setting, place, member string) setting {
	if s == nil {
		return setting{low: never}
	}
	out := setting{there: true, constant: s.Constant, low: never, high: never, expr: s.Expression}
	if s.Expression != nil {
		out.low, out.high = m.facts.AddRange(s.Expression, m.binder(place, member))
	}
	return out
}

// addNumbers instantiates numbers and sweeps, each after those that it names.
func (m *Model) addNumbers() {
	type definition struct {
		number *pack.Number
		sweep  *pack.Sweep
	}
	byName := map[string]definition{}
	for _, n := range m.pack.Numbers {
		byName[n.Name] = definition{number: n}
	}
	for _, s := range m.pack.Sweeps {
		byName[s.Name] = definition{number: &s.Number, sweep: s}
	}
	nodes := map[instance]formula.NodeID{}
	var node func(name, place string) formula.NodeID
	node = func(name, place string) formula.NodeID {
		key := instance{name, place}
		if id, ok := nodes[key]; ok {
			return id
		}
		d := byName[name]
		b := m.binder(d.number.At, place)
		b.Node = func(t *formula.Thing, place string) (formula.NodeID, bool) {
			if _, ok := byName[t.Name]; !ok {
				return 0, false
			}
			return node(t.Name, place), true
		}
		var id formula.NodeID
		kind := "number"
		value := d.number.Value
		if value == nil {
			value = &formula.Expr{} // a template left the formula to be filled in
		}
		if d.sweep != nil {
			kind = "sweep"
			id = m.numbers.AddSweep(value, b, d.sweep.Low, d.sweep.High, d.sweep.Largest)
		} else {
			id = m.numbers.Add(value, b)
		}
		if d.number.Model > 0 {
			id = m.numbers.AddModel(id, kind+"."+name, place, d.number.Model/2)
		}
		if d.number.When != nil {
			id = m.numbers.AddPresence(id, kind, name, place)
			m.presence[instance{kind + "." + name, place}] = m.when(&d.number.Common, d.number.At, place)
		}
		nodes[key] = id
		return id
	}
	add := func(n *pack.Number, s *pack.Sweep, kind string) {
		for _, place := range m.members(n.At) {
			m.numberIndex[instance{n.Name, place}] = len(m.computed)
			m.computed = append(m.computed, numberAt{
				Number: n, sweep: s, kind: kind, place: place, of: kind + "." + n.Name, node: node(n.Name, place),
				new: m.setting(n.New, n.At, place), limit: m.setting(n.Limit, n.At, place),
			})
		}
	}
	for _, n := range m.pack.Numbers {
		add(n, nil, "number")
	}
	for _, s := range m.pack.Sweeps {
		add(&s.Number, s, "sweep")
	}
	for i := range m.computed {
		m.numbers.KeepCone(m.computed[i].node)
		m.computed[i].straight, m.computed[i].inputs = m.numbers.AlwaysStraight(m.computed[i].node), m.numbers.InputsOf(m.computed[i].node)
	}
}

// indexReadings finds which inputs each dimension fills.
func (m *Model) indexReadings() {
	m.readingInputs = make([][]readingInput, len(m.dimensions))
	for slot, in := range m.numbers.Inputs {
		if in.Kind == formula.Value {
			if d, ok := m.dimensionIndex[instance{in.Name, in.Place}]; ok {
				m.readingInputs[d] = append(m.readingInputs[d], readingInput{slot, in.Set})
			}
		}
	}
}
