package joint

import (
	"sort"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Step is one pass of a staged tightening.
type Step struct {
	// Points are the fasteners that it is for, numbered from 1; none means all.
	Points []int
	// To is the torque it ends at; both ends are the same for one figure. Zero for an
	// angle step and for a back-off that loosens fully.
	To TorqueBand
	// Angle is what it turns on by; zero for a torque step.
	Angle quantity.Angle
	// BackOff says that it loosens on purpose.
	BackOff bool
}

// StageFault is a rule that a step breaks.
type StageFault struct {
	// Step is which one, from 1. Point is the fastener, from 1, and 0 where the fault
	// is in all.
	Step, Point int
	// Kind is the rule.
	Kind StageFaultKind
	// Before is the torque that came before, for StageDown.
	Before TorqueBand
}

// StageFaultKind names the rules of staged tightening.
type StageFaultKind uint8

// The rules.
const (
	// NoFault is the zero value.
	NoFault StageFaultKind = iota
	// StageDown: the torque is below the one before and no back-off stands between.
	StageDown
	// StageOutside: the last torque of a fastener is not inside the torque range.
	StageOutside
	// StageLoose: the last step of a fastener backs it off.
	StageLoose
	// StageNoSnug: an angle is turned from no torque, so it starts nowhere.
	StageNoSnug
	// StageEmpty: the step has neither a torque nor an angle and is no back-off, or has
	// both, or one of them is negative.
	StageEmpty
)

// String returns a short phrase.
func (k StageFaultKind) String() string {
	return [...]string{"no fault", "goes down without a back-off", "ends outside the torque range", "ends loosened",
		"turns an angle from no torque", "has not one torque or one angle"}[min(int(k), 5)]
}

// CheckStages checks the steps of a staged tightening against a torque range and returns
// every fault, by step and then by fastener.
//
// The rules are: a step never goes down unless a back-off stands between; an angle needs a
// torque before it; every step has either a torque or an angle; the last torque of every
// fastener lies inside the range, both ends of it, and is no back-off. They hold for each
// fastener by itself, so that two steps for different fasteners do not count as up or
// down. Where a fastener ends on an angle its torque is not known and not checked against
// the range. The same torque again is allowed: a second round settles the joint. With a
// range of zero only the order is checked.
//
// No steps give no faults.
//
// Source: common practice, no published source; the forms (repeated stages, loosening,
// angles) are those of the army manuals in testdata/published.
func CheckStages(steps []Step, torque TorqueBand) []StageFault {
	points := map[int]bool{}
	everyone := false
	for _, s := range steps {
		if len(s.Points) == 0 {
			everyone = true
		}
		for _, p := range s.Points {
			points[p] = true
		}
	}
	var order []int
	for p := range points {
		order = append(order, p)
	}
	sort.Ints(order)
	if everyone || len(order) == 0 {
		order = append([]int{0}, order...) // 0 stands for all that no step names
	}

	var faults []StageFault
	seen := map[[2]int]bool{} // step and kind: said once where it holds for all
	for _, p := range order {
		for _, f := range checkPoint(steps, p, torque) {
			key := [2]int{f.Step, int(f.Kind)}
			if seen[key] {
				continue
			}
			if f.Point == 0 {
				seen[key] = true
			}
			faults = append(faults, f)
		}
	}
	sort.SliceStable(faults, func(i, j int) bool { return faults[i].Step < faults[j].Step })
	return faults
}

// checkPoint walks the steps that are for one fastener.
func checkPoint(steps []Step, point int, torque TorqueBand) []StageFault {
	var faults []StageFault
	var level TorqueBand
	tight, last := false, 0
	for i, s := range steps {
		if !s.isFor(point) {
			continue
		}
		last = i + 1
		fault := func(k StageFaultKind) {
			faults = append(faults, StageFault{Step: i + 1, Point: point, Kind: k, Before: level})
		}
		if !s.whole() {
			fault(StageEmpty)
			continue
		}
		switch {
		case s.BackOff:
			level, tight = s.To, s.To.High > 0
		case s.Angle > 0:
			if !tight {
				fault(StageNoSnug)
			}
		default:
			if tight && s.To.Low < level.Low && s.To.High < level.High {
				fault(StageDown)
			}
			level, tight = s.To, true
		}
	}
	if last == 0 {
		return faults
	}
	end := steps[last-1]
	if !end.whole() || torque == (TorqueBand{}) {
		return faults
	}
	at := StageFault{Step: last, Point: point}
	switch {
	case end.BackOff:
		at.Kind = StageLoose
	case end.Angle == 0 && !(end.To.Low >= torque.Low && end.To.High <= torque.High):
		at.Kind = StageOutside
	default:
		return faults
	}
	return append(faults, at)
}

func (s Step) isFor(point int) bool {
	if len(s.Points) == 0 {
		return true
	}
	for _, p := range s.Points {
		if p == point {
			return true
		}
	}
	return false
}

// whole reports whether a step says one thing.
func (s Step) whole() bool {
	good := s.To.Low >= 0 && s.To.High >= s.To.Low && argument.IsFinite(s.To.High) && s.Angle >= 0 && argument.IsFinite(s.Angle)
	if s.BackOff {
		return good
	}
	return good && (s.To.High > 0) != (s.Angle > 0)
}
