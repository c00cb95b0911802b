package cli

import (
	"errors"

	"buttonup/calc"
)

// The calculations of mechanics stand in package calc; here they become commands
// beside those of this package.
func init() {
	for _, k := range calc.All() {
		register(mechanicsCalculation(k))
	}
}

func mechanicsCalculation(k *calc.Calculation) *calculation {
	c := &calculation{name: k.Name, summary: k.Summary, source: k.Source}
	for _, a := range k.Arguments {
		name := a.Name
		if k.Required(name) {
			name += "!"
		}
		c.arguments = append(c.arguments, name)
	}
	if k.Open {
		c.arguments = append(c.arguments, "*")
	}
	c.run = func(in *inputs) (*outputs, error) {
		answer, err := k.Run(in.given)
		if err != nil {
			return nil, calcFailure(err)
		}
		out := newOutputs()
		for _, f := range answer.Figures {
			out.add(f.Name, figure{f.SI, f.Text})
		}
		out.notes = answer.Notes
		return out, nil
	}
	return c
}

// calcFailure gives a refusal its exit code: 2 where the calculation was asked for in a
// way it does not know, 1 where it cannot be done with these values.
func calcFailure(err error) error {
	var e *calc.Error
	if !errors.As(err, &e) {
		return err
	}
	code := ExitFailed
	if e.Usage {
		code = ExitUsage
	}
	return &failure{Says: e.Says, Argument: e.Argument, Hint: e.Do, Code: code}
}
