package parts

import (
	"slices"
	"sort"
	"strings"
	"unicode"

	"buttonup/pack"
)

// Number is one of the numbers that a part goes by.
type Number struct {
	// Kind is "maker", "marked", "superseded", "seller" or another word that the pack
	// uses; Of is the seller of a seller's number.
	Kind, Number, Of string
}

// Numbers lists every number of a part: its own, the pack's `numbers`, those it
// supersedes, and each seller's.
func (c *Catalogue) Numbers(part string) []Number {
	p := c.parts[part]
	if p == nil {
		return nil
	}
	var out []Number
	add := func(n Number) {
		if n.Number != "" && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	add(Number{Kind: "maker", Number: orElse(p.Numbers["maker"], p.Name)})
	add(Number{Kind: "marked", Number: p.Numbers["marked"]})
	for _, k := range sortedKeys(p.Numbers) {
		switch k {
		case "maker", "marked":
		case "supplier":
			add(Number{Kind: "seller", Number: p.Numbers[k]})
		default:
			add(Number{Kind: k, Number: p.Numbers[k]})
		}
	}
	for _, old := range c.Older(part) {
		add(Number{Kind: "superseded", Number: old})
		if was := c.parts[old]; was != nil {
			add(Number{Kind: "superseded", Number: was.Numbers["maker"]})
		}
	}
	for _, o := range c.offers[part] {
		add(Number{Kind: "seller", Number: o.Number, Of: o.Supplier})
	}
	return out
}

func orElse(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// Called returns the ID of the part that goes by a number, whichever of its numbers it
// is; a number that several parts go by, or none, comes back as it is.
func (c *Catalogue) Called(number string) string {
	number = strings.TrimSpace(number)
	if c.parts[number] != nil {
		return number
	}
	if hits := c.Search(number, 2); len(hits) > 0 && hits[0].Exact && (len(hits) == 1 || !hits[1].Exact) {
		return hits[0].Part.Name
	}
	return number
}

// Hit is a part that a search found.
type Hit struct {
	Part *pack.Part
	// By is the number or word that was met.
	By string
	// Exact is set where a whole number of the part was asked for.
	Exact bool
}

// index finds parts by any of their numbers and words. A word of the index is written
// in small letters; a number without the marks that people put into it, so that
// "AV 3105f" finds AV-3105-F.
type index struct {
	// keys are sorted; of[i] lists the parts of keys[i] in the order of the pack.
	keys  []string
	exact []bool // the key is a whole number of a part
	shown []string
	of    [][]int32
	parts []*pack.Part
	// grams lists, for every three letters in a row, the keys that hold them.
	grams map[[3]byte][]int32
}

func newIndex(c *Catalogue) *index {
	x := &index{parts: c.pack.Parts, grams: map[[3]byte][]int32{}}
	type key struct {
		exact bool
		shown string
		of    []int32
	}
	all := map[string]*key{}
	add := func(text, shown string, exact bool, i int) {
		if text == "" {
			return
		}
		k := all[text]
		if k == nil {
			k = &key{shown: shown}
			all[text] = k
		}
		k.exact = k.exact || exact
		if len(k.of) == 0 || k.of[len(k.of)-1] != int32(i) {
			k.of = append(k.of, int32(i))
		}
	}
	for i, p := range c.pack.Parts {
		for _, n := range c.Numbers(p.Name) {
			add(plainNumber(n.Number), n.Number, true, i)
		}
		add(plainNumber(p.Name), p.Name, true, i)
		for _, text := range c.wordsOf(p) {
			for _, w := range splitWords(text) {
				add(w, w, false, i)
			}
		}
	}
	for k := range all {
		x.keys = append(x.keys, k)
	}
	sort.Strings(x.keys)
	for i, k := range x.keys {
		x.exact = append(x.exact, all[k].exact)
		x.shown = append(x.shown, all[k].shown)
		x.of = append(x.of, all[k].of)
		for _, g := range gramsOf(k) {
			x.grams[g] = append(x.grams[g], int32(i))
		}
	}
	return x
}

// wordsOf gathers what a part is called and said of.
func (c *Catalogue) wordsOf(p *pack.Part) []string {
	out := []string{p.Title, p.Note, p.Sheet, p.Look}
	out = append(out, p.Has...)
	for _, s := range p.Fills {
		out = append(out, c.titleOfSlot(s))
	}
	return out
}

func gramsOf(k string) [][3]byte {
	var out [][3]byte
	for i := 0; i+3 <= len(k); i++ {
		if g := [3]byte{k[i], k[i+1], k[i+2]}; !slices.Contains(out, g) {
			out = append(out, g)
		}
	}
	return out
}

// plainNumber is a number without the marks between its letters and digits.
func plainNumber(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// splitWords parts a text into its words, in small letters.
func splitWords(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' })
}

// Search finds parts by a number or by words, the best first: a whole number, then
// what begins with it, then what holds it; of equals the order of the pack. Of
// several words all must be met. At most `most` parts are returned.
func (c *Catalogue) Search(text string, most int) []Hit {
	whole := plainNumber(text)
	if whole == "" || most <= 0 {
		return nil
	}
	c.once.Do(func() { c.search = newIndex(c) })
	x := c.search
	found := x.blank()
	x.collect(whole, true, found)
	if words := splitWords(text); len(words) > 1 || len(words) == 1 && words[0] != whole {
		x.collectAll(words, found)
	}
	var out []Hit
	for rank := rankWholeNumber; rank >= rankInside && len(out) < most; rank-- {
		for p, s := range found {
			if int(s.rank) == rank && len(out) < most {
				out = append(out, Hit{Part: x.parts[p], By: x.shown[s.key], Exact: rank == rankWholeNumber})
			}
		}
	}
	return out
}

// blank is a score of nothing for every part.
func (x *index) blank() []score { return make([]score, len(x.parts)) }

// score says how well a key was met; a higher rank is better.
type score struct {
	rank, key int32
}

const (
	rankInside = iota + 1
	rankBegins
	rankWord
	rankWholeNumber
)

// collect notes every part one of whose keys meets a word.
func (x *index) collect(word string, number bool, found []score) {
	note := func(key, rank int32) {
		for _, p := range x.of[key] {
			if rank > found[p].rank {
				found[p] = score{rank, key}
			}
		}
	}
	first := sort.SearchStrings(x.keys, word)
	for i := first; i < len(x.keys) && strings.HasPrefix(x.keys[i], word); i++ {
		switch {
		case x.keys[i] == word && x.exact[i] && number:
			note(int32(i), rankWholeNumber)
		case x.keys[i] == word:
			note(int32(i), rankWord)
		default:
			note(int32(i), rankBegins)
		}
	}
	grams := gramsOf(word)
	if len(grams) == 0 {
		return // one or two letters inside a word say nothing
	}
	rarest := grams[0]
	for _, g := range grams {
		if len(x.grams[g]) < len(x.grams[rarest]) {
			rarest = g
		}
	}
	for _, key := range x.grams[rarest] {
		if strings.Contains(x.keys[key], word) {
			note(key, rankInside)
		}
	}
}

// collectAll notes the parts that meet every word.
func (x *index) collectAll(words []string, found []score) {
	var all []score
	for _, w := range words {
		one := x.blank()
		x.collect(w, false, one)
		if p := plainNumber(w); p != w && p != "" {
			x.collect(p, false, one)
		}
		if all == nil {
			all = one
			continue
		}
		for p := range all {
			if one[p].rank < all[p].rank {
				all[p] = one[p]
			}
		}
	}
	for p, s := range all {
		if s.rank > found[p].rank {
			found[p] = s
		}
	}
}
