package cli

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"buttonup/journal"
	"buttonup/packs"
)

// assessed is the contract of assess --json, field by field. A field that is renamed
// in the program is unknown here and fails; one that is dropped fails below. The
// fields behind each blank line were added to the contract.
// end is a figure of assess, and share what a ± comes from.
type end struct {
	SI   float64 `json:"si"`
	Unit string  `json:"unit"`
	Text string  `json:"text"`
}

type difference struct {
	SI   float64 `json:"si"`
	Text string  `json:"text"`
}

type change struct {
	Value    end        `json:"value"`
	Expanded difference `json:"expanded"`
	Verdict  string     `json:"verdict"`
	Says     string     `json:"says"`
}

type share struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

type assessed struct {
	Pack struct {
		ID       string `json:"id"`
		Revision string `json:"revision"`
		SHA256   string `json:"sha256"`

		Title string `json:"title"`
	} `json:"pack"`
	Job struct {
		Title        string `json:"title"`
		Pack         string `json:"pack"`
		EngineNumber string `json:"engine_number"`
		Owner        string `json:"owner"`
		Room         string `json:"room"`

		Assembled bool `json:"assembled"`
	} `json:"job"`
	Results []struct {
		Name  string `json:"name"`
		Kind  string `json:"kind"`
		Place string `json:"place"`
		Title string `json:"title"`
		Value struct {
			SI   float64 `json:"si"`
			Unit string  `json:"unit"`
			Text string  `json:"text"`
		} `json:"value"`
		Expanded struct {
			SI   float64 `json:"si"`
			Text string  `json:"text"`
		} `json:"expanded"`
		Verdict string `json:"verdict"`
		New     string `json:"new"`
		Limit   string `json:"limit"`
		Margin  struct {
			SI   float64 `json:"si"`
			Text string  `json:"text"`
		} `json:"margin"`
		WearUsed float64 `json:"wear_used"`
		Drivers  []struct {
			Name  string  `json:"name"`
			Share float64 `json:"share"`
		} `json:"drivers"`
		Missing  []string `json:"missing"`
		Readings int      `json:"readings"`
		At       map[string]struct {
			SI   float64 `json:"si"`
			Unit string  `json:"unit"`
			Text string  `json:"text"`
		} `json:"at"`

		Says           string   `json:"says"`
		Blank          []string `json:"blank"`
		Answer         string   `json:"answer"`
		Supposed       bool     `json:"supposed"`
		Late           bool     `json:"late"`
		Recheck        string   `json:"recheck"`
		RecheckBecause string   `json:"recheck_because"`
		Source         string   `json:"source"`
		Basis          string   `json:"basis"`
		Instruments    []share  `json:"instruments"`
		Method         string   `json:"method"`
		Reason         string   `json:"reason"`
		Low            end      `json:"low"`
		High           end      `json:"high"`
		Settle         struct {
			Needs   difference `json:"needs"`
			Least   difference `json:"least"`
			Options []struct {
				Read []struct {
					Of         string `json:"of"`
					Place      string `json:"place"`
					Instrument string `json:"instrument"`
					Readings   int    `json:"readings"`
				} `json:"read"`
				Readings int        `json:"readings"`
				Minutes  float64    `json:"minutes"`
				Chance   float64    `json:"chance"`
				Expanded difference `json:"expanded"`
				Says     string     `json:"says"`
			} `json:"options"`
			Says string `json:"says"`
		} `json:"settle"`
	} `json:"results"`
	Joints []struct {
		Name   string   `json:"name"`
		Place  string   `json:"place"`
		Title  string   `json:"title"`
		Thread string   `json:"thread"`
		Torque string   `json:"torque"`
		Target string   `json:"target"`
		Stages []string `json:"stages"`
		Done   []int    `json:"done"`
		Points int      `json:"points"`
		State  string   `json:"state"`
		Last   string   `json:"last"`
	} `json:"joints"`
	Spaces []struct {
		Name       string   `json:"name"`
		Place      string   `json:"place"`
		State      string   `json:"state"`
		Unfinished []string `json:"unfinished"`

		Title string `json:"title"`
	} `json:"spaces"`
	Next    []string `json:"next"`
	Blocked []struct {
		Operation string   `json:"operation"`
		Because   []string `json:"because"`
	} `json:"blocked"`
	Waits []struct {
		Operation string `json:"operation"`
		For       string `json:"for"`
		Since     string `json:"since"`
		Due       string `json:"due"`
		Says      string `json:"says"`
	} `json:"waits"`
	Locks []struct {
		Name  string   `json:"name"`
		Says  string   `json:"says"`
		Until []string `json:"until"`

		Place string `json:"place"`
	} `json:"locks"`
	Parts struct {
		Missing []string `json:"missing"`
		Misfits []struct {
			Slot    string   `json:"slot"`
			Part    string   `json:"part"`
			Because []string `json:"because"`
		} `json:"misfits"`
	} `json:"parts"`
	Findings []struct {
		ID       string   `json:"id"`
		Code     string   `json:"code"`
		Severity string   `json:"severity"`
		Says     string   `json:"says"`
		Because  []string `json:"because"`
		Do       string   `json:"do"`
		Of       string   `json:"of"`
		Place    string   `json:"place"`

		Line     int    `json:"line"`
		Accepted string `json:"accepted"`
	} `json:"findings"`

	ToBeFilledIn []string `json:"to_be_filled_in"`
	WhatIf       struct {
		Changes []struct {
			Of      string     `json:"of"`
			Place   string     `json:"place"`
			Title   string     `json:"title"`
			Before  change     `json:"before"`
			After   change     `json:"after"`
			Moved   difference `json:"moved"`
			Through []string   `json:"through"`
			Says    string     `json:"says"`
		} `json:"changes"`
		New  []string `json:"new"`
		Gone []string `json:"gone"`
	} `json:"what_if"`
	Chained bool   `json:"chained"`
	Events  int    `json:"events"`
	Where   string `json:"where"`
	Stops   int    `json:"stops"`
}

