package basket

import (
	"math/rand/v2"
	"slices"
)

// family says what kind of shop a generated problem is.
type family struct {
	name                        string
	places, parts, suppliers    int
	sizes, within               int
	exclusions, needs           float64 // a part
	freeOver, packs, impossible bool
}

// The families that are measured. Figures are invented; what makes them hard is that
// cheap parts differ by pennies while rules and shipping tie them together.
var families = []family{
	{name: "shop", places: 60, parts: 300, suppliers: 5, sizes: 2, within: 21, exclusions: 0.1, needs: 0.1, freeOver: true, packs: true},
	{name: "sparse", places: 60, parts: 2000, suppliers: 8, sizes: 4, within: 18, exclusions: 0.25, needs: 0.1},
	{name: "free", places: 60, parts: 2000, suppliers: 8, sizes: 4, within: 18, exclusions: 0.25, needs: 0.1, freeOver: true},
	{name: "dense", places: 60, parts: 2000, suppliers: 8, sizes: 4, within: 18, exclusions: 5, needs: 0.1},
	{name: "many", places: 60, parts: 2000, suppliers: 25, sizes: 4, within: 18, exclusions: 0.25, needs: 0.1},
	{name: "large", places: 60, parts: 20000, suppliers: 8, sizes: 4, within: 18, exclusions: 0.25, needs: 0.1},
	{name: "impossible", places: 60, parts: 2000, suppliers: 8, sizes: 4, within: 18, exclusions: 0.25, needs: 0.1, impossible: true},
}

func familyNamed(name string) family {
	return families[slices.IndexFunc(families, func(f family) bool { return f.name == name })]
}

// generate makes a problem of a family: every place has its price level, three or four
// places at a time must agree in a size, one part in twenty is a kit, and leads are up to 21 days.
func generate(f family, seed uint64) *Problem {
	r := rand.New(rand.NewPCG(seed, 2026))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	p := &Problem{Within: f.within, Places: make([]Place, f.places)}
	order := r.Perm(f.places)
	groupOf := make([]int, f.places)
	for i := range groupOf {
		groupOf[i] = -1
	}
	var groups [][]int
	for i := 0; i < f.places*7/10; {
		n := min(3+r.IntN(2), f.places-i)
		for _, s := range order[i : i+n] {
			groupOf[s] = len(groups)
		}
		groups = append(groups, order[i:i+n])
		i += n
	}
	base, bias := make([]float64, f.places), make([][4]float64, len(groups))
	for i := range base {
		base[i] = []float64{4, 8, 15, 30, 60, 120, 200}[r.IntN(7)] * between(0.7, 1.3)
	}
	for i := range bias {
		for k := range 4 {
			bias[i][k] = between(0.9, 1.15)
		}
	}
	level := make([]float64, f.suppliers)
	for i := range level {
		level[i] = between(0.92, 1.1)
		s := Supplier{Shipping: int64(100 * between(8, 35))}
		if f.freeOver && r.IntN(4) > 0 {
			s.FreeOver = int64(100 * between(150, 900))
		}
		p.Suppliers = append(p.Suppliers, s)
	}
	p.Agreements = make([]Agreement, len(groups))
	offer := func(part int, price float64, seller int) {
		o := Offer{Part: part, Supplier: seller, Price: int64(100*price + 0.5), Lead: 1 + r.IntN(21)}
		if f.packs && r.IntN(20) == 0 {
			o.Pack = 2
		}
		p.Offers = append(p.Offers, o)
	}
	kits := f.parts / 20
	for i := range f.parts - kits {
		s := r.IntN(f.places)
		if i < 3*f.places {
			s = i % f.places
		}
		u := r.IntN(f.suppliers)
		price := base[s] * level[u] * between(0.85, 1.5)
		if g := groupOf[s]; g >= 0 {
			k := r.IntN(f.sizes)
			price *= bias[g][k]
			p.Agreements[g].Sized = append(p.Agreements[g].Sized, Sized{Choice{i, s}, k})
		}
		p.Parts = append(p.Parts, Part{Contents: []Content{{Places: []int{s}}}})
		offer(i, price, u)
	}
	for range kits {
		i := len(p.Parts)
		pool := append(slices.Clone(groups[r.IntN(len(groups))]), r.IntN(f.places), r.IntN(f.places), r.IntN(f.places))
		r.Shuffle(len(pool), func(a, b int) { pool[a], pool[b] = pool[b], pool[a] })
		pool = pool[:2+r.IntN(len(pool)-1)]
		slices.Sort(pool)
		pool = slices.Compact(pool)
		sum, u := 0.0, r.IntN(f.suppliers)
		var x Part
		size := map[int]int{}
		for _, s := range pool {
			sum += base[s]
			x.Contents = append(x.Contents, Content{Places: []int{s}})
			if g := groupOf[s]; g >= 0 {
				if _, ok := size[g]; !ok {
					size[g] = r.IntN(f.sizes)
				}
				p.Agreements[g].Sized = append(p.Agreements[g].Sized, Sized{Choice{i, s}, size[g]})
			}
		}
		p.Parts = append(p.Parts, x)
		offer(i, sum*level[u]*between(0.75, 1.3), u)
	}
	generateRules(f, r, p)
	return p
}

func generateRules(f family, r *rand.Rand, p *Problem) {
	n := len(p.Parts)
	filling := make([][]int, len(p.Places))
	for i, x := range p.Parts {
		for _, c := range x.Contents {
			filling[c.Places[0]] = append(filling[c.Places[0]], i)
		}
	}
	shares := func(a, b int) bool {
		for _, c := range p.Parts[a].Contents {
			if p.contentOf(b, c.Places[0]) >= 0 {
				return true
			}
		}
		return false
	}
	for range int(f.exclusions * float64(n)) {
		if a, b := r.IntN(n), r.IntN(n); !shares(a, b) {
			p.Rules = append(p.Rules, Rule{Kind: Excludes, Of: []Choice{{a, Anywhere}}, With: []Choice{{b, Anywhere}}})
		}
	}
	for range int(f.needs * float64(n)) {
		a, s := r.IntN(n), r.IntN(len(p.Places))
		if p.contentOf(a, s) >= 0 {
			continue
		}
		list := slices.Clone(filling[s])
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		rule := Rule{Kind: Needs, Of: []Choice{{a, Anywhere}}}
		for _, b := range list[:max(1, len(list)/3)] {
			rule.With = append(rule.With, Choice{b, Anywhere})
		}
		p.Rules = append(p.Rules, rule)
	}
	if f.impossible {
		// Everything for one place needs something for another that a third stands
		// against.
		s, t := 0, 1
		var of, with []Choice
		for _, a := range filling[s] {
			of = append(of, Choice{a, s})
		}
		for _, b := range filling[t] {
			with = append(with, Choice{b, t})
		}
		p.Rules = append(p.Rules, Rule{Kind: Needs, Of: of, With: with[:len(with)/2]}, Rule{Kind: Refuses, Of: with[:len(with)/3]},
			Rule{Kind: Excludes, Of: of, With: with[len(with)/3 : len(with)/2]})
	}
}
