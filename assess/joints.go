package assess

import (
	"slices"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
)

// judgeJoints follows how far every joint is tightened.
func (r *run) judgeJoints() {
	indices := make([]int, len(r.joints))
	for i := range r.joints {
		j := &r.joints[i]
		indices[i] = -1
		if !r.stands(j.when) {
			continue
		}
		out := Joint{Joint: j.Joint, Name: j.Name, Place: j.place, Title: j.Title, State: "loose", Points: max(len(j.Points), 1), Unit: quantity.MustUnit("N·m")}
		out.Torque, _ = r.rangeOf(&j.torque)
		if j.torque.there {
			out.Unit = j.torque.constant.Unit
		}
		if j.Target != nil {
			if x, ok := r.scalar(j.Target, j.At, j.place); ok {
				out.Target = quantity.Value{SI: x, Dimension: quantity.OfTorque}
			}
		}
		out.Stages = r.stages(j)
		out.Done = make([]int, len(out.Stages))
		indices[i] = len(r.out.Joints)
		r.out.Joints = append(r.out.Joints, out)
	}
	loosened := r.loosened()
	for i := range r.state.Torques {
		rec := &r.state.Torques[i]
		name := trimKind(rec.Joint, "joint")
		at, ok := r.jointIndex[instance{name, rec.Place}]
		switch {
		case !ok:
			r.unknownPlace(rec.Stamp, "joint", name, rec.Place)
		case rec.Seq < loosened[at]:
			// Taken apart since: it says nothing of how the joint stands.
		case indices[at] >= 0:
			r.tighten(&r.out.Joints[indices[at]], rec)
		}
	}
	for i := range r.out.Joints {
		j := &r.out.Joints[i]
		last := len(j.Done) - 1
		for s, n := range j.Done {
			if n > 0 {
				j.State = "under way"
			}
			if s == last && n >= j.Points {
				j.State = "tight"
			}
		}
	}
}

// loosened says for each joint when what it is tightened for was last taken back; zero
// for never.
func (r *run) loosened() []int {
	since := make([]int, len(r.joints))
	for i := range r.state.Operations {
		rec := &r.state.Operations[i]
		if rec.State != journal.Undone {
			continue
		}
		at, ok := r.operationIndex[instance{trimKind(rec.Operation, "operation"), rec.Place}]
		if !ok {
			continue
		}
		op := &r.operations[at]
		for _, name := range op.Tightens {
			for k := range r.joints {
				if j := &r.joints[k]; j.Name == trimKind(name, "joint") && slices.Contains(r.reach(op.At, op.place, j.At), j.place) {
					since[k] = max(since[k], rec.Seq)
				}
			}
		}
	}
	return since
}

// scalar returns a value that may depend on options and part sizes.
func (r *run) scalar(s *pack.Scalar, place, member string) (float64, bool) {
	if s.Expr == nil {
		return s.Constant.SI, true
	}
	return r.evaluateFact(s.Expr, place, member)
}

// stages returns the torques of the stages or steps of a joint; one without any is
// tightened in one.
func (r *run) stages(j *jointAt) []float64 {
	var list []float64
	add := func(s *pack.Scalar) {
		x := 0.0
		if s != nil {
			x, _ = r.scalar(s, j.At, j.place)
		}
		list = append(list, x)
	}
	for s := j.Stages; s != nil; {
		if s.Test == nil {
			for _, item := range s.Items {
				add(item)
			}
			break
		}
		x, ok := r.evaluateFact(s.Test, j.At, j.place)
		switch {
		case !ok:
			s = nil
		case x != 0:
			s = s.Then
		default:
			s = s.Else
		}
	}
	for i := range j.Steps {
		add(j.Steps[i].To)
	}
	if len(list) == 0 {
		list = []float64{0}
		if j.Target != nil {
			list[0], _ = r.scalar(j.Target, j.At, j.place)
		}
	}
	return list
}

// tighten counts one record of a torque and holds it against the joint.
func (r *run) tighten(j *Joint, rec *journal.TorqueRecord) {
	f := Finding{Of: "joint." + j.Name, Place: j.Place, Title: j.Title, Event: rec.Event, Line: rec.Line}
	stage := rec.Stage
	if stage == 0 {
		stage = 1
		if len(j.Done) > 1 {
			stage = len(j.Done)
		}
	}
	if stage > len(j.Done) || rec.Point > j.Points {
		f.Code, f.Severity = CodeStageUnknown, Attention
		f.Detail = "the record names a stage or fastener that the joint does not have"
		r.find(f)
		return
	}
	if stage > 1 && j.Done[stage-2] == 0 {
		f.Code, f.Severity = CodeStageSkipped, Attention
		f.Torque = j.Stages[stage-2]
		f.Range = j.Torque
		r.find(f)
	}
	points := 1
	if rec.All || rec.Point == 0 {
		points = j.Points
	}
	j.Passes = append(j.Passes, rec)
	j.Done[stage-1] = min(j.Done[stage-1]+points, j.Points)
	x := j.Stages[stage-1]
	if rec.Value != "" {
		q, err := quantity.Parse(rec.Value)
		if err != nil || q.Dimension != quantity.OfTorque {
			r.broken(rec.Stamp, journal.CodeBrokenLine, "the torque "+quoted(rec.Value)+" of "+j.Name+" is not one", `write it like "43 N·m"`)
			return
		}
		x = q.SI
	}
	j.Last = x
	lastStage := stage == len(j.Done)
	over := j.Torque.HasHigh && x > j.Torque.High*(1+1e-9)
	under := lastStage && j.Torque.HasLow && x < j.Torque.Low*(1-1e-9)
	if rec.Value != "" && (over || under) {
		f.Code, f.Severity, f.Torque, f.Range = CodeTorqueOutside, Stop, x, j.Torque
		r.find(f)
	}
}
