package cli

import (
	"fmt"
	"os"

	"buttonup/pack"
	"buttonup/pack/fromtable"
)

type packCheck struct {
	Path string `arg:"" help:"A pack file, a folder of them, or the ID of a pack that the program carries."`
	JSON bool   `name:"json" help:"Print JSON."`
}

type mistakeReport struct {
	Code   string `json:"code"`
	File   string `json:"file"`
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Says   string `json:"says"`
	Do     string `json:"do"`
}

func mistakeReports(list pack.Mistakes) []mistakeReport {
	out := make([]mistakeReport, 0, len(list))
	for _, m := range list {
		out = append(out, mistakeReport{m.Code, m.Span.File, m.Span.Line, m.Span.Column, m.Says, m.Do})
	}
	return out
}

// Run checks a pack.
func (c *packCheck) Run(a *app) error {
	files, err := packFiles(c.Path)
	if err != nil {
		return err
	}
	done := a.watch("checking the pack")
	p, mistakes := pack.Load(files, finder(c.Path))
	done()
	code := ExitDone
	if len(mistakes) > 0 {
		code = ExitMistakes
	}
	if a.json {
		a.printJSON(struct {
			Mistakes     []mistakeReport `json:"mistakes"`
			ToBeFilledIn []string        `json:"to_be_filled_in"`
			Remarks      []mistakeReport `json:"remarks"`
		}{mistakeReports(mistakes), append([]string{}, p.ToBeFilledIn...), mistakeReports(p.Remarks)})
		return exit(code)
	}
	mistakes.Write(a.out)
	if len(mistakes) > 0 {
		fmt.Fprintf(a.out, "\n%s in %s\n", count(len(mistakes), "mistake"), c.Path)
		return exit(code)
	}
	for _, r := range p.Remarks {
		fmt.Fprintf(a.out, "%s: note: %s; %s\n", r.Span, r.Says, r.Do)
	}
	fmt.Fprintf(a.out, "%s: no mistakes. %s, %s, %s, %s.\n", p.Title,
		count(len(p.Dimensions), "dimension"), count(len(p.Numbers)+len(p.Sweeps), "number"), count(len(p.Joints), "joint"), count(len(p.Operations), "operation"))
	if n := len(p.ToBeFilledIn); n > 0 {
		fmt.Fprintf(a.out, "%s to be filled in:\n", count(n, "figure"))
		for _, b := range p.ToBeFilledIn {
			fmt.Fprintf(a.out, "  %s\n", b)
		}
	}
	return exit(code)
}

type packFromTable struct {
	File      string `arg:"" name:"file" help:"A table of limits or torques (CSV)."`
	Out       string `required:"" placeholder:"NAME.pack" help:"The pack to write; - for standard output."`
	ID        string `name:"id" help:"ID of the pack; made from the table when left out."`
	Title     string `help:"Title of the pack; made from the table when left out."`
	Revision  string `help:"Revision of the pack."`
	Manual    string `help:"Take only the rows of this manual."`
	BothUnits bool   `name:"both-units" help:"Quote the figures in both printed units in every source."`
	Force     bool   `help:"Write over a pack that is already there."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run makes a pack of a table, checks it and tells what became of every row.
func (c *packFromTable) Run(a *app) error {
	text, err := a.readInput(c.File)
	if err != nil {
		return err
	}
	if c.Out != "-" && !c.Force {
		if _, err := os.Stat(c.Out); err == nil {
			return failed("choose another name, or add --force to write over it", "%s is already there", c.Out)
		}
	}
	packText, rows, err := fromtable.Convert(c.File, text, fromtable.Options{ID: c.ID, Title: c.Title, Revision: c.Revision, Manual: c.Manual, BothUnits: c.BothUnits})
	if err != nil {
		return failed("the columns are described in packs/published/README.md", "%s", err)
	}
	if _, mistakes := pack.Load([]pack.File{{Name: c.Out, Text: packText}}, nil); len(mistakes) > 0 {
		return &failure{Says: "the pack made of this table has mistakes, so it was not written", Hint: "mend the rows named above in the table", Mistakes: mistakes, Code: ExitMistakes}
	}
	if c.Out == "-" {
		_, err := a.out.Write(packText)
		return err
	}
	if err := writeWhole(c.Out, packText); err != nil {
		return err
	}
	return c.report(a, rows)
}

func (c *packFromTable) report(a *app, rows []fromtable.Row) error {
	tally := map[fromtable.Outcome]int{}
	for _, r := range rows {
		tally[r.Outcome]++
	}
	if a.json {
		type row struct {
			Line    int    `json:"line"`
			Name    string `json:"name"`
			Outcome string `json:"outcome"`
			Says    string `json:"says"`
		}
		list := make([]row, 0, len(rows))
		for _, r := range rows {
			list = append(list, row{r.Line, r.Name, r.Outcome.String(), r.Says})
		}
		a.printJSON(map[string]any{"pack": c.Out, "taken": tally[fromtable.Taken], "noted": tally[fromtable.Noted], "refused": tally[fromtable.Refused], "rows": list})
		return nil
	}
	for _, r := range rows {
		if r.Outcome != fromtable.Taken || r.Says != "" {
			fmt.Fprintf(a.out, "line %d: %s: %s\n", r.Line, r.Outcome, r.Says)
		}
	}
	fmt.Fprintf(a.out, "%s: %d rows taken, %d noted, %d without a figure (in doubt, or nothing that is guessed). It checks clean.\n", c.Out, tally[fromtable.Taken], tally[fromtable.Noted], tally[fromtable.Refused])
	return nil
}
