package fromtable

import (
	"fmt"
	"slices"
	"strings"
)

const tightToLoose = "the figures run from tight to loose, which no measured length can: write a number whose value is the bore less the shaft"

// signedFit rewrites a fit that has figures below zero, which no length read as a
// dimension can have. Where nothing is loose it becomes an interference, which is
// positive; else the difference of the two sizes it is made of, as a number. Where
// those two are not to be found the figures stay in the note.
func signedFit(rows []sized, i int, d *size) {
	if feature := d.get("feature"); feature != "clearance" && feature != "other" {
		d.withdraw("a " + feature + " cannot be below zero")
		return
	}
	if d.tight() {
		return
	}
	bore, shaft := partner(rows, i, "bore"), partner(rows, i, "shaft")
	if bore == nil || shaft == nil {
		d.withdraw(tightToLoose)
		return
	}
	d.kind, d.value = "number", bore.name+" - "+shaft.name
	d.says = append(d.says, fmt.Sprintf("a fit that may be tight, so it is worked out: %q less %q, the two rows of the component whose words fit; check that they are the pair", bore.title, shaft.title))
}

// tight rewrites a fit that is nowhere loose as an interference.
func (d *size) tight() bool {
	for _, f := range []*figure{d.low, d.high, d.limitLow, d.limitHigh} {
		if f != nil && f.value.Sign() > 0 {
			return false
		}
	}
	turned := func(f *figure) *figure {
		if f == nil {
			return nil
		}
		g := f.negated()
		return &g
	}
	d.low, d.high = turned(d.high), turned(d.low)
	d.limitLow, d.limitHigh = turned(d.limitHigh), turned(d.limitLow)
	d.title = strings.TrimSuffix(d.title, ", clearance of the pair") + ", interference"
	d.says = append(d.says, "tight, so written as an interference")
	return true
}

// withdraw takes all figures out of a size and says why.
func (d *size) withdraw(reason string) {
	d.low, d.high, d.limitLow, d.limitHigh, d.outcome = nil, nil, nil, nil, Refused
	d.says = append(d.says, reason, "printed: "+d.printed(""))
}

// partner finds the one size of a feature in the component of row i that shares a
// telling word with its label; nil where there is none or more than one.
func partner(rows []sized, i int, feature string) *sized {
	ordinary := append([]string{"bore", "clearance", "diameter", "fit", "inside", "outside", "shaft"}, fillers...)
	telling := slices.DeleteFunc(words(rows[i].get("characteristic")), func(w string) bool { return slices.Contains(ordinary, w) })
	var found *sized
	for j := range rows {
		r := &rows[j]
		if r.get("feature") != feature || r.get("component") != rows[i].get("component") || r.get("confidence") != "aligned" || r.figure("new_min") == nil || r.figure("new_max") == nil {
			continue
		}
		if !slices.ContainsFunc(words(r.get("characteristic")), func(w string) bool { return slices.Contains(telling, w) }) {
			continue
		}
		if found != nil {
			return nil
		}
		found = r
	}
	return found
}

// pairRow writes the clearance that a table prints beside a size. Where the same
// clearance of the same component has a dimension, it is named instead.
func (c *conversion) pairRow(rows []sized, s sized, d *size) {
	for j := range rows {
		r := &rows[j]
		if r.get("feature") == "clearance" && r.get("confidence") == "aligned" && samePair(r.record, s.record) {
			d.says = append(d.says, fmt.Sprintf("the clearance printed beside it is that of %q", r.title))
			return
		}
	}
	p := size{sized: s, kind: "dimension", unit: s.unit, outcome: Taken}
	p.title += ", clearance of the pair"
	p.band(d.pair.low, d.pair.high)
	p.limitHigh = d.pair.most
	p.step = finest(d.pair.low, d.pair.high, d.pair.most)
	what := " clearance"
	if reason := p.wrongSide(); reason != "" {
		p.withdraw(reason)
	} else if p.negative() {
		if p.tight() {
			what = " interference"
		} else {
			p.withdraw(tightToLoose)
		}
	}
	p.name = c.givenName(c.collectionPrefix(s.record), s.get("component"), s.get("characteristic"), s.get("position")+what)
	p.remarks = d.remarks
	c.blocks = append(c.blocks, p.block(c))
	d.says = append(d.says, "the clearance printed beside it is the dimension "+p.name)
	if p.outcome < d.outcome {
		d.outcome = p.outcome
		d.says = append(d.says, p.says...)
	}
}

// samePair reports whether two rows of one component print the same clearance.
func samePair(a, b record) bool {
	for _, column := range []string{"manual", "component", "position", "desired_clearance_min", "desired_clearance_max", "max_allowable_clearance", "unit"} {
		if a.get(column) != b.get(column) {
			return false
		}
	}
	return true
}
