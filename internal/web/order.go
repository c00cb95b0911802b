package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"buttonup/assess"
	table "buttonup/internal/sheet"
	"buttonup/parts/basket"
	"buttonup/words"
)

// orderView is the order list of a job: cheapest, soonest or in the fewest orders.
type orderView struct {
	view
	Query   string // what is asked, as it stands in the address
	Prefer  string
	Without []string
	Insist  []string
	Refuse  []string
	List    *assess.OrderList
	Aims    []orderAim
	Sellers []sellerChoice
	Asks    []string
	Needs   []placeRow
	Wrong   string
	// Differs says how the chosen list differs from the cheapest without wishes.
	Differs  *words.Difference
	Wishes   []wish
	Currency string
}

// orderAim is one of the three lists.
type orderAim struct {
	Prefer, Says, Facts, Total string
	Days, Orders               int
	Address                    string
	Chosen, Impossible         bool
}

// sellerChoice is a seller with the address of the list without or with it.
type sellerChoice struct {
	Name, Address string
	Out           bool
}

// wish is something insisted on or refused, with the address of the list without it.
type wish struct{ Says, Address string }

var aims = []struct{ prefer, says string }{{"cost", "Cheapest"}, {"time", "Soonest"}, {"orders", "Fewest orders"}}

// longestSearch is how long a page waits for a proof; the answer is then the best so
// far, and says that it is not proven.
const longestSearch = 3 * time.Second

// orderOptions reads what is asked of a list.
func orderOptions(ctx context.Context, q url.Values, prefer string) assess.OrderOptions {
	want := assess.OrderOptions{Without: q["without"], Insist: q["insist"], Refuse: q["refuse"], Stop: func() bool { return ctx.Err() != nil }}
	want.Prefer, _ = words.Prefer(prefer)
	return want
}

func (s *Server) order(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	q := clean(r.URL.Query())
	v := &orderView{view: s.view(r, "order", sh), Query: q.Encode(), Prefer: orElse(q.Get("prefer"), "cost"), Without: q["without"], Insist: q["insist"], Refuse: q["refuse"]}
	v.Title, v.Also = "Order list", []string{"parts.css"}
	ctx, cancel := context.WithTimeout(r.Context(), longestSearch)
	defer cancel()
	lists := s.orderLists(ctx, sh, q)
	status := http.StatusOK
	for i, a := range aims {
		l := lists[i]
		aim := orderAim{Prefer: a.prefer, Says: a.says, Chosen: a.prefer == v.Prefer, Address: v.with("prefer", a.prefer)}
		switch {
		case l.err != nil:
			v.Wrong, status = orderTrouble(l.err), http.StatusUnprocessableEntity
		case l.list.Status == basket.Infeasible:
			aim.Impossible = true
		default:
			aim.Total, aim.Days, aim.Orders = l.list.Total.String(), l.list.LeadDays, l.list.Orders
		}
		if aim.Chosen {
			v.List = l.list
		}
		v.Aims = append(v.Aims, aim)
	}
	if v.List != nil {
		v.Currency = v.List.Total.Currency
		v.Asks = words.OrderAsks(v.List, v.System)
		v.needs()
		if cheapest := lists[0].list; v.Prefer != "cost" && v.List.Status != basket.Infeasible && cheapest.Status != basket.Infeasible {
			v.Differs = words.Compare(v.List, cheapest, "cost")
		}
	}
	v.choices(q)
	s.show(w, r, status, orderPage(v))
}

type listOrError struct {
	list *assess.OrderList
	err  error
}

// orderLists makes the three lists side by side.
func (s *Server) orderLists(ctx context.Context, sh *sheet, q url.Values) [3]listOrError {
	var out [3]listOrError
	var wait sync.WaitGroup
	for i, a := range aims {
		wait.Go(func() {
			out[i].list, out[i].err = sh.pack.model.OrderList(sh.State, assess.Options{Now: sh.made}, orderOptions(ctx, q, a.prefer))
		})
	}
	wait.Wait()
	return out
}