// shapePack has, invented, what the demo has not: a sweep, a lock, a wait, a blank, a
// part that does not fit.
const shapePack = `pack "shape" { title = "Shape (invented)" }
place "cylinder" { each = ["front", "rear"] }
space "barrel" { at = cylinder }
dimension "lift" {
  at    = cylinder
  limit = ">= 5 mm"
}
dimension "ring_gap" {
  blank = ["limit"]
}
number "gap" {
  value = lift["front"] - "4 mm"
  limit = ">= 1 mm"
}
sweep "clear" {
  over  = "-10 .. 10 deg"
  value = lift["front"] + "1 mm" * cos(x)
  unit  = "mm"
  find  = "smallest"
  limit = ">= 1 mm"
}
slot "ring" {
  always_replace = true
  needs          = ["chrome"]
}
slot "pin" { always_replace = true }
part "R1" { fills = [slot.ring] }
part "R2" {
  fills = [slot.ring, slot.pin]
  has   = ["chrome"]
}
operation "glue" {
  wait      = "20 min"
  waits_for = "the sealant"
  disturbs  = [dimension.lift]
}
operation "ring_on" {
  at    = cylinder
  needs = [operation.glue]
  fits  = [slot.ring]
  in    = [space.barrel]
}
operation "barrel_on" {
  at     = cylinder
  closes = [space.barrel]
}
lock "still" {
  at      = cylinder
  title   = "The crank must not be turned"
  from    = [operation.glue]
  until   = [operation.ring_on]
  forbids = [operation.barrel_on]
}
`

const shapeJournal = `{"id":"1","at":"2026-03-02T10:00:00Z","by":"bench","kind":"job","title":"Shape","assembled":true}
{"id":"2","at":"2026-03-02T10:01:00Z","by":"bench","kind":"reading","of":"lift","place":"front","value":"5.5 mm"}
{"id":"3","at":"2026-03-02T10:02:00Z","by":"bench","kind":"operation","operation":"glue","state":"done"}
{"id":"4","at":"2026-03-02T10:03:00Z","by":"bench","kind":"part","part":"R1","slot":"ring","state":"fitted"}
{"id":"5","at":"2026-03-02T10:03:00Z","by":"bench","kind":"reeding"}
`

