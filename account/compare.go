package account

import (
	"fmt"
	"math/big"
)

// Item is one thing that was estimated, or turned up, or both.
type Item struct {
	What, Category string
	// Estimated and Actual are nil for what was not estimated, or has not come yet.
	Estimated, Actual *big.Rat
}

// Category is what its items come to together.
type Category struct {
	Name string
	// Estimated and Actual are of all items; Compared is what those items were estimated
	// at that have come, so that a job half done is not called cheap.
	Estimated, Actual, Compared *big.Rat
	// Unforeseen is what came of items that nobody had estimated.
	Unforeseen *big.Rat
	// Ratio is actual over estimate of the items that have both, nil where there are
	// none.
	Ratio    *big.Rat
	foreseen *big.Rat
}

// Comparison is all of a job.
type Comparison struct {
	// Categories stand in the order in which the items first name them.
	Categories []Category
	Whole      Category
	// Contingency is the share for what nobody can foresee, as an amount of the whole
	// estimate, and Allowed estimate and contingency together.
	Contingency, Allowed *big.Rat
	// Over is what the job took beyond Allowed, zero or below where it did not.
	Over *big.Rat
}

// Compare adds up items by category and compares what they took with what was thought.
//
//	allowed = Σ estimated·(1 + contingency)    over = Σ actual − allowed
//	ratio = Σ actual / Σ estimated, over the items that have both
//
// contingency is a share of the estimate, 15 % being usual. A ratio is made only of what
// has both figures: items that are still to come, and surprises, would make it mean
// something else; surprises are summed as Unforeseen. Between jobs of one shop the ratio
// is what the next estimate is multiplied by. 1.15 to 1.4 is common practice, and comes
// of rust, missing parts and waiting rather than of turning spanners: give waiting a
// category of its own.
//
// Compare returns an error if an amount or the contingency is below zero, or the
// contingency above one. The items are not kept; the amounts are the caller's own and
// are not changed.
//
// Source: addition; the shares are common practice, no published source.
func Compare(items []Item, contingency *big.Rat) (*Comparison, error) {
	one := big.NewRat(1, 1)
	if contingency == nil || contingency.Sign() < 0 || contingency.Cmp(one) > 0 {
		return nil, fmt.Errorf("contingency %s must be from 0 to 1", text(contingency))
	}
	c := &Comparison{Whole: empty("")}
	at := map[string]int{}
	for i := range items {
		x := &items[i]
		for _, a := range []struct {
			name string
			v    *big.Rat
		}{{"estimated", x.Estimated}, {"actual", x.Actual}} {
			if a.v != nil && a.v.Sign() < 0 {
				return nil, fmt.Errorf("%s: %s %s must be 0 or more", x.What, a.name, text(a.v))
			}
		}
		n, there := at[x.Category]
		if !there {
			n = len(c.Categories)
			at[x.Category] = n
			c.Categories = append(c.Categories, empty(x.Category))
		}
		c.Categories[n].add(x)
		c.Whole.add(x)
	}
	for i := range c.Categories {
		c.Categories[i].settle()
	}
	c.Whole.settle()
	c.Contingency = new(big.Rat).Mul(c.Whole.Estimated, contingency)
	c.Allowed = new(big.Rat).Add(c.Whole.Estimated, c.Contingency)
	c.Over = new(big.Rat).Sub(c.Whole.Actual, c.Allowed)
	return c, nil
}

func empty(name string) Category {
	return Category{Name: name, Estimated: new(big.Rat), Actual: new(big.Rat), Compared: new(big.Rat), Unforeseen: new(big.Rat), foreseen: new(big.Rat)}
}

func (c *Category) add(x *Item) {
	if x.Estimated != nil {
		c.Estimated.Add(c.Estimated, x.Estimated)
	}
	if x.Actual == nil {
		return
	}
	c.Actual.Add(c.Actual, x.Actual)
	if x.Estimated == nil {
		c.Unforeseen.Add(c.Unforeseen, x.Actual)
		return
	}
	c.Compared.Add(c.Compared, x.Estimated)
	c.foreseen.Add(c.foreseen, x.Actual)
}

// settle makes the ratio once everything is added.
func (c *Category) settle() {
	if c.Compared.Sign() > 0 {
		c.Ratio = new(big.Rat).Quo(c.foreseen, c.Compared)
	}
}

func text(r *big.Rat) string {
	if r == nil {
		return "that is missing"
	}
	return r.FloatString(2)
}
