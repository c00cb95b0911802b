package assess_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/packs"
	"buttonup/words"
)

// The list of things closed too early that was drawn up with the invented engine, in its
// numbers: what is about to be closed, what was forgotten, and what it costs to come back
// once the engine is together, in hours of one builder. The hours are invented with the
// engine and prove only that pack and list tell the same; that each of these is a mistake
// is common practice, no published source.
//
// Each is played into the journal of the finished job: it is cut right before the
// closing, and what was forgotten is left out of it, or read as it is when it is wrong.
// The hours of some are those of right after, as the list has them found.
var forgotten = []struct {
	row            int
	closing        string
	without, wrong string  // references; wrong with the value or answer behind an equals sign
	open           string  // what is told
	least, most    float64 // hours
	soon           bool
	uses           string // something that is used up
}{
	{1, "close_cases", "dimension.end_play_trial", "", "dimension.end_play_trial", 14, 20, false, "slot.circlip"},
	{1, "close_cases", "operation.internals_in; check.internals_ticked", "", "check.internals_ticked", 14, 20, false, "slot.head_gasket"},
	{2, "close_cases", "operation.studs_in", "", "operation.studs_in", 14, 20, false, "slot.base_gasket"}, // "20+" with the machining
	{2, "close_cases", "operation.right_race_in", "", "operation.right_race_in", 14, 20, false, "slot.cam_gasket"},
	{3, "close_cases", "", "option.series=C", "check.dowel_o_rings", 14, 21, false, "slot.case_o_ring"},
	{4, "lock_plates", "check.crank_oil_passage", "", "check.crank_oil_passage blade", 14, 40, false, "slot.lock_plate"},
	{5, "left_seal_in", "", "dimension.crank_end_play=0.190 mm", "dimension.crank_end_play", 1, 3, false, "slot.left_seal"},
	{6, "cam_cover_on", "check.pump_ports_open", "", "check.pump_ports_open", 2.5, 3, false, "slot.cam_gasket"},
	{6, "cam_cover_on", "operation.relief_in", "", "operation.relief_in", 2.5, 3, false, "slot.cam_cover_seal"},
	{7, "cam_cover_on", "", "dimension.breather_opens=25 deg", "dimension.breather_opens", 2.5, 3, false, "slot.cam_gasket"},
	{8, "cam_cover_on", "dimension.cam_joint_gap", "", "number.cam_end_play_at_crush", 2.5, 3, false, "slot.cam_gasket"},
	{9, "head_on front", "operation.cam_degreed", "", "operation.cam_degreed", 4, 10, false, "slot.head_gasket"},
	{10, "carrier_on front", "", "check.carrier_feed_light=dark", "check.carrier_feed_light front", 2, 3, false, "slot.carrier_gasket_front"},
	{11, "carrier_on rear", "check.lifter_square", "", "check.lifter_square rear inlet", 2, 10, false, "slot.carrier_gasket_rear"}, // 6 to 10 with the flush
	{12, "barrel_on front", "operation.base_gasket_on", "", "operation.base_gasket_on front", 0.5, 1.5, true, ""},
	{13, "barrel_on front", "check.circlip_seated", "", "check.circlip_seated front", 5, 8, false, "slot.head_gasket"}, // 8 with the boring
	{14, "barrel_on rear", "operation.rag_out; check.rag_counted", "", "temporary.rag", 5, 14, false, "slot.head_gasket"},
	{15, "barrel_on front", "dimension.top_ring_gap", "", "dimension.top_ring_gap front", 5, 6, false, "slot.head_gasket"},
	{15, "barrel_on rear", "", "check.gaps_staggered=mark down", "check.gaps_staggered rear", 5, 6, false, "slot.head_gasket"},
	{16, "head_nuts_tight", "dimension.inlet_face_gap", "", "dimension.inlet_face_gap", 1.5, 2, false, "slot.inlet_gasket"},
	{17, "head_on rear", "operation.deck_recheck", "", "operation.deck_recheck", 4.5, 5, false, "slot.head_gasket"},
	{17, "head_on front", "dimension.inlet_drop_at_top", "", "sweep.inlet_gap front", 4.5, 5, false, "slot.head_gasket"},
	{18, "head_on front", "", "option.series=C", "operation.tubes_in front", 0.5, 2, true, "slot.head_gasket"},
	{19, "rocker_box_on front", "check.collets_home", "", "check.collets_home front inlet", 1, 8, false, "slot.rocker_box_gasket"}, // 8 with the head
	{19, "rocker_box_on rear", "", "dimension.spring_installed=36.5 mm", "dimension.spring_installed rear inlet", 1, 8, false, "slot.rocker_box_gasket"},
	{21, "rocker_covers_on front", "check.oil_at_rocker", "", "check.oil_at_rocker front inlet", 0.5, 0.5, false, "slot.rocker_cover_gasket"},
	{22, "oil_in", "", "check.oil_lines=swapped", "check.oil_lines", 0.5, 30, false, "slot.oil_filter"},
	{23, "head_nuts_tight", "operation.inlet_faces_aligned", "", "operation.inlet_faces_aligned", 1.5, 2, false, "slot.inlet_gasket"},
}

