package cli

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/internal/sheet"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/parts/basket"
	"buttonup/words"
)

type basketCommand struct {
	jobFlags `embed:""`
	keptJob  `embed:""`
	Demo     bool     `help:"Use the invented demo engine, in mid-inspection."`
	Prefer   string   `placeholder:"cost|time|orders" default:"cost" help:"What counts first: cost, time or orders."`
	Without  []string `placeholder:"SELLER" sep:"none" help:"Leave a seller out: what if this one is out? May be given several times."`
	Refuse   []string `placeholder:"PART" sep:"none" help:"Do not buy a part; may be given several times."`
	Insist   []string `placeholder:"PART" sep:"none" help:"Have a part in the list, anywhere or like 'PART in slot.head_gasket front'."`
	Within   int      `placeholder:"DAYS" help:"Take nothing that needs longer."`
	Open     []string `placeholder:"SLOT=N" sep:"none" help:"Plan N more openings of a one-use part, like 'head_gasket front=1'."`
	Compare  string   `placeholder:"cost|time|orders" help:"Tell the difference to the list that is cheapest, soonest or in the fewest orders, without the wishes above."`
	CSV      string   `name:"csv" placeholder:"FOLDER" help:"Write each seller's order as CSV into a folder that is there."`
	XLSX     string   `name:"xlsx" placeholder:"FOLDER" help:"Write each seller's order as a workbook into a folder that is there."`
	Force    bool     `help:"Write over orders that are already there."`
	JSON     bool     `name:"json" help:"Print JSON."`
}

// Run says what to buy.
func (c *basketCommand) Run(a *app) error {
	want, err := c.options()
	if err != nil {
		return err
	}
	p, state, err := c.job(a)
	if err != nil {
		return err
	}
	now := assess.Options{Now: a.now()}
	want.Stop = func() bool { return a.context != nil && a.context.Err() != nil }
	done := a.watch("choosing")
	l, err := assess.Order(p, state, now, want)
	done()
	if err != nil {
		return orderError(err)
	}
	report := words.MakeOrder(l)
	if c.Compare != "" && l.Status != basket.Infeasible {
		prefer, _ := words.Prefer(c.Compare)
		other, err := assess.Order(p, state, now, assess.OrderOptions{Prefer: prefer, Openings: want.Openings})
		if err != nil {
			return orderError(err)
		}
		if other.Status != basket.Infeasible {
			report.Compare = words.Compare(l, other, c.Compare)
		}
	}
	written, err := c.write(a, l)
	if err != nil {
		return err
	}
	if a.json {
		a.printJSON(report)
	} else {
		printOrder(a.out, l, report)
		for _, name := range written {
			fmt.Fprintf(a.out, "written: %s\n", name)
		}
	}
	if l.Status == basket.Infeasible {
		return exit(ExitStops)
	}
	return nil
}

func (c *basketCommand) job(a *app) (*pack.Pack, *journal.State, error) {
	same := whichJob{jobFlags: c.jobFlags, keptJob: c.keptJob, Demo: c.Demo}
	return same.job(a)
}

// options reads what is asked of the list.
func (c *basketCommand) options() (assess.OrderOptions, error) {
	want := assess.OrderOptions{Without: c.Without, Refuse: c.Refuse, Insist: c.Insist, Within: c.Within}
	prefer, ok := words.Prefer(c.Prefer)
	if !ok {
		return want, misused("--prefer", "write --prefer cost, --prefer time or --prefer orders", "%q is nothing to prefer", c.Prefer)
	}
	want.Prefer = prefer
	if _, ok := words.Prefer(c.Compare); c.Compare != "" && !ok {
		return want, misused("--compare", "write --compare cost, --compare time or --compare orders", "%q is no list to compare with", c.Compare)
	}
	if c.Within < 0 {
		return want, misused("--within", "give a whole number of days from 1", "%d days is no time to wait", c.Within)
	}
	for _, text := range c.Open {
		slot, number, ok := strings.Cut(text, "=")
		n, err := strconv.Atoi(strings.TrimSpace(number))
		if !ok || err != nil || n < 1 || n > 100 {
			return want, misused("--open", "write it like --open 'head_gasket front=1'", "%q does not plan an opening", text)
		}
		if want.Openings == nil {
			want.Openings = map[string]int{}
		}
		want.Openings["slot."+strings.TrimPrefix(strings.TrimSpace(slot), "slot.")] += n
	}
	return want, nil
}

