package packs_test

import (
	"slices"
	"strings"
	"testing"

	"buttonup/packs"
	"buttonup/parts"
	"buttonup/quantity"
	"buttonup/words"
)

// wantedPart is a part that somebody wants for a slot of an engine, and what the
// program must say to it.
type wantedPart struct {
	example int // its number in the list of examples
	series  string
	more    string // further choices: "cam_cover=wide"
	chosen  string // what is there already: "slot place=part; …"
	slot    string // "slot place"
	part    string
	answer  parts.Answer
	// says must all stand in the sentence or its reasons.
	says    []string
	nearest string
}

// The examples of fitment that were drawn up with the demo engine (the list has 28,
// numbered as there), each at the moment when the part is wanted: what fits, what does
// not, with the feature and both sides of it, what must come with it, and the nearest
// part that fits. All of them are invented.
var examples = []wantedPart{
	{1, "B", "", "", "carrier_front front", "AV-3101-F", parts.Fits, nil, ""},
	{1, "B", "", "", "carrier_front front", "AV-3101-R", parts.Refused, []string{"it fills Lifter carrier, rear, not Lifter carrier, front"}, "AV-3101-F"},
	{2, "A", "", "", "carrier_gasket_front", "AV-3105-A", parts.Fits, nil, ""},
	{2, "B", "", "", "carrier_gasket_front", "AV-3105-A", parts.Refused, []string{"Series: it needs A, and this engine is B"}, "AV-3105-F"},
	{2, "", "", "", "carrier_gasket_front", "AV-3105-A", parts.Ask, []string{"it fits with A", "Count the screw-side oil holes"}, ""},
	{3, "C", "", "", "carrier_gasket_rear", "AV-3105-R", parts.Fits, nil, ""},
	{3, "B", "", "", "carrier_gasket_rear", "AV-3105-F", parts.Refused, []string{"it fills Lifter-carrier gasket, front, not Lifter-carrier gasket, rear"}, "AV-3105-R"},
	{4, "A", "", "", "lifter front inlet", "AV-3110-25", parts.Fits, nil, ""},
	{5, "B", "", "", "lifter front inlet", "AV-3112-T90", parts.FitsWith, []string{"adjustable aluminium pushrod", "AV-3302-AL"}, ""},
	{5, "C", "", "pushrod front inlet=AV-3302-AL", "lifter front inlet", "AV-3112-T90", parts.Fits, nil, ""},
	{5, "A", "", "", "lifter front inlet", "AV-3112-T90", parts.Refused, []string{"Series: it needs B or C, and this engine is A"}, "AV-3110-0"},
	{5, "B", "", "pushrod *=AV-3302-ST-32", "lifter front inlet", "AV-3112-T90", parts.Refused,
		[]string{"it needs adjustable aluminium pushrod, and AV-3302-ST-32 (Pushrod) does not have it (AV-3302-AL has it)", "it excludes steel pushrod, which AV-3302-ST-32 has"}, "AV-3110-0"},
	{5, "B", "", "lifter *=AV-3112-T90", "pushrod front inlet", "AV-3302-ST-32", parts.Refused, []string{"it has steel pushrod, which AV-3112-T90 excludes (Lifter)"}, "AV-3302-AL"},
	{6, "C", "", "", "pushrod rear inlet", "AV-3301-R", parts.Fits, nil, ""},
	{6, "B", "", "", "pushrod rear inlet", "AV-3301-W", parts.Refused, []string{"Series: it needs C, and this engine is B"}, "AV-3302-ST-24"},
	{7, "A", "", "", "pushrod rear inlet", "AV-3302-ST-24", parts.Fits, nil, ""},
	{7, "C", "", "", "pushrod rear inlet", "AV-3302-ST-24", parts.Refused, []string{"Series: it needs A or B, and this engine is C"}, "AV-3301-G"},
	{8, "A", "", "pushrod *=AV-3302-ST-24", "adjuster_nut front inlet", "AV-3303-24", parts.Fits, nil, ""},
	{8, "A", "", "pushrod *=AV-3302-ST-24", "adjuster_nut front inlet", "AV-3303-32", parts.Refused, []string{"it needs 32 tpi adjuster, and AV-3302-ST-24 (Pushrod) does not have it"}, "AV-3303-24"},
	{9, "B", "cam_cover=standard", "", "cam", "AV-2101-S", parts.Fits, nil, ""},
	{9, "C", "cam_cover=wide", "", "cam", "AV-2101-S", parts.Refused, []string{"Hole for the cam bush in the cover: it needs standard, and this engine is wide"}, "AV-2101-C2"},
	{10, "C", "cam_cover=wide", "", "cam_bush", "AV-2110", parts.Refused, []string{"it needs standard, and this engine is wide"}, "AV-2110-C2"},
	{10, "B", "cam_cover=standard", "", "cam_bush", "AV-2110-C2", parts.Refused, []string{"it needs wide, and this engine is standard"}, "AV-2110"},
	{10, "B", "", "", "cam_bush", "AV-2110", parts.Ask, []string{"Gauge the outer cam bush"}, ""},
	{11, "B", "", "", "cam_shim", "AV-2120-85", parts.Fits, nil, ""},
	{11, "B", "", "", "main_spacer", "AV-2120-85", parts.Refused, []string{"it fills Cam thrust shim, not Spacer between the left inner races"}, "AV-1120-2500"},
	{12, "B", "", "", "pinion", "AV-2201-C", parts.Fits, nil, ""},
	{13, "B", "", "", "cam_gear", "AV-2210-3", parts.Fits, nil, ""},
	{13, "B", "", "", "cam_gear", "AV-2201-C", parts.Refused, []string{"it fills Pinion, not Cam gear"}, "AV-2210-1"},
	{14, "B", "", "", "main_spacer", "AV-1120-2500", parts.Fits, nil, ""},
	{15, "B", "", "", "main_rollers", "AV-1131-25", parts.Fits, nil, ""},
	{15, "B", "", "", "main_rollers", "AV-1132-25", parts.Refused, []string{"it fills Big-end roller row, not Right main roller row"}, "AV-1131-25"},
	{16, "B", "", "", "crankpin", "AV-1140-K", parts.Fits, nil, ""},
	{16, "C", "", "", "thrust_washer left", "AV-1140-K", parts.Refused, []string{"it fills Crankpin with its nuts"}, "AV-1141"},
	{17, "C", "piston=cast oversize=0.25 mm", "", "piston_set front", "AV-4201-25", parts.Refused, []string{"Series: it needs A or B, and this engine is C"}, "AV-4203-25"},
	{17, "B", "piston=cast oversize=0 mm", "", "piston_set front", "AV-4201-25", parts.Refused, []string{"Bore step, both barrels: it needs 0.25 mm, and this engine is 0 mm"}, "AV-4201-0"},
	{18, "B", "oversize=0.25 mm", "", "ring_set front", "AV-4210-50", parts.Refused, []string{"it needs 0.50 mm, and this engine is 0.25 mm"}, "AV-4210-25"},
	{19, "B", "", "", "barrel_front front", "AV-4101-R", parts.Refused, []string{"it fills Barrel, rear, not Barrel, front"}, "AV-4101-F"},
	{20, "A", "", "", "head_front front", "AV-5101-F-A", parts.FitsWith, []string{"it needs hard seat inserts: choose AV-5150"}, ""},
	{20, "B", "", "", "head_front front", "AV-5101-F-A", parts.Refused, []string{"Series: it needs A, and this engine is B"}, "AV-5101-F"},
	{20, "B", "", "", "head_rear rear", "AV-5101-F", parts.Refused, []string{"it fills Head, front, not Head, rear"}, "AV-5101-R"},
	{21, "B", "", "", "guide rear exhaust", "AV-5120-05", parts.Fits, nil, ""},
	{22, "A", "", "", "circlip front drive side", "AV-9001-A", parts.Refused, []string{"and 13 more, not Piston pin circlip"}, "AV-4230"},
	{22, "C", "", "", "cam_gasket_trial", "AV-9001-C", parts.Refused, []string{"not Cam cover gasket A, for the trial"}, "AV-2150"},
	{22, "B", "", "", "base_gasket front", "AV-9001-C", parts.Refused, []string{"Series: it needs C, and this engine is B"}, "AV-9001-B"},
	{23, "B", "", "", "circlip rear timing side", "AV-4230", parts.Fits, nil, ""},
	{24, "A", "", "", "oil_pump", "AV-6101-B", parts.FitsWith, []string{"strong relief spring: choose AV-6120-B", "long pump key: choose AV-6105-B"}, ""},
	{24, "A", "", "relief_spring=AV-6120-A; pump_cover=AV-6105-B", "oil_pump", "AV-6101-B", parts.Refused, []string{"it needs strong relief spring, and AV-6120-A (Oil relief spring) does not have it", "it has wide pump, which AV-6120-A excludes"}, "AV-6101-A"},
	{25, "B", "", "breather_spacer=AV-6302; breather_blank=AV-6402", "breather", "AV-6401-C", parts.Refused, []string{"it excludes breather spacer, which AV-6302 has (Breather spacer washer)"}, "AV-6301"},
	{25, "B", "", "breather_blank=AV-6402", "breather", "AV-6401-C", parts.Fits, nil, ""},
	{26, "B", "", "", "rocker_box_gasket front", "AV-5330-1", parts.Fits, nil, ""},
	{27, "B", "", "", "stud front 3", "AV-1201-OS", parts.Fits, nil, ""},
	{28, "B", "", "", "head_gasket front", "AV-5310-A", parts.Fits, nil, ""},
}

