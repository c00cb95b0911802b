package assess_test

import (
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
)

// What a slot moves is ranked as asking for each number by itself ranks it, and nothing
// else in the job hangs on it.
func TestMovesAreTheCandidatesOfEachNumber(t *testing.T) {
	text, _ := packs.Journal(packs.Demo, "clean-rebuild")
	m, state := assess.Prepare(demoPack(t)), journal.Read(text).Fold()
	moved := map[string]bool{}
	for _, x := range m.Moves(state, assess.Options{}, "head_gasket", "front") {
		moved[x.Of.Name+" "+x.Of.Place] = true
		want, err := m.Candidates(state, assess.Options{}, "head_gasket", "front", x.Of.Name, x.Of.Place)
		if err != nil {
			t.Fatal(err)
		}
		sized := 0
		for _, c := range want {
			if sized < len(x.Candidates) && x.Candidates[sized].Part == c.Part {
				got := x.Candidates[sized]
				if (got.Result == nil) != (c.Result == nil) || c.Result != nil && got.Result.Value != c.Result.Value || got.Fits() != c.Fits() {
					t.Errorf("%s with %s differs", x.Of.Name, c.Part)
				}
				sized++
			}
		}
		if sized != len(x.Candidates) || sized < 2 {
			t.Errorf("%s: %d of %d parts are ranked as by themselves", x.Of.Name, sized, len(x.Candidates))
		}
	}
	for _, name := range []string{"squish front", "static_compression front"} {
		if !moved[name] {
			t.Errorf("the head gasket does not move %s", name)
		}
	}
	if moved["squish rear"] || moved["end_play_trial "] {
		t.Errorf("the front head gasket moves %v", moved)
	}
	if list := m.Moves(state, assess.Options{}, "circlip", "front drive side"); list != nil {
		t.Errorf("a circlip moves %d numbers", len(list))
	}
	if list := m.Moves(state, assess.Options{}, "none", ""); list != nil {
		t.Error("a slot that is not there moves numbers")
	}
}
