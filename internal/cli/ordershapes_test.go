package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The shapes in which an order of work goes wrong, each as a small pack of its own. All
// of them are made up here; that none of them may be passed over in silence is common
// practice, no published source.

const chestPack = `
pack "shapes" { title = "Shapes" }
space "chest" { title = "Cam chest" }
space "case" { title = "Crankcase" }
temporary "rag" { title = "Rag" }
dimension "play" {
  title = "End play"
  limit = "0.10 .. 0.25 mm"
}
check "sealed" {
  title   = "Bead whole"
  answers = ["yes", "no"]
  pass    = ["yes"]
}
operation "painted" {
  title     = "Cover painted"
  wait      = "7 days"
  waits_for = "paint to harden"
  minutes   = 30
}
operation "cover_on" {
  title   = "Cover on"
  needs   = [operation.painted]
  closes  = [space.chest]
  holds   = [dimension.play]
  minutes = 10
}
operation "screws" {
  title   = "Cover screws"
  needs   = [operation.cover_on]
  closes  = [space.chest]
  holds   = [check.sealed]
  minutes = 10
}
operation "gear_in" {
  title   = "Gear in"
  in      = [space.chest]
  minutes = 20
}
operation "piston" {
  title   = "Piston on"
  in      = [space.case]
  puts_in = [temporary.rag]
  minutes = 15
}
operation "rag_out" {
  title     = "Rag out"
  needs     = [operation.piston]
  takes_out = [temporary.rag]
  minutes   = 1
}
operation "barrel" {
  title   = "Barrel on"
  needs   = [operation.piston]
  closes  = [space.case]
  minutes = 15
}
`

// bench writes a pack and a journal, and returns the arguments that name them.
func bench(t *testing.T, pack string, done ...string) []string {
	t.Helper()
	folder := t.TempDir()
	var lines strings.Builder
	for i, event := range done {
		body := `"kind":"operation","operation":"` + event + `","state":"done"`
		if strings.Contains(event, `"`) {
			body = event
		}
		lines.WriteString(`{"id":"e` + string(rune('a'+i)) + `","at":"2026-03-02T08:00:00Z","by":"bench",` + body + "}\n")
	}
	p, j := filepath.Join(folder, "a.pack"), filepath.Join(folder, "a.jsonl")
	for name, text := range map[string]string{p: pack, j: lines.String()} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return []string{"--pack", p, "--journal", j}
}

// says runs a command as text and holds it to what it must and must not say.
func says(t *testing.T, code int, args []string, want ...string) {
	t.Helper()
	out, err := run(t, code, args...)
	text := string(out) + string(err)
	for _, w := range want {
		no, without := strings.CutPrefix(w, "NOT ")
		if strings.Contains(text, no) == without {
			t.Errorf("buttonup %s: %q\n%s", strings.Join(args[:1], " "), w, text)
		}
	}
}

func reads(t *testing.T, code int, v any, args ...string) {
	t.Helper()
	out, _ := run(t, code, append(args, "--json")...)
	if err := json.Unmarshal(out, v); err != nil {
		t.Fatal(err)
	}
}

type shapeRoute struct {
	Steps []struct {
		Operation, Do string
		Reads, Closes []string
		Start         float64 `json:"start_minutes"`
	}
	Loops [][]string
	Stuck []struct {
		Operation, Do string
		Because       []string
	}
}

func asked(name string, where []string, more ...string) []string {
	return append(append([]string{name}, where...), more...)
}

func TestAWaitLongerThanEverythingElse(t *testing.T) {
	at := bench(t, chestPack)
	says(t, 0, asked("route", at), "   1  Cover painted", "then wait: 7 days, paint to harden", "wait first: nothing can be done for 7 days", "7 days of waiting that nothing fills", "closes Cam chest")
	says(t, 0, asked("route", at, "--why", "gear_in"), "Gear in is done while the wait after Cover painted runs")
	var r shapeRoute
	reads(t, 0, &r, asked("route", at)...)
	if len(r.Steps) != 7 || r.Steps[0].Operation != "operation.painted" || r.Steps[5].Operation != "operation.cover_on" || r.Steps[5].Start != 30+7*24*60 || !slices.Equal(r.Steps[5].Reads, []string{"dimension.play"}) {
		t.Errorf("%+v", r)
	}
}

func TestASpaceClosedByTwo(t *testing.T) {
	at := bench(t, chestPack, "painted")
	says(t, 3, asked("closing", at, "--of", "operation.cover_on"), "It begins to close it. It is closed with: Cover screws.", "Gear in: not done", "End play: not measured")
	says(t, 3, asked("closing", at, "--of", "operation.screws"), "NOT It begins", "Gear in: not done", "Bead whole: not looked at", "Cover on: not done")
	says(t, 0, asked("route", at, "--why", "operation.screws"), "Cover screws needs Cover on")
	shut := bench(t, chestPack, "painted", `"kind":"wait","operation":"painted","state":"ended"`, "gear_in", `"kind":"reading","of":"play","value":"0.20 mm"`, "cover_on", `"kind":"check","of":"sealed","answer":"yes"`, "screws")
	says(t, 0, asked("tearback", shut, "--to", "space.chest"), "take back  Cover screws", "NOT take back  Cover on")
	says(t, 0, asked("tearback", shut, "--to", "operation.cover_on"), "take back  Cover screws\n  take back  Cover on")
}

