package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Ring is the ring on which the turned part, head or nut, bears: Outer is the
// diameter of its washer face, Hole the diameter of the hole under it.
type Ring struct {
	// Outer and Hole are diameters.
	Outer, Hole quantity.Length
}

// MeanDiameter returns the diameter at which friction under the head is taken to act.
//
//	Db = (Do + dh)/2
//
// Do is the outer diameter and dh the hole. It is the simple mean of ISO 16047 and
// VDI 2230, not that of an even pressure, which is less than 2 % larger on a usual head.
//
// Source: ISO 16047 and VDI 2230 part 1; memory.
func (r Ring) MeanDiameter() quantity.Length { return (r.Outer + r.Hole) / 2 }

func (r Ring) check() error {
	if err := argument.First(argument.Positive("head", r.Outer), argument.Positive("hole", r.Hole)); err != nil {
		return err
	}
	if r.Outer < r.Hole {
		return argument.Refuse("head", "head "+argument.Show(r.Outer)+" must not be smaller than the hole "+argument.Show(r.Hole)+" under it", "")
	}
	return nil
}

// Friction holds the coefficients of friction in the thread and under the part that
// is turned.
type Friction struct {
	// Thread and Head are coefficients, from 0 to 0.5.
	Thread, Head float64
}

// mostFriction is the largest coefficient taken; dry plated steel reaches about 0.35.
const mostFriction = 0.5

func (f Friction) check() error {
	return argument.First(argument.Within("thread friction", f.Thread, 0, mostFriction), argument.Within("head friction", f.Head, 0, mostFriction))
}

// Tightening is a tightening torque and what it is spent on; Pitch, Thread and Head
// add up to Torque.
type Tightening struct {
	// Torque is the whole.
	Torque quantity.Torque
	// Pitch is the part that stretches the bolt; the rest is lost to friction.
	Pitch quantity.Torque
	// Thread and Head are lost in the thread and under the head.
	Thread, Head quantity.Torque
}

// Shares returns the three parts as shares of the torque; they add up to 1.
func (x Tightening) Shares() (pitch, thread, head float64) {
	if !(x.Torque > 0) {
		return 0, 0, 0
	}
	return float64(x.Pitch / x.Torque), float64(x.Thread / x.Torque), float64(x.Head / x.Torque)
}

// secant is 1/cos 30°: the flank of a 60° thread wedges the nut apart and raises
// friction by this much.
const secant = 2 / root3

// arms returns the torque per unit of preload in its three parts, in metres: the
// exact screw formula.
func (t Thread) arms(ring Ring, mu Friction) (pitch, thread, head float64) {
	d2 := float64(t.PitchDiameter())
	slope := float64(t.pitch) / (math.Pi * d2)
	wedged := mu.Thread * secant
	pitch = float64(t.pitch) / (2 * math.Pi)
	// What the exact form has beyond the pitch, written so that it is 0 without friction.
	thread = d2 / 2 * wedged * (1 + slope*slope) / (1 - slope*wedged)
	return pitch, thread, mu.Head * float64(ring.MeanDiameter()) / 2
}

// armsLinear is the same in the linear form.
func (t Thread) armsLinear(ring Ring, mu Friction) (pitch, thread, head float64) {
	return float64(t.pitch) / (2 * math.Pi), mu.Thread * secant * float64(t.PitchDiameter()) / 2, mu.Head * float64(ring.MeanDiameter()) / 2
}

func (t Thread) checkJoint(ring Ring, mu Friction) error {
	return argument.First(t.check(), ring.check(), mu.check())
}

// TighteningTorque returns the torque that brings a joint to a preload, and its parts.
//
//	T = F·[ d2/2·(tan λ + μt·sec α)/(1 − μt·tan λ·sec α) + μb·Db/2 ]
//	tan λ = P/(π·d2),  α = 30°,  Db = (Do + dh)/2
//
// F is the preload, P the pitch and d2 the pitch diameter of a 60° thread; Do and dh
// bound the ring on which the turned part bears; μt and μb are the coefficients of
// friction in the thread and under that part. The Pitch part is F·P/2π; what the exact
// form adds to it is counted as thread friction.
//
// It is the exact screw formula. [TighteningTorqueLinear] gives up to 1.5 % less. It
// holds for known friction and says nothing of scatter: see [PreloadBand]. A prevailing
// torque of a locking nut comes on top: see [TorqueWithDrag].
//
// F must be above zero, the friction from 0 to 0.5, the ring not turned inside out. An
// *[argument.Error] is returned otherwise; the result is never NaN or infinite.
//
// Source: power-screw formula as in Shigley, Mechanical Engineering Design, chapter 8
// (memory), the same as the exact form of ISO 16047 quoted in the article "Dissecting
// the nut factor" (seen). Not seen: the standard.
func TighteningTorque(preload quantity.Force, t Thread, ring Ring, mu Friction) (Tightening, error) {
	if err := argument.First(argument.Positive("preload", preload), t.checkJoint(ring, mu)); err != nil {
		return Tightening{}, err
	}
	return tightened(preload, t.arms)(ring, mu)
}

