package quantity

// The named kinds. Each is a number in the SI unit of its kind; the zero value is
// zero of that kind. Convert with In and build with Unit.Of, or with the short
// constructors below where a formula is written out in code.
type (
	// Length is in metres.
	Length float64
	// Area is in square metres.
	Area float64
	// Volume is in cubic metres.
	Volume float64
	// Angle is in radians.
	Angle float64
	// Mass is in kilograms.
	Mass float64
	// Force is in newtons.
	Force float64
	// Torque is in newton metres. It is never an energy.
	Torque float64
	// Pressure, also stress and modulus, is in pascals.
	Pressure float64
	// Temperature is a reading of a thermometer, in kelvins from absolute zero.
	Temperature float64
	// TemperatureDifference is a rise or fall, in kelvins.
	TemperatureDifference float64
	// Expansion is a coefficient of linear thermal expansion, per kelvin.
	Expansion float64
	// Duration is in seconds.
	Duration float64
	// Frequency, also rotational speed in revolutions, is per second.
	Frequency float64
	// Stiffness is a spring rate, in newtons per metre.
	Stiffness float64
	// Density is in kilograms per cubic metre.
	Density float64
)

// Millimetres returns a length of x mm.
func Millimetres(x float64) Length { return Length(x * 1e-3) }

// Micrometres returns a length of x µm.
func Micrometres(x float64) Length { return Length(x * 1e-6) }

// Inches returns a length of x in.
func Inches(x float64) Length { return Length(x * 0.0254) }

// NewtonMetres returns a torque of x N·m.
func NewtonMetres(x float64) Torque { return Torque(x) }

// DegreesCelsius returns the temperature x °C.
func DegreesCelsius(x float64) Temperature { return Temperature(x + zeroCelsius) }

// zeroCelsius is 0 °C in kelvins, exact by definition.
const zeroCelsius = 273.15

// Millimetres returns l in mm.
func (l Length) Millimetres() float64 { return float64(l) * 1e3 }

// Inches returns l in in.
func (l Length) Inches() float64 { return float64(l) / 0.0254 }

// Celsius returns t in °C.
func (t Temperature) Celsius() float64 { return float64(t) - zeroCelsius }