func TestAHoldThatCannotBeMet(t *testing.T) {
	at := bench(t, chestPack, "painted", `"kind":"wait","operation":"painted","state":"ended"`, `"kind":"reading","of":"play","value":"0.40 mm"`)
	says(t, 3, asked("route", at), "CANNOT BE FINISHED AS THINGS STAND (2)", "Cover on is held by End play, which is", "Cover screws needs Cover on")
	says(t, 1, asked("route", at, "--why", "cover_on"), "Cover on cannot be finished: Cover on is held by End play")
	says(t, 3, asked("closing", at, "--of", "cover_on"), "End play: ", "0.40 mm")
	says(t, 3, asked("assess", at), "0.40 mm", "over by 0.15 mm")
	var r shapeRoute
	reads(t, 3, &r, asked("route", at)...)
	if len(r.Stuck) != 2 || r.Stuck[0].Operation != "operation.cover_on" || len(r.Stuck[0].Because) != 1 || len(r.Stuck[1].Because) != 2 {
		t.Errorf("%+v", r.Stuck)
	}
}

func TestARagLeftIn(t *testing.T) {
	at := bench(t, chestPack, "piston")
	says(t, 3, asked("closing", at, "--of", "barrel"), "Rag: 1 piece still in. Comes out at: Rag out")
	says(t, 0, asked("assess", at), "temporary.rag: 1 still in")
	says(t, 0, asked("route", at), "Where you were: Rag still in", "Rag out")
	shut := bench(t, chestPack, "piston", "barrel")
	says(t, 3, asked("assess", shut), "Rag: 1 still inside space.case")
	never := bench(t, strings.Replace(chestPack, "takes_out = [temporary.rag]", "", 1), "piston")
	says(t, 0, asked("route", never), "Barrel on would shut in Rag, and no step that is left takes it out")
}

func TestPlantedLoops(t *testing.T) {
	closing := strings.Replace(chestPack, "in      = [space.chest]", "in      = [space.chest]\n  needs   = [operation.screws]", 1)
	says(t, 4, append([]string{"pack", "check"}, bench(t, closing)[1]), "screws closes chest, where work is still to be done: gear_in, which needs screws", "Take screws out of the needs of gear_in")
	lock := `
pack "p" { title = "Lock" }
operation "box_on" { title = "Rocker box on" }
operation "turn" {
  title = "Crank turned"
  needs = [operation.box_on]
}
operation "bled" {
  title = "Lifters bled down"
  needs = [operation.turn]
}
lock "bleeding" {
  title   = "The crank must not be turned"
  from    = [operation.box_on]
  until   = [operation.bled]
  forbids = [operation.turn]
}
`
	says(t, 0, asked("route", bench(t, lock)), "Crank turned is forbidden until Lifters bled down is done: The crank must not be turned", "Lifters bled down needs Crank turned", "→ Allow Crank turned under The crank must not be turned")
	var r shapeRoute
	reads(t, 0, &r, asked("route", bench(t, lock))...)
	if len(r.Loops) != 1 || !slices.Equal(r.Loops[0], []string{"operation.turn", "operation.bled", "operation.turn"}) || r.Stuck[0].Do == "" {
		t.Errorf("%+v", r)
	}
}

// What stands at one place waits for what it needs there, and not for what has the same
// name elsewhere: this is no loop, and with one line more it is.
func TestALoopIsLookedForAtItsPlace(t *testing.T) {
	const sides = `
pack "p" { title = "Front first" }
place "cylinder" { each = ["front", "rear"] }
place "front_side" {
  each   = ["front"]
  parent = cylinder
}
place "rear_side" {
  each   = ["rear"]
  parent = cylinder
}
operation "set" {
  at    = cylinder
  needs = [operation.turned]
}
operation "front_done" {
  at    = front_side
  needs = [operation.set]
}
operation "turned" {
  at    = rear_side
  needs = [operation.front_done]
}
`
	at := bench(t, sides)
	says(t, 0, []string{"pack", "check", at[1]}, "no mistakes")
	says(t, 0, asked("route", at), "   1  set, front\n   2  front_done, front\n   3  turned, rear\n   4  set, rear")
	loop := bench(t, strings.Replace(sides, "at    = front_side\n  needs = [operation.set]", "at    = front_side\n  needs = [operation.turned]", 1))
	says(t, 4, []string{"pack", "check", loop[1]}, "front_done front needs turned rear, which needs front_done front", "Take front_done out of the needs of turned")
	says(t, 2, asked("route", at, "--why", "set"), "name its place, like --why 'operation.set front'; it is done at front, rear")
}

// What shows only while the engine is together is asked for before it comes apart.
func TestReadingsAsFoundComeBeforeTheyVanish(t *testing.T) {
	const found = `
pack "p" { title = "As found" }
space "chest" { title = "Cam chest" }
dimension "found_play" { title = "End play as found" }
operation "cover_off" {
  title = "Cover off"
  opens = [space.chest]
  holds = [dimension.found_play]
}
operation "gear_out" {
  title = "Gears out"
  needs = [operation.cover_off]
  in    = [space.chest]
}
`
	together := `"kind":"job","title":"x","assembled":true`
	says(t, 0, asked("route", bench(t, found, together)), "   1  Cover off\n        read before it: End play as found\n        opens Cam chest\n   2  Gears out")
	var r shapeRoute
	reads(t, 0, &r, asked("route", bench(t, found, together))...)
	if len(r.Steps) != 2 || !slices.Equal(r.Steps[0].Reads, []string{"dimension.found_play"}) {
		t.Errorf("%+v", r.Steps)
	}
	says(t, 0, asked("assess", bench(t, found, together)), "operation.cover_off: dimension.found_play is not measured")
	says(t, 0, asked("assess", bench(t, found, together, "cover_off")), "Cover off is done, and what it holds is not proven: dimension.found_play")
}
