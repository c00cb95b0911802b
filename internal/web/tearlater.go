package web

import (
	"fmt"
	"html"
	"math"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/words"
)

// foundAt is what it takes to get back to something when that is found after so many
// steps of the order of work.
type foundAt struct {
	Step  int
	After string // what was closed by then, "" for now
	Hours time.Duration
	Cost  string
}

// mostFound bounds how often the question is asked again, each time of a whole job.
const mostFound = 8

// later supposes the steps of the order of work to be done and asks the same question
// again after each that closes something: it is then that the price goes up.
func (v *tearView) later() []foundAt {
	sh := v.Sheet
	route := sh.A.Route()
	list := []foundAt{sh.foundNow(v.To, sh.State, 0, "")}
	events := append([]journal.Event(nil), sh.event...)
	gates := 0
	for i := range route.Steps {
		if s := &route.Steps[i]; closesForGood(s) {
			gates++
		}
	}
	every, seen := (gates+mostFound-3)/(mostFound-2), 0
	for i := range route.Steps {
		s := &route.Steps[i]
		state := journal.Done
		if s.Undo {
			state = journal.Undone
		}
		events = append(events, journal.New(fmt.Sprintf("supposed-%d", i), sh.made, "", journal.Operation{Operation: s.Operation.Name, Place: s.Operation.Place, State: state}))
		last := i == len(route.Steps)-1
		if closesForGood(s) {
			seen++
		}
		if !last && (!closesForGood(s) || (seen-1)%every != 0) {
			continue
		}
		after := words.AllDone
		if len(s.Closes) > 0 && !last {
			after = words.Named(sh.pack.Pack, s.Closes[0])
		}
		list = append(list, sh.foundNow(v.To, (&journal.Journal{Events: events}).Fold(), i+1, after))
	}
	return list
}

func closesForGood(s *assess.RouteStep) bool { return len(s.Closes) > 0 && !s.Trial && !s.Undo }

func (s *sheet) foundNow(to string, state *journal.State, step int, after string) foundAt {
	x := foundAt{Step: step, After: after}
	if t, err := s.pack.model.TearBack(state, assess.Options{Now: s.made, FirstOrder: true}, to); err == nil && len(t.Ways) > 0 {
		x.Hours = t.Ways[0].Work + t.Ways[0].Again
		if t.Ways[0].Cost.Hundredths > 0 {
			x.Cost = t.Ways[0].Cost.String()
		}
	}
	return x
}

// laterFigures are the price now, after the next closing that raises it, and at the end.
func laterFigures(list []foundAt) []foundAt {
	out := []foundAt{list[0]}
	for _, x := range list[1 : len(list)-1] {
		if x.Hours > list[0].Hours {
			out = append(out, x)
			break
		}
	}
	end := list[len(list)-1]
	if end.Hours > out[len(out)-1].Hours {
		out = append(out, end)
	}
	return out
}

// laterDrawing draws the hours to get back by the step at which it is found; it goes up
// where a space is closed.
func laterDrawing(list []foundAt) string {
	const width, left, right, base, top = 358.0, 6.0, 352.0, 92.0, 22.0
	steps := list[len(list)-1].Step
	most := 0.0
	for _, x := range list {
		most = math.Max(most, x.Hours.Hours())
	}
	if steps == 0 || most == 0 {
		return ""
	}
	x := func(step int) float64 { return left + float64(step)/float64(steps)*(right-left) }
	y := func(h time.Duration) float64 { return base - h.Hours()/most*(base-top-10) }
	var path strings.Builder
	fmt.Fprintf(&path, "M%s %s", px(x(0)), px(y(list[0].Hours)))
	for _, f := range list[1:] {
		fmt.Fprintf(&path, "H%sV%s", px(x(f.Step)), px(y(f.Hours)))
	}
	var d drawing
	d.add(`<path d="%sV%sH%sZ" class="f-bluew"/><path d="M%s %sH%s" class="s-line2" stroke-width="1.4"/>`, path.String(), px(base), px(left), px(left), px(base), px(right))
	d.add(`<path d="%s" class="f-none s-blue" stroke-width="2.5"/>`, path.String())
	for _, f := range list[1:] {
		d.add(`<path d="M%s %sv9" class="s-ink" stroke-width="2"/><circle cx="%s" cy="%s" r="3" class="f-paper s-ink" stroke-width="1.6"/>`, px(x(f.Step)), px(base), px(x(f.Step)), px(base+11))
	}
	d.add(`<path d="M%s 2h12l-6 11z" class="f-blue"/><path d="M%s 12V%s" class="s-blue" stroke-width="1.5"/>`, px(x(0)), px(x(0)+6), px(base))
	d.text(x(0)+18, 13, "b cb", "now")
	d.text(right, 13, "end", words.HoursMinutes(list[len(list)-1].Hours)+" h")
	return svg(`class="dr later" viewBox="0 0 358 108" role="img" aria-label="`+html.EscapeString(words.LaterSays(list[0].Hours, list[len(list)-1].Hours))+`"`, &d)
}