// A reading that a finer instrument may settle, and the larger of two.
const doubtPack = `pack "doubt" { title = "Doubt (invented)" }
place "cylinder" { each = ["front", "rear"] }
instrument "bore gauge" { uncertainty = "0.006 mm" }
dimension "bore" {
  at    = cylinder
  with  = "bore gauge"
  limit = "<= 92.090 mm"
}
number "larger" {
  value = largest(each(bore))
  limit = "<= 92.095 mm"
}
`

const doubtJournal = `{"id":"1","at":"2026-03-02T10:00:00Z","by":"bench","kind":"job","title":"Doubt"}
{"id":"2","at":"2026-03-02T10:01:00Z","by":"bench","kind":"instrument","name":"bg-2","class":"bore gauge","uncertainty":"0.001 mm"}
{"id":"3","at":"2026-03-02T10:02:00Z","by":"bench","kind":"reading","of":"bore","place":"front","value":"92.088 mm"}
{"id":"4","at":"2026-03-02T10:03:00Z","by":"bench","kind":"reading","of":"bore","place":"rear","value":"92.087 mm"}
`

func TestAssessmentHasTheShapeOfTheContract(t *testing.T) {
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	doubt, doubted := file("doubt.pack", doubtPack), file("doubt.jsonl", doubtJournal)
	shape, job := file("shape.pack", shapePack), file("shape.jsonl", shapeJournal)
	runs := [][]string{
		{"--demo"},
		{"--pack", shape, "--journal", job, "--now", "2026-03-02T10:05:00Z"},
		{"--pack", shape, "--set", "lift[front]=5.5 mm"},
		{"--pack", shape},
		{"--pack", doubt, "--journal", doubted},
		{"--pack", doubt, "--journal", doubted, "--set", "bore[rear]=92.110 mm"},
		{"--pack", doubt, "--journal", doubted, "--set", "bore[front]=92.000 mm"},
	}
	journals, err := filepath.Glob("../../packs/aldermoor-v1150/journals/*.jsonl")
	if err != nil || len(journals) < 3 {
		t.Fatalf("the demo has %d journals: %v", len(journals), err)
	}
	for _, j := range journals {
		runs = append(runs, []string{"--pack", "../../packs/aldermoor-v1150", "--journal", j})
	}
	seen := map[string]bool{}
	for _, args := range runs {
		var stdout, stderr bytes.Buffer
		args = append([]string{"assess", "--json"}, args...)
		code := Main(args, strings.NewReader(""), &stdout, &stderr)
		if code != ExitDone && code != ExitStops {
			t.Fatalf("%v: exit code %d: %s", args, code, stdout.Bytes())
		}
		if err := checkOutput(args, code, stdout.Bytes(), stderr.Bytes()); err != nil {
			t.Errorf("%v: %v", args, err)
		}
		var a assessed
		decode(t, stdout.Bytes(), &a)
		if stops := code == ExitStops; stops != (a.Stops > 0) {
			t.Errorf("%v: exit code %d, and %d stops", args, code, a.Stops)
		}
		var v map[string]any
		if err := json.Unmarshal(stdout.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		occurring(seen, "", v)
		for _, list := range []string{"results", "joints", "spaces", "next", "blocked", "waits", "locks", "findings", "to_be_filled_in"} {
			if _, ok := v[list].([]any); !ok {
				t.Errorf("%v: %s is no list: %v", args, list, v[list])
			}
		}
		checkWords(t, args, &a)
	}
	for _, name := range fieldsOf("", reflect.TypeFor[assessed]()) {
		if !seen[name] {
			t.Errorf("%s occurs in none of %d assessments", name, len(runs))
		}
	}
}

// checkWords holds the values of fields to the words that the contract allows.
func checkWords(t *testing.T, args []string, a *assessed) {
	t.Helper()
	allowed := func(what, got string, words ...string) {
		if !slices.Contains(words, got) {
			t.Errorf("%v: %s is %q, which is none of %v", args, what, got, words)
		}
	}
	for _, r := range a.Results {
		allowed(r.Name+" kind", r.Kind, "dimension", "number", "sweep", "check")
		if r.Kind == "check" {
			allowed(r.Name+" verdict", r.Verdict, "passed", "failed", "not-measured")
		} else {
			allowed(r.Name+" verdict", r.Verdict, "new-fit", "serviceable", "out-of-limits", "too-close", "not-measured", "none")
		}
		if strings.Contains(r.Name, ".") {
			t.Errorf("%v: the name %q is a reference", args, r.Name)
		}
	}
	for _, s := range a.Spaces {
		allowed(s.Name+" state", s.State, "open", "closed")
		for _, o := range s.Unfinished {
			allowed("unfinished", strings.SplitN(o, ".", 2)[0], "operation")
		}
	}
	for _, o := range a.Next {
		allowed("next", strings.SplitN(o, ".", 2)[0], "operation")
	}
	for _, f := range a.Findings {
		allowed(f.ID+" severity", f.Severity, "stop", "attention", "note")
		if want := strings.TrimSpace(strings.Join([]string{f.Code, f.Of, f.Place}, " ")); f.ID != want && f.Of != "" {
			t.Errorf("%v: the id of a finding is %q, and its parts are %q", args, f.ID, want)
		}
		if f.Says == "" || f.Do == "" && f.Severity == "stop" {
			t.Errorf("%v: the finding %s says %q and to do %q", args, f.ID, f.Says, f.Do)
		}
	}
}

// occurring notes every path of names that has a value; lists and maps count as one
// step.
func occurring(seen map[string]bool, path string, v any) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			seen[path+"."+k] = true
			occurring(seen, path+"."+k, x)
			occurring(seen, path+".*", x)
		}
	case []any:
		for _, x := range v {
			occurring(seen, path, x)
		}
	}
}

