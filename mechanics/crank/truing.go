package crank

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Eccentricity returns how far a shaft's centre runs from the axis it turns on.
//
//	e = TIR/2
//
// TIR is the total indicator reading, the difference between the highest and the
// lowest reading over a full turn on a round journal. Eccentricity returns an error
// if tir is negative or not finite. It never returns NaN.
//
// Source: the definition of runout. Seen: a workshop manual that halves the dial
// reading to get the misalignment.
func Eccentricity(tir quantity.Length) (quantity.Length, error) {
	if err := argument.NotNegative("TIR", tir); err != nil {
		return 0, err
	}
	return tir / 2, nil
}

// TIR returns the total indicator reading of a shaft that runs eccentric by e.
//
//	TIR = 2·e
//
// It returns an error if e is negative, or not finite when doubled.
//
// Source: the definition of runout, as for [Eccentricity].
func TIR(e quantity.Length) (quantity.Length, error) {
	if err := argument.NotNegative("eccentricity", e); err != nil {
		return 0, err
	}
	return argument.Result("TIR", 2*e)
}

// Dial is what one dial showed on one shaft over a full turn between centres.
type Dial struct {
	// TIR is the total indicator reading: highest less lowest. It is not the
	// eccentricity, which is half of it.
	TIR quantity.Length
	// High is the angle at which the shaft reads high, from the crankpin, positive
	// in the running direction. It says nothing where TIR is zero.
	High quantity.Angle
}

// Vector is an eccentricity with its direction.
type Vector struct {
	// Along is the part towards the crankpin, negative away from it.
	Along quantity.Length
	// Square is the part at 90° from the crankpin in the running direction.
	Square quantity.Length
}

// Size returns the length of the vector.
func (v Vector) Size() quantity.Length {
	return quantity.Length(math.Hypot(float64(v.Along), float64(v.Square)))
}

// Angle returns the direction of the vector from the crankpin, above −180° and up to
// 180°; 0 for a vector of no length.
func (v Vector) Angle() quantity.Angle {
	return quantity.Angle(math.Atan2(float64(v.Square), float64(v.Along)))
}

// Dial returns what a dial would show on a shaft that runs out by v.
//
// Source: the definition of runout, as for [Eccentricity].
func (v Vector) Dial() Dial { return Dial{TIR: 2 * v.Size(), High: v.Angle()} }

func (v Vector) plus(w Vector) Vector  { return Vector{v.Along + w.Along, v.Square + w.Square} }
func (v Vector) minus(w Vector) Vector { return Vector{v.Along - w.Along, v.Square - w.Square} }
func (v Vector) half() Vector          { return Vector{v.Along / 2, v.Square / 2} }

// Cure is what is done to a crank that runs out.
type Cure uint8

// The cures. NoCure is the zero value and claims nothing.
const (
	// NoCure: nothing is out.
	NoCure Cure = iota
	// Rap is a blow with a soft hammer on one wheel's rim, 90° from the pin and
	// towards the shaft. It turns one wheel about the pin against the other.
	Rap
	// Squeeze presses the two rims together where they stand too far apart.
	Squeeze
	// Wedge spreads the two rims where they stand too close together.
	Wedge
	// Regrind: the two wheels have different throws, or a journal is not
	// concentric. No blow cures it; the wheels are swapped or the part reground.
	Regrind
)

var cureNames = [...]string{"none", "rap", "squeeze", "wedge", "regrind"}

// String returns the word for the cure.
func (c Cure) String() string {
	if int(c) < len(cureNames) {
		return cureNames[c]
	}
	return "unknown"
}

// Wheel is one of the two wheels of a built-up crank, or both.
type Wheel uint8

// The wheels.
const (
	BothWheels Wheel = iota
	LeftWheel
	RightWheel
)

// String returns the word for the wheel.
func (w Wheel) String() string {
	switch w {
	case LeftWheel:
		return "left"
	case RightWheel:
		return "right"
	}
	return "both"
}

// Fault is how a built-up crank is out of true, taken apart by cause.
type Fault struct {
	// Left and Right are the eccentricities of the two shafts.
	Left, Right Vector
	// Bow is the mean of the two: the middle of the crank stands off the line of
	// its ends. It points to the side where the wheels stand too far apart.
	Bow Vector
	// Twist is the part of half the difference that is square to the pin: positive
	// when the left shaft stands off in the running direction and the right one
	// against it. The shafts are parallel but offset, by a wheel turned about the
	// pin.
	Twist quantity.Length
	// Throw is the part of half the difference that lies along the pin: positive
	// when the left shaft stands off towards the pin and the right one away.
	Throw quantity.Length
}

