package calc

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/quantity"
)

// inputs are the arguments of one calculation, read and found in range.
type inputs struct {
	of *Calculation
	// written holds what was given, as written.
	written map[string]string
	// values holds what could be read as a value, defaults with it.
	values map[string]quantity.Quantity
	// stands names the argument whose value another took over.
	stands map[string]string
}

// longestText bounds what is read of one argument: a face is read at a few hundred
// places at the most.
const longestText = 100000

// read reads all arguments that were given and puts the defaults in for the rest.
func (c *Calculation) read(given map[string]string) (*inputs, error) {
	in := &inputs{of: c, written: map[string]string{}, values: map[string]quantity.Quantity{}, stands: map[string]string{}}
	names := make([]string, 0, len(given))
	for name := range given {
		names = append(names, name)
	}
	sort.Strings(names) // so that one set of mistakes gives one message
	for _, name := range names {
		w := strings.TrimSpace(given[name])
		if strings.TrimSpace(name) == "" {
			return nil, &Error{Argument: "=" + shortened(w), Says: "=" + shortened(w) + " has no name before it", Do: "write name=value", Usage: true}
		}
		if _, ok := c.Argument(name); !ok && !c.Open {
			return nil, c.unknown(name)
		}
		switch {
		case w == "":
			return nil, &Error{Argument: name, Says: name + " is empty", Do: "write " + name + "=… with a value, or leave it out", Usage: true}
		case len(w) > longestText:
			return nil, &Error{Argument: name, Says: fmt.Sprintf("%s is %d characters long, and %d are read", name, len(w), longestText)}
		}
		in.written[name] = w
	}
	// Units first: a bare number may wait for one.
	for _, a := range c.Arguments {
		if err := in.readOne(a); err != nil {
			return nil, err
		}
	}
	return in, nil
}

func (c *Calculation) unknown(name string) *Error {
	var names []string
	for _, a := range c.Arguments {
		names = append(names, a.Name)
	}
	e := &Error{Argument: name, Says: fmt.Sprintf("%s takes no %.40s", c.Name, name), Do: "it takes " + listed(names, "and"), Usage: true}
	if near := formula.Nearest(name, names); near != "" {
		e.Do = "perhaps " + near + " is meant; " + e.Do
	}
	return e
}

func (in *inputs) readOne(a Argument) error {
	w, given := in.written[a.Name]
	if !given {
		if w = a.Default; w == "" {
			return nil
		}
	}
	switch a.form {
	case text:
		return nil
	case word:
		if contains(a.words, w) {
			return nil
		}
		e := in.refuse(a, quoted(w)+" must be "+a.Takes(), "")
		if near := formula.Nearest(w, a.words); near != "" {
			e.Do = "perhaps " + near + " is meant"
		}
		return e
	case unitName:
		u, err := quantity.ParseUnit(w)
		if err != nil || u.Dimension != a.dimension {
			return in.refuse(a, quoted(w)+" must be "+a.Takes(), "write it like "+usual(quantity.Metric, a.dimension).Symbol+" or "+usual(quantity.Inch, a.dimension).Symbol)
		}
		return nil
	case metal:
		if m, ok := measure.FindMetal(w); ok {
			in.values[a.Name] = quantity.Quantity{Value: quantity.Value{SI: float64(m.Expansion), Dimension: a.dimension}, Unit: quantity.MustUnit("1/K")}
			return nil
		}
		if !quantity.LooksLike(w) {
			do := "the metals are " + listed(metalNames(), "and")
			if near := formula.Nearest(w, metalNames()); near != "" {
				do = "perhaps " + near + " is meant; " + do
			}
			return in.refuse(a, quoted(w)+" must be "+a.Takes(), do)
		}
	}
	q, err := quantity.Parse(w)
	if err != nil {
		return in.unreadable(a, w, err)
	}
	if q, err = in.asKind(a, w, q); err != nil {
		return err
	}
	if a.span.tooSmall(q.SI) {
		return in.refuse(a, w+" is too small to be meant and must be at least "+bound(a.span.least, q.Unit), "check its unit")
	}
	if a.form == whole && q.SI != math.Trunc(q.SI) || !a.span.holds(q.SI) {
		return in.refuse(a, w+" must be "+a.takes(q.Unit), "")
	}
	in.values[a.Name] = q
	return nil
}

