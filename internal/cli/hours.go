package cli

import (
	"math/big"

	"buttonup/account"
)

// hoursReport is a comparison of hours as scripts read it: minutes, and the ratio only
// where something has both figures.
func hoursReport(c *account.Comparison) map[string]any {
	list := []map[string]any{}
	for i := range c.Categories {
		list = append(list, categoryReport(&c.Categories[i]))
	}
	whole := categoryReport(&c.Whole)
	delete(whole, "category")
	whole["allowed_minutes"] = rational(c.Allowed)
	whole["over_minutes"] = rational(c.Over)
	whole["categories"] = list
	return whole
}

func categoryReport(c *account.Category) map[string]any {
	r := map[string]any{"category": c.Name, "estimated_minutes": rational(c.Estimated), "actual_minutes": rational(c.Actual), "unforeseen_minutes": rational(c.Unforeseen)}
	if c.Ratio != nil {
		r["ratio"] = rational(c.Ratio)
	}
	return r
}

func rational(r *big.Rat) float64 {
	x, _ := r.Float64()
	return x
}
