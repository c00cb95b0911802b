package cli

import (
	"fmt"
	"io"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

type closingCommand struct {
	whichJob `embed:""`
	Of       string `placeholder:"REFERENCE" help:"The operation that closes something, like 'operation.head_on front'."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// Run says what an operation would shut in.
func (c *closingCommand) Run(a *app) error {
	if c.Of == "" {
		return misused("--of", "name the operation, like --of 'operation.head_on front'", "it is not said what is to be closed")
	}
	p, state, options, err := c.load(a)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	name, place, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(c.Of), "operation."), " ")
	closing, ok := assess.Prepare(p).BeforeClosing(state, options, assess.Operation{Name: name, Place: place})
	if !ok {
		return failed("name an operation of the pack that closes a space and is not done, with its place", "operation.%s closes nothing now", strings.TrimSpace(name+" "+place))
	}
	if a.json {
		a.printJSON(words.MakeClosing(closing))
	} else {
		printClosing(a.out, p, closing)
	}
	if len(closing.Open) > 0 {
		return exit(ExitStops)
	}
	return nil
}

func printClosing(w io.Writer, p *pack.Pack, c *assess.Closing) {
	fmt.Fprintln(w, words.ClosingTitle(p, c))
	fmt.Fprintf(w, "by: %s\n%s\n", words.Operation(p, c.Operation), words.ClosingSays(c))
	if says := words.ClosingAfter(p, c); says != "" {
		fmt.Fprintln(w, says)
	}
	if len(c.Open) > 0 {
		heading(w, fmt.Sprintf("OPEN (%d)", len(c.Open)))
	}
	for i := range c.Open {
		title, what := words.Inside(p, &c.Open[i], quantity.Metric)
		fmt.Fprintf(w, "  %s: %s\n", title, what)
		if last := words.LastMoment(p, &c.Open[i]); last != "" {
			fmt.Fprintf(w, "    %s\n", last)
		}
	}
	if len(c.Proven) > 0 {
		heading(w, fmt.Sprintf("DONE AND PROVEN (%d)", len(c.Proven)))
	}
	for i := range c.Proven {
		title, what := words.ProvenInside(p, &c.Proven[i], quantity.Metric)
		fmt.Fprintf(w, "  %s: %s\n", title, what)
	}
	if c.Price != nil {
		if c.Soon != nil {
			heading(w, "TO COME BACK RIGHT AFTER: "+words.Price(c.Soon))
		}
		heading(w, "TO COME BACK ONCE THE ENGINE IS TOGETHER: "+words.Price(c.Price))
		for i := range c.Price.Replace {
			fmt.Fprintf(w, "  %s\n", words.UsedUp(p, &c.Price.Replace[i]))
		}
	}
	if c.Never && len(c.Open) > 0 {
		fmt.Fprintln(w, "\nThis is never skipped.")
	}
}
