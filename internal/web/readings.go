package web

import (
	"net/http"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/words"
)

type readingsView struct {
	view
	Begun, Read []*assess.Result
	// Open is what is still to be read, by the step that waits for it.
	Open  []readingGroup
	Count int // of all that is still to be read
}

// readingGroup is what one step waits for.
type readingGroup struct {
	Says    string
	Unfold  bool
	Results []*assess.Result
}

// readings lists every dimension with how far it is read.
func (s *Server) readings(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &readingsView{view: s.view(r, "readings", sh)}
	v.Title = "Readings"
	var open []*assess.Result
	for _, x := range toRead(sh) {
		if x.Readings > 0 || x.Stale != nil {
			v.Begun = append(v.Begun, x)
		} else {
			open = append(open, x)
		}
	}
	v.Count, v.Open = len(open), sh.byStep(open)
	for i := range sh.A.Results {
		if x := &sh.A.Results[i]; x.Kind == "dimension" && x.HasValue && len(x.Missing) == 0 && x.Stale == nil {
			v.Read = append(v.Read, x)
		}
	}
	s.show(w, r, http.StatusOK, readingsPage(v))
}

// byStep sorts what is to be read under the first step, in the pack's order, that waits
// for it: a job has hundreds of readings, and the next one is what a person looks for.
// What no step waits for comes last. The first group is unfolded.
func (s *sheet) byStep(open []*assess.Result) []readingGroup {
	waiting := map[string]*assess.Result{} // by reference and place
	for _, r := range open {
		waiting[at(r.Reference(), r.Place)] = r
	}
	var groups []readingGroup
	steps := s.steps()
	for i := 0; i < len(steps); {
		group := readingGroup{}
		name := steps[i].Name
		for ; i < len(steps) && steps[i].Name == name; i++ { // its places come one after the other
			if steps[i].Done {
				continue
			}
			if group.Says == "" {
				group.Says = words.Operation(s.pack.Pack, assess.Operation{Name: name})
			}
			for _, ref := range s.waitsFor(steps[i].Operation) {
				if r := waiting[ref]; r != nil {
					group.Results = append(group.Results, r)
					delete(waiting, ref)
				}
			}
		}
		if len(group.Results) > 0 {
			groups = append(groups, group)
		}
	}
	rest := slices.DeleteFunc(slices.Clone(open), func(r *assess.Result) bool { return waiting[at(r.Reference(), r.Place)] == nil })
	if len(rest) > 0 {
		groups = append(groups, readingGroup{Says: "No step waits for these", Results: rest})
	}
	if len(groups) > 0 {
		groups[0].Unfold = true
	}
	return groups
}

// waitsFor lists the dimensions, with their places, that a step holds for: those it names,
// and those from which a number that it names is still to be found.
func (s *sheet) waitsFor(step assess.Operation) []string {
	op := s.operation(step.Name)
	if op == nil {
		return nil
	}
	var list []string
	for _, hold := range op.Holds {
		for i := range s.A.Results {
			r := &s.A.Results[i]
			if r.Kind != hold.Kind || r.Name != hold.Name || !slices.Contains(s.reach(op.At, step.Place, s.placeOf(r)), r.Place) {
				continue
			}
			if r.Kind == "dimension" {
				list = append(list, at(r.Reference(), r.Place))
				continue
			}
			for _, missing := range r.Missing {
				if strings.HasPrefix(missing, "dimension.") {
					list = append(list, missing)
				}
			}
		}
	}
	return list
}

// at joins a reference and a place as results do.
func at(reference, place string) string { return strings.TrimSpace(reference + " " + place) }
