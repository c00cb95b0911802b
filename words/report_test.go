package words_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/words"
)

func demo(t testing.TB, name string) *assess.Assessment {
	t.Helper()
	files, _ := packs.Find(packs.Demo)
	var list []pack.File
	for _, f := range files {
		list = append(list, pack.File{Name: f.Name, Text: f.Text})
	}
	p, mistakes := pack.Load(list, nil)
	if len(mistakes) > 0 {
		t.Fatal(mistakes[0].Says)
	}
	text, ok := packs.Journal(packs.Demo, name)
	if !ok {
		t.Fatalf("there is no journal %s", name)
	}
	return assess.Assess(p, journal.Read(text).Fold(), assess.Options{Now: time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)})
}

func job(t testing.TB, text string, bodies ...any) *assess.Assessment {
	t.Helper()
	p, mistakes := pack.Load([]pack.File{{Name: "job.pack", Text: []byte("pack \"job\" {\n  title = \"job\"\n}\n" + text)}}, nil)
	if len(mistakes) > 0 {
		t.Fatalf("%s: %s", mistakes[0].Span, mistakes[0].Says)
	}
	var events []journal.Event
	for i, b := range bodies {
		events = append(events, journal.New("e"+string(rune('a'+i)), time.Date(2026, 3, 2, 8, i, 0, 0, time.UTC), "bench", b))
	}
	return assess.Assess(p, (&journal.Journal{Events: events}).Fold(), assess.Options{})
}

// object is a report as a script sees it.
func object(t testing.TB, a *assess.Assessment) map[string]any {
	t.Helper()
	text, err := json.Marshal(words.Make(a))
	if err != nil {
		t.Fatalf("the report cannot be written: %v", err)
	}
	var m map[string]any
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

// keysOf lists what must stand in each part of `assess --json`. Fields are added and
// never renamed or dropped.
var keysOf = map[string][]string{
	"":         {"pack", "job", "results", "joints", "spaces", "next", "blocked", "waits", "locks", "parts", "findings"},
	"pack":     {"id", "revision", "sha256"},
	"parts":    {"missing", "misfits"},
	"results":  {"name", "kind", "title", "verdict"},
	"spaces":   {"name", "state", "unfinished"},
	"blocked":  {"operation", "because"},
	"locks":    {"name", "says", "until"},
	"findings": {"id", "code", "severity", "says", "because", "do", "of", "place"},
}

func TestReportHasTheFieldsThatWereFixed(t *testing.T) {
	for _, a := range []*assess.Assessment{demo(t, "clean-rebuild"), demo(t, "mid-inspection"), demo(t, "swapped-gasket"), job(t, "")} {
		m := object(t, a)
		check := func(where string, x any) {
			t.Helper()
			o, ok := x.(map[string]any)
			if !ok {
				t.Errorf("%s is %v", where, x)
				return
			}
			for _, key := range keysOf[where] {
				if v, ok := o[key]; !ok || v == nil {
					t.Errorf("%s has no %s: %v", where, key, o)
				}
			}
		}
		check("", m)
		check("pack", m["pack"])
		check("parts", m["parts"])
		for _, list := range []string{"results", "spaces", "blocked", "locks", "findings"} {
			items, ok := m[list].([]any)
			if !ok {
				t.Errorf("%s is no list: %v", list, m[list])
			}
			for _, x := range items {
				check(list, x)
			}
		}
	}
}

func TestResultsAreFiguresWithTheirText(t *testing.T) {
	a := job(t, `dimension "bore" {
  step  = "0.001 mm"
  new   = "92.000 .. 92.013 mm"
  limit = "<= 92.090 mm"
}
dimension "chamber" {
  new = "62.0 .. 63.0 cc"
}
dimension "unread" {
  limit = "<= 1 mm"
}
`, journal.Instrument{Name: "g", Uncertainty: "0.005 mm"},
		journal.Reading{Of: "bore", Value: "92.004 mm", Instrument: "g"},
		journal.Reading{Of: "chamber", Value: "62.5 cc"})
	r := words.Make(a)
	bore := r.Results[0]
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s is %v, want %v", what, got, want)
		}
	}
	near("bore", bore.Value.SI, 0.092004)
	near("its ±", bore.Expanded.SI, 5.033222956847166e-6) // 2·√(2.5² + 1/12) µm
	near("its margin", bore.Margin.SI, 86e-6)
	near("its wear", *bore.WearUsed, -0.0025/0.0835)
	if bore.Value.Unit != "mm" || bore.Value.Text != "92.004 mm" || bore.Expanded.Text != "0.0050 mm" || bore.Margin.Text != "0.086 mm" ||
		bore.New != "92.000 .. 92.013 mm" || bore.Limit != "<= 92.090 mm" || bore.Verdict != "new-fit" || bore.Readings != 1 {
		t.Errorf("%+v: value %+v, ± %+v, margin %+v", bore, bore.Value, bore.Expanded, bore.Margin)
	}
	near("chamber", r.Results[1].Value.SI, 62.5e-6)
	if u := r.Results[2]; u.Value != nil || u.Expanded != nil || u.Margin != nil || u.WearUsed != nil || u.Verdict != "not-measured" || !slices.Equal(u.Missing, []string{"reading"}) {
		t.Errorf("%+v", u)
	}
}

