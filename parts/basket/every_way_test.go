package basket

// everyWay finds the best set of purchases, or why there is none. It returns an error
// only for a problem that makes no sense: an index that is not there, an amount below
// zero.
//
// The same problem always gets the same answer.
func everyWay(p *Problem) (Result, error) {
	if err := p.check(); err != nil {
		return Result{}, err
	}
	all := lifted{}
	best, found, stopped := p.trial(all, false)
	if found {
		best.Status = Optimal
		if stopped {
			best.Status = Feasible
		}
		return best, nil
	}
	r := Result{Status: Infeasible, Steps: best.Steps}
	// A place that nothing fills is a reason only where lifting all else does not help.
	off, list := lifted{}, p.reasons()
	for _, reason := range list {
		off[reason] = reason.Kind != BecausePlace
	}
	_, helps, _ := p.trial(off, true)
	for _, reason := range list {
		off[reason] = !helps && reason.Kind != BecausePlace
	}
	for _, reason := range list {
		if off[reason] || helps && reason.Kind == BecausePlace {
			continue
		}
		off[reason] = true
		if _, ok, _ := p.trial(off, true); ok {
			off[reason] = false
			r.Because = append(r.Because, reason)
		}
	}
	return r, nil
}

// lifted are the reasons that do not count.
type lifted map[Reason]bool

// trial goes through all picks in the written order.
func (p *Problem) trial(off lifted, any bool) (best Result, found, stopped bool) {
	held, may := map[int]int{}, map[int]int{}
	for i, c := range p.InHand {
		if off[Reason{BecauseInHand, i}] {
			may[c.Place] = c.Part // it may stay, or be replaced
		} else {
			held[c.Place] = c.Part
		}
	}
	x := make(pick, len(p.Places))
	var bestPick pick
	steps := 0
	var next func(place, piece int)
	next = func(place, piece int) {
		if steps++; steps > 2_000_000 || p.Stop != nil && steps%1000 == 0 && p.Stop() {
			stopped = true
		}
		if stopped || any && found {
			return
		}
		if place == len(p.Places) {
			if !p.keeps(x, held, off) {
				return
			}
			if r := p.bill(x); !found || p.better(&r, &best, x, bestPick) {
				best, found = r, true
				bestPick = make(pick, len(x))
				for i := range x {
					bestPick[i] = append([]int(nil), x[i]...)
				}
			}
			return
		}
		if _, ok := held[place]; ok || piece == p.pieces(place) || off[Reason{BecausePlace, place}] {
			next(place+1, 0)
			return
		}
		if part, ok := may[place]; ok && piece == 0 {
			held[place] = part
			next(place+1, 0)
			delete(held, place)
		}
		for o := range p.Offers {
			offer := &p.Offers[o]
			if p.contentOf(offer.Part, place) < 0 || p.Suppliers[offer.Supplier].Refused && !off[Reason{BecauseSupplier, offer.Supplier}] ||
				p.Within > 0 && offer.Lead > p.Within && !off[Reason{Kind: BecauseLead}] || piece > 0 && p.Offers[x[place][0]].Part != offer.Part {
				continue
			}
			x[place] = append(x[place], o)
			next(place, piece+1)
			x[place] = x[place][:piece]
		}
	}
	next(0, 0)
	best.Steps = steps
	best.Bound = best.Total
	return best, found, stopped
}

// keeps reports whether every rule and agreement that counts is kept to.
func (p *Problem) keeps(x pick, held map[int]int, off lifted) bool {
	in := map[int]int{}
	for place, part := range held {
		in[place] = part
	}
	for place := range x {
		if len(x[place]) > 0 {
			in[place] = p.Offers[x[place][0]].Part
		}
	}
	chosen := func(c Choice) []int {
		var at []int
		for place, part := range in {
			if part == c.Part && (c.Place == Anywhere || c.Place == place) {
				at = append(at, place)
			}
		}
		return at
	}
	some := func(list []Choice) bool {
		for _, c := range list {
			if len(chosen(c)) > 0 {
				return true
			}
		}
		return false
	}
	for i, r := range p.Rules {
		if off[Reason{BecauseRule, i}] {
			continue
		}
		switch r.Kind {
		case Needs:
			if some(r.Of) && !some(r.With) {
				return false
			}
		case Insists:
			if !some(r.Of) {
				return false
			}
		case Refuses:
			if some(r.Of) {
				return false
			}
		case Excludes:
			for _, a := range r.Of {
				for _, b := range r.With {
					if a.Part != b.Part && len(chosen(a)) > 0 && len(chosen(b)) > 0 {
						return false
					}
				}
			}
		}
	}
	for i, a := range p.Agreements {
		class, set := 0, false
		for _, s := range a.Sized {
			if off[Reason{BecauseSizes, i}] || len(chosen(s.Choice)) == 0 {
				continue
			}
			if set && class != s.Class {
				return false
			}
			class, set = s.Class, true
		}
	}
	return true
}
