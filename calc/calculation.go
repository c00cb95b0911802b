package calc

import (
	"fmt"
	"math"
	"strings"

	"buttonup/formula"
)

// Calculation is one thing that can be computed.
type Calculation struct {
	Name string
	// Summary says in a few words what it computes.
	Summary string
	// About holds what a reader must know to use it: what it takes for granted, where
	// it stops, how two readings of a word were settled. It may be empty.
	About []string
	// Source says where the formulas are from and what of it was seen.
	Source    string
	Arguments []Argument
	// Open is set where arguments of any other name are taken besides.
	Open    bool
	Outputs []Output
	// Example is a set of arguments, each as name=value, that shows it at work, and
	// ExampleFrom where its figures are from.
	Example     []string
	ExampleFrom string

	// prepare settles which of several ways to give one thing was taken.
	prepare func(in *inputs) error
	compute func(in *inputs, out *Answer) error
}

// Output is something that a calculation gives.
type Output struct {
	Name string
	// Is says what it is.
	Is string
	// Needs lists the sets of arguments of which one must be there whole.
	Needs [][]string
	// Beside is set for what was added beside the outputs of the contract: it is given
	// with them and is never a reason by itself to give an answer.
	Beside bool
}

// calculations holds all, in the order of the contract.
var calculations = [][]*Calculation{threadCalculations, wrenchCalculations, heatCalculations, cylinderCalculations, valveCalculations, crankCalculations, faceCalculations}

// All lists the calculations: bolts first, then heat, cylinder, valve train, crank,
// faces.
func All() []*Calculation {
	var list []*Calculation
	for _, group := range calculations {
		list = append(list, group...)
	}
	return list
}

// Find returns the calculation of a name. For a name that there is not it returns an
// *[Error] that offers the nearest one.
func Find(name string) (*Calculation, error) {
	var names []string
	for _, c := range All() {
		if c.Name == name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	e := &Error{Argument: name, Says: fmt.Sprintf("there is no calculation %.40q", name), Do: "there are " + listed(names, "and"), Usage: true}
	if near := formula.Nearest(name, names); near != "" {
		e.Do = "perhaps " + near + " is meant"
	}
	return nil, e
}

// Argument returns the argument of a name.
func (c *Calculation) Argument(name string) (Argument, bool) {
	for _, a := range c.Arguments {
		if a.Name == name {
			return a, true
		}
	}
	return Argument{}, false
}

// Required reports whether no output can be given without the argument.
func (c *Calculation) Required(name string) bool {
	for _, o := range c.Outputs {
		for _, set := range o.Needs {
			if !o.Beside && !contains(set, name) {
				return false
			}
		}
	}
	a, ok := c.Argument(name)
	return ok && a.Default == ""
}

// Run computes what can be computed from arguments as they are written.
//
// It returns an *[Error] for an argument that is unknown, unreadable, of the wrong
// kind or out of range, for arguments that together are impossible, and where no
// output at all can be given; that one names what is missing. No figure of an answer
// is NaN or infinite.
func (c *Calculation) Run(given map[string]string) (*Answer, error) {
	in, err := c.read(given)
	if err != nil {
		return nil, err
	}
	if c.prepare != nil {
		if err := c.prepare(in); err != nil {
			return nil, in.explain(err)
		}
	}
	if err := in.missing(); err != nil {
		return nil, err
	}
	out := &Answer{Name: c.Name, Inputs: in.written, Source: c.Source}
	if err := c.compute(in, out); err != nil {
		return nil, in.explain(err)
	}
	for _, f := range out.Figures {
		if f.SI != nil && (math.IsNaN(*f.SI) || math.IsInf(*f.SI, 0)) {
			return nil, in.overflow(f.Name)
		}
	}
	if unused := in.unused(); len(unused) > 0 {
		out.note("not used: %s", strings.Join(unused, ", "))
	}
	return out, nil
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// listed writes names as a sentence does: "bore, stroke and rod".
func listed(names []string, word string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " " + word + " " + names[last]
}
