package fit

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// classes are all classes the package reads.
func classes() []string {
	var list []string
	for _, letter := range strings.Fields(holes + " " + shafts) {
		for n := lowestGrade; n <= highestGrade; n++ {
			list = append(list, letter+gradeText(n))
		}
	}
	return list
}

// sizes are the ends of every step, a hair past each, and one inside each.
func sizes() []quantity.Length {
	list := []quantity.Length{Smallest, Largest}
	for _, end := range append(steps[:], fineSteps[:]...) {
		list = append(list, quantity.Millimetres(end))
		if end < 500 {
			list = append(list, quantity.Millimetres(end+0.001), quantity.Millimetres(end*1.05))
		}
	}
	return list
}

// Every class is as wide as its grade, wherever the tables give it.
func TestWidthIsTheGrade(t *testing.T) {
	given := 0
	for _, class := range classes() {
		for _, d := range sizes() {
			lower, upper, err := Deviations(d, class)
			if err != nil {
				var e *argument.Error
				if !errors.As(err, &e) || !strings.Contains(e.Says, "not given") {
					t.Errorf("%v mm %s: %v", d.Millimetres(), class, err)
				}
				continue
			}
			given++
			width, err := Tolerance(d, strings.TrimLeft(class, "DEFGHJSKMNPRdefghjskmnpr"))
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(float64(upper-lower-width)) > 1e-15 {
				t.Errorf("%v mm %s is %v wide, and its grade %v", d.Millimetres(), class, upper-lower, width)
			}
			low, high, err := Limits(d, class)
			if err != nil || low != d+lower || high != d+upper {
				t.Errorf("%v mm %s: limits %v %v (%v)", d.Millimetres(), class, low, high, err)
			}
		}
	}
	if given < 20000 {
		t.Errorf("only %d limits were given", given)
	}
}

// The holes D to H mirror the shafts d to h, and JS is js.
func TestHolesMirrorShafts(t *testing.T) {
	for _, letter := range []string{"d", "e", "f", "g", "h", "js"} {
		for n := lowestGrade; n <= highestGrade; n++ {
			for _, d := range sizes() {
				ei, es, err := Deviations(d, letter+gradeText(n))
				EI, ES, err2 := Deviations(d, strings.ToUpper(letter)+gradeText(n))
				if EI != -es || ES != -ei || (err == nil) != (err2 == nil) {
					t.Errorf("%v mm: %s%d is %v %v and its hole %v %v", d.Millimetres(), letter, n, ei, es, EI, ES)
				}
			}
		}
	}
}

// What Δ is for: a hole of one grade with the shaft h of the next finer grade gives
// the same interference as the hole H with the shaft of the same letter, so K7/h6 is
// H7/k6, and P7/h6 is H7/p6. M6 over 250 up to 315 mm is the exception.
func TestDeltaMakesTheSameFit(t *testing.T) {
	for _, letter := range []string{"k", "m", "n", "p", "r", "s"} {
		first, last := 4, 7
		if letter < "p" {
			last = 8
		}
		if letter == "k" {
			first = 5 // k3 begins at the nominal size, and K4 is built from k4
		}
		for n := first; n <= last; n++ {
			for _, d := range sizes() {
				if d.Millimetres() <= 3 {
					continue
				}
				min1, max1, err := Clearance(d, "H"+gradeText(n), letter+gradeText(n-1))
				if err != nil {
					t.Fatal(err)
				}
				min2, max2, err := Clearance(d, strings.ToUpper(letter)+gradeText(n), "h"+gradeText(n-1))
				if err != nil {
					t.Fatal(err)
				}
				same := math.Abs(float64(min1-min2)) < 1e-15 && math.Abs(float64(max1-max2)) < 1e-15
				special := letter == "m" && n == 6 && d.Millimetres() > 250 && d.Millimetres() <= 315
				if same == special {
					t.Errorf("%v mm: H%d/%s%d is %v %v, and %s%d/h%d %v %v", d.Millimetres(), n, letter, n-1, min1, max1, strings.ToUpper(letter), n, n-1, min2, max2)
				}
			}
		}
	}
}

// A larger size is never given a narrower grade or a nearer deviation.
func TestTablesClimb(t *testing.T) {
	climbs := func(name string, values []float64) {
		for i := 1; i < len(values); i++ {
			if values[i] < values[i-1] {
				t.Errorf("%s falls from %g to %g", name, values[i-1], values[i])
			}
		}
	}
	for k := range steps {
		climbs("the grades up to "+strconv.FormatFloat(steps[k], 'g', -1, 64)+" mm", widths[k][:])
	}
	for n := range widths[0] {
		var column []float64
		for k := range steps {
			column = append(column, widths[k][n])
		}
		climbs("the grade in column "+strconv.Itoa(n), column)
	}
	for letter, row := range above {
		climbs(letter, row[:])
	}
	for letter, row := range below {
		climbs(letter, row[:])
	}
	for letter, row := range fineBelow {
		climbs(letter, row[:])
	}
}

