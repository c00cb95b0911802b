package cli

import (
	"fmt"
	"strings"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/parts"
	"buttonup/quantity"
	"buttonup/words"
)

type partsCommands struct {
	Find      partsFind   `cmd:"" help:"Find parts by any number or word."`
	Fit       partsFit    `cmd:"" help:"Say whether a part fits a slot of a job, and why not."`
	FromTable partsImport `cmd:"" name:"from-table" help:"Read a table of parts and offers (CSV) into pack text, and say of every row what was understood."`
}

type partsFind struct {
	Words []string `arg:"" help:"A number or words; all of several words must be met."`
	Pack  string   `placeholder:"PATH" help:"The engine pack: a file, a folder, or the ID of one that the program carries."`
	Demo  bool     `help:"Use the invented demo engine."`
	Most  int      `default:"20" placeholder:"N" help:"Show at most so many."`
	JSON  bool     `name:"json" help:"Print JSON."`
}

type partReport struct {
	Part    string         `json:"part"`
	Title   string         `json:"title"`
	By      string         `json:"by"`
	Exact   bool           `json:"exact"`
	Numbers []numberReport `json:"numbers"`
	Fills   []string       `json:"fills"`
	Look    string         `json:"look,omitempty"`
	Like    []string       `json:"looks_like,omitempty"`
	Newest  []string       `json:"superseded_by,omitempty"`
}

type numberReport struct {
	Kind   string `json:"kind"`
	Number string `json:"number"`
	Seller string `json:"seller,omitempty"`
}

// Run finds parts.
func (c *partsFind) Run(a *app) error {
	p, err := a.partsPack(c.Pack, c.Demo)
	if err != nil {
		return err
	}
	if c.Most < 1 {
		return misused("--most", "give a whole number from 1", "%d parts cannot be shown", c.Most)
	}
	catalogue := parts.NewCatalogue(p)
	list := []partReport{}
	for _, h := range catalogue.Search(strings.Join(c.Words, " "), c.Most) {
		x := h.Part
		r := partReport{Part: x.Name, Title: x.Title, By: h.By, Exact: h.Exact, Look: x.Look, Like: x.LooksLike}
		for _, n := range catalogue.Numbers(x.Name) {
			r.Numbers = append(r.Numbers, numberReport{n.Kind, n.Number, n.Of})
		}
		for _, s := range x.Fills {
			r.Fills = append(r.Fills, "slot."+s)
		}
		if newest := catalogue.Newest(x.Name); len(newest) > 0 && newest[0] != x.Name {
			r.Newest = newest
		}
		list = append(list, r)
	}
	if a.json {
		a.printJSON(map[string]any{"parts": list})
		return nil
	}
	if len(list) == 0 {
		return failed("try fewer letters, or a word of its title", "no part of %s has %q among its numbers and words", p.Title, strings.Join(c.Words, " "))
	}
	for i, r := range list {
		x := catalogue.Part(r.Part)
		fmt.Fprintf(a.out, "%-16s %s\n", r.Part, r.Title)
		fmt.Fprintf(a.out, "  %s\n", words.PartNumbers(catalogue.Numbers(r.Part)))
		if len(r.Newest) > 0 {
			fmt.Fprintf(a.out, "  superseded by %s\n", strings.Join(r.Newest, ", "))
		}
		if x.Look != "" {
			fmt.Fprintf(a.out, "  %s\n", words.LooksLike(x))
		}
		if i < len(list)-1 {
			fmt.Fprintln(a.out)
		}
	}
	return nil
}

