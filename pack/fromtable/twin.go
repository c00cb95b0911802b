package fromtable

import (
	"fmt"
	"maps"
	"math/big"
	"regexp"
	"slices"
	"strings"
)

// exact is the size of each unit in the base unit of its kind: inch, pound,
// newton metre, ounce-inch. All are exact by definition.
//
// Source: international yard and pound, 1 in = 25.4 mm and 1 lb = 0.45359237 kg;
// standard acceleration 9.80665 m/s². Memory, settled since 1959 and 1901.
var exact = map[string]measure{
	"in":          {"length", ratio("1")},
	"thou":        {"length", ratio("0.001")},
	"mm":          {"length", ratio("1/25.4")},
	"cm":          {"length", ratio("1/2.54")},
	"lb":          {"weight", ratio("1")},
	"kg":          {"weight", ratio("1/0.45359237")},
	"g":           {"weight", ratio("1/453.59237")},
	"N.m":         {"torque", ratio("1")},
	"joule (N.m)": {"torque", ratio("1")},
	"ft-lb":       {"torque", ratio("1.3558179483314004")},
	"in-lb":       {"torque", ratio("1.3558179483314004/12")},
	"kg-m":        {"torque", ratio("9.80665")},
	"kg-cm":       {"torque", ratio("0.0980665")},
	"degree":      {"angle", ratio("1")},
}

// measure is a unit: its kind and its size.
type measure struct {
	kind string
	size *big.Rat
}

// ratio reads "a" or "a/b" with decimals in both.
func ratio(text string) *big.Rat {
	top, bottom, divided := strings.Cut(text, "/")
	r, _ := new(big.Rat).SetString(top)
	if divided {
		b, _ := new(big.Rat).SetString(bottom)
		r.Quo(r, b)
	}
	return r
}

// statedFactor is how a table names the factor its twins were made with.
var statedFactor = regexp.MustCompile(`^(\w+) \((\d+(?:\.\d+)?) per inch\)$`)

// twinUnit is the second unit of a row.
type twinUnit struct {
	name   string   // mm, cm …
	factor *big.Rat // twins per printed unit, nil where the two are not comparable
	stated string   // the factor the table says it used, "" for the exact one
}

// twinOf understands the units of a row.
func twinOf(unit, twin string) twinUnit {
	out := twinUnit{name: twin}
	if m := statedFactor.FindStringSubmatch(twin); m != nil && unit == "in" {
		if factor := ratio(m[2]); factor.Sign() > 0 {
			out.name, out.stated, out.factor = m[1], m[2], factor
		}
		return out
	}
	a, known := exact[unit]
	b, too := exact[twin]
	if known && too && a.kind == b.kind {
		out.factor = new(big.Rat).Quo(a.size, b.size)
	}
	return out
}

// accord is how well a printed figure and its twin agree.
type accord int

const (
	agrees      accord = iota // within half of the last place of both
	cutOff                    // one is the other with digits cut off, not rounded
	disagrees                 // beyond both
	contradicts               // a half more or less, or another sign: not one size
)

// compare holds a figure against its twin.
func (u twinUnit) compare(f, twin figure) accord {
	made := new(big.Rat).Mul(f.value, u.factor)
	gap := new(big.Rat).Sub(made, twin.value)
	gap.Abs(gap)
	room := new(big.Rat).Mul(f.last, u.factor)
	room.Add(room, twin.last)
	room.Quo(room, big.NewRat(2, 1))
	if gap.Cmp(room) <= 0 {
		return agrees
	}
	if cutTo(made, twin) || cutTo(new(big.Rat).Quo(twin.value, u.factor), f) {
		return cutOff
	}
	if twin.value.Sign()*f.value.Sign() <= 0 {
		return contradicts
	}
	share := new(big.Rat).Quo(made, twin.value)
	if share.Cmp(big.NewRat(3, 2)) >= 0 || share.Cmp(big.NewRat(2, 3)) <= 0 {
		return contradicts
	}
	return disagrees
}

// cutTo reports whether f is full with its further decimals cut off.
func cutTo(full *big.Rat, f figure) bool {
	if f.places < 0 {
		return false
	}
	rest := new(big.Rat).Sub(full, f.value)
	if full.Sign() < 0 {
		rest.Neg(rest)
	}
	return rest.Sign() >= 0 && rest.Cmp(f.last) < 0
}

// twins compares all cells of a row with their twins and returns remarks for its
// note. refuse is not empty where the two cannot be the same size.
func twins(r record, read map[string]figure) (remarks []string, refuse string) {
	u := twinOf(r.get("unit"), r.get("twin_unit"))
	if u.factor == nil || r.get("twin_unit") == r.get("unit") {
		return nil, ""
	}
	var clashes []string
	for _, column := range slices.Sorted(maps.Keys(read)) {
		f := read[column]
		cell := r.get(column + "_twin")
		if f.value == nil || cell == "" {
			continue
		}
		twin, err := readFigure(cell)
		if err != nil {
			remarks = append(remarks, "twin not compared: "+err.Error())
			continue
		}
		if f.value.Sign() < 0 && twin.value.Sign() > 0 && strings.HasSuffix(f.printed, "T") && !strings.HasSuffix(cell, "T") {
			twin = twin.negated() // the letter for tight stands once for both units
		}
		made := new(big.Rat).Mul(f.value, u.factor)
		is := fmt.Sprintf("%s %s is %s %s", f.printed, r.get("unit"), made.FloatString(max(twin.places, 0)+1), u.name)
		var remark string
		switch u.compare(f, twin) {
		case cutOff:
			remark = fmt.Sprintf("%s, printed %s: digits cut off, not rounded", is, cell)
		case disagrees:
			remark = fmt.Sprintf("twins disagree beyond rounding: %s, printed %s", is, cell)
		case contradicts:
			clashes = append(clashes, fmt.Sprintf("%s, printed %s", is, cell))
		}
		if remark != "" && !slices.Contains(remarks, remark) {
			remarks = append(remarks, remark)
		}
	}
	if u.stated != "" {
		remarks = append(remarks, fmt.Sprintf("the %s were made with %s to the inch, not 2.54: do not measure by them", u.name, u.stated))
	}
	if clashes != nil {
		refuse = "the two printed units contradict each other: " + strings.Join(clashes, ", ")
	}
	return remarks, refuse
}
