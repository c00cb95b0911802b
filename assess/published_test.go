package assess_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/quantity"
)

// The limits in packs/published are those printed in public-domain technical manuals
// of the US Army (packs/published/README.md says which and what was seen of them).
// What is checked here is the decision rule on figures that nobody on this project
// chose, against a plain transcription of the rule.

// byTheRule is the decision rule for a dimension, written down a second time, with
// nothing of the program in it.
func byTheRule(x, u float64, fresh, limit quantity.Range, size bool) string {
	if size && fresh.HasLow && fresh.Low == 0 {
		fresh.HasLow = false
	}
	if size && limit.HasLow && limit.Low == 0 {
		limit.HasLow = false
	}
	hasLimit, hasNew := limit.HasLow || limit.HasHigh, fresh.HasLow || fresh.HasHigh
	switch {
	case !hasLimit && !hasNew:
		return "none"
	case !hasLimit:
		outside := 0.0
		if fresh.HasHigh && x > fresh.High {
			outside = x - fresh.High
		}
		if fresh.HasLow && x < fresh.Low {
			outside = fresh.Low - x
		}
		switch {
		case outside == 0:
			return "new-fit"
		case outside <= u:
			return "too-close"
		}
		return "out-of-limits"
	}
	if limit.HasHigh && x-u > limit.High || limit.HasLow && x+u < limit.Low {
		return "out-of-limits"
	}
	if limit.HasHigh && x+u >= limit.High && (u > 0 || x > limit.High) || limit.HasLow && x-u <= limit.Low && (u > 0 || x < limit.Low) {
		return "too-close"
	}
	if !hasNew {
		return "serviceable"
	}
	if fresh.HasHigh && x > fresh.High {
		if limit.HasHigh {
			return "serviceable"
		}
		if x-fresh.High <= u {
			return "new-fit"
		}
		return "out-of-limits"
	}
	if fresh.HasLow && x < fresh.Low {
		if limit.HasLow {
			return "serviceable"
		}
		if fresh.Low-x <= u {
			return "new-fit"
		}
		return "out-of-limits"
	}
	return "new-fit"
}

// publishedPacks loads the packs that were made from published tables.
func publishedPacks(t testing.TB) map[string]*pack.Pack {
	t.Helper()
	list := map[string]*pack.Pack{}
	for _, id := range packs.IDs() {
		if !strings.HasPrefix(id, "tm-") {
			continue
		}
		files, ok := packs.Find(id)
		if !ok {
			t.Fatalf("%s is listed and not found", id)
		}
		list[id] = loadFiles(t, files, nil)
	}
	if len(list) < 15 {
		t.Fatalf("only %d published packs", len(list))
	}
	return list
}

// edge is an end of a band or limit of a dimension.
type edge struct {
	d  *pack.Dimension
	at float64
	// step is the smallest part of the printed figure, below which nothing is tried.
	step float64
	u    float64 // of its instrument, expanded
}

func edgesOf(d *pack.Dimension) []edge {
	var list []edge
	add := func(s *pack.Setting) {
		if s == nil || s.Expression != nil {
			return
		}
		r := s.Constant
		digit := math.Pow10(-max(r.Decimals, 0)) * math.Abs(r.Unit.SI(1)-r.Unit.SI(0))
		for _, end := range []struct {
			has bool
			at  float64
		}{{r.HasLow, r.Low}, {r.HasHigh, r.High}} {
			if end.has {
				list = append(list, edge{d: d, at: end.at, step: digit / 50})
			}
		}
	}
	add(d.New)
	add(d.Limit)
	for i := range list {
		list[i].u = 3 * 50 * list[i].step
	}
	return list
}

func constant(s *pack.Setting) quantity.Range {
	if s == nil {
		return quantity.Range{}
	}
	return s.Constant
}

func TestVerdictsOnPublishedLimits(t *testing.T) {
	dimensions, verdicts := 0, 0
	for id, p := range publishedPacks(t) {
		model := assess.Prepare(p)
		limited := 0
		for _, d := range p.Dimensions {
			edges := edgesOf(d)
			if len(edges) == 0 {
				continue
			}
			limited++
			if d.At != "" || d.Plan.Cells() != 1 || d.Plan.Times() != 1 {
				t.Fatalf("%s: %s is read at several places; this test wants teaching", id, d.Name)
			}
			for _, e := range edges {
				verdicts += checkEdge(t, id, model, e)
			}
		}
		dimensions += limited
	}
	t.Logf("%d dimensions with figures, %d verdicts", dimensions, verdicts)
	if dimensions < 300 {
		t.Errorf("only %d dimensions have figures", dimensions)
	}
}

// checkEdge tries values on an edge and on both sides of where a verdict changes:
// exact ones, with no instrument, and with one of known ±.
func checkEdge(t *testing.T, id string, model *assess.Model, e edge) int {
	t.Helper()
	d, n := e.d, 0
	size := d.Dimension == quantity.OfLength || d.Dimension == quantity.OfVolume || d.Dimension == quantity.OfMass
	verdict := func(how string, x, u float64, a *assess.Assessment) {
		t.Helper()
		if size && x < 0 {
			return
		}
		n++
		want := byTheRule(x, u, constant(d.New), constant(d.Limit), size)
		for i := range a.Results {
			if r := &a.Results[i]; r.Kind == "dimension" && r.Name == d.Name {
				if math.Abs(r.Expanded-u) > 1e-6*u+1e-15 {
					t.Errorf("%s %s, %s: ± %v, want %v", id, d.Name, how, r.Expanded, u)
				}
				if got := r.Verdict.String(); got != want {
					t.Errorf("%s %s, %s: %v ± %v is %s, want %s (new %s, limit %s)", id, d.Name, how, x, u, got, want, constant(d.New).Text(), constant(d.Limit).Text())
				}
			}
		}
	}
	empty := (&journal.Journal{}).Fold()
	for _, offset := range []float64{-e.step, 0, e.step} {
		x := e.at + offset
		verdict("supposed", x, 0, model.Assess(empty, assess.Options{Suppose: []assess.Supposition{{Name: d.Name, Value: quantity.Value{SI: x, Dimension: d.Dimension}}}}))
	}
	read := func(gauge bool, x float64) *assess.Assessment {
		unit := d.Unit
		text := func(si float64) string {
			return strings.TrimSpace(fmt.Sprintf("%.12g %s", si, strings.TrimPrefix(unit.Symbol, "1")))
		}
		var events []journal.Event
		r := journal.Reading{Of: d.Name, Value: text(unit.In(x))}
		if gauge {
			events = append(events, journal.New("g", time0, "", journal.Instrument{Name: "g", Uncertainty: text(unit.InDifference(e.u))}))
			r.Instrument = "g"
		}
		return model.Assess((&journal.Journal{Events: append(events, journal.New("r", time0, "", r))}).Fold(), assess.Options{})
	}
	for _, gauge := range []bool{false, true} {
		u := d.Step / math.Sqrt(12)
		if gauge {
			u = math.Hypot(u, e.u/measure.Coverage)
		}
		u *= measure.Coverage
		for _, from := range []float64{-u, 0, u} {
			for _, offset := range []float64{-e.step, e.step} {
				x := e.at + from + offset
				verdict(fmt.Sprint("read, gauge ", gauge), x, u, read(gauge, x))
			}
		}
	}
	return n
}