// The end of a step belongs to it, however the size was written.
func TestEndsOfSteps(t *testing.T) {
	for _, c := range []struct {
		text  string
		width float64
	}{
		{"30 mm", 21}, {"30.000 mm", 21}, {"3 cm", 21}, {"0.03 m", 21}, {"30000 µm", 21},
		{"30.001 mm", 25}, {"18 mm", 18}, {"18.0001 mm", 21}, {"1 in", 21}, {"50 mm", 25}, {"500 mm", 63}, {"1 mm", 10},
	} {
		q, err := quantity.Parse(c.text)
		if err != nil {
			t.Fatal(err)
		}
		width, err := Tolerance(quantity.Length(q.SI), "IT7")
		if err != nil || math.Abs(micrometres(width)-c.width) > 1e-9 {
			t.Errorf("IT7 at %s is %v (%v), want %g µm", c.text, width, err, c.width)
		}
	}
}

func TestRefusals(t *testing.T) {
	nan := quantity.Length(math.NaN())
	for _, c := range []struct {
		size  quantity.Length
		class string
		says  string
	}{
		{quantity.Millimetres(0.9), "H7", "the nominal size 0.9 mm must be from 1 to 500 mm"},
		{quantity.Millimetres(500.1), "H7", "the nominal size 500.1 mm must be from 1 to 500 mm"},
		{0, "H7", "the nominal size 0 mm"},
		{-0.025, "H7", "the nominal size -25 mm"},
		{nan, "H7", "the nominal size NaN mm"},
		{quantity.Length(math.Inf(1)), "H7", "the nominal size +Inf mm"},
		{0.025, "", `write it like "H7"`},
		{0.025, "7", "is not a letter and a grade"},
		{0.025, "H", "is not a letter and a grade"},
		{0.025, "X7", "known are D E F G H JS K M N P R S for holes"},
		{0.025, "Js7", "the letter of the tolerance class"},
		{0.025, "hH7", "the letter of the tolerance class"},
		{0.025, "H17", "known are the grades 01, 0 or 1 to 16"},
		{0.025, "H07", "the grade of the tolerance class"},
		{0.025, "H7/g6", "the grade of the tolerance class"},
		{0.025, "H-7", "the letter of the tolerance class"},
		{0.025, "H7.5", "the grade of the tolerance class"},
		{0.025, "K9", "K9 is not given at 25 mm; over 3 mm K ends with grade 8"},
		{0.025, "P2", "P2 is not given: hole deviations from K on begin with grade 3"},
		{0.025, "N01", "N01 is not given"},
		{0.001, "N9", "N9 is not given at 1 mm"},
		{0.001, "h14", "the grades above IT13 are not given at 1 mm"},
	} {
		low, high, err := Limits(c.size, c.class)
		var e *argument.Error
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.says) || strings.HasSuffix(err.Error(), ".") || low != 0 || high != 0 {
			t.Errorf("%v mm %q: %v %v %v, want %q", c.size.Millimetres(), c.class, low, high, err, c.says)
		}
	}
	for _, c := range []struct{ hole, shaft, says string }{
		{"g6", "H7", "g6 is not the class of a hole"},
		{"H7", "H7", "H7 is not the class of a shaft; a hole has capital letters and a shaft small ones"},
		{"H7", "z9", "is not known"},
		{"K9", "h6", "K9 is not given"},
	} {
		if _, _, err := Clearance(0.025, c.hole, c.shaft); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s/%s: %v, want %q", c.hole, c.shaft, err, c.says)
		}
	}
	for _, grade := range []string{"", "IT", "IT17", "H7", "7.0", "IT 7", "it7"} {
		if w, err := Tolerance(0.025, grade); err == nil {
			t.Errorf("the grade %q is %v", grade, w)
		}
	}
	if _, err := Tolerance(0.001, "IT14"); err == nil {
		t.Error("IT14 was given at 1 mm")
	}
	if _, err := Tolerance(0.0011, "IT14"); err != nil {
		t.Errorf("IT14 at 1.1 mm: %v", err)
	}
}

// No text makes a class panic, and what is read is read as it was written.
func FuzzClass(f *testing.F) {
	for _, s := range []string{"H7", "js01", "g0", " k6 ", "ZC11", "H", "7", "H7/g6", "\xff7", "²7"} {
		f.Add(s, 0.025)
	}
	f.Fuzz(func(t *testing.T, text string, metres float64) {
		if c, err := parseClass(text); err == nil && c.String() != strings.TrimSpace(text) {
			t.Errorf("%q was read as %s", text, c)
		}
		low, high, err := Limits(quantity.Length(metres), text)
		if err == nil && !(low < high) {
			t.Errorf("%v m %q: %v .. %v", metres, text, low, high)
		}
	})
}
