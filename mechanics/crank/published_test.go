package crank_test

import (
	"path/filepath"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/crank"
	"buttonup/quantity"
)

// cell reads an input cell in SI; a fraction may be written "2/3".
func cell(t *testing.T, row check.Row, column string) float64 {
	t.Helper()
	text := row.In[column]
	over := 1.0
	if top, bottom, ok := strings.Cut(text, "/"); ok && !strings.Contains(text, " ") {
		q, err := quantity.Parse(bottom)
		if err != nil {
			t.Fatalf("line %d: %v", row.Line, err)
		}
		text, over = top, q.SI
	}
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatalf("line %d: %v", row.Line, err)
	}
	return q.SI / over
}

func TestPublished(t *testing.T) {
	evaluate := map[string]func(*testing.T, *check.File, check.Row){
		"counterweight":             counterweight,
		"residual-unbalance-metric": unbalance,
		"residual-unbalance-us":     unbalance,
	}
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		name := filepath.Base(f.Path)
		name = name[:len(name)-len(".check")]
		eval, ok := evaluate[name]
		if !ok {
			t.Errorf("%s: nothing evaluates it", f.Path)
			continue
		}
		delete(evaluate, name)
		t.Run(name, func(t *testing.T) {
			for _, row := range f.Rows {
				eval(t, f, row)
			}
		})
	}
	for name := range evaluate {
		t.Errorf("%s.check is missing", name)
	}
}

func counterweight(t *testing.T, f *check.File, row check.Row) {
	b, err := crank.Counterweight(
		quantity.Mass(cell(t, row, "reciprocating")), quantity.Mass(cell(t, row, "rotating")), cell(t, row, "factor"),
		quantity.Length(cell(t, row, "throw")), quantity.Length(cell(t, row, "radius")),
	)
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "counterweight", float64(b))
}

func unbalance(t *testing.T, f *check.File, row check.Row) {
	grade, err := crank.ParseGrade(row.In["grade"])
	if err != nil {
		t.Fatal(err)
	}
	r, err := crank.PermissibleUnbalance(grade, quantity.Mass(cell(t, row, "mass")), quantity.Frequency(cell(t, row, "speed")))
	if err != nil {
		t.Fatal(err)
	}
	for column := range row.Out {
		switch column {
		case "eccentricity in g·mm/kg": // which is micrometres
			f.Compare(t, row, column, float64(r.Eccentricity)*1e6)
		case "unbalance in g·mm":
			f.Compare(t, row, column, r.Permissible.GramMillimetres())
		case "unbalance in oz·in":
			f.Compare(t, row, column, quantity.MustUnit("oz·in").In(float64(r.Permissible)))
		default:
			t.Errorf("%s: nothing evaluates the column %s", f.Path, column)
		}
	}
}
