package book

import (
	"fmt"
	"math/big"
	"strings"

	"buttonup/account"
	"buttonup/journal"
)

// The categories of a job's time.
const (
	atTheBench = "at the bench"
	inTheWay   = "waiting"
	besides    = "not in the pack"
)

// contingency is the share of an estimate that is kept for what nobody can foresee.
//
// Source: common practice, no published source.
var contingency = big.NewRat(15, 100)

// Hours compares how long the pack gives the job's work with how long it took, in
// minutes. An operation without minutes in the pack, or none recorded, has one figure
// only and takes no part in the ratio. Time whose operation is called waiting is a
// category of its own: it is what makes jobs late.
func (j *Job) Hours() (*account.Comparison, error) {
	places := map[string]map[string]bool{}
	see := func(name, place string) {
		name = strings.TrimPrefix(name, "operation.")
		if places[name] == nil {
			places[name] = map[string]bool{}
		}
		places[name][place] = true
	}
	for _, o := range j.State.Operations {
		if o.State == journal.Done {
			see(o.OperationBody.Operation, o.Place)
		}
	}
	for _, r := range j.Assessment.Next {
		see(r.Name, r.Place)
	}
	for i := range j.Assessment.Blocked {
		see(j.Assessment.Blocked[i].Operation.Name, j.Assessment.Blocked[i].Operation.Place)
	}
	took := map[string]*big.Rat{}
	var named []string
	for _, t := range j.State.Times {
		if took[t.Operation] == nil {
			took[t.Operation] = new(big.Rat)
			named = append(named, t.Operation)
		}
		if m := new(big.Rat).SetFloat64(t.Minutes); m != nil {
			took[t.Operation].Add(took[t.Operation], m)
		}
	}
	var items []account.Item
	known := map[string]bool{}
	for _, o := range j.Pack.Operations {
		n := len(places[o.Name])
		if n == 0 {
			continue
		}
		known[o.Name] = true
		x := account.Item{What: o.Title, Category: atTheBench, Actual: took[o.Name]}
		if o.Seconds > 0 {
			x.Estimated = new(big.Rat).Mul(new(big.Rat).Quo(new(big.Rat).SetFloat64(o.Seconds), big.NewRat(60, 1)), big.NewRat(int64(n), 1))
		}
		items = append(items, x)
	}
	for _, name := range named {
		if known[name] {
			continue
		}
		category := besides
		if strings.EqualFold(strings.TrimSpace(name), inTheWay) {
			category = inTheWay
		}
		items = append(items, account.Item{What: name, Category: category, Actual: took[name]})
	}
	return account.Compare(items, contingency)
}

// hours prints the comparison under an account, nothing where no time was recorded.
func (j *Job) hours(d *Document) {
	if j.Pack == nil || j.Assessment == nil || len(j.State.Times) == 0 {
		return
	}
	c, err := j.Hours()
	if err != nil {
		d.add(&Para{Text: "The hours could not be compared: " + err.Error(), Style: Small})
		return
	}
	t := &Table{Columns: []Column{{Head: "Time", Share: 60}, {Head: "by the pack", Share: 35, Right: true}, {Head: "taken", Share: 35, Right: true}, {Head: "taken for planned", Share: 40, Right: true}}}
	row := func(x *account.Category, name string, bold bool) {
		cells := []Cell{{Text: name, Bold: bold}, {Text: minutesText(x.Estimated)}, {Text: minutesText(x.Actual)}, {Text: ratioText(x.Ratio)}}
		t.Rows = append(t.Rows, Row{Cells: cells})
	}
	for i := range c.Categories {
		row(&c.Categories[i], c.Categories[i].Name, false)
	}
	row(&c.Whole, "Together", true)
	d.add(&Heading{Level: 2, Text: "Hours"}, t)
	d.add(&Para{Text: HoursSay(c), Style: Small})
}

// HoursSay tells a comparison in a sentence or two.
func HoursSay(c *account.Comparison) string {
	says := "No step has both hours yet, so there is nothing to compare."
	if c.Whole.Ratio != nil {
		says = fmt.Sprintf("Steps that have both took %s times what the pack gives it.", ratioText(c.Whole.Ratio))
	}
	if c.Over.Sign() > 0 {
		return says + fmt.Sprintf(" All of it is %s over the plan with 15 %% for what nobody can foresee.", minutesText(c.Over))
	}
	return says
}

// minutesText writes working time: it is never told in days, which have any number of
// hours.
func minutesText(r *big.Rat) string {
	if r.Sign() == 0 {
		return ""
	}
	return WorkingTime(r)
}

// WorkingTime writes minutes as minutes or hours.
func WorkingTime(r *big.Rat) string {
	if r.Cmp(big.NewRat(90, 1)) < 0 {
		return r.FloatString(0) + " min"
	}
	return new(big.Rat).Quo(r, big.NewRat(60, 1)).FloatString(1) + " h"
}

func ratioText(r *big.Rat) string {
	if r == nil {
		return ""
	}
	return r.FloatString(2)
}