// Diagnose splits the readings of two dials into bow, twist and throw difference.
//
//	e = (TIR/2)∠High       for each shaft
//	s = (eL + eR)/2        bow: both shafts out to the same side
//	d = (eL − eR)/2        Twist is its part square to the pin, Throw along it
//
// The crank turns between centres in the outer ends of its shafts, the dials stand
// as close to the wheels as they can, equally far from the middle, and both angles
// are counted from the crankpin. Twist and bow are what the dials see; the wheels
// are further out by the ratio of centre distance to the part of it that lies
// outside the dials.
//
// If the wheels are tilted unequally, or the crank is not symmetrical, a little of
// the bow shows in the difference: up to a/h of it, where a is the distance from the
// middle to a dial and h to a centre. So a throw difference that is small beside the
// bow is not proven until the bow is gone.
//
// Diagnose returns an error if a TIR is negative or any value is not finite. It
// never returns NaN.
//
// Source: geometry of two rigid wheels on one pin, worked out in
// docs/sources/crank.md. Seen: a restorer's account of truing (rap for peaks at one
// side of the dials, wedge or squeeze for peaks a quarter turn later) and two
// workshop-manual pages on the same three faults; none gives the vectors.
func Diagnose(left, right Dial) (Fault, error) {
	if err := argument.First(
		argument.NotNegative("left TIR", left.TIR), argument.Finite("left angle", left.High),
		argument.NotNegative("right TIR", right.TIR), argument.Finite("right angle", right.High),
	); err != nil {
		return Fault{}, err
	}
	f := Fault{Left: left.vector(), Right: right.vector()}
	f.Bow = f.Left.half().plus(f.Right.half())
	d := f.Left.half().minus(f.Right.half())
	f.Twist, f.Throw = d.Square, d.Along
	return f, nil
}

func (d Dial) vector() Vector {
	sin, cos := math.Sincos(float64(d.High))
	e := float64(d.TIR) / 2
	return Vector{Along: quantity.Length(e * cos), Square: quantity.Length(e * sin)}
}

// trueEnough is what no dial shows: below it a part of the fault counts as zero, so
// that the rounding of sines is never called a fault.
const trueEnough = quantity.Length(1e-9)

// Main returns the cure of the largest of the three parts of the fault: [Rap] for
// the twist, [Squeeze] or [Wedge] for the bow, [Regrind] for the throw, [NoCure]
// where all three are below a nanometre. At a tie the one earlier in that order.
//
// Main names the chief fault; [Fault.Steps] gives the order of work.
func (f Fault) Main() Cure {
	twist, bow, throw := abs(f.Twist), f.Bow.Size(), abs(f.Throw)
	switch {
	case max(twist, bow, throw) < trueEnough:
		return NoCure
	case twist >= bow && twist >= throw:
		return Rap
	case bow >= throw:
		cure, _ := f.bowCure()
		return cure
	}
	return Regrind
}

// bowCure chooses between pressing the rims together where they stand apart and
// spreading them on the other side, whichever is further from the pin: near the pin
// the wheels are held and have no leverage.
func (f Fault) bowCure() (Cure, quantity.Angle) {
	if f.Bow.Along > 0 {
		return Wedge, turn(f.Bow.Angle() + math.Pi)
	}
	return Squeeze, f.Bow.Angle()
}

// Step is one thing to do to the crank, and what the dials should show after it.
type Step struct {
	// Cure is what to do.
	Cure Cure
	// Wheel is the wheel to strike, or BothWheels.
	Wheel Wheel
	// At is where on the rim, from the crankpin in the running direction.
	At quantity.Angle
	// Left and Right are the readings to expect if this step and those before it
	// succeed wholly. After Regrind they are unchanged: what regrinding leaves is
	// not known.
	Left, Right Dial
}

