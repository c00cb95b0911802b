package fromtable

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// size is what one dimension will say: a band of new sizes, limits, and why.
type size struct {
	sized
	kind, value         string // dimension; or number and its formula
	unit                string // of the band and the limits
	low, high           *figure
	limitLow, limitHigh *figure
	step                *big.Rat
	limitFrom           string // how a limit was made, "" if it is printed
	pair                clearance
	outcome             Outcome
	says, remarks       []string
}

// clearance is what a table prints in its three clearance columns.
type clearance struct{ low, high, most *figure }

func (p clearance) printed() bool { return p.low != nil || p.high != nil || p.most != nil }

// sizeOf reads the figures of a row as a size. refusal is why they cannot all be
// right; the size is then of no use.
func sizeOf(s sized) (d size, refusal string) {
	d = size{sized: s, kind: "dimension", unit: s.unit, outcome: Taken}
	low, high, limit, kind := s.figure("new_min"), s.figure("new_max"), s.figure("wear_limit"), s.get("wear_limit_kind")
	d.pair = clearance{s.figure("desired_clearance_min"), s.figure("desired_clearance_max"), s.figure("max_allowable_clearance")}
	switch {
	case kind == "" && limit != nil:
		return d, "a limit is printed, and the table does not say of which kind"
	case kind != "" && limit == nil:
		return d, "the table names a limit of kind " + kind + " and prints none"
	}
	if slices.Contains([]string{"clearance", "force", "other"}, s.get("feature")) { // the row is itself the clearance
		if low == nil && high == nil {
			low, high, d.pair.low, d.pair.high = d.pair.low, d.pair.high, nil, nil
		}
		if limit == nil && d.pair.most != nil {
			limit, kind, d.pair.most = d.pair.most, "max", nil
		}
		if d.pair.printed() {
			return d, "two bands or two limits are printed for one clearance"
		}
	}
	d.band(low, high)
	d.step = finest(low, high, limit)
	if strings.Contains(s.get("note"), "serviceable band") && limit == nil && d.low != nil {
		d.limitLow, d.limitHigh, d.low, d.high = d.low, d.high, nil, nil
		d.says = append(d.says, "the two figures bound what may stay in service, they are not the new part")
	}
	switch kind {
	case "max":
		d.limitHigh = limit
	case "min":
		d.limitLow = limit
	case "wear":
		d.wear(limit)
	}
	if refusal := d.wrongSide(); refusal != "" {
		return d, refusal
	}
	d.roundedFlat()
	return d, ""
}

// band takes the new figures of a row: two of them, or for a run-out, which has no
// smaller end than zero, one.
func (d *size) band(low, high *figure) {
	switch {
	case low != nil && high != nil:
		if high.less(*low) {
			if !strings.HasSuffix(low.printed, "T") { // 0.003T .. 0.005T rises in tightness, and is not turned round
				d.says = append(d.says, "printed with the larger figure first")
			}
			low, high = high, low
		}
		d.low, d.high = low, high
	case high != nil && d.get("feature") == "runout":
		d.low, d.high = &figure{value: whole(""), last: high.last}, high
		d.says = append(d.says, "one new figure is printed, read as a maximum")
	case low != nil:
		d.alone(low)
	case high != nil:
		d.alone(high)
	}
}

// alone notes a single figure: a setting or a nominal size is no band.
func (d *size) alone(f *figure) {
	d.outcome = Noted
	d.says = append(d.says, fmt.Sprintf("printed: %s, one figure, so no band", withUnit(f.printed, d.shownUnit())))
}

