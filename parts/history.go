package parts

import (
	"slices"
	"sort"
	"strings"
	"time"

	"buttonup/journal"
)

// Past is another job of the shop, or this one.
type Past struct {
	// Job is its ID, Title and Engine what a person knows it by.
	Job, Title, Engine string
	// Family is the ID of its pack.
	Family string
	State  *journal.State
	// Catalogue is that of its pack; without one, events that name no slot say
	// nothing of slots.
	Catalogue *Catalogue
}

// How says how it went with a part that was fitted.
type How uint8

// The ways it went, the newest that the journal tells.
const (
	StillIn  How = iota // fitted, and nothing was said against it
	TakenOut            // removed again
	TurnedDown
	SentAway
)

// Fitting is a part that was fitted in one slot at one place of one engine.
type Fitting struct {
	Job, Title, Engine, Family string
	Slot, Place, Part, Lot     string
	// From is who it came from; Price is what was paid, as written.
	From, Price string
	// Sizes are those measured of the piece, as written.
	Sizes map[string]string
	At    time.Time
	How   How
	// Why is the reason given where it came out again; After is how long it was in.
	Why   string
	After time.Duration
	// Said is the newest of what was added after the job was closed.
	Said string
}

// life is what a journal tells of one part in one slot at one place.
type life struct {
	Fitting
	fitted bool
	seq    int
}

type lifeKey struct{ slot, place, part string }

// lives follows every part of a job through its events. An event without a slot is
// about every slot that the part fills, one without a place about every place.
func (p *Past) lives() []*life {
	if p.State == nil {
		return nil
	}
	byKey := map[lifeKey]*life{}
	var list []*life
	said := ""
	if n := len(p.State.Additions); n > 0 {
		said = p.State.Additions[n-1].Text
	}
	for i := range p.State.Parts {
		rec := &p.State.Parts[i]
		for _, at := range p.spots(rec) {
			if rec.PartBody.Part == "" {
				at.part = lastIn(list, at.slot, at.place)
			}
			if at.part == "" {
				continue
			}
			l := byKey[at]
			if l == nil {
				l = &life{Fitting: Fitting{Job: p.Job, Title: p.Title, Engine: p.Engine, Family: p.Family, Slot: at.slot, Place: at.place, Part: at.part, Said: said}}
				byKey[at] = l
				list = append(list, l)
			}
			l.take(rec)
		}
	}
	return list
}

// lastIn returns the part that was fitted last in a slot and is still there.
func lastIn(list []*life, slot, place string) string {
	part, seq := "", -1
	for _, l := range list {
		if l.Slot == slot && l.Place == place && l.fitted && l.How == StillIn && l.seq > seq {
			part, seq = l.Part, l.seq
		}
	}
	return part
}

func (l *life) take(rec *journal.PartRecord) {
	overwrite := func(to *string, from string) {
		if from != "" {
			*to = from
		}
	}
	overwrite(&l.Lot, rec.Lot)
	overwrite(&l.Price, rec.Price)
	overwrite(&l.From, rec.From)
	if len(rec.Sizes) > 0 {
		l.Sizes = rec.Sizes
	}
	l.seq = rec.Seq
	switch rec.State {
	case journal.Ordered:
		overwrite(&l.From, rec.To)
	case journal.Fitted:
		l.fitted, l.At, l.How, l.Why, l.After = true, rec.At, StillIn, "", 0
	case journal.Removed:
		l.end(TakenOut, rec)
	case journal.Rejected:
		l.end(TurnedDown, rec)
	case journal.Sent:
		l.end(SentAway, rec)
		overwrite(&l.Why, rec.Asked)
	}
}

func (l *life) end(how How, rec *journal.PartRecord) {
	l.How, l.Why = how, rec.Why
	if l.fitted {
		l.After = rec.At.Sub(l.At)
	}
}

// spots lists the slots and places that an event is about, as far as its pack tells.
func (p *Past) spots(rec *journal.PartRecord) []lifeKey {
	slots := []string{strings.TrimPrefix(rec.Slot, "slot.")}
	if rec.Slot == "" {
		if p.Catalogue == nil || p.Catalogue.parts[rec.PartBody.Part] == nil {
			return []lifeKey{{"", rec.Place, rec.PartBody.Part}}
		}
		slots = p.Catalogue.parts[rec.PartBody.Part].Fills
	}
	var out []lifeKey
	for _, s := range slots {
		places := []string{rec.Place}
		if rec.Place == "" && p.Catalogue != nil {
			places = p.Catalogue.Places(s)
		}
		for _, m := range places {
			out = append(out, lifeKey{s, m, rec.PartBody.Part})
		}
	}
	return out
}

