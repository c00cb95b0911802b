package assess_test

import (
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
	"buttonup/words"
)

// Classic mistakes of the invented engine: what is forgotten, and the closing before
// which it has to be told. The list and its prices are invented with the engine; that
// each of them is a mistake is common practice, no published source.
var forgotten = []struct{ closing, place, open string }{
	{"lock_plates", "", "check.crank_oil_passage blade"},             // oil hole of the crank not proved
	{"cam_cover_on", "", "operation.pump_on"},                        // pump and its gasket
	{"cam_cover_on", "", "check.oil_poured"},                         // oil not poured
	{"cam_cover_on", "", "dimension.cam_end_play_trial"},             // shim chosen without reading
	{"barrel_on", "front", "check.circlip_seated front"},             // a circlip missing
	{"rocker_covers_on", "front", "check.oil_at_rocker front inlet"}, // no oil at the rockers
}

func TestWhatIsForgottenIsToldBeforeItIsClosed(t *testing.T) {
	p := demoPack(t)
	m := assess.Prepare(p)
	s := journal.Read(nil).Fold()
	seen := 0
	for _, c := range forgotten {
		closing, ok := m.BeforeClosing(s, assess.Options{}, assess.Operation{Name: c.closing, Place: c.place})
		if !ok {
			t.Errorf("%s %s closes nothing", c.closing, c.place)
			continue
		}
		if !slices.ContainsFunc(closing.Open, func(x assess.Inside) bool { return strings.HasPrefix(x.Of, c.open) }) {
			var open []string
			for _, x := range closing.Open {
				open = append(open, x.Of)
			}
			t.Errorf("%s %s would be closed over %s unsaid; it tells %s", c.closing, c.place, c.open, strings.Join(open, ", "))
			continue
		}
		seen++
		if closing.Price == nil || closing.Price.Work <= 0 {
			t.Errorf("%s: no price of coming back", c.closing)
		}
	}
	if seen != len(forgotten) {
		t.Errorf("%d of %d are told", seen, len(forgotten))
	}
}

func TestWhereWasI(t *testing.T) {
	p := demoPack(t)
	text, _ := packs.Journal(packs.Demo, "clean-rebuild")
	says := words.WhereWasI(assess.Prepare(p).Assess(journal.Read(text).Fold(), assess.Options{}))
	if !strings.Contains(says, "solid checking lifter, front and rear still in") || !strings.HasSuffix(says, ".") {
		t.Errorf("it says %q", says)
	}
	if says := words.WhereWasI(assess.Prepare(p).Assess(journal.Read(nil).Fold(), assess.Options{})); says != "" {
		t.Errorf("of a job in which nothing was done: %q", says)
	}
}
