package book

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"

	"buttonup/journal"
	"buttonup/words"
)

// Money reads an amount exactly; false for what is none. A currency before or behind
// the figure is passed over, a decimal comma is not guessed.
func Money(text string) (*big.Rat, bool) {
	t := strings.TrimSpace(text)
	t = strings.TrimFunc(t, func(r rune) bool { return !(r >= '0' && r <= '9') && r != '.' && r != '-' })
	if t == "" || strings.Count(t, ".") > 1 || strings.ContainsAny(t, "eE/ ,") {
		return nil, false
	}
	return new(big.Rat).SetString(t)
}

// amount prints money with two decimals, halves away from zero.
func amount(r *big.Rat) string { return r.FloatString(2) }

// Account is what was said a job would cost, and what it came to.
type Account struct {
	Estimate, Actual []AccountLine
	Estimated, Spent *big.Rat
	// Currency is that of all sums, "" where nobody named one.
	Currency string
	// Call is the figure at which to stop and ring the owner, nil for none.
	Call *big.Rat
	// Unread are amounts that are not in the sums, each with the reason.
	Unread []string
}

// AccountLine is one line of it.
type AccountLine struct {
	What   string
	Amount *big.Rat
}

// MakeAccount adds up the money in a journal, exactly. rate is what an hour costs, ""
// leaves time out.
func MakeAccount(j *Job, rate string) *Account {
	a := &Account{Estimated: new(big.Rat), Spent: new(big.Rat), Currency: j.currency()}
	read := func(what, text string) *big.Rat {
		m, ok := Money(text)
		switch other := currencyIn(text); {
		case !ok:
			a.Unread = append(a.Unread, what+": "+text+" is no amount")
			return nil
		case other != "" && other != a.Currency:
			a.Unread = append(a.Unread, what+": "+text+" is not in "+a.Currency)
			return nil
		}
		return m
	}
	for _, e := range j.State.Estimates {
		if m := read(e.What, e.Amount); m != nil {
			a.Estimate = append(a.Estimate, AccountLine{e.What, m})
			a.Estimated.Add(a.Estimated, m)
		}
	}
	spend := func(what string, m *big.Rat) {
		a.Actual = append(a.Actual, AccountLine{what, m})
		a.Spent.Add(a.Spent, m)
	}
	minutes := 0.0
	for _, t := range j.State.Times {
		minutes += t.Minutes
	}
	if r, ok := Money(rate); ok && minutes > 0 {
		h := new(big.Rat).Quo(new(big.Rat).SetFloat64(minutes), big.NewRat(60, 1))
		spend(fmt.Sprintf("labour, %s at %s an hour", words.Duration(minutes*60), amount(r)), h.Mul(h, r))
	}
	for _, x := range bought(j.State.Parts) {
		if m := read(x.PartBody.Part, x.Price); m != nil {
			n := int64(max(x.Count, 1))
			what := j.partTitle(x.PartBody.Part)
			if n > 1 {
				what = fmt.Sprintf("%d × %s", n, what)
			}
			spend(what+", "+x.State, new(big.Rat).Mul(m, big.NewRat(n, 1)))
		}
	}
	for _, c := range j.State.Costs {
		if m := read(c.What, c.Amount); m != nil {
			spend(c.What, m)
		}
	}
	for _, x := range j.State.Approvals {
		if strings.Contains(strings.ToLower(x.What), "stop and call") {
			a.Call = read(x.What, x.Amount)
		}
	}
	return a
}

// bought are the parts that money was or will be spent on, each piece once: what was
// ordered and then received and fitted is told by the last of them that has a price.
func bought(list []journal.PartRecord) []journal.PartRecord {
	order := map[string]int{journal.Ordered: 1, journal.Received: 2, journal.Fitted: 3}
	type place struct{ slot, place, part string }
	at, stage := map[place]int{}, map[place]int{}
	var out []journal.PartRecord
	for _, p := range list {
		n := order[p.State]
		key := place{p.Slot, p.Place, p.PartBody.Part}
		if n == 0 || p.Price == "" {
			continue
		}
		if i, ok := at[key]; ok && n > stage[key] {
			count := out[i].Count
			out[i] = p
			out[i].Count = max(p.Count, count)
		} else {
			at[key] = len(out)
			out = append(out, p)
		}
		stage[key] = n
	}
	return out
}

