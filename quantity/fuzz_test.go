package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// seeds are what the three parsers are started from: good texts, and texts near
// the places where one rule meets another.
var seeds = []string{
	"92.004 mm", ".0015 in", "-.5 mm", "−0.5 mm", "+5 thou", "1-1/2 in", "1 1/2 in", "7/64 in", "2-1/6 turns",
	"11.9e-6 1/K", "1e-3 m", "0e-99999 mm", "0e-97-0", "1e30 GPa3*GPa3", "1e-30 nm3*nm3", "5 mm/mm", "3 g·mm", "92. mm",
	"20 degC", "-40 degF", "20°C", "15°", "2%", "0.12", "43 N·m", "32 lbf·ft", "30 kg·m (force)",
	"92.000 .. 92.013 mm", "92.000..92.013mm", "16-20 ft-lb", "16–20 ft-lb", "1-1/2 - 1-3/4 in", "1/2-3/4 in", "3-5/2 in",
	"<= 92.090 mm", ">=1.0 mm", "≤ 2%", "178.00 ± 0.03 mm", "178.00 +- 0.03 mm", "178 mm +/- 5 µm", "0.5 in .. 13 cm", "-2 .. 3 deg",
	"92.004 ± 0.005 mm k=1", "92.004 ± 0.005 mm k = 1; dof=18", "1.0 ± 0.3 mm rectangular k=1", "0.2 .. 0.6 mm triangular", "480 N ± 2 %",
	"92,004 mm", "1;5 mm", "½ in", "5 to 6 mm", "mm", "", " ", "-", "±", "..", "k=1", "1 1", "1/0 in", "0x10", "1e", "\xff", "1\u00a0mm",
}

// A value printed with its own decimals is the value again. Text in FormatNumber
// has fifteen figures and a fraction six decimals, so what was written with more
// comes back that much coarser; a reading in degC or degF also passes through the
// kelvins of its absolute temperature.
func sameWhenPrinted(t *testing.T, text string, si float64, u Unit, decimals int) {
	t.Helper()
	printed := u.Text(si, decimals)
	again, err := Parse(printed)
	if err != nil {
		t.Fatalf("%q was read, printed as %q and then refused: %v", text, printed, err)
	}
	if again.Unit.Symbol != u.Symbol || again.Dimension != u.Dimension {
		t.Fatalf("%q was read in %s, and %q in %s", text, u.Symbol, printed, again.Unit.Symbol)
	}
	allowed := 1e-14 * math.Abs(si)
	if decimals < 0 {
		allowed += math.Abs(u.SIDifference(0.5e-6)) * (1 + 1e-9)
	}
	if !(math.Abs(again.SI-si) <= allowed) {
		t.Fatalf("%q is %v, but printed as %q it is %v", text, si, printed, again.SI)
	}
	if twice := u.Text(again.SI, decimals); twice != printed {
		t.Fatalf("%q prints as %q, and that as %q", text, printed, twice)
	}
}

// refused checks that an error is a sentence with a remedy.
func refused(t *testing.T, text string, err error) {
	t.Helper()
	var e *ParseError
	if !errors.As(err, &e) || e.Says == "" || e.Do == "" || strings.HasSuffix(e.Error(), ".") || len(e.Error()) > 900 {
		t.Fatalf("%q is refused with %q, which is no help", text, err)
	}
}

// quick checks that the parser is done at once with a text. On a busy machine any
// call can be held up, so only the fastest of several counts against it.
func quick(t *testing.T, text string, parse func()) {
	t.Helper()
	fastest := time.Duration(math.MaxInt64)
	for range 5 {
		start := time.Now()
		parse()
		if fastest = min(fastest, time.Since(start)); fastest < 10*time.Millisecond {
			return
		}
	}
	t.Fatalf("%.60q (%d bytes) takes %v", text, len(text), fastest)
}

func finite(t *testing.T, text string, values ...float64) {
	t.Helper()
	for _, x := range values {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%q was read as %v", text, values)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		quick(t, text, func() { Parse(text) })
		q, err := Parse(text)
		if err != nil {
			refused(t, text, err)
			return
		}
		finite(t, text, q.SI)
		if !LooksLike(text) {
			t.Fatalf("%q was read, but does not look like a quantity", text)
		}
		sameWhenPrinted(t, text, q.SI, q.Unit, q.Decimals)
	})
}

func FuzzParseRange(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		quick(t, text, func() { ParseRange(text) })
		r, err := ParseRange(text)
		if err != nil {
			refused(t, text, err)
			return
		}
		finite(t, text, r.Low, r.High)
		if !r.Bounded() || r.HasLow && r.HasHigh && r.Low > r.High {
			t.Fatalf("%q was read as %+v", text, r)
		}
		again, err := ParseRange(r.Text())
		if err != nil {
			t.Fatalf("%q was read, printed as %q and then refused: %v", text, r.Text(), err)
		}
		if again.HasLow != r.HasLow || again.HasHigh != r.HasHigh || again.Dimension != r.Dimension {
			t.Fatalf("%q is %+v, but printed as %q it is %+v", text, r, r.Text(), again)
		}
		// The sum of a value and its tolerance is as exact as the larger of them.
		allowed := 1e-14 * math.Max(math.Abs(r.Low), math.Abs(r.High))
		if r.Decimals < 0 {
			allowed += math.Abs(r.Unit.SIDifference(0.5e-6)) * (1 + 1e-9)
		}
		if !(math.Abs(again.Low-r.Low) <= allowed && math.Abs(again.High-r.High) <= allowed) {
			t.Fatalf("%q is %v .. %v, but printed as %q it is %v .. %v", text, r.Low, r.High, r.Text(), again.Low, again.High)
		}
	})
}

func FuzzParseUncertain(f *testing.F) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		quick(t, text, func() { ParseUncertain(text) })
		u, err := ParseUncertain(text)
		if err != nil {
			refused(t, text, err)
			return
		}
		finite(t, text, u.SI, u.Standard)
		if u.Standard < 0 || !(u.Dof > 0) {
			t.Fatalf("%q was read as %+v", text, u)
		}
		if strings.Contains(text, "..") || u.Shape != Normal {
			return // the middle of two ends was not written and may need a digit more
		}
		sameWhenPrinted(t, text, u.SI, u.Unit, u.Decimals)
	})
}
