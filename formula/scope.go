package formula

import (
	"buttonup/quantity"
)

// ThingKind says what a name in a formula stands for.
type ThingKind uint8

// The kinds of things that formulas name.
const (
	Dimension ThingKind = iota // read from the part
	Number                     // computed by another formula
	Sweep                      // found by another formula along a range
	Option                     // chosen for the job
	Slot                       // filled by a part
	Curve                      // a table, called like a function
)

var thingWords = [...]string{"dimension", "number", "sweep", "option", "slot", "curve"}

// String returns the block kind that declares the thing.
func (k ThingKind) String() string { return thingWords[k] }

// Thing is something a formula may name.
type Thing struct {
	Kind ThingKind
	Name string
	// Place is the place it is declared at, "" for the engine.
	Place string
	// Dimension of its value. For an option it counts only if Numeric is set.
	Dimension quantity.Dimension
	// Numeric is set for an option whose choices are all quantities of one
	// dimension.
	Numeric bool
	// Choices of an option; IDs of the parts that may fill a slot.
	Choices []string
	// Sizes of a slot's parts, with their dimensions.
	Sizes map[string]quantity.Dimension
	// Table of a curve.
	Table *Table
	// Unknown is set where a mistake in the text of the thing leaves open what it
	// gives. Expressions that name it are not checked further and give no mistake
	// of their own.
	Unknown bool
}

// PlaceKind is a place of the pack: what comes in several.
type PlaceKind struct {
	Name    string
	Members []string
	// Parent is the place that holds this one, "" for none; Of names the parent
	// member of each member.
	Parent string
	Of     map[string]string
	// Unknown is set where a mistake in the text of the place leaves open what its
	// members are.
	Unknown bool
}

// Places holds the places by name.
type Places map[string]*PlaceKind

// Within reports whether place low is the same as or lies below place high. The
// engine, "", is above all.
func (p Places) Within(low, high string) bool {
	if high == "" {
		return true
	}
	for steps := 0; low != "" && steps <= len(p); steps++ {
		if low == high {
			return true
		}
		k := p[low]
		if k == nil {
			return false
		}
		low = k.Parent
	}
	return false
}

// anyUnknown reports whether a place or one that holds it is not known whole.
func (p Places) anyUnknown(name string) bool {
	for steps := 0; name != "" && steps <= len(p); steps++ {
		k := p[name]
		if k == nil {
			return false
		}
		if k.Unknown {
			return true
		}
		name = k.Parent
	}
	return false
}

// Up returns the member of place high that holds the member of place low. It is ""
// where high is the engine, and false where low does not lie below high.
func (p Places) Up(low, member, high string) (string, bool) {
	if high == "" {
		return "", true
	}
	for steps := 0; low != "" && steps <= len(p); steps++ {
		if low == high {
			return member, true
		}
		k := p[low]
		if k == nil {
			return "", false
		}
		member, low = k.Of[member], k.Parent
	}
	return "", false
}

// Below returns the members of place low that lie below the member of place high;
// all of them where high is the engine or does not hold low.
func (p Places) Below(high, member, low string) []string {
	k := p[low]
	if k == nil {
		return nil
	}
	if high == "" || !p.Within(low, high) {
		return k.Members
	}
	var list []string
	for _, m := range k.Members {
		if up, ok := p.Up(low, m, high); ok && up == member {
			list = append(list, m)
		}
	}
	return list
}

// Function is a function of mechanics that formulas may call. Arguments and result
// are in SI.
type Function struct {
	Name      string
	Arguments []Argument
	Result    quantity.Dimension
	// Evaluate computes the result; an error makes the value undefined.
	Evaluate func(arguments []float64) (float64, error)
	Source   string
}

// Argument is one argument of a function. One with a Default may be left out at
// the end of a call.
type Argument struct {
	Name       string
	Dimension  quantity.Dimension
	HasDefault bool
	Default    float64
}

// Scope is what an expression may name and where it stands.
type Scope struct {
	Things    map[string]*Thing
	Places    Places
	At        string // the place of the block that holds the expression
	Functions map[string]*Function
	// X is the dimension of x inside a sweep, nil elsewhere.
	X *quantity.Dimension
	// FactsOnly allows options and part sizes but no readings and numbers, as in
	// limits and `when`.
	FactsOnly bool
	// AnyPlace lets every name stand without its place. It is set where a mistake
	// leaves open at which place the expression stands.
	AnyPlace bool
}

// SetFunction is a function of the whole set of readings of a dimension.
type SetFunction uint8

// The set functions. Judged is the reading that the dimension is judged by, which
// is what its bare name means.
const (
	Judged SetFunction = iota
	Smallest
	Largest
	Mean
	Spread
	Oval
	Taper
)

var setNames = [...]string{"judged", "smallest", "largest", "mean", "spread", "oval", "taper"}

// String returns the name under which formulas call the function.
func (f SetFunction) String() string { return setNames[f] }

var setFunctions = map[string]SetFunction{
	"smallest": Smallest, "largest": Largest, "mean": Mean, "spread": Spread, "oval": Oval, "taper": Taper,
}

// Reserved lists the function names that a pack may not declare anew.
func Reserved(name string) bool {
	if _, ok := setFunctions[name]; ok {
		return true
	}
	if _, ok := mathFunctions[name]; ok {
		return true
	}
	switch name {
	case "each", "sum", "pi":
		return true
	}
	return false
}
