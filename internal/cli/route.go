package cli

import (
	"fmt"
	"io"

	"buttonup/assess"
	"buttonup/pack"
	"buttonup/words"
)

type routeCommand struct {
	whichJob `embed:""`
	JSON     bool `name:"json" help:"Print JSON."`
}

// Run prints an order of all the work that is left.
func (c *routeCommand) Run(a *app) error {
	p, state, options, err := c.load(a)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	done := a.watch("planning")
	r, assessment := assess.Prepare(p).Route(state, options)
	done()
	if a.json {
		a.printJSON(words.MakeRoute(r))
	} else {
		printRoute(a.out, p, r)
	}
	if assessment.Stops() > 0 {
		return exit(ExitStops)
	}
	return nil
}

func printRoute(w io.Writer, p *pack.Pack, r *assess.Route) {
	fmt.Fprintln(w, p.Title)
	if len(r.Steps) == 0 && len(r.Stuck) == 0 {
		fmt.Fprintln(w, "\nNothing is left to be done.")
		return
	}
	fmt.Fprintf(w, "%s\n\n", words.RouteFacts(r))
	for i := range r.Steps {
		title, facts := words.RouteStep(p, &r.Steps[i])
		fmt.Fprintf(w, "%4d  %s\n", i+1, title)
		for _, f := range facts {
			fmt.Fprintf(w, "        %s\n", f)
		}
	}
	if len(r.Stuck) > 0 {
		heading(w, fmt.Sprintf("CANNOT BE FINISHED AS THINGS STAND (%d)", len(r.Stuck)))
	}
	for _, s := range r.Stuck {
		fmt.Fprintf(w, "  %s\n", words.Operation(p, s.Operation))
		for _, says := range words.Chain(p, s.Chain) {
			fmt.Fprintf(w, "    %s\n", says)
		}
	}
}
