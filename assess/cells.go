package assess

import (
	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
)

// Cell is one cell of the plan of a dimension as it stands now.
type Cell struct {
	Position, Axis string
	// Value is at 20 °C, the mean of repeats; it and Expanded stand only if Begun is
	// set. Filled says that no repeat is missing.
	Value, Expanded float64
	Begun, Filled   bool
	// Judgement is that of the cell alone; None where a dimension is judged by its
	// mean or its spread.
	measure.Judgement
	// Seqs are the readings that belong to the cell, in the order of the journal,
	// whether or not a newer one counts instead.
	Seqs []int
}

// Cells returns the cells of a dimension at a place in the order of its plan, and the
// limits that they are held against in this job. It is false where the job has no
// such dimension.
func (m *Model) Cells(s *journal.State, of, place string) ([]Cell, measure.Limits, bool) {
	i, ok := m.dimensionIndex[instance{of, place}]
	if !ok {
		return nil, measure.Limits{}, false
	}
	// The readings of other dimensions are left out: they cost time and say nothing.
	part := *s
	part.Readings = nil
	for _, rec := range s.Readings {
		if rec.Place == place && (rec.Of == of || rec.Of == "dimension."+of) {
			part.Readings = append(part.Readings, rec)
		}
	}
	r := &run{Model: m, state: &part, out: &Assessment{}}
	r.collectRoom()
	r.collectChoices()
	r.collectFills()
	r.evaluateFacts()
	r.collectGauges()
	group := r.groupReadings()[i]
	d := &r.dimensions[i]
	if !r.stands(d.when) {
		return nil, measure.Limits{}, false
	}
	current, _ := group.current(r.disturbances()[i])
	set := r.assemble(d, current.list)
	limits, blank := r.limitsOf(&d.new, &d.limit, d.Blank)
	limits.GuardNew = d.GuardNew
	limits.NonNegative = d.nonNegative()
	judges := d.Judge != judgeMean && d.Judge != judgeSpread && len(blank) == 0
	axes := max(1, len(d.Plan.Axes))
	cells := make([]Cell, d.Plan.Cells())
	for c := range cells {
		cell := &cells[c]
		if len(d.Plan.Positions) > 0 {
			cell.Position = d.Plan.Positions[c/axes]
		}
		if len(d.Plan.Axes) > 0 {
			cell.Axis = d.Plan.Axes[c%axes]
		}
		cell.Begun, cell.Filled = set.Begun[c], set.Filled[c]
		if !cell.Begun {
			continue
		}
		cell.Value, cell.Expanded = set.Cells[c].Value, set.Cells[c].Expanded()
		if judges {
			cell.Judgement = measure.Judge(cell.Value, cell.Expanded, limits)
		}
	}
	for k, o := range current.list {
		cells[o.Cell].Seqs = append(cells[o.Cell].Seqs, current.records[k].Seq)
	}
	return cells, limits, true
}

// UsedIn lists the numbers and sweeps, as KIND.NAME with the place after it, whose
// formula uses a dimension at a place, in the order of the pack.
func (m *Model) UsedIn(of, place string) []string {
	var list []string
	for i := range m.computed {
		n := &m.computed[i]
		for _, slot := range m.numbers.InputsOf(n.node) {
			if in := &m.numbers.Inputs[slot]; in.Kind == formula.Value && in.Name == of && in.Place == place {
				list = append(list, at(n.kind+"."+n.Name, n.place))
				break
			}
		}
	}
	return list
}