// played cuts the journal of the finished job right before something is done, and leaves
// out or changes what is said.
func played(t *testing.T, before, without, wrong string) *journal.State {
	t.Helper()
	text, _ := packs.Journal(packs.Demo, "whole-job")
	name, place, _ := strings.Cut(before, " ")
	named := func(line, ref string) bool {
		kind, of, _ := strings.Cut(ref, ".")
		field := map[string]string{"operation": "operation", "dimension": "of", "check": "of"}[kind]
		return field != "" && strings.Contains(line, fmt.Sprintf("%q:%q", field, of)) && strings.Contains(line, `"kind":"`+strings.Replace(kind, "dimension", "reading", 1)+`"`)
	}
	ref, value, changes := strings.Cut(wrong, "=")
	cut, touched := false, 0
	var lines []string
	for _, line := range strings.Split(string(text), "\n") {
		if named(line, "operation."+name) && (place == "" || strings.Contains(line, fmt.Sprintf(`"place":%q`, place))) {
			cut = true
			break
		}
		if slices.ContainsFunc(strings.Split(without, "; "), func(r string) bool { return named(line, r) }) {
			touched++
			continue
		}
		if changes && named(line, ref) {
			touched++
			for _, field := range []string{`"value":"`, `"answer":"`} {
				if i := strings.Index(line, field); i >= 0 {
					i += len(field)
					line = line[:i] + value + line[i+strings.Index(line[i:], `"`):]
				}
			}
		}
		lines = append(lines, line)
	}
	if option, of := strings.CutPrefix(ref, "option."); of {
		touched++
		lines = append(lines, fmt.Sprintf(`{"id":"play","at":"2026-05-04T08:00:00Z","by":"bench","kind":"option","option":%q,"choice":%q}`, option, value))
	}
	if !cut || touched == 0 {
		t.Fatalf("%s is not in the journal, or nothing of %s%s", before, without, wrong)
	}
	return journal.Read([]byte(strings.Join(lines, "\n"))).Fold()
}

