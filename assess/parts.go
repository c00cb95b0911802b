package assess

import (
	"reflect"
	"slices"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/quantity"
)

// fill is what is known of the part in a slot.
type fill struct {
	part  string
	state string
	sizes map[string]float64
	pack  *pack.Part
	seq   int
	// fitted is set where a part is there or on its way: kept, ordered, received or
	// fitted.
	there, kept bool
}

// ranks order the states of a part by how close it is to being in its slot; what is
// not listed does not count.
var ranks = map[string]int{journal.Fitted: 4, journal.Kept: 4, journal.Received: 3, journal.Back: 3, journal.Ordered: 2, journal.Wanted: 1}

// size returns a size of the part: of the piece in hand if it was measured, else as
// the pack has it.
func (f *fill) size(name string) (float64, bool) {
	if x, ok := f.sizes[name]; ok {
		return x, true
	}
	if f.pack != nil {
		if q, ok := f.pack.Sizes[name]; ok {
			return q.SI, true
		}
	}
	return 0, false
}

func (r *run) fillOf(slot, place string) *fill {
	if i, ok := r.slotIndex[instance{slot, place}]; ok {
		return &r.fills[i]
	}
	return nil
}

// partState is the newest word about one part in one slot.
type partState struct {
	part string
	rec  *journal.PartRecord
	// sizes are the newest that were given for the piece.
	sizes map[string]float64
}

// collectFills finds the part of every slot: the one fitted, else received, ordered,
// wanted; of equals the newest.
func (r *run) collectFills() {
	r.fills = make([]fill, len(r.slots))
	if len(r.slots) == 0 {
		for i := range r.state.Parts {
			r.partSlots(&r.state.Parts[i])
		}
		return
	}
	states := make([][]partState, len(r.slots))
	for i := range r.state.Parts {
		rec := &r.state.Parts[i]
		reported := map[string]bool{}
		for _, s := range r.partSlots(rec) {
			if rec.PartBody.Part == "" && ranks[rec.State] == 0 {
				states[s] = nil // whatever was in the slot is out of it
				continue
			}
			at := slices.IndexFunc(states[s], func(p partState) bool { return p.part == rec.PartBody.Part })
			if at < 0 {
				states[s] = append(states[s], partState{part: rec.PartBody.Part})
				at = len(states[s]) - 1
			}
			states[s][at].rec = rec
			if len(rec.Sizes) > 0 {
				states[s][at].sizes = r.sizesOf(rec, r.slots[s].Slot, reported)
			}
		}
	}
	for s := range states {
		best := &r.fills[s]
		for _, p := range states[s] {
			rank := ranks[p.rec.State]
			if rank == 0 || rank < ranks[best.state] || rank == ranks[best.state] && p.rec.Seq < best.seq {
				continue
			}
			*best = fill{part: p.part, state: p.rec.State, sizes: p.sizes, pack: r.parts[p.part], seq: p.rec.Seq,
				there: rank >= 2, kept: p.rec.State == journal.Kept}
		}
	}
}

// sizesOff lists the sizes of a new piece, measured on arrival, that lie outside the
// tolerance of the pack. A part that was kept is worn, and its limits are those of the
// dimensions.
func (f *fill) sizesOff() []SizeOff {
	if f.pack == nil || f.kept || !f.there {
		return nil
	}
	var off []SizeOff
	for _, name := range keys(f.sizes) {
		if band, ok := f.pack.Bands[name]; ok && !band.Contains(f.sizes[name]) {
			off = append(off, SizeOff{name, f.sizes[name], band})
		}
	}
	return off
}

// sizesOf reads the sizes of a piece in hand. One that is no quantity of the kind that
// the slot asks for is reported once and left out.
func (r *run) sizesOf(rec *journal.PartRecord, slot *pack.Slot, reported map[string]bool) map[string]float64 {
	sizes := make(map[string]float64, len(rec.Sizes))
	for _, name := range keys(rec.Sizes) {
		q, err := quantity.Parse(rec.Sizes[name])
		want, asked := slot.Sizes[name]
		if err == nil && (!asked || q.Dimension == want) {
			sizes[name] = q.SI
			continue
		}
		if reported[name] {
			continue
		}
		reported[name] = true
		says, do := quoted(rec.Sizes[name])+" is a "+q.Dimension.String()+", and "+name+" is a "+want.String(), "enter it again with a unit of "+want.String()
		if err != nil {
			says, do = whatIsWrong(err)
		}
		r.broken(rec.Stamp, journal.CodeBrokenLine, "the size "+name+" of the part "+quoted(rec.PartBody.Part)+": "+says, do)
	}
	return sizes
}

