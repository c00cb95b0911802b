package crank

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Unbalance is a mass times its distance from the axis it turns on, in kilogram
// metres.
type Unbalance float64

// Show prints the unbalance for a message.
func (u Unbalance) Show() string {
	return strconv.FormatFloat(float64(u)*1e6, 'g', 6, 64) + " g·mm"
}

// GramMillimetres returns u in g·mm.
func (u Unbalance) GramMillimetres() float64 { return float64(u) * 1e6 }

// Grade is a balance quality grade: the speed, in metres per second, at which the
// centre of mass goes round the axis. G 6.3 is 6.3 mm/s.
type Grade float64

// String writes the grade as the standard does: "G 6.3".
func (g Grade) String() string {
	return "G " + strconv.FormatFloat(float64(g)*1e3, 'g', 6, 64)
}

var gradeText = regexp.MustCompile(`^G\s*([0-9]{1,5}(?:\.[0-9]{1,3})?)$`)

// ParseGrade reads a balance quality grade: "G 6.3", "G2.5".
//
// Any number above 0 and up to 4,000 is taken, not only the steps of the standard's
// table, because a maker may ask for one between. ParseGrade returns an error for
// anything else; a decimal comma is not guessed.
//
// Source: the grades of ISO 21940-11. Not seen.
func ParseGrade(text string) (Grade, error) {
	m := gradeText.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0, argument.Refuse("grade", fmt.Sprintf("%.40q is not a balance quality grade", text), `write a grade as "G 6.3"`)
	}
	x, err := strconv.ParseFloat(m[1], 64)
	if err != nil || !(x > 0 && x <= 4000) {
		return 0, argument.Refuse("grade", "grade G "+m[1]+" must be above G 0 and up to G 4000", "")
	}
	return Grade(x / 1e3), nil
}

// Residual is what may stay out of balance.
type Residual struct {
	// Permissible is the permissible residual unbalance of the whole rotor.
	Permissible Unbalance
	// Eccentricity is how far its centre of mass may lie off the axis.
	Eccentricity quantity.Length
}

// PermissibleUnbalance returns how much unbalance a grade allows at a speed.
//
//	e_per = G/ω        U_per = e_per·m
//
// G is the grade as a speed, ω = 2π·speed, m the mass of the rotor. It is for a rotor
// that is rigid at its service speed. A crank with reciprocating parts is balanced
// with its bob-weight in place, and what the factor leaves on purpose is no residual
// unbalance.
//
// The result is for the whole rotor; with two correction planes it is shared out
// between them. PermissibleUnbalance returns an error if the grade is not above
// G 0 and up to G 4000, or if mass or speed is not above zero. It never returns NaN.
//
// Source: ISO 21940-11, quoted in the public header of a rotor-balancing module as
// e_per = 9 549·G/n (n in r/min, result in g·mm/kg) and in an engineering article as
// U = 6.015·G·W/n (oz·in). Seen: both quotations. Not seen: the standard.
func PermissibleUnbalance(grade Grade, mass quantity.Mass, speed quantity.Frequency) (Residual, error) {
	if !(grade > 0 && grade <= 4) {
		return Residual{}, argument.Refuse("grade", "grade "+grade.String()+" must be above G 0 and up to G 4000", "")
	}
	if err := argument.First(argument.Positive("mass", mass), argument.Positive("speed", speed)); err != nil {
		return Residual{}, err
	}
	e := float64(grade) / (2 * math.Pi * float64(speed))
	r := Residual{Permissible: Unbalance(e * float64(mass)), Eccentricity: quantity.Length(e)}
	if err := argument.First(argument.AllFinite("eccentricity", r.Eccentricity), argument.AllFinite("unbalance", r.Permissible)); err != nil {
		return Residual{}, err
	}
	return r, nil
}
