package joint

import (
	"math"
	"strconv"
	"strings"
)

// isoCoarse is the coarse pitch by nominal diameter, both in mm.
//
// Source: ISO 261 and ISO 262, memory.
var isoCoarse = map[float64]float64{
	1: 0.25, 1.1: 0.25, 1.2: 0.25, 1.4: 0.3, 1.6: 0.35, 1.8: 0.35, 2: 0.4, 2.2: 0.45, 2.5: 0.45,
	3: 0.5, 3.5: 0.6, 4: 0.7, 4.5: 0.75, 5: 0.8, 6: 1, 7: 1, 8: 1.25, 9: 1.25, 10: 1.5, 11: 1.5,
	12: 1.75, 14: 2, 16: 2, 18: 2.5, 20: 2.5, 22: 2.5, 24: 3, 27: 3, 30: 3.5, 33: 3.5, 36: 4,
	39: 4, 42: 4.5, 45: 4.5, 48: 5, 52: 5, 56: 5.5, 60: 5.5, 64: 6,
}

// isoFine is the fine pitches by nominal diameter, in mm. M14 × 1.25 is for spark
// plugs only and M35 × 1.5 for bearing nuts only.
//
// Source: ISO 261, memory.
var isoFine = map[float64][]float64{
	1: {0.2}, 1.1: {0.2}, 1.2: {0.2}, 1.4: {0.2}, 1.6: {0.2}, 1.8: {0.2}, 2: {0.25}, 2.2: {0.25},
	2.5: {0.35}, 3: {0.35}, 3.5: {0.35}, 4: {0.5}, 4.5: {0.5}, 5: {0.5}, 5.5: {0.5}, 6: {0.75},
	7: {0.75}, 8: {1, 0.75}, 9: {1, 0.75}, 10: {1.25, 1, 0.75}, 11: {1, 0.75}, 12: {1.5, 1.25, 1},
	14: {1.5, 1.25, 1}, 15: {1.5, 1}, 16: {1.5, 1}, 17: {1.5, 1}, 18: {2, 1.5, 1}, 20: {2, 1.5, 1},
	22: {2, 1.5, 1}, 24: {2, 1.5, 1}, 25: {2, 1.5, 1}, 26: {1.5}, 27: {2, 1.5, 1}, 28: {2, 1.5, 1},
	30: {3, 2, 1.5, 1}, 32: {2, 1.5}, 33: {3, 2, 1.5}, 35: {1.5}, 36: {3, 2, 1.5}, 38: {1.5},
	39: {3, 2, 1.5}, 40: {3, 2, 1.5}, 42: {4, 3, 2, 1.5}, 45: {4, 3, 2, 1.5}, 48: {4, 3, 2, 1.5},
	50: {3, 2, 1.5}, 52: {4, 3, 2, 1.5}, 55: {4, 3, 2, 1.5}, 56: {4, 3, 2, 1.5}, 58: {4, 3, 2, 1.5},
	60: {4, 3, 2, 1.5}, 62: {4, 3, 2, 1.5}, 64: {4, 3, 2, 1.5},
}

// inchRow is a size of the unified series: diameter in inches and threads an inch;
// zero where the series has no thread of that size.
type inchRow struct{ diameter, unc, unf, unef float64 }

// inchRows are the standard sizes. The number sizes follow D = 0.060 + 0.013·N in.
//
// Source: ASME B1.1, memory.
var inchRows = []inchRow{
	{0.060, 0, 80, 0}, {0.073, 64, 72, 0}, {0.086, 56, 64, 0}, {0.099, 48, 56, 0}, {0.112, 40, 48, 0},
	{0.125, 40, 44, 0}, {0.138, 32, 40, 0}, {0.164, 32, 36, 0}, {0.190, 24, 32, 0}, {0.216, 24, 28, 32},
	{1. / 4, 20, 28, 32}, {5. / 16, 18, 24, 32}, {3. / 8, 16, 24, 32}, {7. / 16, 14, 20, 28},
	{1. / 2, 13, 20, 28}, {9. / 16, 12, 18, 24}, {5. / 8, 11, 18, 24}, {11. / 16, 0, 0, 24},
	{3. / 4, 10, 16, 20}, {13. / 16, 0, 0, 20}, {7. / 8, 9, 14, 20}, {15. / 16, 0, 0, 20},
	{1, 8, 12, 20}, {1 + 1./16, 0, 0, 18}, {1 + 1./8, 7, 12, 18}, {1 + 3./16, 0, 0, 18},
	{1 + 1./4, 7, 12, 18}, {1 + 5./16, 0, 0, 18}, {1 + 3./8, 6, 12, 18}, {1 + 7./16, 0, 0, 18},
	{1 + 1./2, 6, 12, 18}, {1 + 9./16, 0, 0, 18}, {1 + 5./8, 0, 0, 18}, {1 + 11./16, 0, 0, 18},
	{1 + 3./4, 5, 0, 0}, {2, 4.5, 0, 0}, {2 + 1./4, 4.5, 0, 0}, {2 + 1./2, 4, 0, 0},
	{2 + 3./4, 4, 0, 0}, {3, 4, 0, 0}, {3 + 1./4, 4, 0, 0}, {3 + 1./2, 4, 0, 0}, {3 + 3./4, 4, 0, 0}, {4, 4, 0, 0},
}

