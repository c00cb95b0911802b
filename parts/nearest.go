package parts

import (
	"slices"

	"buttonup/pack"
)

// nearest returns the part most like another that would fit a slot: what takes its
// place or whose place it takes first, then the one that shares most features and
// sizes and is sold as much alone, then the one whose number is most alike, then the
// order of the pack. With orMay one that fits if what the pack takes for granted is so
// does where none fits for certain.
func (c *Catalogue) nearest(e *Engine, slot, place, part string, orMay bool) string {
	best, bestScore := "", -1
	for _, x := range c.filling[slot] {
		if x.Name == part {
			continue
		}
		score := c.likeness(c.parts[part], part, x)
		if score <= bestScore {
			continue
		}
		if v := c.judge(e, slot, place, x.Name); v.Answer == Fits || v.Answer == FitsWith {
			best, bestScore = x.Name, score
		}
	}
	if best != "" || !orMay {
		return best
	}
	for _, x := range c.filling[slot] {
		if score := c.likeness(c.parts[part], part, x); x.Name != part && score > bestScore {
			if v := c.judge(e, slot, place, x.Name); v.Answer == Ask && holdsAsAssumed(v) {
				best, bestScore = x.Name, score
			}
		}
	}
	return best
}

// holdsAsAssumed reports whether a part fits if what the pack takes for granted is so.
func holdsAsAssumed(v Verdict) bool {
	for _, q := range v.Questions {
		if q.Has != "" && !slices.Contains(q.Wants, q.Has) {
			return false
		}
	}
	return true
}

// likeness scores how alike a part is to another, which may be unknown to the pack.
func (c *Catalogue) likeness(p *pack.Part, id string, x *pack.Part) int {
	score := 0
	for score < 40 && score < len(id) && score < len(x.Name) && id[score] == x.Name[score] {
		score++
	}
	if p == nil {
		return score
	}
	if x.Supersedes == id || p.Supersedes == x.Name {
		score += 10_000
	}
	score += max(0, 1_000-50*abs(len(p.Fills)-len(x.Fills)))
	for _, f := range x.Has {
		if slices.Contains(p.Has, f) {
			score += 100
		}
	}
	for name, q := range x.Sizes {
		if own, ok := p.Sizes[name]; ok && own.SI == q.SI {
			score += 100
		}
	}
	return score
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