// Places lists the places of a slot; one without a place has the place "".
func (c *Catalogue) Places(slot string) []string {
	s := c.slots[slot]
	if s == nil {
		return []string{""}
	}
	if k := c.pack.PlaceKinds[s.At]; k != nil {
		return k.Members
	}
	return []string{""}
}

// LastTime lists what was fitted in a slot on this kind of engine in other jobs, the
// newest first. The family is the ID of the pack; but is the job that asks.
func LastTime(past []Past, family, slot, but string) []Fitting {
	return fittings(past, func(f *Fitting) bool { return f.Family == family && f.Slot == slot && f.Job != but })
}

// WithLot lists the engines that have, or had, a part of a lot: what to look for when
// a maker's batch turns out bad. The part may be left empty.
func WithLot(past []Past, part, lot string) []Fitting {
	want := plainNumber(lot)
	return fittings(past, func(f *Fitting) bool {
		return want != "" && plainNumber(f.Lot) == want && (part == "" || f.Part == part)
	})
}

// fittings gathers what was fitted, the newest first.
func fittings(past []Past, wanted func(*Fitting) bool) []Fitting {
	var out []Fitting
	for i := range past {
		for _, l := range past[i].lives() {
			if l.fitted && wanted(&l.Fitting) {
				out = append(out, l.Fitting)
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].At.After(out[j].At) })
	return out
}

// Stock is a part on the shelf: received for a job and not fitted there.
type Stock struct {
	Part, Lot string
	Count     int
	// Job, Title are those of the job it was bought for, From who sold it.
	Job, Title, From, Price string
	Since                   time.Time
}

// Shelf lists what lies on the shelf over all jobs: what was received, or came back,
// less what was fitted, rejected or sent away, counted in pieces. What a job that is
// under way has received counts too, under its name.
func Shelf(past []Past) []Stock {
	type key struct{ job, part, lot string }
	var out []Stock
	for i := range past {
		p := &past[i]
		if p.State == nil {
			continue
		}
		pieces := map[key]*Stock{}
		var order []key
		for k := range p.State.Parts {
			rec := &p.State.Parts[k]
			if rec.PartBody.Part == "" {
				continue
			}
			at := key{p.Job, rec.PartBody.Part, rec.Lot}
			n := pieceCount(p, rec)
			switch rec.State {
			case journal.Received, journal.Back:
				s := pieces[at]
				if s == nil {
					s = &Stock{Part: rec.PartBody.Part, Lot: rec.Lot, Job: p.Job, Title: p.Title, Since: rec.At}
					pieces[at] = s
					order = append(order, at)
				}
				s.Count += n
				if rec.From != "" {
					s.From = rec.From
				}
				if rec.Price != "" {
					s.Price = rec.Price
				}
			case journal.Fitted, journal.Rejected, journal.Sent:
				n = takeFrom(pieces[at], n)
				for _, other := range order { // a lot that was not written down
					if n > 0 && other.part == at.part && (rec.Lot == "" || other.lot == "") {
						n = takeFrom(pieces[other], n)
					}
				}
			}
		}
		for _, at := range order {
			if pieces[at].Count > 0 {
				out = append(out, *pieces[at])
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Part < out[j].Part })
	return out
}

// takeFrom takes pieces from a stock and returns how many it did not have.
func takeFrom(s *Stock, n int) int {
	if s == nil {
		return n
	}
	taken := min(n, s.Count)
	s.Count -= taken
	return n - taken
}

// pieceCount is how many pieces an event is about: as it says, else one for each place
// of its slot, a kit being one piece whatever it fills.
func pieceCount(p *Past, rec *journal.PartRecord) int {
	if rec.Count > 0 {
		return rec.Count
	}
	if rec.Place != "" || p.Catalogue == nil {
		return 1
	}
	if x := p.Catalogue.parts[rec.PartBody.Part]; x != nil && len(x.Fills) > 1 {
		return 1
	}
	slot := strings.TrimPrefix(rec.Slot, "slot.")
	if slot == "" {
		if x := p.Catalogue.parts[rec.PartBody.Part]; x != nil {
			slot = first(x.Fills)
		}
	}
	return max(1, len(p.Catalogue.Places(slot)))
}

// Families lists the families of several jobs, each once, in their order.
func Families(past []Past) []string {
	var out []string
	for i := range past {
		if !slices.Contains(out, past[i].Family) {
			out = append(out, past[i].Family)
		}
	}
	return out
}
