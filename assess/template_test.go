package assess_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/words"
)

const vTwin = `pack "v-twin" {
  title = "any V-twin"
}
dimension "bore" {
  step  = "0.001 mm"
  blank = ["new", "limit"]
}
dimension "guide" {
  limit = "<= 8.05 mm"
  read {
    positions = ["top", "bottom"]
    axes      = ["a", "b"]
  }
}
operation "wash" {
}
operation "measure_all" {
  needs = [operation.wash]
  holds = [dimension.bore]
}
operation "paint" {
}
`

const mine = `pack "mine" {
  title   = "my V-twin"
  extends = "v-twin"
}
dimension "bore" {
  limit = "<= 92.090 mm"
}
dimension "guide" {
  read {
    positions = ["middle"]
  }
}
operation "measure_all" {
  needs = [operation.paint]
}
operation "wash" {
  remove = true
}
`

// A pack takes the structure of its template; what it names it replaces whole, what it
// removes is gone, and a blank that it leaves open gives no verdict.
func TestPackOverItsTemplate(t *testing.T) {
	find := func(id string) ([]pack.File, bool) {
		return []pack.File{{Name: "v-twin.pack", Text: []byte(vTwin)}}, id == "v-twin"
	}
	p := loadFiles(t, []packs.File{{Name: "mine.pack", Text: []byte(mine)}}, find)
	a := assess.Assess(p, journal.Read(journalText(t, []string{
		`reading of=bore value="92.100 mm"`,
		`reading of=guide pos=middle value="8.02 mm"`,
		`reading of=guide pos=top axis=a value="8.02 mm"`,
	})).Fold(), assess.Options{})
	e := expectation{t: t, c: &testCase{}, a: a, at: "template", listed: map[string]bool{}}
	e.check("bore: none 92.100 ± 0.001 mm; blank new")
	e.check("filled: dimension.bore new")
	// The nested read block is replaced as one: its axes are gone.
	e.check("guide: serviceable 8.02 ± 0 mm; readings 1")
	e.check("attention reading.beyond-plan line 3")
	e.check("next: paint")
	e.check("blocked measure_all: operation.paint is not done; dimension.bore")

	// The hash covers the text of every file read, the template's too.
	h := sha256.New()
	h.Write([]byte(mine))
	h.Write([]byte(vTwin))
	if got := words.Make(a).Pack.SHA256; got != hex.EncodeToString(h.Sum(nil)) {
		t.Errorf("the hash is %s", got)
	}
}

// Job-local text does not change the hash of the pack that the job pinned.
func TestExtrasKeepTheHashOfThePack(t *testing.T) {
	p := demoPack(t)
	a := assessLines(p, demoJournal(t, "mid-inspection"))
	if a.Pack.SHA256 != p.SHA256 || len(p.SHA256) != 64 {
		t.Errorf("the hash is %q, then %q", p.SHA256, a.Pack.SHA256)
	}
	if a.Pack == p {
		t.Error("the extra was not merged")
	}
}

// A model is ready for several callers at once, and assessing leaves it and the state
// as they were.
func TestModelServesSeveralAtOnce(t *testing.T) {
	model := assess.Prepare(demoPack(t))
	var states []*journal.State
	var want []string
	for _, name := range demoJournals {
		states = append(states, journal.Read([]byte(strings.Join(demoJournal(t, name), "\n"))).Fold())
		want = append(want, report(t, model.Assess(states[len(states)-1], assess.Options{})))
	}
	done := make(chan string)
	for k := range 12 {
		go func() {
			i := k % len(states)
			if got := report(t, model.Assess(states[i], assess.Options{})); got != want[i] {
				done <- demoJournals[i] + ": " + differ(want[i], got)
				return
			}
			done <- ""
		}()
	}
	for range 12 {
		if says := <-done; says != "" {
			t.Error(says)
		}
	}
}

// An empty journal is a job of which nothing is known: no value, no stop, and what
// needs nothing may begin.
func TestEmptyJournal(t *testing.T) {
	a := assess.Assess(demoPack(t), (&journal.Journal{}).Fold(), assess.Options{})
	for i := range a.Results {
		// A number that is written down in the pack, with its ±, has a value.
		if r := &a.Results[i]; r.HasValue && r.Kind != "number" || r.Verdict > measure.NotMeasured {
			t.Errorf("%s %s is %s", r.Reference(), r.Place, r.Verdict)
		}
	}
	if a.Stops() != 0 || len(a.Next) == 0 && len(a.Blocked) == 0 {
		t.Errorf("%d stops, next %v", a.Stops(), a.Next)
	}
}
