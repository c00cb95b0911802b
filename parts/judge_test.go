package parts

import (
	"strings"
	"testing"

	"buttonup/pack"
)

// bench is an invented pack with the kinds of rules that section 5 of the trade's map
// lists: features to look at, mirrored parts, companions, sizes, numbers.
const bench = `
pack "bench" { title = "Bench (invented)" }
place "side" { each = ["left", "right"] }
option "feed" {
  title   = "Oil holes in the carrier face"
  choices = ["two", "three"]
  default = "three"
  ask     = "two holes or three?"
}
option "cover" {
  choices = ["narrow", "wide"]
}
slot "carrier" {
  title = "Lifter carrier"
  at    = side
  needs = ["left hand"]
}
slot "gasket" { title = "Carrier gasket" }
slot "pump" { title = "Oil pump" }
slot "spring" { title = "Relief spring" }
slot "shim" { title = "Shim" }
slot "shaft" { title = "Shaft" }
part "C-L" {
  fills = [slot.carrier]
  has   = ["left hand"]
}
part "C-R" {
  fills = [slot.carrier]
  has   = ["right hand"]
}
part "G-2" {
  fills = [slot.gasket]
  fits  = feed == "two"
  looks_like = ["G-3"]
}
part "G-3" {
  title = "Gasket, three holes"
  fills = [slot.gasket]
  fits  = feed == "three"
}
part "G-W" {
  fills   = [slot.gasket]
  fits    = cover == "wide"
  engines = "B20001 .."
  look    = "measure the bore"
}
part "P-N" { fills = [slot.pump] }
part "P-W" {
  fills = [slot.pump]
  needs = ["strong spring"]
  has   = ["wide gears"]
}
part "S-W" {
  fills    = [slot.spring]
  excludes = ["wide gears"]
}
part "S-S" {
  fills = [slot.spring]
  has   = ["strong spring"]
}
part "SH-1" {
  fills = [slot.shim]
  fits  = shaft.diameter > "20 mm"
}
part "SH-2" {
  fills = [slot.shim]
}
part "SHAFT" {
  fills = [slot.shaft]
  sizes = { diameter = "19.5 mm" }
}
part "KIT" {
  fills    = [slot.gasket, slot.spring, slot.shim]
  families = ["somebody-else"]
}
part "OTHER" {
  fills    = [slot.gasket]
  families = ["somebody-else"]
}
`

func benchPack(t *testing.T) *Catalogue {
	t.Helper()
	p, mistakes := pack.Load([]pack.File{{Name: "bench.pack", Text: []byte(bench)}}, nil)
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	return NewCatalogue(p)
}

func told(v Verdict) string {
	out := v.Answer.String()
	for _, r := range v.Because {
		out += "; " + r.Kind + " " + strings.Join(r.Names, ",")
		for _, l := range r.Lacks {
			out += " [" + l.Has + "->" + strings.Join(l.Wants, "/") + l.Operator + "]"
		}
	}
	for _, q := range v.Questions {
		out += "; ask " + q.Option + " " + strings.Join(q.Wants, "/")
	}
	for _, x := range v.Companions {
		out += "; with " + strings.Join(x.Parts, ",")
	}
	if v.Nearest != "" {
		out += "; nearest " + v.Nearest
	}
	return out
}