// Steps returns what to do, in order, to bring both dials within target, a TIR.
//
// The parts of the fault are taken largest first until what is left shows no more
// than the target on either dial; parts that need not be cured are left alone. What
// was taken is then put in the order of work: the rap, then the squeeze or the
// wedge, then [Regrind], which no blow spares. With target 0 every part counts. The
// list is empty when both dials are within the target already.
//
// A rap is struck on the wheel whose rim stands out further, 90° from the pin and
// towards the shaft; the same blow on the other wheel's rim, half a turn away, moves
// the crank the same way. Never strike a crank while it is in the centres: it ruins
// them. One light blow, then read again: the amount a blow moves is learned on the
// crank in hand ([Moved]).
//
// Steps returns an error if target is negative or not finite, and if the fault is so
// large that a reading to expect would be no number.
//
// Source: the order (rap first) is that of a restorer's account of truing. Seen. It
// is common practice besides. Which side, and the readings after, follow from the
// geometry in docs/sources/crank.md; how few steps to ask for is ours.
func (f Fault) Steps(target quantity.Length) ([]Step, error) {
	if err := argument.NotNegative("target", target); err != nil {
		return nil, err
	}
	parts := [...]struct {
		size  quantity.Length
		left  Vector // what the part adds to the left shaft
		right Vector
		take  bool
	}{
		{size: abs(f.Twist), left: Vector{Square: f.Twist}, right: Vector{Square: -f.Twist}},
		{size: f.Bow.Size(), left: f.Bow, right: f.Bow},
		{size: abs(f.Throw), left: Vector{Along: f.Throw}, right: Vector{Along: -f.Throw}},
	}
	left, right := f.Left, f.Right
	for 2*max(left.Size(), right.Size()) > target {
		worst := -1
		for i, p := range parts {
			if !p.take && p.size >= trueEnough && (worst < 0 || p.size > parts[worst].size) {
				worst = i
			}
		}
		if worst < 0 {
			break
		}
		parts[worst].take = true
		left, right = left.minus(parts[worst].left), right.minus(parts[worst].right)
	}

	left, right = f.Left, f.Right
	var steps []Step
	for i, p := range parts {
		if !p.take {
			continue
		}
		step := Step{Cure: Regrind}
		if i < 2 {
			left, right = left.minus(p.left), right.minus(p.right)
		}
		switch i {
		case 0:
			// The rim to strike stands out at its own side: there the shaft reads high.
			step.Cure, step.Wheel = Rap, LeftWheel
			step.At = quantity.Angle(math.Copysign(math.Pi/2, float64(f.Twist)))
			if abs(f.Right.Square) > abs(f.Left.Square) {
				step.Wheel, step.At = RightWheel, -step.At
			}
		case 1:
			step.Cure, step.At = f.bowCure()
		}
		step.Left, step.Right = left.Dial(), right.Dial()
		if err := argument.AllFinite("expected reading", step.Left.TIR, step.Right.TIR); err != nil {
			return nil, err
		}
		steps = append(steps, step)
	}
	return steps, nil
}

// Moved says what a blow did: how far the part of the fault that the cure aims at
// moved the right way, and how far the crank moved in any other way.
//
// Towards is positive when that part became smaller or crossed zero, and negative
// when the blow made it worse. Sideways is the length of all other change, in twist,
// bow and throw together; where it is larger than towards, the reading or the angle
// is to be doubted before the next blow.
//
// Moved returns an error for a cure that is no blow, and where before shows nothing
// for the cure to act on.
//
// Source: vector difference of two diagnoses; ours.
func Moved(before, after Fault, cure Cure) (towards, sideways quantity.Length, err error) {
	bow := before.Bow.minus(after.Bow)
	twist, throw := before.Twist-after.Twist, before.Throw-after.Throw
	rest := []float64{float64(throw)}
	switch cure {
	case Rap:
		if abs(before.Twist) < trueEnough {
			return 0, 0, argument.Refuse("before", "twist "+argument.Show(before.Twist)+" before the blow leaves a rap nothing to cure", "")
		}
		towards = twist * sign(before.Twist)
		rest = append(rest, float64(bow.Along), float64(bow.Square))
	case Squeeze, Wedge:
		size := before.Bow.Size()
		if size < trueEnough {
			return 0, 0, argument.Refuse("before", "bow "+argument.Show(size)+" before the work leaves a "+cure.String()+" nothing to cure", "")
		}
		cos, sin := before.Bow.Along/size, before.Bow.Square/size
		towards = bow.Along*cos + bow.Square*sin
		across := bow.Square*cos - bow.Along*sin
		rest = append(rest, float64(twist), float64(across))
	default:
		return 0, 0, argument.Refuse("cure", "cure "+cure.String()+" is not a blow", "give rap, squeeze or wedge")
	}
	for _, r := range rest {
		sideways = quantity.Length(math.Hypot(float64(sideways), r))
	}
	if err := argument.AllFinite("change", towards, sideways); err != nil {
		return 0, 0, err
	}
	return towards, sideways, nil
}

func abs[K argument.Value](v K) K { return K(math.Abs(float64(v))) }

func sign[K argument.Value](v K) K { return K(math.Copysign(1, float64(v))) }

// turn brings an angle to above −180° and up to 180°.
func turn(a quantity.Angle) quantity.Angle {
	r := math.Remainder(float64(a), 2*math.Pi)
	if r <= -math.Pi {
		r = math.Pi
	}
	return quantity.Angle(r)
}
