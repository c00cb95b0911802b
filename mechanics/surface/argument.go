package surface

import (
	"math"
	"strconv"

	"buttonup/quantity"
)

// ArgumentError says which argument cannot be used and why.
type ArgumentError struct {
	// Argument is the name of the argument, in words as a builder would say it.
	Argument string
	// Says is what is wrong, as a sentence without a full stop. It holds the
	// offending value with its unit and the allowed range.
	Says string
	// Do is what to do about it; it may be empty.
	Do string
}

// Error returns what is wrong and, after a semicolon, what to do.
func (e *ArgumentError) Error() string {
	if e.Do == "" {
		return e.Says
	}
	return e.Says + "; " + e.Do
}

func refuse(argument, says, do string) error {
	return &ArgumentError{Argument: argument, Says: says, Do: do}
}

// kind is any of quantity's named types, or a bare number.
type kind interface{ ~float64 }

// show prints a value for a message, in the unit of the shop for its kind. Six
// figures are enough to recognise what was written.
func show[K kind](v K) string {
	factor, symbol := 1.0, ""
	switch any(v).(type) {
	case quantity.Length:
		factor, symbol = 1e3, "mm"
	}
	text := strconv.FormatFloat(float64(v)*factor, 'g', 6, 64)
	if symbol == "" {
		return text
	}
	return text + " " + symbol
}

func finite[K kind](v K) bool { return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0) }

// isFinite refuses NaN and infinities.
func isFinite[K kind](argument string, v K) error {
	if !finite(v) {
		return refuse(argument, argument+" "+show(v)+" is not a number", "give a finite number")
	}
	return nil
}

// positive refuses what is not a finite number above zero.
func positive[K kind](argument string, v K) error {
	if !(v > 0) || !finite(v) {
		return refuse(argument, argument+" "+show(v)+" must be above "+show(K(0)), "")
	}
	return nil
}

// notNegative refuses what is not a finite number of zero or more.
func notNegative[K kind](argument string, v K) error {
	if !(v >= 0) || !finite(v) {
		return refuse(argument, argument+" "+show(v)+" must be "+show(K(0))+" or more", "")
	}
	return nil
}

// within refuses what is not between low and high, both allowed.
func within[K kind](argument string, v, low, high K) error {
	if !(v >= low && v <= high) {
		return refuse(argument, argument+" "+show(v)+" must be from "+show(low)+" to "+show(high), "")
	}
	return nil
}

// first returns the first error that is one.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// allFinite refuses results that are no numbers: sizes that are each allowed may
// still overflow together.
func allFinite[K kind](name string, values ...K) error {
	for _, v := range values {
		if !finite(v) {
			return refuse(name, "the "+name+" is too large to compute from these values", "check their units")
		}
	}
	return nil
}

// result guards the promise that no function returns NaN or an infinity.
func result[K kind](name string, v K) (K, error) {
	if err := allFinite(name, v); err != nil {
		return 0, err
	}
	return v, nil
}
