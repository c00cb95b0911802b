package cylinder

import (
	"path/filepath"
	"strconv"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

// in reads an input of a row as the number in SI.
func in(t *testing.T, row check.Row, column string) float64 {
	t.Helper()
	text, ok := row.In[column]
	if !ok {
		t.Fatalf("line %d: no input is called %q", row.Line, column)
	}
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatalf("line %d: %s: %v", row.Line, column, err)
	}
	return q.SI
}

func length(t *testing.T, row check.Row, column string) quantity.Length {
	return quantity.Length(in(t, row, column))
}

func unit(symbol string, si float64) float64 { return quantity.MustUnit(symbol).In(si) }

// one calls Compare for one output after another and stops at an error.
type one struct {
	*testing.T
	file *check.File
	row  check.Row
}

func (o one) is(column string, got float64) { o.Helper(); o.file.Compare(o.T, o.row, column, got) }

func (o one) ok(err error) {
	o.Helper()
	if err != nil {
		o.Fatalf("%s:%d: %v", o.file.Path, o.row.Line, err)
	}
}

var evaluations = map[string]func(o one){
	"displacement-handbook.check": func(o one) {
		n, _ := strconv.Atoi(o.row.In["cylinders"])
		each, total, err := Displacement(length(o.T, o.row, "bore"), length(o.T, o.row, "stroke"), n)
		o.ok(err)
		o.is("each", unit("cu in", float64(each)))
		o.is("total", unit("cu in", float64(total)))
	},
	"displacement-article.check": func(o one) {
		n, _ := strconv.Atoi(o.row.In["cylinders"])
		_, total, err := Displacement(length(o.T, o.row, "bore"), length(o.T, o.row, "stroke"), n)
		o.ok(err)
		o.is("total", unit("cu in", float64(total)))
	},
	"displacement-depth.check": func(o one) {
		n, _ := strconv.Atoi(o.row.In["cylinders"])
		stroke, err := StrokeFromDepths(0, length(o.T, o.row, "cylinder depth")-length(o.T, o.row, "crown from bottom"))
		o.ok(err)
		_, total, err := Displacement(length(o.T, o.row, "bore"), stroke, n)
		o.ok(err)
		o.is("total", unit("cu in", float64(total)))
	},
	"compression-ratio.check": func(o one) {
		top := quantity.Volume(in(o.T, o.row, "volume at top"))
		ratio, err := CompressionRatio(quantity.Volume(in(o.T, o.row, "volume at bottom"))-top, top)
		o.ok(err)
		o.is("ratio", ratio)
	},
	"slider-crank.check": func(o one) {
		c := Crank{Stroke: length(o.T, o.row, "stroke"), Rod: length(o.T, o.row, "rod")}
		angle := quantity.Angle(in(o.T, o.row, "angle"))
		v, err := c.VelocityFactor(angle)
		o.ok(err)
		o.is("piston speed", v.Inches())
		swing, err := c.RodSwing(angle)
		o.ok(err)
		o.is("rod speed", swing)
		tilt, err := c.RodAngle(angle)
		o.ok(err)
		o.is("rod angle", 180-unit("deg", float64(tilt)))
	},
	"tester-orifice.check": func(o one) {
		w, err := TesterOrifice(length(o.T, o.row, "bore"))
		o.ok(err)
		o.is("diameter", w.Diameter.Inches())
		o.is("length", w.Length.Inches())
		o.is("approach", unit("deg", float64(w.Approach)))
		o.is("supply", unit("psi", float64(w.Supply)))
	},
	"cranking-pressure.check": func(o one) {
		p, err := CrankingPressure(quantity.Pressure(in(o.T, o.row, "ambient")), in(o.T, o.row, "ratio"), in(o.T, o.row, "exponent"))
		o.ok(err)
		o.is("gauge pressure", unit("psi", float64(p)))
	},
	"standard-atmosphere.check": func(o one) {
		p, temperature, err := StandardAtmosphere(length(o.T, o.row, "altitude"))
		o.ok(err)
		o.is("pressure", float64(p))
		o.is("temperature", float64(temperature))
	},
	"standard-atmosphere-table.check": func(o one) {
		p, _, err := StandardAtmosphere(length(o.T, o.row, "altitude"))
		o.ok(err)
		o.is("pressure", unit("hPa", float64(p)))
	},
	"piston-drop.check": func(o one) {
		x, err := PistonDrop(length(o.T, o.row, "stroke"), length(o.T, o.row, "rod"), quantity.Angle(in(o.T, o.row, "angle")), 0)
		o.ok(err)
		o.is("drop", x.Inches())
	},
	"fastest-down.check": func(o one) {
		angle, factor, err := Crank{Stroke: length(o.T, o.row, "stroke"), Rod: length(o.T, o.row, "rod")}.FastestDown()
		o.ok(err)
		o.is("angle", unit("deg", float64(angle)))
		o.is("factor", factor.Inches())
	},
	"cylinder-volume.check": func(o one) {
		ratio, rod := in(o.T, o.row, "compression ratio"), in(o.T, o.row, "rod over throw")
		c := Crank{Stroke: mm(80), Rod: mm(40 * rod)}
		swept, err := SweptVolume(mm(90), c.Stroke)
		o.ok(err)
		clearance := swept / quantity.Volume(ratio-1)
		v, err := VolumeAt(mm(90), c, clearance, quantity.Angle(in(o.T, o.row, "angle")))
		o.ok(err)
		o.is("volume over clearance", float64(v/clearance))
	},
	"trapped-compression.check": func(o one) {
		bore := length(o.T, o.row, "bore")
		c := Crank{Stroke: length(o.T, o.row, "stroke"), Rod: length(o.T, o.row, "rod")}
		swept, err := SweptVolume(bore, c.Stroke)
		o.ok(err)
		clearance := Clearance{Chamber: swept / quantity.Volume(in(o.T, o.row, "static ratio")-1)}
		got, err := TrappedCompression(bore, c, clearance, quantity.Angle(in(o.T, o.row, "inlet closes")))
		o.ok(err)
		o.is("trapped stroke", got.Stroke.Inches())
		o.is("ratio", got.Ratio)
	},
}

// TestPublished runs every row of every check file: those of others, and ours.
func TestPublished(t *testing.T) {
	files := check.Glob(t, "testdata/published/*.check")
	files = append(files, check.Glob(t, "testdata/ours/*.check")...)
	seen := map[string]bool{}
	for _, f := range files {
		name := filepath.Base(f.Path)
		seen[name] = true
		evaluate, ok := evaluations[name]
		if !ok {
			t.Errorf("%s: nothing here evaluates it", f.Path)
			continue
		}
		for _, row := range f.Rows {
			t.Run(name+":"+strconv.Itoa(row.Line), func(t *testing.T) { evaluate(one{t, f, row}) })
		}
	}
	for name := range evaluations {
		if !seen[name] {
			t.Errorf("no check file is called %s", name)
		}
	}
}
