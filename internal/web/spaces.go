package web

import (
	"net/http"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/words"
)

// spacesView is the page of all spaces of an engine.
type spacesView struct {
	view
	Facts   string
	Spaces  []spaceLine
	Drawing string
	Board   []countLine
}

// spaceLine is one space: open, about to be closed, or closed.
type spaceLine struct {
	*assess.Space
	ID, Title string
	// Next is set for the spaces that an operation may close now, or is held from only by
	// what is inside.
	Next bool
	// ClosedWhen is when and by what it was closed; Closers name what is still to be done
	// until it is.
	ClosedWhen string
	Closers    []string
	// Begins is where the closing begins: the page that says what stands before it.
	Begins  *obstacle
	Closing *assess.Closing
	// Open is what is inside and not proven; Over what it was closed over.
	Open   []insideLine
	Proven []insideLine
	Over   []obstacle
	// Until is the last moment of what can still be done, Tear where it is told what
	// opens the space again, Price what that costs.
	Until, Tear string
	Price       []string
}

// insideLine is one thing inside a space.
type insideLine struct {
	Sign, Ink, Title, What, Last, Address string
}

// countLine is what was put in for a while, counted in and out.
type countLine struct {
	Title, Says, Address string
	In, Out              int
}

// mostInside keeps the page light where much lies inside; of a space that closes next it
// lists more.
const (
	mostInside     = 12
	mostInsideNext = 60
)

func (x *spaceLine) atOnce() int {
	if x.Next {
		return mostInsideNext
	}
	return mostInside
}

func spacesPath(s *sheet, name, place string) string {
	return jobPath(s.Job.ID, "spaces") + "#" + spaceID(name, place)
}

func spaceID(name, place string) string {
	return slug(strings.TrimSpace("space." + name + " " + place))
}

func tearPath(s *sheet, reference string) string {
	return query(jobPath(s.Job.ID, "tearback"), "to", reference)
}

func (s *Server) spaces(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &spacesView{view: s.view(r, "spaces", sh)}
	v.Title, v.Also = "Spaces", []string{"work.css"}
	v.fill()
	s.show(w, r, http.StatusOK, spacesPage(v))
}

func (v *spacesView) fill() {
	sh := v.Sheet
	closings := map[string]assess.SpaceClosing{}
	for _, c := range sh.pack.model.SpaceClosings(sh.State, assess.Options{Now: sh.made}) {
		closings[c.Space] = c
	}
	closed := 0
	for i := range sh.A.Spaces {
		x := v.line(&sh.A.Spaces[i], closings[spaceReference(&sh.A.Spaces[i])])
		if x.Closed {
			closed++
		}
		v.Spaces = append(v.Spaces, x)
	}
	v.Facts = words.SpacesFacts(closed, len(v.Spaces))
	v.Drawing = sectionDrawing(v)
	// What closes next comes first, then what is open, what is closed last.
	rank := func(x *spaceLine) int {
		switch {
		case x.Next:
			return 0
		case !x.Closed:
			return 1
		case len(x.Over) > 0:
			return 2
		}
		return 3
	}
	slices.SortStableFunc(v.Spaces, func(a, b spaceLine) int { return rank(&a) - rank(&b) })
	v.board()
}

func (v *spacesView) line(sp *assess.Space, c assess.SpaceClosing) spaceLine {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	x := spaceLine{Space: sp, ID: spaceID(sp.Name, sp.Place), Title: words.Title(sp.Title, sp.Place)}
	x.Tear = tearPath(sh, spaceReference(sp))
	if sp.Closed {
		x.ClosedWhen = sh.closedWhen(c.By)
		for _, op := range sp.Unfinished {
			x.Over = append(x.Over, obstacle{words.Operation(p, op), doPath(sh, op)})
		}
		return x
	}
	for _, op := range c.By {
		if !sh.isDone(op) {
			x.Closers = append(x.Closers, words.Operation(p, op))
		}
	}
	if c.Next == nil {
		return x
	}
	x.Closing = c.Next
	x.Begins = &obstacle{words.Operation(p, c.Next.Operation), doPath(sh, c.Next.Operation) + "#closes"}
	x.Next = slices.Contains(sh.A.Next, c.Next.Operation) || len(sh.because(c.Next.Operation)) > 0 && len(others(sh.because(c.Next.Operation))) == 0
	for i := range c.Next.Open {
		x.Open = append(x.Open, v.inside(&c.Next.Open[i], c.Next.Operation, false))
	}
	for i := range c.Next.Proven {
		x.Proven = append(x.Proven, v.inside(&c.Next.Proven[i], c.Next.Operation, true))
	}
	if slices.ContainsFunc(c.Next.Open, func(x assess.Inside) bool { return !x.Gone && x.Last == c.Next.Operation }) {
		x.Until = words.UntilWhen(p, c.Next.Operation)
	}
	x.Price = words.ComingBack(c.Next)
	return x
}

