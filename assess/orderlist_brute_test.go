package assess_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/parts/basket"
)

// randomShop is a small random pack with its journal, as text, and what the brute force
// needs of it.
type randomShop struct {
	text, lines string
	places      []string // "slot" or "slot place", those that want a part
	offers      []randomOffer
	parts       []randomPart
	inHand      []int
	shipping    []int64
	freeOver    []int64
}

type randomPart struct {
	fills          []string
	count          map[string]int
	has, needs, no []string
	fits           bool
}

type randomOffer struct {
	part, supplier int
	price          int64
}

func newRandomShop(r *rand.Rand) *randomShop {
	s := &randomShop{}
	var b strings.Builder
	b.WriteString("pack \"random\" { title = \"Random (invented)\" }\nplace \"side\" { each = [\"l\", \"r\"] }\noption \"series\" {\n  choices = [\"A\", \"B\"]\n  default = \"A\"\n}\n")
	slots := []string{"a", "b", "c"}[:2+r.IntN(2)]
	sided := map[string]bool{}
	for _, n := range slots {
		sided[n] = r.IntN(3) == 0
		fmt.Fprintf(&b, "slot %q {\n  always_replace = true\n", n)
		if sided[n] {
			b.WriteString("  at = side\n")
		}
		b.WriteString("}\n")
	}
	features := []string{"f", "g"}
	pick := func(list []string, one int) []string {
		var out []string
		for _, x := range list {
			if r.IntN(one) == 0 {
				out = append(out, x)
			}
		}
		return out
	}
	for i := range 3 + r.IntN(4) {
		p := randomPart{fills: []string{slots[r.IntN(len(slots))]}, count: map[string]int{}, has: pick(features, 3), needs: pick(features, 6), no: pick(features, 6), fits: true}
		if r.IntN(4) == 0 {
			p.fills = slices.Clone(slots)
		}
		fmt.Fprintf(&b, "part \"P%d\" {\n  fills = [slot.%s]\n", i, strings.Join(p.fills, ", slot."))
		for _, n := range p.fills {
			p.count[n] = 1 + r.IntN(2)
		}
		var counts []string
		for _, n := range p.fills {
			counts = append(counts, fmt.Sprintf("%s = %d", n, p.count[n]))
		}
		fmt.Fprintf(&b, "  count = { %s }\n", strings.Join(counts, ", "))
		for name, list := range map[string][]string{"has": p.has, "needs": p.needs, "excludes": p.no} {
			if len(list) > 0 {
				fmt.Fprintf(&b, "  %s = [\"%s\"]\n", name, strings.Join(list, `", "`))
			}
		}
		if r.IntN(6) == 0 {
			p.fits = r.IntN(2) == 0
			fmt.Fprintf(&b, "  fits = series == %q\n", map[bool]string{true: "A", false: "B"}[p.fits])
		}
		b.WriteString("}\n")
		s.parts = append(s.parts, p)
	}
	for _, n := range slots { // a pack has a part for every slot, if nobody sells it
		fmt.Fprintf(&b, "part \"P%d\" { fills = [slot.%s] }\n", len(s.parts), n)
		s.parts = append(s.parts, randomPart{fills: []string{n}, count: map[string]int{n: 1}, fits: true})
	}
	for i := range 2 {
		s.shipping, s.freeOver = append(s.shipping, int64(r.IntN(6))*100), append(s.freeOver, int64(r.IntN(3))*1000)
		fmt.Fprintf(&b, "supplier \"S%d\" {\n  shipping = \"%d.00\"\n", i, s.shipping[i]/100)
		if s.freeOver[i] > 0 {
			fmt.Fprintf(&b, "  free_over = \"%d.00\"\n", s.freeOver[i]/100)
		}
		b.WriteString("}\n")
	}
	for i := range s.parts {
		for k := range s.shipping {
			if r.IntN(2) == 0 {
				continue
			}
			o := randomOffer{i, k, int64(100 + r.IntN(900))}
			s.offers = append(s.offers, o)
			fmt.Fprintf(&b, "offer {\n  part = \"P%d\"\n  supplier = \"S%d\"\n  price = \"%d.%02d\"\n}\n", i, k, o.price/100, o.price%100)
		}
	}
	s.text = b.String()
	for _, n := range slots {
		for _, place := range map[bool][]string{true: {"l", "r"}, false: {""}}[sided[n]] {
			if i := r.IntN(5 * len(s.parts)); i < len(s.parts) && slices.Contains(s.parts[i].fills, n) && s.parts[i].fits {
				s.inHand = append(s.inHand, i)
				s.lines += fmt.Sprintf(`"kind":"part","part":"P%d","slot":%q,"place":%q,"state":"received"`+"\n", i, n, place)
				continue
			}
			s.places = append(s.places, strings.TrimSpace(n+" "+place))
		}
	}
	return s
}

