package joint

import (
	"errors"
	"math"
	"strings"
	"testing"

	"buttonup/mechanics/argument"
)

func TestParseThread(t *testing.T) {
	for _, c := range []struct {
		text, want string
		series     Series
	}{
		{"M10x1.25", "M10x1.25", Fine},
		{"M10×1.5", "M10x1.5", Coarse},
		{"M10", "M10x1.5", Coarse},
		{"M8", "M8x1.25", Coarse},
		{"m8", "M8x1.25", Coarse},
		{" M 10 x 1.25 ", "M10x1.25", Fine},
		{"M10 X 1.25 mm", "M10x1.25", Fine},
		{"M10*1.25", "M10x1.25", Fine},
		{"M10-1.25", "M10x1.25", Fine},
		{"M10x1.25-6g", "M10x1.25", Fine},
		{"M10-6H", "M10x1.5", Coarse},
		{"M24x1.5 LH", "M24x1.5 LH", Fine},
		{"M24x1.5-LH", "M24x1.5 LH", Fine},
		{"M24x1.5LH", "M24x1.5 LH", Fine},
		{"M20 x 1.5 left-hand", "M20x1.5 LH", Fine},
		{"M20x1.5 left", "M20x1.5 LH", Fine},
		{"M20x1.5 RH", "M20x1.5", Fine},
		{"M14x1.25", "M14x1.25", Fine},
		{"M12x.5", "M12x0.5", Special},
		{"M2.5", "M2.5x0.45", Coarse},
		{"3/8-16", "3/8-16 UNC", Coarse},
		{"3/8-16 UNC", "3/8-16 UNC", Coarse},
		{"3/8-16UN", "", 0},
		{"3/8-16 UN", "3/8-16 UNC", Coarse},
		{"1/4-28 UNF", "1/4-28 UNF", Fine},
		{"1/4-28 NF", "1/4-28 UNF", Fine},
		{`1/4"-20`, "1/4-20 UNC", Coarse},
		{"1/4 in-20", "1/4-20 UNC", Coarse},
		{"1/4 - 20 UNC - 2A", "1/4-20 UNC", Coarse},
		{"1/4-20 UNC-2B LH", "1/4-20 UNC LH", Coarse},
		{"1/4-24", "1/4-24 UNS", Special},
		{"1/4-32 UNEF", "1/4-32 UNEF", ExtraFine},
		{".375-24", "3/8-24 UNF", Fine},
		{"0.250-20", "1/4-20 UNC", Coarse},
		{"3/8 UNF", "3/8-24 UNF", Fine},
		{"#10-32", "#10-32 UNF", Fine},
		{"10-32", "#10-32 UNF", Fine},
		{"No. 10-24 UNC", "#10-24 UNC", Coarse},
		{"10 UNF", "#10-32 UNF", Fine},
		{"#8-40", "#8-40 UNS", Special},
		{"1-8", "1-8 UNC", Coarse},
		{"1-64", "#1-64 UNC", Coarse},
		{"1-14", "1-14 UNS", Special},
		{"1.0-64", "1.0-64 UNS", Special},
		{"2-4.5", "2-4.5 UNC", Coarse},
		{"2-56", "#2-56 UNC", Coarse},
		{"1-1/8-12 UNF", "1-1/8-12 UNF", Fine},
		{"1 1/8-7", "1-1/8-7 UNC", Coarse},
		{"1-1/4-8", "1-1/4-8 UN", ConstantPitch},
		{"1-1/4 UNF", "1-1/4-12 UNF", Fine},
		{"0.3-20", "0.3-20 UNS", Special},
	} {
		got, err := ParseThread(c.text)
		if c.want == "" {
			if err == nil {
				t.Errorf("%q read as %v, want a refusal", c.text, got)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q refused: %v", c.text, err)
			continue
		}
		if got.String() != c.want || got.Series() != c.series {
			t.Errorf("%q read as %v (series %d), want %s (%d)", c.text, got, got.Series(), c.want, c.series)
		}
		again, err := ParseThread(got.String())
		if err != nil || again != got {
			t.Errorf("%v printed and read again is %v, %v", got, again, err)
		}
	}
}

func TestParseThreadRefuses(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "empty"},
		{"   ", "empty"},
		{"1/8 taper", "taper pipe thread"},
		{"1/8-27 NPT", "taper pipe thread"},
		{"R 1/8", "taper pipe thread"},
		{"G1/4", "pipe thread"},
		{"1/4 BSP", "pipe thread"},
		{"5/16-22 BSF", "Whitworth"},
		{"W 3/8", "Whitworth"},
		{"2 BA", "Whitworth"},
		{"Tr20x4", "lead screw"},
		{"MJ10x1.25", "J profile"},
		{"M10x1,25", "comma"},
		{"M14 x 100", "length of the screw"},
		{"M10x30", "length of the screw"},
		{"M10 x 1 x 135", "length of a screw"},
		{"M13", "no coarse pitch"},
		{"M0.5", "between M1 and M300"},
		{"M0x1", "zero"},
		{"M10x0", "zero"},
		{"M10x", "not a thread"},
		{"Mx1.25", "not a thread"},
		{"M-10", "not a thread"},
		{"M10x1.25x1x2", "not a thread"},
		{"M1e9", "not a thread"},
		{"M10x4h", "not a thread"},
		{"M10x1.5-4h6h", "tolerance class"},
		{"3/8-16 UNC-3A", "tolerance class"},
		{"3/8", "threads per inch"},
		{"3/8 in", "threads per inch"},
		{"3/8 UNS", "threads per inch"},
		{"11/16 UNC", "no thread of the size"},
		{"3/8-24 UNC", "contradicts"},
		{"3/8-16 UNS", "contradicts"},
		{"3/8x16", "holds an x"},
		{"#7-32", "number size"},
		{"8-40", "neither"},
		{"5-6", "neither"},
		{"3/8-200", "no pitch"},
		{"1/4-4", "no pitch"},
		{"3/0-16", "not a thread"},
		{"16/3-16", "not a thread"},
		{"stud", "not a thread"},
		{strings.Repeat("M", 100), "too long"},
	} {
		got, err := ParseThread(c.text)
		if err == nil {
			t.Errorf("%q read as %v, want a refusal", c.text, got)
			continue
		}
		var wrong *argument.Error
		if !errors.As(err, &wrong) || wrong.Argument != "thread" {
			t.Errorf("%q: the error is %T about %v, want *argument.Error about thread", c.text, err, wrong)
		}
		if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q refused with %q, want it to say %q", c.text, err, c.says)
		}
		if got != (Thread{}) {
			t.Errorf("%q refused and yet gave %v", c.text, got)
		}
	}
}