// constantPitches are the constant-pitch series of ASME B1.1, threads an inch, used
// from a quarter of an inch up.
var constantPitches = []float64{4, 6, 8, 12, 16, 20, 28, 32}

// round9 cuts the noise of unit conversion off a size in mm or in, so that a size
// that came through metres finds its row again.
func round9(x float64) float64 { return math.Round(x*1e9) / 1e9 }

func same(a, b float64) bool { return math.Abs(a-b) <= 1e-7 }

func metricCoarse(d float64) (float64, bool) {
	p, ok := isoCoarse[d]
	return p, ok
}

func metricSeries(d, p float64) Series {
	if coarse, ok := isoCoarse[d]; ok && same(coarse, p) {
		return Coarse
	}
	for _, fine := range isoFine[d] {
		if same(fine, p) {
			return Fine
		}
	}
	return Special
}

// inchSize finds the row of a diameter in inches.
func inchSize(d float64) (inchRow, bool) {
	for _, row := range inchRows {
		if same(row.diameter, d) {
			return row, true
		}
	}
	return inchRow{}, false
}

func unifiedSeries(d, tpi float64) Series {
	if row, ok := inchSize(d); ok {
		switch tpi {
		case row.unc:
			return Coarse
		case row.unf:
			return Fine
		case row.unef:
			return ExtraFine
		}
	}
	// The constant-pitch series are selected sizes in steps of 1/16 in.
	if d >= 0.25 && same(d*16, math.Round(d*16)) {
		for _, n := range constantPitches {
			if tpi == n {
				return ConstantPitch
			}
		}
	}
	return Special
}

// numberSize returns the diameter in inches of a number size, 0 to 12.
func numberSize(n int) float64 { return round9(0.060 + 0.013*float64(n)) }

// number prints a size without trailing zeros.
func number(x float64) string { return strconv.FormatFloat(round9(x), 'f', -1, 64) }

// sizeText writes a diameter in inches as the trade does: #10, 3/8, 1-1/8, or a
// decimal where it is none of these.
func sizeText(d float64) string {
	for n := 0; n <= 12; n++ {
		if same(numberSize(n), d) && n != 7 && n != 9 && n != 11 {
			return "#" + strconv.Itoa(n)
		}
	}
	sixtyfourths := math.Round(d * 64)
	if !same(d*64, sixtyfourths) {
		return number(d)
	}
	top, under := int(sixtyfourths), 64
	for under > 1 && top%2 == 0 {
		top, under = top/2, under/2
	}
	whole, rest := top/under, top%under
	switch {
	case rest == 0:
		return strconv.Itoa(whole)
	case whole == 0:
		return strconv.Itoa(rest) + "/" + strconv.Itoa(under)
	}
	return strconv.Itoa(whole) + "-" + strconv.Itoa(rest) + "/" + strconv.Itoa(under)
}

// inchSuffix names the series of an inch thread.
func inchSuffix(s Series) string {
	return [...]string{Special: "UNS", Coarse: "UNC", Fine: "UNF", ExtraFine: "UNEF", ConstantPitch: "UN"}[s]
}

// String writes the thread so that [ParseThread] reads the same one again: the pitch
// is always written, as in "M10x1.5", "M24x1.5 LH", "3/8-16 UNC", "#10-32 UNF". The
// zero Thread prints as "no thread".
func (t Thread) String() string {
	var out strings.Builder
	switch t.standard {
	case ISOMetric:
		out.WriteString("M" + number(float64(t.diameter)*1e3) + "x" + number(float64(t.pitch)*1e3))
	case UnifiedInch:
		d := round9(float64(t.diameter) / 0.0254)
		size := sizeText(d)
		// A whole number of inches could be taken for a number size: 1-64 is #1-64.
		if !strings.HasPrefix(size, "#") && !strings.ContainsAny(size, "/.") && readsAsNumberSize(size, t.tpi) {
			size += ".0"
		}
		out.WriteString(size + "-" + number(t.tpi) + " " + inchSuffix(t.series))
	default:
		return "no thread"
	}
	if t.left {
		out.WriteString(" LH")
	}
	return out.String()
}