// inside makes a line of one thing inside, with where to see to it.
func (v *spacesView) inside(x *assess.Inside, closing assess.Operation, proven bool) insideLine {
	sh, p := v.Sheet, v.Sheet.pack.Pack
	l := insideLine{Sign: "todo", Ink: "mute", Address: doPath(sh, x.By)}
	if proven {
		l.Title, l.What = words.ProvenInside(p, x, v.System)
		l.Sign, l.Ink = "done", "blue"
		if x.Accepted != nil {
			l.Sign, l.Ink = "hold", "unsure"
		}
		return l
	}
	l.Title, l.What = words.InsideBriefly(p, x, closing, v.System)
	if x.Gone || x.Last != closing {
		l.Last = words.LastMoment(p, x)
	}
	switch x.Kind {
	case assess.InsideHold:
		l.Sign, l.Ink = glyphOf(x.Result)
		if x.Result.Kind == "dimension" {
			l.Address = readPath(sh, x.Result)
		} else {
			l.Address += "#" + holdID(x.Result)
		}
	case assess.InsidePhoto:
		l.Sign = "plus"
	case assess.InsideTemporary:
		l.Sign, l.Ink = "block", "worn"
		if x.By.Name == "" {
			l.Address = ""
		}
	}
	if x.Gone {
		l.Sign, l.Ink = "block", "worn"
	}
	return l
}

// closedWhen is when the last of its closers was done.
func (s *sheet) closedWhen(by []assess.Operation) string {
	var last *journal.OperationRecord
	var which assess.Operation
	for i := range s.State.Operations {
		rec := &s.State.Operations[i]
		op := assess.Operation{Name: strings.TrimPrefix(rec.Operation, "operation."), Place: rec.Place}
		if rec.State == journal.Done && slices.Contains(by, op) && (last == nil || rec.Seq > last.Seq) {
			last, which = rec, op
		}
	}
	if last == nil {
		return words.ClosedFromStart
	}
	return words.ClosedWhen(s.pack.Pack, which, last.At, last.By, last.Late)
}

// board counts what was put in for a while: in, and out again.
func (v *spacesView) board() {
	sh := v.Sheet
	still := map[assess.PutIn]bool{}
	for _, x := range sh.A.Point.In {
		still[assess.PutIn{Temporary: x.Temporary, By: x.By}] = true
	}
	for _, t := range sh.pack.Temporaries {
		for _, op := range sh.pack.Operations {
			if !slices.ContainsFunc(op.PutsIn, func(name string) bool { return strings.TrimPrefix(name, "temporary.") == t.Name }) {
				continue
			}
			for _, place := range members(sh.pack.Pack, op.At) {
				by := assess.Operation{Name: op.Name, Place: place}
				if !sh.wasDone(by) {
					continue
				}
				x := assess.PutIn{Temporary: "temporary." + t.Name, By: by}
				in := still[x]
				x.Count = max(1, t.Count)
				l := countLine{Title: words.Title(t.Title, place), Says: words.PutInAt(sh.pack.Pack, x), Address: doPath(sh, by), In: x.Count}
				if !in {
					l.Out = x.Count
				}
				v.Board = append(v.Board, l)
			}
		}
	}
	slices.SortStableFunc(v.Board, func(a, b countLine) int { return min(a.Out, 1) - min(b.Out, 1) })
}

// wasDone says whether an operation was ever entered as done.
func (s *sheet) wasDone(op assess.Operation) bool {
	return slices.ContainsFunc(s.State.Operations, func(rec journal.OperationRecord) bool {
		return rec.State == journal.Done && rec.Place == op.Place && strings.TrimPrefix(rec.Operation, "operation.") == op.Name
	})
}