// Text prints a sum with its currency.
func (a *Account) Text(r *big.Rat) string { return strings.TrimSpace(amount(r) + " " + a.Currency) }

// currency is the one in which a job is counted: the first that its journal names, else
// that of the sellers of its pack, if they have one among them.
func (j *Job) currency() string {
	for _, text := range j.amounts() {
		if c := currencyIn(text); c != "" {
			return c
		}
	}
	if j.Pack == nil {
		return ""
	}
	found := ""
	for _, s := range j.Pack.Suppliers {
		if s.Currency != "" && found != "" && s.Currency != found {
			return ""
		}
		found = orElse(s.Currency, found)
	}
	return found
}

// amounts lists all money of a journal as it was written.
func (j *Job) amounts() []string {
	var list []string
	for _, x := range j.State.Estimates {
		list = append(list, x.Amount)
	}
	for _, x := range j.State.Parts {
		list = append(list, x.Price)
	}
	for _, x := range j.State.Costs {
		list = append(list, x.Amount)
	}
	for _, x := range j.State.Approvals {
		list = append(list, x.Amount)
	}
	return list
}

// currencyIn is what stands before or behind the figure of an amount: three capital
// letters or a sign of money, "" for anything else.
func currencyIn(text string) string {
	t := strings.Trim(text, "0123456789.,- ")
	if sign, size := utf8.DecodeRuneInString(t); size == len(t) && unicode.Is(unicode.Sc, sign) {
		return t
	}
	if len(t) == 3 && strings.Trim(t, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") == "" {
		return t
	}
	return ""
}

// partTitle names a part by its title and its number.
func (j *Job) partTitle(id string) string {
	if j.Pack != nil {
		for _, p := range j.Pack.Parts {
			if p.Name == id && p.Title != "" && p.Title != id {
				return p.Title + " " + id
			}
		}
	}
	return id
}

// difference says how what it came to lies against the estimate.
func (a *Account) difference() string {
	if len(a.Estimate) == 0 {
		return "Nothing was estimated."
	}
	diff := new(big.Rat).Sub(a.Spent, a.Estimated)
	switch diff.Sign() {
	case 1:
		return "That is " + a.Text(diff) + " over the estimate."
	case 0:
		return "That is the estimate."
	}
	return "That is " + a.Text(new(big.Rat).Abs(diff)) + " below the estimate."
}

// agreed says what is left until the owner is to be rung, "" where nothing was agreed.
func (a *Account) agreed() string {
	if a.Call == nil {
		return ""
	}
	left := new(big.Rat).Sub(a.Call, a.Spent)
	if left.Sign() <= 0 {
		return fmt.Sprintf("Agreed: stop and call at %s. That has been reached: ring the owner before going on.", a.Text(a.Call))
	}
	return fmt.Sprintf("Agreed: stop and call at %s. %s is left.", a.Text(a.Call), a.Text(left))
}

// Says tells in a line or two how the money stands.
func (a *Account) Says() string {
	says := "It came to " + a.Text(a.Spent) + " until now"
	if len(a.Estimate) > 0 {
		says += ", estimated were " + a.Text(a.Estimated)
	}
	says += ". " + a.difference()
	if text := a.agreed(); text != "" {
		says += " " + text
	}
	return says
}