func TestJudge(t *testing.T) {
	c := benchPack(t)
	engine := func(choices string, chosen ...Chosen) *Engine {
		e := &Engine{Choices: map[string]string{}, Assumed: map[string]bool{}, Chosen: chosen, Number: "B-19000"}
		for _, word := range strings.Fields(choices) {
			name, choice, _ := strings.Cut(word, "=")
			choice, assumed := strings.CutSuffix(choice, "?")
			e.Choices[name], e.Assumed[name] = choice, assumed
		}
		return e
	}
	for _, x := range []struct {
		engine            *Engine
		slot, place, part string
		want              string
	}{
		{engine("feed=three"), "gasket", "", "G-3", "fits"},
		{engine("feed=three"), "gasket", "", "G-2", "refused; fits feed [three->two]; nearest G-3"},
		{engine("feed=three?"), "gasket", "", "G-3", "ask; ask feed three"}, // nobody looked: never assumed
		{engine("feed=three?"), "gasket", "", "G-2", "ask; ask feed two"},
		{engine(""), "gasket", "", "G-2", "ask; ask feed two"},
		{engine("feed=two cover=wide"), "gasket", "", "G-W", "fits"}, // its number lies outside: advice only
		{engine("feed=two"), "gasket", "", "G-W", "ask; ask cover wide; nearest G-2"},
		{engine("feed=two"), "gasket", "", "OTHER", "refused; family somebody-else; nearest G-2"},
		{engine("feed=two"), "gasket", "", "C-L", "refused; slot carrier; nearest G-2"},
		{engine("feed=two"), "gasket", "", "G-9", "refused; unknown G-9; nearest G-2"},
		{engine(""), "carrier", "left", "C-L", "fits"},
		{engine(""), "carrier", "right", "C-R", "refused; feature left hand; nearest C-L"},
		{engine(""), "pump", "", "P-W", "fits-with; with S-S"},
		{engine("", Chosen{Slot: "spring", Part: "S-S"}), "pump", "", "P-W", "fits"},
		{engine("", Chosen{Slot: "spring", Part: "S-W"}), "pump", "", "P-W", "refused; needs strong spring,S-W; excluded wide gears,S-W; nearest P-N"},
		{engine("", Chosen{Slot: "pump", Part: "P-W"}), "spring", "", "S-W", "refused; excludes wide gears,P-W; nearest S-S"},
		{engine("", Chosen{Slot: "shaft", Part: "SHAFT"}), "shim", "", "SH-1", "refused; fits  [->>]; nearest SH-2"},
		{engine("", Chosen{Slot: "shaft", Part: "SHAFT", Sizes: map[string]float64{"diameter": 0.0201}}), "shim", "", "SH-1", "fits"},
	} {
		if got := told(c.Judge(x.engine, x.slot, x.place, x.part)); got != x.want {
			t.Errorf("%s in %s %s: %q, want %q", x.part, x.slot, x.place, got, x.want)
		}
	}
	v := c.Judge(engine("feed=two cover=wide"), "gasket", "", "G-W")
	if v.Advice == nil || !v.Advice.Outside || v.Advice.Look != "measure the bore" {
		t.Errorf("the engine number gives the advice %+v", v.Advice)
	}
}

func TestInNumbers(t *testing.T) {
	for _, c := range []struct {
		numbers, engine    string
		inside, comparable bool
	}{
		{"A10001 .. A14388", "A12345", true, true},
		{"A10001 .. A14388", "A14388", true, true},
		{"A10001 .. A14388", "A14389", false, true},
		{"A10001 .. A14388", "a 9999", false, true},
		{"B20001 ..", "B-20001", true, true},
		{"B20001 ..", "B 120000", true, true},
		{".. A14388", "A14388", true, true},
		{"B20001 ..", "A30000", false, false}, // other letters: nothing can be said
		{"B20001 ..", "", false, false},
		{"B20001 ..", "B20X01", false, false},
		{"B20001", "B20001", true, true},
	} {
		inside, comparable := InNumbers(c.numbers, c.engine)
		if inside != c.inside || comparable != c.comparable {
			t.Errorf("%s in %q: %v, %v", c.engine, c.numbers, inside, comparable)
		}
	}
}

// A law: what is named as nearest is judged to fit, for every part in every slot of
// every engine of the bench.
func TestNearestFits(t *testing.T) {
	c := benchPack(t)
	named := 0
	for _, feed := range []string{"two", "three"} {
		for _, spring := range []string{"", "S-W", "S-S"} {
			e := &Engine{Choices: map[string]string{"feed": feed, "cover": "narrow"}}
			if spring != "" {
				e.Chosen = []Chosen{{Slot: "spring", Part: spring}}
			}
			for _, s := range c.Pack().Slots {
				for _, p := range c.Pack().Parts {
					v := c.Judge(e, s.Name, "", p.Name)
					if v.Answer == Refused && len(v.Because) == 0 {
						t.Errorf("%s in %s is refused without a reason", p.Name, s.Name)
					}
					if v.Nearest == "" {
						continue
					}
					named++
					if n := c.Judge(e, s.Name, "", v.Nearest); n.Answer != Fits && n.Answer != FitsWith {
						t.Errorf("%s is named as nearest to %s in %s and is %s", v.Nearest, p.Name, s.Name, n.Answer)
					}
				}
			}
		}
	}
	if named < 50 {
		t.Errorf("only %d were named", named)
	}
}