func TestWhatIsForgottenIsToldBeforeItIsClosed(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	rows := map[int]bool{}
	for _, c := range forgotten {
		t.Run(fmt.Sprintf("%d %s over %s%s", c.row, c.closing, c.without, c.wrong), func(t *testing.T) {
			rows[c.row] = true
			s := played(t, c.closing, c.without, c.wrong)
			name, place, _ := strings.Cut(c.closing, " ")
			op := assess.Operation{Name: name, Place: place}
			a := m.Assess(s, assess.Options{})
			if slices.Contains(a.Next, op) {
				t.Errorf("%s may be done", c.closing)
			}
			closing, ok := m.BeforeClosing(s, assess.Options{}, op)
			if !ok {
				t.Fatalf("%s closes nothing", c.closing)
			}
			if !slices.ContainsFunc(closing.Open, func(x assess.Inside) bool {
				return x.Kind != assess.InsidePhoto && (x.Of == c.open || strings.HasPrefix(x.Of, c.open+" "))
			}) {
				var open []string
				for _, x := range closing.Open {
					open = append(open, x.Of)
				}
				t.Errorf("it would be closed over %s unsaid; it tells %s", c.open, strings.Join(open, ", "))
			}
			if closing.Price == nil || closing.Soon == nil {
				t.Fatal("no price of coming back")
			}
			way := closing.Price
			if c.soon {
				way = closing.Soon
			}
			if h := (way.Work + way.Again).Hours(); h < c.least-0.01 || h > c.most+0.01 {
				t.Errorf("coming back takes %.2f hours, not %g to %g: %v", h, c.least, c.most, way.Undo)
			}
			if closing.Soon.Work > closing.Price.Work {
				t.Error("it is cheaper to come back later")
			}
			if c.uses != "" && !slices.ContainsFunc(way.Replace, func(u assess.UsedUp) bool { return strings.HasPrefix(u.Of, c.uses) }) {
				t.Errorf("%s is not used up: %+v", c.uses, way.Replace)
			}
		})
	}
	for _, row := range []int{20, 24, 25} { // these close nothing; TestWhatIsForgottenElsewhere has them
		rows[row] = true
	}
	if len(rows) != 25 {
		t.Errorf("%d of the 25 rows are played", len(rows))
	}
}

// Three rows of the list, and one of them told once more, close nothing: the next step is
// forbidden, or waits, for what was forgotten.
func TestWhatIsForgottenElsewhere(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	for _, c := range []struct {
		row                           int
		step, without, wrong, because string
		to                            string // what has to be got at once it went wrong
		least, most                   float64
	}{
		{20, "front_set front", "check.rods_spin_again; operation.rods_spin_retest", "", "", "space.cylinders front", 4, 8},
		{23, "inlet_on", "operation.head_nuts_tight", "", "operation.head_nuts_tight", "operation.head_nuts_tight", 1.5, 2},
		{24, "right_race_in", "operation.paint_released", "", "operation.paint_released", "", 0, 0},
		{25, "ring_gaps front", "operation.barrels_bored", "option.barrels=bored", "operation.barrels_bored front", "", 0, 0},
	} {
		s := played(t, c.step, c.without, c.wrong)
		a := m.Assess(s, assess.Options{})
		name, place, _ := strings.Cut(c.step, " ")
		op := assess.Operation{Name: name, Place: place}
		if c.row == 20 {
			op = assess.Operation{Name: "rear_to_firing"} // turned before the lifters have bled down
			c.because = "lock.lifter_bleeding_again front"
		}
		at := slices.IndexFunc(a.Blocked, func(b assess.Blocked) bool { return b.Operation == op })
		if at < 0 || !slices.ContainsFunc(a.Blocked[at].Because, func(r assess.Reason) bool { return r.Of == c.because }) {
			t.Errorf("row %d: %s does not wait for %s: %+v", c.row, op, c.because, a.Blocked[max(at, 0)])
		}
		if c.to == "" {
			continue
		}
		finished, _ := packs.Journal(packs.Demo, "whole-job")
		tear, err := m.TearBack(journal.Read(finished).Fold(), assess.Options{}, c.to)
		if err != nil || len(tear.Ways) == 0 {
			t.Fatal(err)
		}
		if h := (tear.Ways[0].Work + tear.Ways[0].Again).Hours(); h < c.least || h > c.most {
			t.Errorf("row %d: %.1f hours", c.row, h)
		}
	}
	// Row 25 once more: a barrel is not bored before its piston is measured.
	s := played(t, "ring_gaps front", "dimension.piston_skirt_cast", "option.barrels=bored")
	a := m.Assess(s, assess.Options{})
	at := slices.IndexFunc(a.Blocked, func(b assess.Blocked) bool {
		return b.Operation == assess.Operation{Name: "barrels_bored", Place: "front"}
	})
	if at < 0 || !slices.ContainsFunc(a.Blocked[at].Because, func(r assess.Reason) bool { return r.Of == "dimension.piston_skirt_cast front" }) {
		t.Error("the barrel may be bored before the piston is measured")
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
