package crank

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

var (
	kitText = regexp.MustCompile(`^(.*?)\s*\.\.\s*(.*?)\s+by\s+(.*)$`)
	decimal = regexp.MustCompile(`^([0-9]{0,12}(?:\.[0-9]{0,9})?)\s*(\p{L}.*)?$`)
)

// largestKit bounds a kit: more sizes than any shelf holds mean a slip in the step.
const largestKit = 10000

// ParseKit reads the sizes of a spacer kit: "2.500 .. 2.950 by 0.025 mm".
//
// First size, last size, step, and one unit for all three, which may stand after
// each of them too. The steps are counted in decimal, so every size is exactly the
// value that [quantity.Parse] gives for the size as it would be written, without
// the drift of adding a step again and again. The sizes rise.
//
// ParseKit returns an error if the text is not of that form, if a size or the step
// is not above zero or not a plain decimal, if the sizes run downwards, if the steps
// do not end on the last size, if the unit is missing or no length, and for a kit of
// more than 10,000 sizes.
//
// Source: the notation is ours.
func ParseKit(text string) ([]quantity.Length, error) {
	const form = `write a kit as "2.500 .. 2.950 by 0.025 mm"`
	name := fmt.Sprintf("%.60q", text)
	parts := kitText.FindStringSubmatch(strings.TrimSpace(text))
	if parts == nil {
		return nil, argument.Refuse("kit", "the kit "+name+" does not give a first size, a last size and a step", form)
	}
	var numbers [3]*big.Rat
	var units [3]string
	decimals := 0
	for i, part := range parts[1:] {
		cell := decimal.FindStringSubmatch(strings.TrimSpace(part))
		if cell == nil || strings.Trim(cell[1], ".") == "" {
			return nil, argument.Refuse("kit", fmt.Sprintf("%.40q in the kit %s is not a plain decimal number above zero", part, name), form)
		}
		numbers[i], _ = new(big.Rat).SetString("0" + strings.TrimSuffix(cell[1], "."))
		if numbers[i] == nil || numbers[i].Sign() <= 0 {
			return nil, argument.Refuse("kit", fmt.Sprintf("%.40q in the kit %s must be above zero", part, name), form)
		}
		if _, fraction, ok := strings.Cut(cell[1], "."); ok {
			decimals = max(decimals, len(fraction))
		}
		units[i] = strings.TrimSpace(cell[2])
	}
	unit := units[2]
	switch {
	case unit == "":
		return nil, argument.Refuse("kit", "the kit "+name+" has no unit", form)
	case units[0] != "" && units[0] != unit || units[1] != "" && units[1] != unit:
		return nil, argument.Refuse("kit", "the sizes of the kit "+name+" have different units", "give all three the same unit")
	}
	if u, err := quantity.ParseUnit(unit); err != nil {
		return nil, argument.Refuse("kit", "in the kit "+name+": "+err.Error(), form)
	} else if u.Dimension != quantity.OfLength {
		return nil, argument.Refuse("kit", "the kit "+name+" is in "+unit+", which is no length", "give the sizes in mm, in or thou")
	}
	low, high, step := numbers[0], numbers[1], numbers[2]
	span := new(big.Rat).Sub(high, low)
	if span.Sign() < 0 {
		return nil, argument.Refuse("kit", "the kit "+name+" runs downwards", "write the thinnest spacer first")
	}
	count := new(big.Rat).Quo(span, step)
	switch {
	case count.Cmp(big.NewRat(largestKit-1, 1)) > 0:
		return nil, argument.Refuse("kit", fmt.Sprintf("the kit %s has more than %d sizes", name, largestKit), "check the step")
	case !count.IsInt():
		return nil, argument.Refuse("kit", "the steps of the kit "+name+" do not end on its last size", "write the last size that the kit holds")
	}
	n := int(count.Num().Int64())
	sizes := make([]quantity.Length, 0, n+1)
	for i, size := 0, low; i <= n; i, size = i+1, new(big.Rat).Add(size, step) {
		q, err := quantity.Parse(size.FloatString(decimals) + " " + unit)
		if err != nil {
			return nil, argument.Refuse("kit", "in the kit "+name+": "+err.Error(), form)
		}
		sizes = append(sizes, quantity.Length(q.SI))
	}
	return sizes, nil
}