func TestChecksHaveWordsOfTheirOwn(t *testing.T) {
	const text = `check "a" {
  answers = ["good", "bad"]
  pass    = ["good"]
}
check "b" {
  answers = ["good", "bad"]
  pass    = ["good"]
}
check "c" {
  ask = "look"
}
`
	r := words.Make(job(t, text, journal.Check{Of: "a", Answer: "good"}, journal.Check{Of: "b", Answer: "bad"}))
	for i, want := range []string{"passed", "failed", "not-measured"} {
		if got := r.Results[i]; got.Verdict != want || got.Kind != "check" {
			t.Errorf("check %s is %s, want %s", got.Name, got.Verdict, want)
		}
	}
}

// An id is the code, what it is of and its place; references are KIND.NAME.
func TestIDsAreMadeOfTheirParts(t *testing.T) {
	for _, name := range []string{"clean-rebuild", "mid-inspection", "swapped-gasket"} {
		for _, f := range words.Make(demo(t, name)).Findings {
			if want := strings.TrimSpace(f.Code + " " + strings.TrimSpace(f.Of+" "+f.Place)); f.ID != want {
				t.Errorf("the id is %q, want %q", f.ID, want)
			}
			if !slices.Contains([]string{"stop", "attention", "note"}, f.Severity) {
				t.Errorf("%s is %s", f.ID, f.Severity)
			}
		}
	}
}

// Sentences are whole: they say something, say what to do, and print what they are
// about.
func TestSentencesAreWhole(t *testing.T) {
	all := []assess.Finding{}
	for _, name := range []string{"clean-rebuild", "mid-inspection", "swapped-gasket"} {
		all = append(all, demo(t, name).Findings...)
	}
	for i := range all {
		s := words.Finding(&all[i])
		for _, part := range append([]string{s.Says, s.Do}, s.Because...) {
			stop := strings.HasSuffix(part, ".") && all[i].Code != assess.CodeCheckOpen // which asks in the words of the pack
			if part == "" || strings.Contains(part, "%!") || strings.Contains(part, "  ") || stop {
				t.Errorf("%s: %q", all[i].ID(), part)
			}
		}
		if len(s.Says) < 10 || len(s.Do) < 5 {
			t.Errorf("%s: %+v", all[i].ID(), s)
		}
	}
}

