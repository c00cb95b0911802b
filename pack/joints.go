package pack

import (
	"fmt"
	"slices"

	"buttonup/formula"
	"buttonup/mechanics/joint"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

func (l *loader) joint(b *syntax.Block) {
	j := &Joint{Common: l.common(b), At: l.at(b), Thread: l.text(b, "thread"), Grade: l.text(b, "grade"), Into: l.text(b, "into"),
		TorqueFor: l.text(b, "torque_for"), State: l.text(b, "state"), Socket: l.text(b, "socket"), Drive: l.text(b, "drive"), Retorque: l.text(b, "retorque")}
	j.unsure = lost(b, "stages", "step", "to", "angle", "points", "order", "back_off", "torque")
	j.Hand = l.word(b, "hand", "right", "left")
	j.ConfirmPoint = l.word(b, "confirm", "pass", "point") == "point"
	j.SingleUse = l.flag(b, "single_use")
	j.Strength, _ = l.positive(b, "strength", quantity.OfPressure)
	j.IntoStrength, _ = l.positive(b, "into_strength", quantity.OfPressure)
	j.Length, j.HasLength = l.positive(b, "length", quantity.OfLength)
	j.Through, j.HasThrough = l.positive(b, "through", quantity.OfLength)
	j.HoleDepth, j.HasHoleDepth = l.positive(b, "hole_depth", quantity.OfLength)
	j.Head, _ = l.positive(b, "head", quantity.OfLength)
	j.Hole, _ = l.positive(b, "hole", quantity.OfLength)
	if a := b.Attribute("engagement"); a != nil {
		j.Engagement = l.scalar("engagement", a.Value, j.At, quantity.OfLength)
	}
	for name, to := range map[string]**quantity.Range{"friction": &j.Friction, "thread_friction": &j.ThreadFriction, "head_friction": &j.HeadFriction} {
		*to = l.friction(b, name)
	}
	torque := quantity.OfTorque
	j.Torque = l.setting(b, "torque", j.At, &torque)
	if a := b.Attribute("target"); a != nil {
		j.Target = l.scalar("target", a.Value, j.At, quantity.OfTorque)
	}
	l.jointPoints(b, j)
	if a := b.Attribute("stages"); a != nil {
		j.Stages = l.stages(a.Value, j.At)
		j.unsure = j.unsure || j.Stages == nil
	}
	for _, n := range b.Blocks {
		if n.Kind == "step" {
			j.Steps = append(j.Steps, l.step(n, j))
		}
	}
	if b.Attribute("stages") != nil && len(j.Steps) > 0 {
		l.add("joint.stages-and-steps", b.Attribute("stages").Span, "the joint has stages and steps", "write the stages as steps too, or leave the steps out")
		j.unsure = true
	}
	j.PointOfNoReturn = l.whole(b, "point_of_no_return", 1, 0)
	l.checkStages(b, j)
	l.checkThread(b, j)
	l.checkTarget(b, j)
	if j.Grade != "" {
		if _, err := joint.ParseGrade(j.Grade); err != nil {
			says, _ := formula.Explain(err)
			l.add("joint.grade", b.Attribute("grade").Value.Where(), says, `write one of those as a text, or strength = "800 MPa" for another`)
		}
	}
	l.pack.Joints = append(l.pack.Joints, j)
}

// friction reads a band of friction, or one figure, of thread and head.
func (l *loader) friction(b *syntax.Block, name string) *quantity.Range {
	a := b.Attribute(name)
	if a == nil {
		return nil
	}
	var r quantity.Range
	if t, ok := a.Value.(*syntax.Text); ok && isRangeText(t.Value) {
		var err error
		if r, err = quantity.ParseRange(t.Value); err != nil {
			l.quantityError(err, t.Span)
			return nil
		}
	} else {
		want := quantity.OfNumber
		q, ok := l.quantityOf(name, a.Value, &want)
		if !ok {
			return nil
		}
		r = quantity.Range{Low: q.SI, High: q.SI, HasLow: true, HasHigh: true, Unit: q.Unit, Decimals: q.Decimals}
	}
	switch {
	case !r.Dimension.IsNumber():
		l.unitMismatch(name, a.Value.Where(), r.Dimension, quantity.OfNumber)
		return nil
	case !r.HasLow || !r.HasHigh || r.Low < 0 || r.High >= 0.5:
		l.add("joint.friction", a.Value.Where(), "a friction coefficient lies between 0 and 0.5", `write it like "0.10 .. 0.16"`)
		return nil
	}
	return &r
}

func isRangeText(s string) bool {
	_, err := quantity.Parse(s)
	return err != nil
}

func (l *loader) jointPoints(b *syntax.Block, j *Joint) {
	if a := b.Attribute("points"); a != nil {
		before := len(l.mistakes)
		list, ok := a.Value.(*syntax.List)
		if !ok {
			l.wrong(a, "a list of points in millimetres", "[[0, 0], [60, 0]]")
		} else {
			for _, e := range list.Items {
				p, ok := e.(*syntax.List)
				if broken(e) {
					j.unsure = true
					continue
				}
				if !ok || len(p.Items) != 2 {
					l.add("pack.attribute", e.Where(), "a point is two numbers", "write each point as [x, y], in millimetres")
					break // the others are most likely written the same way
				}
				if xy := l.numberList("points", p); len(xy) == 2 {
					j.Points = append(j.Points, [2]float64{xy[0], xy[1]})
				}
			}
		}
		j.unsure = j.unsure || !ok || len(l.mistakes) > before
	}
	a := b.Attribute("order")
	if a == nil {
		return
	}
	j.Order = l.wholeList(b, "order")
	if j.Order == nil || j.unsure {
		return
	}
	seen := map[int]bool{}
	for _, n := range j.Order {
		switch {
		case n < 1 || n > max(len(j.Points), len(j.Order)):
			l.add("joint.pattern", numberSpan(b, "order", n), fmt.Sprintf("the order names fastener %d, and there are %d", n, max(len(j.Points), len(j.Order))), "number the fasteners from 1 in the order of points")
			return
		case seen[n]:
			l.add("joint.pattern", numberSpan(b, "order", n), fmt.Sprintf("the order names fastener %d twice", n), "name each fastener once a round")
			return
		}
		seen[n] = true
	}
	for n := 1; n <= max(len(j.Points), len(j.Order)); n++ {
		if !seen[n] {
			l.add("joint.pattern", a.Value.Where(), fmt.Sprintf("the order misses fastener %d of %d", n, max(len(j.Points), len(j.Order))), "name each fastener once a round")
			return
		}
	}
}

// numberSpan finds the last item of a list that is the whole number n.
func numberSpan(b *syntax.Block, name string, n int) syntax.Span {
	span := b.Attribute(name).Value.Where()
	if list, ok := b.Attribute(name).Value.(*syntax.List); ok {
		for _, e := range list.Items {
			if x, ok := bareNumber(e); ok && x == float64(n) {
				span = e.Where()
			}
		}
	}
	return span
}

// wholeList reads a list of whole numbers.
func (l *loader) wholeList(b *syntax.Block, name string) []int {
	xs := l.numbersOf(b, name)
	if xs == nil {
		return nil
	}
	out := []int{}
	for _, x := range xs {
		if x != float64(int(x)) {
			l.wrong(b.Attribute(name), "a list of whole numbers", "[1, 3, 2, 4]")
			return nil
		}
		out = append(out, int(x))
	}
	return out
}

// stages reads a list of torques, or a choice between two.
func (l *loader) stages(e syntax.Expr, at string) *Stages {
	switch e := e.(type) {
	case *syntax.List:
		s := &Stages{}
		for _, x := range e.Items {
			if t := l.scalar("a stage", x, at, quantity.OfTorque); t != nil {
				s.Items = append(s.Items, t)
			}
		}
		switch {
		case len(e.Items) == 0:
			l.add("pack.attribute", e.Span, "stages is a list of torques", `write it like ["12 N·m", "25 N·m", "43 N·m"]`)
			return nil
		case len(s.Items) < len(e.Items):
			return nil // without one that is wrong the others mean something else
		}
		return s
	case *syntax.Conditional:
		test, mistakes := formula.Compile(e.Test, l.facts(at))
		if len(mistakes) > 0 {
			l.mistakes = append(l.mistakes, mistakes...)
			return nil
		}
		then, other := l.stages(e.Then, at), l.stages(e.Else, at)
		if test.Broken() || then == nil || other == nil {
			return nil
		}
		if !test.Condition {
			l.add("formula.condition", e.Test.Where(), "a condition is needed here", "compare with == != < <= > >=")
			return nil
		}
		return &Stages{Test: test, Then: then, Else: other}
	case *syntax.Broken:
		return nil
	}
	l.add("pack.attribute", e.Where(), "stages is a list of torques", `write it like ["12 N·m", "25 N·m", "43 N·m"]`)
	return nil
}

func (l *loader) step(b *syntax.Block, j *Joint) Step {
	s := Step{Say: l.text(b, "say"), BackOff: l.flag(b, "back_off"), Span: b.Span, Points: l.wholeList(b, "points")}
	if a := b.Attribute("to"); a != nil {
		s.To = l.scalar("to", a.Value, j.At, quantity.OfTorque)
		j.unsure = j.unsure || s.To == nil
	}
	want := quantity.OfAngle
	q, ok := l.quantity(b, "angle", &want)
	if ok {
		s.Angle = q.SI
	}
	j.unsure = j.unsure || lost(b, "points", "to", "angle", "back_off") || !ok && b.Attribute("angle") != nil || s.Points == nil && b.Attribute("points") != nil
	if s.To == nil && s.Angle == 0 && !s.BackOff && s.Say == "" && b.Attribute("to") == nil && b.Attribute("angle") == nil && !lost(b, "to", "angle", "back_off", "say") {
		l.add("joint.step", b.Span, "the step says nothing to do", `give it to = "12 N·m", angle = "90 deg", back_off = true or say = "…"`)
	}
	for _, n := range s.Points {
		if n < 1 || len(j.Points) > 0 && n > len(j.Points) {
			j.unsure = true
			l.add("joint.pattern", numberSpan(b, "points", n), fmt.Sprintf("the step names fastener %d, and there are %d", n, len(j.Points)), "number the fasteners from 1 in the order of points")
			break
		}
	}
	return s
}

// checkStages reports stages that go down, a last one outside of the torque, and
// steps that leave a fastener out.
func (l *loader) checkStages(b *syntax.Block, j *Joint) {
	var constants []*Scalar
	if j.Stages != nil {
		l.eachStages(j.Stages, func(items []*Scalar) {
			l.rising(items)
			l.lastInside(j, items)
		})
	}
	touched := map[int]bool{}
	all := len(j.Steps) == 0
	lastTo := map[int]*Scalar{}
	turned := false
	for _, s := range j.Steps {
		points := s.Points
		if len(points) == 0 {
			all = true
			for n := 1; n <= len(j.Points); n++ {
				points = append(points, n)
			}
			points = append(points, 0)
		}
		turned = turned || s.Angle != 0
		for _, n := range points {
			touched[n] = true
			before := lastTo[n]
			if before == nil {
				before = lastTo[0]
			}
			if s.BackOff {
				lastTo[n] = nil
				if n == 0 {
					clear(lastTo)
				}
				continue
			}
			if s.To == nil || s.To.Expr != nil {
				continue
			}
			if before != nil && s.To.Constant.SI < before.Constant.SI*(1-1e-9) {
				l.stageOrder(before, s.To)
			}
			lastTo[n] = s.To
		}
		if s.To != nil && s.To.Expr == nil && !s.BackOff {
			constants = append(constants, s.To)
		}
	}
	if !all && !j.unsure {
		for n := 1; n <= len(j.Points); n++ {
			if !touched[n] {
				l.add("joint.pattern", b.Span, fmt.Sprintf("no step tightens fastener %d of %d", n, len(j.Points)), "name it in a step, or leave points out of the last step")
				break
			}
		}
	}
	if !turned && len(constants) > 0 {
		l.lastInside(j, constants)
	}
	count := len(j.Steps)
	if j.Stages != nil {
		count = len(j.Stages.Items)
	}
	if j.PointOfNoReturn > count && count > 0 && !j.unsure {
		l.add("joint.no-return", b.Attribute("point_of_no_return").Value.Where(), fmt.Sprintf("there is no stage %d", j.PointOfNoReturn), fmt.Sprintf("count the stages or steps of the joint from 1 to %d", count))
	}
}

func (l *loader) eachStages(s *Stages, do func([]*Scalar)) {
	if s == nil {
		return
	}
	if s.Test != nil {
		l.eachStages(s.Then, do)
		l.eachStages(s.Else, do)
		return
	}
	do(s.Items)
}

func (l *loader) rising(items []*Scalar) {
	var before *Scalar
	for _, s := range items {
		if s.Expr != nil {
			before = nil
			continue
		}
		if before != nil && s.Constant.SI < before.Constant.SI*(1-1e-9) {
			l.stageOrder(before, s)
		}
		before = s
	}
}

func (l *loader) stageOrder(before, s *Scalar) {
	l.add("joint.stage-order", s.Span, fmt.Sprintf("a later stage is lower than the one before: %s follows %s", s.Text(), before.Text()), "correct the list, or write the loosening as a step with back_off = true")
}

// Text prints a constant scalar as it was written.
func (s *Scalar) Text() string { return s.Unit.Text(s.Constant.SI, s.Decimals) }

func (l *loader) lastInside(j *Joint, items []*Scalar) {
	if j.unsure || j.Torque == nil || j.Torque.Expression != nil || len(items) == 0 {
		return
	}
	last := items[len(items)-1]
	if last.Expr != nil {
		return
	}
	r := j.Torque.Constant
	slack := 1e-9 * last.Constant.SI
	if r.HasHigh && last.Constant.SI > r.High+slack || r.HasLow && last.Constant.SI < r.Low-slack {
		l.add("joint.last-stage", last.Span, fmt.Sprintf("the last stage, %s, lies outside of the torque %s", last.Text(), r.Text()), "end the stages inside the torque, or correct the torque")
	}
}

func (l *loader) checkTarget(b *syntax.Block, j *Joint) {
	if j.Target == nil || j.Target.Expr != nil || j.Torque == nil || j.Torque.Expression != nil {
		return
	}
	if r := j.Torque.Constant; !r.Contains(j.Target.Constant.SI*(1+1e-9)) && !r.Contains(j.Target.Constant.SI*(1-1e-9)) {
		l.add("joint.target", j.Target.Span, fmt.Sprintf("the target %s lies outside of the torque %s", j.Target.Text(), r.Text()), "aim inside the torque, or correct it")
	}
}

// checkThread reports a thread that is none, a torque that no such thread takes and
// a fastener longer than its hole.
func (l *loader) checkThread(b *syntax.Block, j *Joint) {
	if j.HasLength && j.HasHoleDepth && !lost(b, "through", "length", "hole_depth") && j.Length-j.Through > j.HoleDepth*(1+1e-9) {
		mm := quantity.MustUnit("mm")
		l.add("joint.bottoms", b.Attribute("length").Value.Where(), fmt.Sprintf("the fastener bottoms: %s of it enter a hole %s deep", mm.Text(j.Length-j.Through, 1), mm.Text(j.HoleDepth, 1)), "check length and hole_depth; say what is clamped with through = …")
	}
	a := b.Attribute("thread")
	if a == nil || j.Thread == "" {
		return
	}
	thread, err := joint.ParseThread(j.Thread)
	if err != nil {
		says, do := formula.Explain(err)
		l.add("joint.thread", a.Value.Where(), says, do)
		return
	}
	j.IsLH = j.Hand == "left" || thread.LeftHand()
	if j.Torque == nil || j.Torque.Expression != nil {
		return
	}
	low, high := joint.PlausibleTorque(thread)
	r := j.Torque.Constant
	highest, lowest := r.High, r.Low
	if !r.HasHigh {
		highest = r.Low
	}
	if !r.HasLow {
		lowest = r.High
	}
	text := func(t quantity.Torque) string { return r.Unit.Text(float64(t), 1) }
	switch {
	case highest > float64(high):
		l.add("joint.torque", j.Torque.Span, fmt.Sprintf("%s is more than a thread %s of the strongest common grade takes (%s)", r.Unit.Text(highest, max(r.Decimals, 0)), j.Thread, text(high)), "check the unit and the figure")
	case lowest < float64(low):
		l.add("joint.torque", j.Torque.Span, fmt.Sprintf("%s is less than a tenth of what a thread %s of the weakest common grade takes (%s)", r.Unit.Text(lowest, max(r.Decimals, 0)), j.Thread, text(low*10)), "check the unit and the figure")
	}
}

func (l *loader) operation(b *syntax.Block) {
	o := &Operation{Common: l.common(b), At: l.at(b), Uses: l.texts(b, "uses"), WaitsFor: l.text(b, "waits_for"),
		Good: l.text(b, "good"), Mistakes: l.texts(b, "mistakes"),
		Side: l.text(b, "side"), Fixture: l.text(b, "fixture"), Tool: l.text(b, "tool")}
	o.Stays, o.Trial, o.Never = l.flag(b, "stays"), l.flag(b, "trial"), l.flag(b, "never_skip")
	before := len(l.mistakes)
	o.Needs = names(l.refs(b, "needs", "operation"))
	o.In = names(l.refs(b, "in", "space"))
	o.Closes = names(l.refs(b, "closes", "space"))
	o.Opens = names(l.refs(b, "opens", "space"))
	l.unsureOrder = l.unsureOrder || len(l.mistakes) > before || lost(b, "needs", "in", "closes", "opens", "trial")
	o.Fits = names(l.refs(b, "fits", "slot"))
	o.Tightens = names(l.refs(b, "tightens", "joint"))
	o.PutsIn = names(l.refs(b, "puts_in", "temporary"))
	o.TakesOut = names(l.refs(b, "takes_out", "temporary"))
	o.Holds = l.refs(b, "holds", "number", "dimension", "sweep", "check")
	o.Disturbs = names(l.refs(b, "disturbs", "dimension"))
	o.Wait, o.HasWait = l.duration(b, "wait")
	o.Seconds = l.minutes(b, "minutes")
	if o.OffSeconds = o.Seconds; b.Attribute("off_minutes") != nil {
		o.OffSeconds = l.minutes(b, "off_minutes")
	}
	if b.Attribute("pours") != nil {
		o.Pours = map[string]quantity.Quantity{}
		want := quantity.OfVolume
		l.eachItem(b, "pours", `{ engine_oil = "150 mL" }`, func(key string, item syntax.Item) {
			if q, ok := l.quantityOf("pours", item.Value, &want); ok {
				o.Pours[key] = q
			}
		})
	}
	l.within(b, o)
	for _, s := range o.Closes {
		if slices.Contains(o.Opens, s) {
			l.add("route.closes-and-opens", b.Attribute("opens").Value.Where(), fmt.Sprintf("the operation closes and opens %s", s), "make two operations of it")
		}
	}
	l.pack.Operations = append(l.pack.Operations, o)
}

// minutes reads `minutes = 20` or `minutes = "20 min"`, in seconds.
func (l *loader) minutes(b *syntax.Block, name string) float64 {
	a := b.Attribute(name)
	if a == nil {
		return 0
	}
	if n, ok := a.Value.(*syntax.Number); ok && n.Value >= 0 {
		return n.Value * 60
	}
	if _, ok := bareNumber(a.Value); ok {
		l.wrong(a, "a time of zero or more", "20")
		return 0
	}
	s, _ := l.duration(b, name)
	return s
}

func (l *loader) within(b *syntax.Block, o *Operation) {
	a := b.Attribute("within")
	if a == nil {
		return
	}
	object, ok := a.Value.(*syntax.Object)
	if !ok {
		l.wrong(a, "a list of operations with times", `{ operation.close_cases = "10 min" }`)
		return
	}
	want := quantity.OfTime
	for _, item := range object.Items {
		r, ok := l.ref("within", item.Key, []string{"operation"})
		q, good := l.quantityOf("within", item.Value, &want)
		if !ok || !good {
			continue
		}
		if !(q.SI > 0) {
			l.add("pack.range", item.Value.Where(), "within must be above zero", "check the figure")
			continue
		}
		o.Within = append(o.Within, Within{r.Name, q.SI})
	}
}

func (l *loader) lock(b *syntax.Block) {
	k := &Lock{Common: l.common(b), At: l.at(b), From: names(l.refs(b, "from", "operation")), Until: l.refs(b, "until", "check", "operation"), Forbids: names(l.refs(b, "forbids", "operation"))}
	l.pack.Locks = append(l.pack.Locks, k)
}
