package web

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/measure"
	"buttonup/quantity"
)

var update = flag.Bool("update", false, "write the expected drawings and pictures anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	// One mark a line, so that a difference can be read.
	text := []byte(strings.ReplaceAll(got, "><", ">\n<") + "\n")
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(text, want) {
		t.Errorf("%s differs; write it anew with -update and look at the difference\n%s", file, text)
	}
}

func drawn(t *testing.T, value, expanded float64, fresh, limit string) *assess.Result {
	t.Helper()
	r := &assess.Result{Kind: "dimension", Title: "Bore", Value: value * 1e-3, HasValue: true, Expanded: expanded * 1e-3, Unit: quantity.MustUnit("mm"), Decimals: 3}
	for text, to := range map[string]*quantity.Range{fresh: &r.New, limit: &r.Limit} {
		if text == "" {
			continue
		}
		x, err := quantity.ParseRange(text)
		if err != nil {
			t.Fatal(err)
		}
		*to = x
	}
	r.Judgement = measure.Judge(r.Value, r.Expanded, measure.Limits{New: r.New, Limit: r.Limit, NonNegative: true})
	return r
}

func TestDrawings(t *testing.T) {
	golden(t, "limit-bar.svg", limitBar(drawn(t, 92.088, 0.005, "92.000 .. 92.013 mm", "<= 92.090 mm")))
	golden(t, "mini-bar.svg", miniBar(drawn(t, 0.07, 0.01, "<= 0.04 mm", "<= 0.08 mm")))
	golden(t, "route-rule.svg", routeRule([]step{
		{Title: "Wash", Done: true}, {Title: "Close the cases", Done: true, Closes: []string{"crankcase"}}, {Title: "Pinion"}, {Title: "Barrel on", Closes: []string{"cylinders"}}}, 358))
}

// Whatever the limits and the value, the pointer and the bands stay on the bar, and
// what stands for a better state is drawn higher.
func TestLimitBarsStayInTheirFrame(t *testing.T) {
	for _, limits := range [][2]string{{"92.000 .. 92.013 mm", "<= 92.090 mm"}, {"<= 0.04 mm", "<= 0.08 mm"}, {">= 24 mm", ">= 20 mm"}, {"4 .. 5 mm", ""}, {"", "<= 3 mm"}, {"-0.05 .. -0.03 mm", "<= -0.01 mm"}, {"", "72 ± 0.04 mm"}, {">= 1 mm", ""}, {"0.3 .. 0.3 mm", ""}} {
		for _, value := range []float64{-1, 0, 0.01, 0.05, 1, 3, 4.5, 24, 72, 92.05, 92.3, 3622, 1e7} {
			for _, u := range []float64{0, 0.005, 1, 1e6} {
				r := drawn(t, value, u, limits[0], limits[1])
				b, ok := barOf(r, 14, 344)
				if !ok {
					t.Fatalf("no bar for %v", limits)
				}
				for _, x := range []float64{b.value, b.value - b.u, b.value + b.u, b.parts[0].low, b.parts[len(b.parts)-1].high} {
					if at := b.scale.x(x); !(at >= 14 && at <= 344) {
						t.Errorf("%v with %g ± %g: %g is drawn at %g", limits, value, u, x, at)
					}
				}
				for i := 1; i < len(b.parts); i++ {
					if b.parts[i].low != b.parts[i-1].high || b.parts[i].level == b.parts[i-1].level {
						t.Errorf("%v with %g: parts %v", limits, value, b.parts)
					}
				}
				if svg := limitBar(r); strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
					t.Errorf("%v with %g ± %g: %s", limits, value, u, svg)
				}
			}
		}
	}
	if _, ok := barOf(drawn(t, 1, 0.1, "", ""), 14, 344); ok {
		t.Error("a bar without limits")
	}
}

// A title of a pack is text, whatever it holds.
func TestDrawingsEscapeWords(t *testing.T) {
	evil := `"><script>alert(1)</script>`
	for _, svg := range []string{routeRule([]step{{Title: evil}}, 358), barrel([]string{evil}, 0)} {
		if strings.Contains(svg, "<script") || strings.Contains(svg, `"">`) {
			t.Error(svg)
		}
	}
}
