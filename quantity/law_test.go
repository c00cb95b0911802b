package quantity

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"
)

// Printing a value with the decimals it was written with gives the text again, and
// reading that gives the same float64, not one close by.
func TestPrintedReadsBackExactly(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, symbol := range Symbols() {
		u := MustUnit(symbol)
		for range 200 {
			d := random.IntN(7)
			written := u.join(fmt.Sprintf("%.*f", d, math.Floor(random.Float64()*1e7)/math.Pow10(d)))
			q, err := Parse(written)
			if err != nil {
				t.Fatalf("%q: %v", written, err)
			}
			printed := q.Unit.Text(q.SI, q.Decimals)
			if printed != written {
				t.Errorf("%q prints as %q", written, printed)
			}
			if again, err := Parse(printed); err != nil || again != q {
				t.Errorf("%q is %+v, and read again %+v (%v)", written, q, again, err)
			}
		}
	}
}

// There and back through any unit of the dimension changes nothing beyond rounding.
func TestUnitRoundTrip(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	compounds := []string{"N/mm", "lbf/in", "kg/m3", "lb/in3", "g·mm", "oz·in", "m/s2", "1/K", "kgf/cm2"}
	for _, symbol := range append(Symbols(), compounds...) {
		u := MustUnit(symbol)
		for range 100 {
			x := (random.Float64() - 0.5) * math.Pow10(random.IntN(9))
			allowed := 4e-16 * (math.Abs(x) + math.Abs(u.Zero))
			if back := u.In(u.SI(x)); math.Abs(back-x) > allowed {
				t.Errorf("%v %s comes back as %v", x, symbol, back)
			}
			if back := u.InDifference(u.SIDifference(x)); math.Abs(back-x) > 4e-16*math.Abs(x) {
				t.Errorf("a difference of %v %s comes back as %v", x, symbol, back)
			}
		}
	}
}

// A torque is one torque however its unit is written.
func TestTorqueWritingsAreEqual(t *testing.T) {
	for want, writings := range map[string][]string{
		"N·m": {"N·m", "N⋅m", "N*m", "N.m", "N-m", "Nm"},
		"ft-lb": {
			"ft-lb", "ft·lb", "ft⋅lb", "ft*lb", "ft.lb", "ft lb", "ft-lbf", "ft·lbf", "ft lbf", "ft-lbs", "ft lbs",
			"lb-ft", "lb·ft", "lb ft", "lbf-ft", "lbf·ft", "lbf ft", "lbs-ft", "lbs ft", "lbf*ft",
		},
		"in-lb": {"in-lb", "in·lb", "in lb", "in-lbf", "in·lbf", "in lbs", "lb-in", "lbf·in", "lbf-in", "lbs in", "lb·in"},
		"kgf·m": {"kgf·m", "kgf*m", "kgf-m", "kgfm"},
	} {
		first, err := Parse("12.5 " + want)
		if err != nil {
			t.Fatal(err)
		}
		if first.Dimension != OfTorque {
			t.Errorf("%s is a %v", want, first.Dimension)
		}
		for _, w := range writings {
			if q, err := Parse("12.5 " + w); err != nil || q != first {
				t.Errorf("12.5 %s is %+v (%v), and 12.5 %s is %+v", w, q, err, want, first)
			}
		}
	}
	// Twelve inch-pounds are a foot-pound.
	foot, _ := Parse("1 ft-lb")
	inch, _ := Parse("12 in-lb")
	if !near(foot.SI, inch.SI) {
		t.Errorf("1 ft-lb is %v N·m and 12 in-lb is %v N·m", foot.SI, inch.SI)
	}
}

