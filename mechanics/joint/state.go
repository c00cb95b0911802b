package joint

import (
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// State is what is on a thread and under the head while it is tightened.
type State uint8

// The states that have a band of friction.
const (
	// StateUnknown is the zero value.
	StateUnknown State = iota
	// Dry is clean steel as delivered, without added oil.
	Dry
	// Oiled is engine oil or grease on thread and bearing face.
	Oiled
	// ThreadLocker is liquid locker, still wet.
	ThreadLocker
	// AntiSeize is copper, nickel or aluminium paste.
	AntiSeize
	// MolyPaste is paste or varnish with molybdenum disulphide or graphite.
	MolyPaste
)

var stateNames = [...]string{"unknown", "dry", "oiled", "thread locker", "anti-seize", "moly paste"}

// String returns the name as packs write it.
func (s State) String() string {
	if int(s) < len(stateNames) {
		return stateNames[s]
	}
	return stateNames[0]
}

// stateWords are other words for the states, without spaces and hyphens.
var stateWords = map[string]State{
	"dry": Dry, "cleananddry": Dry, "clean": Dry, "degreased": Dry, "asdelivered": Dry,
	"oiled": Oiled, "oil": Oiled, "lightoil": Oiled, "lightlyoiled": Oiled, "engineoil": Oiled, "lubricated": Oiled,
	"greased": Oiled, "grease": Oiled,
	"threadlocker": ThreadLocker, "locker": ThreadLocker, "threadlock": ThreadLocker, "mediumlocker": ThreadLocker,
	"mediumthreadlocker": ThreadLocker, "lockingcompound": ThreadLocker,
	"antiseize": AntiSeize, "copperpaste": AntiSeize, "coppergrease": AntiSeize, "nickelpaste": AntiSeize,
	"molypaste": MolyPaste, "moly": MolyPaste, "mos2": MolyPaste, "molybdenumdisulphide": MolyPaste, "graphite": MolyPaste,
}

// ParseState reads a state as a pack writes it: dry, oiled, thread locker, anti-seize,
// moly paste, and a few words that mean the same. An *[argument.Error] that lists them is
// returned for another word; nothing is guessed.
func ParseState(text string) (State, error) {
	key := strings.NewReplacer(" ", "", "-", "", "_", "").Replace(strings.ToLower(text))
	if s, ok := stateWords[key]; ok {
		return s, nil
	}
	return StateUnknown, argument.Refuse("state", "the friction of "+quoteShort(text)+" is not known", "write dry, oiled, thread locker, anti-seize or moly paste, or give the friction itself")
}

// Friction returns the band of friction of a state, the same for thread and head.
//
//	dry            0.14 .. 0.24   class C: bare, phosphated, plated; no lubricant
//	oiled          0.08 .. 0.16   class B: greases, oils
//	moly paste     0.04 .. 0.10   class A: MoS2, graphite and the like in pastes
//	anti-seize     0.06 .. 0.14   ours: holds K 0.12 of a textbook and 0.15 to 0.17
//	                              as measured on a 7/8-9 bolt
//	thread locker  0.10 .. 0.19   ours: class B times 1.20, the factor of an army
//	                              manual for locker on its oiled figures
//
// For steel at room temperature; stainless steel and bare aluminium gall and are
// outside these bands. An *[argument.Error] is returned for an unknown state.
//
// Source: VDI 2230 part 1, friction classes. Seen: three stored pages that print the
// table. Manual: TM 5-3810-294-34, table 1-2 (seen). Textbook: Shigley, table of nut
// factors (memory). Measured: a stored page on lubrication and the nut factor (seen).
func (s State) Friction() (FrictionBand, error) {
	switch s {
	case Dry:
		return BothAt(0.14, 0.24), nil
	case Oiled:
		return BothAt(0.08, 0.16), nil
	case MolyPaste:
		return BothAt(0.04, 0.10), nil
	case AntiSeize:
		return BothAt(0.06, 0.14), nil
	case ThreadLocker:
		return BothAt(0.10, 0.19), nil
	}
	return FrictionBand{}, argument.Refuse("state", "the friction of a thread in an unknown state is not known", "say what is on the thread, or give the friction itself")
}

// Mismatch is what happens to the preload when a torque meant for one state is used on
// a thread in another.
type Mismatch struct {
	// Meant is the preload that the figure was for; Got is what it brings now.
	Meant, Got ForceBand
	// Typical is Got over Meant at the middle of both friction bands: 0.7 means that
	// the joint typically clamps with 0.7 of what was meant.
	Typical float64
	// Low and High bound that ratio.
	Low, High float64
}

// CompareStates returns what a torque meant for one state of the thread brings in
// another. It never changes the torque: what the figure on the sheet should be is a
// matter for the engine maker, and a table of correction factors belongs to the table
// it was printed with.
//
//	Meant, Got = preload at the torque over the friction band of each state
//	Typical    = K(middle of meant)/K(middle of got)
//	Low, High  = Got.Low/Meant.High, Got.High/Meant.Low
//
// Equal states give Typical 1. Errors are those of [TighteningTorque], and an
// *[argument.Error] for an unknown state.
//
// Source: as [State.Friction] and [TighteningTorque].
func CompareStates(torque quantity.Torque, t Thread, ring Ring, meant, got State) (Mismatch, error) {
	var m Mismatch
	var middle [2]quantity.Force
	for i, s := range []State{meant, got} {
		mu, err := s.Friction()
		if err != nil {
			return Mismatch{}, err
		}
		band, err := PreloadBand(TorqueBand{torque, torque}, 0, t, ring, mu)
		if err != nil {
			return Mismatch{}, err
		}
		if middle[i], err = Preload(torque, t, ring, Friction{(mu.Low.Thread + mu.High.Thread) / 2, (mu.Low.Head + mu.High.Head) / 2}); err != nil {
			return Mismatch{}, err
		}
		if i == 0 {
			m.Meant = band
		} else {
			m.Got = band
		}
	}
	if m.Meant.Low <= 0 || middle[0] <= 0 || m.Meant.High <= 0 {
		return Mismatch{}, argument.Refuse("torque", "torque "+argument.Show(torque)+" is too small to compare", "")
	}
	m.Typical = float64(middle[1] / middle[0])
	m.Low, m.High = float64(m.Got.Low/m.Meant.High), float64(m.Got.High/m.Meant.Low)
	return m, nil
}
