package fromtable

import (
	"fmt"
	"regexp"
	"strings"
)

// stage is one step of a tightening as printed.
type stage struct {
	to    *figure
	angle *figure
	back  bool
	say   string
}

// tightening is how a joint is tightened.
type tightening struct {
	unit      string
	low, high figure
	stages    []stage
	says      []string
}

var (
	torqueStage = regexp.MustCompile(`^([\d.]+)(?: (\S+))?$`)
	plusStage   = regexp.MustCompile(`^([\d.]+) \+/- [\d.]+(?: (\S+))?$`)
	angleStage  = regexp.MustCompile(`^([\d.]+) deg$`)
	backStage   = regexp.MustCompile(`^loosen to 0$`)
)

// tighteningOf reads the torque and the stages of a row; reason says why they
// cannot be used.
func tighteningOf(r record) (t tightening, reason string) {
	unit, known := torqueUnits[r.get("unit")]
	if !known {
		return t, fmt.Sprintf("the torque unit %q is not one of the pack language's", r.get("unit"))
	}
	t.unit = unit
	for _, cell := range []struct {
		column string
		into   *figure
	}{{"torque_min", &t.low}, {"torque_max", &t.high}} {
		f, err := readFigure(r.get(cell.column))
		if err != nil {
			return t, cell.column + ": " + err.Error()
		}
		if f.value.Sign() <= 0 {
			return t, fmt.Sprintf("%s: a torque of %s is not above zero", cell.column, f.printed)
		}
		*cell.into = f
	}
	if t.high.less(t.low) {
		t.low, t.high = t.high, t.low
		t.says = append(t.says, "printed with the larger figure first")
	}
	return t, t.readStages(r)
}

// readStages reads the stages and holds them against the torque.
func (t *tightening) readStages(r record) string {
	if r.get("stages") == "" {
		return ""
	}
	for _, text := range strings.Split(r.get("stages"), "|") {
		s, reason := readStage(strings.TrimSpace(text), r.get("unit"))
		if reason != "" {
			return reason
		}
		if last := t.lastTorque(); s.to != nil && last != nil && s.to.less(*last) && !s.back {
			return fmt.Sprintf("stage %s goes down from %s", s.to.printed, last.printed)
		}
		t.stages = append(t.stages, s)
	}
	last := t.lastTorque()
	if last == nil {
		return "no stage gives a torque"
	}
	if last.less(t.low) || t.high.less(*last) {
		return fmt.Sprintf("the last torque of the stages, %s, is not the %s .. %s printed as the torque", last.printed, t.low.printed, t.high.printed)
	}
	return ""
}

// readStage reads "22.14 ft-lb", "30", "30 +/- 3 ft-lb", "45 deg", "loosen to 0".
// A stage that is itself a range is refused: which torque to stop at is the
// builder's choice.
func readStage(text, unit string) (stage, string) {
	if m := angleStage.FindStringSubmatch(text); m != nil {
		f, err := readFigure(m[1])
		if err != nil {
			return stage{}, err.Error()
		}
		return stage{angle: &f}, ""
	}
	if backStage.MatchString(text) {
		return stage{to: &figure{printed: "0", value: whole(""), last: whole("1")}, back: true, say: text}, ""
	}
	m, say := torqueStage.FindStringSubmatch(text), ""
	if m == nil {
		m, say = plusStage.FindStringSubmatch(text), "printed "+text
	}
	if m == nil || m[2] != "" && m[2] != unit {
		return stage{}, fmt.Sprintf("stage %q is not one torque or one angle", text)
	}
	f, err := readFigure(m[1])
	if err != nil {
		return stage{}, err.Error()
	}
	return stage{to: &f, say: say}, ""
}

// lastTorque is the torque of the last stage that has one.
func (t *tightening) lastTorque() *figure {
	for i := len(t.stages) - 1; i >= 0; i-- {
		if t.stages[i].to != nil {
			return t.stages[i].to
		}
	}
	return nil
}

// write puts the tightening into a joint. A joint that ends on an angle gets no
// torque: what is printed is the torque before the angle, and what the fastener
// ends at is not printed.
func (t *tightening) write(b *block, r record) {
	from := source(r)
	angles, plain := false, true
	for _, s := range t.stages {
		plain = plain && s.angle == nil && !s.back && s.say == ""
	}
	if n := len(t.stages); n > 0 {
		angles = t.stages[n-1].angle != nil
	}
	pairs := []string{}
	switch {
	case angles:
		t.says = append(t.says, "ends on an angle: the torque reached is not printed")
	case t.low.value.Cmp(t.high.value) == 0:
		b.set("target", quote(withUnit(t.low.write(), t.unit)))
		pairs = append(pairs, "target", from)
	default:
		b.set("torque", quote(withUnit(t.low.write()+" .. "+t.high.write(), t.unit)))
		pairs = append(pairs, "torque", from)
	}
	if how := r.get("lubricant_note"); how != "" {
		b.set("torque_for", quote(how))
	}
	if len(t.stages) > 1 || angles {
		if plain {
			var list []string
			for _, s := range t.stages {
				list = append(list, quote(withUnit(s.to.write(), t.unit)))
			}
			b.set("stages", "["+strings.Join(list, ", ")+"]")
			pairs = append(pairs, "stages", from)
		} else {
			for _, s := range t.stages {
				b.nested = append(b.nested, s.block(t.unit))
			}
			pairs = append(pairs, "step", from)
		}
	}
	b.set("sources", sources(pairs...))
}

// block writes a stage as a step.
func (s stage) block(unit string) block {
	b := block{kind: "step"}
	if s.to != nil {
		b.set("to", quote(withUnit(s.to.write(), unit)))
	}
	if s.angle != nil {
		b.set("angle", quote(s.angle.write()+" deg"))
	}
	if s.back {
		b.set("back_off", "true")
	}
	if s.say != "" {
		b.set("say", quote(s.say))
	}
	return b
}
