package web

import (
	"math"

	"buttonup/mechanics/joint"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// weaker is what gives way first where a fastener is screwed into something softer, as a
// verdict: whoever pulls on it should know before.
type weaker struct {
	Sign, Ink string
	Says      string
	Because   []string
}

// weakerOf holds fastener and thread against one another, nil where the pack does not
// know both. The threads are at their worst limits; the pull of the torque is that of the
// lowest friction that the pack names.
func (v *wrenchView) weakerOf() *weaker {
	j := v.J.Joint
	bolt := boltStrength(j)
	engagement := v.engagement()
	t, err := joint.ParseThread(j.Thread)
	if err != nil || bolt <= 0 || j.IntoStrength <= 0 || engagement <= 0 {
		return nil
	}
	s, err := joint.Stripping(t, quantity.Length(engagement), quantity.Pressure(bolt), quantity.Pressure(j.IntoStrength), true)
	if err != nil {
		return nil
	}
	least := math.Min(math.Min(float64(s.BreakingLoad), float64(s.BoltLoad)), float64(s.TappedLoad))
	out := &weaker{}
	into := orElse(j.Into, "the tapped metal")
	switch s.Weakest {
	case joint.TappedStrips:
		out.Sign, out.Ink, out.Says = "close", "unsure", "The thread in "+into+" is the weaker"
	case joint.BoltStrips:
		out.Sign, out.Ink, out.Says = "close", "unsure", "The fastener's own thread is the weaker"
	default:
		out.Sign, out.Ink, out.Says = "new", "good", "The fastener breaks before the thread lets go"
	}
	force := func(f float64) string { return forceText(f, v.System) }
	out.Because = append(out.Because, "The thread in "+into+" lets go at "+force(float64(s.TappedLoad))+", the fastener breaks at "+force(float64(s.BreakingLoad))+".")
	if pull := v.hardestPull(t); pull > 0 {
		if pull >= least {
			out.Sign, out.Ink, out.Says = "worn", "worn", "This torque can pull it out"
		}
		out.Because = append(out.Because, "This torque pulls with up to "+force(pull)+".")
	}
	if need := float64(s.Needed); need > engagement {
		u, d := words.UnitIn(quantity.MustUnit("mm"), 1, v.System)
		out.Because = append(out.Because, "For the fastener to be the weaker one it would have to reach "+u.Text(need, d)+" into it; it reaches "+u.Text(engagement, d)+".")
	}
	return out
}

// boltStrength is the tensile strength of the fastener, 0 where the pack does not know.
func boltStrength(j *pack.Joint) float64 {
	if j.Strength > 0 {
		return j.Strength
	}
	g, err := joint.ParseGrade(j.Grade)
	t, err2 := joint.ParseThread(j.Thread)
	if err != nil || err2 != nil {
		return 0
	}
	s, err := g.Strength(t)
	if err != nil {
		return 0
	}
	return float64(s.Tensile)
}

// engagement is how far the thread reaches into the other, 0 where the pack does not say.
func (v *wrenchView) engagement() float64 {
	e := v.J.Joint.Engagement
	if e == nil || e.Expr != nil {
		return 0
	}
	return e.Constant.SI
}

// hardestPull is the most that the top of the torque range pulls with, 0 where the pack
// does not say enough.
func (v *wrenchView) hardestPull(t joint.Thread) float64 {
	j := v.J.Joint
	thread, head := lowest(j.ThreadFriction, j.Friction), lowest(j.HeadFriction, j.Friction)
	torque := v.J.Torque.High
	if !v.J.Torque.HasHigh {
		torque = v.J.Target.SI
	}
	if thread < 0 || head < 0 || j.Head <= 0 || j.Hole <= 0 || torque <= 0 {
		return 0
	}
	f, err := joint.Preload(quantity.Torque(torque), t, joint.Ring{Outer: quantity.Length(j.Head), Hole: quantity.Length(j.Hole)}, joint.Friction{Thread: thread, Head: head})
	if err != nil {
		return 0
	}
	return float64(f)
}

// forceText writes a force with three figures: kilonewtons, or pounds in an inch shop.
func forceText(f float64, system quantity.System) string {
	if system == quantity.Inch {
		pounds := quantity.MustUnit("lbf").In(f)
		step := math.Pow10(max(0, int(math.Log10(max(pounds, 1)))-2))
		return quantity.FormatNumber(math.Round(pounds/step)*step, 0) + " lbf"
	}
	return quantity.FormatNumber(f/1000, 1) + " kN"
}

// lowest is the lower end of the first band that is given, -1 where none is.
func lowest(bands ...*quantity.Range) float64 {
	for _, b := range bands {
		if b != nil {
			return b.Low
		}
	}
	return -1
}
