package measure

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"buttonup/quantity"
)

// limitsFrom reads limits as a pack writes them. The flags are fit, guard and
// size, which is a value that cannot be negative.
func limitsFrom(t testing.TB, fresh, limit, flags string) Limits {
	t.Helper()
	parse := func(text string) quantity.Range {
		if text == "" {
			return quantity.Range{}
		}
		r, err := quantity.ParseRange(text)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		return r
	}
	l := Limits{New: parse(fresh), Limit: parse(limit)}
	for _, f := range strings.Fields(flags) {
		switch f {
		case "fit":
			l.Fit = true
		case "guard":
			l.GuardNew = true
		case "size":
			l.NonNegative = true
		default:
			t.Fatalf("there is no flag %q", f)
		}
	}
	return l
}

func si(t testing.TB, text string) float64 {
	t.Helper()
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return q.SI
}

// judging is a value with its ± and what the decision rule says of it, worked out by
// hand from the rule. A margin, a share of wear or a ± that settles is compared where
// one is given; "-" says that there must be none.
type judging struct {
	x, u                  string
	want                  string
	margin, wear, settles string
}

// judgeTable holds a band and a limit with values along them.
type judgeTable struct {
	name              string
	new, limit, flags string
	rows              []judging
}

var judgeTables = []judgeTable{
	// A bore: wears larger. Middle of new 92.0065, from there to the limit 0.0835.
	{"rule 1 and 2: upper limit", "92.000 .. 92.013 mm", "<= 92.090 mm", "", []judging{
		{"92.0951 mm", "0.005 mm", "out-of-limits", "-0.0051 mm", "1.06107784431", "-"},
		{"92.095 mm", "0.005 mm", "too-close", "-0.005 mm", "", "0.005 mm"}, // x − U on the limit touches it
		{"92.092 mm", "0.005 mm", "too-close", "-0.002 mm", "", "0.002 mm"},
		{"92.090 mm", "0.005 mm", "too-close", "0 mm", "1", "0 mm"},
		{"92.088 mm", "0.005 mm", "too-close", "0.002 mm", "0.976047904192", "0.002 mm"},
		{"92.085 mm", "0.005 mm", "too-close", "0.005 mm", "", "0.005 mm"}, // x + U on the limit touches it
		{"92.0849 mm", "0.005 mm", "serviceable", "0.0051 mm", "", "-"},
		{"92.0131 mm", "0.005 mm", "serviceable", "0.0769 mm", "", "-"},
		{"92.013 mm", "0.005 mm", "new-fit", "0.077 mm", "", "-"}, // on the end of new
		{"92.012 mm", "0.005 mm", "new-fit", "0.078 mm", "", "-"}, // its ± reaches out of new: shared risk
		{"92.0065 mm", "0.005 mm", "new-fit", "0.0835 mm", "0", "-"},
		{"92.000 mm", "0.005 mm", "new-fit", "0.090 mm", "-0.0778443113772", "-"},
	}},
	{"rule 5: upper limit, exact", "92.000 .. 92.013 mm", "<= 92.090 mm", "", []judging{
		{"92.0901 mm", "0 mm", "out-of-limits", "-0.0001 mm", "", "-"},
		{"92.090 mm", "0 mm", "serviceable", "0 mm", "1", "-"},
		{"92.0899 mm", "0 mm", "serviceable", "", "", "-"},
		{"92.0131 mm", "0 mm", "serviceable", "", "", "-"},
		{"92.013 mm", "0 mm", "new-fit", "", "", "-"},
		{"92.000 mm", "0 mm", "new-fit", "", "", "-"},
		{"91.9999 mm", "0 mm", "out-of-limits", "-0.0001 mm", "", "-"},
	}},
	{"rule 3: a dimension short of new", "92.000 .. 92.013 mm", "<= 92.090 mm", "", []judging{
		{"91.998 mm", "0.005 mm", "new-fit", "0.092 mm", "", "-"},
		{"91.995 mm", "0.005 mm", "new-fit", "", "", "-"}, // short by no more than U
		{"91.9949 mm", "0.005 mm", "out-of-limits", "-0.0051 mm", "", "-"},
	}},
	// A pin: wears smaller. Middle of new 21.997, from there to the limit −0.011.
	{"rules 1, 2, 3: lower limit", "21.994 .. 22.000 mm", ">= 21.986 mm", "", []judging{
		{"21.9829 mm", "0.003 mm", "out-of-limits", "-0.0031 mm", "", "-"},
		{"21.983 mm", "0.003 mm", "too-close", "-0.003 mm", "", "0.003 mm"},
		{"21.986 mm", "0.003 mm", "too-close", "0 mm", "1", "0 mm"},
		{"21.989 mm", "0.003 mm", "too-close", "0.003 mm", "", "0.003 mm"},
		{"21.9891 mm", "0.003 mm", "serviceable", "0.0031 mm", "", "-"},
		{"21.9939 mm", "0.003 mm", "serviceable", "", "", "-"},
		{"21.994 mm", "0.003 mm", "new-fit", "0.008 mm", "0.272727272727", "-"},
		{"22.000 mm", "0.003 mm", "new-fit", "", "-0.272727272727", "-"},
		{"22.003 mm", "0.003 mm", "new-fit", "", "", "-"},
		{"22.0031 mm", "0.003 mm", "out-of-limits", "-0.0031 mm", "", "-"},
		{"21.986 mm", "0 mm", "serviceable", "", "", "-"},
		{"21.9859 mm", "0 mm", "out-of-limits", "", "", "-"},
	}},
	{"rule 2: a limit and no band of new", "", "<= 0.10 mm", "", []judging{
		{"0.08 mm", "0.01 mm", "serviceable", "0.02 mm", "-", "-"},
		{"0.09 mm", "0.01 mm", "too-close", "0.01 mm", "-", "0.01 mm"},
		{"0.12 mm", "0.01 mm", "out-of-limits", "-0.02 mm", "-", "-"},
		{"0.10 mm", "0 mm", "serviceable", "0 mm", "-", "-"},
	}},
	{"rule 2: a smallest gap and no band of new", "", ">= 1.0 mm", "fit", []judging{
		{"1.2 mm", "0.1 mm", "serviceable", "0.2 mm", "-", "-"},
		{"1.1 mm", "0.1 mm", "too-close", "0.1 mm", "-", "0.1 mm"},
		{"0.95 mm", "0.1 mm", "too-close", "-0.05 mm", "-", "0.05 mm"},
		{"0.85 mm", "0.1 mm", "out-of-limits", "-0.15 mm", "-", "-"},
	}},
	// A clearance: the tight end of new is a limit too. Middle of new 0.050.
	{"rule 3: a fit short of new", "0.040 .. 0.060 mm", "<= 0.150 mm", "fit", []judging{
		{"0.0329 mm", "0.007 mm", "out-of-limits", "-0.0071 mm", "", "-"},
		{"0.033 mm", "0.007 mm", "too-close", "-0.007 mm", "", "0.007 mm"},
		{"0.039 mm", "0.007 mm", "too-close", "-0.001 mm", "", "0.001 mm"},
		{"0.040 mm", "0.007 mm", "new-fit", "0.110 mm", "-0.1", "-"},
		{"0.041 mm", "0.007 mm", "new-fit", "0.109 mm", "", "-"}, // its ± reaches below: shared risk
		{"0.060 mm", "0.007 mm", "new-fit", "0.090 mm", "0.1", "-"},
		{"0.061 mm", "0.007 mm", "serviceable", "", "", "-"},
		{"0.143 mm", "0.007 mm", "too-close", "0.007 mm", "", "0.007 mm"},
		{"0.1571 mm", "0.007 mm", "out-of-limits", "", "", "-"},
		{"0.040 mm", "0 mm", "new-fit", "", "", "-"},
		{"0.0399 mm", "0 mm", "out-of-limits", "-0.0001 mm", "", "-"},
		// The ± is so wide that both ends are in reach: the nearer one settles it.
		{"0.039 mm", "0.2 mm", "too-close", "", "", ""},
	}},
	{"rule 3: a fit with a lower limit", "0.020 .. 0.040 mm", ">= 0.010 mm", "fit", []judging{
		{"0.044 mm", "0.003 mm", "out-of-limits", "-0.004 mm", "", "-"},
		{"0.043 mm", "0.003 mm", "too-close", "-0.003 mm", "", "0.003 mm"},
		{"0.041 mm", "0.003 mm", "too-close", "-0.001 mm", "", "0.001 mm"},
		{"0.040 mm", "0.003 mm", "new-fit", "0.030 mm", "", "-"},
		{"0.015 mm", "0.003 mm", "serviceable", "0.005 mm", "0.75", "-"},
	}},
	{"rule 3: an end of zero on a size", "0 .. 0.010 mm", "<= 0.030 mm", "fit size", []judging{
		{"0 mm", "0.002 mm", "new-fit", "0.030 mm", "-0.2", "-"},
		{"0.001 mm", "0.002 mm", "new-fit", "", "", "-"},
		{"0.010 mm", "0.002 mm", "new-fit", "0.020 mm", "0.2", "-"},
		{"0.0285 mm", "0.002 mm", "too-close", "0.0015 mm", "", "0.0015 mm"},
	}},
	{"rule 3: an end of zero on a value that can be negative", "0 .. 0.010 mm", "<= 0.030 mm", "fit", []judging{
		{"0 mm", "0.002 mm", "new-fit", "", "", "-"},
		{"-0.001 mm", "0.002 mm", "too-close", "-0.001 mm", "", "0.001 mm"},
		{"-0.003 mm", "0.002 mm", "out-of-limits", "-0.003 mm", "", "-"},
	}},
	{"an end of zero in the limit of a size", "0 .. 0.02 mm", "0 .. 0.05 mm", "size", []judging{
		// The zero is no limit: nothing is measured from it.
		{"0.005 mm", "0.010 mm", "new-fit", "0.045 mm", "-0.125", "-"},
		{"0.03 mm", "0.010 mm", "serviceable", "0.02 mm", "0.5", "-"},
		{"0.00 mm", "0.010 mm", "new-fit", "0.05 mm", "", "-"},
	}},
	{"an end of zero in the limit of a value that can be negative", "0 .. 0.02 mm", "0 .. 0.05 mm", "fit", []judging{
		{"0.005 mm", "0.010 mm", "too-close", "0.005 mm", "0.5", "0.005 mm"},
		{"-0.02 mm", "0.010 mm", "out-of-limits", "-0.02 mm", "", "-"},
	}},
	{"an end of zero alone", "", ">= 0 mm", "size", []judging{
		{"0 mm", "0.01 mm", "serviceable", "-", "-", "-"},
	}},
	// Centre distance: both sides. Middle of new 178.00, 0.03 to either end.
	{"rule 4: a range as limit", "178.00 ± 0.01 mm", "177.97 .. 178.03 mm", "", []judging{
		{"178.0351 mm", "0.005 mm", "out-of-limits", "-0.0051 mm", "", "-"},
		{"178.035 mm", "0.005 mm", "too-close", "", "", "0.005 mm"},
		{"178.026 mm", "0.005 mm", "too-close", "0.004 mm", "", "0.004 mm"},
		{"178.02 mm", "0.005 mm", "serviceable", "0.01 mm", "0.666666666667", "-"},
		{"178.01 mm", "0.005 mm", "new-fit", "0.02 mm", "0.333333333333", "-"},
		{"178.00 mm", "0.005 mm", "new-fit", "0.03 mm", "0", "-"},
		{"177.98 mm", "0.005 mm", "serviceable", "0.01 mm", "0.666666666667", "-"},
		{"177.974 mm", "0.005 mm", "too-close", "0.004 mm", "0.866666666667", "0.004 mm"},
		{"177.9649 mm", "0.005 mm", "out-of-limits", "-0.0051 mm", "", "-"},
		{"178.03 mm", "0 mm", "serviceable", "", "", "-"},
		{"177.97 mm", "0 mm", "serviceable", "", "", "-"},
		{"177.9699 mm", "0 mm", "out-of-limits", "", "", "-"},
	}},
	{"rule 4: a range as limit and no band of new", "", "177.97 .. 178.03 mm", "", []judging{
		{"178.00 mm", "0.005 mm", "serviceable", "0.03 mm", "-", "-"},
		{"178.026 mm", "0.005 mm", "too-close", "", "-", ""},
		{"177.96 mm", "0.005 mm", "out-of-limits", "-0.01 mm", "-", "-"},
	}},
	{"rule 4: both sides in reach of the ±", "", "0.10 .. 0.20 mm", "", []judging{
		{"0.15 mm", "0.06 mm", "too-close", "0.05 mm", "", "0.05 mm"},
		{"0.13 mm", "0.2 mm", "too-close", "0.03 mm", "", "0.03 mm"},
	}},
	{"rule 4: a range of new alone", "40.002 .. 40.010 mm", "", "", []judging{
		{"40.005 mm", "0.003 mm", "new-fit", "0.003 mm", "-", "-"},
		{"40.010 mm", "0.003 mm", "new-fit", "0 mm", "-", "-"},
		{"40.0101 mm", "0.003 mm", "too-close", "-0.0001 mm", "-", "0.0001 mm"},
		{"40.013 mm", "0.003 mm", "too-close", "-0.003 mm", "-", "0.003 mm"}, // outside by no more than U
		{"40.0131 mm", "0.003 mm", "out-of-limits", "-0.0031 mm", "-", "-"},
		{"40.002 mm", "0.003 mm", "new-fit", "", "-", "-"},
		{"39.9995 mm", "0.003 mm", "too-close", "", "-", "0.0025 mm"},
		{"39.9989 mm", "0.003 mm", "out-of-limits", "", "-", "-"},
		{"40.010 mm", "0 mm", "new-fit", "", "-", "-"},
		{"40.0101 mm", "0 mm", "out-of-limits", "", "-", "-"},
	}},
	{"rule 4: the same of a fit", "40.002 .. 40.010 mm", "", "fit", []judging{
		{"40.0101 mm", "0.003 mm", "too-close", "", "-", "0.0001 mm"},
		{"39.9989 mm", "0.003 mm", "out-of-limits", "", "-", "-"},
	}},
	{"rule 4: one end of new alone", "<= 0.05 mm", "", "", []judging{
		{"0.05 mm", "0.01 mm", "new-fit", "0 mm", "-", "-"},
		{"0.06 mm", "0.01 mm", "too-close", "-0.01 mm", "-", "0.01 mm"},
		{"0.0601 mm", "0.01 mm", "out-of-limits", "", "-", "-"},
		{"0 mm", "0.01 mm", "new-fit", "", "-", "-"},
	}},
	{"rule 4: new alone, guarded", "40.002 .. 40.010 mm", "", "guard", []judging{
		{"40.007 mm", "0.003 mm", "new-fit", "", "-", "-"}, // x + U on the end lies inside
		{"40.0071 mm", "0.003 mm", "too-close", "0.0029 mm", "-", "0.0029 mm"},
		{"40.005 mm", "0.003 mm", "new-fit", "", "-", "-"},
		{"40.0049 mm", "0.003 mm", "too-close", "", "-", "0.0029 mm"},
		{"40.012 mm", "0.003 mm", "too-close", "", "-", "0.002 mm"},
		{"40.0131 mm", "0.003 mm", "out-of-limits", "", "-", "-"},
		{"40.006 mm", "0.004 mm", "new-fit", "", "-", "-"},
		{"40.006 mm", "0.0041 mm", "too-close", "", "-", "0.004 mm"},
		{"40.010 mm", "0 mm", "new-fit", "", "-", "-"},
	}},
	{"settled 1: guarded, limit above", "92.000 .. 92.013 mm", "<= 92.090 mm", "guard", []judging{
		{"92.008 mm", "0.005 mm", "new-fit", "", "", "-"},
		{"92.010 mm", "0.005 mm", "serviceable", "0.080 mm", "", "-"}, // on the limit's side
		{"92.005 mm", "0.005 mm", "new-fit", "", "", "-"},
		{"92.003 mm", "0.005 mm", "too-close", "0.087 mm", "", "0.003 mm"}, // on the other
		{"92.006 mm", "0.010 mm", "too-close", "", "", "0.006 mm"},         // over both ends
		{"91.998 mm", "0.005 mm", "too-close", "-0.002 mm", "", "0.002 mm"},
		{"91.9949 mm", "0.005 mm", "out-of-limits", "-0.0051 mm", "", "-"},
		{"92.030 mm", "0.005 mm", "serviceable", "", "", "-"},
		{"92.088 mm", "0.005 mm", "too-close", "", "", "0.002 mm"},
		{"92.013 mm", "0 mm", "new-fit", "", "", "-"},
		{"92.000 mm", "0 mm", "new-fit", "", "", "-"},
	}},
	{"settled 1: guarded, limit below", "21.994 .. 22.000 mm", ">= 21.986 mm", "guard", []judging{
		{"21.997 mm", "0.003 mm", "new-fit", "", "", "-"},
		{"21.996 mm", "0.003 mm", "serviceable", "", "", "-"},
		{"21.998 mm", "0.003 mm", "too-close", "0.012 mm", "", "0.002 mm"},
	}},
	{"settled 1: guarded, limits on both sides", "178.00 ± 0.01 mm", "177.97 .. 178.03 mm", "guard", []judging{
		{"178.005 mm", "0.005 mm", "new-fit", "", "", "-"},
		{"178.006 mm", "0.005 mm", "serviceable", "", "", "-"},
		{"177.994 mm", "0.005 mm", "serviceable", "", "", "-"},
	}},
	{"guarded fit", "0.040 .. 0.060 mm", "<= 0.150 mm", "fit guard", []judging{
		{"0.050 mm", "0.007 mm", "new-fit", "", "", "-"},
		{"0.055 mm", "0.007 mm", "serviceable", "", "", "-"},
		{"0.045 mm", "0.007 mm", "too-close", "", "", "0.005 mm"},
		{"0.039 mm", "0.007 mm", "too-close", "-0.001 mm", "", "0.001 mm"},
	}},
	{"guarded, with an end of zero that is no limit", "0 .. 0.020 mm", "<= 0.050 mm", "guard size", []judging{
		{"0.002 mm", "0.010 mm", "new-fit", "", "", "-"},
		{"0.012 mm", "0.010 mm", "serviceable", "", "", "-"},
	}},
	{"one end of new and a limit", "<= 0.05 mm", "<= 0.10 mm", "", []judging{
		{"0.05 mm", "0.01 mm", "new-fit", "0.05 mm", "-", "-"},
		{"0.06 mm", "0.01 mm", "serviceable", "0.04 mm", "-", "-"},
	}},
	{"one lower end of new and a limit", ">= 20 mm", ">= 18 mm", "", []judging{
		{"25 mm", "0.5 mm", "new-fit", "7 mm", "-", "-"},
		{"19 mm", "0.5 mm", "serviceable", "1 mm", "-", "-"},
		{"18.5 mm", "0.5 mm", "too-close", "", "-", "0.5 mm"},
	}},
	{"neither", "", "", "fit guard", []judging{
		{"1 mm", "0.1 mm", "none", "-", "-", "-"},
	}},
	{"in inches", "3.6250 .. 3.6255 in", "<= 3.6300 in", "", []judging{
		{"3.6295 in", "0.0005 in", "too-close", "0.0005 in", "", "0.0005 in"},
		{"3.6294 in", "0.0005 in", "serviceable", "", "", "-"},
		{"3.6305 in", "0.0005 in", "too-close", "", "", "0.0005 in"},
		{"3.6306 in", "0.0005 in", "out-of-limits", "", "", "-"},
		{"3.6300 in", "0 in", "serviceable", "", "1", "-"},
		{"3.6245 in", "0.0005 in", "new-fit", "", "", "-"},
	}},
	{"bare numbers", "", "<= 7", "", []judging{
		{"7", "0", "serviceable", "0", "-", "-"},
		{"8", "0", "out-of-limits", "-1", "-", "-"},
	}},
}