// wear adds a wear allowance to the end that wears, or says why it cannot.
func (d *size) wear(allowance *figure) {
	amount := withUnit(allowance.printed, d.get("unit"))
	label := words(d.get("component") + " " + d.get("characteristic"))
	groove := slices.Contains(label, "groove") || slices.Contains(label, "slot")
	ring := slices.Contains(label, "ring") || slices.Contains(label, "rings")
	feature := d.get("feature")
	switch {
	case feature == "wear":
		d.limitHigh = allowance
		d.says = append(d.says, "the wear itself is limited: the reading is the largest size found less the size when new")
	case allowance.value.Sign() < 0:
		d.noLimit("the wear allowed, " + amount + ", is below zero")
	case d.low == nil:
		d.noLimit("the wear allowed, " + amount + ", is printed without the band it adds to")
	case feature == "bore", feature == "width" && groove:
		f := sum(*d.high, *allowance, 1)
		d.limitHigh, d.limitFrom = &f, fmt.Sprintf("largest new %s plus the wear allowed %s", d.high.write(), amount)
	case feature == "shaft", feature == "thickness", feature == "width" && ring:
		f := sum(*d.low, *allowance, -1)
		d.limitLow, d.limitFrom = &f, fmt.Sprintf("smallest new %s less the wear allowed %s", d.low.write(), amount)
	case feature == "force":
		d.noLimit("the figure beside a spring load, " + amount + ", may be a tolerance or a wear")
	default:
		d.noLimit(fmt.Sprintf("a wear of %s is allowed, and the table does not say at which end a %s wears", amount, first(feature, "size")))
	}
}

func (d *size) noLimit(reason string) {
	d.outcome = Refused
	d.says = append(d.says, "no limit: "+reason)
}

// wrongSide says where a limit lies on the wrong side of the new band.
func (d *size) wrongSide() string {
	unit := d.shownUnit()
	switch {
	case d.high != nil && d.limitHigh != nil && d.limitHigh.less(*d.high):
		return fmt.Sprintf("the upper limit %s lies below the largest new figure %s, and which is wrong is not known", d.limitHigh.printed, withUnit(d.high.printed, unit))
	case d.low != nil && d.limitLow != nil && d.low.less(*d.limitLow):
		return fmt.Sprintf("the lower limit %s lies above the smallest new figure %s, and which is wrong is not known", d.limitLow.printed, withUnit(d.low.printed, unit))
	}
	return ""
}

// roundedFlat takes the band in the printed twin where the rounding of the first
// unit left it no width: judged by the flat one, every new part would be wrong.
func (d *size) roundedFlat() {
	twin := d.get("twin_unit")
	if d.low == nil || d.low.value.Cmp(d.high.value) != 0 || d.limitLow != nil || d.limitHigh != nil || twin != "mm" && twin != "cm" {
		return
	}
	low, err1 := readFigure(d.get("new_min_twin"))
	high, err2 := readFigure(d.get("new_max_twin"))
	if err1 != nil || err2 != nil || !low.less(high) {
		return
	}
	d.says = append(d.says, fmt.Sprintf("%s .. %s %s is rounded to no width, so the band is the printed twin", d.low.printed, d.high.printed, d.get("unit")))
	d.low, d.high, d.unit, d.step = &low, &high, twin, finest(&low, &high)
}

// negative reports whether a figure lies below zero.
func (d *size) negative() bool {
	for _, f := range []*figure{d.low, d.high, d.limitLow, d.limitHigh} {
		if f != nil && f.value.Sign() < 0 {
			return true
		}
	}
	return false
}

// block writes the size.
func (d *size) block(c *conversion) block {
	b := block{kind: d.kind, label: d.name}
	b.set("title", quote(d.title))
	if d.kind == "number" {
		b.set("value", d.value)
		b.set("unit", quote(d.unit))
	} else if d.step != nil {
		b.set("step", quote(withUnit(writeStep(d.step), d.unit)))
	}
	newFrom, limitFrom := "", ""
	if d.low != nil {
		b.set("new", quote(withUnit(d.low.write()+" .. "+d.high.write(), d.unit)))
		newFrom = c.source(d.sized, "")
	}
	limit := ""
	switch {
	case d.limitLow != nil && d.limitHigh != nil:
		limit = d.limitLow.write() + " .. " + d.limitHigh.write()
	case d.limitLow != nil:
		limit = ">= " + d.limitLow.write()
	case d.limitHigh != nil:
		limit = "<= " + d.limitHigh.write()
	}
	if limit != "" {
		b.set("limit", quote(withUnit(limit, d.unit)))
		limitFrom = c.source(d.sized, d.limitFrom)
	}
	if from := sources("new", newFrom, "limit", limitFrom); from != "" {
		b.set("sources", from)
	}
	fractions := ""
	if text := d.printed(""); strings.ContainsAny(text, "/'T") {
		fractions = "printed: " + text
	}
	if note := joined(slices.Concat(d.says, []string{fractions, d.twinNote()}, d.remarks, []string{d.tableNote()})); note != "" {
		b.set("note", quote(note))
	}
	return b
}
