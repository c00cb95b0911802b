package packs_test

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"buttonup/pack"
	"buttonup/packs"
)

// listed is a row of the list of operations.
type listed struct {
	id, says           string
	after              []string
	twin, single       []string
	hold, wait, closes string
}

func readList(t *testing.T) []listed {
	t.Helper()
	text, err := os.ReadFile("testdata/whole-job-operations.txt")
	if err != nil {
		t.Fatal(err)
	}
	names := func(s string) []string {
		if s == "-" {
			return nil
		}
		return strings.Split(strings.ReplaceAll(s, " ", ""), ",")
	}
	var list []listed
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		if strings.HasPrefix(line, "#") {
			continue
		}
		f := strings.Split(line, " | ")
		if len(f) != 8 {
			t.Fatalf("%d columns in %q", len(f), line)
		}
		list = append(list, listed{f[0], f[1], names(f[2]), names(f[3]), names(f[7]), f[4], f[5], f[6]})
	}
	return list
}

// steps are the operations of a pack and what each comes after: what it needs, and what
// is done in a space that it closes.
type steps struct {
	byName map[string]*pack.Operation
	before map[string][]string
}

func stepsOf(p *pack.Pack) *steps {
	s := &steps{map[string]*pack.Operation{}, map[string][]string{}}
	for _, o := range p.Operations {
		s.byName[o.Name] = o
		s.before[o.Name] = slices.Clone(o.Needs)
		for _, w := range p.Operations {
			if w != o && !o.Trial && slices.ContainsFunc(w.In, func(sp string) bool { return slices.Contains(o.Closes, sp) && !slices.Contains(w.Closes, sp) }) {
				s.before[o.Name] = append(s.before[o.Name], w.Name)
			}
		}
	}
	for _, l := range p.Locks { // what is forbidden until something is done comes after it
		for _, f := range l.Forbids {
			for _, u := range l.Until {
				if u.Kind == "operation" && slices.Contains(s.before[f], l.From[0]) {
					s.before[f] = append(s.before[f], u.Name)
				}
			}
		}
	}
	return s
}

func (s *steps) comesAfter(a, b string) bool {
	seen := map[string]bool{}
	for queue := []string{a}; len(queue) > 0; queue = queue[1:] {
		for _, n := range s.before[queue[0]] {
			if n == b {
				return true
			}
			if !seen[n] {
				seen[n] = true
				queue = append(queue, n)
			}
		}
	}
	return false
}

// loosened are the places at which the packs leave an order open that the list writes
// down, with the reason.
var loosened = map[string]string{
	"102 after 101": "the inlet does not come off with a rocker cover; both come before the spin",
	"103 after 101": "nor does the ignition",
	"106 after 101": "nor does the exhaust",
	"107 after 101": "nor do the oil lines",
	"062 after 061": "both cylinders may be built dry side by side",
	"076 after 074": "either piston may go on first",
	"022 after 021": "in the single both races go in together",
}

// Nothing of the list of operations is lost: every one stands in the V-twin, comes after
// what the list puts before it, closes where it closes, waits where it waits, and carries
// its hold; and in the single where that has the step.
func TestEveryOperationOfTheWholeJob(t *testing.T) {
	list := readList(t)
	if len(list) != 98 {
		t.Fatalf("%d operations, not 98", len(list))
	}
	twin := load(t, packs.Demo)
	number := regexp.MustCompile(`^\d{3} `)
	holds := map[string]bool{}
	waits := 0
	s := stepsOf(twin)
	for _, row := range list {
		var ops []*pack.Operation
		for _, name := range row.twin {
			if s.byName[name] == nil {
				t.Errorf("%s %s: the pack has no operation %s", row.id, row.says, name)
				continue
			}
			ops = append(ops, s.byName[name])
		}
		own := slices.ContainsFunc(ops, func(o *pack.Operation) bool { return strings.HasPrefix(o.Title, row.id+" ") })
		if !own && !slices.ContainsFunc(ops, func(o *pack.Operation) bool { return o.At == "cylinder" }) {
			t.Errorf("%s %s: no title begins with its number, and it is not one for each cylinder", row.id, row.says)
		}
		for _, h := range strings.Fields(strings.ReplaceAll(row.hold, "-", "")) {
			holds[h] = true
			if !slices.ContainsFunc(ops, func(o *pack.Operation) bool { return strings.Contains(o.Note, h) && len(o.Holds) > 0 }) {
				t.Errorf("%s %s: nothing carries the hold %s", row.id, row.says, h)
			}
		}
		if row.wait == "-" || row.id == "109" { // the starter rests between the spins of one step
		} else if waitsSomehow(twin, ops) {
			waits++
		} else {
			t.Errorf("%s %s: nothing waits (%s)", row.id, row.says, row.wait)
		}
		if row.closes == "closes" && !slices.ContainsFunc(ops, func(o *pack.Operation) bool { return len(o.Closes) > 0 }) && row.id != "014" {
			t.Errorf("%s %s closes nothing", row.id, row.says)
		}
	}
	if len(holds) != 46 || waits < 20 {
		t.Errorf("%d holds of 46, %d waits", len(holds), waits)
	}
	for _, o := range twin.Operations {
		if id := strings.TrimSpace(number.FindString(o.Title)); id != "" && !slices.ContainsFunc(list, func(r listed) bool { return r.id == id && slices.Contains(r.twin, o.Name) }) {
			t.Errorf("%s is not in the list under its number %s", o.Name, id)
		}
	}
	checkOrder(t, list, s, func(r *listed) []string { return r.twin })
	single := stepsOf(load(t, "aldermoor-s575"))
	there := 0
	for _, row := range list {
		for _, name := range row.single {
			if there++; single.byName[name] == nil {
				t.Errorf("%s %s: the single has no operation %s", row.id, row.says, name)
			}
		}
	}
	if there < 55 {
		t.Errorf("only %d of them are the single's", there)
	}
	checkOrder(t, list, single, func(r *listed) []string { return r.single })
}

