package web

import (
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// sizeChoice is a number that hangs on which part is chosen, with the parts as they
// would bring it out.
type sizeChoice struct {
	Title, Wanted string
	Lines         []sizeLine
	More          []sizeLine
}

type sizeLine struct {
	Part, Title, Rank string
	Result            *assess.Result
	Says              string // how far its size is from what is wanted
	Why               string // why it does not fit
}

// mostSizeNumbers and mostSizeLines keep the list to what is looked at.
const (
	mostSizeNumbers = 3
	mostSizeLines   = 4
)

// whichSize ranks the parts of a slot by what they would bring out.
func (v *placeView) whichSize() {
	sh := v.Sheet
	if c, ok := v.nearestSize(); ok {
		v.Choices = append(v.Choices, c)
	}
	for _, m := range sh.pack.model.Moves(sh.State, assess.Options{Now: sh.made}, v.Slot.Name, v.Place) {
		if len(v.Choices) == mostSizeNumbers {
			break
		}
		c := sizeChoice{Title: words.Title(m.Of.Title, m.Of.Place), Wanted: words.Wanted(words.ResultIn(m.Of, v.System))}
		for i := range m.Candidates {
			x := &m.Candidates[i]
			l := sizeLine{Part: x.Part}
			if p := sh.part(x.Part); p != nil {
				l.Title = p.Title
			}
			if x.Result != nil {
				l.Result = words.ResultIn(x.Result, v.System)
			}
			if x.Misfit != nil {
				l.Why = "does not fit here"
			} else if i == 0 && x.Fits() {
				l.Rank = "the best"
			} else if i == 1 && x.Fits() {
				l.Rank = "next best"
			}
			if len(c.Lines) < mostSizeLines {
				c.Lines = append(c.Lines, l)
			} else {
				c.More = append(c.More, l)
			}
		}
		v.Choices = append(v.Choices, c)
	}
}

// nearestSize ranks the parts by how near their size is to the one that is wanted.
func (v *placeView) nearestSize() (sizeChoice, bool) {
	sh := v.Sheet
	wanted := sh.wantedSize(v.Slot, v.Place)
	if wanted == nil || !wanted.HasValue {
		return sizeChoice{}, false
	}
	for _, size := range sh.sizeNames(v.Slot, wanted.Unit.Dimension) {
		list, err := sh.pack.model.Nearest(sh.State, assess.Options{Now: sh.made}, v.Slot.Name, v.Place, size, wanted.Name, wanted.Place)
		if err != nil {
			continue
		}
		c := sizeChoice{Title: words.Title(wanted.Title, wanted.Place), Wanted: words.Shown(words.ResultIn(wanted, v.System))}
		for i := range list {
			l := sizeLine{Part: list[i].Part, Says: words.SizeOff(sh.part(list[i].Part).Sizes[size], wanted, v.System)}
			l.Title = sh.part(l.Part).Title
			switch {
			case list[i].Misfit != nil:
				l.Why = "does not fit here"
			case i == 0:
				l.Rank = "the best"
			case i == 1:
				l.Rank = "next best"
			}
			if len(c.Lines) < mostSizeLines {
				c.Lines = append(c.Lines, l)
			} else {
				c.More = append(c.More, l)
			}
		}
		return c, true
	}
	return sizeChoice{}, false
}

// wantedSize is the number that tells which size is wanted in a slot: it has the name of
// the slot, or the end of it, and _wanted behind it.
func (s *sheet) wantedSize(slot *pack.Slot, place string) *assess.Result {
	var found *assess.Result
	for i := range s.A.Results {
		r := &s.A.Results[i]
		stem, is := strings.CutSuffix(r.Name, "_wanted")
		if r.Kind == "number" && is && (stem == slot.Name || strings.HasSuffix(slot.Name, "_"+stem)) && (r.Place == place || r.Place == "") {
			found = r
		}
	}
	return found
}

// sizeNames are the sizes of a dimension that the parts of a slot state.
func (s *sheet) sizeNames(slot *pack.Slot, d quantity.Dimension) []string {
	var list []string
	for _, p := range s.pack.Parts {
		if !slices.ContainsFunc(p.Fills, func(x string) bool { return strings.TrimPrefix(x, "slot.") == slot.Name }) {
			continue
		}
		for name, q := range p.Sizes {
			if q.Dimension == d && !slices.Contains(list, name) {
				list = append(list, name)
			}
		}
	}
	slices.Sort(list)
	return list
}

// sized says whether the part of a slot is chosen by its size, and where that is done.
func (s *sheet) sized(slot *pack.Slot, place string) string {
	if len(s.pack.model.SizesAsked(slot.Name)) == 0 && s.wantedSize(slot, place) == nil {
		return ""
	}
	n := 0
	for _, p := range s.pack.Parts {
		if len(p.Sizes) > 0 && slices.ContainsFunc(p.Fills, func(x string) bool { return strings.TrimPrefix(x, "slot.") == slot.Name }) {
			n++
		}
	}
	if n < 2 {
		return ""
	}
	return partPath(s, slot.Name, place) + "#sizes"
}
