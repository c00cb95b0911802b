package catalogue

import (
	"fmt"
	"math"

	"buttonup/formula"
	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Entry is a function and what a list of them says besides.
type Entry struct {
	formula.Function
	// Subject is the part of mechanics that it belongs to.
	Subject string
	// Is says what it gives.
	Is string
}

// subjects holds all entries in the order in which a person looks for them.
var subjects = []struct {
	name    string
	entries []Entry
}{
	{"Crank and piston", pistonEntries},
	{"Volumes and compression", volumeEntries},
	{"Bore, piston and ring", boreEntries},
	{"Pressure tests", pressureEntries},
	{"First run", firstRunEntries},
	{"Valve timing", timingEntries},
	{"Springs", springEntries},
	{"Lifters, pushrods and rockers", lifterEntries},
	{"Threads and torque", threadEntries},
	{"Joints under load and heat", jointEntries},
	{"Wrenches, screws and gaskets", wrenchEntries},
	{"Crankshaft", crankEntries},
	{"Gears and faces", gearEntries},
}

// Entries lists the functions by subject, each with its source like those of
// [Functions].
func Entries() []Entry {
	var list []Entry
	for _, s := range subjects {
		for _, e := range s.entries {
			e.Subject = s.name
			e.Evaluate = guarded(e.Name, e.Arguments, e.Evaluate)
			list = append(list, e)
		}
	}
	return list
}

// Functions returns the functions by name, as a formula's scope wants them. The map is
// the caller's own.
//
// Source: each function carries its own in its field Source.
func Functions() map[string]*formula.Function {
	list := Entries()
	m := make(map[string]*formula.Function, len(list))
	for i := range list {
		m[list[i].Name] = &list[i].Function
	}
	return m
}

// guarded keeps what is no number away from a function and from what it gives, and
// names the function in its errors.
func guarded(name string, arguments []formula.Argument, evaluate func([]float64) (float64, error)) func([]float64) (float64, error) {
	return func(a []float64) (float64, error) {
		for i, x := range a {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return 0, argument.Refuse(arguments[i].Name, fmt.Sprintf("%s: %s is not a finite number", name, arguments[i].Name), "")
			}
		}
		y, err := evaluate(a)
		switch {
		case err != nil:
			return 0, fmt.Errorf("%s: %w", name, err)
		case math.IsNaN(y) || math.IsInf(y, 0):
			return 0, argument.Refuse(name, name+" cannot be computed from these values", "check their units")
		}
		return y, nil
	}
}

// function makes an entry.
func function(name string, result quantity.Dimension, is, source string, evaluate func(a []float64) (float64, error), arguments ...formula.Argument) Entry {
	return Entry{
		Function: formula.Function{Name: name, Arguments: arguments, Result: result, Evaluate: evaluate, Source: source},
		Is:       is,
	}
}

// of gives what a function of mechanics gives as a plain number.
func of[K argument.Value](v K, err error) (float64, error) { return float64(v), err }

func length(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfLength}
}
func angle(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfAngle}
}
func volume(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfVolume}
}
func number(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfNumber}
}
func force(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfForce}
}
func torque(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfTorque}
}
func pressure(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfPressure}
}
func stiffness(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfStiffness}
}

func temperature(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfTemperature}
}
func duration(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfTime}
}
func mass(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfMass}
}
func frequency(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfFrequency}
}
func rise(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfTemperatureDifference}
}
func expansion(name string) formula.Argument {
	return formula.Argument{Name: name, Dimension: quantity.OfExpansion}
}

// or gives an argument a value for where it is left out.
func or(a formula.Argument, value float64) formula.Argument {
	a.HasDefault, a.Default = true, value
	return a
}

// The kinds of quantities, short, for the lists of this package.
type (
	l  = quantity.Length
	an = quantity.Angle
	v  = quantity.Volume
	f  = quantity.Force
	tq = quantity.Torque
	p  = quantity.Pressure
	k  = quantity.Stiffness
	m  = quantity.Mass
	hz = quantity.Frequency
	dt = quantity.TemperatureDifference
	ex = quantity.Expansion
)
