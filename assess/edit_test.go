package assess_test

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/words"
)

// A model that has judged other readings before judges as one that has not: what it
// remembers changes nothing in what comes out.
func TestEditsAreJudgedAsIfFresh(t *testing.T) {
	p := demoPack(t)
	used := assess.Prepare(p)
	lines := demoJournal(t, "clean-rebuild")
	changes := edits(t, lines)
	r := rand.New(rand.NewPCG(4, 5))
	for range 25 {
		all := slices.Clone(lines)
		for range 1 + r.IntN(3) {
			change := changes[r.IntN(len(changes))]
			all[change.line] = change.text
		}
		all = all[:len(all)-r.IntN(len(all)/4)]
		state := func() *journal.State { return journal.Read([]byte(strings.Join(all, "\n"))).Fold() }
		got, err := json.Marshal(words.Make(used.Assess(state(), assess.Options{})))
		if err != nil {
			t.Fatal(err)
		}
		want, err := json.Marshal(words.Make(assess.Prepare(p).Assess(state(), assess.Options{})))
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			at := 0
			for at < min(len(got), len(want)) && got[at] == want[at] {
				at++
			}
			t.Fatalf("they differ at %d:\nused  %.200s\nfresh %.200s", at, got[max(0, at-80):], want[max(0, at-80):])
		}
	}
}