// Document prints the account as a statement.
func (a *Account) Document(j *Job) *Document {
	d := j.plain("Estimate and account")
	d.add(&Heading{Level: 1, Text: "Estimate and account", Aside: day(j.Now)})
	if j.State.Job != nil {
		d.add(&Fields{PerRow: 3, List: []Field{{"Job", strings.TrimPrefix(j.name(), "Job ")}, {"Engine number", orDash(j.State.Job.EngineNumber)}, {"Owner", orDash(j.State.Job.Owner)}}})
	}
	table := func(lines []AccountLine, sum string, total string) *Table {
		t := &Table{Columns: []Column{{Head: "", Share: 100}, {Head: "", Share: 30, Right: true}}}
		for _, l := range lines {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: l.What}, {Text: amount(l.Amount)}}})
		}
		t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: sum, Bold: true}, {Text: total, Bold: true}}})
		return t
	}
	d.add(&Heading{Level: 2, Text: "Estimate"}, table(a.Estimate, "Estimated", a.Text(a.Estimated)))
	d.add(&Heading{Level: 2, Text: "What it came to"}, table(a.Actual, "Together", a.Text(a.Spent)))
	d.add(&Para{Text: a.difference(), Style: Lead})
	j.hours(d)
	if text := a.agreed(); text != "" {
		d.add(&Para{Text: text, Style: Warning})
	}
	if owner := OwnersWord(j.State.Approvals); len(owner) > 0 {
		t := &Table{Columns: []Column{{Head: "Approved", Share: 60}, {Head: "By", Share: 30}, {Head: "On", Share: 30}, {Head: "", Share: 20, Right: true}}}
		for _, x := range owner {
			t.Rows = append(t.Rows, Row{Cells: []Cell{{Text: x.What}, {Text: x.Who}, {Text: day(x.At)}, {Text: x.Amount}}})
		}
		d.add(&Heading{Level: 2, Text: "Approvals"}, t)
	}
	for _, u := range a.Unread {
		d.add(&Para{Text: "Not added up: " + u, Style: Small})
	}
	d.add(&Signs{List: []Sign{{"", "for the shop, date"}, {"", "owner, date"}}})
	return d
}

// lowerFirst begins a title with a small letter, where it stands inside of a sentence.
func lowerFirst(s string) string {
	if r, n := utf8.DecodeRuneInString(s); n > 0 && len(s) > n && unicode.IsUpper(r) {
		if next, _ := utf8.DecodeRuneInString(s[n:]); !unicode.IsUpper(next) {
			return string(unicode.ToLower(r)) + s[n:]
		}
	}
	return s
}

// Stands says in two sentences where a job stands, for its owner.
func (j *Job) Stands() string {
	done, all := 0, 0
	state := map[string]bool{}
	last := ""
	for _, o := range j.State.Operations {
		k := o.OperationBody.Operation + " " + o.Place
		state[k] = o.State == journal.Done
		if o.State == journal.Done {
			last = titled(plainTitle(words.Named(j.Pack, "operation."+o.OperationBody.Operation)), o.Place)
		}
	}
	for _, ok := range state {
		if ok {
			done++
		}
	}
	all = done + len(j.Assessment.Next) + len(j.Assessment.Blocked)
	first := "Work on your engine has not begun."
	switch {
	case done > 0 && done >= all:
		first = "Your engine is finished: all of the work is done."
	case done > 0:
		first = fmt.Sprintf("%d of %d steps on your engine are done; the last was: %s.", done, all, lowerFirst(last))
	}
	second := "Nothing holds it up."
	switch {
	case done >= all && done > 0:
		second = "The build book tells what was read, set and fitted."
	case len(j.Assessment.Waits) > 0:
		w := &j.Assessment.Waits[0]
		second = "It waits after " + lowerFirst(plainTitle(words.Operation(j.Pack, w.Operation))) + orText(": ", w.For) + "."
	case len(j.Assessment.Missing) > 0:
		second = fmt.Sprintf("Still to come: %s.", words.Count(len(j.Assessment.Missing), "part", "parts"))
	case len(j.Assessment.Next) > 0:
		second = "Next: " + strings.ToLower(plainTitle(words.Operation(j.Pack, j.Assessment.Advised()[0]))) + "."
	}
	return first + " " + second
}