// asKind makes sure that a value is of the kind that is wanted.
func (in *inputs) asKind(a Argument, w string, q quantity.Quantity) (quantity.Quantity, error) {
	overLength := quantity.OfNumber.Over(quantity.OfLength)
	switch {
	case a.form == perInch && q.Dimension == overLength:
		q.SI *= float64(quantity.Inches(1))
		q.Dimension, q.Unit = quantity.OfNumber, quantity.MustUnit("1")
		return q, nil
	case q.Dimension == a.dimension && a.dimension == quantity.OfFrequency && countsAngle(q.Unit):
		return q, in.refuse(a, quoted(w)+" counts radians or degrees, and it must be "+a.takes(quantity.MustUnit("r/min")), "write turns, like r/min")
	case q.Dimension == a.dimension:
		return q, nil
	case a.bareIn != "" && q.Dimension.IsNumber() && q.Unit.Symbol == "1":
		if u, ok := in.unitOf(a.bareIn); ok {
			// Read again with its unit, so that 0.5 is the same value as 0.5 N·m.
			if again, err := quantity.Parse(w + " " + u.Symbol); err == nil {
				return again, nil
			}
		}
	}
	do := "write it with a unit of " + a.dimension.String() + ", like " + usual(quantity.Metric, a.dimension).Symbol
	if other := usual(quantity.Inch, a.dimension); other.Symbol != usual(quantity.Metric, a.dimension).Symbol {
		do += " or " + other.Symbol
	}
	is := article(q.Dimension.String())
	switch {
	case a.dimension == quantity.OfTemperatureDifference && q.Dimension == quantity.OfTemperature:
		is = "a temperature as a thermometer reads it"
		do = "write how far it rises, in K; 1 K is 1.8 degrees Fahrenheit"
	case a.dimension.IsNumber():
		do = "leave the unit out"
	case q.Dimension.IsNumber():
		is = "a number without a unit"
	}
	return q, in.refuse(a, quoted(w)+" is "+is+" and must be "+a.takes(q.Unit), do)
}

// countsAngle reports whether a frequency was written by angle: one radian a second
// is not one turn a second.
func countsAngle(u quantity.Unit) bool {
	over, _, _ := strings.Cut(u.Symbol, "/")
	x, err := quantity.ParseUnit(over)
	return err == nil && x.Dimension == quantity.OfAngle
}

func (in *inputs) unreadable(a Argument, w string, err error) *Error {
	says, do := err.Error(), ""
	var pe *quantity.ParseError
	if errors.As(err, &pe) {
		says, do = pe.Says, pe.Do
	}
	return &Error{Argument: a.Name, Says: a.Name + ": " + says + "; it must be " + a.Takes(), Do: do}
}

// refuse is the error of one argument; what follows its name begins with the value.
func (in *inputs) refuse(a Argument, says, do string) *Error {
	return &Error{Argument: a.Name, Says: a.Name + " " + says, Do: do}
}

func quoted(w string) string { return fmt.Sprintf("%q", shortened(w)) }

// has reports whether arguments are there, given or by default.
func (in *inputs) has(names ...string) bool {
	for _, name := range names {
		if _, ok := in.written[name]; ok {
			continue
		}
		if _, ok := in.stands[name]; ok {
			continue
		}
		if a, _ := in.of.Argument(name); a.Default == "" {
			return false
		}
	}
	return true
}

// given reports whether an argument was written, be it at another's name.
func (in *inputs) given(name string) bool {
	_, written := in.written[name]
	_, stood := in.stands[name]
	return written || stood
}

// take lets an argument that is not given have the value of another.
func (in *inputs) take(name, from string) {
	if !in.given(name) {
		in.values[name], in.stands[name] = in.values[from], from
	}
}

// text is what was written for an argument, or its default.
func (in *inputs) text(name string) string {
	if w, ok := in.written[name]; ok {
		return w
	}
	a, _ := in.of.Argument(name)
	return a.Default
}

