package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

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
	p, mistakes, err := a.readPack(c.Path)
	if err != nil {
		return err
	}
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
		fmt.Fprintf(a.out, "\n%s in %s\n", count(len(mistakes), "mistake"), shownName(c.Path))
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
	out, err := c.target()
	if err != nil {
		return err
	}
	text, err := a.readInput(c.File)
	if err != nil {
		return err
	}
	if text, err = a.plainTable("FILE", c.File, text); err != nil {
		return err
	}
	if is := natureOf(text); !is.isTable() {
		return notTable("FILE", shownName(c.File), is)
	}
	done := a.watch("making the pack")
	packText, rows, err := fromtable.Convert(c.File, text, fromtable.Options{ID: c.ID, Title: c.Title, Revision: c.Revision, Manual: c.Manual, BothUnits: c.BothUnits})
	done()
	if err != nil {
		return failedArgument("FILE", "the columns are described in packs/published/README.md", "%s", err)
	}
	if _, mistakes := pack.Load([]pack.File{{Name: c.Out, Text: packText}}, nil); len(mistakes) > 0 {
		return &failure{Says: "the pack made of this table has mistakes, so it was not written", Argument: "FILE", Hint: "mend the rows named above in the table", Mistakes: mistakes, Code: ExitMistakes}
	}
	if c.Out == "-" {
		if a.json {
			return c.report(a, rows, string(packText))
		}
		_, err := a.out.Write(packText)
		return err
	}
	if err := a.writeWhole(out, packText, c.Force); err != nil {
		return err
	}
	return c.report(a, rows, "")
}

// target is the file to write. Only a pack is ever written over: --force is no
// licence to replace the table itself.
func (c *packFromTable) target() (string, error) {
	if c.Out == "-" {
		return c.Out, nil
	}
	out := atHome(c.Out)
	info, err := os.Stat(out)
	switch {
	case err != nil:
		return out, nil // not there yet; if its folder is not, writing says so
	case info.IsDir():
		return "", misused("--out", "name a file in it, like "+shellWord(filepath.Join(c.Out, "my-engine.pack")), "%s is a folder", shownName(c.Out))
	case !c.Force:
		return "", failedArgument("--out", "choose another name, or add --force to write over it", "%s is already there", shownName(c.Out))
	}
	if is := natureOfFile(out); is != aPack {
		return "", failedArgument("--out", "choose another name; --force writes over packs only", "%s is there already and is not a pack", shownName(c.Out))
	}
	return out, nil
}

func (c *packFromTable) report(a *app, rows []fromtable.Row, text string) error {
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
		a.printJSON(struct {
			Pack    string `json:"pack"`
			Taken   int    `json:"taken"`
			Noted   int    `json:"noted"`
			Refused int    `json:"refused"`
			Rows    []row  `json:"rows"`
			Text    string `json:"text,omitempty"`
		}{c.Out, tally[fromtable.Taken], tally[fromtable.Noted], tally[fromtable.Refused], list, text})
		return nil
	}
	if !strings.HasSuffix(c.Out, ".pack") {
		a.say("hint: a pack is found in a folder only when its name ends in .pack: %s", shellWord(c.Out+".pack"))
	}
	for _, r := range rows {
		if r.Outcome != fromtable.Taken || r.Says != "" {
			fmt.Fprintf(a.out, "line %d: %s: %s\n", r.Line, r.Outcome, r.Says)
		}
	}
	fmt.Fprintf(a.out, "%s: %s taken, %d noted, %d without a figure (in doubt, or nothing that is guessed). It checks clean.\n", shownName(c.Out), count(tally[fromtable.Taken], "row"), tally[fromtable.Noted], tally[fromtable.Refused])
	return nil
}