// fieldsOf lists the paths of a type's JSON fields.
func fieldsOf(path string, t reflect.Type) []string {
	switch t.Kind() {
	case reflect.Slice:
		return fieldsOf(path, t.Elem())
	case reflect.Map:
		return fieldsOf(path+".*", t.Elem())
	case reflect.Struct:
	default:
		return nil
	}
	var list []string
	for i := range t.NumField() {
		name := path + "." + t.Field(i).Tag.Get("json")
		list = append(append(list, name), fieldsOf(name, t.Field(i).Type)...)
	}
	return list
}

// Every committed table becomes a pack that checks clean, and every row of it is
// accounted for.
func TestEveryPublishedTableBecomesACleanPack(t *testing.T) {
	tables, err := filepath.Glob("../../packs/published/tables/*.csv")
	if err != nil || len(tables) < 6 {
		t.Fatalf("%d tables: %v", len(tables), err)
	}
	for _, table := range tables {
		for _, more := range [][]string{nil, {"--both-units"}} {
			out := filepath.Join(t.TempDir(), "made.pack")
			stdout, _ := run(t, ExitDone, append([]string{"pack", "from-table", table, "--out", out, "--json"}, more...)...)
			var made struct {
				Pack                  string
				Taken, Noted, Refused int
				Rows                  []struct {
					Line                int
					Name, Outcome, Says string
				}
			}
			decode(t, stdout, &made)
			rows := countRows(t, table)
			if n := made.Taken + made.Noted + made.Refused; n != rows || len(made.Rows) != rows || rows == 0 {
				t.Errorf("%s: %d rows, %d told of, %d listed", table, rows, n, len(made.Rows))
			}
			for _, r := range made.Rows {
				if r.Outcome != "taken" && r.Says == "" {
					t.Errorf("%s: line %d is %s without a reason", table, r.Line, r.Outcome)
				}
			}
			stdout, _ = run(t, ExitDone, "pack", "check", out, "--json")
			var checked struct {
				Mistakes     []any
				ToBeFilledIn []string `json:"to_be_filled_in"`
				Remarks      []any
			}
			decode(t, stdout, &checked)
			if len(checked.Mistakes) != 0 {
				t.Errorf("%s: %v", table, checked.Mistakes)
			}
			run(t, ExitFailed, "pack", "from-table", table, "--out", out)
			run(t, ExitDone, "pack", "from-table", table, "--out", out, "--force")
			run(t, ExitDone, "assess", "--pack", out)
		}
	}
}

func countRows(t *testing.T, table string) int {
	t.Helper()
	f, err := os.Open(table)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return len(rows) - 1
}

