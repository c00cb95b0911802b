package formula

import "math"

// runner computes a program, with registers of its own.
type runner struct {
	*program
	register []block
	streams  []source
	values   []float64
}

func (p *program) runner() *runner {
	return &runner{program: p, register: make([]block, p.registers), streams: make([]source, len(p.unknowns)), values: make([]float64, 0, 8)}
}

// start begins a batch of samples.
func (r *runner) start(seed, batch uint64) {
	for i, u := range r.unknowns {
		r.streams[i] = newSource(seed, batch, uint64(u))
	}
}

// run computes one block of lanes and hands each output on.
func (r *runner) run(output func(i int, b *block)) {
	for i := range r.steps {
		s := &r.steps[i]
		switch s.kind {
		case stepDraw:
			r.streams[s.stream].draw(s.shape, s.k0, s.k, &r.register[s.out])
		case stepLinear:
			r.linear(s)
		case stepMultiply:
			multiply(&r.register[s.out], &r.register[s.terms[0].register], &r.register[s.terms[1].register], s.k, s.k0)
		case stepDivide:
			divide(&r.register[s.out], &r.register[s.terms[0].register], &r.register[s.terms[1].register], s.k)
		case stepOutput:
			output(int(s.stream), &r.register[s.terms[0].register])
		default:
			r.lanes(s)
		}
	}
}

// The loops below add and multiply in steps of their own, so that every machine
// rounds alike.

// linear computes k0 + Σ kᵢ·aᵢ, four terms at a time.
func (r *runner) linear(s *step) {
	out, t := &r.register[s.out], s.terms
	at := func(i int) (*block, float64) { return &r.register[t[i].register], t[i].k }
	switch len(t) {
	case 0:
		for l := range out {
			out[l] = s.k0
		}
		return
	case 1:
		a, ka := at(0)
		for l := range out {
			out[l] = s.k0 + float64(ka*a[l])
		}
		return
	case 2:
		a, ka := at(0)
		b, kb := at(1)
		for l := range out {
			out[l] = s.k0 + float64(ka*a[l]) + float64(kb*b[l])
		}
		return
	case 3:
		a, ka := at(0)
		b, kb := at(1)
		c, kc := at(2)
		for l := range out {
			out[l] = s.k0 + float64(ka*a[l]) + float64(kb*b[l]) + float64(kc*c[l])
		}
		return
	}
	a, ka := at(0)
	b, kb := at(1)
	c, kc := at(2)
	d, kd := at(3)
	for l := range out {
		out[l] = s.k0 + float64(ka*a[l]) + float64(kb*b[l]) + float64(kc*c[l]) + float64(kd*d[l])
	}
	i := 4
	for ; i+4 <= len(t); i += 4 {
		a, ka := at(i)
		b, kb := at(i + 1)
		c, kc := at(i + 2)
		d, kd := at(i + 3)
		for l := range out {
			out[l] += float64(ka*a[l]) + float64(kb*b[l]) + float64(kc*c[l]) + float64(kd*d[l])
		}
	}
	for ; i+2 <= len(t); i += 2 {
		a, ka := at(i)
		b, kb := at(i + 1)
		for l := range out {
			out[l] += float64(ka*a[l]) + float64(kb*b[l])
		}
	}
	if i < len(t) {
		a, ka := at(i)
		for l := range out {
			out[l] += float64(ka * a[l])
		}
	}
}

func multiply(out, a, b *block, k, k0 float64) {
	switch {
	case k0 != 0:
		for l := range out {
			out[l] = k0 + float64(k*float64(a[l]*b[l]))
		}
	case k != 1:
		for l := range out {
			out[l] = k * float64(a[l]*b[l])
		}
	default:
		for l := range out {
			out[l] = a[l] * b[l]
		}
	}
}

func divide(out, a, b *block, k float64) {
	for l := range out {
		out[l] = k * float64(a[l]/b[l])
	}
}

// lanes computes what is neither a sum nor a product.
func (r *runner) lanes(s *step) {
	out := &r.register[s.out]
	a := &r.register[s.terms[0].register]
	switch s.op {
	case opAbs:
		for l := range out {
			out[l] = math.Abs(a[l])
		}
		return
	case opSqrt:
		for l := range out {
			out[l] = math.Sqrt(a[l])
		}
		return
	case opCube:
		for l := range out {
			out[l] = float64(a[l]*a[l]) * a[l]
		}
		return
	case opMin, opMax:
		*out = *a
		for _, t := range s.terms[1:] {
			b := &r.register[t.register]
			if s.op == opMin {
				for l := range out {
					out[l] = min(out[l], b[l]) // NaN stays NaN
				}
			} else {
				for l := range out {
					out[l] = max(out[l], b[l])
				}
			}
		}
		return
	}
	for l := range out {
		v := r.values[:0]
		for _, t := range s.terms {
			v = append(v, r.register[t.register][l])
		}
		out[l] = onOne(s.op, s.extra, r.functions, r.tables, v)
		r.values = v
	}
}

// onOne computes an operation on one sample. A value that is not there, NaN, makes the
// result one too, except where it does not count: in the branch that is not taken,
// and beside what already settles an "and" or an "or".
func onOne(o op, extra int32, functions []*Function, tables []*Table, v []float64) float64 {
	switch o {
	case opSelect:
		switch {
		case math.IsNaN(v[0]):
			return math.NaN()
		case v[0] != 0:
			return v[1]
		}
		return v[2]
	case opAnd, opOr:
		decides := truth(o == opOr)
		if v[0] == decides || v[1] == decides {
			return decides
		}
	}
	for _, x := range v {
		if math.IsNaN(x) {
			return math.NaN()
		}
	}
	var y float64
	var err error
	switch o {
	case opFunction:
		y, err = functions[extra].Evaluate(v)
	case opCurve:
		y, err = tables[extra].At(v[0])
	default:
		y = compute(o, v)
	}
	if err != nil {
		return math.NaN()
	}
	return y
}
