package web

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/words"
)

// tearView is the page on what must come off to reach something.
type tearView struct {
	view
	// To is the reference that is asked for, Name what it is called.
	To, Name string
	Spaces   []tearTarget
	Groups   []tearGroup
	// Wrong says why the question cannot be answered, Do what to do.
	Wrong, Do string
	Open      bool
	Ways      []wayView
	Because   []chainLine
	Breaks    string
	Cautions  []caution
	// Later is what it takes when it is found later, drawn in Curve; LaterAt is where
	// that is told.
	Later          []foundAt
	Curve, LaterAt string
}

// tearTarget is something that may have to be reached.
type tearTarget struct {
	Reference, Title, Says, Address string
	Chosen                          bool
}

// tearGroup is a part of the list of all that can be asked for.
type tearGroup struct {
	Says    string
	Targets []tearTarget
}

// wayView is one way to get there.
type wayView struct {
	Title string
	Costs []costFigure
	Off   []offLine
	Also  []offLine // done because it opens something
	New   []string
	Read  []string
	Tight []obstacle
}

type costFigure struct{ Label, Figure, Unit string }

// offLine is one operation that is taken back, with what that uses up.
type offLine struct {
	Number, Title, Time, Address string
	Burn                         []string
}

func (s *Server) tearBack(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &tearView{view: s.view(r, "tearback", sh), To: strings.TrimSpace(r.URL.Query().Get("to"))}
	v.Title, v.Also = "Tear-back", []string{"work.css"}
	v.targets()
	if v.To != "" {
		v.answer(r.URL.Query().Get("later") != "")
	}
	s.show(w, r, http.StatusOK, tearPage(v))
}

// targets lists what may have to be reached: closed spaces first, then what is done.
func (v *tearView) targets() {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	target := func(reference, title, says string) tearTarget {
		return tearTarget{reference, title, says, tearPath(sh, reference), reference == v.To}
	}
	var closed, open tearGroup
	closed.Says, open.Says = "Closed spaces", "Open spaces"
	for i := range sh.A.Spaces {
		sp := &sh.A.Spaces[i]
		x := target(spaceReference(sp), words.Title(sp.Title, sp.Place), "")
		if !sp.Closed {
			open.Targets = append(open.Targets, x)
			continue
		}
		if n := len(sp.Unfinished); n > 0 {
			x.Says = words.ClosedOver(n)
		}
		closed.Targets = append(closed.Targets, x)
		v.Spaces = append(v.Spaces, x)
	}
	done, todo := tearGroup{Says: "Steps that are done"}, tearGroup{Says: "Steps to come"}
	for _, st := range sh.steps() {
		x := target(st.Operation.String(), st.Title, "")
		if st.Done {
			done.Targets = append(done.Targets, x)
		} else {
			todo.Targets = append(todo.Targets, x)
		}
	}
	for _, g := range []tearGroup{closed, done, todo, open} {
		if len(g.Targets) > 0 {
			v.Groups = append(v.Groups, g)
		}
	}
	v.Name = words.Named(p, v.To)
}

// answer finds the ways; with later it also says what they are once more is closed.
func (v *tearView) answer(later bool) {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	t, err := sh.pack.model.TearBack(sh.State, assess.Options{Now: sh.made}, v.To)
	var unknown *assess.NotFoundError
	switch {
	case errors.As(err, &unknown):
		v.Wrong, v.Do = words.Upper(unknown.Says)+".", "Choose it from the list."
		return
	case err != nil:
		v.Wrong, v.Do = words.Upper(err.Error())+".", "Choose it from the list."
		return
	}
	v.To, v.Name, v.Open = t.To, words.Named(p, t.To), t.Open
	for i := range t.Ways {
		v.Ways = append(v.Ways, v.way(&t.Ways[i]))
	}
	if len(v.Ways) > 0 {
		v.Ways[0].Title = "The least"
	}
	for i := 1; i < len(v.Ways); i++ {
		v.Ways[i].Title = "Another way"
	}
	at, breaks := words.Breaks(p, t.Why)
	for i, says := range words.Chain(p, t.Why) {
		v.Because = append(v.Because, chainLine{says, sh.linkAddress(t.Why[i]), i == at})
	}
	if len(t.Why) > 0 {
		v.Breaks = breaks
	}
	for i := range t.Ways {
		v.cautions(&t.Ways[i])
	}
	v.LaterAt = query(jobPath(sh.Job.ID, "tearback"), "to", v.To, "later", "yes")
	if later && len(sh.A.Route().Steps) > 0 {
		list := v.later()
		v.Later, v.Curve = laterFigures(list), laterDrawing(list)
	}
}

