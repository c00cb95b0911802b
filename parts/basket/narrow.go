package basket

// narrow looks for the least total among those that are little above the bound, then,
// if there is none, among more and more. Whatever costs too much by itself is left out
// each time, so that what is searched stays small; the first total that is found there
// is proven by that.
func (s *search) narrow() {
	if len(s.position) == 0 || s.has && s.hopeless(s.lower) {
		return
	}
	s.conclude()
	s.proven = s.lower
	for beside := max(float64(s.unit), firstBeside*s.lower); ; beside *= widen {
		s.most = s.lower + beside + float64(s.unit)
		if s.has && s.most > float64(s.best.Total) {
			s.most = float64(s.best.Total)
		}
		if !s.has && s.mostOrder > 0 {
			s.most = infinite // the bound knows little of how many sellers there are
		}
		s.look()
		if s.halted || s.most == infinite || s.has && float64(s.best.Total) <= s.most {
			return
		}
		s.proven = s.most
	}
}

// firstBeside is how much above the bound is looked at first, as a share of it; each
// time nothing is found there it is widened. Before that the multipliers are moved for
// firstSteps, as long as that brings firstGain, and firstRounds at most. Found by trying
// on the families of the tests.
const (
	firstBeside = 0.003
	widen       = 1.25
	firstSteps  = 60
	firstRounds = 1
	firstGain   = 0.002
)

// look searches the totals up to the most allowed.
func (s *search) look() {
	m := s.mark()
	small, back := s.left()
	var dual []float64
	if small != nil {
		t := s.inside(small)
		if t.enter(rootSteps, rootRounds) {
			smaller, _ := t.shrunk()
			u := t.inside(smaller)
			u.chargeChoices()
			u.bound()
			if u.has && u.most == float64(u.best.Total) {
				u.split()
			} else {
				u.bySellers()
			}
			t.found(u)
		}
		dual = t.rootDual
		s.found(t)
	}
	s.return_(m)
	s.learn(dual, back)
}

// inside is a search of a smaller market that goes on where this one stands.
func (s *search) inside(small *relaxation) *search {
	t := *s
	t.relaxation = small
	t.gone, t.undo, t.rootDual, t.polished = nil, nil, nil, 0
	t.early = earlyGuesses
	return &t
}

// found takes over what a search of a smaller market came to.
func (s *search) found(t *search) {
	s.best, s.bestPick, s.has, s.ties, s.nodes, s.halted, s.lost = t.best, t.bestPick, t.has, t.ties, t.nodes, t.halted, t.lost
}

// left is the market without what costs too much by itself; nil where nothing is left.
func (s *search) left() (*relaxation, []int32) {
	for range 3 {
		changed, ok := s.fix()
		if !ok || changed && !s.conclude() {
			return nil, nil
		}
		if !changed {
			break
		}
		s.bound()
	}
	return s.shrunk()
}

// earlyGuesses is in how many nodes solutions are guessed at.
const earlyGuesses = 2

// learn takes over multipliers from a smaller market if they are better here too.
func (s *search) learn(dual []float64, back []int32) {
	s.bound()
	if dual == nil {
		return
	}
	was := s.copy()
	for i, k := range back {
		s.dual[k] = dual[i]
	}
	s.chargeChoices()
	if s.bound(); s.lower <= was.lower {
		s.use(&was)
		s.bound()
	}
}
