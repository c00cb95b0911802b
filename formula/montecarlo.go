package formula

import (
	"fmt"
	"math"
	"runtime"
	"sync"

	"buttonup/quantity"
)

// Debt is what an input owes to an unknown: a signed standard uncertainty. Inputs
// that owe to one unknown move together.
type Debt struct {
	Unknown int
	U       float64
}

// Distribution is how the inputs of a graph vary: each is its value and what it owes
// to unknowns, and every unknown has a shape. Inputs without debts are fixed.
type Distribution struct {
	Debts  [][]Debt
	Shapes []quantity.Shape
}

// Sampling says how a Monte Carlo evaluation is made. Equal samplings give equal
// results, whatever the number of workers. An unknown draws the same samples in every
// evaluation with one seed, so that two evaluations differ by what was changed between
// them and not by chance. Machines may differ in the last digit of a sine or an
// exponential, and so may the result.
type Sampling struct {
	Samples int
	Seed    uint64
	// Probability is that of the interval asked for, as 0.95.
	Probability float64
	// Workers bounds how many cores are used; 0 uses all.
	Workers int
}

// How many samples are made where nobody says. UsualSamples is what JCGM 101, 7.2.2
// expects to give an interval of 95 % to one or two figures of its ±; QuickSamples are
// for a page that waits, and still keep both ends within 1 % of the half-width for 19
// of 20 seeds on the models of testdata/references.
const (
	UsualSamples = 1_000_000
	QuickSamples = 1 << 18
)

// Sampled is the distribution of a node as samples show it.
type Sampled struct {
	Mean, Standard float64
	// Low and High cut off equal probabilities on both sides.
	Low, High float64
	// Undefined counts samples in which the formula had no value; they are left
	// out.
	Undefined int
}

// The sizes of the work: a batch is what is computed with one set of streams of
// random numbers.
const batch = 64 * lanes

// FewestSamples and MostSamples bound how many samples may be asked for.
const (
	FewestSamples = 100
	MostSamples   = 100_000_000
)

// MonteCarlo samples the distribution of nodes. The values must have been evaluated:
// their inputs are the centres. A node that is not known there is an error, and so is
// one that holds a sweep, whose search is not sampled.
//
// The end points are those samples of all whose rank they are, as if all were kept
// and sorted. Of n samples some √n are kept; see [Graph.HowSure] for what is chosen
// when.
//
// Source: JCGM 101:2008, propagation of distributions using a Monte Carlo method,
// with the probabilistically symmetric coverage interval of 7.7. Memory.
func (g *Graph) MonteCarlo(ids []NodeID, v *Values, d Distribution, s Sampling) ([]Sampled, error) {
	if s.Samples < FewestSamples || s.Samples > MostSamples {
		return nil, fmt.Errorf("%d samples were asked for; choose from %d to %d", s.Samples, FewestSamples, MostSamples)
	}
	if !(s.Probability > 0 && s.Probability < 1) {
		return nil, fmt.Errorf("the probability %v does not lie between 0 and 1", s.Probability)
	}
	for _, id := range ids {
		if v.status[id] != Known {
			return nil, fmt.Errorf("a formula without a value cannot be sampled")
		}
	}
	p := g.compileLanes(ids, v, d)
	if p == nil {
		return nil, fmt.Errorf("a sweep cannot be sampled")
	}
	// The second round of the loop is not seen in practice.
	for spread := float64(spreads); ; spread *= 8 {
		if out, found, err := p.sample(len(ids), s, spread); found || err != nil {
			return out, err
		}
	}
}

