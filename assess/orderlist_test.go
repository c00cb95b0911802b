package assess_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/parts/basket"
	"buttonup/quantity"
	"buttonup/words"
)

// orderPack has, invented, one of each rule that an order list must keep to.
const orderPack = `
pack "order" { title = "Order (invented)" }
place "side" { each = ["left", "right"] }
option "series" {
  choices = ["A", "B"]
  title   = "Series"
  ask     = "count the holes"
}
dimension "bore" {
  at    = side
  step  = "0.1 mm"
  limit = "<= 10 mm"
}
check "crown" {
  at      = side
  ask     = "cracked?"
  answers = ["sound", "cracked"]
  pass    = ["sound"]
}
slot "piston" {
  title   = "Piston"
  at      = side
  worn_by = [dimension.bore, check.crown]
}
slot "gasket" {
  title          = "Gasket"
  always_replace = true
  one_use        = true
}
slot "seal" {
  title          = "Seal"
  at             = side
  always_replace = true
}
slot "unneeded" { title = "Not needed" }
supplier "Near" {
  shipping = "5.00"
  currency = "GBP"
}
supplier "Far" {
  shipping  = "9.00"
  free_over = "20.00"
}
part "P" { fills = [slot.piston] }
part "G-A" {
  fills = [slot.gasket]
  fits  = series == "A"
}
part "G-B" {
  fills = [slot.gasket]
  fits  = series == "B"
}
part "S-A" {
  fills = [slot.seal]
  fits  = series == "A"
}
part "S-B" {
  fills = [slot.seal]
  fits  = series == "B"
}
part "KIT" {
  fills = [slot.gasket, slot.seal]
  count = { seal = 2 }
  fits  = series == "B"
}
part "U" { fills = [slot.unneeded] }
operation "build" {
  at   = side
  fits = [slot.piston, slot.seal]
}
operation "close" {
  fits  = [slot.gasket]
  trial = true
}
offer {
  part     = "P"
  supplier = "Near"
  number   = "N-1"
  price    = "11.10"
  lead     = "2 days"
}
offer {
  part     = "G-A"
  supplier = "Far"
  price    = "1.10"
  lead     = "30 h"
}
offer {
  part     = "G-B"
  supplier = "Far"
  price    = "1.00"
}
offer {
  part     = "S-A"
  supplier = "Far"
  price    = "2.00"
}
offer {
  part     = "S-B"
  supplier = "Near"
  price    = "2.05"
}
offer {
  part     = "KIT"
  supplier = "Near"
  price    = "4.00"
}
offer {
  part     = "U"
  supplier = "Near"
  price    = "99.00"
  currency = "EUR"
}
`

func orderFor(t *testing.T, text, lines string, want assess.OrderOptions) (*assess.OrderList, error) {
	t.Helper()
	p, mistakes := pack.Load([]pack.File{{Name: "order.pack", Text: []byte(text)}}, nil)
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	var b strings.Builder
	for i, line := range strings.Split(lines, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			fmt.Fprintf(&b, `{"id":"e%d","at":"2026-03-02T08:00:00Z","by":"bench",%s}`+"\n", i, line)
		}
	}
	s := journal.Read([]byte(b.String())).Fold()
	if len(s.Problems) > 0 {
		t.Fatal(s.Problems)
	}
	return assess.Order(p, s, assess.Options{}, want)
}

// bought is what a list buys, in short.
func bought(l *assess.OrderList) string {
	var out []string
	for _, x := range l.Lines {
		out = append(out, fmt.Sprintf("%d %s at %s", x.Packs, x.Part, x.Supplier))
	}
	return strings.Join(out, ", ") + " = " + l.Total.String()
}

const seriesB = `"kind":"option","option":"series","choice":"B"` + "\n"

