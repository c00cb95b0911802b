package joint

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"buttonup/quantity"
)

// steps reads a small notation, a step a word: "12", "70-75" torques, "90d" an angle,
// "off" and "off5" a back-off, "4@1,2" for fasteners 1 and 2 only.
func steps(t testing.TB, text string) []Step {
	t.Helper()
	num := func(s string) float64 {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%q in %q: %v", s, text, err)
		}
		return x
	}
	var all []Step
	for _, word := range strings.Fields(text) {
		var s Step
		what, at, pointed := strings.Cut(word, "@")
		if pointed {
			for _, p := range strings.Split(at, ",") {
				s.Points = append(s.Points, int(num(p)))
			}
		}
		if rest, ok := strings.CutPrefix(what, "off"); ok {
			s.BackOff = true
			what = rest
		}
		if angle, ok := strings.CutSuffix(what, "d"); ok {
			s.Angle = quantity.Angle(num(angle) * 0.017453292519943295)
		} else if what != "" {
			low, high, ranged := strings.Cut(what, "-")
			if !ranged {
				high = low
			}
			s.To = TorqueBand{quantity.Torque(num(low)), quantity.Torque(num(high))}
		}
		all = append(all, s)
	}
	return all
}

// Each case is steps, the torque range, and the faults as step:kind, with the fastener
// after a slash where it is not all.
func TestCheckStages(t *testing.T) {
	names := map[StageFaultKind]string{StageDown: "down", StageOutside: "outside", StageLoose: "loose", StageNoSnug: "nosnug", StageEmpty: "empty"}
	for _, c := range []struct{ danger, steps, torque, want string }{
		{"a good stud", "12 25 43", "41-45", ""},
		{"a settling round repeats the last stage", "12 25 43 43", "43", ""},
		{"a later stage lower than the one before", "30 18 45", "45", "2:down"},
		{"the last stage short of the torque", "12 25 40", "41-45", "3:outside"},
		{"the last stage past the torque", "12 25 46", "41-45", "3:outside"},
		{"both at once", "12 43 30", "41-45", "3:down 3:outside"},
		{"an army connecting rod, loosened on purpose", "70-75 140-150 off 25-30 70-75 140-150", "140-150", ""},
		{"the same without the loosening", "70-75 140-150 25-30 70-75 140-150", "140-150", "3:down"},
		{"left loose at the end", "12 43 off", "43", "3:loose"},
		{"left at a low back-off", "12 43 off5", "43", "3:loose"},
		{"below what it was backed off to", "43 off20 10 43", "43", "3:down"},
		{"torque then angles, as for stretch bolts", "30 45d 45d 45d", "30", ""},
		{"an angle from nothing", "90d 43", "43", "1:nosnug"},
		{"an angle after it was loosened", "43 off 90d", "43", "3:nosnug"},
		{"a step that says nothing", "12 0 43", "43", "2:empty"},
		{"a band upwards that overlaps is no step down", "10-14 12-16 43", "43", ""},
		{"two pins first, then all", "4@1,2 10 18", "18", ""},
		{"different fasteners are not up and down", "8@1,2 4@3,4 10", "10", ""},
		{"one fastener goes down among others", "8@1,2 4 10", "10", "2:down/1 2:down/2"},
		{"a fastener that never gets its torque", "4@1,2 10@3,4", "10", "1:outside/1 1:outside/2"},
		{"only the order, no range", "12 25 40", "", ""},
		{"no steps", "", "43", ""},
	} {
		var torque TorqueBand
		if c.torque != "" {
			torque = steps(t, c.torque)[0].To
		}
		var got []string
		for _, f := range CheckStages(steps(t, c.steps), torque) {
			s := fmt.Sprintf("%d:%s", f.Step, names[f.Kind])
			if f.Point > 0 {
				s += fmt.Sprintf("/%d", f.Point)
			}
			got = append(got, s)
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %q in %q gives %q, want %q", c.danger, c.steps, c.torque, strings.Join(got, " "), c.want)
		}
	}
	if f := CheckStages([]Step{{To: TorqueBand{10, 5}}, {To: TorqueBand{-1, 5}}, {To: TorqueBand{5, 5}, Angle: 1}}, TorqueBand{5, 5}); len(f) != 3 {
		t.Errorf("three steps that make no sense give %v", f)
	}
	if f := CheckStages(steps(t, "30 18 45"), TorqueBand{45, 45}); len(f) != 1 || f[0].Before != (TorqueBand{30, 30}) {
		t.Errorf("the torque before is %v", f)
	}
}
