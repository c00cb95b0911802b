package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// ForceBand is a lowest and a highest force.
type ForceBand struct {
	// Low is the least and High the most.
	Low, High quantity.Force
}

// TorqueBand is a lowest and a highest torque; for one torque both are the same.
type TorqueBand struct {
	// Low is the least and High the most.
	Low, High quantity.Torque
}

func (b TorqueBand) check(name string) error {
	return argument.First(argument.Positive(name, b.Low), argument.Positive(name, b.High), argument.Ordered(name, b.Low, b.High))
}

// FrictionBand is a lowest and a highest coefficient of friction.
type FrictionBand struct {
	// Low is the least and High the most.
	Low, High Friction
}

func (b FrictionBand) check() error {
	return argument.First(b.Low.check(), b.High.check(), argument.Ordered("thread friction", b.Low.Thread, b.High.Thread), argument.Ordered("head friction", b.Low.Head, b.High.Head))
}

// BothAt returns the band in which thread and head have the same friction.
func BothAt(low, high float64) FrictionBand {
	return FrictionBand{Friction{low, low}, Friction{high, high}}
}

// PreloadBand returns the least and the most preload that a torque can bring when
// friction and wrench are only known within bands.
//
//	Flow  = Tlow·(1 − w)  at the highest friction
//	Fhigh = Thigh·(1 + w) at the lowest friction
//
// w is the deviation of the wrench as a share of its reading: 0.04 for ±4 %. The exact
// form is used; preload rises with torque and falls with friction, so the corners are
// the bounds. They are bounds and no ± of a normal distribution.
//
// The torques must be above zero, w from 0 to 0.5; the rest as in [TighteningTorque].
// An *[argument.Error] is returned otherwise.
//
// Source: bounds of a monotone function; formula as in [TighteningTorque].
func PreloadBand(torque TorqueBand, wrench float64, t Thread, ring Ring, mu FrictionBand) (ForceBand, error) {
	if err := argument.First(torque.check("torque"), argument.Within("deviation of the wrench", wrench, 0, 0.5), mu.check()); err != nil {
		return ForceBand{}, err
	}
	low, err := Preload(quantity.Torque(float64(torque.Low)*(1-wrench)), t, ring, mu.High)
	if err != nil {
		return ForceBand{}, err
	}
	high, err := Preload(quantity.Torque(float64(torque.High)*(1+wrench)), t, ring, mu.Low)
	if err != nil {
		return ForceBand{}, err
	}
	return ForceBand{low, high}, nil
}

// InitialPreload returns the band of preload of one torque range, nut factor and
// scatter, as a flight standard does.
//
//	Fhigh = (1 + Γ)·Thigh/(K·d)
//	Flow  = (1 − Γ)·Tlow/(K·d), for the mean of n bolts (1 − Γ/√n)·Tlow/(K·d)
//
// Γ is the scatter as a share (see [ScatterByMethod]), K the nut factor, d the nominal
// diameter. n is 1 where every single bolt counts, and the number of bolts where only
// their mean does.
//
// The torques must be above zero, Γ from 0 to below 1, n at least 1; K as in
// [NutFactorTorque]. An *[argument.Error] is returned otherwise.
//
// Source: NASA-STD-5020, equations 1 to 4. Seen: the inputs and answers of a course
// problem worked by it. Not seen: the standard.
func InitialPreload(torque TorqueBand, t Thread, k, scatter float64, n int) (ForceBand, error) {
	if err := argument.First(torque.check("torque"), t.checkNutFactor(k)); err != nil {
		return ForceBand{}, err
	}
	if !(scatter >= 0 && scatter < 1) {
		return ForceBand{}, argument.Refuse("scatter", "scatter "+argument.Show(scatter)+" must be from 0 to below 1", "write 25 % as 0.25")
	}
	if n < 1 {
		return ForceBand{}, argument.Refuse("bolts", "the number of bolts must be 1 or more", "")
	}
	d := float64(t.diameter)
	low := quantity.Force(float64(torque.Low) * (1 - scatter/math.Sqrt(float64(n))) / (k * d))
	high, err := argument.Result("preload", quantity.Force(float64(torque.High)*(1+scatter)/(k*d)))
	if err != nil {
		return ForceBand{}, err
	}
	return ForceBand{low, high}, nil
}

