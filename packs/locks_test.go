package packs_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
)

// upTo returns the lines of the whole job up to and with the first doing of an
// operation at a place.
func upTo(t *testing.T, operation, place string) []string {
	t.Helper()
	text, _ := packs.Journal(packs.Demo, "whole-job")
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	for i, line := range lines {
		if strings.Contains(line, `"kind":"operation","operation":"`+operation+`"`) && (place == "" || strings.Contains(line, `"place":"`+place+`"`)) {
			return lines[:i+1]
		}
	}
	t.Fatalf("the whole job does not do %s %s", operation, place)
	return nil
}

// The crank must not be turned while a lifter bleeds down, while a barrel is not held
// down or with the sealant wet, and whoever does it all the same is told.
func TestLocksOfTheDemo(t *testing.T) {
	p := load(t, packs.Demo)
	for _, c := range []struct{ after, place, lock, forbidden string }{
		{"front_to_firing", "", "front_first", "rear_to_firing"},
		{"rocker_box_on", "front", "lifter_bleeding front", "rear_to_firing"},
		{"preload_set", "front", "lifter_bleeding_again front", "rear_to_firing"},
		{"barrel_on", "rear", "barrel_loose rear", "deck_recheck"},
		{"clamps_off", "front", "barrel_unclamped front", "front_to_firing"},
		{"piston_on", "front", "rag_in_mouth front", "barrel_on front"},
		{"rocker_box_on", "rear", "lifter_bleeding rear", "turn_by_hand"},
		{"case_bolts", "", "sealant_wet", "leak_down_test"},
		{"turn_by_hand", "", "spanner_on", "leak_down_test"},
	} {
		lines := upTo(t, c.after, c.place)
		a := assess.Assess(p, journal.Read([]byte(strings.Join(lines, "\n")+"\n")).Fold(), assess.Options{})
		stands := slices.ContainsFunc(a.Locks, func(l assess.Lock) bool { return placed(l.Name, l.Place) == c.lock })
		held := false
		for _, b := range a.Blocked {
			for _, r := range b.Because {
				held = held || b.Operation.String() == "operation."+c.forbidden && r.Kind == assess.Locked && r.Of == "lock."+c.lock
			}
		}
		if !stands || !held {
			t.Errorf("after %s %s: the lock %s stands: %v, holds %s: %v", c.after, c.place, c.lock, stands, c.forbidden, held)
		}
		name, place, _ := strings.Cut(c.forbidden, " ")
		broken := fmt.Sprintf(`{"id":"broken","at":"2026-05-14T18:00:00Z","by":"bench","kind":"operation","operation":%q,"place":%q,"state":"done"}`, name, place)
		a = assess.Assess(p, journal.Read([]byte(strings.Join(append(slices.Clone(lines), broken), "\n")+"\n")).Fold(), assess.Options{})
		if f := finding(a, assess.CodeLockBroken, "operation."+name, place); f == nil || f.Severity != assess.Stop {
			t.Errorf("after %s %s: doing %s all the same is not found", c.after, c.place, c.forbidden)
		}
	}
}