func (in *inputs) si(name string) float64             { return in.values[name].SI }
func (in *inputs) length(name string) quantity.Length { return quantity.Length(in.si(name)) }
func (in *inputs) angle(name string) quantity.Angle   { return quantity.Angle(in.si(name)) }
func (in *inputs) mass(name string) quantity.Mass     { return quantity.Mass(in.si(name)) }
func (in *inputs) force(name string) quantity.Force   { return quantity.Force(in.si(name)) }
func (in *inputs) torque(name string) quantity.Torque { return quantity.Torque(in.si(name)) }
func (in *inputs) volume(name string) quantity.Volume { return quantity.Volume(in.si(name)) }
func (in *inputs) pressure(name string) quantity.Pressure {
	return quantity.Pressure(in.si(name))
}
func (in *inputs) frequency(name string) quantity.Frequency {
	return quantity.Frequency(in.si(name))
}

// unitOf is the unit that an argument names.
func (in *inputs) unitOf(name string) (quantity.Unit, bool) {
	u, err := quantity.ParseUnit(in.text(name))
	return u, err == nil && in.has(name)
}

// gives reports whether an output has all that it needs.
func (in *inputs) gives(output string) bool {
	for _, o := range in.of.Outputs {
		if o.Name == output {
			return in.servedBy(o) != nil
		}
	}
	return false
}

// servedBy returns the first set of arguments that is there whole.
func (in *inputs) servedBy(o Output) []string {
	for _, set := range o.Needs {
		if in.has(set...) {
			return set
		}
	}
	return nil
}

// missing returns an error where no output can be given. It asks for what is lacking to
// the output that has the most of what was given, and of several such the one that
// lacks the fewest arguments.
func (in *inputs) missing() error {
	var least []string
	most := -1
	for _, o := range in.of.Outputs {
		if o.Beside {
			continue
		}
		for _, set := range o.Needs {
			there := 0
			var lacks []string
			for _, name := range set {
				switch {
				case !in.has(name):
					lacks = append(lacks, name)
				case in.given(name):
					there++
				}
			}
			if len(lacks) == 0 {
				return nil
			}
			if there > most || there == most && len(lacks) < len(least) {
				most, least = there, lacks
			}
		}
	}
	if least == nil {
		return nil // a calculation that says itself what it needs
	}
	return in.lacks(least...)
}

// lacks is the error of arguments that are missing.
func (in *inputs) lacks(names ...string) *Error {
	a, _ := in.of.Argument(names[0])
	do := "add " + names[0] + "=…, " + a.Is
	if t := a.Takes(); t != "" {
		do += ": " + t
	}
	return &Error{Argument: names[0], Says: in.of.Name + " needs " + listed(names, "and"), Do: do, Usage: true}
}

// conflict is the error of two ways to give one thing.
func (in *inputs) conflict(what string, names ...string) *Error {
	var list []string
	for _, name := range names {
		list = append(list, name+" "+shortened(in.written[name]))
	}
	return &Error{Argument: strings.Join(names, ", "), Says: what + " is given twice, as " + listed(list, "and as"), Do: "give one of them", Usage: true}
}

// unused lists what was given and has no part in any output.
func (in *inputs) unused() []string {
	optional, used := map[string]bool{}, map[string]bool{}
	for _, a := range in.of.Arguments {
		optional[a.Name] = true
	}
	for _, o := range in.of.Outputs {
		for _, set := range o.Needs {
			for _, name := range set {
				optional[name] = false
			}
		}
		for _, name := range in.servedBy(o) {
			used[name] = true
			used[in.stands[name]] = true
		}
	}
	var list []string
	for _, a := range in.of.Arguments {
		if _, ok := in.written[a.Name]; ok && !used[a.Name] && !optional[a.Name] {
			list = append(list, a.Name)
		}
	}
	return list
}

// numbers lists the arguments that were given as values.
func (in *inputs) numbers() []string {
	var list []string
	for _, a := range in.of.Arguments {
		_, given := in.written[a.Name]
		if _, isValue := in.values[a.Name]; given && isValue {
			list = append(list, a.Name)
		}
	}
	return list
}