// The sentence about a value gives measurement, limit and margin in that order, and
// says which way it is wrong.
func TestSentencesAboutValues(t *testing.T) {
	const text = `dimension "bore" {
  new   = "92.000 .. 92.013 mm"
  limit = "<= 92.090 mm"
}
dimension "pin" {
  new   = "21.994 .. 22.000 mm"
  limit = ">= 21.986 mm"
}
number "clearance" {
  value = bore - "91.96 mm"
  new   = "0.040 .. 0.060 mm"
  limit = "<= 0.150 mm"
}
`
	for _, c := range []struct {
		of, value string
		want      []string
	}{
		{"bore", "92.105 mm", []string{"bore 92.105 ± 0.005 mm, limit <= 92.090 mm", "over by 0.015 mm", "worn out"}},
		{"bore", "91.980 mm", []string{"92.000 .. 92.013 mm", "smaller than new"}},
		{"pin", "22.010 mm", []string{"21.994 .. 22.000 mm", "larger than new"}},
		{"pin", "21.970 mm", []string{"limit >= 21.986 mm", "under by 0.016 mm", "worn out"}},
	} {
		a := job(t, text, journal.Instrument{Name: "g", Uncertainty: "0.005 mm"}, journal.Reading{Of: c.of, Value: c.value, Instrument: "g"})
		says := ""
		for i := range a.Findings {
			if f := &a.Findings[i]; f.Code == assess.CodeOutOfLimits && f.Of == "dimension."+c.of {
				says = words.Finding(f).Says
			}
		}
		at := 0
		for _, w := range c.want {
			i := strings.Index(says[at:], w)
			if i < 0 {
				t.Errorf("%s %s: %q does not say %q there", c.of, c.value, says, w)
				break
			}
			at += i
		}
	}
	a := job(t, text, journal.Instrument{Name: "g", Uncertainty: "0.005 mm"}, journal.Reading{Of: "bore", Value: "91.985 mm", Instrument: "g"})
	found := false
	for i := range a.Findings {
		if f := &a.Findings[i]; f.Of == "number.clearance" && f.Code == assess.CodeOutOfLimits {
			found = strings.Contains(words.Finding(f).Says, "tighter than new")
		}
	}
	if !found {
		t.Error("a clearance of 0.025 mm is not said to be tighter than new")
	}
}

// On the edge itself no gauge decides, and none is promised.
func TestOnTheEdgeNoGaugeIsPromised(t *testing.T) {
	a := job(t, "dimension \"bore\" {\n  limit = \"<= 92.090 mm\"\n}\n",
		journal.Instrument{Name: "g", Uncertainty: "0.005 mm"}, journal.Reading{Of: "bore", Value: "92.090 mm", Instrument: "g"})
	for i := range a.Findings {
		if f := &a.Findings[i]; f.Code == assess.CodeTooClose {
			if s := words.Finding(f); strings.Contains(s.Do, "± below 0") || !strings.Contains(s.Do, "no gauge decides") {
				t.Errorf("%+v", s)
			}
			return
		}
	}
	t.Error("a bore on its limit with ± 0.005 mm is not too close")
}

func TestVerdictsAreSaidAsABuilderWould(t *testing.T) {
	limited := &assess.Result{Kind: "dimension", Judgement: measure.Judgement{Verdict: measure.OutOfLimits}}
	limited.Limit.HasHigh = true
	fit := *limited
	fit.Kind = "number"
	short := *limited
	short.Short = true
	sweep := &assess.Result{Kind: "sweep", Judgement: measure.Judgement{Verdict: measure.Serviceable}}
	blank := &assess.Result{Kind: "dimension", Blank: []string{"limit"}}
	for _, c := range []struct {
		r    *assess.Result
		want string
	}{
		{limited, "worn out"}, {&fit, "out of limits"}, {&short, "out of limits"}, {sweep, "clears"}, {blank, "no limit known"},
		{&assess.Result{Kind: "dimension"}, "no limit"},
		{&assess.Result{Kind: "dimension", Judgement: measure.Judgement{Verdict: measure.Serviceable}}, "within limits"},
	} {
		if got := words.Verdict(c.r); got != c.want {
			t.Errorf("%s is said %q, want %q", c.r.Judgement.Verdict, got, c.want)
		}
	}
}

func TestDurations(t *testing.T) {
	for _, c := range []struct {
		seconds float64
		want    string
	}{{45, "45 s"}, {20 * 60, "20 min"}, {4 * 3600, "4 h"}, {5400, "1.5 h"}, {5 * 86400, "5 days"}} {
		if got := words.Duration(c.seconds); got != c.want {
			t.Errorf("%v s is %q, want %q", c.seconds, got, c.want)
		}
	}
}