func TestOrderList(t *testing.T) {
	kept := `"kind":"part","part":"P","slot":"piston","place":"left","state":"kept"` + "\n"
	both := kept + `"kind":"part","part":"P","slot":"piston","place":"right","state":"fitted"` + "\n"
	for _, c := range []struct {
		danger, lines string
		want          assess.OrderOptions
		bought        string
	}{
		// The gasket is tried dry and then used: two, so two kits, or a kit and a gasket
		// (its shipping costs more than a second kit).
		{"a kit for all of its places, and a gasket for each opening", seriesB, assess.OrderOptions{}, "2 P at Near, 2 KIT at Near = 35.20 GBP"},
		{"kept and fitted are not bought again", seriesB + both, assess.OrderOptions{}, "2 KIT at Near = 13.00 GBP"},
		{"one received gasket leaves one to buy", seriesB + both + `"kind":"part","part":"G-B","slot":"gasket","state":"received"`, assess.OrderOptions{}, "1 KIT at Near = 9.00 GBP"},
		{"two received leave none", seriesB + both + `"kind":"part","part":"G-B","slot":"gasket","state":"received","count":2`, assess.OrderOptions{}, "1 KIT at Near = 9.00 GBP"},
		{"what is always replaced cannot be kept", seriesB + both + `"kind":"part","part":"S-B","slot":"seal","place":"left","state":"kept"`, assess.OrderOptions{}, "2 KIT at Near = 13.00 GBP"},
		{"rejected is bought again", seriesB + both + `"kind":"part","part":"P","slot":"piston","place":"left","state":"rejected"`, assess.OrderOptions{}, "1 P at Near, 2 KIT at Near = 24.10 GBP"},
		{"a gasket taken back out is one more", seriesB + both + `"kind":"operation","operation":"close","state":"done"
			"kind":"operation","operation":"close","state":"undone"
			"kind":"operation","operation":"close","state":"done"
			"kind":"operation","operation":"close","state":"undone"`, assess.OrderOptions{}, "3 KIT at Near = 17.00 GBP"},
		{"a planned opening more", seriesB + both, assess.OrderOptions{Openings: map[string]int{"slot.gasket": 1}}, "3 KIT at Near = 17.00 GBP"},
		{"a refused part", seriesB + both, assess.OrderOptions{Refuse: []string{"KIT"}}, "2 G-B at Far, 2 S-B at Near = 20.10 GBP"},
		{"a part insisted on", seriesB + both, assess.OrderOptions{Insist: []string{"S-B in slot.seal left"}}, "1 S-B at Near, 2 KIT at Near = 15.05 GBP"},
		{"parts for two engines do not mix", both, assess.OrderOptions{Without: []string{"Near"}}, "2 G-A at Far, 2 S-A at Far = 15.20 GBP"},
	} {
		l, err := orderFor(t, orderPack, c.lines, c.want)
		if err != nil {
			t.Errorf("%s: %v", c.danger, err)
			continue
		}
		if got := bought(l); l.Status != basket.Optimal || got != c.bought {
			t.Errorf("%s: %v, %s; want %s", c.danger, l.Status, got, c.bought)
		}
	}
}

