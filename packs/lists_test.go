package packs_test

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"buttonup/pack"
	"buttonup/packs"
	"buttonup/quantity"
)

// sourcesOf lists what the pack says of where its figures and questions come from.
func sourcesOf(p *pack.Pack) []string {
	var list []string
	add := func(c *pack.Common) {
		for _, text := range c.Sources {
			list = append(list, text)
		}
		list = append(list, c.Note, c.Title)
	}
	v := reflect.ValueOf(p).Elem()
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if !f.IsExported() || f.Type.Kind() != reflect.Slice || f.Type.Elem().Kind() != reflect.Pointer {
			continue
		}
		for k := range v.Field(i).Len() {
			if c := v.Field(i).Index(k).Elem().FieldByName("Common"); c.IsValid() && c.CanAddr() {
				if common, ok := c.Addr().Interface().(*pack.Common); ok {
					add(common)
				}
			}
		}
	}
	return list
}

var (
	characteristic = regexp.MustCompile(`characteristics? (\d+)(?: (and|to) (\d+))?`)
	holdNumber     = regexp.MustCompile(`\bH(\d\d)\b`)
)

// The demo engine has every line of the lists that were drawn up with it: 158
// characteristics, 19 torque groups, 98 operations, 46 holds.
func TestTheListsAreComplete(t *testing.T) {
	p := load(t, packs.Demo)
	characteristics, holds := map[int]bool{}, map[int]bool{}
	for _, text := range sourcesOf(p) {
		for _, m := range characteristic.FindAllStringSubmatch(text, -1) {
			from, _ := strconv.Atoi(m[1])
			to := from
			if m[3] != "" {
				to, _ = strconv.Atoi(m[3])
			}
			characteristics[from], characteristics[to] = true, true
			for n := from; m[2] == "to" && n <= to; n++ {
				characteristics[n] = true
			}
		}
		for _, m := range holdNumber.FindAllStringSubmatch(text, -1) {
			n, _ := strconv.Atoi(m[1])
			holds[n] = true
		}
	}
	missing := func(what string, have map[int]bool, last int) {
		var list []int
		for n := 1; n <= last; n++ {
			if !have[n] {
				list = append(list, n)
			}
		}
		if len(list) > 0 {
			t.Errorf("%s that are missing: %v", what, list)
		}
	}
	missing("characteristics", characteristics, 158)
	missing("holds", holds, 46)
	groups := map[int]bool{11: true} // the taper plugs are a check
	for _, j := range p.Joints {
		if n, ok := leading(j.Title, "T"); ok {
			groups[n] = true
		}
	}
	missing("torque groups", groups, 19)
	if !slices.ContainsFunc(p.Checks, func(c *pack.Check) bool { return c.Name == "oil_plugs_set" && strings.Contains(c.Title, "T11") }) {
		t.Error("torque group 11 is no check")
	}
	operations := map[int]bool{}
	teardown := 0
	for _, o := range p.Operations {
		if n, ok := leading(o.Title, ""); ok {
			operations[n] = true
		}
		if strings.HasPrefix(o.Name, "teardown_") {
			teardown++
		}
	}
	for _, span := range [][2]int{{1, 6}, {10, 30}, {40, 54}, {60, 78}, {80, 87}, {90, 118}} {
		for n := span[0]; n <= span[1]; n++ {
			// 062, 076, 077, 084 and 097 are an operation on the other cylinder.
			if !operations[n] && !slices.Contains([]int{62, 76, 77, 84, 97}, n) {
				t.Errorf("operation %03d is missing", n)
			}
		}
	}
	if teardown < 20 {
		t.Errorf("only %d operations take the engine apart", teardown)
	}
}

// leading reads the number at the head of a title.
func leading(title, letter string) (int, bool) {
	word, _, _ := strings.Cut(title, " ")
	digits, ok := strings.CutPrefix(word, letter)
	n, err := strconv.Atoi(digits)
	return n, ok && err == nil
}

// The rules of thumb that the demo pack must be able to say, with its own figures.
// Common practice, no published source.
func TestTheCarrierJointSaysItsRules(t *testing.T) {
	p := load(t, packs.Demo)
	inLb := quantity.MustUnit("in-lb")
	at := slices.IndexFunc(p.Joints, func(j *pack.Joint) bool { return j.Name == "lifter_carrier" })
	if at < 0 {
		t.Fatal("there is no carrier joint")
	}
	j := p.Joints[at]
	if j.Torque.Constant.Unit.Symbol != inLb.Symbol || len(j.Steps) != 4 || len(j.Points) != 4 {
		t.Fatalf("%d steps over %d screws in %s", len(j.Steps), len(j.Points), j.Torque.Constant.Unit.Symbol)
	}
	pins, others := j.Steps[0], j.Steps[1]
	if len(pins.Points) != 2 || len(others.Points) != 2 || !strings.Contains(pins.Say, "locating pins") || !strings.Contains(others.Say, "pins out") {
		t.Errorf("the first steps are %v %q and %v %q", pins.Points, pins.Say, others.Points, others.Say)
	}
	// The pins stand across from one another, and so do the two screws that are drawn
	// down meanwhile.
	for _, pair := range [][]int{pins.Points, others.Points} {
		a, b := j.Points[pair[0]-1], j.Points[pair[1]-1]
		if a[0] != -b[0] || a[1] != -b[1] {
			t.Errorf("%v are not opposite one another", pair)
		}
	}
	last := 0.0
	for i, s := range j.Steps {
		if s.To == nil || s.To.Constant.SI < last {
			t.Fatalf("step %d does not rise", i+1)
		}
		last = s.To.Constant.SI
		if i >= 2 && len(s.Points) > 0 {
			t.Errorf("step %d is not for all four", i+1)
		}
	}
	if r := j.Torque.Constant; !r.Contains(last) {
		t.Errorf("the last step, %s, lies outside of %s", inLb.Text(last, 0), r.Text())
	}
	poured := false
	for _, o := range p.Operations {
		q, ok := o.Pours["engine_oil"]
		poured = poured || ok && quantity.MustUnit("mL").Text(q.SI, 0) == "237 mL" && slices.Contains(o.In, "cam_chest")
	}
	if !poured {
		t.Error("no operation in the cam chest pours a quarter of a US quart")
	}
}

// Figures that builders carry in their heads, as the program reads them. Common
// practice, no published source.
func TestRulesOfThumb(t *testing.T) {
	r, err := quantity.ParseRange("9 .. 12 lbf·ft")
	if err != nil {
		t.Fatal(err)
	}
	inLb := quantity.MustUnit("in-lb")
	if got := fmt.Sprint(inLb.Text(r.Low, 0), " to ", inLb.Text(r.High, 0)); got != "108 in-lb to 144 in-lb" {
		t.Errorf("9 to 12 lbf·ft is %s", got)
	}
	last := 0.0
	for _, stage := range []string{"70 in-lb", "100 in-lb", "130 in-lb"} {
		q, err := quantity.Parse(stage)
		if err != nil || q.SI <= last {
			t.Fatalf("%s: %v", stage, err)
		}
		last = q.SI
	}
	if !r.Contains(last) {
		t.Error("130 in-lb does not lie inside 9 to 12 lbf·ft")
	}
	quart, err := quantity.Parse("0.25 qt")
	if got := quantity.MustUnit("mL").Text(quart.SI, 0); err != nil || got != "237 mL" {
		t.Errorf("a quarter of a US quart is %s, %v", got, err)
	}
}