func orderTrouble(err error) string {
	var u *assess.UsageError
	if errors.As(err, &u) {
		return words.Upper(u.Says) + ": " + u.Do + "."
	}
	return words.Upper(err.Error()) + "."
}

// clean keeps what the page asks for and nothing else of an address.
func clean(q url.Values) url.Values {
	out := url.Values{}
	if _, ok := words.Prefer(q.Get("prefer")); ok {
		out.Set("prefer", q.Get("prefer"))
	}
	for _, name := range []string{"without", "insist", "refuse"} {
		for _, v := range q[name] {
			if v != "" && len(v) < 200 && len(out[name]) < 20 && !slices.Contains(out[name], v) {
				out.Add(name, v)
			}
		}
	}
	return out
}

// with is the address of the page with one thing asked otherwise.
func (v *orderView) with(name, value string) string {
	q, _ := url.ParseQuery(v.Query)
	q.Set(name, value)
	return jobPath(v.Sheet.Job.ID, "order") + "?" + q.Encode()
}

// toggled is the address of the page with one wish more, or less where it is there.
func (v *orderView) toggled(name, value string) string {
	q, _ := url.ParseQuery(v.Query)
	list := slices.DeleteFunc(slices.Clone(q[name]), func(s string) bool { return s == value })
	if len(list) == len(q[name]) {
		list = append(list, value)
	}
	q[name] = list
	return jobPath(v.Sheet.Job.ID, "order") + "?" + q.Encode()
}

// needs lists why each slot wants a part, its places together.
func (v *orderView) needs() {
	bySlot := map[string][]assess.Need{}
	for _, n := range v.List.Needs {
		bySlot[n.Slot] = append(bySlot[n.Slot], n)
	}
	for _, slot := range v.Sheet.pack.Slots {
		if list := bySlot[slot.Name]; len(list) > 0 {
			v.Needs = append(v.Needs, placeRow{Slot: slot.Name, Title: orElse(slot.Title, slot.Name), Says: words.WantsParts(list, nil), Sign: "todo", Ink: "mute",
				Address: partPath(v.Sheet, slot.Name, list[0].Place)})
		}
	}
}

func (v *orderView) choices(q url.Values) {
	for _, x := range v.Sheet.pack.Suppliers {
		v.Sellers = append(v.Sellers, sellerChoice{x.Name, v.toggled("without", x.Name), slices.Contains(q["without"], x.Name)})
	}
	for _, p := range q["insist"] {
		v.Wishes = append(v.Wishes, wish{p + " must be in", v.toggled("insist", p)})
	}
	for _, p := range q["refuse"] {
		v.Wishes = append(v.Wishes, wish{p + " must not", v.toggled("refuse", p)})
	}
}

// orderFile sends one seller's order to another program.
func (s *Server) orderFile(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	file := r.PathValue("file")
	seller, isCSV := strings.CutSuffix(file, ".csv")
	seller, isBook := strings.CutSuffix(seller, ".xlsx")
	q := clean(r.URL.Query())
	l, err := sh.pack.model.OrderList(sh.State, assess.Options{Now: sh.made}, orderOptions(r.Context(), q, q.Get("prefer")))
	if err != nil {
		s.trouble(w, r, unusable(orderTrouble(err), "Change what is asked of the list."))
		return
	}
	if !isCSV && !isBook || !slices.ContainsFunc(l.Sellers, func(x assess.OrderSeller) bool { return x.Name == seller }) {
		s.trouble(w, r, notFound("This order list has no order to that seller."))
		return
	}
	t := table.Table{Name: seller, Rows: words.OrderRows(l, seller)}
	for _, c := range words.OrderColumns(l.Total.Currency) {
		t.Head = append(t.Head, table.Column{Title: c.Title, Number: c.Number, Money: c.Money, Width: c.Width})
	}
	text, kind := t.CSV(), "text/csv; charset=utf-8"
	if isBook {
		kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
		if text, err = table.Workbook([]table.Table{t}); err != nil {
			s.failed(w, r, err)
			return
		}
	}
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", "attachment; filename*=UTF-8''"+url.PathEscape(file))
	w.Write(text)
}
