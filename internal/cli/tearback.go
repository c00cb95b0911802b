package cli

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/words"
)

type tearBackCommand struct {
	whichJob `embed:""`
	To       string `placeholder:"REFERENCE" help:"What is to be got at: operation.NAME or space.NAME, with its place behind it where it has one."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// Run says what must come off.
func (c *tearBackCommand) Run(a *app) error {
	if c.To == "" {
		return misused("--to", "name an operation or a space, like --to 'space.cylinders front'", "it is not said what is to be got at")
	}
	p, state, options, err := c.load(a)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	t, err := assess.Prepare(p).TearBack(state, options, c.To)
	var unknown *assess.NotFoundError
	if errors.As(err, &unknown) {
		return misused("--to", unknown.Do, "%s", unknown.Says)
	}
	if err != nil {
		return err
	}
	if a.json {
		a.printJSON(words.MakeTearBack(t))
	} else {
		printTearBack(a.out, p, t)
	}
	if len(t.Ways) == 0 && !t.Open {
		return exit(ExitStops)
	}
	return nil
}

func printTearBack(w io.Writer, p *pack.Pack, t *assess.TearBack) {
	title := words.Named(p, t.To)
	switch {
	case t.Open:
		fmt.Fprintf(w, "%s: nothing has to come off.\n", title)
		return
	case len(t.Ways) == 0:
		fmt.Fprintf(w, "%s cannot be got at as things stand.\n", title)
		for _, says := range words.Chain(p, t.Why) {
			fmt.Fprintf(w, "  %s\n", says)
		}
		return
	}
	fmt.Fprintf(w, "To get at %s\n", title)
	for i := range t.Ways {
		if len(t.Ways) > 1 {
			heading(w, []string{"THE LEAST", "ANOTHER WAY", "ANOTHER WAY"}[min(i, 2)])
		}
		printWay(w, p, &t.Ways[i])
	}
	fmt.Fprintln(w, "\nButtonup records and computes; it does not certify. The maker's manual, local codes and licensed practice come first.")
}

func printWay(w io.Writer, p *pack.Pack, x *assess.Way) {
	fmt.Fprintf(w, "%s\n", words.Price(x))
	for _, o := range x.Undo {
		fmt.Fprintf(w, "  take back  %s\n", words.Operation(p, o))
	}
	for _, o := range x.Do {
		fmt.Fprintf(w, "  do         %s\n", words.Operation(p, o))
	}
	for i := range x.Replace {
		fmt.Fprintf(w, "  new        %s\n", words.UsedUp(p, &x.Replace[i]))
	}
	if again := words.Gathered(p, x.Remeasure); len(again) > 0 {
		fmt.Fprintf(w, "  read again  %s\n", strings.Join(again, "; "))
	}
	if again := words.Gathered(p, x.Retorque); len(again) > 0 {
		fmt.Fprintf(w, "  tighten    %s\n", strings.Join(again, "; "))
	}
}
