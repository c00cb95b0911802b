package assess_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
)

const larger = `
instrument "bore gauge" { uncertainty = "0.006 mm" }
dimension "one" { with = "bore gauge" }
dimension "two" { with = "bore gauge" }
number "larger" {
  value = max(one, two)
  unit  = "mm"
  limit = "<= 50.018 mm"
}
number "both" {
  value = one + two
  unit  = "mm"
}
`

func result(t testing.TB, a *assess.Assessment, name string) *assess.Result {
	t.Helper()
	for i := range a.Results {
		if a.Results[i].Name == name {
			return &a.Results[i]
		}
	}
	t.Fatalf("no result %s", name)
	return nil
}

// The larger of two bores that differ by less than their ± is known less well on the
// upper side than either: to first order 50.012 ± 0.006 mm reaches 50.018 mm and no
// further, and the larger of the two may well lie beyond. The ends are those of 2
// million samples of another generator.
func TestTheLargerOfTwoIsJudgedByItsEnds(t *testing.T) {
	model := assess.Prepare(loadPack(t, larger))
	state := journal.Read(journalText(t, []string{`reading of=one value="50.0110 mm"`, `reading of=two value="50.0110 mm"`})).Fold()
	a := model.Assess(state, assess.Options{})
	r := result(t, a, "larger")
	if r.Method != formula.ByMonteCarlo || r.Because != formula.Kink {
		t.Fatalf("%v %v", r.Method, r.Because)
	}
	const n = 2_000_000
	random := rand.New(rand.NewPCG(7, 11))
	samples := make([]float64, n)
	mean, square := 0.0, 0.0
	for i := range samples {
		x := math.Max(random.NormFloat64(), random.NormFloat64()) * 3e-6
		samples[i] = x
		mean += x / n
		square += x * x / n
	}
	slices.Sort(samples)
	u := math.Sqrt(square - mean*mean)
	tail := math.Erfc(math.Sqrt2) / 2
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 0.01*2*u {
			t.Errorf("%s: %.6g, want %.6g mm", what, got*1e3, want*1e3)
		}
	}
	near("expanded", r.Expanded, 2*u)
	near("below", r.Below, -samples[int(tail*n)])
	near("above", r.Above, samples[int((1-tail)*n)])
	// 50.011 + 0.0069 stays below 50.018 mm, 50.0115 + 0.0069 does not, and two standard
	// uncertainties of either would leave room.
	if r.Verdict != measure.Serviceable {
		t.Errorf("verdict %v", r.Verdict)
	}
	state = journal.Read(journalText(t, []string{`reading of=one value="50.0115 mm"`, `reading of=two value="50.0115 mm"`})).Fold()
	if r := result(t, model.Assess(state, assess.Options{}), "larger"); r.Verdict != measure.TooClose {
		t.Errorf("verdict %v", r.Verdict)
	}
	if r := result(t, a, "both"); r.Method != formula.ByFirstOrder || r.Because != formula.Straight || r.Below != 0 || r.Above != 0 {
		t.Errorf("%+v", r)
	}
}

// What a model remembers of an earlier job changes nothing: the order in which jobs are
// assessed does not show, nor what else stands in a journal.
func TestRememberedSpreadsChangeNothing(t *testing.T) {
	pack := loadPack(t, larger)
	var states []*journal.State
	for _, x := range []string{"50.0110", "50.0125", "50.0119", "50.0110"} {
		states = append(states, journal.Read(journalText(t, []string{`reading of=one value="50.0110 mm"`, `reading of=two value="` + x + ` mm"`})).Fold())
	}
	model := assess.Prepare(pack)
	for i, s := range states {
		fresh, again := assess.Prepare(pack).Assess(s, assess.Options{}), model.Assess(s, assess.Options{})
		if x, y := report(t, fresh), report(t, again); x != y {
			t.Errorf("job %d: %s\n%s", i, x, y)
		}
	}
}

// Two callers may assess with one model at once.
func TestTwoCallersOfOneModel(t *testing.T) {
	model := assess.Prepare(loadPack(t, larger))
	done := make(chan string)
	for range 4 {
		go func() {
			s := journal.Read(journalText(t, []string{`reading of=one value="50.0110 mm"`, `reading of=two value="50.0111 mm"`})).Fold()
			done <- report(t, model.Assess(s, assess.Options{}))
		}()
	}
	first := <-done
	for range 3 {
		if <-done != first {
			t.Error("two callers got two answers")
		}
	}
}
