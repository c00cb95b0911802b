package quantity

import (
	"testing"

	"buttonup/internal/check"
)

// Every file under testdata/published has the same columns: a value as a builder
// writes it, the unit to show it in, and what somebody else printed for that.
func TestPublished(t *testing.T) {
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		result := f.Columns[f.Inputs]
		for _, row := range f.Rows {
			q, err := Parse(row.In["written"])
			if err != nil {
				t.Errorf("%s:%d: %v", f.Path, row.Line, err)
				continue
			}
			u, err := ParseUnit(row.In["in"])
			if err != nil {
				t.Errorf("%s:%d: %v", f.Path, row.Line, err)
				continue
			}
			if q.Dimension != u.Dimension {
				t.Errorf("%s:%d: %s is a %v and %s a unit of %v", f.Path, row.Line, row.In["written"], q.Dimension, u.Symbol, u.Dimension)
				continue
			}
			f.Compare(t, row, result, u.In(q.SI))
		}
	}
}
