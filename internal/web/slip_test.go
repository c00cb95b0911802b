package web

import (
	"fmt"

	"buttonup/journal"
	"buttonup/measure"
	"buttonup/quantity"
)

// slipOf says what would be asked about a reading among the others of its set, empty
// for nothing.
func slipOf(sh *sheet, rec journal.ReadingRecord) string {
	cells, limits, ok := sh.pack.model.Cells(sh.State, rec.Of, rec.Place)
	d := sh.dimension(rec.Of)
	q, err := quantity.Parse(rec.Value)
	if !ok || d == nil || err != nil {
		return ""
	}
	at, _ := d.Plan.Cell(rec.Cell.Position, rec.Cell.Axis)
	var neighbours []float64
	for c := range cells {
		if c != at && cells[c].Begun {
			neighbours = append(neighbours, cells[c].Value)
		}
	}
	slip, odd := measure.FindSlip(q.SI, q.Unit, limits, neighbours)
	if !odd {
		return ""
	}
	return fmt.Sprintf("%s %s %s: %d", rec.Of, rec.Place, rec.Value, slip.Kind)
}