// waitsSomehow reports whether one of some operations is waited for: by the clock, in
// time, or by a look at what takes its time.
func waitsSomehow(p *pack.Pack, ops []*pack.Operation) bool {
	return slices.ContainsFunc(ops, func(o *pack.Operation) bool {
		if o.HasWait || o.WaitsFor != "" || len(o.Within) > 0 {
			return true
		}
		if slices.ContainsFunc(o.Holds, func(h pack.Ref) bool { return h.Kind == "check" && timely[h.Name] }) {
			return true
		}
		return slices.ContainsFunc(p.Locks, func(l *pack.Lock) bool {
			return slices.ContainsFunc(l.Until, func(u pack.Ref) bool {
				return slices.ContainsFunc(o.Holds, func(h pack.Ref) bool { return h.Kind == u.Kind && h.Name == u.Name })
			})
		})
	})
}

// timely are looks at what takes its time elsewhere: paint that hardens at the painter's.
var timely = map[string]bool{"masks_off": true}

func checkOrder(t *testing.T, list []listed, s *steps, names func(r *listed) []string) {
	t.Helper()
	for i := range list {
		for _, id := range list[i].after {
			j := slices.IndexFunc(list, func(r listed) bool { return r.id == id })
			if j < 0 {
				t.Errorf("%s comes after %s, which is not in the list", list[i].id, id)
				continue
			}
			mine, other := names(&list[i]), names(&list[j])
			if len(mine) == 0 || len(other) == 0 || loosened[list[i].id+" after "+id] != "" {
				continue
			}
			if !slices.ContainsFunc(mine, func(a string) bool {
				return slices.ContainsFunc(other, func(b string) bool { return a == b || s.comesAfter(a, b) })
			}) {
				t.Errorf("%s %v does not come after %s %v", list[i].id, mine, id, other)
			}
		}
	}
}

// An engine that comes assembled shows some things only until it is taken apart. Each of
// them is held by the step after which it is gone, in both engines where they have it.
// Common practice, no published source.
func TestAsFoundReadingsAreHeldBeforeTheyVanish(t *testing.T) {
	for _, c := range []struct{ id, holds string }{
		{packs.Demo, "found_intake teardown_intake; found_cranking teardown_intake; found_leak_down teardown_intake; found_oil teardown_oil_out; found_preload_flats teardown_preload_found; found_nut_torque teardown_head_off; found_nut teardown_head_off; " +
			"found_deck teardown_deck_found; found_piston teardown_piston_off; found_lifter teardown_carrier_off; found_cam_end_play teardown_cam_play_found; found_marks teardown_gears_found; found_backlash teardown_gears_found; " +
			"found_pinion_runout teardown_gears_found; found_cam_shim teardown_cam_out; found_end_play teardown_crank_found; found_side_play teardown_crank_found; found_main_spacer teardown_crank_out; found_shaft_runout teardown_wheels_apart; " +
			"found_shaft_angle teardown_wheels_apart; found_plugs teardown_plugs_out; found_order teardown_cam_cover_off"},
		{"aldermoor-s575", "found_intake teardown_intake; found_cranking teardown_intake; found_leak_down teardown_intake; found_oil teardown_oil_out; found_lash teardown_lash_found; found_nut_torque teardown_head_off; found_nut teardown_head_off; " +
			"found_deck teardown_deck_found; found_piston teardown_piston_off; found_lifter teardown_cam_out; found_cam_end_play teardown_cam_play_found; found_marks teardown_gears_found; found_backlash teardown_gears_found; " +
			"found_pinion_runout teardown_gears_found; found_cam_shim teardown_cam_out; found_end_play teardown_crank_found; found_side_play teardown_crank_found; found_main_spacer teardown_crank_out; found_shaft_runout teardown_wheels_apart; " +
			"found_shaft_angle teardown_wheels_apart; found_plugs teardown_plugs_out; found_order teardown_lash_found"},
	} {
		s := stepsOf(load(t, c.id))
		for _, pair := range strings.Split(c.holds, "; ") {
			what, by, _ := strings.Cut(pair, " ")
			o := s.byName[by]
			if o == nil || !slices.ContainsFunc(o.Holds, func(h pack.Ref) bool { return h.Name == what }) {
				t.Errorf("%s: %s does not hold %s", c.id, by, what)
			}
		}
		if !s.comesAfter("stage_parts", "teardown_intake") || !s.comesAfter("teardown_tagged", "teardown_cases_apart") {
			t.Errorf("%s: the parts are staged before the engine is apart", c.id)
		}
	}
}