// Rounding is to the nearest, and a half goes to the even digit. The referee is
// exact arithmetic on the written decimal.
func TestHalvesRoundToEven(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	halves := 0
	for range 20000 {
		figures := 1 + random.IntN(12)
		mantissa := random.Int64N(int64(math.Pow10(figures)))
		decimals := random.IntN(9)
		if random.IntN(2) == 0 {
			mantissa = mantissa/10*10 + 5 // many halves
		}
		keep := random.IntN(decimals + 1)
		x := float64(mantissa) / math.Pow10(decimals)
		if random.IntN(2) == 0 {
			x = -x
		}

		// mantissa·10^-decimals to keep decimals: divide by 10^(decimals-keep).
		by := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals-keep)), nil)
		whole, rest := new(big.Int).QuoRem(big.NewInt(mantissa), by, new(big.Int))
		half := rest.Lsh(rest, 1).Cmp(by)
		if half == 0 {
			halves++
		}
		if half > 0 || half == 0 && whole.Bit(0) == 1 {
			whole.Add(whole, big.NewInt(1))
		}
		want := whole.String()
		if keep > 0 {
			want = strings.Repeat("0", max(keep+1-len(want), 0)) + want
			want = want[:len(want)-keep] + "." + want[len(want)-keep:]
		}
		if x < 0 && whole.Sign() != 0 {
			want = "-" + want
		}
		if got := FormatNumber(x, keep); got != want {
			t.Fatalf("%d·10^-%d to %d decimals is %s, want %s", mantissa, decimals, keep, got, want)
		}
	}
	if halves < 1000 {
		t.Errorf("only %d halves were tried", halves)
	}
}

// A reading has the zero of its scale in it, and a difference has not.
func TestTemperatureAndDifference(t *testing.T) {
	c, f, k := MustUnit("degC"), MustUnit("degF"), MustUnit("K")
	if c.Dimension != OfTemperature || f.Dimension != OfTemperature || k.Dimension != OfTemperatureDifference {
		t.Fatal("degC and degF must be readings and K a difference")
	}
	if got := c.SI(0); got != 273.15 {
		t.Errorf("0 degC is %v K", got)
	}
	if got := c.SIDifference(5); got != 5 {
		t.Errorf("a rise of 5 degC is %v K", got)
	}
	if got := f.SIDifference(9); math.Abs(got-5) > 1e-15 {
		t.Errorf("a rise of 9 degF is %v K", got)
	}
	if got := c.SI(-40) - f.SI(-40); math.Abs(got) > 1e-13 {
		t.Errorf("-40 degC and -40 degF differ by %v K", got)
	}
	if got := f.Text(c.SI(20), 1); got != "68.0 degF" {
		t.Errorf("20 degC is %s", got)
	}
	if got := f.DifferenceText(c.SIDifference(20), 1); got != "36.0 degF" {
		t.Errorf("a rise of 20 degC is %s", got)
	}
	// The tolerance of a reading is a difference, in either kind of unit.
	for _, text := range []string{"20 ± 5 degC", "20 degC ± 5 K", "68 ± 9 degF", "15 .. 25 degC"} {
		r, err := ParseRange(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
		} else if math.Abs(r.Low-288.15) > 1e-12 || math.Abs(r.High-298.15) > 1e-12 || r.Dimension != OfTemperature {
			t.Errorf("%q is %v .. %v K, a %v", text, r.Low, r.High, r.Dimension)
		}
	}
	for _, text := range []string{"20 K .. 30 degC", "20 degC .. 30 K"} {
		if r, err := ParseRange(text); err == nil {
			t.Errorf("%q was read as %+v", text, r)
		}
	}
	// A reading has no place in a unit that is put together.
	for _, text := range []string{"1/degC", "N/degC", "degF·mm", "W/m·degC"} {
		if u, err := ParseUnit(text); err == nil {
			t.Errorf("%q was read as %+v", text, u)
		}
	}
	if u, err := ParseUncertain("20 degC ± 2 %"); err == nil {
		t.Errorf("a share of a reading was read as %+v", u)
	}
}