func TestOrderListSaysWhy(t *testing.T) {
	l, err := orderFor(t, orderPack, seriesB+`"kind":"reading","of":"bore","place":"left","value":"10.4 mm"
		"kind":"check","of":"crown","place":"right","answer":"cracked"
		"kind":"part","part":"P","slot":"piston","place":"left","state":"rejected","why":"undersize"`, assess.OrderOptions{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for i := range l.Needs {
		n := &l.Needs[i]
		got[n.Slot+" "+n.Place] = fmt.Sprint(n.Pieces, " ", strings.Join(words.NeedReasons(n), "; "))
	}
	for slot, want := range map[string]string{
		"piston left":  "1 worn out: bore, left 10.4",
		"piston right": "1 broken: crown, right, cracked",
		"gasket ":      "2 always replaced; one-use, and 2 times opened in this plan",
		"seal left":    "1 always replaced",
	} {
		if !strings.HasPrefix(got[slot], want) {
			t.Errorf("%s: %q, want %q", slot, got[slot], want)
		}
	}
	if !strings.Contains(got["piston left"], "P was rejected: undersize") {
		t.Errorf("the left piston: %q", got["piston left"])
	}
	if len(l.Asks) > 0 {
		t.Errorf("the series was chosen, and %v is asked", l.Asks)
	}
}

func TestOrderListImpossible(t *testing.T) {
	because := func(l *assess.OrderList) string {
		var out []string
		for i := range l.Because {
			out = append(out, words.OrderReason(&l.Because[i]))
		}
		return strings.Join(out, "; ")
	}
	for _, c := range []struct {
		text, lines string
		want        assess.OrderOptions
		says        []string
	}{
		{orderPack, seriesB, assess.OrderOptions{Without: []string{"Near"}}, []string{"supplier Near is out"}},
		{orderPack, seriesB, assess.OrderOptions{Refuse: []string{"P"}}, []string{"part P is refused"}},
		{orderPack, seriesB, assess.OrderOptions{Within: 1}, []string{"nothing may take longer than 1 day"}},
		{strings.Replace(orderPack, `part "P" { fills = [slot.piston] }`, "part \"P\" {\n fills = [slot.piston]\n needs = [\"oil jet\"]\n}", 1), seriesB, assess.OrderOptions{},
			[]string{"part P needs oil jet: no part that is offered has it"}},
		{strings.Replace(orderPack, `part "P" { fills = [slot.piston] }`, "part \"P\" {\n fills = [slot.piston]\n excludes = [\"soft\"]\n}\npart \"Q\" {\n fills = [slot.seal]\n has = [\"soft\"]\n}\noffer {\n part = \"Q\"\n supplier = \"Near\"\n price = \"1.00\"\n}", 1), seriesB,
			assess.OrderOptions{Insist: []string{"Q"}}, []string{"part P excludes soft, which part Q has", "part Q is insisted on"}},
		{strings.Replace(orderPack, `title          = "Seal"`, `title = "Seal"`+"\n  needs = [\"viton\"]", 1), seriesB, assess.OrderOptions{}, []string{"slot.seal ", " needs viton: no part that is offered has it"}},
	} {
		l, err := orderFor(t, c.text, c.lines, c.want)
		if err != nil {
			t.Error(err)
			continue
		}
		got := because(l)
		if l.Status != basket.Infeasible || len(l.Lines) > 0 {
			t.Errorf("%v: %v, %s", c.says, l.Status, bought(l))
		}
		for _, s := range c.says {
			if !strings.Contains(got, s) {
				t.Errorf("%q is not among the reasons: %s", s, got)
			}
		}
		for i := range l.Because {
			if words.LiftOrderReason(&l.Because[i]) == "" {
				t.Errorf("how to lift %q is not said", words.OrderReason(&l.Because[i]))
			}
		}
	}
}

func TestOrderListRefusesToGuess(t *testing.T) {
	mixed := strings.Replace(orderPack, `price    = "1.00"`, `price    = "1.00"`+"\n  currency = \"EUR\"", 1)
	if _, err := orderFor(t, mixed, seriesB, assess.OrderOptions{}); !errors.Is(err, assess.ErrCurrencies) || !strings.Contains(err.Error(), "EUR") {
		t.Errorf("two currencies: %v", err)
	}
	if _, err := orderFor(t, mixed, seriesB, assess.OrderOptions{Without: []string{"Far"}}); err != nil {
		t.Errorf("with the seller of the other currency out: %v", err)
	}
	for _, want := range []assess.OrderOptions{{Refuse: []string{"X"}}, {Insist: []string{"X"}}, {Without: []string{"Nearr"}}, {Insist: []string{"P in slot.unneeded"}}} {
		var u *assess.UsageError
		if _, err := orderFor(t, orderPack, seriesB, want); !errors.As(err, &u) || u.Do == "" {
			t.Errorf("%+v: %v", want, err)
		}
	}
}

// A stamped number never decides, and it is told: cases get swapped.
func TestOrderListTellsOfEngineNumbers(t *testing.T) {
	text := strings.Replace(orderPack, `part "P" { fills = [slot.piston] }`, "part \"P\" {\n fills = [slot.piston]\n engines = \".. B20000\"\n look = \"count the ribs\"\n}", 1)
	l, err := orderFor(t, text, seriesB+`"kind":"job","engine_number":"B24417"`, assess.OrderOptions{})
	if err != nil {
		t.Fatal(err)
	}
	asks := strings.Join(words.OrderAsks(l, quantity.Metric), "; ")
	if l.Status != basket.Optimal || !strings.Contains(asks, "part P is listed for engine numbers .. B20000, and this one is B24417") || !strings.Contains(asks, "count the ribs") {
		t.Errorf("%v, asks %q", l.Status, asks)
	}
	l, err = orderFor(t, text, seriesB+`"kind":"job","engine_number":"B19999"`, assess.OrderOptions{})
	if err != nil || len(l.Advice) > 0 {
		t.Errorf("a number that is listed: %v, %v", l.Advice, err)
	}
}

// Conditions of fit that ask for other parts of the same list.
func TestOrderListKeepsToConditionsBetweenParts(t *testing.T) {
	text := orderPack + `
slot "rod" {
  title          = "Rod"
  always_replace = true
}
slot "nut" {
  title          = "Nut"
  always_replace = true
}
part "ROD-24" {
  fills = [slot.rod]
  sizes = { thread = "24 mm" }
}
part "ROD-32" {
  fills = [slot.rod]
  sizes = { thread = "32 mm" }
}
part "NUT-24" {
  fills = [slot.nut]
  fits  = rod == "ROD-24"
}
part "NUT-32" {
  fills = [slot.nut]
  fits  = rod.thread > "30 mm"
}
` + func() string {
		s := ""
		for part, price := range map[string]string{"ROD-24": "5.00", "ROD-32": "3.00", "NUT-24": "1.00", "NUT-32": "2.50"} {
			s += fmt.Sprintf("offer {\n part = %q\n supplier = \"Near\"\n price = %q\n}\n", part, price)
		}
		return s
	}()
	done := seriesB + `"kind":"part","part":"P","slot":"piston","state":"kept"` + "\n"
	l, err := orderFor(t, text, done, assess.OrderOptions{})
	if err != nil {
		t.Fatal(err)
	}
	got := bought(l)
	if !strings.Contains(got, "ROD-32") || !strings.Contains(got, "NUT-32") { // 5.50; 24 and 24 are 6.00, 32 and the 24 nut would be 4.00
		t.Errorf("bought %s", got)
	}
	l, err = orderFor(t, text, done+`"kind":"part","part":"ROD-24","slot":"rod","state":"received"`, assess.OrderOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got := bought(l); !strings.Contains(got, "NUT-24") {
		t.Errorf("with the 24 rod in hand: %v, bought %s", l.Status, got)
	}
	l, err = orderFor(t, text, done, assess.OrderOptions{Insist: []string{"NUT-24", "ROD-32"}})
	if err != nil || l.Status != basket.Infeasible {
		t.Errorf("the 24 nut on the 32 rod: %v, %v", l, err)
	}
}
