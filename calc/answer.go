package calc

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"buttonup/quantity"
)

// Answer is what a calculation gives.
type Answer struct {
	// Name is that of the calculation, Inputs what it was given, as written.
	Name   string
	Inputs map[string]string
	// Figures are the outputs in the order in which a person reads them.
	Figures []Figure
	Source  string
	// Notes say what was taken for granted and what to beware of.
	Notes []string
}

// Figure is one output: a value in SI and as it is read, a word, or a list of shares.
type Figure struct {
	Name string
	// SI is the value in the coherent SI unit of its kind, or a plain number; nil for a
	// word.
	SI   *float64
	Text string
	// Shares replaces both where a figure is made of parts.
	Shares []Share
}

// Share is one part of a whole.
type Share struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

// Figure returns the output of a name.
func (a *Answer) Figure(name string) (Figure, bool) {
	for _, f := range a.Figures {
		if f.Name == name {
			return f, true
		}
	}
	return Figure{}, false
}

// MarshalJSON writes the answer as scripts read it: name, inputs, outputs by name,
// source and notes.
func (a *Answer) MarshalJSON() ([]byte, error) {
	var outputs bytes.Buffer
	outputs.WriteByte('{')
	for i, f := range a.Figures {
		if i > 0 {
			outputs.WriteByte(',')
		}
		var v any = struct {
			SI   *float64 `json:"si,omitempty"`
			Text string   `json:"text"`
		}{f.SI, f.Text}
		if f.Shares != nil {
			v = f.Shares
		}
		name, err := plainJSON(f.Name)
		if err != nil {
			return nil, err
		}
		figure, err := plainJSON(v)
		if err != nil {
			return nil, err
		}
		outputs.Write(name)
		outputs.WriteByte(':')
		outputs.Write(figure)
	}
	outputs.WriteByte('}')
	notes := a.Notes
	if notes == nil {
		notes = []string{}
	}
	return plainJSON(struct {
		Name    string            `json:"name"`
		Inputs  map[string]string `json:"inputs"`
		Outputs json.RawMessage   `json:"outputs"`
		Source  string            `json:"source"`
		Notes   []string          `json:"notes"`
	}{a.Name, a.Inputs, outputs.Bytes(), a.Source, notes})
}

// plainJSON leaves <, > and & as they are: no answer is ever put into a page unescaped.
func plainJSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

func (a *Answer) note(format string, values ...any) {
	a.Notes = append(a.Notes, fmt.Sprintf(format, values...))
}

// value adds an output in a unit.
func (a *Answer) value(name string, si float64, u quantity.Unit) {
	si += 0 // a negative zero is a zero
	a.Figures = append(a.Figures, Figure{Name: name, SI: &si, Text: textOf(si, u)})
}

// number adds a plain number with some decimals.
func (a *Answer) number(name string, x float64, decimals int) {
	x += 0
	a.Figures = append(a.Figures, Figure{Name: name, SI: &x, Text: quantity.FormatNumber(x, decimals)})
}

// percent adds a plain number that is read in per cent.
func (a *Answer) percent(name string, x float64, decimals int) {
	x += 0
	a.Figures = append(a.Figures, Figure{Name: name, SI: &x, Text: quantity.FormatNumber(100*x, decimals) + " %"})
}

// share adds a part of a whole.
func (a *Answer) share(name string, x float64) { a.percent(name, x, 1) }

func (a *Answer) word(name, text string) {
	a.Figures = append(a.Figures, Figure{Name: name, Text: text})
}

// reading says with how many decimals a unit is read at least, and with how many
// figures where a value is small.
type reading struct{ decimals, figures int }

var readings = map[string]reading{
	"mm": {3, 2}, "µm": {1, 2}, "cm": {4, 2}, "m": {6, 2}, "in": {4, 2}, "thou": {2, 2}, "ft": {5, 2},
	"deg": {1, 2}, "cc": {2, 3}, "cu in": {3, 3}, "mm2": {2, 3}, "sq in": {4, 3},
	"N·m": {1, 3}, "ft-lb": {1, 3}, "in-lb": {1, 3}, "g": {1, 3}, "oz": {2, 3},
}

// otherwise is how a unit is read that has no habit of its own: with four figures.
var otherwise = reading{0, 4}

const (
	mostPlain  = 1e9
	leastPlain = 1e-5
	// nothing is what only the rounding of a float64 leaves of zero.
	nothing = 1e-12
)

// textOf prints a value with the decimals of its unit, or more where it is small.
func textOf(si float64, u quantity.Unit) string {
	x := u.In(si)
	size := math.Abs(x)
	r, ok := readings[u.Symbol]
	if !ok {
		r = otherwise
	}
	switch {
	case size < nothing:
		return u.Text(0, r.decimals)
	case size < leastPlain || size >= mostPlain:
		return strconv.FormatFloat(x, 'e', otherwise.figures-1, 64) + " " + u.Symbol
	}
	const rounding = 1 + 1e-12 // 0.999… that stands for 1 has the figures of 1
	return u.Text(si, max(r.decimals, r.figures-1-int(math.Floor(math.Log10(size*rounding)))))
}

// inchUnits are the units of an inch shop.
var inchUnits = []string{"in", "inch", "thou", "mil", "ft", "lbf", "psi", "ksi", "lb", "lbs", "oz", "slug", "inHg", "hp", "gal", "qt", "pt", "fl", "degF"}

// systemOf is the system that a unit belongs to.
func systemOf(u quantity.Unit) quantity.System {
	for _, part := range strings.FieldsFunc(u.Symbol, func(r rune) bool { return strings.ContainsRune("/·⋅*()- ^0123456789²³", r) }) {
		if contains(inchUnits, part) {
			return quantity.Inch
		}
	}
	return quantity.Metric
}

// readIn are the units in which an answer is read where a shop has none of its own, or
// another than this package wants: stresses, not tyre pressures.
var readIn = map[quantity.Dimension][2]string{
	quantity.OfPressure:              {"MPa", "psi"},
	quantity.OfSpeed:                 {"m/s", "in/s"},
	quantity.OfAcceleration:          {"m/s2", "in/s2"},
	quantity.OfJerk:                  {"m/s3", "in/s3"},
	quantity.OfExpansion:             {"1/K", "1/K"},
	quantity.OfTemperatureDifference: {"K", "K"},
}

// usual is the unit in which a system reads a dimension.
func usual(s quantity.System, d quantity.Dimension) quantity.Unit {
	if pair, ok := readIn[d]; ok {
		return quantity.MustUnit(pair[s])
	}
	return s.Unit(d)
}

// unit is the unit for an output: that of the first of the named arguments which has
// one of its dimension, else the usual one of the system that the first of them which
// is given was written in.
func (in *inputs) unit(d quantity.Dimension, names ...string) quantity.Unit {
	for _, name := range names {
		if in.given(name) && in.values[name].Unit.Dimension == d && in.values[name].Unit.Symbol != "" {
			return in.values[name].Unit
		}
	}
	for _, name := range names {
		if in.given(name) {
			return usual(systemOf(in.values[name].Unit), d)
		}
	}
	return usual(quantity.Metric, d)
}
