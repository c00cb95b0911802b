package cli

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"buttonup/internal/book"
	"buttonup/internal/sheet"
)

// made loads a job and puts it together.
func (f *sheetFlags) made(a *app) (*loaded, *book.Job, error) {
	l, err := f.load(a)
	if err != nil {
		return nil, nil, err
	}
	j, err := f.book(a, l)
	if err != nil {
		l.close()
		return nil, nil, err
	}
	return l, j, nil
}

func (f *sheetFlags) paper(a *app, what string, j *book.Job, d *book.Document) error {
	return f.write(a, what, func() ([]byte, error) { return d.PDF(j.FileID()) }, d.HTML)
}

type stageCardCommand struct {
	sheetFlags `embed:""`
	Of         []string `placeholder:"JOINT" help:"A joint, like joint.head_nuts; left out: all that are not tight yet."`
}

// Run prints a stage card.
func (c *stageCardCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	d, err := j.StageCard(c.Of)
	if err != nil {
		return notThere(l, strings.Join(c.Of, ", "), err)
	}
	return c.paper(a, "stage-card", j, d)
}

type subletCommand struct {
	sheetFlags `embed:""`
	Of         string `placeholder:"DIMENSION" help:"What is to be finished, like dimension.bore."`
	To         string `placeholder:"NAME" help:"Who does it."`
	Asked      string `placeholder:"TEXT" help:"What is asked for, in words."`
}

// Run prints what somebody else needs in writing.
func (c *subletCommand) Run(a *app) error {
	if c.Of == "" {
		return misused("--of", "name it, like --of dimension.bore", "it is not said what is to be finished")
	}
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	d, err := j.Sublet(c.Of, c.To, c.Asked)
	if err != nil {
		return notThere(l, c.Of, err)
	}
	return c.paper(a, "sublet", j, d)
}

type labelsCommand struct {
	sheetFlags `embed:""`
	Address    string   `default:"http://127.0.0.1:8484" help:"Where the pages are: what a label opens when it is scanned."`
	Text       []string `placeholder:"TEXT" sep:"none" help:"Print a label with this text instead; may be given several times."`
}

// Run prints labels.
func (c *labelsCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	list := j.LabelsFor(c.Address)
	if len(c.Text) > 0 {
		list = nil
		for _, t := range c.Text {
			list = append(list, j.BagLabel(c.Address, t))
		}
	}
	d, err := j.Labels(list)
	if err != nil {
		return failed("choose a shorter address", "%v", err)
	}
	return c.paper(a, "labels", j, d)
}

type estimateCommand struct {
	sheetFlags `embed:""`
	Rate       string `placeholder:"AMOUNT" help:"What an hour costs; left out: time is not added up."`
}

// Run prints estimate and account.
func (c *estimateCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	account := book.MakeAccount(j, c.Rate)
	if c.Out != "" {
		return c.paper(a, "estimate", j, account.Document(j))
	}
	lines := func(list []book.AccountLine) []map[string]string {
		out := []map[string]string{}
		for _, x := range list {
			out = append(out, map[string]string{"what": x.What, "amount": x.Amount.FloatString(2)})
		}
		return out
	}
	if a.json {
		report := map[string]any{"estimate": lines(account.Estimate), "actual": lines(account.Actual), "estimated": account.Estimated.FloatString(2), "spent": account.Spent.FloatString(2), "currency": account.Currency, "unread": append([]string{}, account.Unread...)}
		if account.Call != nil {
			report["stop_and_call"] = account.Call.FloatString(2)
		}
		if hours, err := j.Hours(); err == nil {
			report["hours"] = hoursReport(hours)
		}
		a.printJSON(report)
		return nil
	}
	sum := func(what string, r *big.Rat) {
		fmt.Fprintln(a.out, strings.TrimRight(fmt.Sprintf("%-9s %12s %s", what, r.FloatString(2), account.Currency), " "))
	}
	sum("estimated", account.Estimated)
	for _, x := range account.Actual {
		fmt.Fprintf(a.out, "          %12s  %s\n", x.Amount.FloatString(2), x.What)
	}
	sum("spent", account.Spent)
	if account.Call != nil {
		fmt.Fprintf(a.out, "stop and call at %s\n", account.Text(account.Call))
	}
	if len(j.State.Times) > 0 {
		hours, err := j.Hours()
		if err != nil {
			return failed("", "%v", err)
		}
		fmt.Fprintf(a.out, "hours     %12s  by the pack, %s taken. %s\n", book.WorkingTime(hours.Whole.Estimated), book.WorkingTime(hours.Whole.Actual), book.HoursSay(hours))
	}
	for _, u := range account.Unread {
		fmt.Fprintf(a.out, "not added up: %s\n", u)
	}
	return nil
}

type standsCommand struct {
	sheetFlags `embed:""`
}

// Run says where a job stands.
func (c *standsCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	says := j.Stands()
	photo := ""
	if n := len(l.state.Photos); n > 0 {
		photo = l.state.Photos[n-1].SHA256
	}
	return c.text(a, says+"\n", map[string]any{"says": says, "photo": photo})
}

type tableCommand struct {
	sheetFlags `embed:""`
	Name       string `arg:"" help:"readings, results, parts, torques or work."`
	Decimal    string `enum:"point,comma" default:"point" help:"What stands before the decimals in a CSV file: point, or comma with semicolons between the fields."`
}

// Run writes a table for other programs.
func (c *tableCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	list, err := j.Listing(c.Name)
	if errors.Is(err, book.ErrNothing) {
		return misused("NAME", "choose one of "+strings.Join(book.Listings, ", "), "there is no table %q", c.Name)
	}
	if strings.HasSuffix(strings.ToLower(c.Out), ".xlsx") {
		t := sheet.Table{Name: list.Name, Rows: list.Rows}
		for i, h := range list.Head {
			t.Head = append(t.Head, sheet.Column{Title: h, Number: list.Number[i]})
		}
		b, err := sheet.Workbook([]sheet.Table{t})
		if err != nil {
			return failed("", "the workbook cannot be made: %v", err)
		}
		if err := a.change(c.Out, func() error { return writeNew(atHome(c.Out), b) }); err != nil {
			return err
		}
		if a.json {
			a.printJSON(map[string]any{"file": c.Out, "rows": len(list.Rows)})
			return nil
		}
		fmt.Fprintf(a.out, "Written: %s, %s\n", c.Out, count(len(list.Rows), "row"))
		return nil
	}
	return c.text(a, string(list.CSV(c.Decimal == "comma")), map[string]any{"table": list.Name, "head": list.Head, "rows": append([][]string{}, list.Rows...)})
}

type calendarCommand struct {
	sheetFlags `embed:""`
}

// Run writes a calendar file.
func (c *calendarCommand) Run(a *app) error {
	l, j, err := c.made(a)
	if err != nil {
		return err
	}
	defer l.close()
	text := string(j.Calendar())
	return c.text(a, text, map[string]any{"events": strings.Count(text, "BEGIN:VEVENT"), "text": text})
}