func TestExamplesOfFitment(t *testing.T) {
	c := parts.NewCatalogue(load(t, packs.Demo))
	seen := map[int]bool{}
	for _, x := range examples {
		seen[x.example] = true
		e := engineOf(c, x)
		slot, place, _ := strings.Cut(x.slot, " ")
		v := c.Judge(e, slot, place, x.part)
		said := words.FitVerdict(&v, c.Slot(slot).Title, quantity.Metric)
		all := said.Says + " | " + strings.Join(said.Because, " | ") + " | " + said.Do
		if v.Answer != x.answer {
			t.Errorf("%d: %s in %s on %s: %v, want %v: %s", x.example, x.part, x.slot, x.series, v.Answer, x.answer, all)
			continue
		}
		for _, says := range x.says {
			if !strings.Contains(all, says) {
				t.Errorf("%d: %s in %s: %q is not said, but %s", x.example, x.part, x.slot, says, all)
			}
		}
		if v.Answer == parts.Refused && v.Nearest != x.nearest {
			t.Errorf("%d: the nearest to %s in %s is %q, want %q", x.example, x.part, x.slot, v.Nearest, x.nearest)
		}
	}
	for n := 1; n <= 28; n++ {
		if !seen[n] {
			t.Errorf("example %d is not tried", n)
		}
	}
}