func TestDecisionRule(t *testing.T) {
	for _, table := range judgeTables {
		l := limitsFrom(t, table.new, table.limit, table.flags)
		for _, row := range table.rows {
			j := Judge(si(t, row.x), si(t, row.u), l)
			at := table.name + ": " + row.x + " ± " + row.u
			if j.Verdict.String() != row.want {
				t.Errorf("%s is %s, want %s", at, j.Verdict, row.want)
			}
			expect(t, at+": margin", row.margin, j.HasMargin, j.Margin)
			expect(t, at+": wear used", row.wear, j.HasWearUsed, j.WearUsed)
			expect(t, at+": settled by", row.settles, j.Verdict == TooClose, j.Settles)
		}
	}
}

func expect(t testing.TB, what, want string, has bool, got float64) {
	t.Helper()
	switch {
	case want == "":
	case want == "-":
		if has {
			t.Errorf("%s is %v, want none", what, got)
		}
	case !has:
		t.Errorf("%s is missing, want %s", what, want)
	default:
		w := 0.0
		if x, err := strconv.ParseFloat(want, 64); err == nil {
			w = x
		} else {
			w = si(t, want)
		}
		if math.Abs(got-w) > 1e-9*math.Abs(w)+1e-12 {
			t.Errorf("%s is %v, want %v (%s)", what, got, w, want)
		}
	}
}