// A thread that was made from sizes in metres finds its table row.
func TestThreadFromMetres(t *testing.T) {
	a, err := Metric(0.0000625*160, 0.00125)
	if err != nil || a.Series() != Fine {
		t.Errorf("M10x1.25 from metres: %v, series %d, %v", a, a.Series(), err)
	}
	if _, err := Metric(0, 0); err == nil {
		t.Error("M0 was accepted")
	}
	if _, err := Unified(0.25*0.0254, math.NaN()); err == nil {
		t.Error("NaN threads per inch were accepted")
	}
}

// Every row of the standard's tables must print and read back as itself, coarse rows
// also by the short form.
func TestEveryTableRowReadsBack(t *testing.T) {
	for d, p := range isoCoarse {
		short, err := ParseThread("M" + number(d))
		if err != nil {
			t.Fatal(err)
		}
		long, err := ParseThread("M" + number(d) + "x" + number(p))
		if err != nil || short != long || short.Series() != Coarse {
			t.Errorf("M%v: %v and %v, %v", d, short, long, err)
		}
	}
	for d, fines := range isoFine {
		for _, p := range fines {
			got, err := ParseThread("M" + number(d) + "x" + number(p))
			if err != nil || got.Series() != Fine {
				t.Errorf("M%vx%v: %v, series %d, %v", d, p, got, got.Series(), err)
			}
		}
	}
	for _, row := range inchRows {
		for s, n := range map[Series]float64{Coarse: row.unc, Fine: row.unf, ExtraFine: row.unef} {
			if n == 0 {
				continue
			}
			got, err := ParseThread(sizeText(row.diameter) + "-" + number(n))
			if err != nil || got.Series() != s {
				t.Errorf("%v-%v: %v, series %d, %v", row.diameter, n, got, got.Series(), err)
				continue
			}
			again, err := ParseThread(got.String())
			if err != nil || again != got {
				t.Errorf("%v reads back as %v, %v", got, again, err)
			}
		}
	}
}

func FuzzParseThread(f *testing.F) {
	for _, text := range []string{"M10x1.25", "M10", "3/8-16 UNC", "#10-32", "1-1/8-12 UNF", "M24x1.5 LH", ".375-24", "1/4 UNF",
		"1/8 taper", "M10x1x135", "1-64", "1.0-64", "M10×1,25", "No. 10-24", `1/4"-20 UNC-2A`, "0-80", "4-4", "--", "x", "M", "#"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		thread, err := ParseThread(text)
		if err != nil {
			if thread != (Thread{}) || err.Error() == "" {
				t.Fatalf("%q: a refusal with a thread or without words", text)
			}
			return
		}
		if thread.Pitch() <= 0 || thread.RootDiameter() <= 0 || thread.StressArea() <= 0 || !argument.IsFinite(thread.StressArea()) {
			t.Fatalf("%q: sizes of %v are not positive", text, thread)
		}
		again, err := ParseThread(thread.String())
		if err != nil || again != thread {
			t.Fatalf("%q reads as %v, which reads back as %v, %v", text, thread, again, err)
		}
	})
}
