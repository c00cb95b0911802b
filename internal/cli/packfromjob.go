package cli

import (
	"fmt"

	"buttonup/assess"
	"buttonup/pack"
)

// packFromJob writes what a job was done by as a pack of its own.
type packFromJob struct {
	jobFlags `embed:""`
	keptJob  `embed:""`
	Out      string `required:"" placeholder:"NAME.pack" help:"The pack to write; - for standard output."`
	ID       string `name:"id" help:"ID of the new pack; left out: that of the old one and -own."`
	Title    string `help:"Title of the new pack; left out: that of the old one."`
	Revision string `help:"Revision of the new pack." default:"1"`
	Force    bool   `help:"Write over a pack that is already there."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// Run merges the pieces of pack text of a job into its pack and writes one pack that
// stands by itself.
func (c *packFromJob) Run(a *app) error {
	base, state, err := (&whichJob{jobFlags: c.jobFlags, keptJob: c.keptJob}).job(a)
	if err != nil {
		return err
	}
	p, aside := assess.WithExtras(base, state)
	for _, f := range aside {
		a.say("hint: a piece of pack text of this job has mistakes and is left out: %s", f.Detail)
	}
	h := pack.Heading{ID: c.ID, Title: c.Title, Revision: c.Revision}
	if h.ID == "" {
		h.ID = base.Name + "-own"
	}
	text := p.Write(h)
	if _, mistakes := pack.Load([]pack.File{{Name: c.Out, Text: text}}, nil); len(mistakes) > 0 {
		return &failure{Says: "the pack made of this job has mistakes, so it was not written", Argument: "--id", Hint: "give it an ID and a title without quotes and line ends", Mistakes: mistakes, Code: ExitMistakes}
	}
	kept := len(state.Extras) - len(aside)
	if c.Out == "-" {
		if !a.json {
			_, err := a.out.Write(text)
			return err
		}
	} else {
		out, err := (&packFromTable{Out: c.Out, Force: c.Force}).target()
		if err != nil {
			return err
		}
		if err := a.writeWhole(out, text, c.Force); err != nil {
			return err
		}
	}
	if a.json {
		report := struct {
			Pack   string `json:"pack"`
			ID     string `json:"id"`
			Extras int    `json:"extras"`
			Aside  int    `json:"aside"`
			Text   string `json:"text,omitempty"`
		}{Pack: c.Out, ID: h.ID, Extras: kept, Aside: len(aside)}
		if c.Out == "-" {
			report.Text = string(text)
		}
		a.printJSON(report)
		return nil
	}
	fmt.Fprintf(a.out, "%s: the pack %s with %s of this job in it. It checks clean.\n", shownName(c.Out), h.ID, count(kept, "addition"))
	return nil
}