// A difference of two large readings carries the rounding of both, far above that of
// its own size. On an edge it must not fall to the worse side.
func TestJudgeTakesTheBetterSideInSpiteOfRounding(t *testing.T) {
	cases := []struct {
		minuend, subtrahend, new, limit, flags, want string
	}{
		{"92.001 mm", "92.000 mm", "0.001 .. 0.005 mm", "<= 0.010 mm", "fit", "new-fit"},
		{"92.005 mm", "92.000 mm", "0.001 .. 0.005 mm", "<= 0.010 mm", "fit", "new-fit"},
		{"92.010 mm", "92.000 mm", "0.001 .. 0.005 mm", "<= 0.010 mm", "fit", "serviceable"},
		{"250.0003 mm", "250.0002 mm", "0.0001 .. 0.0005 mm", "", "fit", "new-fit"},
		{"10.2 mm", "10.2 mm", "0 .. 0.1 mm", "<= 0.2 mm", "fit", "new-fit"},
		{"0.3 mm", "0.1 mm", "", "<= 0.2 mm", "fit", "serviceable"},
		{"3.6251 in", "3.6250 in", "0.0001 .. 0.0002 in", "<= 0.0005 in", "fit", "new-fit"},
	}
	for _, c := range cases {
		x := si(t, c.minuend) - si(t, c.subtrahend)
		if v := Judge(x, 0, limitsFrom(t, c.new, c.limit, c.flags)).Verdict; v.String() != c.want {
			t.Errorf("%s − %s against new %q, limit %q is %s, want %s", c.minuend, c.subtrahend, c.new, c.limit, v, c.want)
		}
	}
	// Zero reached through three terms is not exactly zero.
	x := si(t, "10.3 mm") - si(t, "10 mm") - si(t, "0.3 mm")
	if v := Judge(x, 0, limitsFrom(t, "0 .. 0.1 mm", "<= 0.2 mm", "fit")).Verdict; v != NewFit {
		t.Errorf("10.3 − 10 − 0.3 mm = %g against 0 .. 0.1 mm is %s", x, v)
	}
	// A ± that is itself nothing but rounding is none.
	if v := Judge(si(t, "92.090 mm"), 1e-18, limitsFrom(t, "", "<= 92.090 mm", "")).Verdict; v != Serviceable {
		t.Errorf("on the limit with a ± of 1e-18 m it is %s", v)
	}
}

