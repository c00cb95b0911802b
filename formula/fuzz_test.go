package formula

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// fuzzScope declares one thing of every kind, at two places and for the engine.
func fuzzScope(tb testing.TB) *formulas {
	f := newFormulas(tb)
	curvesAndFunctions(f)
	f.scope.Places["cylinder"] = &PlaceKind{Name: "cylinder", Members: []string{"front", "rear"}}
	f.scope.Places["valve"] = &PlaceKind{Name: "valve", Members: []string{"in", "ex"}, Parent: "cylinder", Of: map[string]string{"in": "front", "ex": "rear"}}
	f.dimension("a", "", quantity.OfNumber)
	f.dimension("bore", "cylinder", quantity.OfLength)
	f.dimension("guide", "valve", quantity.OfLength)
	f.dimension("oil", "", quantity.OfTemperature)
	f.dimension("turned", "", quantity.OfAngle)
	f.scope.Things["series"] = &Thing{Kind: Option, Name: "series", Choices: []string{"A", "B"}}
	f.scope.Things["oversize"] = &Thing{Kind: Option, Name: "oversize", Choices: []string{"0 mm", "0.25 mm"}, Numeric: true, Dimension: quantity.OfLength}
	f.scope.Things["gasket"] = &Thing{Kind: Slot, Name: "gasket", Place: "cylinder", Choices: []string{"G-1"}, Sizes: map[string]quantity.Dimension{"thickness": quantity.OfLength}}
	f.scope.Things["lost"] = &Thing{Kind: Dimension, Name: "lost", Unknown: true}
	return f
}

// FuzzExpression: whatever somebody types as a formula, it is refused with a sentence
// and a remedy or it computes; it never panics, never takes long, and never gives an
// infinity or a NaN for a value.
func FuzzExpression(f *testing.F) {
	for _, d := range differentiated {
		f.Add(d.text)
	}
	for _, text := range []string{
		"", " ", "a", "bore", `bore["front"]`, `bore["rear"] - bore["front"]`, "sum(each(bore))", "largest(each(guide)) - smallest(each(bore))", "oval(bore)", "taper(guide)",
		`series == "A" ? 1 : 2`, `oversize == "0.25 mm"`, "oversize * 2", `gasket["front"].thickness`, "oil - oil", `oil + "3 K"`, "sin(turned)", "lost + 1", "pi", "x",
		`"1 .. 2 mm" + oversize`, `"<= 3 mm"`, `series == "A" ? "<= 1 mm" : ">= 2 mm"`, `"1 ± 0.2 mm"`, `"92,004 mm"`, "bore^2", "bore-guide", "a ? b", "[1, 2]", "{ a = 1 }", "${a}", `"${a}"`,
		"((((((((((a))))))))))", "a ? 1 : a ? 2 : 3", "!!true", "- - -a", "1e30 * 1e30", "7E777", "1e-400", "0 / 0", "pow(0, -1)", "[for x in a : x]", "a[*]", "a.b.c", "bore[0]", "max()", "a(", "\"", "//", "/*", "<<E\nx\nE\n", "a\n+ a", "a;", "µ", "１", "\u00a0a", "a..b", "a...",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		// What hangs would hang the fuzzing too; a panic names the text.
		watch := time.AfterFunc(5*time.Second, func() { panic(fmt.Sprintf("still busy after 5 s: %q", text)) })
		defer watch.Stop()
		s := fuzzScope(t)
		file := syntax.File{Name: "f", Text: []byte(text)}
		e, mistakes := syntax.ParseExpression(file)
		checkMistakes(t, text, mistakes)
		for _, at := range []string{"", "cylinder", "valve"} {
			s.scope.At = at
			for _, factsOnly := range []bool{false, true} {
				s.scope.FactsOnly = factsOnly
				r, rangeMistakes := CompileRange(e, s.scope)
				checkMistakes(t, text, rangeMistakes)
				if len(rangeMistakes) == 0 && !r.Broken() {
					s.graph.AddRange(r, s.binder(at, member(at)))
				}
			}
			s.scope.FactsOnly = false
			x, mistakes := Compile(e, s.scope)
			checkMistakes(t, text, mistakes)
			if len(mistakes) > 0 || x.Broken() {
				continue
			}
			Decide(x, map[string]string{"series": "A"})
			id := s.graph.Add(x, s.binder(at, member(at)))
			v := s.graph.NewValues()
			s.graph.Evaluate(v)
			for i, in := range s.graph.Inputs {
				v.Input[i], v.InputStatus[i] = 0.5+float64(i), Known
				if in.Kind == Given {
					v.Input[i] = in.Number
				}
			}
			s.graph.Evaluate(v)
			y, status := v.Of(id)
			if status == Known && (math.IsNaN(y) || math.IsInf(y, 0)) {
				t.Errorf("%q is %v", text, y)
			}
			if status == Known && !x.Condition {
				s.graph.Gradient(id, v, make([]float64, len(s.graph.Inputs)), nil)
			}
			if status != Known {
				s.graph.Why(id, v)
			}
		}
	})
}

func member(at string) string {
	return map[string]string{"": "", "cylinder": "front", "valve": "ex"}[at]
}

// checkMistakes demands that a mistake says something, helps, and points into the text.
func checkMistakes(t *testing.T, text string, mistakes syntax.Mistakes) {
	t.Helper()
	for _, m := range mistakes {
		if m.Code == "" || m.Says == "" || m.Do == "" || m.Span.Start < 0 || m.Span.End < m.Span.Start || m.Span.End > len(text) || m.Span.Line < 1 || m.Span.Column < 1 {
			t.Errorf("%q: %+v", text, m)
		}
		if strings.Count(m.Says, "\n") > 0 {
			t.Errorf("%q: a sentence over several lines: %q", text, m.Says)
		}
	}
}
