package pack

import (
	"fmt"
	"slices"
	"strings"
)

// placedWork is the operations at their places, and what each needs and closes there: an
// operation at the front does not wait for one at the rear that has its name.
type placedWork struct {
	*loader
	ops              []placedOperation
	index            map[[2]string]int
	spaceAt          map[string]string
	closers, openers map[[2]string][]int // operations, by space and place
	needs, edges     [][]int
	words            map[[2]int]string
}

type placedOperation struct {
	*Operation
	place string
}

func (o *placedOperation) says() string { return strings.TrimSpace(o.Name + " " + o.place) }

// checkLoops reports loops through needs and closings.
func (l *loader) checkLoops() {
	w := &placedWork{loader: l, index: map[[2]string]int{}, spaceAt: map[string]string{}, closers: map[[2]string][]int{}, openers: map[[2]string][]int{}, words: map[[2]int]string{}}
	for _, s := range l.pack.Spaces {
		w.spaceAt[s.Name] = s.At
	}
	at := map[string]string{}
	for _, o := range l.pack.Operations {
		at[o.Name] = o.At
		for _, m := range w.members(o.At) {
			w.index[[2]string{o.Name, m}] = len(w.ops)
			w.ops = append(w.ops, placedOperation{o, m})
		}
	}
	w.needs, w.edges = make([][]int, len(w.ops)), make([][]int, len(w.ops))
	for i := range w.ops {
		o := &w.ops[i]
		for _, n := range o.Needs {
			for _, m := range w.reach(o.At, o.place, at[n]) {
				if j, ok := w.index[[2]string{n, m}]; ok {
					w.needs[i] = append(w.needs[i], j)
					w.words[[2]int{i, j}] = "needs"
				}
			}
		}
		for _, s := range o.Closes {
			w.each(o, s, func(key [2]string) { w.closers[key] = append(w.closers[key], i) })
		}
		for _, s := range o.Opens {
			w.each(o, s, func(key [2]string) { w.openers[key] = append(w.openers[key], i) })
		}
		w.edges[i] = slices.Clone(w.needs[i])
	}
	for i := range w.ops {
		if o := &w.ops[i]; !l.unsureOrder && len(o.In) > 0 {
			after := w.after(i)
			for _, s := range o.In {
				w.each(o, s, func(key [2]string) { w.closingEdge(i, key, after) })
			}
		}
	}
	w.tell()
}

// members are those of a place; one without a name where there is none, or where a
// mistake leaves open what they are.
func (w *placedWork) members(place string) []string {
	if k := w.places[place]; k != nil && !k.Unknown {
		return k.Members
	}
	return []string{""}
}

// reach is at which places a reference is meant.
func (w *placedWork) reach(from, member, to string) []string {
	if k := w.places[to]; k == nil || k.Unknown {
		return []string{""}
	}
	if up, ok := w.places.Up(from, member, to); ok {
		return []string{up}
	}
	return w.places.Below(from, member, to)
}

func (w *placedWork) each(o *placedOperation, space string, do func(key [2]string)) {
	for _, m := range w.reach(o.At, o.place, w.spaceAt[space]) {
		do([2]string{space, m})
	}
}

// after marks what an operation needs, directly or through others.
func (w *placedWork) after(i int) []bool {
	seen := make([]bool, len(w.ops))
	for stack := []int{i}; len(stack) > 0; {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, n := range w.needs[at] {
			if !seen[n] {
				seen[n] = true
				stack = append(stack, n)
			}
		}
	}
	return seen
}

// closingEdge adds that the operation that closes a space comes after the work in
// it: the last of several, which is sure only where all the others come before the
// work anyway.
func (w *placedWork) closingEdge(i int, space [2]string, after []bool) {
	for _, o := range w.openers[space] {
		if o == i || after[o] {
			return // the space was opened again before this work
		}
	}
	closers := w.closers[space]
	last := -1
	for _, c := range closers {
		if c == i {
			return // a closing operation is not itself in the space
		}
		if w.ops[c].Trial || after[c] && len(closers) > 1 {
			continue
		}
		if last >= 0 {
			return // either of them may be the last
		}
		last = c
	}
	if last < 0 {
		for _, c := range closers {
			if !w.ops[c].Trial {
				last = c // all of them come before the work: any closes the loop
			}
		}
	}
	if last < 0 || slices.Contains(w.edges[last], i) {
		return
	}
	w.edges[last] = append(w.edges[last], i)
	w.words[[2]int{last, i}] = "closes " + strings.TrimSpace(space[0]+" "+space[1]) + ", where work is still to be done:"
}

// tell reports each loop once, however many places have it.
func (w *placedWork) tell() {
	var written []string
	number := map[string]int{}
	edges := map[string][]string{}
	for i := range w.ops {
		name := w.ops[i].says()
		written = append(written, name)
		number[name] = i
		for _, j := range w.edges[i] {
			edges[name] = append(edges[name], w.ops[j].says())
		}
	}
	told := map[string]bool{}
	for _, names := range loops(written, edges) {
		var chain []int
		same := ""
		for _, n := range names {
			chain = append(chain, number[n])
			same += w.ops[number[n]].Name + " "
		}
		if !told[same] {
			told[same] = true
			w.add("route.loop", w.declared["operation"][w.ops[chain[0]].Name].Labels[0].Span, "these operations wait for each other: "+w.tellChain(chain), w.breaks(chain))
		}
	}
}

// longestChain is how many links of a loop are told before it is shortened.
const longestChain = 12

func (w *placedWork) tellChain(chain []int) string {
	var b strings.Builder
	b.WriteString(w.ops[chain[0]].says())
	for i := range chain {
		if i >= longestChain && i < len(chain)-2 {
			if i == longestChain {
				b.WriteString(" and so on,")
			}
			continue
		}
		next := chain[(i+1)%len(chain)]
		fmt.Fprintf(&b, " %s %s", w.words[[2]int{chain[i], next}], w.ops[next].says())
		if i+1 < len(chain) {
			b.WriteString(", which")
		}
	}
	return b.String()
}

// breaks names the link at which a loop is most likely to be broken: what needs the
// closing, else the last that needs the first.
func (w *placedWork) breaks(chain []int) string {
	for k, i := range chain {
		says := w.words[[2]int{i, chain[(k+1)%len(chain)]}]
		space, closes := strings.CutPrefix(says, "closes ")
		if !closes {
			continue
		}
		space, _, _ = strings.Cut(space, ",")
		inside, before := &w.ops[chain[(k+1)%len(chain)]], &w.ops[chain[(k+len(chain)-1)%len(chain)]]
		if before.Operation == inside.Operation {
			return fmt.Sprintf("take %s out of the needs of %s, or let %s be closed by another operation", w.ops[i].Name, before.Name, space)
		}
		return fmt.Sprintf("take %s out of the needs of %s, let %s be closed by another operation, or do %s before it is closed", w.ops[i].Name, before.Name, space, inside.Name)
	}
	first, last := &w.ops[chain[0]], &w.ops[chain[len(chain)-1]]
	if first.Operation == last.Operation {
		return fmt.Sprintf("take %s out of its own needs", first.Name)
	}
	return fmt.Sprintf("take %s out of the needs of %s, or break it at another of these links", first.Name, last.Name)
}
