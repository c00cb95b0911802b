package measure

import (
	"math"
	"slices"
)

// Coverage is the factor between a standard uncertainty and the expanded one that
// is shown and judged.
const Coverage = 2

// Unknown names an error that nobody knows: of a gauge, of a step, of the room. Two
// values that owe something to one unknown move together.
type Unknown int32

// SourceKind says what kind of thing an unknown is.
type SourceKind uint8

// The kinds of unknowns.
const (
	FromGauge       SourceKind = iota // the gauge, common to one set of readings
	FromShared                        // the part of a gauge's error common to the whole job
	FromStep                          // the step in which a cell was read
	FromRepeats                       // the scatter of repeated readings
	FromTemperature                   // the stated temperature of one set
	FromRoom                          // the temperature of the room, one for the job
	FromModel                         // the error of a formula
	FromGiven                         // a ± written in a formula or pack
)

// Source says what an unknown stands for. Owner is the dimension, number or
// instrument as it is referred to in an assessment; Gauge is the name of the instrument
// that answers for it, "" where none does or its name is not known. Dof is the degrees
// of freedom behind its size, +Inf where they do not count.
type Source struct {
	Kind  SourceKind
	Owner string
	Gauge string
	Dof   float64
}

// Unknowns hands out unknowns and remembers what each stands for.
type Unknowns struct {
	Sources []Source
	room    Unknown
	hasRoom bool
	shared  map[string]Unknown
}

// New returns a fresh unknown.
func (u *Unknowns) New(s Source) Unknown {
	u.Sources = append(u.Sources, s)
	return Unknown(len(u.Sources) - 1)
}

// Room returns the one unknown temperature of the room.
func (u *Unknowns) Room() Unknown {
	if !u.hasRoom {
		u.room, u.hasRoom = u.New(Source{Kind: FromRoom, Owner: "room", Dof: math.Inf(1)}), true
	}
	return u.room
}

// Shared returns the one unknown that all readings of an instrument share.
func (u *Unknowns) Shared(instrument string) Unknown {
	if id, ok := u.shared[instrument]; ok {
		return id
	}
	if u.shared == nil {
		u.shared = map[string]Unknown{}
	}
	id := u.New(Source{Kind: FromShared, Owner: "instrument." + instrument, Gauge: instrument, Dof: math.Inf(1)})
	u.shared[instrument] = id
	return id
}

// Term is what a value owes to an unknown: a signed standard uncertainty.
type Term struct {
	Unknown Unknown
	U       float64
}

// Form is a value together with what it owes to each unknown; no unknown stands in
// it twice.
type Form struct {
	Value float64
	Terms []Term
}

// Standard returns the standard uncertainty of the form.
//
// Source: JCGM 100:2008, 5.1.2, equation (10), for independent terms. Seen: the text of
// clause 5.1; the equation is from memory.
func (f Form) Standard() float64 {
	if len(f.Terms) == 1 {
		return math.Abs(f.Terms[0].U)
	}
	v := 0.0
	for _, t := range f.Terms {
		v += t.U * t.U
	}
	return math.Sqrt(v)
}

// Expanded returns the uncertainty with k = 2.
//
// Source: JCGM 100:2008, 6.2.1, U = k·u. Memory.
func (f Form) Expanded() float64 { return Coverage * f.Standard() }

// plus returns f + factor·g.
func (f Form) plus(g Form, factor float64) Form {
	out := Form{Value: f.Value + factor*g.Value, Terms: append(make([]Term, 0, len(f.Terms)+len(g.Terms)), f.Terms...)}
	for _, t := range g.Terms {
		out.Terms = owe(out.Terms, t.Unknown, factor*t.U)
	}
	return out
}

// owes reports whether the form owes anything to an unknown.
func (f Form) owes(id Unknown) bool {
	return slices.ContainsFunc(f.Terms, func(t Term) bool { return t.Unknown == id })
}

// owe adds to what is owed to an unknown.
func owe(terms []Term, id Unknown, u float64) []Term {
	for i := range terms {
		if terms[i].Unknown == id {
			terms[i].U += u
			return terms
		}
	}
	return append(terms, Term{id, u})
}