// ServicePreload returns what a band of preload becomes once the joint has settled and
// its temperature has moved.
//
//	Fhigh = Fhigh + ΔF
//	Flow  = (1 − r)·Flow − ΔF
//
// r is the share lost to settling, usually 0.05, and ΔF the size of the change by
// temperature in either direction (see [PreloadChange]). The low end may come out at or
// below zero: the joint is then loose.
//
// r must be from 0 to 1 and ΔF zero or more; an *[argument.Error] is returned otherwise.
//
// Source: NASA-STD-5020, equations 3 to 5. Seen: as [InitialPreload].
func ServicePreload(initial ForceBand, settling float64, temperature quantity.Force) (ForceBand, error) {
	if err := argument.First(argument.Finite("preload", initial.Low), argument.Finite("preload", initial.High), argument.Ordered("preload", initial.Low, initial.High),
		argument.Within("settling", settling, 0, 1), argument.NotNegative("change by temperature", temperature)); err != nil {
		return ForceBand{}, err
	}
	low, err := argument.Result("preload", quantity.Force(1-settling)*initial.Low-temperature)
	if err != nil {
		return ForceBand{}, err
	}
	high, err := argument.Result("preload", initial.High+temperature)
	if err != nil {
		return ForceBand{}, err
	}
	return ForceBand{low, high}, nil
}

// LeastPreload returns the least preload of a joint whose most is known, by the
// tightening factor of the method.
//
//	Fmin = Fmax/αA
//
// αA is 1.4 to 1.6 for a torque wrench and estimated friction, and larger for ruder
// methods. most must be zero or more and αA at least 1; an *[argument.Error] is returned
// otherwise.
//
// Source: VDI 2230 part 1, tightening factor. Seen: a stored note that works it.
func LeastPreload(most quantity.Force, alphaA float64) (quantity.Force, error) {
	if err := argument.NotNegative("preload", most); err != nil {
		return 0, err
	}
	if !(alphaA >= 1) || !argument.IsFinite(alphaA) {
		return 0, argument.Refuse("tightening factor", "tightening factor "+argument.Show(alphaA)+" must be 1 or more", "")
	}
	return most / quantity.Force(alphaA), nil
}

// Method is how preload is brought about or measured.
type Method uint8

// The methods of [ScatterByMethod].
const (
	// NoMethod is that of the zero value.
	NoMethod Method = iota
	// TorqueWrenchDry is a torque wrench on threads as delivered.
	TorqueWrenchDry
	// TorqueWrenchCadmium is a torque wrench on cadmium-plated threads.
	TorqueWrenchCadmium
	// TorqueWrenchLubricated is a torque wrench on lubricated threads.
	TorqueWrenchLubricated
	// HydraulicTensioner pulls the bolt and lets the nut down.
	HydraulicTensioner
	// LoadWasher shows its load by its gap.
	LoadWasher
	// Ultrasonic measures the stretch by the run of sound.
	Ultrasonic
	// MeasuredElongation measures the stretch with a micrometer.
	MeasuredElongation
)

var methodNames = [...]string{"no method", "torque wrench, dry", "torque wrench, cadmium plated", "torque wrench, lubricated",
	"hydraulic tensioner", "load-indicating washer", "ultrasonic measurement", "measured elongation"}

// String names the method.
func (m Method) String() string {
	if int(m) < len(methodNames) {
		return methodNames[m]
	}
	return methodNames[0]
}

// ScatterByMethod returns the ± of preload as a share of its mean, by method.
//
//	torque wrench dry 0.35, cadmium plated 0.30, lubricated 0.25; hydraulic
//	tensioner 0.15; load-indicating washer 0.10; ultrasonic 0.10; elongation 0.05
//
// It is of the preload of many like joints and holds however good the wrench is. An
// *[argument.Error] is returned for another method.
//
// Source: NSTS 08307, table 1, and NASA TM-106943. Seen: 0.35 and 0.25 as quoted in a
// paper on torque control. The rest from memory.
func ScatterByMethod(m Method) (float64, error) {
	switch m {
	case TorqueWrenchDry:
		return 0.35, nil
	case TorqueWrenchCadmium:
		return 0.30, nil
	case TorqueWrenchLubricated:
		return 0.25, nil
	case HydraulicTensioner:
		return 0.15, nil
	case LoadWasher, Ultrasonic:
		return 0.10, nil
	case MeasuredElongation:
		return 0.05, nil
	}
	return 0, argument.Refuse("method", "no scatter is known for "+m.String(), "name one of the methods of ScatterByMethod")
}