// engineOf makes the engine of an example; a series left empty is one that nobody
// looked at.
func engineOf(c *parts.Catalogue, x wantedPart) *parts.Engine {
	e := &parts.Engine{Choices: map[string]string{}, Assumed: map[string]bool{}}
	for _, o := range c.Pack().Options {
		if o.Default != "" {
			e.Choices[o.Name], e.Assumed[o.Name] = o.Default, true
		}
	}
	choose := func(option, choice string) {
		e.Choices[option] = choice
		delete(e.Assumed, option)
	}
	if x.series != "" {
		choose("series", x.series)
	}
	for _, word := range strings.Split(strings.NewReplacer(" oversize", ";oversize").Replace(x.more), ";") {
		if option, choice, ok := strings.Cut(word, "="); ok {
			choose(option, choice)
		}
	}
	for _, text := range strings.Split(x.chosen, "; ") {
		where, part, ok := strings.Cut(text, "=")
		if !ok {
			continue
		}
		slot, place, _ := strings.Cut(where, " ")
		places := []string{place}
		if place == "*" {
			places = c.Places(slot)
		}
		for _, m := range places {
			e.Chosen = append(e.Chosen, parts.Chosen{Slot: slot, Place: m, Part: part, State: "received"})
		}
	}
	return e
}

// What looks like another part says so on both sides, and says what to look at.
func TestLookAlikesTellWhatToLookAt(t *testing.T) {
	p := load(t, packs.Demo)
	c := parts.NewCatalogue(p)
	pairs := 0
	for _, x := range p.Parts {
		for _, other := range x.LooksLike {
			pairs++
			y := c.Part(other)
			if x.Look == "" && y.Look == "" {
				t.Errorf("%s looks like %s, and nothing says what to look at", x.Name, other)
			}
			if strings.HasPrefix(x.Name, "AV-") && !slices.Contains(y.LooksLike, x.Name) {
				t.Errorf("%s looks like %s, and not the other way round", x.Name, other)
			}
		}
	}
	if pairs < 100 {
		t.Errorf("only %d look-alikes", pairs)
	}
}

// The size of the demo's order list, which the bar on its time names.
func TestTheDemoHasAnOrderListOfItsSize(t *testing.T) {
	p := load(t, packs.Demo)
	if len(p.Slots) < 60 || len(p.Parts) < 300 || len(p.Suppliers) != 5 || len(p.Offers) < len(p.Parts) {
		t.Errorf("%d slots, %d parts, %d offers, %d sellers", len(p.Slots), len(p.Parts), len(p.Offers), len(p.Suppliers))
	}
	for _, x := range p.Parts {
		if x.Basis != "mine" {
			t.Errorf("%s does not say that it is invented here", x.Name)
		}
	}
}