// partSlots lists the slots that a part event is about.
func (r *run) partSlots(rec *journal.PartRecord) []int {
	names := []string{trimKind(rec.Slot, "slot")}
	part := r.parts[rec.PartBody.Part]
	if rec.Slot == "" {
		if part == nil {
			r.broken(rec.Stamp, CodeUnknownName, "the pack has no part called "+quoted(rec.PartBody.Part)+", and the event names no slot", orElse(nearest(rec.PartBody.Part, keys(r.parts)), "name the slot"))
			return nil
		}
		names = part.Fills
	}
	var list []int
	for _, name := range names {
		if i, ok := r.slotIndex[instance{name, rec.Place}]; ok {
			list = append(list, i)
			continue
		}
		places := r.placesOf("slot", name)
		if rec.Place == "" && len(places) > 0 {
			for _, p := range places {
				list = append(list, r.slotIndex[instance{name, p}])
			}
			continue
		}
		if rec.Slot != "" || len(names) == 1 {
			r.unknownPlace(rec.Stamp, "slot", name, rec.Place)
		}
	}
	return list
}

// judgeParts lists the slots that still want a part, and the parts that do not fit.
func (r *run) judgeParts() {
	needed := r.neededSlots()
	engine := r.engine()
	for i := range r.slots {
		s := &r.slots[i]
		if !r.stands(s.when) {
			continue
		}
		f := &r.fills[i]
		if (needed[s.Name] || s.AlwaysReplace) && (!f.there || f.kept && s.AlwaysReplace) {
			r.out.Missing = append(r.out.Missing, Slot{s.Name, s.place, s.Title, s.AlwaysReplace})
			r.find(Finding{Code: CodePartMissing, Severity: Note, Of: "slot." + s.Name, Place: s.place, Title: s.Title})
		}
		if f.part == "" {
			continue
		}
		if off := f.sizesOff(); len(off) > 0 {
			r.find(Finding{Code: CodePartSize, Severity: Attention, Of: "slot." + s.Name, Place: s.place, Title: f.part, Sizes: off})
		}
		if reasons := r.catalogue.Misfit(engine, s.Name, s.place, f.part); len(reasons) > 0 {
			m := Misfit{Slot: s.Name, Place: s.place, Part: f.part, State: f.state, Title: s.Title, Because: reasons}
			m.Nearest = r.catalogue.Judge(engine, s.Name, s.place, f.part).Nearest
			r.out.Misfits = append(r.out.Misfits, m)
		}
	}
	for i := range r.out.Misfits {
		m := &r.out.Misfits[i]
		r.find(Finding{Code: CodePartMisfit, Severity: Stop, Of: "slot." + m.Slot, Place: m.Place, Title: m.Part, Misfit: m})
	}
}

// Catalogue returns the parts of the pack, made ready to be asked.
func (m *Model) Catalogue() *parts.Catalogue { return m.catalogue }

// Engine is what a journal tells of the engine as far as parts go: what was chosen and
// seen, and the part of every slot.
func (m *Model) Engine(s *journal.State) *parts.Engine {
	r := &run{Model: m, state: s, out: &Assessment{Pack: m.pack}}
	r.collectChoices()
	r.collectFills()
	r.evaluateFacts()
	return r.engine()
}

// engine is what is known of the engine as far as parts go.
func (r *run) engine() *parts.Engine {
	e := &parts.Engine{Choices: r.choices, Assumed: map[string]bool{}}
	if r.state.Job != nil {
		e.Number = r.state.Job.EngineNumber
	}
	for _, o := range r.pack.Options {
		if _, made := r.state.Options[o.Name]; !made && o.Default != "" {
			e.Assumed[o.Name] = true
		}
	}
	for i := range r.slots {
		s, f := &r.slots[i], &r.fills[i]
		if f.part != "" && r.stands(s.when) {
			e.Chosen = append(e.Chosen, parts.Chosen{Slot: s.Name, Place: s.place, Part: f.part, State: f.state, Sizes: f.sizes})
		}
	}
	return e
}

// gatherRepeats finds the misfits of one part that have the same reasons, so that a
// reader is told once; one that was accepted stands apart from one that was not.
func (r *run) gatherRepeats() {
	list := r.out.Findings
	for i := range list {
		first := list[i].Misfit
		if first == nil || first.Repeats {
			continue
		}
		for k := i + 1; k < len(list); k++ {
			m := list[k].Misfit
			if m == nil || m.Part != first.Part || (list[k].Accepted == nil) != (list[i].Accepted == nil) || !reflect.DeepEqual(m.Because, first.Because) {
				continue
			}
			m.Repeats = true
			first.Also = append(first.Also, Slot{Name: m.Slot, Place: m.Place, Title: m.Title})
		}
	}
}