// best tries every offer in every place: the least total, or -1 where nothing is whole.
func (s *randomShop) best() int64 {
	best := int64(-1)
	pick := make([]int, len(s.places))
	var try func(k int)
	try = func(k int) {
		if k == len(s.places) {
			if s.kept(pick) {
				if c := s.cost(pick); best < 0 || c < best {
					best = c
				}
			}
			return
		}
		slot, _, _ := strings.Cut(s.places[k], " ")
		for i, o := range s.offers {
			if p := &s.parts[o.part]; p.fits && slices.Contains(p.fills, slot) {
				pick[k] = i
				try(k + 1)
			}
		}
	}
	try(0)
	return best
}

// kept reports whether every need and exclusion holds; two parts in hand that exclude
// each other are no matter of the list.
func (s *randomShop) kept(pick []int) bool {
	chosen := map[int]bool{}
	for _, i := range s.inHand {
		chosen[i] = true
	}
	for _, o := range pick {
		chosen[s.offers[o].part] = true
	}
	for i := range chosen {
		for _, f := range s.parts[i].needs {
			found := slices.Contains(s.parts[i].has, f)
			for k := range chosen {
				found = found || slices.Contains(s.parts[k].has, f)
			}
			if !found {
				return false
			}
		}
		for _, f := range s.parts[i].no {
			for k := range chosen {
				if k != i && slices.Contains(s.parts[k].has, f) && !(slices.Contains(s.inHand, i) && slices.Contains(s.inHand, k)) {
					return false
				}
			}
		}
	}
	return true
}

func (s *randomShop) cost(pick []int) int64 {
	pieces := map[int]map[string]int{}
	for k, o := range pick {
		slot, _, _ := strings.Cut(s.places[k], " ")
		if pieces[o] == nil {
			pieces[o] = map[string]int{}
		}
		pieces[o][slot]++
	}
	goods := make([]int64, len(s.shipping))
	used := make([]bool, len(s.shipping))
	for o, slots := range pieces {
		units := 0
		for slot, n := range slots {
			count := s.parts[s.offers[o].part].count[slot]
			units = max(units, (n+count-1)/count)
		}
		goods[s.offers[o].supplier] += int64(units) * s.offers[o].price
		used[s.offers[o].supplier] = true
	}
	total := int64(0)
	for i := range goods {
		total += goods[i]
		if used[i] && (s.freeOver[i] == 0 || goods[i] < s.freeOver[i]) {
			total += s.shipping[i]
		}
	}
	return total
}

// Brute force, written against the pack and not against the problem that the search
// gets: 1,000 small random packs with kits, counts, needs, exclusions, conditions and
// parts in hand. The totals are equal, and what is impossible is told with reasons.
func TestOrderListAgainstEveryWay(t *testing.T) {
	random := rand.New(rand.NewPCG(28, 7))
	impossible, whole := 0, 0
	for n := range 1000 {
		s := newRandomShop(random)
		l, err := orderFor(t, s.text, s.lines, assess.OrderOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := s.best()
		switch {
		case len(s.places) == 0:
		case want < 0:
			impossible++
			if l.Status != basket.Infeasible || len(l.Because) == 0 {
				t.Fatalf("%d: nothing is whole, and the list says %v, %s\n%s%s", n, l.Status, bought(l), s.text, s.lines)
			}
		case l.Status != basket.Optimal || l.Total.Hundredths != want:
			t.Fatalf("%d: %v, %d; every way gives %d\n%s\n%s", n, l.Status, l.Total.Hundredths, want, s.text, s.lines)
		default:
			whole++
		}
	}
	t.Logf("%d lists, %d impossible", whole, impossible)
	if whole < 300 || impossible < 100 {
		t.Errorf("%d lists and %d impossible ones are too few to tell", whole, impossible)
	}
}
