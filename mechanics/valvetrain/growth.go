package valvetrain

import (
	"fmt"
	"math"

	"buttonup/quantity"
)

// Member is one piece of a stack that grows with heat.
type Member struct {
	// Name is what messages call it.
	Name      string
	Length    quantity.Length
	Expansion quantity.Expansion
	// Rise is how much warmer it is than when the preload was set.
	Rise quantity.TemperatureDifference
	// Counts is how many times its growth acts at the lifter: 1 for most, 1 + 1/R for
	// what lifts the rocker's shaft alone, 1/R for the part of a valve's stem that is
	// not matched by the head around it, with the rocker ratio R. Zero stands for 1.
	Counts float64
}

// Growth returns by how much a stack grows, as it acts at the lifter.
//
//	Σ counts·L·α·ΔT
//
// L is the length of each member, α its expansion coefficient, ΔT its rise. It takes
// each as evenly warm. Growth returns an error if a length is not above zero, or a
// coefficient or count is below zero. It never returns NaN.
//
// Source: linear thermal expansion.
func Growth(stack ...Member) (quantity.Length, error) {
	var in inspection
	var sum float64
	for i, m := range stack {
		name := m.Name
		if name == "" {
			name = fmt.Sprintf("member %d", i+1)
		}
		in.Above(name+" length", lengths, float64(m.Length))
		in.NotNegative(name+" expansion", coefficients, float64(m.Expansion))
		in.Number(name+" rise", rises, float64(m.Rise))
		in.NotNegative(name+" counts", numbers, m.Counts)
		in.Within(name+" counts", numbers, m.Counts, 0, 100)
		counts := m.Counts
		if counts == 0 {
			counts = 1
		}
		sum += counts * float64(m.Length) * float64(m.Expansion) * float64(m.Rise)
	}
	if in.Err != nil {
		return 0, in.Err
	}
	return quantity.Length(sum), nil
}

// PreloadLost returns by how much a hydraulic lifter's preload falls as an engine warms;
// negative if it rises.
//
//	lost = growth of what is outside − growth of what is inside
//
// Outside is what carries the rockers away from the cam: case, barrel, head, rocker box.
// Inside is what follows the cam: lifter and pushrod. An aluminium engine on steel
// pushrods loses most. With solid lifters the same amount is added to the lash at the
// pushrod. It is a first-order figure of temperatures that nobody measures; carry a
// model error of 0.15 mm or so, and take inlet and exhaust apart.
//
// Errors as in [Growth].
//
// Source: linear thermal expansion; that such an engine is set cold because its barrels
// grow: seen on a motorcycle forum page.
func PreloadLost(outside, inside []Member) (quantity.Length, error) {
	out, err := Growth(outside...)
	if err != nil {
		return 0, err
	}
	in, err := Growth(inside...)
	if err != nil {
		return 0, err
	}
	return out - in, nil
}

// Preload is how far a hydraulic lifter's plunger is pushed in, and what is left.
type Preload struct {
	// Depth is how far it is pushed in; zero or less is lash.
	Depth quantity.Length
	// Remaining is how much further it can go; zero or less holds the valve open.
	Remaining quantity.Length
}

// PreloadColdAndHot returns the preload cold and hot.
//
//	hot = cold − lost    remaining = travel − depth
//
// cold is the preload as set, lost as in [PreloadLost], travel the plunger's whole free
// travel, limited or not. A remaining travel below zero is told, not refused: it is what
// a hot engine with too much preload has.
//
// It returns an error if travel is not above zero. It never returns NaN.
//
// Source: definition.
func PreloadColdAndHot(cold, travel, lost quantity.Length) (coldState, hotState Preload, err error) {
	var in inspection
	in.Number("cold", lengths, float64(cold))
	in.Above("travel", lengths, float64(travel))
	in.Number("lost", lengths, float64(lost))
	if in.Err != nil {
		return Preload{}, Preload{}, in.Err
	}
	hot := cold - lost
	return Preload{cold, travel - cold}, Preload{hot, travel - hot}, nil
}

// Window is the cold preloads that work both cold and hot.
type Window struct{ Low, High quantity.Length }

// NoWindowError says that no cold preload works both cold and hot.
type NoWindowError struct {
	Travel, Lost, Least, Margin quantity.Length
	// Missing is how much travel is wanting.
	Missing quantity.Length
}

// Error names everything that makes it impossible.
func (e *NoWindowError) Error() string {
	return fmt.Sprintf("no preload works both cold and hot: travel %s less margin %s holds no room for the change with heat %s and the least preload %s; %s is missing", lengths.Text(float64(e.Travel)), lengths.Text(float64(e.Margin)), lengths.Text(float64(e.Lost)), lengths.Text(float64(e.Least)), lengths.Text(float64(e.Missing)))
}

// PreloadWindow returns the cold preloads that leave enough both cold and hot.
//
//	low = least + max(lost, 0)    high = travel − margin + min(lost, 0)
//
// travel is the plunger's free travel as limited, lost the change with heat as in
// [PreloadLost], least the smallest preload that may be left at any temperature, margin
// the travel that must be left.
//
// PreloadWindow returns a [*NoWindowError] if low is above high, and an error if travel
// is not above zero or least or margin is below zero. It never returns NaN.
//
// Source: own derivation.
func PreloadWindow(travel, lost, least, margin quantity.Length) (Window, error) {
	var in inspection
	in.Above("travel", lengths, float64(travel))
	in.Number("lost", lengths, float64(lost))
	in.NotNegative("least", lengths, float64(least))
	in.NotNegative("margin", lengths, float64(margin))
	if in.Err != nil {
		return Window{}, in.Err
	}
	w := Window{Low: least + max(lost, 0), High: travel - margin + min(lost, 0)}
	if w.Low > w.High {
		return Window{}, &NoWindowError{Travel: travel, Lost: lost, Least: least, Margin: margin, Missing: w.Low - w.High}
	}
	return w, nil
}

// Width returns how wide the window is. In turns and flats of an adjuster it is what
// [Turn] makes of that.
func (w Window) Width() quantity.Length { return w.High - w.Low }

// Holds reports whether a stack that may come out up to spread either way of what is
// aimed at stays inside the window: what a pushrod of fixed length must do.
func (w Window) Holds(spread quantity.Length) bool {
	return math.Abs(float64(spread))*2 <= float64(w.Width())
}
