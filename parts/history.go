package parts

import (
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

// LastTimes gives [LastTime] for every slot at once.
func LastTimes(past []Past, family, but string) map[string][]Fitting {
	out := map[string][]Fitting{}
	for _, f := range fittings(past, func(f *Fitting) bool { return f.Family == family && f.Job != but }) {
		out[f.Slot] = append(out[f.Slot], f)
	}
	return out
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
// less what was fitted, rejected or sent away, counted in pieces. A kit is one piece,
// however many of its places were written down, and it is used once any of it is
// fitted. What a job that is under way has received counts too, under its name.
func Shelf(past []Past) []Stock {
	var out []Stock
	for i := range past {
		if past[i].State != nil {
			out = append(out, past[i].stock()...)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Part < out[j].Part })
	return out
}

// tally counts what came and went of one lot of one part, for a kit place by place.
type tally struct {
	stock Stock
	kit   bool
	came  map[string]int
	went  map[string]int
}

// left is how many pieces are there still: of a kit, those that no place has used.
func (t *tally) left() int { return max(0, t.most(t.came)-t.most(t.went)) }

func (t *tally) most(count map[string]int) int {
	sum, most := 0, 0
	for _, n := range count {
		sum += n
		most = max(most, n)
	}
	if t.kit {
		return most
	}
	return sum
}

// stock lists what one job has on the shelf, in the order in which it came.
func (p *Past) stock() []Stock {
	type key struct{ part, lot string }
	tallies := map[key]*tally{}
	var order []key
	for k := range p.State.Parts {
		rec := &p.State.Parts[k]
		id := rec.PartBody.Part
		at := key{id, rec.Lot}
		if id == "" {
			continue
		}
		place, n := p.pieceCount(rec)
		switch rec.State {
		case journal.Received, journal.Back:
			t := tallies[at]
			if t == nil {
				t = &tally{stock: Stock{Part: id, Lot: rec.Lot, Job: p.Job, Title: p.Title, Since: rec.At}, kit: p.isKit(id), came: map[string]int{}, went: map[string]int{}}
				tallies[at] = t
				order = append(order, at)
			}
			t.came[place] += n
			if rec.From != "" {
				t.stock.From = rec.From
			}
			if rec.Price != "" {
				t.stock.Price = rec.Price
			}
		case journal.Fitted, journal.Rejected, journal.Sent:
			for _, other := range order { // first the lot itself, then one not written down
				if other == at || other.part == id && (rec.Lot == "" || other.lot == "") {
					t := tallies[other]
					taken := min(n, max(0, t.most(t.came)-t.went[place]))
					if !t.kit {
						taken = min(n, t.left())
					}
					t.went[place] += taken
					n -= taken
				}
			}
		}
	}
	var out []Stock
	for _, at := range order {
		t := tallies[at]
		if t.stock.Count = t.left(); t.stock.Count > 0 {
			out = append(out, t.stock)
		}
	}
	return out
}

// isKit reports whether a part is several pieces in one.
func (p *Past) isKit(id string) bool {
	if p.Catalogue == nil {
		return false
	}
	x := p.Catalogue.parts[id]
	return x != nil && len(x.Fills) > 1 && !x.Either
}

// pieceCount is the place that an event is about and how many pieces: as it says, else
// one for each place of its slot, a kit being one piece whatever it fills.
func (p *Past) pieceCount(rec *journal.PartRecord) (place string, n int) {
	slot := strings.TrimPrefix(rec.Slot, "slot.")
	place = strings.TrimSpace(slot + " " + rec.Place)
	switch {
	case rec.Count > 0:
		return place, rec.Count
	case rec.Place != "" || p.Catalogue == nil || p.isKit(rec.PartBody.Part):
		return place, 1
	}
	if x := p.Catalogue.parts[rec.PartBody.Part]; slot == "" && x != nil {
		slot = first(x.Fills)
	}
	return place, max(1, len(p.Catalogue.Places(slot)))
}
