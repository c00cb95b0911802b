package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

type routeCommand struct {
	whichJob `embed:""`
	Why      string `placeholder:"REFERENCE" help:"Say why this operation stands where it does, like 'operation.head_on front'."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// Run prints an order of all the work that is left.
func (c *routeCommand) Run(a *app) error {
	p, state, options, err := c.load(a)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	if c.Why != "" {
		return c.why(a, p, state, options)
	}
	done := a.watch("planning")
	r, assessment := assess.Prepare(p).Route(state, options)
	done()
	if a.json {
		a.printJSON(words.MakeRoute(r))
	} else {
		printRoute(a.out, p, r, assessment)
	}
	if assessment.Stops() > 0 {
		return exit(ExitStops)
	}
	return nil
}

// why says why an operation stands where it does.
func (c *routeCommand) why(a *app, p *pack.Pack, state *journal.State, options assess.Options) error {
	name, place, _ := strings.Cut(strings.TrimPrefix(strings.TrimSpace(c.Why), "operation."), " ")
	op := assess.Operation{Name: name, Place: place}
	chain, step, r, known := assess.Prepare(p).WhyHere(state, options, op)
	if !known {
		for _, s := range r.Stuck {
			if s.Operation == op {
				return failed("", "%s cannot be finished: %s", words.Operation(p, op), strings.Join(words.Chain(p, s.Chain), "; "))
			}
		}
		hint := "name an operation that is still to do, with its place if it has one; buttonup route lists them"
		var places []string
		for i := range r.Steps {
			if x := r.Steps[i].Operation; x.Name == name && x.Place != "" && !slices.Contains(places, x.Place) {
				places = append(places, x.Place)
			}
		}
		if len(places) > 0 {
			hint = fmt.Sprintf("name its place, like --why 'operation.%s %s'; it is done at %s", name, places[0], strings.Join(places, ", "))
		}
		return misused("--why", hint, "the route does not do %s", op)
	}
	if a.json {
		a.printJSON(words.MakeWhy(op, step, chain))
		return nil
	}
	fmt.Fprintf(a.out, "%4d  %s\n", step+1, words.Operation(p, op))
	for _, says := range words.Chain(p, chain) {
		fmt.Fprintf(a.out, "        %s\n", says)
	}
	if len(chain) == 0 {
		fmt.Fprintln(a.out, "        It waits for nothing and can be done now.")
	}
	return nil
}

func printRoute(w io.Writer, p *pack.Pack, r *assess.Route, assessment *assess.Assessment) {
	fmt.Fprintln(w, p.Title)
	if says := words.WhereWasI(assessment); says != "" {
		fmt.Fprintf(w, "Where you were: %s\n", says)
	}
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
		if says := words.BreakLoop(p, s.Chain); s.Loop && says != "" {
			fmt.Fprintf(w, "    → %s\n", says)
		}
	}
}
