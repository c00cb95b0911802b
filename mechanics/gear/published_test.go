package gear_test

import (
	"math"
	"path/filepath"
	"strconv"
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/gear"
	"buttonup/quantity"
)

const degree = math.Pi / 180

func deg(x float64) quantity.Angle { return quantity.Angle(x * degree) }

// cell reads an input cell in SI.
func cell(t *testing.T, row check.Row, column string) float64 {
	t.Helper()
	q, err := quantity.Parse(row.In[column])
	if err != nil {
		t.Fatalf("line %d: %v", row.Line, err)
	}
	return q.SI
}

func teeth(t *testing.T, row check.Row, column string) int {
	t.Helper()
	n, err := strconv.Atoi(row.In[column])
	if err != nil {
		t.Fatalf("line %d: %v", row.Line, err)
	}
	return n
}

func TestPublished(t *testing.T) {
	evaluate := map[string]func(*testing.T, *check.File, check.Row){
		"involute-function":       involute,
		"involute-iso-21771":      involute,
		"over-wires-20":           overWires(20),
		"over-wires-14.5":         overWires(14.5),
		"chordal-thickness":       chordal,
		"backlash-rule":           rule,
		"working-angle-iso-21771": workingAngle,
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

func involute(t *testing.T, f *check.File, row check.Row) {
	y, err := gear.Inv(quantity.Angle(cell(t, row, "angle")))
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "inv", y)
}

func overWires(angle float64) func(*testing.T, *check.File, check.Row) {
	return func(t *testing.T, f *check.File, row check.Row) {
		m, err := gear.ModuleFromDiametralPitch(1)
		if err != nil {
			t.Fatal(err)
		}
		g := gear.Gear{Teeth: teeth(t, row, "teeth"), Module: m, PressureAngle: deg(angle)}
		p, err := gear.OverPins(g, quantity.Inches(1.728))
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "over wires", p.Size.Inches())
	}
}

func chordal(t *testing.T, f *check.File, row check.Row) {
	g := gear.Gear{
		Teeth:         teeth(t, row, "teeth"),
		Module:        quantity.Length(cell(t, row, "module")),
		PressureAngle: quantity.Angle(cell(t, row, "pressure angle")),
		Helix:         quantity.Angle(cell(t, row, "helix")),
		Shift:         cell(t, row, "shift"),
	}
	c, err := gear.ChordalThickness(g, quantity.Length(cell(t, row, "addendum")))
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "arc", c.Arc.Millimetres())
	f.Compare(t, row, "half angle", float64(c.HalfAngle)/degree)
	f.Compare(t, row, "thickness", c.Thickness.Millimetres())
	f.Compare(t, row, "height", c.Height.Millimetres())
	f.Compare(t, row, "virtual teeth", c.VirtualTeeth)
}

func rule(t *testing.T, f *check.File, row check.Row) {
	j, err := gear.BacklashRule(quantity.Millimetres(1), quantity.Angle(cell(t, row, "pressure angle")))
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "centre per backlash", 1/j.Millimetres())
}

func workingAngle(t *testing.T, f *check.File, row check.Row) {
	module, z1, z2 := cell(t, row, "module"), teeth(t, row, "pinion"), teeth(t, row, "wheel")
	g := gear.Gear{
		Teeth:         z1,
		Module:        quantity.Length(module),
		PressureAngle: quantity.Angle(cell(t, row, "pressure angle")),
		Helix:         quantity.Angle(math.Acos(module * float64(z1+z2) / 2 / cell(t, row, "reference"))),
	}
	w := g
	w.Teeth = z2
	p, err := gear.Backlash(g, w, quantity.Length(cell(t, row, "centre")))
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "working angle", float64(p.WorkingAngle)/degree)
	// At the reference centre distance the working angle is the transverse one.
	p, err = gear.Backlash(g, w, quantity.Length(cell(t, row, "reference")))
	if err != nil {
		t.Fatal(err)
	}
	f.Compare(t, row, "transverse angle", float64(p.WorkingAngle)/degree)
}
