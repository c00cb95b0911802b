// Package argument refuses arguments that a formula cannot use, in one form for all
// of mechanics: the argument is named, with its value, its unit and what is allowed.
//
// It knows no formula. Every check returns an [*Error] or nil, so that a function
// can list its checks in one [First].
package argument

import (
	"math"
	"strconv"

	"buttonup/quantity"
)

// Error says which argument cannot be used and why.
type Error struct {
	// Argument is the name of the argument, in words as a builder would say it. With
	// underscores for spaces it is the name that the calculator uses.
	Argument string
	// Says is what is wrong, as a sentence without a full stop. It holds the
	// offending value with its unit and the allowed range.
	Says string
	// Do is what to do about it; it may be empty.
	Do string
}

// Error returns what is wrong and, after a semicolon, what to do.
func (e *Error) Error() string {
	if e.Do == "" {
		return e.Says
	}
	return e.Says + "; " + e.Do
}

// Refuse returns the error of an argument.
func Refuse(argument, says, do string) error {
	return &Error{Argument: argument, Says: says, Do: do}
}

// Value is any of quantity's named types, or a bare number.
type Value interface{ ~float64 }

// Shown is implemented by kinds of a package's own that print themselves.
type Shown interface{ Show() string }

// Show prints a value for a message, in the unit of the shop for its kind. Six
// figures are enough to recognise what was written.
func Show[K Value](v K) string {
	factor, symbol := 1.0, ""
	switch x := any(v).(type) {
	case Shown:
		return x.Show()
	case quantity.Length:
		factor, symbol = 1e3, "mm"
	case quantity.Area:
		factor, symbol = 1e6, "mm²"
	case quantity.Angle:
		factor, symbol = 180/math.Pi, "deg"
	case quantity.Mass:
		factor, symbol = 1e3, "g"
	case quantity.Density:
		symbol = "kg/m3"
	case quantity.Force:
		symbol = "N"
	case quantity.Torque:
		symbol = "N·m"
	case quantity.Pressure:
		factor, symbol = 1e-6, "MPa"
	case quantity.Stiffness:
		factor, symbol = 1e-3, "N/mm"
	case quantity.Frequency:
		factor, symbol = 60, "r/min"
	case quantity.TemperatureDifference:
		symbol = "K"
	case quantity.Expansion:
		symbol = "1/K"
	}
	text := strconv.FormatFloat(float64(v)*factor, 'g', 6, 64)
	if symbol == "" {
		return text
	}
	return text + " " + symbol
}

// IsFinite reports whether v is neither NaN nor infinite.
func IsFinite[K Value](v K) bool { return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0) }

// Finite refuses NaN and infinities.
func Finite[K Value](argument string, v K) error {
	if !IsFinite(v) {
		return Refuse(argument, argument+" "+Show(v)+" is not a number", "give a finite number")
	}
	return nil
}

// Positive refuses what is not a finite number above zero.
func Positive[K Value](argument string, v K) error {
	if !(v > 0) || !IsFinite(v) {
		return Refuse(argument, argument+" "+Show(v)+" must be above "+Show(K(0)), "")
	}
	return nil
}

// NotNegative refuses what is not a finite number of zero or more.
func NotNegative[K Value](argument string, v K) error {
	if !(v >= 0) || !IsFinite(v) {
		return Refuse(argument, argument+" "+Show(v)+" must be "+Show(K(0))+" or more", "")
	}
	return nil
}

// Within refuses what is not between low and high, both allowed.
func Within[K Value](argument string, v, low, high K) error {
	if !(v >= low && v <= high) {
		return Refuse(argument, argument+" "+Show(v)+" must be from "+Show(low)+" to "+Show(high), "")
	}
	return nil
}

// Ordered refuses a band whose ends are swapped.
func Ordered[K Value](argument string, low, high K) error {
	if !(low <= high) {
		return Refuse(argument, argument+" "+Show(low)+" .. "+Show(high)+" runs downwards", "write the smaller end first")
	}
	return nil
}

// First returns the first error that is one.
func First(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// AllFinite refuses results that are no numbers: sizes that are each allowed may
// still overflow together.
func AllFinite[K Value](name string, values ...K) error {
	for _, v := range values {
		if !IsFinite(v) {
			return Refuse(name, "the "+name+" is too large to compute from these values", "check their units")
		}
	}
	return nil
}

// Result guards the promise that no function returns NaN or an infinity.
func Result[K Value](name string, v K) (K, error) {
	if err := AllFinite(name, v); err != nil {
		return 0, err
	}
	return v, nil
}