func (v *tearView) way(w *assess.Way) wayView {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	x := wayView{Costs: []costFigure{
		{"To take back", words.HoursMinutes(w.Work), "h"},
		{"To do again", words.HoursMinutes(w.Again), "h"},
	}}
	if w.Waits > 0 {
		x.Costs = append(x.Costs, costFigure{"Waits", words.HoursMinutes(w.Waits), "h"})
	}
	switch {
	case w.Cost.Hundredths > 0 && w.Unpriced:
		x.Costs = append(x.Costs, costFigure{"New parts, some unpriced", w.Cost.Amount(), w.Cost.Currency})
	case w.Cost.Hundredths > 0:
		x.Costs = append(x.Costs, costFigure{"New parts", w.Cost.Amount(), w.Cost.Currency})
	case len(w.Replace) > 0:
		x.Costs = append(x.Costs, costFigure{"New parts", "no price", ""})
	}
	told := make([]bool, len(w.Replace))
	for _, op := range w.Undo {
		l := v.off(op, true)
		for i := range w.Replace {
			if !told[i] && sh.usesUp(op, w.Replace[i].Of) {
				told[i] = true
				l.Burn = append(l.Burn, words.UsedUp(p, &w.Replace[i]))
			}
		}
		x.Off = append(x.Off, l)
	}
	for _, op := range w.Do {
		x.Also = append(x.Also, v.off(op, false))
	}
	for i := range w.Replace {
		if !told[i] {
			x.New = append(x.New, words.UsedUp(p, &w.Replace[i]))
		}
	}
	x.Read = words.Gathered(p, w.Remeasure)
	for _, reference := range w.Retorque {
		says := words.Named(p, reference)
		if j := sh.jointOf(reference); j != nil {
			if facts := words.TorqueFacts(j, v.System); facts != "" {
				says += ", " + facts
			}
		}
		x.Tight = append(x.Tight, obstacle{says, sh.addressOf(reference)})
	}
	return x
}

// off is a line of an operation that is taken back, or done because it opens something.
func (v *tearView) off(op assess.Operation, undo bool) offLine {
	l := offLine{Address: doPath(v.Sheet, op)}
	l.Number, l.Title = words.NumberAndTitle(v.Sheet.pack.Pack, op)
	if block := v.Sheet.operation(op.Name); block != nil {
		takes := block.Seconds
		if undo {
			takes = block.OffSeconds
		}
		if takes > 0 {
			l.Time = words.HoursMinutes(time.Duration(takes * float64(time.Second)))
		}
	}
	return l
}

// usesUp says whether an operation fits a slot or tightens a joint.
func (s *sheet) usesUp(here assess.Operation, reference string) bool {
	op := s.operation(here.Name)
	if op == nil {
		return false
	}
	name, place, _ := strings.Cut(reference, " ")
	kind, name, _ := strings.Cut(name, ".")
	list, at := op.Fits, ""
	switch kind {
	case "slot":
		for _, x := range s.pack.Slots {
			if x.Name == name {
				at = x.At
			}
		}
	case "joint":
		list = op.Tightens
		for _, x := range s.pack.Joints {
			if x.Name == name {
				at = x.At
			}
		}
	}
	return slices.ContainsFunc(list, func(x string) bool { return strings.TrimPrefix(x, kind+".") == name }) &&
		slices.Contains(s.reach(op.At, here.Place, at), place)
}

// jointOf finds the joint that a reference names.
func (s *sheet) jointOf(reference string) *assess.Joint {
	name, place, _ := strings.Cut(reference, " ")
	return s.joint(strings.TrimPrefix(name, "joint."), place)
}

// cautions gathers what can hurt someone on a way: of its operations, of their joints,
// and those that the pack writes beside them.
func (v *tearView) cautions(w *assess.Way) {
	for _, op := range slices.Concat(w.Undo, w.Do) {
		if block := v.Sheet.operation(op.Name); block != nil {
			for _, c := range v.Sheet.cautionsOf(block) {
				if !slices.Contains(v.Cautions, c) {
					v.Cautions = append(v.Cautions, c)
				}
			}
		}
	}
}

// cautionsOf lists those of an operation, of its joints and those that the pack writes
// beside it.
func (s *sheet) cautionsOf(op *pack.Operation) []caution {
	var list []caution
	add := func(title, text string) {
		if text != "" && !slices.Contains(list, caution{title, text}) {
			list = append(list, caution{title, text})
		}
	}
	add("", op.Caution)
	for _, c := range s.pack.Cautions {
		for _, of := range c.AppliesTo {
			if strings.TrimPrefix(of, "operation.") == op.Name {
				add(c.Title, c.Text)
			}
		}
	}
	for _, name := range op.Tightens {
		for _, j := range s.pack.Joints {
			if j.Name == strings.TrimPrefix(name, "joint.") {
				add(j.Title, j.Caution)
			}
		}
	}
	return list
}