func TestShortSaysWhichSide(t *testing.T) {
	dimension, fit := limitsFrom(t, "92.000 .. 92.013 mm", "<= 92.090 mm", ""), limitsFrom(t, "0.040 .. 0.060 mm", "<= 0.150 mm", "fit")
	for _, c := range []struct {
		x     string
		l     Limits
		short bool
	}{
		{"91.990 mm", dimension, true},
		{"91.998 mm", dimension, false}, // taken as new
		{"92.100 mm", dimension, false},
		{"0.039 mm", fit, true},
		{"0.020 mm", fit, true},
		{"0.145 mm", fit, false},
		{"0.200 mm", fit, false},
	} {
		if j := Judge(si(t, c.x), si(t, "0.005 mm"), c.l); j.Short != c.short {
			t.Errorf("%s: short is %v (%s)", c.x, j.Short, j.Verdict)
		}
	}
}

func TestCoarse(t *testing.T) {
	band := limitsFrom(t, "92.000 .. 92.012 mm", "", "").New
	for _, c := range []struct {
		u    string
		want bool
	}{{"0.003 mm", false}, {"0.0031 mm", true}, {"0 mm", false}} { // a quarter of 0.012
		if got := Coarse(si(t, c.u), band); got != c.want {
			t.Errorf("± %s on a band of 0.012 mm: coarse is %v", c.u, got)
		}
	}
	if Coarse(1, limitsFrom(t, "<= 1 mm", "", "").New) {
		t.Error("an open band has no width to be coarse for")
	}
}

func TestVerdictWords(t *testing.T) {
	want := []string{"none", "not-measured", "new-fit", "serviceable", "too-close", "out-of-limits"}
	for i, w := range want {
		if got := Verdict(i).String(); got != w {
			t.Errorf("verdict %d is %q, want %q", i, got, w)
		}
	}
}