// Whatever the case a symbol is typed in, it is either a symbol itself or refused,
// and the refusal offers every symbol it can have meant.
func TestOtherCaseIsOffered(t *testing.T) {
	writings := map[string]string{}
	for s := range atoms {
		writings[s] = s
	}
	for s, symbol := range spellings {
		writings[s] = symbol
	}
	tried := 0
	for s, symbol := range writings {
		for _, typed := range []string{strings.ToUpper(s), strings.ToLower(s), strings.ToUpper(s[:1]) + s[1:]} {
			if _, known := writings[typed]; known {
				continue
			}
			if !strings.EqualFold(typed, s) {
				continue // ToUpper of µ is a Greek capital that folds, of ² nothing
			}
			_, err := Parse("5 " + typed)
			var e *ParseError
			if !errors.As(err, &e) {
				t.Errorf("%q was read", typed)
				continue
			}
			tried++
			if !strings.Contains(e.Do, "case-sensitive") || !strings.Contains(e.Do, " "+symbol+" ") && !strings.Contains(e.Do, " "+symbol+",") {
				t.Errorf("%q for %s: says %q", typed, symbol, err)
			}
		}
	}
	if tried < 100 {
		t.Errorf("only %d writings were tried", tried)
	}
	_, err := Parse("12 NM")
	if want := "write N·m or nm, whichever is meant"; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("12 NM: %v, want %q in it", err, want)
	}
}

// A comma between two digits is refused by every parser, wherever it stands.
func TestDecimalCommaIsAlwaysRefused(t *testing.T) {
	parsers := map[string]func(string) error{
		"Parse":          func(s string) error { _, err := Parse(s); return err },
		"ParseRange":     func(s string) error { _, err := ParseRange(s); return err },
		"ParseUncertain": func(s string) error { _, err := ParseUncertain(s); return err },
	}
	for _, good := range seeds {
		for i := range len(good) {
			if !strings.Contains("0123456789.", good[i:i+1]) {
				continue
			}
			// Put the comma for the point, or after the digit.
			bad := good[:i] + "," + good[i+1:]
			if good[i] != '.' {
				bad = good[:i+1] + ",5" + good[i+1:]
			}
			if !commaBetweenDigits(bad) {
				continue
			}
			for name, parse := range parsers {
				if err := parse(bad); err == nil {
					t.Errorf("%s read %q", name, bad)
				}
			}
		}
	}
	for name, parse := range parsers {
		for _, text := range []string{"92,004 mm", "1,000 mm", "1,000.5 mm", "0,5", "1,5e-3 m", "1.0 .. 1,5 mm", "1,0 .. 1.5 mm", "92.004 ± 0,005 mm", "<= 0,5 mm", "1,5-2,5 mm"} {
			err := parse(text)
			if err == nil {
				t.Errorf("%s read %q", name, text)
				continue
			}
			// Where a point would have been read, the comma is what is named.
			if parse(strings.ReplaceAll(text, ",", ".")) == nil && !strings.Contains(err.Error(), "comma") {
				t.Errorf("%s(%q) does not speak of the comma: %v", name, text, err)
			}
		}
	}
}

func commaBetweenDigits(s string) bool {
	for i := 1; i+1 < len(s); i++ {
		if s[i] == ',' && isDigit(s[i-1]) && isDigit(s[i+1]) {
			return true
		}
	}
	return false
}

// Every word that is answered with a symbol is refused, and the symbol is read.
func TestUsualWordsAreAnswered(t *testing.T) {
	for word, symbol := range usualWords {
		if _, err := ParseUnit(symbol); err != nil {
			t.Errorf("%q is answered with %q: %v", word, symbol, err)
		}
		_, err := Parse("5 " + word)
		if err == nil {
			t.Errorf("%q is read, so it needs no answer", word)
		} else if !strings.Contains(err.Error(), "; write "+symbol) {
			t.Errorf("%q for %s: says %q", word, symbol, err)
		}
	}
}

// A text of any length is refused as fast as a short one, and not copied into the
// message.
func TestLongTexts(t *testing.T) {
	for _, text := range []string{strings.Repeat("9", 1<<22), strings.Repeat("1 ", 1<<21), strings.Repeat("± ", 1<<21), "1 " + strings.Repeat("m·", 1<<21)} {
		quick(t, text, func() { Parse(text) })
		quick(t, text, func() { ParseRange(text) })
		quick(t, text, func() { ParseUncertain(text) })
		if _, err := Parse(text); err == nil || len(err.Error()) > 200 {
			t.Errorf("%.20q…: %.200v", text, err)
		}
	}
}