// TighteningTorqueLinear is [TighteningTorque] in the linear form of ISO 16047 and
// VDI 2230.
//
//	T = F·[ P/(2π) + μt·d2/(2·cos 30°) + μb·Db/2 ]
//
// The guideline rounds the constants to 0.16·P and 0.58·d2·μt, which gives up to 0.6 %
// more than the constants used here. Against the exact form it lacks the product of
// slope and friction: up to 0.6 % at μ 0.1, 1.0 % at 0.2 and 1.5 % at 0.3, the most on
// small coarse threads.
//
// Range and errors are those of [TighteningTorque].
//
// Source: VDI 2230 part 1 and ISO 16047. Seen: a catalogue page of torques computed by
// it, which the tests reproduce. Not seen: the documents.
func TighteningTorqueLinear(preload quantity.Force, t Thread, ring Ring, mu Friction) (Tightening, error) {
	if err := argument.First(argument.Positive("preload", preload), t.checkJoint(ring, mu)); err != nil {
		return Tightening{}, err
	}
	return tightened(preload, t.armsLinear)(ring, mu)
}

// tightened turns arms into torques.
func tightened(preload quantity.Force, arms func(Ring, Friction) (p, t, h float64)) func(Ring, Friction) (Tightening, error) {
	return func(ring Ring, mu Friction) (Tightening, error) {
		pitch, thread, head := arms(ring, mu)
		x := Tightening{
			Pitch:  quantity.Torque(pitch * float64(preload)),
			Thread: quantity.Torque(thread * float64(preload)),
			Head:   quantity.Torque(head * float64(preload)),
		}
		var err error
		if x.Torque, err = argument.Result("torque", x.Pitch+x.Thread+x.Head); err != nil {
			return Tightening{}, err
		}
		return x, nil
	}
}

// Preload returns the preload that a torque brings, by the exact form: the inverse of
// [TighteningTorque], with its range, errors and source. torque must be above zero.
//
//	F = T / [ d2/2·(tan λ + μt·sec α)/(1 − μt·tan λ·sec α) + μb·Db/2 ]
func Preload(torque quantity.Torque, t Thread, ring Ring, mu Friction) (quantity.Force, error) {
	if err := argument.First(argument.Positive("torque", torque), t.checkJoint(ring, mu)); err != nil {
		return 0, err
	}
	p, th, h := t.arms(ring, mu)
	return argument.Result("preload", quantity.Force(float64(torque)/(p+th+h)))
}

// PreloadLinear returns the preload that a torque brings, by the linear form: the
// inverse of [TighteningTorqueLinear], with its range, errors and source.
//
//	F = T / [ P/(2π) + μt·d2/(2·cos 30°) + μb·Db/2 ]
func PreloadLinear(torque quantity.Torque, t Thread, ring Ring, mu Friction) (quantity.Force, error) {
	if err := argument.First(argument.Positive("torque", torque), t.checkJoint(ring, mu)); err != nil {
		return 0, err
	}
	p, th, h := t.armsLinear(ring, mu)
	return argument.Result("preload", quantity.Force(float64(torque)/(p+th+h)))
}

// checkNutFactor refuses a nut factor that would leave nothing to friction: the pitch
// alone takes P/(2π·d).
func (t Thread) checkNutFactor(k float64) error {
	if err := t.check(); err != nil {
		return err
	}
	least := float64(t.pitch) / (2 * math.Pi * float64(t.diameter))
	if !(k > least && k <= 1) {
		return argument.Refuse("nut factor", "nut factor "+argument.Show(k)+" must be above "+argument.Show(least)+", which the pitch of "+t.String()+" takes by itself, and at most 1", "")
	}
	return nil
}

// NutFactorTorque returns the torque that brings a joint to a preload, by a nut factor.
//
//	T = K·F·d
//
// K lumps thread, head and pitch together; F is the preload and d the nominal
// diameter. A factor belongs to the size and finish that it was measured on: the same
// friction gives different factors on different threads, see [NutFactor].
//
// F must be above zero; K above what the pitch takes by itself, P/(2π·d), and at most
// 1. An *[argument.Error] is returned otherwise.
//
// Source: Shigley, chapter 8 (memory); a stored article on torque and preload (seen).
func NutFactorTorque(preload quantity.Force, t Thread, k float64) (quantity.Torque, error) {
	if err := argument.First(argument.Positive("preload", preload), t.checkNutFactor(k)); err != nil {
		return 0, err
	}
	return argument.Result("torque", quantity.Torque(k*float64(preload)*float64(t.diameter)))
}

// PreloadByNutFactor returns the preload that a torque brings, by a nut factor: the
// inverse of [NutFactorTorque], with its range, errors and source.
//
//	F = T/(K·d)
func PreloadByNutFactor(torque quantity.Torque, t Thread, k float64) (quantity.Force, error) {
	if err := argument.First(argument.Positive("torque", torque), t.checkNutFactor(k)); err != nil {
		return 0, err
	}
	return argument.Result("preload", quantity.Force(float64(torque)/(k*float64(t.diameter))))
}

// NutFactor returns the nut factor that friction amounts to on a thread and ring, by
// the exact form.
//
//	K = T/(F·d)
//
// Range, errors and source are those of [TighteningTorque].
func NutFactor(t Thread, ring Ring, mu Friction) (float64, error) {
	if err := t.checkJoint(ring, mu); err != nil {
		return 0, err
	}
	p, th, h := t.arms(ring, mu)
	return argument.Result("nut factor", (p+th+h)/float64(t.diameter))
}

// NutFactorOf returns the nut factor of a torque and the preload that it brought.
//
//	K = T/(F·d)
//
// torque and preload must be above zero; an *[argument.Error] is returned otherwise.
//
// Source: the definition of the nut factor, see [NutFactorTorque].
func NutFactorOf(torque quantity.Torque, preload quantity.Force, t Thread) (float64, error) {
	if err := argument.First(argument.Positive("torque", torque), argument.Positive("preload", preload), t.check()); err != nil {
		return 0, err
	}
	return argument.Result("nut factor", float64(torque)/(float64(preload)*float64(t.diameter)))
}