// The packs that the program carries are clean, by their IDs.
func TestCarriedPacksAreClean(t *testing.T) {
	ids := packs.IDs()
	if len(ids) < 7 {
		t.Fatalf("the program carries %d packs", len(ids))
	}
	for _, id := range ids {
		stdout, _ := run(t, ExitDone, "pack", "check", id, "--json")
		if !bytes.Contains(stdout, []byte(`"mistakes": []`)) {
			t.Errorf("%s: %s", id, stdout)
		}
	}
}

const plainPack = `pack "plain" { title = "Plain (invented)" }
dimension "gap" {
  read { repeat = 100 }
}
`

// Many at once, all adding to one journal: every line is whole, each reading is there
// once, and the table that all of them take is there once.
func TestManyAddToOneJournal(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	pack, job := write("plain.pack", plainPack), filepath.Join(dir, "job.jsonl")
	shared := write("shared.csv", "of,n,value\ngap,1,1 mm\ngap,2,2 mm\n")
	// A journal that takes a while to read leaves time to get in between.
	const before = 5000
	var old strings.Builder
	for i := range before {
		fmt.Fprintf(&old, `{"id":"%d","at":"2026-03-02T09:00:00Z","by":"bench","kind":"note","text":"x"}`+"\n", i)
	}
	write("job.jsonl", old.String())
	const writers, rows = 16, 5
	var wait sync.WaitGroup
	start := make(chan struct{})
	errs := make(chan string, 2*writers)
	for w := range writers {
		var own strings.Builder
		own.WriteString("of,n,value,by\n")
		for r := range rows {
			fmt.Fprintf(&own, "gap,%d,%d.%d mm,writer %d\n", 3+w*rows+r, w, r, w)
		}
		table := write(fmt.Sprintf("own%d.csv", w), own.String())
		wait.Add(1)
		go func() {
			defer wait.Done()
			<-start
			for _, csv := range []string{shared, table} {
				var out, err bytes.Buffer
				if code := Main([]string{"readings", "--pack", pack, "--csv", csv, "--journal", job}, strings.NewReader(""), &out, &err); code != 0 {
					errs <- fmt.Sprintf("exit code %d: %s", code, err.Bytes())
				}
			}
		}()
	}
	close(start)
	wait.Wait()
	close(errs)
	for e := range errs {
		t.Error(e)
	}
	text, err := os.ReadFile(job)
	if err != nil {
		t.Fatal(err)
	}
	j := journal.Read(text)
	ids := map[string]bool{}
	for _, e := range j.Events {
		ids[e.ID] = true
	}
	if want := before + writers*rows + 2; len(j.Problems) != 0 || len(j.Events) != want || len(ids) != want {
		t.Errorf("%d events of %d ids, want %d; problems %v", len(j.Events), len(ids), want, j.Problems)
	}
}

// A hundred thousand brackets are told of, and so is everything else that no person
// types.
func TestFormulaOfBrackets(t *testing.T) {
	for _, n := range []int{longestFormula/2 - 10, 100_000} {
		deep := strings.Repeat("(", n) + "1" + strings.Repeat(")", n)
		stdout, _ := run(t, ExitFailed, "calc", "evaluate", "--json", "formula="+deep)
		if len(stdout) > 2000 {
			t.Errorf("the error is %d bytes long", len(stdout))
		}
	}
	const n = 100_000
	run(t, ExitFailed, "calc", "evaluate", "formula="+strings.Repeat("-", n)+"1")
	run(t, ExitFailed, "calc", "evaluate", "formula="+strings.Repeat("1+", n)+"1")
	run(t, ExitDone, "calc", "evaluate", "formula="+strings.Repeat("1+", 1000)+"1")
	run(t, ExitFailed, "calc", "convert", "value="+strings.Repeat("9", n)+" mm", "to=in")
	run(t, ExitFailed, "calc", "convert", "value=1 mm", "to="+strings.Repeat("m", n))
}

// BenchmarkAssessDemo is an assessment of the demo as the command does it, from the
// text of the pack to JSON, without starting the program.
func BenchmarkAssessDemo(b *testing.B) {
	for b.Loop() {
		run(b, ExitStops, "assess", "--demo", "--json")
	}
}