// orderError says why there is no order list to speak of.
func orderError(err error) error {
	var u *assess.UsageError
	switch {
	case errors.As(err, &u):
		return failed(u.Do, "%s", u.Says)
	case errors.Is(err, assess.ErrCurrencies):
		return failed("--without leaves a seller out", "%s", err)
	}
	return failed("", "%s", err)
}

// write puts each seller's order into files and returns their names.
func (c *basketCommand) write(a *app, l *assess.OrderList) ([]string, error) {
	var written []string
	for _, s := range l.Sellers {
		t := orderTable(l, s.Name)
		base := fileName(s.Name)
		if c.CSV != "" {
			name := filepath.Join(c.CSV, base+".csv")
			if err := a.writeWhole(name, t.CSV(), c.Force); err != nil {
				return written, err
			}
			written = append(written, shownName(name))
		}
		if c.XLSX != "" {
			text, err := sheet.Workbook([]sheet.Table{t})
			if err != nil {
				return written, err
			}
			name := filepath.Join(c.XLSX, base+".xlsx")
			if err := a.writeWhole(name, text, c.Force); err != nil {
				return written, err
			}
			written = append(written, shownName(name))
		}
	}
	return written, nil
}

func orderTable(l *assess.OrderList, seller string) sheet.Table {
	t := sheet.Table{Name: seller, Rows: words.OrderRows(l, seller)}
	for _, c := range words.OrderColumns(l.Total.Currency) {
		t.Head = append(t.Head, sheet.Column{Title: c.Title, Number: c.Number, Money: c.Money, Width: c.Width})
	}
	return t
}

// fileName makes a name for a file of the name of a seller.
func fileName(seller string) string {
	name := strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z', '0' <= r && r <= '9', r > 127:
			return r
		case 'A' <= r && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, seller), "-")
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	if name == "" {
		return "order"
	}
	return name
}

// printOrder shows an order list to a person.
func printOrder(w io.Writer, l *assess.OrderList, r *words.OrderReport) {
	fmt.Fprintln(w, words.Upper(words.OrderFacts(l)))
	if l.Status == basket.Infeasible {
		heading(w, "WHAT TOGETHER CANNOT BE (lifting any one helps)")
		for i := range l.Because {
			fmt.Fprintf(w, "  %s\n    → %s\n", words.Upper(words.OrderReason(&l.Because[i])), words.LiftOrderReason(&l.Because[i]))
		}
	}
	for _, s := range l.Sellers {
		heading(w, fmt.Sprintf("%s: %s, of which shipping %s; %s", s.Name, s.Total, s.Shipping.Amount(), words.Count(s.LeadDays, "day", "days")))
		for i := range l.Lines {
			x := &l.Lines[i]
			if x.Supplier != s.Name {
				continue
			}
			fmt.Fprintf(w, "  %3d × %-16s %-44s %9s %9s\n", x.Packs, orEmpty(x.Number, x.Part), x.Title, x.Price.Amount(), x.Amount.Amount())
			fmt.Fprintf(w, "        %s for %s\n", x.Part, words.OrderFor(x))
		}
	}
	if d := r.Compare; d != nil {
		heading(w, "AGAINST THE LIST FOR "+strings.ToUpper(d.Against))
		fmt.Fprintf(w, "  %s\n", words.DifferenceFacts(d, l.Total.Currency))
		for _, x := range d.Added {
			fmt.Fprintf(w, "  + %d × %s at %s, %s\n", x.Count, x.Part, x.Supplier, x.Price)
		}
		for _, x := range d.Dropped {
			fmt.Fprintf(w, "  - %d × %s at %s, %s\n", x.Count, x.Part, x.Supplier, x.Price)
		}
	}
	if len(r.Asks) > 0 {
		heading(w, "LOOK BEFORE YOU ORDER")
		for _, q := range r.Asks {
			fmt.Fprintf(w, "  %s\n", q)
		}
	}
}

func orEmpty(a, b string) string {
	if a == "" {
		return b
	}
	return a
}

// partsPack reads the pack that a question about parts is put to.
func (a *app) partsPack(path string, demo bool) (*pack.Pack, error) {
	switch {
	case demo && path != "":
		return nil, misused("--demo", "leave --pack out, or leave --demo out", "--demo brings its own pack")
	case demo:
		return a.loadPack(packs.Demo)
	case path == "":
		return nil, misused("--pack", "name one, like --pack my-engine.pack, or try --demo", "no engine pack is named")
	}
	return a.loadPack(path)
}
