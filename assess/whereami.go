package assess

import (
	"slices"
)

// Point is the exact point at which the work on an engine stands: what is half done,
// what is in it for a while, what was cured since.
type Point struct {
	// Last is what was done last; empty for nothing.
	Last Operation
	// Joints are those under way, as places in Assessment.Joints.
	Joints []int
	// In are temporaries that are in, each with the place where it was put in.
	In []PutIn
	// Sets are results that were begun and are not read in full, as places in
	// Assessment.Results.
	Sets []int
	// Halves are operations that are done at one place and can be done at another now.
	Halves []Operation
	// Over are the waits that a person ended last: those after which nothing was done
	// yet that needed them.
	Over []Operation
}

// PutIn is a temporary that is in, and what put it there.
type PutIn struct {
	Temporary string
	By        Operation
	Count     int
}

// concludePoint says where the work stands.
func (r *run) concludePoint() {
	p := &r.out.Point
	w := r.work
	last := -1
	for i := range w.ops {
		if w.ops[i].done && (last < 0 || w.ops[i].seq > w.ops[last].seq) {
			last = i
		}
	}
	if last >= 0 {
		p.Last = Operation{r.operations[last].Name, r.operations[last].place}
	}
	for i := range r.operations {
		x := &r.operations[i]
		if !r.standing(i) {
			continue
		}
		name := Operation{x.Name, x.place}
		if w.ops[i].done {
			for _, t := range r.order.putsIn[i] {
				if r.stillIn(w, i, t) {
					p.In = append(p.In, PutIn{"temporary." + t, name, r.temporaryCount(t)})
				}
			}
			if (x.HasWait || x.WaitsFor != "") && !w.ops[i].waiting && r.justOver(i) {
				p.Over = append(p.Over, name)
			}
			continue
		}
		if x.place != "" && r.doneElsewhere(i) && slices.Contains(r.out.Next, name) {
			p.Halves = append(p.Halves, name)
		}
	}
	for i := range r.out.Joints {
		if r.out.Joints[i].State == "under way" {
			p.Joints = append(p.Joints, i)
		}
	}
	for i := range r.out.Results {
		if x := &r.out.Results[i]; x.Kind == "dimension" && x.Readings > 0 && len(x.Missing) > 0 {
			p.Sets = append(p.Sets, i)
		}
	}
}

func (r *run) temporaryCount(name string) int {
	for _, t := range r.pack.Temporaries {
		if t.Name == name {
			return max(1, t.Count)
		}
	}
	return 1
}

// doneElsewhere reports whether an operation is done at another of its places.
func (r *run) doneElsewhere(i int) bool {
	for j := range r.operations {
		if j != i && r.operations[j].Name == r.operations[i].Name && r.work.ops[j].done {
			return true
		}
	}
	return false
}

// justOver reports whether nothing was done yet that waited for what came after an
// operation.
func (r *run) justOver(i int) bool {
	ahead := false
	for _, j := range r.order.neededBy[i] {
		if !r.standing(j) {
			continue
		}
		if r.work.ops[j].done {
			return false
		}
		ahead = true
	}
	return ahead
}