// sample makes all batches; false where the samples that are the end points were not
// kept.
func (p *program) sample(outputs int, s Sampling, spread float64) ([]Sampled, bool, error) {
	batches := (s.Samples + batch - 1) / batch
	workers := s.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	workers = min(workers, batches)
	queue := inOrder{total: make([]moment, outputs), waiting: map[int][]moment{}}
	found := make([][]ends, workers)
	var wait sync.WaitGroup
	for w := range workers {
		found[w] = make([]ends, outputs)
		for i := range found[w] {
			found[w][i] = newEnds(s.Probability, spread)
		}
		wait.Go(func() {
			r := p.runner()
			for b := queue.take(); b < batches; b = queue.take() {
				queue.done(b, r.batch(b, min(batch, s.Samples-b*batch), s.Seed, found[w]))
			}
		})
	}
	wait.Wait()
	out := make([]Sampled, outputs)
	for i := range out {
		all := queue.total[i]
		if all.n < 2 || all.undefined > s.Samples/2 {
			return nil, false, fmt.Errorf("the formula has no value in %d of %d samples", all.undefined, s.Samples)
		}
		var low, high []*window
		for w := range found {
			low, high = append(low, &found[w][i].low), append(high, &found[w][i].high)
		}
		lowEnd, ok := quantile(low)
		highEnd, also := quantile(high)
		if !ok || !also {
			return nil, false, nil
		}
		out[i] = Sampled{Mean: all.mean, Standard: math.Sqrt(all.m2 / float64(all.n-1)), Low: lowEnd, High: highEnd, Undefined: all.undefined}
	}
	return out, true, nil
}

// inOrder hands batches out and joins their moments in the order of the batches, so
// that sums round alike whoever computed them.
type inOrder struct {
	sync.Mutex
	taken, joined int
	total         []moment
	waiting       map[int][]moment
}

func (q *inOrder) take() int {
	q.Lock()
	defer q.Unlock()
	q.taken++
	return q.taken - 1
}

func (q *inOrder) done(b int, list []moment) {
	q.Lock()
	defer q.Unlock()
	q.waiting[b] = list
	for {
		list, ok := q.waiting[q.joined]
		if !ok {
			return
		}
		for i := range q.total {
			q.total[i].join(list[i])
		}
		delete(q.waiting, q.joined)
		q.joined++
	}
}

// batch computes n samples.
func (r *runner) batch(b, n int, seed uint64, found []ends) []moment {
	moments := make([]moment, len(found))
	r.start(seed, uint64(b))
	var finite block
	for done := 0; done < n; done += lanes {
		count := min(lanes, n-done)
		r.run(func(i int, b *block) {
			list := b[:count]
			m, ok := momentOf(list)
			if !ok {
				// Infinite and undefined samples are counted and left out.
				k := 0
				for _, x := range list {
					if !math.IsNaN(x) && !math.IsInf(x, 0) {
						finite[k] = x
						k++
					}
				}
				list = finite[:k]
				m, _ = momentOf(list)
				m.undefined = count - k
			}
			moments[i].join(m)
			found[i].add(list)
		})
	}
	return moments
}

// moment is the mean of samples and the sum of the squares of their distances from
// it.
type moment struct {
	n, undefined int
	mean, m2     float64
}

// momentOf is that of a list; false if a sample is not finite or the sum is not.
func momentOf(list []float64) (moment, bool) {
	if len(list) == 0 {
		return moment{}, true
	}
	sum := sumOf(list)
	mean := sum / float64(len(list))
	var a, b, c, d float64
	rest := list
	for len(rest) >= 4 {
		p, q, r, s := rest[0]-mean, rest[1]-mean, rest[2]-mean, rest[3]-mean
		a, b, c, d = a+float64(p*p), b+float64(q*q), c+float64(r*r), d+float64(s*s)
		rest = rest[4:]
	}
	for _, x := range rest {
		a += float64((x - mean) * (x - mean))
	}
	return moment{n: len(list), mean: mean, m2: a + b + c + d}, !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// sumOf adds in four chains, which a processor can follow side by side.
func sumOf(list []float64) float64 {
	var a, b, c, d float64
	for len(list) >= 4 {
		a, b, c, d = a+list[0], b+list[1], c+list[2], d+list[3]
		list = list[4:]
	}
	for _, x := range list {
		a += x
	}
	return a + b + (c + d)
}

// join adds the moments of other samples.
func (t *moment) join(o moment) {
	t.undefined += o.undefined
	if o.n == 0 {
		return
	}
	n := float64(t.n + o.n)
	delta := o.mean - t.mean
	t.m2 += o.m2 + float64(delta*delta)*float64(t.n)*float64(o.n)/n
	t.mean += float64(delta * float64(o.n) / n)
	t.n += o.n
}
