package calc

import (
	"buttonup/mechanics/cylinder"
	"buttonup/mechanics/joint"
	"buttonup/quantity"
)

const expansionSource = "coefficients of metals mostly of Callister, Materials Science and Engineering, Table B.6; docs/calc.md names the source of each"

var heatCalculations = []*Calculation{
	{
		Name:    "growth",
		Summary: "how much a length grows when it warms",
		About:   []string{"`metal` is one of the names that packs use; `coefficient` goes before any table. Coefficients are those near room temperature and rise with it. A rise is written in K; 1 K is 1.8 degrees Fahrenheit."},
		Source:  "definition of the coefficient of linear expansion; " + expansionSource,
		Arguments: []Argument{
			amount("length", "the length at the start"),
			ofMetal("metal", "what it is made of"),
			{Name: "coefficient", Is: "expansion coefficient, instead of a metal", form: value, dimension: quantity.OfExpansion, span: span{high: mostExpansion}},
			rise("rise", "how much warmer it gets; negative when it cools"),
		},
		Outputs: []Output{
			{Name: "growth", Is: "how much longer it gets", Needs: [][]string{{"length", "metal", "rise"}, {"length", "coefficient", "rise"}}},
		},
		Example:     []string{"length=128 mm", "coefficient=20.5e-6 1/K", "rise=130 K"},
		ExampleFrom: "the demo engine (invented)",
		prepare: func(in *inputs) error {
			if in.given("metal") && in.given("coefficient") {
				return in.conflict("the expansion", "metal", "coefficient")
			}
			return nil
		},
		compute: func(in *inputs, out *Answer) error {
			by := "coefficient"
			if in.given("metal") {
				by = "metal"
				in.noteMetal("metal", out)
			}
			g, err := joint.Growth(in.length("length"), quantity.Expansion(in.si(by)), quantity.TemperatureDifference(in.si("rise")))
			if err != nil {
				return err
			}
			out.value("growth", float64(g), in.unit(quantity.OfLength, "length"))
			return nil
		},
	},
	{
		Name:    "ring-gap",
		Summary: "a ring's end gap cold and hot",
		About: []string{
			"`gap` is factor times bore; where a gap was measured, give it as `gap` instead of the factor. `closure` is how much it closes hot, `hot_gap` what is left; below zero the ends butt, which breaks rings and scores bores. The ring maker's sheet goes before any factor.",
		},
		Source: "rule of ring makers, so much per bore (seen on a piston maker's page); closure by thermal growth of a circumference, own derivation; " + expansionSource,
		Arguments: []Argument{
			size("bore", "diameter of the bore where the ring works"),
			number("factor", "gap over bore, such as 0.0045", span{high: 0.05, aboveLow: true, least: 1e-9}),
			rise("ring_rise", "how much warmer the ring gets"),
			rise("bore_rise", "how much warmer the barrel gets"),
			ofMetal("ring_metal", "what the ring is made of"),
			ofMetal("bore_metal", "what the barrel is made of"),
			amount("gap", "cold gap as measured, instead of the factor"),
		},
		Outputs: []Output{
			{Name: "gap", Is: "end gap cold", Needs: [][]string{{"bore", "factor"}, {"gap", "bore"}}},
			{Name: "closure", Is: "how much it closes hot", Needs: [][]string{closing()}},
			{Name: "hot_gap", Is: "end gap hot", Needs: [][]string{append(closing(), "factor"), append(closing(), "gap")}},
		},
		Example:     []string{"bore=92 mm", "factor=0.0040", "ring_rise=200 K", "bore_rise=120 K", "ring_metal=12e-6 1/K", "bore_metal=17e-6 1/K"},
		ExampleFrom: "the demo engine (invented)",
		prepare: func(in *inputs) error {
			if in.given("factor") && in.given("gap") {
				return in.conflict("the gap", "factor", "gap")
			}
			return nil
		},
		compute: ringGap,
	},
}

func closing() []string {
	return []string{"bore", "ring_rise", "bore_rise", "ring_metal", "bore_metal"}
}

// noteMetal says which coefficient a name stood for.
func (in *inputs) noteMetal(name string, out *Answer) {
	if w := in.text(name); !quantity.LooksLike(w) {
		out.note("%s %s: %s", name, w, quantity.FormatNumber(in.si(name)*1e6, 1)+"e-6 1/K")
	}
}

func ringGap(in *inputs, out *Answer) error {
	bore := in.length("bore")
	gap := in.length("gap")
	if in.given("factor") {
		var err error
		if gap, err = cylinder.RingGap(bore, in.si("factor")); err != nil {
			return err
		}
	}
	u := in.unit(quantity.OfLength, "bore", "gap")
	if in.gives("gap") {
		out.value("gap", float64(gap), u)
	}
	if !in.gives("closure") {
		return nil
	}
	heat := func(of string) cylinder.Heat {
		return cylinder.Heat{Expansion: quantity.Expansion(in.si(of + "_metal")), Rise: quantity.TemperatureDifference(in.si(of + "_rise"))}
	}
	closure, err := cylinder.RingClosure(bore, heat("ring"), heat("bore"))
	if err != nil {
		return err
	}
	in.noteMetal("ring_metal", out)
	in.noteMetal("bore_metal", out)
	out.value("closure", float64(closure), u)
	if in.gives("hot_gap") {
		hot, err := cylinder.RingGapHot(gap, bore, heat("ring"), heat("bore"))
		if err != nil {
			return err
		}
		out.value("hot_gap", float64(hot), u)
		if hot <= 0 {
			out.note("the ends of the ring butt")
		}
	}
	return nil
}