type partsFit struct {
	jobFlags `embed:""`
	keptJob  `embed:""`
	Part     string `arg:"" help:"The part: its ID or any of its numbers."`
	Slot     string `placeholder:"SLOT [PLACE]" help:"The slot with its place, like 'head_gasket front'; left out: every slot that it fills."`
	Demo     bool   `help:"Use the invented demo engine, in mid-inspection."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

type fitReport struct {
	Slot    string   `json:"slot"`
	Place   string   `json:"place"`
	Part    string   `json:"part"`
	Answer  string   `json:"answer"`
	Says    string   `json:"says"`
	Because []string `json:"because"`
	Do      string   `json:"do"`
	Nearest string   `json:"nearest"`
}

// Run says whether a part fits.
func (c *partsFit) Run(a *app) error {
	same := whichJob{jobFlags: c.jobFlags, keptJob: c.keptJob, Demo: c.Demo}
	p, state, err := same.job(a)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	catalogue := parts.NewCatalogue(p)
	id := catalogue.Called(c.Part)
	spots, err := c.spots(catalogue, id)
	if err != nil {
		return err
	}
	engine := assess.Prepare(p).Engine(state)
	list := []fitReport{}
	refused := false
	for _, s := range spots {
		v := catalogue.Judge(engine, s[0], s[1], id)
		said := words.FitVerdict(&v, catalogue.Slot(s[0]).Title, quantity.Metric)
		refused = refused || v.Answer == parts.Refused
		list = append(list, fitReport{"slot." + s[0], s[1], id, v.Answer.String(), said.Says, append([]string{}, said.Because...), said.Do, v.Nearest})
	}
	if a.json {
		a.printJSON(map[string]any{"fits": list})
	} else {
		for _, r := range list {
			fmt.Fprintln(a.out, words.Upper(r.Says))
			for _, b := range r.Because {
				fmt.Fprintf(a.out, "  %s\n", b)
			}
			if r.Do != "" {
				fmt.Fprintf(a.out, "  → %s\n", r.Do)
			}
		}
	}
	if refused {
		return exit(ExitStops)
	}
	return nil
}

// spots lists the slots and places that are asked about.
func (c *partsFit) spots(catalogue *parts.Catalogue, id string) ([][2]string, error) {
	if c.Slot == "" {
		x := catalogue.Part(id)
		if x == nil {
			return nil, failedArgument("PART", "buttonup parts find looks for it by any number or word", "the pack has no part %s", id)
		}
		var list [][2]string
		for _, s := range x.Fills {
			for _, place := range catalogue.Places(s) {
				list = append(list, [2]string{s, place})
			}
		}
		return list, nil
	}
	slot, place, _ := strings.Cut(strings.TrimPrefix(c.Slot, "slot."), " ")
	if catalogue.Slot(slot) == nil {
		var names []string
		for _, s := range catalogue.Pack().Slots {
			names = append(names, s.Name)
		}
		hint := "assess --json names the slots under parts"
		if near := formula.Nearest(slot, names); near != "" {
			hint = "perhaps " + near + " is meant"
		}
		return nil, misused("--slot", hint, "the pack has no slot %s", slot)
	}
	var list [][2]string
	for _, at := range catalogue.Places(slot) {
		if place == "" || at == place {
			list = append(list, [2]string{slot, at})
		}
	}
	if len(list) == 0 {
		return nil, misused("--slot", "its places are "+strings.Join(catalogue.Places(slot), ", "), "slot.%s has no place %s", slot, place)
	}
	return list, nil
}

type partsImport struct {
	File  string `arg:"" name:"file" help:"A table of parts and offers (CSV); the first line names the columns."`
	Pack  string `placeholder:"PATH" help:"The engine pack that the parts are for."`
	Demo  bool   `help:"Use the invented demo engine."`
	Out   string `placeholder:"NAME.pack" help:"The pack text to write, to be put beside the pack's other files; - for standard output. Left out: nothing is written, only said."`
	Good  bool   `name:"good-rows" help:"Write the rows that were understood although others were refused."`
	Force bool   `help:"Write over a file that is already there."`
	JSON  bool   `name:"json" help:"Print JSON."`
}

type tableRowReport struct {
	Line       int      `json:"line"`
	Part       string   `json:"part"`
	Taken      bool     `json:"taken"`
	Understood []string `json:"understood"`
	Refused    []string `json:"refused"`
}

// Run reads a parts table.
func (c *partsImport) Run(a *app) error {
	p, err := a.partsPack(c.Pack, c.Demo)
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
	if is := natureOf(text); is == aPack || is == aJournal {
		return notTable("FILE", shownName(c.File), is)
	}
	table, err := parts.ReadTable(text, p)
	if err != nil {
		return failedArgument("FILE", "docs/parts-table.md describes the columns", "%s: %s", shownName(c.File), err)
	}
	refused := table.Refused()
	write := c.Out != "" && len(table.Text) > 0 && (refused == 0 || c.Good)
	if write && c.Out != "-" {
		if !strings.HasSuffix(c.Out, ".pack") {
			return misused("--out", "write it like --out "+shellWord(c.Out+".pack"), "%s is no name for pack text", c.Out)
		}
		if err := a.writeWhole(c.Out, table.Text, c.Force); err != nil {
			return err
		}
	}
	c.report(a, table, write)
	if refused > 0 && !c.Good {
		return exit(ExitFailed)
	}
	return nil
}

func (c *partsImport) report(a *app, table *parts.Table, written bool) {
	if a.json {
		rows := []tableRowReport{}
		for _, r := range table.Rows {
			rows = append(rows, tableRowReport{r.Line, r.Part, r.Taken(), append([]string{}, r.Understood...), append([]string{}, r.Refused...)})
		}
		a.printJSON(map[string]any{"rows": rows, "notes": append([]string{}, table.Notes...), "refused": table.Refused(), "written": written && c.Out != "-", "text": string(table.Text)})
		return
	}
	if written && c.Out == "-" {
		a.out.Write(table.Text)
		return
	}
	for _, n := range table.Notes {
		fmt.Fprintln(a.out, n)
	}
	for i := range table.Rows {
		r := &table.Rows[i]
		if r.Taken() {
			fmt.Fprintf(a.out, "line %d: %s\n", r.Line, strings.Join(r.Understood, "; "))
		} else {
			fmt.Fprintf(a.out, "line %d: REFUSED: %s\n", r.Line, strings.Join(r.Refused, "; "))
		}
	}
	good := len(table.Rows) - table.Refused()
	fmt.Fprintf(a.out, "%s understood, %s refused; ", count(good, "row"), count(table.Refused(), "row"))
	switch {
	case written:
		fmt.Fprintf(a.out, "written: %s\n", shownName(c.Out))
	case c.Out == "":
		fmt.Fprintln(a.out, "nothing was written: name a file with --out")
	case good == 0:
		fmt.Fprintln(a.out, "nothing was written")
	default:
		fmt.Fprintln(a.out, "nothing was written: mend the rows, or take the others alone with --good-rows")
	}
}
